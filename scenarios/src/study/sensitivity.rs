//! Which scattered fields decide a column: Sobol indices or elementary effects, with intervals (MODEL.md § 27).
//!
//! Samples come one by one in order; what is kept of them are sums of at most `MOST_RUNS` runs, so that memory does not grow.

use super::file::StudyFile;
use super::keep::SensitivityKind;
use crate::summary::{Holds, Summary};
use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::{Rng, SeedableRng};
use serde::{Deserialize, Serialize};
use statrs::distribution::{ContinuousCDF, Normal};

/// Most runs of samples that are drawn anew as a whole.
const MOST_RUNS: u64 = 1000;
/// How often estimates are made anew for an interval.
const DRAWS: usize = 1000;

/// Columns a study's sensitivities are found for: those asked for, else the kept columns of numbers its conditions are about.
pub fn columns(file: &StudyFile) -> Vec<String> {
    let Some(asked) = &file.sensitivity else {
        return Vec::new();
    };
    if !asked.columns.is_empty() {
        return asked.columns.clone();
    }
    let all = Summary::columns();
    let is_number = |name: &str| {
        let column = all.iter().find(|column| column.name == name);
        column.is_some_and(|column| column.holds == Holds::Number)
    };
    let kept = &file.keep.columns;
    let mut columns: Vec<String> = Vec::new();
    for condition in &file.conditions {
        let name = &condition.column;
        let is_kept = kept.is_empty() || kept.contains(name);
        if is_kept && is_number(name) && !columns.contains(name) {
            columns.push(name.clone());
        }
    }
    columns
}

/// A number with an interval of so much either way.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct WithInterval {
    /// The estimate.
    pub estimate: f64,
    /// Half of the interval's width.
    pub plus_minus: f64,
}

/// How much one field decides.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(untagged)]
pub enum FieldShare {
    /// Shares of the variance; they carry no unit.
    Sobol {
        /// Share that goes when this field alone is held.
        first_order: WithInterval,
        /// Share that stays when all others are held.
        total: WithInterval,
    },
    /// In the column's unit, for the whole range of the field's chances.
    Elementary {
        /// Mean size of the effects.
        mean_size: WithInterval,
        /// Their mean.
        mean: WithInterval,
        /// Their standard deviation.
        standard_deviation: f64,
    },
}

impl FieldShare {
    /// What fields are put in order by: the total index, or the mean size of the effects.
    pub fn weight(&self) -> f64 {
        match self {
            FieldShare::Sobol { total, .. } => total.estimate,
            FieldShare::Elementary { mean_size, .. } => mean_size.estimate,
        }
    }
}

/// What decides one column.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct ColumnShares {
    /// Samples whose whole group has the number.
    pub samples: u64,
    /// Samples left out because a flight of the group does not have it.
    pub left_out: u64,
    /// Each field's share; none where the column does not vary, or too few samples are left.
    pub fields: Option<Vec<FieldShare>>,
}

/// Sums over a run of samples.
#[derive(Clone, Debug)]
struct Sums {
    samples: f64,
    /// Σ over a, b, all; Σ a² + b². Of elementary effects unused.
    both: f64,
    all: f64,
    squares: f64,
    /// Of each field three sums: Sobol Σ y_b (y_ab − y_a), Σ (y_ab − y_a), Σ (y_ab − y_a)²; elementary Σ |E|, Σ E, Σ E².
    fields: Vec<[f64; 3]>,
}

impl Sums {
    fn new(fields: usize) -> Self {
        Sums {
            samples: 0.0,
            both: 0.0,
            all: 0.0,
            squares: 0.0,
            fields: vec![[0.0; 3]; fields],
        }
    }

    fn add(&mut self, other: &Sums) {
        self.samples += other.samples;
        self.both += other.both;
        self.all += other.all;
        self.squares += other.squares;
        for (mine, others) in self.fields.iter_mut().zip(&other.fields) {
            mine.iter_mut().zip(others).for_each(|(m, o)| *m += o);
        }
    }

    /// The three numbers of each field: first order, total and nothing; or mean size, mean, standard deviation.
    fn estimates(&self, kind: SensitivityKind) -> Option<Vec<[f64; 3]>> {
        let n = self.samples;
        if n < 2.0 {
            return None;
        }
        match kind {
            SensitivityKind::SobolIndices => {
                let centre = self.all / (n * (self.fields.len() as f64 + 2.0));
                let mean = self.both / (2.0 * n);
                let variance = self.squares / (2.0 * n) - mean * mean;
                // What rounding leaves of a column without variance is none.
                if variance <= 1e-24 * self.squares / n || variance <= 0.0 {
                    return None;
                }
                let of = |[product, difference, square]: &[f64; 3]| {
                    let first = (product - centre * difference) / n / variance;
                    [first, square / (2.0 * n) / variance, 0.0]
                };
                Some(self.fields.iter().map(of).collect())
            }
            SensitivityKind::ElementaryEffects => {
                let of = |[size, sum, square]: &[f64; 3]| {
                    let mean = sum / n;
                    let variance = (square - n * mean * mean).max(0.0) / (n - 1.0);
                    [size / n, mean, variance.sqrt()]
                };
                Some(self.fields.iter().map(of).collect())
            }
        }
    }
}

