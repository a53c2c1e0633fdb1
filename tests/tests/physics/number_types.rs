//! The derivative in every number type: lanes of every width give the same bits and the scalar's numbers, dual numbers the slope of differences.

use nalgebra::{Vector3, Vector4};
use num_dual::Dual64;
use sim_core::air::Air;
use sim_core::air::profile::Profile;
use sim_core::air::turbulence::{DrydenScales, Turbulence};
use sim_core::forces::evaluate;
use sim_core::lanes::{Beside, Width, rates};
use sim_core::parts::Parts;
use sim_core::segment::Segment;
use sim_core::state::{STATE_LENGTH, State};
use sim_core::vehicle::Vehicle;
use tossline_tests::known::aircraft::{lopsided_twin, twin};
use tossline_tests::known::carried_air::lopsided;
use tossline_tests::known::linearise::DualModel;
use tossline_tests::known::random::Random;

use crate::scatter;

/// A twin with everything scattered by up to a fifth.
fn scattered_vehicle(random: &mut Random) -> Vehicle<f64> {
    let mut vehicle = if random.between(0.0, 1.0) < 0.5 {
        twin()
    } else {
        lopsided_twin()
    };
    let mut about = |x: &mut f64| *x *= random.between(0.8, 1.2);
    about(&mut vehicle.mass);
    let scale = vehicle.mass / 0.045;
    vehicle.inertia *= scale;
    vehicle.inverse_inertia /= scale;
    let table = &mut vehicle.coefficients;
    for x in [
        &mut table.area,
        &mut table.lift_alpha,
        &mut table.lift_alpha_rate,
        &mut table.pitch_alpha,
        &mut table.pitch_alpha_rate,
        &mut table.roll_beta,
        &mut table.yaw_r,
        &mut table.reference.x,
    ] {
        about(x);
    }
    for motor in &mut vehicle.motors {
        for x in [
            &mut motor.constant,
            &mut motor.resistance,
            &mut motor.propeller.diameter,
        ] {
            about(x);
        }
    }
    about(&mut vehicle.post_stall.alpha_stall);
    about(&mut vehicle.post_stall.level.area);
    about(&mut vehicle.cell.resistance);
    vehicle
}

/// What is worked out side by side.
#[derive(Clone, Copy)]
struct SideBySide<'a> {
    vehicles: &'a [Vehicle<f64>],
    airs: &'a [Air<f64>],
    segments: &'a [Segment<f64>],
    times: &'a [f64],
    states: &'a [State<f64>],
}

impl SideBySide<'_> {
    /// One of it.
    fn only(&self, i: usize) -> SideBySide<'_> {
        let one = i..i + 1;
        SideBySide {
            vehicles: &self.vehicles[one.clone()],
            airs: &self.airs[one.clone()],
            segments: &self.segments[one.clone()],
            times: &self.times[one.clone()],
            states: &self.states[one],
        }
    }

    /// Rates of every lane of a width; none where the processor does not have it.
    fn rates(&self, width: Width) -> Option<Vec<[f64; STATE_LENGTH]>> {
        let mut rates = rates(
            width,
            &Beside {
                vehicles: self.vehicles,
                airs: self.airs,
                segments: self.segments,
                parts: Parts::ALL,
            },
        )?;
        rates.put(self.times, self.states);
        rates.work_out();
        let lanes = 0..width.lanes();
        Some(lanes.map(|lane| rates.rate(lane).to_array()).collect())
    }
}

fn bits(numbers: &[f64]) -> Vec<u64> {
    numbers.iter().map(|x| x.to_bits()).collect()
}

