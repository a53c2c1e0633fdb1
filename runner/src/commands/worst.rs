//! x
use crate::args::WorstArguments; use crate::exit::Outcome;
pub fn run(_: &WorstArguments) -> Outcome { Outcome::Done }
