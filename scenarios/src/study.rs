//! Studies: one throw flown many times with fields changed along axes and scattered by chance, and conditions counted.
//!
//! A study is a file ([`StudyFile`]), read by [`loaded`]. [`plan`] turns it into numbered flights: a pure function of the file, so that
//! flight i is the same whatever was flown before it, on however many threads. [`scatter`] draws, [`judge`] counts. A flight becomes a
//! [`row`]; [`tally`] and [`sensitivity`] read rows once, in the plan's order, and come to the answer. Their definitions are MODEL.md § 27.
//!
//! # What is drawn
//! Every scattered field takes a number u between 0 and 1 from a sample and becomes its distribution's quantile at u. Sample i of an axis
//! point has one u for each field, in the order of the file:
//!
//! - *Latin hypercube* of n samples: u = (π(i) + v)/n; π a permutation of 0…n−1 and v between 0 and 1, both by seed and field. Each of the n
//!   equal parts of every field's range holds one sample. A sample depends on seed, i and n.
//! - *Scrambled Sobol*: point i of Sobol's sequence (directions of Joe & Kuo 2008, in Gray-code order) under Owen's nested uniform
//!   scrambling by seed and field; 32 bits, the middle of the last taken. A sample depends on seed and i alone. Best where n is a power of 2.
//!
//! *Crossed*: every axis point is flown with the same samples, so that points differ by their axes alone. *Nested*: each has its own.
//!
//! Correlated fields go by their normal scores (a Gaussian copula): z = Φ⁻¹(u), z' = L z with L Lᵀ the matrix of the coefficients, u' = Φ(z').
//! Between two normal fields the coefficient is the correlation itself.
//!
//! Values are rounded to 12 significant digits, so that the last bit of a platform's logarithm changes no flight.
//!
//! # Two kinds of seed
//! Samples that choose something (an angle, a moment) must not state how probable what was chosen is: [`plan::Purpose`] keys the draws, so
//! that the two never meet.

pub mod file;
pub mod judge;
pub mod keep;
pub mod loaded;
pub mod plan;
pub mod quantiles;
pub mod rank;
pub mod row;
pub mod scatter;
pub mod sensitivity;
pub mod tally;

mod checks;
mod sampling;

pub use file::StudyFile;
pub(crate) use loaded::study_from;
pub use loaded::{LoadedStudy, load_study, study_file_from_bytes};
pub use plan::{Plan, PlannedFlight, Purpose};
