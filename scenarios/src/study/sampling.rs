//! Numbers between 0 and 1 by seed, purpose, field and place, each to be had alone.

use super::file::Sampling;
use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::{Rng, SeedableRng};
use sobol::Sobol;
use sobol::params::JoeKuoD6;

/// Most scattered fields. A sample has twice as many numbers where sensitivities are asked for.
pub(super) const MOST_FIELDS: usize = 100;
/// Dimensions of the sequence's small table; the large one begins with the same.
const SMALL_TABLE: usize = 100;
const BITS: usize = 32;

/// What draws depend on besides the place: all of it, and nothing else.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Key {
    pub seed: u32,
    /// Tells draws for different ends apart.
    pub purpose: u8,
    /// Point of the axes, of a nested design; 0 of a crossed one.
    pub block: u64,
}

impl Key {
    /// Random numbers of this key for one field: ChaCha with 8 rounds, the field as stream.
    fn random(self, field: usize) -> ChaCha8Rng {
        let mut bytes = [0_u8; 32];
        bytes[..4].copy_from_slice(&self.seed.to_le_bytes());
        bytes[4] = self.purpose;
        bytes[8..16].copy_from_slice(&self.block.to_le_bytes());
        let mut random = ChaCha8Rng::from_seed(bytes);
        random.set_stream(field as u64);
        random
    }
}

/// Samples of as many numbers as there are fields.
#[derive(Clone, Debug)]
pub(super) enum Sampler {
    /// Latin hypercube of so many samples.
    LatinHypercube { samples: u64, fields: usize },
    /// Sobol's directions of each field.
    Sobol { directions: Vec<Vec<u32>> },
}

impl Sampler {
    pub fn new(sampling: Sampling, samples: u64, fields: usize) -> Self {
        match sampling {
            Sampling::LatinHypercube => Sampler::LatinHypercube { samples, fields },
            Sampling::ScrambledSobol => {
                let table = if fields > SMALL_TABLE {
                    JoeKuoD6::standard()
                } else {
                    JoeKuoD6::minimal()
                };
                Sampler::Sobol {
                    directions: Sobol::<u32>::init_direction_vals::<u32>(fields, BITS, &table),
                }
            }
        }
    }

    /// Sample i of a key: a number over 0 and under 1 for each field.
    pub fn sample(&self, key: Key, i: u64) -> Vec<f64> {
        match self {
            Sampler::LatinHypercube { samples, fields } => (0..*fields)
                .map(|field| {
                    let mut random = key.random(field);
                    let stratum = permuted(i, *samples, random.next_u64());
                    // Two words of 32 bits a draw; the first two words are the permutation's key.
                    random.set_word_pos(2 + 2 * u128::from(i));
                    (stratum as f64 + between_0_and_1(random.next_u64())) / *samples as f64
                })
                .collect(),
            Sampler::Sobol { directions } => directions
                .iter()
                .enumerate()
                .map(|(field, directions)| {
                    let scrambled =
                        scrambled(sobol_bits(directions, i), key.random(field).next_u64());
                    (f64::from(scrambled) + 0.5) / (1_u64 << BITS) as f64
                })
                .collect(),
        }
    }
}

fn between_0_and_1(bits: u64) -> f64 {
    ((bits >> 11) as f64 + 0.5) / (1_u64 << 53) as f64
}

/// Point i of a field's sequence, as a binary fraction, in Gray-code order.
fn sobol_bits(directions: &[u32], i: u64) -> u32 {
    let gray = i ^ (i >> 1);
    directions
        .iter()
        .enumerate()
        .filter(|(bit, _)| (gray >> bit) & 1 == 1)
        .fold(0, |sum, (_, direction)| sum ^ direction)
}

