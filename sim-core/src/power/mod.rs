//! From throttle to thrust: cell, motors, propellers (MODEL.md § 6).

pub mod cell;
pub mod disc;
pub mod motor;
pub mod propeller;
pub(crate) mod run;
