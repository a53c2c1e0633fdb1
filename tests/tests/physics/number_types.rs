//! The derivative in every number type: four lanes give the scalar's bits, dual numbers the slope of differences.

use nalgebra::{Vector3, Vector4};
use num_dual::Dual64;
use sim_core::air::Air;
use sim_core::forces::evaluate;
use sim_core::number::{Lanes4, Number, Widen};
use sim_core::segment::Segment;
use sim_core::state::{STATE_LENGTH, State};
use sim_core::vehicle::Vehicle;
use sim_core::wrench::Wrench;
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

fn bits(wrench: &Wrench<f64>) -> [u64; 6] {
    let (f, m) = (wrench.force, wrench.moment);
    [f.x, f.y, f.z, m.x, m.y, m.z].map(f64::to_bits)
}

fn lane(wrench: &Wrench<Lanes4>, i: usize) -> Wrench<f64> {
    let part = |v: &Vector3<Lanes4>| Vector3::new(v.x.lane(i), v.y.lane(i), v.z.lane(i));
    Wrench {
        force: part(&wrench.force),
        moment: part(&wrench.moment),
    }
}

// Four throws side by side, each with its own vehicle, air, controls, time and state: every lane's rates and every
// cause's force have the bits of the scalar evaluation, in flight, stalled, backwards, stopped and at rest.
#[test]
fn every_lane_has_the_scalars_bits() {
    let mut random = Random::new(21);
    for round in 0..1500 {
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
        let wide = evaluate::<Lanes4>(
            &Vehicle::widen(&vehicles.each_ref()),
            &Air::widen(&airs.each_ref()),
            &Segment::widen(&segments.each_ref()),
            Lanes4::from_lanes(|i| times[i]),
            &State::widen(&states),
        );
        for i in 0..4 {
            let scalar = evaluate(&vehicles[i], &airs[i], &segments[i], times[i], &states[i]);
            let (one, four) = (scalar.rate.to_array(), wide.rate.lane(i).to_array());
            for k in 0..STATE_LENGTH {
                assert_eq!(
                    one[k].to_bits(),
                    four[k].to_bits(),
                    "round {round}, lane {i}, state {k}: {} {}",
                    one[k],
                    four[k]
                );
            }
            let (one, four) = (&scalar.forces, &wide.forces);
            for (a, b) in [
                (&one.weight, &four.weight),
                (&one.attached, &four.attached),
                (&one.ground_effect, &four.ground_effect),
                (&one.alpha_rate, &four.alpha_rate),
                (&one.apparent_mass, &four.apparent_mass),
                (&one.plates, &four.plates),
                (&one.damping, &four.damping),
                (&one.motors[0], &four.motors[0]),
                (&one.motors[1], &four.motors[1]),
                (&one.disc, &four.disc),
                (&one.wash, &four.wash),
                (&one.suction, &four.suction),
                (&one.gyroscopic, &four.gyroscopic),
                (&one.spin_up, &four.spin_up),
            ] {
                assert_eq!(bits(a), bits(&lane(b, i)), "round {round}, lane {i}");
            }
            assert_eq!(
                scalar.cell_voltage.to_bits(),
                wide.cell_voltage.lane(i).to_bits()
            );
        }
    }
}

// A lane that has failed leaves its neighbours alone.
#[test]
fn a_failed_lane_spoils_no_other() {
    let mut random = Random::new(22);
    let (vehicle, air, segment) = (
        twin(),
        scatter::air(&mut random),
        scatter::segment(&mut random),
    );
    let mut states: [_; 4] = std::array::from_fn(|_| scatter::state(&mut random));
    states[2].velocity.x = f64::NAN;
    states[2].rotors[0] = f64::INFINITY;
    let wide = evaluate::<Lanes4>(
        &Vehicle::widen(&[&vehicle]),
        &Air::widen(&[&air]),
        &Segment::widen(&[&segment]),
        Lanes4::constant(0.5),
        &State::widen(&states),
    );
    for i in [0, 1, 3] {
        let scalar = evaluate(&vehicle, &air, &segment, 0.5, &states[i]);
        assert_eq!(scalar.rate, wide.rate.lane(i));
    }
    assert!(wide.rate.lane(2).velocity.x.is_nan());
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
