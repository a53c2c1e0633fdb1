//! One short file a command.

pub mod balance;
pub mod compare;
pub mod completions;
pub mod fly;
pub mod footprint;
pub mod gather;
mod hall;
pub mod inspect;
pub mod man;
pub mod new;
pub mod report;
pub mod schema;
pub mod sweep;
pub mod thrustline;
pub mod trim;
pub mod wind;
pub mod worst;