/// Owen's nested uniform scrambling: every bit is turned or not by a coin of its own for each value of the bits before it.
fn scrambled(bits: u32, key: u64) -> u32 {
    (0..BITS as u32).fold(0, |sum, place| {
        // The bits before this one, with a one in front so that their number counts too.
        let before = (1_u64 << place) | (u64::from(bits) >> (BITS as u32 - place));
        let coin = (mixed(key ^ mixed(before)) >> 63) as u32;
        let bit = (bits >> (BITS as u32 - 1 - place)) & 1;
        sum | ((bit ^ coin) << (BITS as u32 - 1 - place))
    })
}

/// The finaliser of SplitMix64 (Steele, Lea & Flood 2014; constants from memory): every bit in depends on every bit out.
pub(super) fn mixed(z: u64) -> u64 {
    let z = z.wrapping_add(0x9e37_79b9_7f4a_7c15);
    let z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
    let z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
    z ^ (z >> 31)
}

/// Where i lies in a permutation of 0…n−1: a Feistel network over the next power of four, walked until it comes back into the range.
fn permuted(i: u64, n: u64, key: u64) -> u64 {
    const ROUNDS: u64 = 6;
    let half_bits = (64 - n.max(2).leading_zeros()).div_ceil(2);
    let mask = (1_u64 << half_bits) - 1;
    let mut at = i;
    loop {
        let (mut left, mut right) = (at >> half_bits, at & mask);
        for round in 0..ROUNDS {
            let turned = mixed(key ^ mixed((round << 32) | right)) & mask;
            (left, right) = (right, left ^ turned);
        }
        at = (left << half_bits) | right;
        if at < n {
            return at;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const KEY: Key = Key {
        seed: 7,
        purpose: 1,
        block: 0,
    };

    // scipy.stats.qmc.Sobol(d=8, scramble=False), SciPy 1.17.1: points 0 to 7 and 1000.
    #[test]
    fn unscrambled_points_are_scipys() {
        let Sampler::Sobol { directions } = Sampler::new(Sampling::ScrambledSobol, 0, 8) else {
            panic!("a Sobol sampler");
        };
        let point = |i: u64| -> Vec<f64> {
            directions
                .iter()
                .map(|d| f64::from(sobol_bits(d, i)) / 2.0_f64.powi(32))
                .collect()
        };
        let expected: [(u64, [f64; 8]); 6] = [
            (0, [0.0; 8]),
            (1, [0.5; 8]),
            (2, [0.75, 0.25, 0.25, 0.25, 0.75, 0.75, 0.25, 0.75]),
            (4, [0.375, 0.375, 0.625, 0.875, 0.375, 0.125, 0.375, 0.875]),
            (7, [0.125, 0.625, 0.375, 0.125, 0.125, 0.375, 0.625, 0.625]),
            (
                1000,
                [
                    0.2197265625,
                    0.0966796875,
                    0.5185546875,
                    0.6767578125,
                    0.2802734375,
                    0.9072265625,
                    0.0458984375,
                    0.8994140625,
                ],
            ),
        ];
        for (i, numbers) in expected {
            assert_eq!(point(i), numbers, "point {i}");
        }
    }

    #[test]
    fn a_permutation_meets_every_place_once() {
        for n in [1, 2, 3, 10, 64, 1000] {
            for key in [0, 99] {
                let mut places: Vec<u64> = (0..n).map(|i| permuted(i, n, key)).collect();
                places.sort_unstable();
                assert!(places.into_iter().eq(0..n));
            }
        }
        let forward: Vec<u64> = (0..1000).map(|i| permuted(i, 1000, 1)).collect();
        assert!(
            forward
                .iter()
                .enumerate()
                .filter(|&(i, &p)| i as u64 == p)
                .count()
                < 10
        );
    }

    // By definition: each of n equal parts holds one sample, in every field.
    #[test]
    fn a_latin_hypercube_fills_every_part_of_every_field_once() {
        let sampler = Sampler::new(Sampling::LatinHypercube, 200, 5);
        let samples: Vec<Vec<f64>> = (0..200).map(|i| sampler.sample(KEY, i)).collect();
        for field in 0..5 {
            let mut parts: Vec<u64> = samples.iter().map(|s| (s[field] * 200.0) as u64).collect();
            parts.sort_unstable();
            assert!(parts.into_iter().eq(0..200));
        }
    }

    // Owen (1997, from memory): scrambling keeps a net a net. Of the first 2^m points each of the 2^m equal intervals holds one, and in
    // fields 1 and 2, a (0, 2)-sequence, every elementary box of that area does.
    #[test]
    fn scrambled_points_stay_a_net() {
        let sampler = Sampler::new(Sampling::ScrambledSobol, 0, 6);
        let points: Vec<Vec<f64>> = (0..256).map(|i| sampler.sample(KEY, i)).collect();
        for field in 0..6 {
            let mut parts: Vec<u64> = points.iter().map(|p| (p[field] * 256.0) as u64).collect();
            parts.sort_unstable();
            assert!(parts.into_iter().eq(0..256), "field {field}");
        }
        for across in 0..=8 {
            let mut boxes: Vec<u64> = points
                .iter()
                .map(|p| {
                    let a = (p[0] * f64::from(1 << across)) as u64;
                    let b = (p[1] * f64::from(1 << (8 - across))) as u64;
                    (a << (8 - across)) | b
                })
                .collect();
            boxes.sort_unstable();
            assert!(boxes.into_iter().eq(0..256), "boxes {across}");
        }
        // Scrambled they are: nothing is left of the plain points' exact fractions.
        assert!(points.iter().any(|p| (p[0] * 256.0).fract() != 0.0));
    }

    /// Centred discrepancy squared (F. J. Hickernell 1998, as in scipy.stats.qmc.discrepancy with method CD; from memory).
    fn discrepancy(points: &[Vec<f64>]) -> f64 {
        let (n, d) = (points.len() as f64, points[0].len() as i32);
        let off = |x: f64| (x - 0.5).abs();
        let single: f64 = points
            .iter()
            .map(|p| {
                p.iter()
                    .map(|&x| 1.0 + 0.5 * off(x) - 0.5 * off(x).powi(2))
                    .product::<f64>()
            })
            .sum();
        let pair: f64 = points
            .iter()
            .flat_map(|p| points.iter().map(move |q| (p, q)))
            .map(|(p, q)| {
                p.iter()
                    .zip(q)
                    .map(|(&x, &y)| 1.0 + 0.5 * off(x) + 0.5 * off(y) - 0.5 * (x - y).abs())
                    .product::<f64>()
            })
            .sum();
        (13.0_f64 / 12.0).powi(d) - 2.0 / n * single + pair / (n * n)
    }

    // scipy.stats.qmc, SciPy 1.17.1, 256 points in 4 fields: its scrambled Sobol points have 1.13e-4, its Latin hypercube 1.02e-3, plain
    // random points 3.9e-3 in the mean of 20 seeds.
    #[test]
    fn discrepancies_are_of_scipys_size() {
        let of = |sampling| {
            let sampler = Sampler::new(sampling, 256, 4);
            let points: Vec<Vec<f64>> = (0..256).map(|i| sampler.sample(KEY, i)).collect();
            discrepancy(&points)
        };
        let (sobol, latin) = (of(Sampling::ScrambledSobol), of(Sampling::LatinHypercube));
        assert!((0.4e-4..2.5e-4).contains(&sobol), "{sobol}");
        assert!((0.5e-3..2.0e-3).contains(&latin), "{latin}");
    }

    #[test]
    fn seed_purpose_and_block_each_change_the_sample() {
        for sampling in [Sampling::ScrambledSobol, Sampling::LatinHypercube] {
            let sampler = Sampler::new(sampling, 64, 3);
            let base = sampler.sample(KEY, 5);
            assert_eq!(base, sampler.sample(KEY, 5));
            for other in [
                Key { seed: 8, ..KEY },
                Key { purpose: 2, ..KEY },
                Key { block: 1, ..KEY },
            ] {
                let sample = sampler.sample(other, 5);
                assert!(
                    base.iter().zip(&sample).all(|(a, b)| a != b),
                    "{sampling:?}"
                );
            }
        }
    }
}
