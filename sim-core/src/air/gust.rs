//! 1-cosine gusts as a field of place and time (MODEL.md § 4.3).

use super::WindSample;
use crate::number::{Number, lane_data};
use crate::parts::Parts;
use crate::vector::{dot, minus, no_matrix, scaled};
use nalgebra::{Matrix3, Vector3};

lane_data! {
    /// A symmetric 1-cosine pulse, laid out in place (`along` of length one) or in time (`along` zero).
    ///
    /// Its coordinate is along · (x − W_c t) + `time_share` · t; the pulse runs over `length` from `start` in it.
    pub struct Gust<T> {
        /// Velocity in the middle of the pulse, earth axes, m/s.
        pub peak: Vector3<T>,
        /// Horizontal unit vector the gust is laid out along; zero for a gust in time.
        pub along: Vector3<T>,
        /// 1 for a gust in time, 0 for one in place.
        pub time_share: T,
        /// Where the pulse starts, m or s.
        pub start: T,
        /// Whole length of the pulse, m or s.
        pub length: T,
    }
}

impl Gust<f64> {
    /// A gust by place: over `length_m` from `start_m` along a compass heading, carried by the mean wind of one height.
    pub fn in_place(peak: Vector3<f64>, heading_rad: f64, start_m: f64, length_m: f64) -> Self {
        Gust {
            peak,
            along: Vector3::new(libm::cos(heading_rad), libm::sin(heading_rad), 0.0),
            time_share: 0.0,
            start: start_m,
            length: length_m,
        }
    }

    /// A gust by time, everywhere at once.
    pub fn in_time(peak: Vector3<f64>, start_s: f64, duration_s: f64) -> Self {
        Gust {
            peak,
            along: Vector3::zeros(),
            time_share: 1.0,
            start: start_s,
            length: duration_s,
        }
    }

    /// Whether the gust is laid out in time.
    pub fn is_in_time(&self) -> bool {
        self.time_share != 0.0
    }
}

/// A part more; in lanes where the gust is off not a bit is changed.
#[inline(always)]
fn where_on<T: Number>(on: T, before: T, part: T) -> T {
    if T::FUSED {
        T::zero().select_less(on, before + part, before)
    } else {
        before + part
    }
}

impl<T: Number> Gust<T> {
    /// The gust's coordinate at a place (earth axes, m) and time (s), from the start of the pulse.
    #[inline(always)]
    pub fn past_start(&self, carrier: &Vector3<T>, place: &Vector3<T>, time: T) -> T {
        let carried = minus(place, &scaled(carrier, time));
        dot(&self.along, &carried) + self.time_share * time - self.start
    }

    /// Sine and cosine of where in its pulse a place (earth axes, m) is at a time (s), with 2π/length at hand.
    #[inline(always)]
    pub fn turn(
        &self,
        carrier: &Vector3<T>,
        place: &Vector3<T>,
        time: T,
        wave: T,
        parts: &Parts,
    ) -> (T, T) {
        let past = if parts.gusts_in_place {
            self.past_start(carrier, place, time)
        } else {
            time - self.start
        };
        (past * wave).sin_cos()
    }

    /// Adds this gust's velocity and derivatives to a sample, with [`Gust::turn`] at the place; `on` is 1 inside the pulse, 0 outside.
    #[inline(always)]
    pub fn add_to(
        &self,
        sample: &mut WindSample<T>,
        carrier: &Vector3<T>,
        (sin, cos): (T, T),
        wave: T,
        on: T,
        parts: &Parts,
    ) {
        let half = T::constant(0.5) * on;
        let slope = half * wave * sin;
        let push = scaled(&self.peak, half * (T::one() - cos));
        for i in 0..3 {
            sample.velocity[i] = where_on(on, sample.velocity[i], push[i]);
        }
        if parts.wind_rates {
            let passing = if parts.gusts_in_place {
                self.time_share - dot(&self.along, carrier)
            } else {
                self.time_share
            };
            let rise = scaled(&self.peak, slope * passing);
            for i in 0..3 {
                sample.time_rate[i] = where_on(on, sample.time_rate[i], rise[i]);
            }
        }
        if parts.gusts_in_place {
            // Laid out over the ground: the last column is nothing.
            let columns = if T::FUSED { 2 } else { 3 };
            for i in 0..3 {
                for j in 0..columns {
                    let part = self.peak[i] * self.along[j] * slope;
                    sample.gradient[(i, j)] = where_on(on, sample.gradient[(i, j)], part);
                }
            }
        }
    }

