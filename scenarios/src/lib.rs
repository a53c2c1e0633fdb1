//! Airframe and scenario files, and what a flight comes to.
#![doc = ""]
mod airframe_checks;
pub mod airframe_file;
pub mod build;
pub mod build_mass;
mod check;
pub mod effective;
pub mod error;
mod field;
pub mod load;
mod locate;
mod outline_check;
pub mod overrides;
pub mod read;
mod scenario_checks;
pub mod scenario_file;
pub mod schema;
mod shape;
pub mod summary;
pub mod units;
