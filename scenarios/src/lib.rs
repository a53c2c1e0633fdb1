//! Airframe and scenario files, and what a flight comes to.
#![doc = ""]
pub mod airframe_file;
pub mod scenario_file;
pub mod schema;
pub mod read;
pub mod error;
pub mod units;
pub mod overrides;
pub mod build;
pub mod build_mass;
pub mod load;
pub mod effective;
mod airframe_checks;
mod check;
mod field;
mod locate;
mod outline_check;
mod scenario_checks;
mod shape;
pub mod summary;
