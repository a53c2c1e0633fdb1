//! How the throw lets go (MODEL.md § 8).

use crate::aero::flow::Flow;
use crate::air::Air;
use crate::error::LaunchError;
use crate::forces::{flow_of_motors, motors_in};
use crate::frames::{EulerAngles, multiply, rotation};
use crate::segment::Segment;
use crate::state::{MAX_MOTORS, State};
use crate::vehicle::Vehicle;
use nalgebra::Vector3;

/// A hand launch. Speeds are over the ground: the hand stands still.
#[derive(Clone, Debug, PartialEq)]
pub struct Launch {
    /// Height of the balance point over the ground, m.
    pub height_m: f64,
    /// Speed over the ground, m/s.
    pub speed_m_s: f64,
    /// Climb angle of the path over the ground, rad.
    pub path_angle_rad: f64,
    /// Heading of the path, rad from north to east.
    pub heading_rad: f64,
    /// Nose above the path, rad.
    pub nose_above_path_rad: f64,
    /// Nose right of the path, rad.
    pub nose_right_of_path_rad: f64,
    /// Bank, rad, right wing down positive.
    pub bank_rad: f64,
    /// Body rates p, q, r, rad/s.
    pub rates_rad_s: Vector3<f64>,
    /// Rotor speeds, rad/s; steady ones at the release airspeed where not given.
    pub rotor_speeds_rad_s: Option<Vec<f64>>,
    /// Charge left in the cell, 0 to 1.
    pub charge_fraction: f64,
}

impl Launch {
    /// A level throw to the north with the cell full.
    pub fn level(height_m: f64, speed_m_s: f64) -> Self {
        Launch {
            height_m,
            speed_m_s,
            path_angle_rad: 0.0,
            heading_rad: 0.0,
            nose_above_path_rad: 0.0,
            nose_right_of_path_rad: 0.0,
            bank_rad: 0.0,
            rates_rad_s: Vector3::zeros(),
            rotor_speeds_rad_s: None,
            charge_fraction: 1.0,
        }
    }

    /// State at release, with `segment` in force and its gusts as they are then.
    ///
    /// # Errors
    /// [`LaunchError::NoRotorSpeed`] where the rotors' balance of torque has no root between rest and a million rpm.
    pub fn state(
        &self,
        vehicle: &Vehicle<f64>,
        air: &Air<f64>,
        segment: &Segment<f64>,
    ) -> Result<State<f64>, LaunchError> {
        let mut state = self.placed(vehicle);
        match &self.rotor_speeds_rad_s {
            Some(given) => state.rotors[..given.len()].copy_from_slice(given),
            None => steady_rotors(vehicle, air, segment, &mut state)?,
        }
        Ok(state)
    }

    /// The same with rotors at rest, which alone need the air and the controls.
    pub fn placed(&self, vehicle: &Vehicle<f64>) -> State<f64> {
        let turn = |roll_rad, pitch_rad, yaw_rad| {
            EulerAngles {
                roll_rad,
                pitch_rad,
                yaw_rad,
            }
            .quaternion()
        };
        let attitude = multiply(
            &turn(0.0, self.path_angle_rad, self.heading_rad),
            &turn(
                self.bank_rad,
                self.nose_above_path_rad,
                self.nose_right_of_path_rad,
            ),
        );
        let (sin_path, cos_path) = libm::sincos(self.path_angle_rad);
        let (sin_heading, cos_heading) = libm::sincos(self.heading_rad);
        let over_ground = Vector3::new(cos_path * cos_heading, cos_path * sin_heading, -sin_path)
            * self.speed_m_s;
        State {
            position: Vector3::new(0.0, 0.0, -self.height_m),
            attitude,
            velocity: rotation(&attitude).transpose() * over_ground,
            rates: self.rates_rad_s,
            rotors: [0.0; MAX_MOTORS],
            charge: (1.0 - self.charge_fraction) * vehicle.cell.capacity,
        }
    }
}

