//! Dryden turbulence as a frozen field of place and time (MODEL.md § 4.5).

use super::{GradientRates, WindSample};
use crate::number::{Number, lane_data};
use crate::vector::{dot, minus, no_matrix, plus, scaled, scaled_plus, sum, turned};
use nalgebra::Vector3;
use rand_pcg::Pcg64;
use rand_pcg::rand_core::Rng;
use std::f64::consts::{PI, TAU};

/// Waves the field is made of.
pub const WAVES: usize = 48;
/// Shortest wavelength in the field, m. Ours: about the span of the aircraft meant here.
pub const SHORTEST_WAVELENGTH_M: f64 = 0.5;
/// Longest wave number times the larger of the two length scales. Ours: 0.3 % of the variance lies in longer waves.
const LEAST_SCALED_WAVE_NUMBER: f64 = 0.4;
/// Stream of the generator; its increment is twice this and one.
const STREAM: u128 = 54;
/// The foot, m. Source: ISO 80000-3 (0.3048 m exactly).
pub const FOOT_M: f64 = 0.3048;
/// Height below which the standard's values stay as they are there, m.
pub const LOWEST_STANDARD_HEIGHT_M: f64 = 10.0 * FOOT_M;
/// Height up to which the low-altitude values hold, m.
pub const HIGHEST_STANDARD_HEIGHT_M: f64 = 1000.0 * FOOT_M;
/// Height of the wind that sets the intensities, m.
pub const WIND_HEIGHT_M: f64 = 20.0 * FOOT_M;

/// Lengths and intensities of Dryden turbulence, equal in all horizontal directions.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct DrydenScales {
    /// L_u = L_v, m.
    pub horizontal_length_m: f64,
    /// L_w, m.
    pub vertical_length_m: f64,
    /// σ_u = σ_v, m/s.
    pub horizontal_intensity_m_s: f64,
    /// σ_w, m/s.
    pub vertical_intensity_m_s: f64,
}

impl DrydenScales {
    /// Those of MIL-F-8785C at a height over the ground (m), the wind at 20 ft (m/s) given.
    ///
    /// Valid for: 10 to 1000 ft; below, the values at 10 ft are given. Source: MIL-F-8785C, from memory.
    pub fn low_altitude(height_m: f64, wind_at_20_ft_m_s: f64) -> Self {
        let height_m = height_m.max(LOWEST_STANDARD_HEIGHT_M);
        let ratio = 0.177 + 0.000_823 * height_m / FOOT_M;
        let vertical_intensity_m_s = 0.1 * wind_at_20_ft_m_s;
        DrydenScales {
            horizontal_length_m: height_m / libm::pow(ratio, 1.2),
            vertical_length_m: height_m,
            horizontal_intensity_m_s: vertical_intensity_m_s / libm::pow(ratio, 0.4),
            vertical_intensity_m_s,
        }
    }

    /// Share of the variance of the horizontal and of the vertical components that the waves leave out.
    pub fn variance_left_out(&self) -> [f64; 2] {
        let (least, most) = self.wave_number_range();
        [self.horizontal_length_m, self.vertical_length_m]
            .map(|length| 1.0 - variance_below(most * length) + variance_below(least * length))
    }

    /// Smallest and largest wave number of the waves, rad/m.
    fn wave_number_range(&self) -> (f64, f64) {
        let longest = self.horizontal_length_m.max(self.vertical_length_m);
        (
            LEAST_SCALED_WAVE_NUMBER / longest,
            TAU / SHORTEST_WAVELENGTH_M,
        )
    }
}

/// Share of the variance in waves of less than a scaled wave number k L.
fn variance_below(x: f64) -> f64 {
    let square = 1.0 + x * x;
    2.0 / PI * (libm::atan(x) - x * (5.0 * x * x + 3.0) / (3.0 * square * square))
}

