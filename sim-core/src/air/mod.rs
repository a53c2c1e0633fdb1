//! The air as a field of position and time (MODEL.md § 4).

pub mod atmosphere;
pub mod gust;
pub mod profile;
pub mod turbulence;

use crate::number::{Number, lane_data};
use crate::parts::{Constants, Parts};
use crate::vector::{minus, no_matrix, nothing, scaled, sum};
use atmosphere::Atmosphere;
use gust::Gust;
use nalgebra::{Matrix3, Vector3};
use profile::Profile;
use std::f64::consts::TAU;
use turbulence::Turbulence;

lane_data! {
    /// Atmosphere, mean wind, gusts and gravity: everything outside the airframe that acts on it.
    pub struct Air<T> {
        /// Density over height.
        pub atmosphere: Atmosphere<T>,
        /// Mean wind, earth axes, m/s, positive where the air goes; with a profile the one at its height of speed one.
        pub mean_wind: Vector3<T>,
        /// Share of the horizontal mean wind over height; none where it is the same at every height.
        pub profile: Option<Profile<T>>,
        /// Turbulence.
        pub turbulence: Option<Turbulence<T>>,
        /// Gusts, added up.
        pub gusts: Vec<Gust<T>>,
        /// Gravity.
        pub gravity: Gravity<T>,
        /// 1 where the ground's effect on wings counts, 0 where it is left out.
        pub ground_effect: T,
        /// Height of the ground over the ground under the release, m.
        pub ground_height: T,
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
    #[inline(always)]
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
            profile: None,
            turbulence: None,
            gusts: Vec::new(),
            gravity: Gravity::uniform(),
            ground_effect: 0.0,
            ground_height: 0.0,
        }
    }

    /// The same air without wind, gusts, turbulence or nearness of the ground.
    pub fn made_still(&self) -> Self {
        Air {
            mean_wind: Vector3::zeros(),
            profile: None,
            turbulence: None,
            gusts: Vec::new(),
            ground_effect: 0.0,
            ..self.clone()
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
    /// The part of it that the airframe feels as a rate of roll.
    pub roll_gradient: Matrix3<T>,
    /// The part of it that the airframe feels as rates of pitch and yaw.
    pub turn_gradient: Matrix3<T>,
}

/// How the gradients of the wind that are felt as rates change along a path, earth axes, 1/s².
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct GradientRates<T> {
    /// Of [`WindSample::roll_gradient`].
    pub roll: Matrix3<T>,
    /// Of [`WindSample::turn_gradient`].
    pub turn: Matrix3<T>,
}

impl<T: Number> WindSample<T> {
    /// A wind whose whole gradient is felt.
    #[inline(always)]
    pub fn felt_in_full(velocity: Vector3<T>, time_rate: Vector3<T>, gradient: Matrix3<T>) -> Self {
        WindSample {
            velocity,
            time_rate,
            gradient,
            roll_gradient: gradient,
            turn_gradient: gradient,
        }
    }
}

impl<T: Number> Air<T> {
    /// Velocity (earth axes, m/s) at which gusts and turbulence are carried.
    #[inline(always)]
    pub fn carrier(&self) -> Vector3<T> {
        match &self.profile {
            Some(profile) => self.mean_wind_of_share(profile.carried_share),
            None => self.mean_wind,
        }
    }

    /// Mean wind at a height over the ground (m), earth axes, m/s.
    pub fn mean_wind_at(&self, height: T) -> Vector3<T> {
        match &self.profile {
            Some(profile) => self.mean_wind_of_share(profile.share_and_slope(height).0),
            None => self.mean_wind,
        }
    }

    #[inline(always)]
    fn mean_wind_of_share(&self, share: T) -> Vector3<T> {
        let wind = &self.mean_wind;
        Vector3::new(wind.x * share, wind.y * share, wind.z)
    }

    /// Wind at a place (earth axes, m) and time (s). `gusts_on` holds 1 for each gust whose pulse is on, else 0.
    pub fn wind(&self, place: &Vector3<T>, time: T, gusts_on: &[T]) -> WindSample<T> {
        let still = nothing();
        let constants = Constants::none();
        self.wind_along(place, &still, time, gusts_on, &Parts::ALL, &constants)
            .0
    }

    /// The same for a place that moves at `velocity` (earth axes, m/s), and how the gradients change along its path.
    ///
    /// Every part of the wind that has a gradient adds its own. Equation: MODEL.md § 5.4.
    #[inline(always)]
    pub fn wind_along(
        &self,
        place: &Vector3<T>,
        velocity: &Vector3<T>,
        time: T,
        gusts_on: &[T],
        parts: &Parts,
        constants: &Constants<T>,
    ) -> (WindSample<T>, GradientRates<T>) {
        let (zero, none) = (nothing(), no_matrix());
        let mut sample = WindSample::felt_in_full(self.mean_wind, zero, none);
        let mut rate = none;
        if let Some(profile) = &self.profile {
            let height = -place.z;
            // A match, since lanes are slow where a closure stays out of line.
            #[allow(clippy::manual_map)]
            let over_height = if T::FUSED {
                match &constants.profile {
                    Some(constants) => Some(profile.share_slope_curvature(constants, height)),
                    None => None,
                }
            } else {
                let (share, slope) = profile.share_and_slope(height);
                Some((share, slope, profile.curvature(height)))
            };
            if let Some((share, slope, curvature)) = over_height {
                sample.velocity = self.mean_wind_of_share(share);
                let bend = curvature * velocity.z;
                for i in 0..2 {
                    sample.gradient[(i, 2)] = -self.mean_wind[i] * slope;
                    rate[(i, 2)] = self.mean_wind[i] * bend;
                }
            }
        }
        let carrier = self.carrier();
        #[allow(clippy::needless_range_loop)]
        for i in 0..self.gusts.len().min(gusts_on.len()) {
            let (gust, on) = (&self.gusts[i], gusts_on[i]);
            // A gust that is on nowhere changes nothing; where it is off it leaves every bit as it is.
            if T::FUSED && !T::zero().any_less(on) {
                continue;
            }
            let wave = match constants.gust_waves.get(i) {
                Some(&wave) => wave,
                None => T::constant(TAU) / gust.length,
            };
            let turn = gust.turn(&carrier, place, time, wave, parts);
            gust.add_to(&mut sample, &carrier, turn, wave, on, parts);
            if parts.wind_rates && parts.gusts_in_place {
                rate = sum(
                    &rate,
                    &gust.gradient_rate(&carrier, velocity, turn.1, wave, on),
                );
            }
        }
        sample.roll_gradient = sample.gradient;
        sample.turn_gradient = sample.gradient;
        let mut rates = GradientRates {
            roll: rate,
            turn: rate,
        };
        if let Some(turbulence) = &self.turbulence {
            let carried = minus(place, &scaled(&carrier, time));
            turbulence.add_to(
                &mut sample,
                &mut rates,
                &carried,
                &carrier,
                &minus(velocity, &carrier),
                parts.wind_rates,
            );
        }
        (sample, rates)
    }
}
