//! What can be said of a flight in one moment without working out a force (MODEL.md § 28.7).

use crate::air::Air;
use crate::forces::{axial_speed, surroundings};
use crate::number::Number;
use crate::parts::Parts;
use crate::segment::Segment;
use crate::state::{MAX_MOTORS, State};
use crate::vehicle::Vehicle;
use nalgebra::{Matrix3, Vector3};

/// How the airframe stands and what air it meets: the same numbers as in [`crate::forces::Evaluation`].
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Look<T> {
    /// Body-to-earth rotation.
    pub to_earth: Matrix3<T>,
    /// Velocity of the air at the reference point, earth axes, m/s.
    pub wind: Vector3<T>,
    /// Airspeed at the reference point, m/s.
    pub airspeed: T,
    /// Angle of attack α there, rad.
    pub alpha: T,
    /// Sideslip β there, rad.
    pub beta: T,
    /// Rates relative to the air, rad/s.
    pub rates: Vector3<T>,
    /// Axial speed of each disc through the air, m/s; zero where there is no motor.
    pub axial_speeds: [T; MAX_MOTORS],
}

/// Looks at a state at a time (s). Allocates nothing.
pub fn look<T: Number>(
    vehicle: &Vehicle<T>,
    air: &Air<T>,
    segment: &Segment<T>,
    time: T,
    state: &State<T>,
) -> Look<T> {
    // How the wind changes on the way matters to accelerations only.
    let parts = Parts {
        wind_rates: false,
        ..Parts::ALL
    };
    // So does density.
    let around = surroundings(vehicle, air, segment, &parts, time, state, T::one());
    let mut axial_speeds = [T::zero(); MAX_MOTORS];
    for (speed, motor) in axial_speeds.iter_mut().zip(&vehicle.motors) {
        *speed = axial_speed(motor, state, &around.flow);
    }
    Look {
        to_earth: around.to_earth,
        wind: around.wind.velocity,
        airspeed: around.flow.airspeed,
        alpha: around.flow.alpha,
        beta: around.flow.beta,
        rates: around.flow.rates,
        axial_speeds,
    }
}
