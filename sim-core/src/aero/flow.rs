//! How the air meets the airframe at the reference point (MODEL.md § 4.4).

use crate::air::WindSample;
use crate::number::Number;
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
pub fn equivalent_rates<T: Number>(roll: &Matrix3<T>, turn: &Matrix3<T>) -> Vector3<T> {
    Vector3::new(-roll[(2, 1)], turn[(2, 0)], -turn[(1, 0)])
}

impl<T: Number> Flow<T> {
    /// Lift and drag along the stability axes and side force along body y (N), in body axes.
    pub fn force(&self, lift_n: T, side_n: T, drag_n: T) -> Vector3<T> {
        let (sin, cos) = self.sin_cos_alpha;
        Vector3::new(
            lift_n * sin - drag_n * cos,
            side_n,
            -drag_n * sin - lift_n * cos,
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
        let to_body = to_earth.transpose();
        let wind_body = to_body * wind.velocity;
        let roll = to_body * wind.roll_gradient * to_earth;
        let turn = to_body * wind.turn_gradient * to_earth;
        let relative = velocity + rates.cross(reference) - wind_body;
        let forward_and_down = relative.x * relative.x + relative.z * relative.z;
        let alpha = relative.z.atan2(relative.x);
        let beta = relative.y.atan2(forward_and_down.sqrt());
        Flow {
            velocity: relative,
            rates: rates + equivalent_rates(&roll, &turn),
            airspeed: (forward_and_down + relative.y * relative.y).sqrt(),
            alpha,
            beta,
            sin_cos_alpha: alpha.sin_cos(),
            sin_cos_beta: beta.sin_cos(),
            density,
            wind: wind_body,
        }
    }
}
