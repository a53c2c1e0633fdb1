//! One short file a command.

pub mod balance;
pub mod completions;
pub mod fly;
pub mod footprint;
mod hall;
pub mod inspect;
pub mod man;
pub mod new;
pub mod schema;
pub mod thrustline;
pub mod trim;
pub mod wind;
pub mod worst;
