//! Airframe and scenario files, and what a flight comes to.
pub mod airframe_file;
pub mod scenario_file;
pub mod schema;
#[cfg(test)]
mod t { #[test] fn p(){ for k in crate::schema::Kind::ALL { println!("{}", serde_json::to_string_pretty(&k.schema()).unwrap()); } } }