/// Sets the rotors to the speeds at which their torques balance, all together.
///
/// Each motor's balance is found in turn with the others held, until none moves any more. The cell couples them weakly as a rule, so that a few
/// rounds settle it.
///
/// # Errors
/// [`LaunchError::NoRotorSpeed`] where a torque has no balance, or the rounds do not settle.
pub(crate) fn steady_rotors(
    vehicle: &Vehicle<f64>,
    air: &Air<f64>,
    segment: &Segment<f64>,
    state: &mut State<f64>,
) -> Result<(), LaunchError> {
    const ROUNDS: usize = 1000;
    /// A rotor that moves by less in a round has settled, rad/s: what rounding leaves of thousands of them.
    const SETTLED_RAD_S: f64 = 1e-9;
    let mut moved = None;
    let flow = flow_of_motors(vehicle, air, segment, segment.start_time, state);
    for _ in 0..ROUNDS {
        let before = state.rotors;
        for i in 0..vehicle.motors.len() {
            state.rotors[i] = balanced_speed(vehicle, &flow, segment, state, i)
                .ok_or(LaunchError::NoRotorSpeed { motor: i + 1 })?;
        }
        moved = (0..before.len()).find(|&i| (state.rotors[i] - before[i]).abs() > SETTLED_RAD_S);
        if moved.is_none() {
            break;
        }
    }
    match moved {
        Some(i) => Err(LaunchError::NoRotorSpeed { motor: i + 1 }),
        None => Ok(()),
    }
}

/// Speed (rad/s) at which motor i's torques balance, the others held; 0 where it does not turn by itself.
fn balanced_speed(
    vehicle: &Vehicle<f64>,
    flow: &Flow<f64>,
    segment: &Segment<f64>,
    state: &State<f64>,
    i: usize,
) -> Option<f64> {
    const HIGHEST_RAD_S: f64 = 1e5;
    let mut trial = *state;
    let mut rate = |speed: f64| {
        trial.rotors[i] = speed;
        motors_in(vehicle, segment, segment.start_time, &trial, flow)[i].rotor_rate
    };
    let (mut low, mut high) = (0.0, HIGHEST_RAD_S);
    let at_ends = (rate(low), rate(high));
    if at_ends.0 <= 0.0 {
        return Some(0.0);
    }
    if at_ends.1 > 0.0 {
        return None;
    }
    // A secant gets near in a few steps; what is left between two neighbouring numbers is halved, so that the answer is the same whatever led there.
    if let Some((below, above)) = near(
        &mut rate,
        (low, at_ends.0),
        (high, at_ends.1),
        state.rotors[i],
    ) {
        (low, high) = (below, above);
    }
    loop {
        let middle = 0.5 * (low + high);
        if middle <= low || middle >= high {
            return Some(low);
        }
        if rate(middle) > 0.0 {
            low = middle;
        } else {
            high = middle;
        }
    }
}

/// Close ends round where a falling function passes 0, found by regula falsi in the Illinois way from a guess and ends it passes 0 between, each with
/// its value; none where that does not get there.
fn near(
    rate: &mut impl FnMut(f64) -> f64,
    mut a: (f64, f64),
    mut b: (f64, f64),
    guess: f64,
) -> Option<(f64, f64)> {
    const MOST_STEPS: usize = 60;
    const CLOSE: f64 = 1e-12;
    let (low, high) = (a.0, b.0);
    let mut next = if guess > low && guess < high {
        guess
    } else {
        0.5 * (low + high)
    };
    for _ in 0..MOST_STEPS {
        let (below, above) = (next * (1.0 - CLOSE), next * (1.0 + CLOSE));
        let found = rate(next);
        if found > 0.0 {
            if above < high && rate(above) <= 0.0 {
                return Some((next, above));
            }
            (a, b.1) = ((next, found), 0.5 * b.1);
        } else {
            if below > low && rate(below) > 0.0 {
                return Some((below, next));
            }
            (b, a.1) = ((next, found), 0.5 * a.1);
        }
        let secant = b.0 - b.1 * (b.0 - a.0) / (b.1 - a.1);
        next = if secant > a.0 && secant < b.0 {
            secant
        } else {
            0.5 * (a.0 + b.0)
        };
    }
    None
}