/// E(k; L, σ): energy per wave number, m³/s².
fn energy(wave_number: f64, length: f64, intensity: f64) -> f64 {
    let square = wave_number * length * wave_number * length;
    let cubed = (1.0 + square) * (1.0 + square) * (1.0 + square);
    intensity * intensity * 8.0 * length / PI * square * square / cubed
}

lane_data! {
    /// One plane wave.
    pub struct Wave<T> {
        /// Wave vector, earth axes, rad/m.
        pub number: Vector3<T>,
        /// Velocity that goes with the cosine of the phase, m/s.
        pub cosine: Vector3<T>,
        /// Velocity that goes with the sine, m/s.
        pub sine: Vector3<T>,
        /// Share of the wave's gradient that a wing of the span feels in roll.
        pub roll_share: T,
        /// The same in pitch and yaw: of the two horizontal velocities and the vertical one.
        pub turn_share: Vector3<T>,
    }
}

lane_data! {
    /// A field of turbulence, carried by the mean wind.
    pub struct Turbulence<T> {
        /// The waves it is the sum of.
        pub waves: Vec<Wave<T>>,
    }
}

impl Turbulence<f64> {
    /// The field of a seed, felt by a wing of a span (m). The span changes what acts as rates, never the velocities. None where both
    /// intensities are zero.
    pub fn from_seed(seed: u64, scales: &DrydenScales, span_m: f64) -> Option<Self> {
        if scales.horizontal_intensity_m_s == 0.0 && scales.vertical_intensity_m_s == 0.0 {
            return None;
        }
        /// The real root of p³ = p + 1.
        const PLASTIC: f64 = 1.324_717_957_244_746;
        let mut random = Pcg64::new(u128::from(seed), STREAM);
        let mut draw = || (random.next_u64() >> 11) as f64 / (1_u64 << 53) as f64;
        let (least, most) = scales.wave_number_range();
        let step = libm::log(most / least) / WAVES as f64;
        let starts = [draw(), draw()];
        let waves = (0..WAVES).map(|n| {
            let n = n as f64;
            let k = least * libm::exp((n + draw()) * step);
            let cos_slant = 2.0 * (starts[0] + n / PLASTIC).fract() - 1.0;
            let sin_slant = (1.0 - cos_slant * cos_slant).sqrt();
            let azimuth = TAU * (starts[1] + n / (PLASTIC * PLASTIC)).fract();
            let (sin_azimuth, cos_azimuth) = libm::sincos(azimuth);
            let amplitude =
                |length, intensity| (2.0 * energy(k, length, intensity) * k * step).sqrt();
            let horizontal = amplitude(scales.horizontal_length_m, scales.horizontal_intensity_m_s);
            let vertical =
                amplitude(scales.vertical_length_m, scales.vertical_intensity_m_s) * sin_slant;
            // Two polarisations square to the wave vector, the first level, each with a phase of its own.
            let across = Vector3::new(-sin_azimuth, cos_azimuth, 0.0) * horizontal;
            let along = Vector3::new(cos_azimuth, sin_azimuth, 0.0) * (cos_slant * horizontal);
            let down = Vector3::new(0.0, 0.0, vertical);
            let phases = [draw(), draw(), draw()].map(|u| libm::sincos(TAU * u));
            let share = |length: f64| 1.0 / (1.0 + 5.0 / 9.0 * (length * k) * (length * k)).sqrt();
            Wave {
                number: Vector3::new(sin_slant * cos_azimuth, sin_slant * sin_azimuth, cos_slant)
                    * k,
                cosine: across * phases[0].1 + along * phases[1].1 + down * phases[2].1,
                sine: -(across * phases[0].0 + along * phases[1].0 + down * phases[2].0),
                roll_share: share(2.0 * span_m / PI),
                turn_share: Vector3::new(
                    share(3.0 * span_m / PI),
                    share(3.0 * span_m / PI),
                    share(4.0 * span_m / PI),
                ),
            }
        });
        Some(Turbulence {
            waves: waves.collect(),
        })
    }
}

