//! Coefficients from what a builder can measure: outline, bends, weights (MODEL.md § 16 on).
//!
//! Pure functions on plain data, SI units and radians, no files. [`geometry`] says what surfaces there are, [`panels`] cuts
//! them up, [`lattice`] finds the flow, [`derivatives`] what every coefficient does with incidence, sideslip, rates and
//! bent edges, [`convergence`] whether there were panels enough.

pub mod convergence;
pub mod derivatives;
pub mod geometry;
pub mod lattice;
pub mod panels;
