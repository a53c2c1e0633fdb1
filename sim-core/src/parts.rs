//! Which parts of the model one throw has at all, and the reciprocals of what does not change in flight (MODEL.md § 28.3).
//!
//! A part that is absent adds exactly nothing. In lanes it is left out; whether it is there is decided once for a throw, never for its
//! neighbours. `f64` always works out everything.

use crate::air::Air;
use crate::number::Number;
use crate::state::MAX_MOTORS;
use crate::vehicle::Vehicle;

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

/// 1/x of what a vehicle is divided by in every evaluation; zeros where the number type divides.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Reciprocals<T> {
    /// 1/kg.
    pub mass: T,
    /// 1/rad.
    pub alpha_blend: T,
    /// 1/rad.
    pub beta_blend: T,
    /// 1/C.
    pub capacity: T,
    /// 1/m, of the reference span.
    pub span: T,
    /// 1/Ω, of each motor's winding.
    pub resistance: [T; MAX_MOTORS],
    /// 1/(kg m²), of each rotor.
    pub rotor_inertia: [T; MAX_MOTORS],
}

impl<T: Number> Reciprocals<T> {
    /// None at hand.
    #[inline(always)]
    pub fn none() -> Self {
        let zero = T::zero();
        Reciprocals {
            mass: zero,
            alpha_blend: zero,
            beta_blend: zero,
            capacity: zero,
            span: zero,
            resistance: [zero; MAX_MOTORS],
            rotor_inertia: [zero; MAX_MOTORS],
        }
    }

    /// Those of a vehicle.
    pub fn of(vehicle: &Vehicle<T>) -> Self {
        let one = |x: T| T::one() / x;
        let motor = |i: usize| vehicle.motors.get(i);
        Reciprocals {
            mass: one(vehicle.mass),
            alpha_blend: one(vehicle.post_stall.alpha_blend),
            beta_blend: one(vehicle.post_stall.beta_blend),
            capacity: one(vehicle.cell.capacity),
            span: one(vehicle.coefficients.span),
            resistance: std::array::from_fn(|i| {
                motor(i).map_or(T::zero(), |motor| one(motor.resistance))
            }),
            rotor_inertia: std::array::from_fn(|i| {
                motor(i).map_or(T::zero(), |motor| one(motor.rotor_inertia))
            }),
        }
    }
}
