//! Repeatable pseudo-random numbers for sampling states and vehicles.

/// SplitMix64 (Steele, Lea & Flood 2014; constants from memory): good enough to scatter test states, and the same
/// everywhere.
#[derive(Clone, Debug)]
pub struct Random(u64);

impl Random {
    /// A stream from a seed.
    pub fn new(seed: u64) -> Self {
        Random(seed)
    }

    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    /// Evenly spread in `low..high`.
    pub fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * (self.next() >> 11) as f64 / (1u64 << 53) as f64
    }

    /// Three numbers evenly spread in `-size..size`.
    pub fn vector(&mut self, size: f64) -> nalgebra::Vector3<f64> {
        nalgebra::Vector3::from_fn(|_, _| self.between(-size, size))
    }

    /// A direction, evenly spread over the sphere.
    pub fn direction(&mut self) -> nalgebra::Vector3<f64> {
        let (height, turn) = (
            self.between(-1.0, 1.0),
            self.between(0.0, std::f64::consts::TAU),
        );
        let across = (1.0 - height * height).sqrt();
        nalgebra::Vector3::new(across * turn.cos(), across * turn.sin(), height)
    }
}
