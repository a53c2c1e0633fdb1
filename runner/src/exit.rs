//! Exit codes and what they mean.

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
