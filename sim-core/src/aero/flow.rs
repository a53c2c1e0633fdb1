//! How the air meets the airframe at the reference point (MODEL.md § 4.4).

use crate::air::{GradientRates, WindSample};
use crate::number::Number;
use crate::parts::Parts;
use crate::vector::{
    column, cross, dot, minus, plus, scaled, scaled_plus, seen_from_body, turned, turned_back,
};
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

/// [`equivalent_rates`] of the gradients of a wind in earth axes, worked out from the body's axes in them: e_i · (Γ e_j).
#[inline(always)]
fn felt_rates<T: Number>(to_earth: &Matrix3<T>, wind: &WindSample<T>) -> Vector3<T> {
    let (e_x, e_y, e_z) = (
        column(to_earth, 0),
        column(to_earth, 1),
        column(to_earth, 2),
    );
    let (along_y, along_x) = (
        turned(&wind.roll_gradient, &e_y),
        turned(&wind.turn_gradient, &e_x),
    );
    Vector3::new(
        -dot(&e_z, &along_y),
        dot(&e_z, &along_x),
        -dot(&e_y, &along_x),
    )
}

/// How the gradients felt as rates change while the body turns and the gradients change (MODEL.md § 5.4).
#[inline(always)]
pub fn rates_of_felt_rates<T: Number>(
    to_earth: &Matrix3<T>,
    turning: &Vector3<T>,
    wind: &WindSample<T>,
    rates: &GradientRates<T>,
) -> Vector3<T> {
    let (e_x, e_y, e_z) = (
        column(to_earth, 0),
        column(to_earth, 1),
        column(to_earth, 2),
    );
    let (p, q, r) = (turning.x, turning.y, turning.z);
    // R (ω × x̂) and so on.
    let of_x = scaled_plus(&e_y, r, &scaled(&e_z, -q));
    let of_y = scaled_plus(&e_z, p, &scaled(&e_x, -r));
    let of_z = scaled_plus(&e_x, q, &scaled(&e_y, -p));
    let (along_y, along_x) = (
        turned(&wind.roll_gradient, &e_y),
        turned(&wind.turn_gradient, &e_x),
    );
    let now_y = plus(
        &turned(&rates.roll, &e_y),
        &turned(&wind.roll_gradient, &of_y),
    );
    let now_x = plus(
        &turned(&rates.turn, &e_x),
        &turned(&wind.turn_gradient, &of_x),
    );
    Vector3::new(
        -(dot(&of_z, &along_y) + dot(&e_z, &now_y)),
        dot(&of_z, &along_x) + dot(&e_z, &now_x),
        -(dot(&of_y, &along_x) + dot(&e_y, &now_x)),
    )
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
        let rates = if !parts.gradients {
            *rates
        } else if T::FUSED {
            plus(rates, &felt_rates(to_earth, wind))
        } else {
            let roll = seen_from_body(to_earth, &wind.roll_gradient);
            let turn = seen_from_body(to_earth, &wind.turn_gradient);
            plus(rates, &equivalent_rates(&roll, &turn))
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