// Four throws side by side, each with its own vehicle, air, controls, time and state: every lane's rates have the bits of width
// one, at every width, in flight, stalled, backwards, stopped and at rest. And they are the numbers of `f64`, whose
// functions and order of rounding are others: to 1e-10 of the largest rate of the kind.
#[test]
fn lanes_of_every_width_have_the_same_bits_and_the_scalars_numbers() {
    let mut random = Random::new(21);
    for round in 0..400 {
        let mut vehicles: [_; 4] = std::array::from_fn(|_| scattered_vehicle(&mut random));
        let mut airs: [_; 4] = std::array::from_fn(|_| scatter::air(&mut random));
        let segments: [_; 4] = std::array::from_fn(|_| scatter::segment(&mut random));
        let mut states: [_; 4] = std::array::from_fn(|_| scatter::state(&mut random));
        let times: [f64; 4] = std::array::from_fn(|_| random.between(0.2, 2.0));
        // With carried air every other round (all lanes or none), low over the ground every third, with its effect in two lanes.
        if round % 2 == 0 {
            for vehicle in &mut vehicles {
                vehicle.apparent_mass = Some(lopsided(&mut random));
            }
        }
        if round % 3 == 0 {
            for state in &mut states {
                state.position.z *= 0.01;
            }
            airs[1].ground_effect = 1.0;
            airs[2].ground_effect = 1.0;
        }
        // In turbulence and a wind over height every fourth.
        if round % 4 == 1 {
            for (seed, air) in airs.iter_mut().enumerate() {
                let scales = DrydenScales::low_altitude(3.0, 5.0);
                air.turbulence = Turbulence::from_seed(seed as u64, &scales, 0.5);
                air.profile = Some(match seed % 2 {
                    0 => Profile::power_law(0.2, 6.0).carried_at(2.0),
                    _ => Profile::logarithmic(0.05, 6.0),
                });
            }
        }
        // Corners beside ordinary lanes: at rest, stopped rotors, flow along an axis, empty and overfull cell.
        match round % 5 {
            1 => {
                states[1].velocity = Vector3::zeros();
                states[1].rates = Vector3::zeros();
            }
            2 => states[2].rotors = [0.0; 2],
            3 => {
                states[0].velocity = Vector3::new(0.0, 7.0, 0.0);
                states[3].velocity = Vector3::new(-5.0, 0.0, 0.0);
            }
            4 => {
                states[0].charge = 540.0;
                states[1].charge = -1.0;
            }
            _ => {}
        }
        let all = SideBySide {
            vehicles: &vehicles,
            airs: &airs,
            segments: &segments,
            times: &times,
            states: &states,
        };
        let one: Vec<[f64; STATE_LENGTH]> = (0..4)
            .flat_map(|i| {
                let alone = all.only(i).rates(Width::One);
                alone.expect("width one is everywhere")
            })
            .collect();
        for width in [Width::Four, Width::Eight] {
            // A processor without the width has nothing to compare.
            let Some(wide) = all.rates(width) else {
                continue;
            };
            for (i, lane) in wide.iter().enumerate() {
                assert_eq!(
                    bits(lane),
                    bits(&one[i % 4]),
                    "round {round}, {width:?}, lane {i}"
                );
            }
        }
        for i in 0..4 {
            let scalar = evaluate(&vehicles[i], &airs[i], &segments[i], times[i], &states[i]);
            let kinds = [0..3, 3..7, 7..10, 10..13, 13..15, 15..16];
            for kind in kinds {
                let scalar = &scalar.rate.to_array()[kind.clone()];
                let size = scalar.iter().fold(1.0_f64, |size, x| size.max(x.abs()));
                for (a, b) in scalar.iter().zip(&one[i][kind.clone()]) {
                    assert!(
                        (a - b).abs() < 1e-10 * size,
                        "round {round}, lane {i}, {kind:?}: {a} {b}"
                    );
                }
            }
        }
    }
}

// A lane that has failed leaves its neighbours alone.
#[test]
fn a_failed_lane_spoils_no_other() {
    let mut random = Random::new(22);
    let vehicles: [_; 4] = std::array::from_fn(|_| twin());
    let airs: [_; 4] = std::array::from_fn(|_| scatter::air(&mut random));
    let segments: [_; 4] = std::array::from_fn(|_| scatter::segment(&mut random));
    let mut states: [_; 4] = std::array::from_fn(|_| scatter::state(&mut random));
    states[2].velocity.x = f64::NAN;
    states[2].rotors[0] = f64::INFINITY;
    let all = SideBySide {
        vehicles: &vehicles,
        airs: &airs,
        segments: &segments,
        times: &[0.5; 4],
        states: &states,
    };
    let Some(wide) = all.rates(Width::Four) else {
        return;
    };
    for i in [0, 1, 3] {
        let alone = all.only(i).rates(Width::One);
        let one = alone.expect("width one is everywhere");
        assert_eq!(bits(&one[0]), bits(&wide[i]));
        assert!(one[0].iter().all(|x| x.is_finite()));
    }
    assert!(wide[2][7].is_nan());
}

