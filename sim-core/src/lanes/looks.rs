//! The looks of a step in all lanes (MODEL.md § 28.7).

use super::number::Lanes;
use super::register::{Job, Register};
use super::step::{Flown, Interpolants};
use crate::events::LOOKS_PER_STEP;
use crate::look::{Moment, look_for};
use crate::number::Number;
use crate::state::{MAX_MOTORS, STATE_LENGTH, State};
use crate::vector::{minus, turned};
use nalgebra::Vector3;

/// Numbers of a moment, but for its time.
const NUMBERS: usize = 20 + 2 * MAX_MOTORS;

/// Every look of the last step, in every lane.
#[derive(Debug)]
pub struct StepLooks {
    numbers: [[[f64; 16]; NUMBERS]; LOOKS_PER_STEP],
}

impl StepLooks {
    /// Of no step.
    pub fn none() -> Box<Self> {
        Box::new(StepLooks {
            numbers: [[[0.0; 16]; NUMBERS]; LOOKS_PER_STEP],
        })
    }

    /// One of them (0 the first after the start) in a lane, at a time (s).
    pub fn moment(&self, look: usize, lane: usize, time_s: f64) -> Moment {
        let at = |i: usize| self.numbers[look][i][lane];
        let vector = |i: usize| Vector3::new(at(i), at(i + 1), at(i + 2));
        Moment {
            time_s,
            position_m: vector(0),
            height_m: -at(2),
            ground_m_s: vector(3),
            air_m_s: vector(6),
            rates_rad_s: vector(9),
            roll_rad: at(12),
            pitch_rad: at(13),
            yaw_rad: at(14),
            airspeed_m_s: at(15),
            alpha_rad: at(16),
            beta_rad: at(17),
            clearance_m: at(18),
            charge_c: at(19),
            rotors_rad_s: std::array::from_fn(|k| at(20 + k)),
            axial_m_s: std::array::from_fn(|k| at(20 + MAX_MOTORS + k)),
        }
    }
}

/// Looks at the step that the interpolants are of.
pub struct LookAtStep<'a, R: Register> {
    /// What is flown.
    pub flown: &'a Flown<R>,
    /// The step.
    pub step: &'a Interpolants,
    /// Where the looks go.
    pub to: &'a mut StepLooks,
}

impl<R: Register> Job for LookAtStep<'_, R> {
    type Output = ();

    #[inline(always)]
    fn run(self) {
        let load = |from: &[f64; 16]| Lanes::<R>::from_lanes(|lane| from[lane]);
        let (start, length) = (load(&self.step.start_s), load(&self.step.length_s));
        for (look, to) in self.to.numbers.iter_mut().enumerate() {
            let share = Lanes::constant((look + 1) as f64 / LOOKS_PER_STEP as f64);
            let mut row = [Lanes::<R>::constant(0.0); STATE_LENGTH];
            for (i, value) in row.iter_mut().enumerate() {
                let [p0, p1, p2, p3, p4] = &self.step.powers;
                let sum = share.times_plus(load(&p4[i]), load(&p3[i]));
                let sum = share.times_plus(sum, load(&p2[i]));
                let sum = share.times_plus(sum, load(&p1[i]));
                *value = share.times_plus(sum, load(&p0[i]));
            }
            let time = share.times_plus(length, start);
            R::run(LookAt {
                flown: self.flown,
                time,
                row: &row,
                to,
            });
        }
    }
}

/// One look in all lanes. Compiled once; the looks of a step call it.
struct LookAt<'a, R: Register> {
    flown: &'a Flown<R>,
    time: Lanes<R>,
    row: &'a [Lanes<R>; STATE_LENGTH],
    to: &'a mut [[f64; 16]; NUMBERS],
}

impl<R: Register> Job for LookAt<'_, R> {
    type Output = ();

    #[inline(always)]
    fn run(self) {
        let flown = self.flown;
        let (vehicle, air) = (&flown.vehicle, &flown.air);
        let state = State::from_array(self.row);
        let seen = look_for(
            vehicle,
            air,
            &flown.segment,
            &flown.parts,
            &flown.constants,
            self.time,
            &state,
        );
        let r = &seen.to_earth;
        let ground = turned(r, &state.velocity);
        let through_air = minus(&ground, &seen.wind);
        let down = Vector3::new(r[(2, 0)], r[(2, 1)], r[(2, 2)]);
        let clearance = state.height() - vehicle.reach(&down) - air.ground_height;
        let level = r[(0, 0)].times_plus(r[(0, 0)], r[(1, 0)] * r[(1, 0)]);
        let [x, v, a, w] = [state.position, ground, through_air, seen.rates];
        let [first, second] = state.rotors;
        let [axial_first, axial_second] = seen.axial_speeds;
        let numbers: [Lanes<R>; NUMBERS] = [
            x.x,
            x.y,
            x.z,
            v.x,
            v.y,
            v.z,
            a.x,
            a.y,
            a.z,
            w.x,
            w.y,
            w.z,
            r[(2, 1)].atan2(r[(2, 2)]),
            (-r[(2, 0)]).atan2(level.sqrt()),
            r[(1, 0)].atan2(r[(0, 0)]),
            seen.airspeed,
            seen.alpha,
            seen.beta,
            clearance,
            state.charge,
            first,
            second,
            axial_first,
            axial_second,
        ];
        for (value, to) in numbers.into_iter().zip(self.to) {
            for (lane, to) in to.iter_mut().enumerate().take(R::WIDTH) {
                *to = value.lane(lane);
            }
        }
    }
}
