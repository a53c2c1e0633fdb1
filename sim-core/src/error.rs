//! What can go wrong with a flight or a search for steady flight.

use thiserror::Error;

/// A flight that cannot start.
#[derive(Clone, Debug, Error, PartialEq)]
#[non_exhaustive]
pub enum LaunchError {
    /// The airframe's lowest point is under the site's ground at release.
    #[error(
        "the airframe's lowest point is {below_m:.3} m under the ground at release; release it higher"
    )]
    BelowGround {
        /// How far under, m.
        below_m: f64,
    },
    /// The airframe reaches through a wall at release.
    #[error("the airframe reaches through wall {wall} at release")]
    BehindWall {
        /// Which wall, counted from 1.
        wall: usize,
    },
    /// The airframe reaches through a wall of the hall at release, or is outside.
    #[error("the airframe reaches through wall {wall} of the hall at release, or is outside it")]
    OutsideHall {
        /// The nearest wall, counted from 1.
        wall: usize,
    },
    /// The airframe reaches through the hall's ceiling at release.
    #[error("the airframe's highest point is {above_m:.3} m over the ceiling at release")]
    ThroughCeiling {
        /// How far over, m.
        above_m: f64,
    },
    /// No steady rotor speed was found at the release.
    #[error("no steady rotor speed found at release airspeed for motor {motor}")]
    NoRotorSpeed {
        /// Which motor, counted from 1.
        motor: usize,
    },
}

/// Why the integration stopped before its end.
#[derive(Clone, Copy, Debug, Error, PartialEq, Eq)]
#[non_exhaustive]
pub enum NumericalFailure {
    /// The step size went to nothing, usually on a number that is not finite.
    #[error(
        "the step size went to nothing: numbers of the file far from any real ones, most likely"
    )]
    StepUnderflow,
    /// More steps than allowed.
    #[error(
        "steps of under 50 µs all along: an inertia or a coefficient far from any real one, most likely"
    )]
    TooManySteps,
    /// A state that is not finite.
    #[error("a number that is not finite")]
    NotFinite,
}

/// A steady flight that was not found.
#[derive(Clone, Debug, Error, PartialEq)]
#[non_exhaustive]
pub enum TrimError {
    /// Newton's iteration did not come to rest.
    #[error(
        "no steady flight found at throttle {throttle_fraction:.3}, left minus right {left_minus_right_fraction:.3} (last residual {residual:.2e})"
    )]
    NotFound {
        /// Throttle tried last.
        throttle_fraction: f64,
        /// Left-right difference tried last.
        left_minus_right_fraction: f64,
        /// Size of the scaled residual.
        residual: f64,
    },
    /// Level flight needs more throttle than there is.
    #[error(
        "level flight needs more than full throttle: at full throttle the path angle is {path_angle_deg:.2} deg"
    )]
    NotEnoughPower {
        /// Path angle at full throttle, deg.
        path_angle_deg: f64,
    },
    /// A level turn that takes more than full throttle, or that does not exist.
    #[error(
        "no level turn at left minus right {left_minus_right_fraction:.3}: found up to {reached_fraction:.3}, at throttle {throttle_fraction:.3}"
    )]
    TurnTooTight {
        /// Left-right difference asked for.
        left_minus_right_fraction: f64,
        /// Largest difference found on the way.
        reached_fraction: f64,
        /// Throttle there.
        throttle_fraction: f64,
    },
    /// The airframe climbs without power.
    #[error("level flight needs less than no throttle")]
    NoThrottleNeeded,
    /// The airframe has no motor.
    #[error("the airframe has no motor")]
    NoMotor,
}
