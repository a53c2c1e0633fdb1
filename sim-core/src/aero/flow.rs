//! How the air meets the airframe at the reference point (MODEL.md § 4.4).

use crate::air::WindSample;
use crate::number::Number;
use crate::parts::Parts;
use crate::vector::{cross, minus, plus, seen_from_body, turned_back};
use nalgebra::{Matrix3, Vector3};

/// The flow at the reference point of the coefficient table, in body axes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Flow<T> {
    /// Velocity relative to the air, m/s.
    pub velocity: Vector3<T>,
    /// Rates relative to the air, rad/s.
    pub rates: Vector3<T>,
    /// Airspeed, m/s.
    pub airspeed: T,
    /// Angle of attack α, rad.
    pub alpha: T,
    /// Sideslip β, rad.
    pub beta: T,
    /// sin α, cos α.
    pub sin_cos_alpha: (T, T),
    /// sin β, cos β.
    pub sin_cos_beta: (T, T),
    /// Air density, kg/m³.
    pub density: T,
    /// Velocity of the air at the reference point, body components, m/s.
    pub wind: Vector3<T>,
}

/// Rates through still air that act as gradients of the wind (body axes, 1/s) do on a body that does not turn: `roll` is the part of the
/// gradient that is felt as a rate of roll, `turn` the part that is felt as rates of pitch and yaw.
#[inline(always)]
pub fn equivalent_rates<T: Number>(roll: &Matrix3<T>, turn: &Matrix3<T>) -> Vector3<T> {
    Vector3::new(-roll[(2, 1)], turn[(2, 0)], -turn[(1, 0)])
}

impl<T: Number> Flow<T> {
    /// Lift and drag along the stability axes and side force along body y (N), in body axes.
    #[inline(always)]
    pub fn force(&self, lift_n: T, side_n: T, drag_n: T) -> Vector3<T> {
        let (sin, cos) = self.sin_cos_alpha;
        Vector3::new(
            drag_n.times_from(cos, lift_n * sin),
            side_n,
            lift_n.times_from(cos, -drag_n * sin),
        )
    }

    /// Flow at `reference` (m from the balance point) of a body moving at `velocity` and `rates` over the ground.
    pub fn at(
        reference: &Vector3<T>,
        velocity: &Vector3<T>,
        rates: &Vector3<T>,
        to_earth: &Matrix3<T>,
        wind: &WindSample<T>,
        density: T,
    ) -> Self {
        Self::with_parts(
            reference,
            velocity,
            rates,
            to_earth,
            wind,
            density,
            &Parts::ALL,
        )
    }

    /// The same where only some parts of the model are there.
    #[inline(always)]
    pub fn with_parts(
        reference: &Vector3<T>,
        velocity: &Vector3<T>,
        rates: &Vector3<T>,
        to_earth: &Matrix3<T>,
        wind: &WindSample<T>,
        density: T,
        parts: &Parts,
    ) -> Self {
        let wind_body = turned_back(to_earth, &wind.velocity);
        let over_ground = plus(velocity, &cross(rates, reference));
        let relative = minus(&over_ground, &wind_body);
        let forward_and_down = relative.z.times_plus(relative.z, relative.x * relative.x);
        let flat = forward_and_down.sqrt();
        let airspeed = relative.y.times_plus(relative.y, forward_and_down).sqrt();
        let (over_flat, over_airspeed) = reciprocals(flat, airspeed);
        let (alpha, sin_cos_alpha) = relative.z.direction(relative.x, flat, over_flat);
        let (beta, sin_cos_beta) = relative.y.direction(flat, airspeed, over_airspeed);
        let rates = if parts.gradients {
            let roll = seen_from_body(to_earth, &wind.roll_gradient);
            let turn = seen_from_body(to_earth, &wind.turn_gradient);
            plus(rates, &equivalent_rates(&roll, &turn))
        } else {
            *rates
        };
        Flow {
            velocity: relative,
            rates,
            airspeed,
            alpha,
            beta,
            sin_cos_alpha,
            sin_cos_beta,
            density,
            wind: wind_body,
        }
    }
}

/// 1/flat and 1/airspeed by one division, where the number type wants them; not meant where the divisor is zero.
#[inline(always)]
fn reciprocals<T: Number>(flat: T, airspeed: T) -> (T, T) {
    let zero = T::zero();
    if !T::FUSED {
        return (zero, zero);
    }
    let both = T::one() / zero.select_less(flat, flat * airspeed, airspeed);
    (both * airspeed, zero.select_less(flat, both * flat, both))
}