// Central differences of the f64 derivative, step h: error h² f''' plus ε/h. Each column is compared on the scale of
// its own largest change.
#[test]
fn dual_numbers_give_the_slope_of_differences() {
    let mut random = Random::new(23);
    let mut compared = 0;
    for round in 0..150 {
        let mut vehicle = scattered_vehicle(&mut random);
        let (mut air, mut segment, mut state) = (
            scatter::air(&mut random),
            scatter::segment(&mut random),
            scatter::state(&mut random),
        );
        segment.start_time = 0.0;
        if round % 2 == 0 {
            vehicle.apparent_mass = Some(lopsided(&mut random));
        }
        if round % 3 == 0 {
            air.ground_effect = 1.0;
            state.position.z *= 0.01;
        }
        let jacobian = DualModel::of(&vehicle, &air, &segment).jacobian(&state);
        let row = state.to_array();
        for j in 0..STATE_LENGTH {
            let h = 1e-6 * row[j].abs().max(0.3);
            let rate = |step: f64| {
                let mut moved = row;
                moved[j] += step;
                evaluate(&vehicle, &air, &segment, 0.0, &State::from_array(&moved))
                    .rate
                    .to_array()
            };
            let (after, before) = (rate(h), rate(-h));
            let wider = (rate(2.0 * h), rate(-2.0 * h));
            for i in 0..STATE_LENGTH {
                let difference = (after[i] - before[i]) / (2.0 * h);
                let coarse = (wider.0[i] - wider.1[i]) / (4.0 * h);
                let size = after[i].abs().max(before[i].abs()).max(1.0);
                let noise = 1e-15 * size / h * 20.0;
                // A kink (friction of the driver's diode, a table's knot, |α|) within reach shows as a difference of
                // the differences.
                if (difference - coarse).abs() > 1e-6 * difference.abs() + 4.0 * noise {
                    continue;
                }
                compared += 1;
                let limit = 1e-6 * difference.abs() + 4.0 * noise;
                let miss = (jacobian[(i, j)] - difference).abs();
                assert!(miss < limit, "{i} {j}: {} {difference}", jacobian[(i, j)]);
            }
        }
    }
    assert!(
        compared > 150 * STATE_LENGTH * STATE_LENGTH * 95 / 100,
        "{compared}"
    );
}

// The value that comes with a slope is the value without it, bit by bit.
#[test]
fn a_dual_numbers_value_is_the_scalar() {
    let mut random = Random::new(24);
    for _ in 0..300 {
        let vehicle = scattered_vehicle(&mut random);
        let (air, segment, state) = (
            scatter::air(&mut random),
            scatter::segment(&mut random),
            scatter::state(&mut random),
        );
        let scalar = evaluate(&vehicle, &air, &segment, 0.0, &state)
            .rate
            .to_array();
        let seeded = state.to_array().map(|x| Dual64::new(x, 1.0));
        let dual = DualModel::of(&vehicle, &air, &segment)
            .rate(&State::from_array(&seeded))
            .to_array();
        for (a, b) in scalar.iter().zip(&dual) {
            // Dual division multiplies by the reciprocal: the last bits may differ.
            assert!((a - b.re).abs() <= 1e-12 * a.abs().max(1.0), "{a} {}", b.re);
        }
    }
}

// Only the quaternion's direction counts: stretched by any factor it gives the same rates, itself apart.
#[test]
fn the_quaternions_length_does_not_matter() {
    let mut random = Random::new(25);
    let vehicle = twin();
    for _ in 0..300 {
        let (air, segment, state) = (
            scatter::air(&mut random),
            scatter::segment(&mut random),
            scatter::state(&mut random),
        );
        let mut long = state;
        let factor = random.between(0.3, 3.0);
        long.attitude *= factor;
        let (a, b) = (
            evaluate(&vehicle, &air, &segment, 0.5, &state).rate,
            evaluate(&vehicle, &air, &segment, 0.5, &long).rate,
        );
        let scale = a.velocity.norm().max(a.rates.norm()).max(1.0);
        assert!((a.velocity - b.velocity).norm() < 1e-12 * scale);
        assert!((a.rates - b.rates).norm() < 1e-12 * scale);
        assert!((a.position - b.position).norm() < 1e-13 * scale);
        let turned: Vector4<f64> = a.attitude * factor - b.attitude;
        assert!(turned.norm() < 1e-13 * scale);
    }
}
