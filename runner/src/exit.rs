//! Exit codes and what they mean.

use crate::output::files::WriteError;
use scenarios::error::FileError;
use std::fmt::{self, Display};
use std::process::ExitCode;

/// How the command ended.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Outcome {
    /// Done; ground, wall and stall are answers.
    Done,
    /// A flight failed numerically, or a condition marked `must_hold` does not hold.
    FlightFailed,
    /// Bad input; nothing was written.
    BadInput,
    /// Could not write.
    CannotWrite,
    /// Stopped from outside; what was finished is saved.
    Stopped,
}

impl From<Outcome> for ExitCode {
    fn from(outcome: Outcome) -> Self {
        ExitCode::from(match outcome {
            Outcome::Done => 0,
            Outcome::FlightFailed => 1,
            Outcome::BadInput => 2,
            Outcome::CannotWrite => 3,
            Outcome::Stopped => 130,
        })
    }
}

/// Why a command did not do what it was asked: its words, and how it ends.
#[derive(Debug)]
pub struct NotDone {
    /// The words.
    pub text: String,
    /// How the command ends.
    pub outcome: Outcome,
    /// The same as errors of files, where that is what it was.
    pub files: Vec<FileError>,
}

impl NotDone {
    /// Bad input, in words.
    pub fn bad_input(error: &impl Display) -> Self {
        NotDone::new(error, Outcome::BadInput)
    }

    /// In words.
    pub fn new(error: &impl Display, outcome: Outcome) -> Self {
        NotDone {
            text: error.to_string(),
            outcome,
            files: Vec::new(),
        }
    }
}

impl Display for NotDone {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.text)
    }
}

impl std::error::Error for NotDone {}

impl From<FileError> for NotDone {
    fn from(error: FileError) -> Self {
        NotDone {
            files: vec![error.clone()],
            ..NotDone::bad_input(&error)
        }
    }
}

impl From<WriteError> for NotDone {
    fn from(error: WriteError) -> Self {
        NotDone::new(&error, Outcome::CannotWrite)
    }
}
