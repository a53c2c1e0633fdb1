//! What can be said of a flight in one moment without working out a force (MODEL.md § 28.7).

use crate::air::Air;
use crate::events::clearance;
use crate::flight::{Instant, Throw};
use crate::forces::{axial_speed, surroundings};
use crate::frames::EulerAngles;
use crate::number::Number;
use crate::parts::{Constants, Parts};
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
    let constants = Constants::none();
    look_for(vehicle, air, segment, &Parts::ALL, &constants, time, state)
}

/// The same where only some parts of the model are there.
#[inline(always)]
pub(crate) fn look_for<T: Number>(
    vehicle: &Vehicle<T>,
    air: &Air<T>,
    segment: &Segment<T>,
    parts: &Parts,
    constants: &Constants<T>,
    time: T,
    state: &State<T>,
) -> Look<T> {
    // How the wind changes on the way matters to accelerations only.
    let parts = Parts {
        wind_rates: false,
        ..*parts
    };
    // So does density.
    let density = T::one();
    let around = surroundings(
        vehicle, air, segment, &parts, constants, time, state, density,
    );
    let mut axial_speeds = [T::zero(); MAX_MOTORS];
    // Iterators would be left out of line in lanes.
    #[allow(clippy::needless_range_loop)]
    for i in 0..vehicle.motors.len().min(MAX_MOTORS) {
        axial_speeds[i] = axial_speed(&vehicle.motors[i], state, &around.flow);
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

/// A flight in one moment as people speak of it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Moment {
    /// Time, s.
    pub time_s: f64,
    /// Balance point, earth axes, m.
    pub position_m: Vector3<f64>,
    /// Its height, m.
    pub height_m: f64,
    /// Height of the airframe's lowest point over the site's ground, m.
    pub clearance_m: f64,
    /// Roll, rad.
    pub roll_rad: f64,
    /// Pitch: elevation of body x over the horizon, rad.
    pub pitch_rad: f64,
    /// Heading of body x, rad.
    pub yaw_rad: f64,
    /// Velocity over the ground, earth axes, m/s.
    pub ground_m_s: Vector3<f64>,
    /// The same less the wind at the reference point, m/s.
    pub air_m_s: Vector3<f64>,
    /// Airspeed at the reference point, m/s.
    pub airspeed_m_s: f64,
    /// Alpha there, rad.
    pub alpha_rad: f64,
    /// Beta there, rad.
    pub beta_rad: f64,
    /// Rates relative to the air, rad/s.
    pub rates_rad_s: Vector3<f64>,
    /// Rotor speeds, rad/s.
    pub rotors_rad_s: [f64; MAX_MOTORS],
    /// Axial speed of each disc through the air, m/s.
    pub axial_m_s: [f64; MAX_MOTORS],
    /// Charge taken from the cell, C.
    pub charge_c: f64,
}

impl Moment {
    /// A throw in a moment of its flight.
    pub fn of(throw: &Throw, at: &Instant<'_>) -> Self {
        let state = &at.state;
        let seen = look(&throw.vehicle, &throw.air, at.segment, at.time_s, state);
        let angles = EulerAngles::of(&seen.to_earth);
        let ground = seen.to_earth * state.velocity;
        Moment {
            time_s: at.time_s,
            position_m: state.position,
            height_m: state.height(),
            clearance_m: clearance(&throw.vehicle, &throw.site, state),
            roll_rad: angles.roll_rad,
            pitch_rad: angles.pitch_rad,
            yaw_rad: angles.yaw_rad,
            ground_m_s: ground,
            air_m_s: ground - seen.wind,
            airspeed_m_s: seen.airspeed,
            alpha_rad: seen.alpha,
            beta_rad: seen.beta,
            rates_rad_s: seen.rates,
            rotors_rad_s: state.rotors,
            axial_m_s: seen.axial_speeds,
            charge_c: state.charge,
        }
    }

    /// Whether it holds nothing but numbers.
    pub fn is_finite(&self) -> bool {
        let vectors = [
            self.position_m,
            self.ground_m_s,
            self.air_m_s,
            self.rates_rad_s,
        ];
        let numbers = [
            self.clearance_m,
            self.roll_rad,
            self.pitch_rad,
            self.yaw_rad,
            self.airspeed_m_s,
            self.alpha_rad,
            self.beta_rad,
            self.charge_c,
        ];
        let vectors = vectors.iter().flat_map(Vector3::iter);
        let motors = self.rotors_rad_s.iter().chain(&self.axial_m_s);
        vectors.chain(motors).chain(&numbers).all(|x| x.is_finite())
    }

    /// Speed over the ground as seen from above, m/s.
    pub fn ground_speed_m_s(&self) -> f64 {
        self.ground_m_s.xy().norm()
    }

    /// Speed through the air as seen from above, m/s.
    pub fn air_speed_from_above_m_s(&self) -> f64 {
        self.air_m_s.xy().norm()
    }
}
