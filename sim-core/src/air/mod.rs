//! The air as a field of position and time (MODEL.md § 4).

pub mod atmosphere;
pub mod gust;

use crate::number::{Number, lane_data};
use atmosphere::Atmosphere;
use gust::Gust;
use nalgebra::{Matrix3, Vector3};

lane_data! {
    /// Atmosphere, mean wind, gusts and gravity: everything outside the airframe that acts on it.
    pub struct Air<T> {
        /// Density over height.
        pub atmosphere: Atmosphere<T>,
        /// Mean wind, earth axes, m/s, positive where the air goes.
        pub mean_wind: Vector3<T>,
        /// Gusts, added up.
        pub gusts: Vec<Gust<T>>,
        /// Gravity.
        pub gravity: Gravity<T>,
        /// 1 where the ground's effect on wings counts, 0 where it is left out.
        pub ground_effect: T,
    }
}

lane_data! {
    /// Gravity, uniform or falling with the square of the distance from the earth's centre.
    pub struct Gravity<T> {
        /// At height zero, m/s².
        pub surface_m_s2: T,
        /// 1/radius of the earth, 1/m; zero for uniform gravity.
        pub curvature_1_m: T,
    }
}

/// Standard gravity, m/s². Source: ISO 80000-3.
pub const STANDARD_GRAVITY_M_S2: f64 = 9.80665;

impl Gravity<f64> {
    /// The standard value at every height.
    pub fn uniform() -> Self {
        Gravity {
            surface_m_s2: STANDARD_GRAVITY_M_S2,
            curvature_1_m: 0.0,
        }
    }
}

impl<T: Number> Gravity<T> {
    /// Gravity at a height over the ground (m), m/s².
    pub fn at(&self, height_m: T) -> T {
        let ratio = T::one() / (T::one() + height_m * self.curvature_1_m);
        self.surface_m_s2 * ratio * ratio
    }
}

impl Air<f64> {
    /// Still standard air at 15 °C and 1013.25 hPa with uniform gravity and no ground effect.
    pub fn calm() -> Self {
        Air {
            atmosphere: Atmosphere::standard_day(),
            mean_wind: Vector3::zeros(),
            gusts: Vec::new(),
            gravity: Gravity::uniform(),
            ground_effect: 0.0,
        }
    }
}

/// Mean wind (earth axes, m/s) of a speed, the compass direction it comes from, and a rise.
pub fn wind_from(speed_m_s: f64, from_rad: f64, up_m_s: f64) -> Vector3<f64> {
    Vector3::new(
        -speed_m_s * libm::cos(from_rad),
        -speed_m_s * libm::sin(from_rad),
        -up_m_s,
    )
}

/// Wind at one place and time, with its derivatives, in earth axes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct WindSample<T> {
    /// Velocity of the air, m/s.
    pub velocity: Vector3<T>,
    /// ∂W/∂t at the place, m/s².
    pub time_rate: Vector3<T>,
    /// ∂W_i/∂x_j, 1/s.
    pub gradient: Matrix3<T>,
}

impl<T: Number> Air<T> {
    /// Wind at a place (earth axes, m) and time (s). `gusts_on` holds 1 for each gust whose pulse is on, else 0.
    pub fn wind(&self, place: &Vector3<T>, time: T, gusts_on: &[T]) -> WindSample<T> {
        let mut sample = WindSample {
            velocity: self.mean_wind,
            time_rate: Vector3::repeat(T::zero()),
            gradient: Matrix3::repeat(T::zero()),
        };
        for (gust, &on) in self.gusts.iter().zip(gusts_on) {
            gust.add_to(&mut sample, &self.mean_wind, place, time, on);
        }
        sample
    }

    /// Rate at which the gradient of the wind changes along a path (1/s²), for a place that moves at `velocity` (earth axes, m/s).
    ///
    /// Every part of the wind that has a gradient adds its own. Equation: MODEL.md § 5.4.
    pub fn gradient_rate(
        &self,
        place: &Vector3<T>,
        velocity: &Vector3<T>,
        time: T,
        gusts_on: &[T],
    ) -> Matrix3<T> {
        let mut rate = Matrix3::repeat(T::zero());
        for (gust, &on) in self.gusts.iter().zip(gusts_on) {
            rate += gust.gradient_rate(&self.mean_wind, place, velocity, time, on);
        }
        rate
    }
}
