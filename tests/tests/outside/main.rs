//! Comparisons with published numbers and textbook theory. Each module is headed by the physics and the source.

mod atmosphere;
mod boeing_747;
mod damper;
mod disc;
mod drops;
mod endurance;
mod estimate;
mod glide;
mod level_mass;
mod mass;
mod modes;
mod motor;
mod navion;
mod phugoid;
mod propeller;
mod propulsion;
mod sensitivity;
mod site;
mod tumbling;
mod wind;
mod wind_limits;
