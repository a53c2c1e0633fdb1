//! The module's rate damper (MODEL.md § 7.4).

use super::gyro::Gyro;
use super::{Feedback, limited};
use nalgebra::Vector3;

/// A sampled rate damper: roll and yaw by left-minus-right difference, pitch by the throttle of all motors.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Damper {
    /// Time between samples, s.
    pub sample_time_s: f64,
    /// From a sample to its command, s.
    pub delay_s: f64,
    /// Difference to the left for each rad/s of roll to the right, s.
    pub roll_gain_s: f64,
    /// Throttle for each rad/s of the nose rising, s.
    pub pitch_gain_s: f64,
    /// Difference to the left for each rad/s of yaw to the right, s.
    pub yaw_gain_s: f64,
    /// Largest throttle and largest difference it asks for.
    pub saturation: f64,
    /// Its gyro.
    pub gyro: Gyro,
}

impl Damper {
    /// Whether it does anything at all.
    pub fn is_on(&self) -> bool {
        [self.roll_gain_s, self.pitch_gain_s, self.yaw_gain_s] != [0.0; 3] && self.saturation > 0.0
    }

    /// What it asks for after sample k of the body rates (rad/s).
    pub fn command(&self, rates_rad_s: &Vector3<f64>, k: u64) -> Feedback {
        let rates = self.gyro.reading(rates_rad_s, k);
        Feedback {
            collective: limited(self.pitch_gain_s * rates.y, self.saturation),
            difference: limited(
                -(self.roll_gain_s * rates.x + self.yaw_gain_s * rates.z),
                self.saturation,
            ),
        }
    }
}