/// Gathers what decides one column, sample by sample.
#[derive(Clone, Debug)]
pub struct Gathered {
    kind: SensitivityKind,
    planned: u64,
    runs: Vec<Sums>,
    left_out: u64,
    /// Values are taken less the first, so that sums of squares keep their digits.
    origin: Option<f64>,
}

impl Gathered {
    /// For so many fields and planned samples.
    pub fn new(kind: SensitivityKind, fields: usize, planned: u64) -> Self {
        let runs = planned.clamp(1, MOST_RUNS) as usize;
        Gathered {
            kind,
            planned,
            runs: vec![Sums::new(fields); runs],
            left_out: 0,
            origin: None,
        }
    }

    /// Adds a sample: its number, the values of its group in their order, and for elementary effects the steps of the fields' numbers.
    pub fn add(&mut self, sample: u64, group: &[Option<f64>], steps: &[f64]) {
        let Some(values) = group.iter().copied().collect::<Option<Vec<f64>>>() else {
            self.left_out += 1;
            return;
        };
        let runs = self.runs.len() as u64;
        let run = (sample * runs / self.planned.max(1)).min(runs - 1);
        let sums = &mut self.runs[run as usize];
        sums.samples += 1.0;
        let origin = *self.origin.get_or_insert(values[0]);
        let value = |i: usize| values[i] - origin;
        let a = value(0);
        match self.kind {
            SensitivityKind::SobolIndices => {
                let b = value(1);
                sums.both += a + b;
                sums.squares += a * a + b * b;
                sums.all += a + b;
                for (i, field) in sums.fields.iter_mut().enumerate() {
                    let exchanged = value(i + 2);
                    let difference = exchanged - a;
                    sums.all += exchanged;
                    field[0] += b * difference;
                    field[1] += difference;
                    field[2] += difference * difference;
                }
            }
            SensitivityKind::ElementaryEffects => {
                for (i, field) in sums.fields.iter_mut().enumerate() {
                    let effect = (value(i + 1) - a) / steps[i];
                    field[0] += effect.abs();
                    field[1] += effect;
                    field[2] += effect * effect;
                }
            }
        }
    }

    /// The answer at a confidence over 0 and under 1; intervals are drawn from the seed.
    pub fn shares(&self, confidence_fraction: f64, seed: u32) -> ColumnShares {
        let fields = self.runs[0].fields.len();
        let total = |chosen: &mut dyn Iterator<Item = usize>| {
            let mut sums = Sums::new(fields);
            chosen.for_each(|run| sums.add(&self.runs[run]));
            sums
        };
        let count = self.runs.len();
        let whole = total(&mut (0..count));
        let Some(estimates) = whole.estimates(self.kind) else {
            return self.with(&whole, None);
        };
        let mut random = ChaCha8Rng::seed_from_u64(u64::from(seed));
        let mut spread = vec![[Moments::default(); 2]; fields];
        for _ in 0..DRAWS {
            let mut drawn = (0..count).map(|_| {
                // The upper half of a product: even but for one in 2⁵⁴.
                ((u128::from(random.next_u64()) * count as u128) >> 64) as usize
            });
            if let Some(again) = total(&mut drawn).estimates(self.kind) {
                for (spread, again) in spread.iter_mut().zip(&again) {
                    spread[0].add(again[0]);
                    spread[1].add(again[1]);
                }
            }
        }
        let z = Normal::standard().inverse_cdf(0.5 + 0.5 * confidence_fraction);
        let shares = estimates.iter().zip(&spread).map(|(estimate, spread)| {
            let with = |i: usize| WithInterval {
                estimate: estimate[i],
                plus_minus: z * spread[i].standard_deviation(),
            };
            match self.kind {
                SensitivityKind::SobolIndices => FieldShare::Sobol {
                    first_order: with(0),
                    total: with(1),
                },
                SensitivityKind::ElementaryEffects => FieldShare::Elementary {
                    mean_size: with(0),
                    mean: with(1),
                    standard_deviation: estimate[2],
                },
            }
        });
        self.with(&whole, Some(shares.collect()))
    }

    fn with(&self, whole: &Sums, fields: Option<Vec<FieldShare>>) -> ColumnShares {
        ColumnShares {
            samples: whole.samples as u64,
            left_out: self.left_out,
            fields,
        }
    }
}

/// Count, mean and spread, one number after the other (Welford 1962).
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Moments {
    /// How many.
    pub count: u64,
    /// Their mean.
    pub mean: f64,
    squares: f64,
}

impl Moments {
    /// Adds a number.
    pub fn add(&mut self, value: f64) {
        self.count += 1;
        let off = value - self.mean;
        self.mean += off / self.count as f64;
        self.squares += off * (value - self.mean);
    }

    /// Standard deviation, divisor one less than the count; 0 of fewer than two.
    pub fn standard_deviation(&self) -> f64 {
        match self.count {
            0 | 1 => 0.0,
            n => (self.squares / (n - 1) as f64).sqrt(),
        }
    }

    /// Sum of the squares of what they are off their mean.
    pub fn squares_about_mean(&self) -> f64 {
        self.squares
    }
}

#[cfg(test)]
mod tests;