    /// Rate of this gust's gradient (1/s²) at a place that moves at `velocity` (earth axes, m/s), with the cosine of [`Gust::turn`].
    #[inline(always)]
    pub fn gradient_rate(
        &self,
        carrier: &Vector3<T>,
        velocity: &Vector3<T>,
        cos: T,
        wave: T,
        on: T,
    ) -> Matrix3<T> {
        let passing = dot(&self.along, &minus(velocity, carrier)) + self.time_share;
        let bend = T::constant(0.5) * on * wave * wave * cos;
        let rate = bend * passing;
        let mut gradient = no_matrix();
        let columns = if T::FUSED { 2 } else { 3 };
        for i in 0..3 {
            for j in 0..columns {
                gradient[(i, j)] = self.peak[i] * self.along[j] * rate;
            }
        }
        gradient
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::air::Air;
    use crate::parts::Constants;

    const ON: [f64; 1] = [1.0];

    // The discrete gust of MIL-F-8785C (from memory) rises as (V/2)(1 − cos(πx/d)); V = 3.5 m/s, d = 20 m gives at 5, 10, 15 and
    // 20 m 0.512563, 1.75, 2.987437, 3.5 m/s. A symmetric pulse of length 2d rises the same way.
    #[test]
    fn rises_as_the_military_gust() {
        let mut air = Air::calm();
        air.gusts
            .push(Gust::in_place(Vector3::new(0.0, 0.0, -3.5), 0.0, 0.0, 40.0));
        for (x, expected) in [(5.0, 0.512563), (10.0, 1.75), (15.0, 2.987437), (20.0, 3.5)] {
            let wind = air.wind(&Vector3::new(x, 3.0, -2.0), 7.0, &ON);
            assert!((-wind.velocity.z - expected).abs() < 1e-6);
        }
    }

    #[test]
    fn derivatives_match_differences_and_the_gust_drifts_with_the_mean_wind() {
        let mut air = Air::calm();
        air.mean_wind = Vector3::new(1.5, -0.5, 0.0);
        air.gusts
            .push(Gust::in_place(Vector3::new(0.3, 1.0, -2.0), 0.4, 2.0, 9.0));
        let (place, time, h) = (Vector3::new(4.0, 1.0, -3.0), 1.2, 1e-6);
        let here = air.wind(&place, time, &ON);
        let later = air.wind(&place, time + h, &ON);
        let earlier = air.wind(&place, time - h, &ON);
        let rate = (later.velocity - earlier.velocity) / (2.0 * h);
        assert!((rate - here.time_rate).norm() < 1e-7);
        for j in 0..3 {
            let mut step = Vector3::zeros();
            step[j] = h;
            let slope = (air.wind(&(place + step), time, &ON).velocity
                - air.wind(&(place - step), time, &ON).velocity)
                / (2.0 * h);
            assert!((slope - here.gradient.column(j)).norm() < 1e-7);
        }
        let velocity = Vector3::new(3.0, 0.5, -1.0);
        let ahead = air.wind(&(place + velocity * h), time + h, &ON).gradient;
        let behind = air.wind(&(place - velocity * h), time - h, &ON).gradient;
        let slope = (ahead - behind) / (2.0 * h);
        let none = Constants::none();
        let found = air
            .wind_along(&place, &velocity, time, &ON, &Parts::ALL, &none)
            .1;
        assert!((found.roll - slope).norm() < 1e-7 && slope.norm() > 0.1);
        assert_eq!(found.roll, found.turn);
        let carried = air.wind(&(place + air.mean_wind * 0.7), time + 0.7, &ON);
        assert!((carried.velocity - here.velocity).norm() < 1e-13);
    }
}
