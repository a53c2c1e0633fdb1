//! Which parts of the model one throw has at all, and what of it is worked out once (MODEL.md § 28.3).
//!
//! A part that is absent adds exactly nothing. In lanes it is left out; whether it is there is decided once for a throw, never for its
//! neighbours. `f64` always works out everything.

use crate::aero::apparent_mass::CarriedModes;
use crate::air::Air;
use crate::air::profile::ProfileConstants;
use crate::number::{Number, lane_data};
use crate::power::motor::Motor;
use crate::vector::{cross, scaled};
use crate::vehicle::Vehicle;
use nalgebra::Vector3;
use std::f64::consts::{PI, TAU};

/// What is worked out.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Parts {
    /// A gust is laid out in place.
    pub gusts_in_place: bool,
    /// The wind has a gradient: profile, turbulence, gust in place.
    pub gradients: bool,
    /// Something depends on accelerations, and so on how the wind changes: alpha rate, apparent mass.
    pub wind_rates: bool,
    /// The table has an alpha-rate coefficient.
    pub alpha_rate: bool,
    /// The ground's effect counts.
    pub ground_effect: bool,
    /// Gravity falls with height.
    pub gravity_falls: bool,
    /// A propeller has a force at incidence.
    pub disc_force: bool,
    /// A propeller's jet reaches a surface.
    pub wash: bool,
    /// A propeller draws in air along a surface.
    pub suction: bool,
}

impl Parts {
    /// Everything.
    pub const ALL: Parts = Parts {
        gusts_in_place: true,
        gradients: true,
        wind_rates: true,
        alpha_rate: true,
        ground_effect: true,
        gravity_falls: true,
        disc_force: true,
        wash: true,
        suction: true,
    };

    /// Whether a propeller does anything beside thrust and torque.
    #[inline(always)]
    pub fn beside_thrust(&self) -> bool {
        self.disc_force || self.wash || self.suction
    }

    /// What a vehicle in an air has.
    pub fn of(vehicle: &Vehicle<f64>, air: &Air<f64>) -> Self {
        let table = &vehicle.coefficients;
        let alpha_rate = table.lift_alpha_rate != 0.0 || table.pitch_alpha_rate != 0.0;
        let gusts_in_place = air.gusts.iter().any(|gust| !gust.is_in_time());
        let discs = || vehicle.motors.iter().map(|motor| &motor.disc);
        Parts {
            gusts_in_place,
            gradients: gusts_in_place || air.profile.is_some() || air.turbulence.is_some(),
            wind_rates: alpha_rate || vehicle.apparent_mass.is_some(),
            alpha_rate,
            ground_effect: air.ground_effect != 0.0,
            gravity_falls: air.gravity.curvature_1_m != 0.0,
            disc_force: discs().any(|disc| disc.fin_area != 0.0),
            wash: discs().any(|disc| !disc.wash.0.is_empty()),
            suction: discs().any(|disc| !disc.suction.0.is_empty()),
        }
    }
}

lane_data! {
    /// What of one motor does not change in flight.
    pub struct MotorConstants<T> {
        /// 1/R of the winding, 1/Ω.
        pub over_resistance: T,
        /// 1/J of the rotor, 1/(kg m²).
        pub over_inertia: T,
        /// s J a: angular momentum for each rad/s, kg m².
        pub momentum: Vector3<T>,
        /// r × a: moment for each newton of thrust, m.
        pub arm: Vector3<T>,
        /// 1/(πR²) of the disc, 1/m².
        pub over_disc_area: T,
    }
}

lane_data! {
    /// What of a throw does not change in flight and is worked out once, where the number type wants it: reciprocals of divisors,
    /// products (MODEL.md § 28.3).
    pub struct Constants<T> {
        /// 1/kg.
        pub over_mass: T,
        /// 1/rad.
        pub over_alpha_blend: T,
        /// 1/rad.
        pub over_beta_blend: T,
        /// 1/C.
        pub over_capacity: T,
        /// 1/m, of the reference span.
        pub over_span: T,
        /// Bounded induced incidence per lift coefficient, rad, and the share of the drag factor that is spared (MODEL.md § 5.5).
        pub ground: [T; 2],
        /// Each motor's.
        pub motors: Vec<MotorConstants<T>>,
        /// 2π/length of each gust, rad/m or rad/s.
        pub gust_waves: Vec<T>,
        /// Of the wind over height.
        pub profile: Option<ProfileConstants<T>>,
        /// Modes of body and carried air together.
        pub modes: Option<CarriedModes<T>>,
    }
}

impl<T: Number> Constants<T> {
    /// None at hand, for number types that divide.
    #[inline(always)]
    pub fn none() -> Self {
        let zero = T::zero();
        Constants {
            over_mass: zero,
            over_alpha_blend: zero,
            over_beta_blend: zero,
            over_capacity: zero,
            over_span: zero,
            ground: [zero; 2],
            motors: Vec::new(),
            gust_waves: Vec::new(),
            profile: None,
            modes: None,
        }
    }
}

impl Constants<f64> {
    /// Those of a vehicle in an air.
    pub fn of(vehicle: &Vehicle<f64>, air: &Air<f64>) -> Self {
        let mut constants = Constants::none();
        constants.work_out(vehicle, air);
        constants
    }

    /// The same, in storage that is kept.
    pub fn work_out(&mut self, vehicle: &Vehicle<f64>, air: &Air<f64>) {
        let apparent = vehicle.apparent_mass.as_ref();
        let mut motors = std::mem::take(&mut self.motors);
        motors.clear();
        motors.extend(vehicle.motors.iter().map(MotorConstants::of));
        let mut gust_waves = std::mem::take(&mut self.gust_waves);
        gust_waves.clear();
        gust_waves.extend(air.gusts.iter().map(|gust| TAU / gust.length));
        *self = Constants {
            over_mass: 1.0 / vehicle.mass,
            over_alpha_blend: 1.0 / vehicle.post_stall.alpha_blend,
            over_beta_blend: 1.0 / vehicle.post_stall.beta_blend,
            over_capacity: 1.0 / vehicle.cell.capacity,
            over_span: 1.0 / vehicle.coefficients.span,
            ground: vehicle.coefficients.near_ground(),
            motors,
            gust_waves,
            profile: air.profile.as_ref().map(ProfileConstants::of),
            modes: apparent.map(|air| CarriedModes::of(air, vehicle.mass, &vehicle.inertia)),
        };
    }
}

impl MotorConstants<f64> {
    fn of(motor: &Motor<f64>) -> Self {
        let radius = 0.5 * motor.propeller.diameter;
        MotorConstants {
            over_resistance: 1.0 / motor.resistance,
            over_inertia: 1.0 / motor.rotor_inertia,
            momentum: scaled(&motor.axis, motor.spin * motor.rotor_inertia),
            arm: cross(&motor.place, &motor.axis),
            over_disc_area: 1.0 / (PI * radius * radius),
        }
    }
}
