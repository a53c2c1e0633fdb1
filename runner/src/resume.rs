//! Results that grow over hours and must survive anything: a folder with a lock, a note of what is being flown, a ledger of what is
//! finished, and the table itself.
//!
//! # The folder
//! - `plan.json`: what decides every byte of the result ([`identity`]), so that a change is noticed before it mixes with what is there.
//! - `flights.csv`, or `flights/part-000000.parquet` and so on: rows in the plan's order.
//! - `ledger.jsonl`: a line for each finished block of rows: which flights, which bytes, their SHA-256, and a check of the line itself. A block
//!   that is not whole when a sweep is stopped has one too, until it is.
//! - `trajectories/flight-000000000.csv`: kept trajectories.
//! - `.tossline-lock`: held while a command works in the folder.
//!
//! A line is written after its block's bytes, so what the ledger says is there. Power lost before both reached the disk shows as a block that
//! does not match its line: every block is read again before a sweep goes on, and flown again where it does not match. Since a flight is a
//! function of its number, nothing else has to be saved.

pub mod difference;
pub mod folder;
pub mod identity;
pub mod ledger;
pub mod recorder;
pub mod verify;

use crate::exit::Outcome;
use crate::output::files::WriteError;
use std::path::{Path, PathBuf};
use thiserror::Error;

/// Why a command on a results folder ended early.
#[derive(Debug, Error)]
pub enum SweepError {
    /// Bad input, or a folder that does not fit it.
    #[error("{0}")]
    Refused(String),
    /// The folder is another command's just now.
    #[error("{}: another command works in this folder", .0.display())]
    Busy(PathBuf),
    /// Something could not be written or read.
    #[error("cannot use {}: {source}", path.display())]
    Disk {
        /// What.
        path: PathBuf,
        /// Why.
        source: std::io::Error,
    },
    /// A file could not be written.
    #[error(transparent)]
    Write(#[from] WriteError),
    /// The table could not be made.
    #[error("the table of flights could not be made: {0}")]
    Table(String),
}

impl SweepError {
    /// Of a file.
    pub fn disk(path: &Path) -> impl Fn(std::io::Error) -> SweepError + '_ {
        |source| SweepError::Disk {
            path: path.to_path_buf(),
            source,
        }
    }

    /// The exit code it ends with.
    pub fn outcome(&self) -> Outcome {
        match self {
            SweepError::Refused(_) => Outcome::BadInput,
            _ => Outcome::CannotWrite,
        }
    }
}

impl From<csv::Error> for SweepError {
    fn from(error: csv::Error) -> Self {
        SweepError::Table(error.to_string())
    }
}

impl From<parquet::errors::ParquetError> for SweepError {
    fn from(error: parquet::errors::ParquetError) -> Self {
        SweepError::Table(error.to_string())
    }
}

/// SHA-256 in hexadecimal.
pub fn sha256(bytes: &[u8]) -> String {
    use sha2::{Digest, Sha256};
    hexadecimal(&Sha256::digest(bytes))
}

/// Bytes in hexadecimal.
pub fn hexadecimal(bytes: &[u8]) -> String {
    bytes.iter().map(|byte| format!("{byte:02x}")).collect()
}
