//! The thrust line: what power does to the nose, which angle cures it, and how exactly it must be held (MODEL.md § 24).
//!
//! [`power`] is about steady flights; [`usual`] makes the study that is flown where none is given, for the [`hands`] that build and throw; [`balanced`] balances and [`glide`] trims each drawn airframe as its
//! builder would; [`window`] judges angles by what their flights came to; [`change`] lists what else could be changed;
//! [`weight`] asks how heavy it may be for level flight at a throttle (MODEL.md § 25).

pub mod balanced;
pub mod change;
pub mod glide;
pub mod hands;
pub mod power;
pub mod usual;
pub mod weight;
pub mod window;