impl<T: Number> Turbulence<T> {
    /// Adds velocity and derivatives to a sample, and where asked what changes the gradients along a path: at a place in the carried air
    /// (earth axes, m), with the carrier's velocity (m/s) and the velocity through the carried air (m/s).
    #[inline(always)]
    pub fn add_to(
        &self,
        sample: &mut WindSample<T>,
        rates: &mut GradientRates<T>,
        carried: &Vector3<T>,
        carrier: &Vector3<T>,
        through: &Vector3<T>,
        with_rates: bool,
    ) {
        let mut gradient = no_matrix();
        for j in 0..3 {
            for i in 0..3 {
                gradient[(i, j)] = sample.gradient[(i, j)] * T::zero();
            }
        }
        for wave in &self.waves {
            let number = &wave.number;
            let (sin, cos) = dot(number, carried).sin_cos();
            let velocity = scaled_plus(&wave.sine, sin, &scaled(&wave.cosine, cos));
            sample.velocity = plus(&sample.velocity, &velocity);
            let along = scaled(&wave.sine, cos);
            let slope = [
                wave.cosine.x.times_from(sin, along.x),
                wave.cosine.y.times_from(sin, along.y),
                wave.cosine.z.times_from(sin, along.z),
            ];
            let through = -dot(number, through);
            for j in 0..3 {
                for i in 0..3 {
                    let one = slope[i] * number[j];
                    gradient[(i, j)] += one;
                    let roll = &mut sample.roll_gradient[(i, j)];
                    *roll = one.times_plus(wave.roll_share, *roll);
                    let felt = slope[i] * wave.turn_share[i];
                    let turn = &mut sample.turn_gradient[(i, j)];
                    *turn = felt.times_plus(number[j], *turn);
                    if with_rates {
                        let bend = velocity[i] * through;
                        let roll = &mut rates.roll[(i, j)];
                        *roll = (bend * number[j]).times_plus(wave.roll_share, *roll);
                        let turn = &mut rates.turn[(i, j)];
                        *turn = (bend * wave.turn_share[i]).times_plus(number[j], *turn);
                    }
                }
            }
        }
        sample.time_rate = minus(&sample.time_rate, &turned(&gradient, carrier));
        sample.gradient = sum(&sample.gradient, &gradient);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    // MIL-F-8785C at 50 ft in a wind of 15 kt (1.6878 ft/s a knot), worked on a calculator: L_u 94.728 m, L_w 15.24 m, σ_w 0.77166 m/s,
    // σ_u 1.41881 m/s.
    #[test]
    fn the_standard_s_values_at_50_ft() {
        let scales = DrydenScales::low_altitude(50.0 * FOOT_M, 15.0 * 1.6878 * FOOT_M);
        assert!((scales.horizontal_length_m - 94.728).abs() < 5e-4);
        assert!((scales.vertical_length_m - 15.24).abs() < 1e-12);
        assert!((scales.vertical_intensity_m_s - 0.771_66).abs() < 6e-6);
        assert!((scales.horizontal_intensity_m_s - 1.418_81).abs() < 6e-6);
        let low = DrydenScales::low_altitude(1.0, 5.0);
        assert_eq!(low, DrydenScales::low_altitude(10.0 * FOOT_M, 5.0));
    }

    // The generator of O'Neill as NumPy has it: PCG64 with increment 109 and state (seed + 109) one step on, for seed 7
    // (`numpy.random.PCG64`, `random_raw`).
    #[test]
    fn the_generator_is_the_one_numpy_has() {
        let mut random = Pcg64::new(7, STREAM);
        let first: [u64; 3] = std::array::from_fn(|_| random.next_u64());
        assert_eq!(first, NUMPY_FIRST);
    }
    const NUMPY_FIRST: [u64; 3] = [
        1_354_126_853_290_741_730,
        4_934_480_215_680_501_533,
        16_351_636_731_554_966_339,
    ];
}
