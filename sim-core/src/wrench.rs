//! A force and a moment together.

use crate::number::Number;
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
    pub fn zero() -> Self {
        Self::pure_moment(Vector3::repeat(T::zero()))
    }
    /// A moment without a force.
    pub fn pure_moment(moment: Vector3<T>) -> Self {
        Wrench {
            force: Vector3::repeat(T::zero()),
            moment,
        }
    }
    /// A force acting at a place (m from the balance point).
    pub fn at(force: Vector3<T>, place: &Vector3<T>) -> Self {
        Wrench {
            force,
            moment: place.cross(&force),
        }
    }
}

impl<T: Number> Add for Wrench<T> {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        Wrench {
            force: self.force + other.force,
            moment: self.moment + other.moment,
        }
    }
}

impl<T: Number> Mul<T> for Wrench<T> {
    type Output = Self;
    fn mul(self, factor: T) -> Self {
        Wrench {
            force: self.force * factor,
            moment: self.moment * factor,
        }
    }
}
