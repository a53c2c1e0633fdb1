//! Airframe and scenario files, and what a flight comes to.
pub mod summary;
