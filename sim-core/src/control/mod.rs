//! What acts on the controls beyond the pilot's programmes: slew limits, a pilot who holds a plan, the module's rate damper and its
//! driver's cut-off (MODEL.md § 6.1, 7.2 to 7.5).
//!
//! Sampled controllers cut the flight at their looks and at the times their commands come into force; between two cuts everything is a
//! straight line. Their memory is here and not in the state vector.

pub mod cut_off;
pub mod damper;
pub mod gyro;
pub mod hold;
pub mod sampled;
pub mod sequence;
pub mod slew;

use std::ops::Add;

/// What a controller adds to the programmes.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Feedback {
    /// Added to the throttle of all motors.
    pub collective: f64,
    /// Added to the left-minus-right difference.
    pub difference: f64,
}

impl Add for Feedback {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        Feedback {
            collective: self.collective + other.collective,
            difference: self.difference + other.difference,
        }
    }
}

/// What the power module does by itself.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Module {
    /// Its rate damper.
    pub damper: Option<damper::Damper>,
    /// Terminal voltage below which its driver takes the power from the motors for good, V.
    pub cut_off_voltage_v: Option<f64>,
}

/// A value held to −size…size.
pub(crate) fn limited(value: f64, size: f64) -> f64 {
    value.clamp(-size, size)
}
