//! A force and a moment together, and the accelerations they make.

use crate::number::Number;
use crate::vector::{cross, nothing, plus, scaled};
use nalgebra::Vector3;
use std::ops::{Add, Mul};

/// Force (N) and moment about the balance point (N m), body axes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Wrench<T> {
    /// Force, N.
    pub force: Vector3<T>,
    /// Moment about the balance point, N m.
    pub moment: Vector3<T>,
}

impl<T: Number> Wrench<T> {
    /// No force, no moment.
    #[inline(always)]
    pub fn zero() -> Self {
        Self::pure_moment(nothing())
    }
    /// A moment without a force.
    #[inline(always)]
    pub fn pure_moment(moment: Vector3<T>) -> Self {
        Wrench {
            force: nothing(),
            moment,
        }
    }
    /// A force acting at a place (m from the balance point).
    #[inline(always)]
    pub fn at(force: Vector3<T>, place: &Vector3<T>) -> Self {
        Wrench {
            force,
            moment: cross(place, &force),
        }
    }
    /// Itself where a number is over zero, nothing where not.
    #[inline(always)]
    pub fn where_above_zero(self, number: T) -> Self {
        let zero = T::zero();
        let (f, m) = (&self.force, &self.moment);
        Wrench {
            force: Vector3::new(
                zero.select_less(number, f.x, zero),
                zero.select_less(number, f.y, zero),
                zero.select_less(number, f.z, zero),
            ),
            moment: Vector3::new(
                zero.select_less(number, m.x, zero),
                zero.select_less(number, m.y, zero),
                zero.select_less(number, m.z, zero),
            ),
        }
    }
    /// A moment more.
    #[inline(always)]
    pub fn with_moment(self, moment: Vector3<T>) -> Self {
        if T::FUSED {
            Wrench {
                moment: plus(&self.moment, &moment),
                ..self
            }
        } else {
            self + Self::pure_moment(moment)
        }
    }
}

/// How velocity (m/s²) and rates (rad/s²) change, body components.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Motion<T> {
    /// Rate of the velocity, m/s².
    pub velocity: Vector3<T>,
    /// Rate of the rates, rad/s².
    pub rates: Vector3<T>,
}

impl<T: Number> Motion<T> {
    /// Velocity's three components, then the rates'.
    #[inline(always)]
    pub fn to_array(&self) -> [T; 6] {
        let (v, w) = (&self.velocity, &self.rates);
        [v.x, v.y, v.z, w.x, w.y, w.z]
    }
}

impl<T: Number> Add for Motion<T> {
    type Output = Self;
    #[inline(always)]
    fn add(self, other: Self) -> Self {
        Motion {
            velocity: plus(&self.velocity, &other.velocity),
            rates: plus(&self.rates, &other.rates),
        }
    }
}

impl<T: Number> Mul<T> for Motion<T> {
    type Output = Self;
    #[inline(always)]
    fn mul(self, factor: T) -> Self {
        Motion {
            velocity: scaled(&self.velocity, factor),
            rates: scaled(&self.rates, factor),
        }
    }
}

impl<T: Number> Add for Wrench<T> {
    type Output = Self;
    #[inline(always)]
    fn add(self, other: Self) -> Self {
        Wrench {
            force: plus(&self.force, &other.force),
            moment: plus(&self.moment, &other.moment),
        }
    }
}

impl<T: Number> Mul<T> for Wrench<T> {
    type Output = Self;
    #[inline(always)]
    fn mul(self, factor: T) -> Self {
        Wrench {
            force: scaled(&self.force, factor),
            moment: scaled(&self.moment, factor),
        }
    }
}
