//! The module's gyro and its noise (MODEL.md § 7.4).

use nalgebra::Vector3;
use rand_chacha::ChaCha20Rng;
use rand_chacha::rand_core::{Rng, SeedableRng};
use std::f64::consts::TAU;

/// A gyro of three axes, square to the body axes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Gyro {
    /// Error that stays, roll, pitch, yaw, rad/s.
    pub bias_rad_s: Vector3<f64>,
    /// One standard deviation of the noise of a sample, each axis, rad/s.
    pub noise_rad_s: f64,
    /// What the noise is drawn from.
    pub seed: u64,
}

impl Gyro {
    /// What it says of body rates (rad/s) at sample k, rad/s.
    pub fn reading(&self, rates_rad_s: &Vector3<f64>, k: u64) -> Vector3<f64> {
        let exact = rates_rad_s + self.bias_rad_s;
        if self.noise_rad_s == 0.0 {
            return exact;
        }
        exact + standard_normals(self.seed, k) * self.noise_rad_s
    }
}

/// Three independent normal numbers of mean 0 and variance 1 that depend on seed and k alone.
///
/// Bits from the `rand_chacha` crate. Box and Muller's way to normal numbers is written here, on `libm`, because the usual crates take the
/// platform's logarithm, whose last digits differ from one machine to the next.
pub fn standard_normals(seed: u64, k: u64) -> Vector3<f64> {
    let mut key = [0; 32];
    key[..8].copy_from_slice(&seed.to_le_bytes());
    let mut stream = ChaCha20Rng::from_seed(key);
    stream.set_stream(k);
    let [first, first_turn, second, second_turn] =
        std::array::from_fn(|_| (stream.next_u64() >> 11) as f64);
    const STEP: f64 = 1.0 / (1_u64 << 53) as f64;
    let radius = |a: f64| f64::sqrt(-2.0 * libm::log((a + 1.0) * STEP));
    let (sin, cos) = libm::sincos(TAU * (first_turn * STEP));
    let first = radius(first);
    Vector3::new(
        first * cos,
        first * sin,
        radius(second) * libm::cos(TAU * (second_turn * STEP)),
    )
}
