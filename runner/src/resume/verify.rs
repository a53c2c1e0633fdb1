//! Whether what the ledger says is there is there, byte by byte; and what has to be flown again.

use super::folder::{Folder, trajectory_hashes};
use super::ledger::{Entry, Ledger};
use super::recorder::text_sha256;
use super::{SweepError, sha256};
use crate::output::flights;
use scenarios::study::keep::{TableFormat, Trajectories};
use scenarios::study::row::RowForm;
use std::fs::File;
use std::io::Read;
use std::ops::Range;

/// Flights between good blocks that are missing or damaged.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Hole {
    /// Their numbers.
    pub flights: Range<u64>,
    /// Where their rows lie in a text table.
    pub bytes: Range<u64>,
    /// What the ledger says of them, where its line is whole.
    pub entry: Option<Entry>,
}

/// What a folder holds.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Verified {
    /// Blocks that are as they were written, in order.
    pub good: Vec<Entry>,
    /// What is missing between them or right before the tail.
    pub holes: Vec<Hole>,
    /// What was found amiss, in words.
    pub notes: Vec<String>,
}

/// Reads everything the ledger speaks of.
///
/// # Errors
/// [`SweepError::Disk`] where something is there and cannot be read.
pub fn verify(folder: &Folder, form: &RowForm) -> Result<Verified, SweepError> {
    let (entries, damaged) = Ledger::read(folder.path(), folder.id())?;
    let mut found = Verified::default();
    if damaged > 0 {
        found.notes.push(format!(
            "{damaged} damaged lines of the ledger: what they stood for is flown anew"
        ));
    }
    let range = folder.identity().range();
    let is_text = folder.identity().format == TableFormat::Csv;
    let header = flights::header(form)?;
    if is_text && has_other_header(folder, &header)? {
        found
            .notes
            .push("a damaged header of the table: written anew".to_owned());
    }
    let header = header.len() as u64;
    let length = match is_text {
        true => std::fs::metadata(folder.table()).map_or(0, |about| about.len()),
        false => u64::MAX,
    };
    let (mut flight, mut byte) = (range.start, if is_text { header } else { 0 });
    for entry in entries {
        let joins = entry.from_flight >= flight
            && entry.to_flight > entry.from_flight
            && entry.to_flight
                <= folder
                    .identity()
                    .block_end(entry.from_flight)
                    .min(range.end)
            && entry.to_byte >= entry.from_byte
            && (!is_text || entry.from_byte >= byte);
        if !joins {
            found.notes.push(format!(
                "a line of the ledger does not fit the others (flight {}): flown anew",
                entry.from_flight
            ));
            continue;
        }
        if is_text && entry.to_byte > length {
            found.notes.push(format!(
                "the table ends before flight {}: flown anew",
                entry.to_flight
            ));
            break;
        }
        if entry.from_flight > flight {
            found.holes.push(Hole {
                flights: flight..entry.from_flight,
                bytes: byte..entry.from_byte,
                entry: None,
            });
        }
        (flight, byte) = (entry.to_flight, entry.to_byte);
        match amiss(folder, &entry, is_text)? {
            None => found.good.push(entry),
            Some(what) => {
                found.notes.push(format!(
                    "{what} of flights {} to {}: flown anew",
                    entry.from_flight,
                    entry.to_flight - 1
                ));
                found.holes.push(Hole {
                    flights: entry.from_flight..entry.to_flight,
                    bytes: entry.from_byte..entry.to_byte,
                    entry: Some(entry),
                });
            }
        }
    }
    Ok(found)
}

/// Whether a text table is there that does not begin with its header.
fn has_other_header(folder: &Folder, header: &[u8]) -> Result<bool, SweepError> {
    let path = folder.table();
    match File::open(&path) {
        Ok(mut file) => {
            let mut there = vec![0; header.len()];
            Ok(file.read_exact(&mut there).is_err() || there != header)
        }
        Err(error) if error.kind() == std::io::ErrorKind::NotFound => Ok(false),
        Err(error) => Err(SweepError::disk(&path)(error)),
    }
}

/// What of a block is not as the ledger says.
fn amiss(
    folder: &Folder,
    entry: &Entry,
    is_text: bool,
) -> Result<Option<&'static str>, SweepError> {
    let found = if is_text {
        text_sha256(folder, entry)?
    } else {
        let path = folder.part(entry.from_flight);
        match std::fs::read(&path) {
            Ok(bytes) if bytes.is_empty() => return Ok(Some("missing rows")),
            Ok(bytes) => sha256(&bytes),
            Err(error) if error.kind() == std::io::ErrorKind::NotFound => {
                return Ok(Some("missing rows"));
            }
            Err(error) => return Err(SweepError::disk(&path)(error)),
        }
    };
    if found != entry.sha256 {
        return Ok(Some("damaged rows"));
    }
    let there = match entry.trajectories_sha256 {
        Some(_) => trajectories_of(folder, entry)?,
        None => None,
    };
    Ok((there != entry.trajectories_sha256).then_some("missing or damaged trajectories"))
}

/// Hash over a block's kept trajectories as they lie there; none where none is kept.
///
/// # Errors
/// [`SweepError`].
pub fn trajectories_of(folder: &Folder, entry: &Entry) -> Result<Option<String>, SweepError> {
    let hashes = hashes_of_kept(folder, entry)?;
    Ok(hashes.map(|all| sha256(all.as_bytes())))
}

/// What that is the hash of.
///
/// # Errors
/// [`SweepError`].
pub fn hashes_of_kept(folder: &Folder, entry: &Entry) -> Result<Option<String>, SweepError> {
    let kept = folder.identity().study_file()?.keep.trajectories;
    let flights = (entry.from_flight..entry.to_flight).filter(|&i| is_kept(&kept, i));
    let mut flights = flights.peekable();
    if flights.peek().is_none() {
        return Ok(None);
    }
    trajectory_hashes(folder, flights).map(Some)
}

/// Whether a flight's trajectory is kept as it is flown. The worst ones are known only at the end.
pub fn is_kept(kept: &Trajectories, flight: u64) -> bool {
    match kept {
        Trajectories::All => true,
        Trajectories::Every(every) => flight.is_multiple_of(u64::from(every.step.max(1))),
        Trajectories::None | Trajectories::Worst(_) => false,
    }
}
