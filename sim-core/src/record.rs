//! A flight as rows uniform in time, for tables and notebooks (MODEL.md § 9).
//!
//! Rows are values of the dense output. They never influence the flight, and no result is made from them.

use crate::air::STANDARD_GRAVITY_M_S2;
use crate::events::clearance;
use crate::flight::Flight;
use crate::forces::{Evaluation, MotorState};
use crate::frames::EulerAngles;
use crate::power::motor::{FRICTION_FADE_RAD_S, Motor};
use crate::root::EVENT_RESOLUTION_S;
use crate::state::State;
use crate::wrench::Wrench;
use nalgebra::Vector3;
use std::f64::consts::TAU;

/// Columns before the motors'.
///
/// - `height_m` is that of the balance point over the ground under the release, `clearance_m` that of the airframe's lowest point over
///   the site's ground.
/// - `roll_deg` and `yaw_deg` run from −180 to 180 and jump there; `pitch_deg`, from −90 to 90, is the elevation of body x.
/// - The quaternion (body to earth, scalar first) has length one.
/// - `body_u/v/w_m_s` is the velocity of the balance point over the ground in body axes, `velocity_…_m_s` the same in earth axes.
/// - Airspeed, alpha and beta are those at the coefficients' reference point; `path_angle_deg` is the climb angle of the balance
///   point over the ground, `air_path_angle_deg` through the air; both are 0 at rest.
/// - Load factors are the force on the airframe without its weight, divided by m · 9.80665 m/s²: `normal` along −z (1 in level
///   flight), `forward` along x, `side` along y (right).
/// - `wind_…_m_s` is the velocity of the air at the reference point, positive where it goes.
const FRAME_COLUMNS: [&str; 38] = [
    "time_s",
    "north_m",
    "east_m",
    "height_m",
    "clearance_m",
    "roll_deg",
    "pitch_deg",
    "yaw_deg",
    "quaternion_w",
    "quaternion_x",
    "quaternion_y",
    "quaternion_z",
    "body_u_m_s",
    "body_v_m_s",
    "body_w_m_s",
    "velocity_north_m_s",
    "velocity_east_m_s",
    "velocity_up_m_s",
    "roll_rate_deg_s",
    "pitch_rate_deg_s",
    "yaw_rate_deg_s",
    "airspeed_m_s",
    "alpha_deg",
    "beta_deg",
    "path_angle_deg",
    "air_path_angle_deg",
    "load_factor_normal",
    "load_factor_forward",
    "load_factor_side",
    "attached_fraction",
    "density_kg_m3",
    "wind_north_m_s",
    "wind_east_m_s",
    "wind_up_m_s",
    "cell_voltage_V",
    "cell_current_A",
    "charge_used_mAh",
    "charge_left_fraction",
];

/// Columns of each motor, after `motor_NAME_`. The advance ratio is empty below [`FRICTION_FADE_RAD_S`] (3 turns a second).
const MOTOR_COLUMNS: [&str; 6] = [
    "throttle_fraction",
    "rotor_speed_rpm",
    "thrust_N",
    "torque_N_m",
    "current_A",
    "advance_ratio",
];

/// Sources of force and moment before and after the motors'.
const SOURCES: ([&str; 6], [&str; 4]) = (
    [
        "attached",
        "ground_effect",
        "alpha_rate",
        "apparent_mass",
        "plates",
        "damping",
    ],
    ["gyroscopic", "spin_up", "weight", "total"],
);

/// Header of each column, units at the end of the names, for the names of the motors and of the tabs.
///
/// The order is: the airframe and the cell; each motor; each tab; then force (N) and moment about the balance point (N m) of every
/// source, body axes. The number of motors and tabs must be that of the vehicle flown.
pub fn column_names(motors: &[impl AsRef<str>], tabs: &[impl AsRef<str>]) -> Vec<String> {
    let motors: Vec<String> = motors
        .iter()
        .map(|name| format!("motor_{}", name.as_ref()))
        .collect();
    let mut names: Vec<String> = FRAME_COLUMNS.map(String::from).to_vec();
    for motor in &motors {
        names.extend(MOTOR_COLUMNS.map(|column| format!("{motor}_{column}")));
    }
    names.extend(tabs.iter().map(|name| format!("tab_{}_deg", name.as_ref())));
    let (before, after) = SOURCES;
    let sources = before
        .into_iter()
        .chain(motors.iter().map(String::as_str))
        .chain(after);
    for source in sources {
        names.extend(["x", "y", "z"].map(|axis| format!("force_{source}_{axis}_N")));
        names.extend(["x", "y", "z"].map(|axis| format!("moment_{source}_{axis}_N_m")));
    }
    names
}

/// Times of the rows (s): the multiples of the interval from release on, then the end of the flight.
///
/// A multiple within 1e-9 s of the end gives way to the end, so that no moment stands twice.
///
/// # Panics
/// Where the interval is not positive; file checks come first.
pub fn row_times_s(flight: &Flight, interval_s: f64) -> Vec<f64> {
    assert!(interval_s > 0.0, "a record interval is longer than nothing");
    (0_u64..)
        .map(|i| i as f64 * interval_s)
        .take_while(|t| *t < flight.end_time_s - EVENT_RESOLUTION_S)
        .chain([flight.end_time_s])
        .collect()
}

