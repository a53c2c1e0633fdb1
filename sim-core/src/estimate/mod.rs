//! Coefficients from what a builder can measure: outline, bends, weights (MODEL.md § 16 on).
//!
//! Pure functions on plain data, SI units and radians, no files.

pub mod geometry;
