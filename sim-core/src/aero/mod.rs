//! Forces of the air on the airframe (MODEL.md § 4.4 and § 5).

pub mod apparent_mass;
pub mod coefficients;
pub mod flow;
pub mod ground;
pub mod post_stall;
