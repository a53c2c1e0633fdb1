//! A force and a moment together, and the accelerations they make.

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
    pub fn to_array(&self) -> [T; 6] {
        let (v, w) = (&self.velocity, &self.rates);
        [v.x, v.y, v.z, w.x, w.y, w.z]
    }
}

impl<T: Number> Add for Motion<T> {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        Motion {
            velocity: self.velocity + other.velocity,
            rates: self.rates + other.rates,
        }
    }
}

impl<T: Number> Mul<T> for Motion<T> {
    type Output = Self;
    fn mul(self, factor: T) -> Self {
        Motion {
            velocity: self.velocity * factor,
            rates: self.rates * factor,
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
