//! A brushed motor with its rotor and its mount (MODEL.md § 6.3).

use super::disc::DiscEffects;
use super::propeller::Propeller;
use crate::number::{Number, lane_data};
use nalgebra::Vector3;

lane_data! {
    /// One motor, its propeller, and where and which way it pulls.
    pub struct Motor<T> {
        /// k: N m per A, and V s per rad.
        pub constant: T,
        /// Winding resistance, Ω.
        pub resistance: T,
        /// Current that only overcomes friction, A.
        pub no_load_current: T,
        /// Inertia of rotor and propeller about the shaft, kg m².
        pub rotor_inertia: T,
        /// +1 clockwise seen from behind, −1 counterclockwise.
        pub spin: T,
        /// Unit vector of thrust, body axes.
        pub axis: Vector3<T>,
        /// Centre of the propeller disc from the balance point, body axes, m.
        pub place: Vector3<T>,
        /// The propeller.
        pub propeller: Propeller<T>,
        /// What the propeller does beside thrust and torque.
        pub disc: DiscEffects<T>,
    }
}

/// Rotor speed below which friction fades, rad/s (MODEL.md § 6.3).
pub const FRICTION_FADE_RAD_S: f64 = 20.0;

/// Motor constant (N m/A) from the speed constant KV (rpm/V).
pub fn constant_of_speed_constant(rpm_per_volt: f64) -> f64 {
    60.0 / (std::f64::consts::TAU * rpm_per_volt)
}

/// Unit vector of thrust: elevation e, turn τ (toe with s = ±1 by side, or rightward with s = 1 on the centre line), rad.
pub fn thrust_axis(elevation_rad: f64, turn_rad: f64, side: f64) -> Vector3<f64> {
    let (sin_e, cos_e) = libm::sincos(elevation_rad);
    let (sin_t, cos_t) = libm::sincos(turn_rad);
    Vector3::new(cos_e * cos_t, side * cos_e * sin_t, -sin_e)
}

impl<T: Number> Motor<T> {
    /// Voltage the turning rotor (rad/s) induces, V.
    #[inline(always)]
    pub fn back_voltage(&self, rotor: T) -> T {
        self.constant * rotor
    }

    /// Winding current (A) at a duty, terminal voltage (V) and rotor speed (rad/s); the driver cannot brake.
    pub fn current(&self, duty: T, voltage: T, rotor: T) -> T {
        self.current_by(duty, voltage, rotor, T::one() / self.resistance)
    }

    /// The same with 1/resistance at hand, where the number type wants it.
    #[inline(always)]
    pub fn current_by(&self, duty: T, voltage: T, rotor: T, over_resistance: T) -> T {
        let drive = duty.times_plus(voltage, -self.back_voltage(rotor));
        drive
            .over(self.resistance, over_resistance)
            .larger(T::zero())
    }

    /// Torque on the rotor after friction, N m.
    #[inline(always)]
    pub fn torque(&self, current: T, rotor: T) -> T {
        let fade = T::constant(FRICTION_FADE_RAD_S);
        let friction = rotor
            .over(fade, T::constant(1.0 / FRICTION_FADE_RAD_S))
            .tanh();
        self.constant * self.no_load_current.times_from(friction, current)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    // design worked example, checked by hand: 0.08 N, 120 mm behind and 20 mm above the balance point,
    // e = −5, 0, +5°: −0.76, −1.60, −2.43 mN m.
    #[test]
    fn raising_the_thrust_of_a_pusher_lowers_the_nose() {
        let place = Vector3::new(-0.12, 0.0, -0.02);
        for (degrees, expected) in [(-5.0_f64, -0.76e-3), (0.0, -1.60e-3), (5.0, -2.43e-3)] {
            let force = thrust_axis(degrees.to_radians(), 0.0, 1.0) * 0.08;
            assert!((place.cross(&force).y - expected).abs() < 5e-6);
        }
    }

    #[test]
    fn toe_turns_each_sides_thrust_away_from_the_centre_line() {
        let right = thrust_axis(0.0, 0.1, 1.0);
        let left = thrust_axis(0.0, 0.1, -1.0);
        assert!(right.y > 0.0 && left.y < 0.0 && right.x == left.x);
    }
}