/// Values of a flight at a time (s), in the order of [`column_names`]. Just after a cut where the time is one.
///
/// A value is absent where the quantity does not exist: the advance ratio of a rotor at rest, the cell of an airframe without motors;
/// and where a failed flight's last number is not finite. What is present is finite.
pub fn row(flight: &Flight, time_s: f64) -> Vec<Option<f64>> {
    let vehicle = &flight.throw().vehicle;
    let (state, at) = flight.evaluation_at(time_s);
    let mut values: Vec<Option<f64>> = Vec::new();
    values.extend([time_s.clamp(0.0, flight.end_time_s)].map(Some));
    values.extend(frame_values(flight, &state, &at).map(Some));
    values.extend(
        cell_values(flight, &state, &at).map(|x| (!vehicle.motors.is_empty()).then_some(x)),
    );
    for (i, motor) in vehicle.motors.iter().enumerate() {
        let now = &at.motors[i];
        values.extend(
            [
                now.duty,
                state.rotors[i] * 60.0 / TAU,
                now.thrust,
                now.torque,
                now.current,
            ]
            .map(Some),
        );
        values.push(advance_ratio(motor, now, state.rotors[i]));
    }
    values.extend(
        flight
            .tab_angles_at(time_s)
            .map(|angle| Some(angle.to_degrees())),
    );
    let forces = &at.forces;
    let before = [
        forces.attached,
        forces.ground_effect,
        forces.alpha_rate,
        forces.apparent_mass,
        forces.plates,
        forces.damping,
    ];
    let after = [
        forces.gyroscopic,
        forces.spin_up,
        forces.weight,
        forces.total(),
    ];
    let motors = &forces.motors[..vehicle.motors.len()];
    for Wrench { force, moment } in before.iter().chain(motors).chain(&after) {
        values.extend(force.iter().chain(moment.iter()).map(|&x| Some(x)));
    }
    values
        .into_iter()
        .map(|x| x.filter(|x| x.is_finite()))
        .collect()
}

fn frame_values(flight: &Flight, state: &State<f64>, at: &Evaluation<f64>) -> [f64; 33] {
    let vehicle = &flight.throw().vehicle;
    let angles = EulerAngles::of(&at.to_earth);
    let attitude = state.attitude.normalize();
    let (over_ground, wind) = (at.to_earth * state.velocity, at.wind.velocity);
    let without_weight = at.forces.total().force - at.forces.weight.force;
    let load = without_weight / (vehicle.mass * STANDARD_GRAVITY_M_S2);
    [
        state.position.x,
        state.position.y,
        state.height(),
        clearance(vehicle, &flight.throw().site, state),
        angles.roll_rad.to_degrees(),
        angles.pitch_rad.to_degrees(),
        angles.yaw_rad.to_degrees(),
        attitude[0],
        attitude[1],
        attitude[2],
        attitude[3],
        state.velocity.x,
        state.velocity.y,
        state.velocity.z,
        over_ground.x,
        over_ground.y,
        -over_ground.z,
        state.rates.x.to_degrees(),
        state.rates.y.to_degrees(),
        state.rates.z.to_degrees(),
        at.flow.airspeed,
        at.flow.alpha.to_degrees(),
        at.flow.beta.to_degrees(),
        climb_angle_rad(&over_ground).to_degrees(),
        climb_angle_rad(&(over_ground - wind)).to_degrees(),
        -load.z,
        load.x,
        load.y,
        at.attached_weight,
        at.flow.density,
        wind.x,
        wind.y,
        -wind.z,
    ]
}

fn cell_values(flight: &Flight, state: &State<f64>, at: &Evaluation<f64>) -> [f64; 4] {
    [
        at.cell_voltage,
        at.rate.charge,
        state.charge / COULOMB_PER_MILLIAMPERE_HOUR,
        1.0 - state.charge / flight.throw().vehicle.cell.capacity,
    ]
}

/// C in one mAh.
pub const COULOMB_PER_MILLIAMPERE_HOUR: f64 = 3.6;

/// Climb angle of a velocity (earth axes), rad; 0 at rest.
pub fn climb_angle_rad(velocity: &Vector3<f64>) -> f64 {
    libm::atan2(-velocity.z, libm::hypot(velocity.x, velocity.y))
}

/// Advance ratio J = u/(nD) of a motor's propeller at its rotor speed (rad/s); none below [`FRICTION_FADE_RAD_S`], where it says nothing.
pub fn advance_ratio(motor: &Motor<f64>, now: &MotorState<f64>, rotor_rad_s: f64) -> Option<f64> {
    let turning = rotor_rad_s.abs() >= FRICTION_FADE_RAD_S;
    turning.then(|| now.axial_speed * TAU / (rotor_rad_s.abs() * motor.propeller.diameter))
}

#[cfg(test)]
mod tests;
