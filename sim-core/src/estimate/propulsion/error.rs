//! What is wrong with measurements of a propeller or a motor.

use std::f64::consts::TAU;
use thiserror::Error;

/// Measurements that contradict one another or do not suffice, with the numbers.
#[derive(Clone, Copy, Debug, Error, PartialEq)]
#[non_exhaustive]
pub enum PropulsionError {
    /// A number that is none, or not over zero.
    #[error("{what} {value}, which is not a number over 0")]
    NotPositive {
        /// Which quantity.
        what: &'static str,
        /// Its value.
        value: f64,
    },
    /// More thrust than an ideal disc of that diameter gives for the power: figure of merit over 1.
    #[error("a static thrust of {:.1} mN, for which even an ideal propeller of this diameter needs {needed_w:.2} W, from {found_w:.2} W {} (figure of merit {:.2})",
        thrust_n * 1e3, if *electrical { "of voltage times current" } else { "at the shaft" }, needed_w / found_w)]
    ThrustBeyondDisc {
        /// Thrust, N.
        thrust_n: f64,
        /// Power of the actuator disc, W.
        needed_w: f64,
        /// Power there is, W.
        found_w: f64,
        /// Whether that is U·I, else shaft power by the motor's constants.
        electrical: bool,
    },
    /// A current at or above that of the motor held fast.
    #[error(
        "a current of {current_a:.3} A, and a stall current (voltage over resistance) of only {stall_a:.3} A"
    )]
    CurrentAtStall {
        /// Current, A.
        current_a: f64,
        /// Stall current, A.
        stall_a: f64,
    },
    /// More current without the propeller than with it.
    #[error(
        "a current of {no_load_a:.3} A without load, and only {running_a:.3} A with the propeller on"
    )]
    NoLoadCurrentTooLarge {
        /// Current without load, A.
        no_load_a: f64,
        /// Current with the propeller, A.
        running_a: f64,
    },
    /// A loaded rotor faster than its voltage lets it turn without load.
    #[error("{:.0} rpm with the propeller on, and {:.0} rpm at that voltage without any load",
        speed_rad_s * 60.0 / TAU, free_rad_s * 60.0 / TAU)]
    FasterThanFree {
        /// Speed, rad/s.
        speed_rad_s: f64,
        /// Speed the voltage gives, rad/s.
        free_rad_s: f64,
    },
    /// More shaft power than such a motor gives.
    #[error("{:.0} % of the electrical power at the shaft, and {:.0} % at best from a motor with that current without load", efficiency * 100.0, best * 100.0)]
    EfficiencyBeyondMotor {
        /// Shaft over electrical power.
        efficiency: f64,
        /// The most.
        best: f64,
    },
    /// Thrust far from what the geometry gives at the measured speed.
    #[error("a static thrust of {:.1} mN ({:.1} g on a scale), where a propeller of this size gives some {:.1} mN ({:.1} g) at {:.0} rpm",
        thrust_n * 1e3, thrust_n / 9.80665e-3, expected_n * 1e3, expected_n / 9.80665e-3, speed_rad_s * 60.0 / TAU)]
    ThrustUnlikely {
        /// Thrust, N.
        thrust_n: f64,
        /// Thrust by the blade calculation, N.
        expected_n: f64,
        /// Speed, rad/s.
        speed_rad_s: f64,
    },
    /// Shaft power below the actuator disc's somewhere along the table.
    #[error(
        "a power coefficient of {power:.4} at advance ratio {advance_ratio:.2}, where an ideal propeller needs {least:.4} for the thrust"
    )]
    PowerBelowDisc {
        /// J.
        advance_ratio: f64,
        /// C_P found.
        power: f64,
        /// C_P of the disc.
        least: f64,
    },
    /// A geometry that pushes nothing.
    #[error(
        "a propeller whose blades give no thrust, or do not stop giving any, by the blade calculation"
    )]
    NoThrust,
    /// Too little to go by.
    #[error("too little to go by; still needed: {missing}")]
    NotEnough {
        /// What is missing.
        missing: &'static str,
    },
}
