//! Reference problems with closed answers.
//!
//! Each module builds a vehicle or a throw and gives, apart from it and from the model's code, the answer theory has
//! for it.

pub mod aircraft;
pub mod carried_air;
pub mod discs;
pub mod effects;
pub mod elliptic;
pub mod estimate_cases;
pub mod falling_ball;
pub mod frictionless;
pub mod linearise;
pub mod power;
pub mod propulsion;
pub mod random;
pub mod spinning_box;
pub mod spinning_plate;
pub mod steady_glide;
pub mod textbook;
