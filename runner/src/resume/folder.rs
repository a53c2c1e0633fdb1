//! A results folder, held by one command at a time, for one plan.

use super::identity::Identity;
use super::ledger::Ledger;
use super::{SweepError, sha256};
use crate::output::files::{tidy, write_whole};
use crate::output::warn;
use serde::{Deserialize, Serialize};
use std::fs::{File, OpenOptions, TryLockError};
use std::path::{Path, PathBuf};

/// Note of what is flown.
pub const PLAN: &str = "plan.json";
const LOCK: &str = ".tossline-lock";
/// The table as one file.
const TABLE: &str = "flights.csv";
/// The table in parts.
const PARTS: &str = "flights";
const TRAJECTORIES: &str = "trajectories";

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct Note {
    plan: Identity,
    sha256: String,
}

impl Note {
    fn text(plan: &Identity) -> String {
        let note = Note {
            sha256: plan.id(),
            plan: plan.clone(),
        };
        serde_json::to_string_pretty(&note).unwrap_or_default() + "\n"
    }
}

/// What is known of the plan a folder is for.
enum Known {
    /// Nothing was ever written.
    Nothing,
    /// The note is whole.
    Plan(Box<Identity>),
    /// The note is damaged.
    Damaged,
}

/// A folder that this command holds.
#[derive(Debug)]
pub struct Folder {
    path: PathBuf,
    identity: Identity,
    id: String,
    /// Held as long as it is open.
    _lock: Option<File>,
}

impl Folder {
    /// Takes a folder for a plan: a new one, or one in which the same plan was begun.
    ///
    /// # Errors
    /// [`SweepError`]: another command holds it, it is another plan's (what has changed is named), or it cannot be written.
    pub fn take(path: &Path, identity: Identity) -> Result<Self, SweepError> {
        std::fs::create_dir_all(path).map_err(SweepError::disk(path))?;
        let lock = lock(path)?;
        for place in [
            path.to_path_buf(),
            path.join(PARTS),
            path.join(TRAJECTORIES),
        ] {
            tidy(&place);
        }
        let id = identity.id();
        let is_ours = || Ok::<bool, SweepError>(!Ledger::read(path, &id)?.0.is_empty());
        let refuse = |why: &str| {
            Err(SweepError::Refused(format!(
                "{}: {why}; give another folder, or empty this one",
                path.display()
            )))
        };
        match known(path)? {
            Known::Plan(before) => {
                let changes = identity.changes_from(&before);
                if !changes.is_empty() {
                    let why = format!(
                        "what is in this folder was flown otherwise: {}",
                        changes.join("; ")
                    );
                    return refuse(&why);
                }
            }
            Known::Damaged if is_ours()? => {}
            Known::Damaged => {
                return refuse(
                    "plan.json is damaged, and nothing says that the rest is this study's",
                );
            }
            Known::Nothing => {
                let there = [TABLE, PARTS, Ledger::FILE].map(|name| path.join(name).exists());
                if there.contains(&true) && !is_ours()? {
                    return refuse(
                        "it holds flights of which nothing says that they are this study's",
                    );
                }
            }
        }
        let note = path.join(PLAN);
        let text = Note::text(&identity);
        let there = std::fs::read(&note).ok();
        if there.as_deref() != Some(text.as_bytes()) {
            if there.is_some() {
                warn(&format!("{}: damaged; written anew", note.display()));
            }
            write_whole(&note, text.as_bytes())?;
        }
        Ok(Folder {
            path: path.to_path_buf(),
            identity,
            id,
            _lock: lock,
        })
    }

    /// A folder with the plan that was begun in it.
    ///
    /// # Errors
    /// [`SweepError`]: another command holds it, or it holds no plan.
    pub fn begun(path: &Path) -> Result<Self, SweepError> {
        let refused = |what: &str| Err(SweepError::Refused(format!("{}: {what}", path.display())));
        if !path.join(PLAN).is_file() {
            return refused("no results of a sweep: there is no plan.json");
        }
        let lock = lock(path)?;
        match known(path)? {
            Known::Plan(identity) => Ok(Folder {
                path: path.to_path_buf(),
                id: identity.id(),
                identity: *identity,
                _lock: lock,
            }),
            _ => refused("its plan.json is damaged; give its sweep command again, which mends it"),
        }
    }

    /// Where it is.
    pub fn path(&self) -> &Path {
        &self.path
    }

    /// The plan.
    pub fn identity(&self) -> &Identity {
        &self.identity
    }

    /// A hash that stands for the plan.
    pub fn id(&self) -> &str {
        &self.id
    }

    /// The table as one file.
    pub fn table(&self) -> PathBuf {
        self.path.join(TABLE)
    }

    /// The part of the table that begins with a flight.
    pub fn part(&self, from_flight: u64) -> PathBuf {
        let number = from_flight / self.identity.block_flights;
        self.path
            .join(PARTS)
            .join(format!("part-{number:06}.parquet"))
    }

    /// Where a flight's trajectory lies.
    pub fn trajectory(&self, flight: u64) -> PathBuf {
        self.path.join(trajectory_name(flight))
    }
}

/// A flight's trajectory, from its results folder.
pub fn trajectory_name(flight: u64) -> PathBuf {
    Path::new(TRAJECTORIES).join(format!("flight-{flight:010}.csv"))
}

/// Takes the lock; none where the file system has no locks.
fn lock(folder: &Path) -> Result<Option<File>, SweepError> {
    let path = folder.join(LOCK);
    let file = OpenOptions::new()
        .create(true)
        .truncate(false)
        .write(true)
        .open(&path)
        .map_err(SweepError::disk(&path))?;
    match file.try_lock() {
        Ok(()) => Ok(Some(file)),
        Err(TryLockError::WouldBlock) => Err(SweepError::Busy(folder.to_path_buf())),
        Err(TryLockError::Error(error)) => {
            warn(&format!(
                "{}: this file system has no locks ({error}); do not run two commands in this folder",
                folder.display()
            ));
            Ok(None)
        }
    }
}

fn known(folder: &Path) -> Result<Known, SweepError> {
    let path = folder.join(PLAN);
    let bytes = match std::fs::read(&path) {
        Ok(bytes) => bytes,
        Err(error) if error.kind() == std::io::ErrorKind::NotFound => return Ok(Known::Nothing),
        Err(error) => return Err(SweepError::disk(&path)(error)),
    };
    Ok(match serde_json::from_slice::<Note>(&bytes) {
        Ok(note) if note.sha256 == note.plan.id() => Known::Plan(Box::new(note.plan)),
        _ => Known::Damaged,
    })
}

/// SHA-256 of each of some trajectories as they lie in the folder, one after the other; a missing one counts as none.
///
/// # Errors
/// [`SweepError::Disk`] where one is there and cannot be read.
pub fn trajectory_hashes(
    folder: &Folder,
    flights: impl Iterator<Item = u64>,
) -> Result<String, SweepError> {
    let mut all = String::new();
    for flight in flights {
        let path = folder.trajectory(flight);
        match std::fs::read(&path) {
            Ok(bytes) => all += &sha256(&bytes),
            Err(error) if error.kind() == std::io::ErrorKind::NotFound => all += NO_TRAJECTORY,
            Err(error) => return Err(SweepError::disk(&path)(error)),
        }
    }
    Ok(all)
}

/// Stands for the hash of a trajectory that is not there: the flight could not start.
pub const NO_TRAJECTORY: &str = "none";
