//! Airframe and scenario files: reading them, checking them, and making something that can fly of them.
//!
//! The files are JSON. Every quantity carries its unit at the end of its name, unknown fields are refused, and every error names the
//! file, the line, the field, what was found, what was wanted and, where one is like it, the right name. The JSON Schemas
//! ([`schema::schema`]) come out of the same types that read the files, and their descriptions say what each field is.
//!
//! Read the modules in this order; it is the way of the data:
//!
//! 1. [`airframe_file`], [`scenario_file`]: the form of the files, their defaults, and [`schema`] out of both.
//! 2. [`read`]: bytes to JSON to the typed form; [`error`]: what is said where that fails.
//!    Outlines may come from SVG drawings beside the file; they are written down as corners before anything is checked or built.
//! 3. [`overrides`]: any field of a scenario or its airframe changed by its path.
//! 4. [`units`], [`build`]: millimetres, grams and degrees to SI, and parts, motors and programmes to what `sim_core` flies.
//! 5. [`load`]: all of this at once for a path; [`effective`]: what a file means after defaults and overrides.
//! 6. [`study`]: one scenario flown many times; [`footprint`]: where many throws come down; [`wind_limits`]: in how much wind it still
//!    goes; [`worst`]: the worst gust length or power cut of a scenario, as a scenario; [`thrustline`]: what power does to the nose;
//!    [`compare`]: before and after; [`start`]: a starting airframe out of a few measures.
//!
//! # From a file to a flight
//! ```
//! # fn main() -> Result<(), Box<dyn std::error::Error>> {
//! # let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/test-data");
//! let loaded = scenarios::load::load_scenario(format!("{folder}/step.json"))?;
//! for warning in loaded.warnings() {
//!     println!("{warning}");
//! }
//! println!("{} g", loaded.airframe.built.mass.mass_kg * 1e3);
//!
//! let flight = loaded.built.throw.fly()?;
//! println!("{} flies {:.2} s", loaded.file.name, flight.end_time_s);
//! # assert!(flight.end_time_s > 0.5);
//!
//! // The same airframe with the thrust three degrees lower, as a command line would ask for it.
//! let lower = scenarios::overrides::Override::parse("motors.*.thrust_elevation_deg={\"add\": -3}")?;
//! let airframe = scenarios::load::load_airframe(format!("{folder}/knot.json"), &[lower])?;
//! assert_eq!(airframe.file.motors[0].thrust_elevation_deg, 2.0);
//! # Ok(())
//! # }
//! ```

pub mod airframe_file;
pub mod balance;
pub mod build;
pub mod compare;
pub mod effective;
pub mod error;
pub mod estimate;
pub mod footprint;
pub mod gust_search;
pub mod load;
pub mod overrides;
pub mod power_cut;
pub mod read;
pub mod scenario_file;
pub mod schema;
pub mod site;
pub mod start;
pub mod study;
pub mod thrustline;
pub mod units;
pub mod wind_limits;
pub mod worst;

mod airframe_checks;
mod check;
mod digits;
mod field;
mod locate;
mod outline;
mod scenario_checks;
mod shape;
#[cfg(test)]
mod tests;

pub use error::{FileError, Warning};
pub use flight_summary as summary;
pub use load::{LoadedAirframe, LoadedScenario, load_airframe, load_scenario};
