//! Coefficients from what a builder can measure: outline, bends, weights (MODEL.md § 16 on).
//!
//! Pure functions on plain data, SI units and radians, no files. [`geometry`] says what surfaces there are, [`panels`] cuts
//! them up, [`lattice`] finds the flow, [`derivatives`] what every coefficient does with incidence, sideslip, rates and
//! bent edges, [`convergence`] whether there were panels enough. [`friction`], [`suction`] and [`plate_data`] add what
//! a real plate does, [`bodies`] what else is in the air, [`apparent_mass`] the air it carries; [`bands`] says how sure all that is, and [`assemble`] puts
//! the table together.

pub mod convergence;
pub mod derivatives;
pub mod geometry;
pub mod lattice;
pub mod panels;

pub mod bodies;
pub mod friction;
pub mod plate_data;
pub mod suction;

pub mod apparent_mass;

pub mod assemble;
pub mod bands;
pub mod propulsion;
