//! Comparisons with published numbers and textbook theory. Each module is headed by the physics and the source.

mod atmosphere;
mod drops;
mod glide;
mod mass;
mod modes;
mod motor;
mod phugoid;
mod propeller;
mod tumbling;
