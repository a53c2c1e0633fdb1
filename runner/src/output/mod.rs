//! One form of output a file; printing that minds a closed pipe.

pub mod chart;
pub mod curves;
pub mod drawing;
pub mod files;
pub mod flights;
pub mod html;
pub mod map;
pub mod marks;
pub mod names;
pub mod parquet;
pub mod picture;
pub mod summary_row;
pub mod table;
pub mod trajectory;
pub mod verdicts;
pub mod window;

use crate::exit::Outcome;
use serde::Serialize;
use std::fmt::Display;
use std::io::{self, Write};

/// What everything that comes out of a computed flight says about itself.
pub const CAUTION: &str = "Computed, not flown. Propellers cut and lithium cells burn when hurt; throw away from people, roads, water and \
airfields, and put your site's rules and your club first.";

/// Prints text to standard output. A reader that has gone away is no error.
pub fn print(text: &str) -> Outcome {
    let mut out = io::stdout().lock();
    match out.write_all(text.as_bytes()).and_then(|()| out.flush()) {
        Ok(()) => Outcome::Done,
        Err(error) if error.kind() == io::ErrorKind::BrokenPipe => Outcome::Done,
        Err(_) => Outcome::CannotWrite,
    }
}

/// Prints a value as JSON.
pub fn print_json(value: &impl Serialize) -> Outcome {
    match serde_json::to_string_pretty(value) {
        Ok(text) => print(&(text + "\n")),
        Err(error) => complain(&error, Outcome::CannotWrite),
    }
}

/// Says on standard error what went wrong, and passes the outcome on.
pub fn complain(error: &dyn Display, outcome: Outcome) -> Outcome {
    // Nobody is left to be told where standard error is closed.
    let _ = writeln!(io::stderr(), "error: {error}");
    outcome
}

/// Says on standard error what is worth knowing.
pub fn warn(warning: &dyn Display) {
    let _ = writeln!(io::stderr(), "warning: {warning}");
}
