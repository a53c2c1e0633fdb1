//! What is finished: a line for each block of flights. Lines are appended; each can be checked by itself.

use super::{SweepError, sha256};
use crate::output::files::write_whole;
use serde::{Deserialize, Serialize};
use std::fs::{File, OpenOptions};
use std::io::Write;
use std::path::{Path, PathBuf};

/// A finished block of flights.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Entry {
    /// First flight.
    pub from_flight: u64,
    /// Flight after the last.
    pub to_flight: u64,
    /// First byte of its rows in their file.
    pub from_byte: u64,
    /// Byte after the last.
    pub to_byte: u64,
    /// SHA-256 of those bytes.
    pub sha256: String,
    /// SHA-256 over those of its kept trajectories, in order, in hexadecimal; absent where it has none.
    pub trajectories_sha256: Option<String>,
}

/// A line: the block and a check that ties it to its plan.
#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct Line {
    block: Entry,
    check: String,
}

impl Line {
    fn of(block: &Entry, plan_id: &str) -> Self {
        let text = serde_json::to_string(block).unwrap_or_default();
        let mut check = sha256(format!("{plan_id} {text}").as_bytes());
        check.truncate(16);
        Line {
            block: block.clone(),
            check,
        }
    }

    fn text(&self) -> String {
        serde_json::to_string(self).unwrap_or_default() + "\n"
    }
}

/// The ledger of one plan, open for more.
#[derive(Debug)]
pub struct Ledger {
    path: PathBuf,
    plan_id: String,
    file: File,
}

impl Ledger {
    /// Name of the file.
    pub const FILE: &'static str = "ledger.jsonl";

    /// The lines that can be trusted, in the order of their flights, and how many cannot. Of lines about the same first flight the last
    /// written holds: the others stood for the block while it was not whole.
    ///
    /// # Errors
    /// [`SweepError::Disk`] where the file is there and cannot be read.
    pub fn read(folder: &Path, plan_id: &str) -> Result<(Vec<Entry>, usize), SweepError> {
        let path = folder.join(Self::FILE);
        let bytes = match std::fs::read(&path) {
            Ok(bytes) => bytes,
            Err(error) if error.kind() == std::io::ErrorKind::NotFound => Vec::new(),
            Err(error) => return Err(SweepError::disk(&path)(error)),
        };
        let mut entries: Vec<Entry> = Vec::new();
        let mut damaged = 0;
        for text in bytes.split_inclusive(|&byte| byte == b'\n') {
            match serde_json::from_slice::<Line>(text) {
                Ok(line) if Line::of(&line.block, plan_id).text().as_bytes() == text => {
                    entries.push(line.block);
                }
                _ => damaged += 1,
            }
        }
        entries.reverse();
        entries.sort_by_key(|entry| entry.from_flight);
        entries.dedup_by_key(|entry| entry.from_flight);
        Ok((entries, damaged))
    }

    /// Opens it for more lines, with exactly these in it.
    ///
    /// # Errors
    /// [`SweepError`] where it cannot be written.
    pub fn open_with(folder: &Path, plan_id: &str, entries: &[Entry]) -> Result<Self, SweepError> {
        let path = folder.join(Self::FILE);
        let text: String = entries
            .iter()
            .map(|entry| Line::of(entry, plan_id).text())
            .collect();
        if std::fs::read(&path).ok().as_deref() != Some(text.as_bytes()) {
            write_whole(&path, text.as_bytes())?;
        }
        let file = OpenOptions::new()
            .append(true)
            .open(&path)
            .map_err(SweepError::disk(&path))?;
        Ok(Ledger {
            path,
            plan_id: plan_id.to_owned(),
            file,
        })
    }

    /// Adds a block.
    ///
    /// # Errors
    /// [`SweepError::Disk`].
    pub fn add(&mut self, entry: &Entry) -> Result<(), SweepError> {
        let line = Line::of(entry, &self.plan_id).text();
        self.file
            .write_all(line.as_bytes())
            .map_err(SweepError::disk(&self.path))
    }

    /// Waits until its lines are on the disk.
    ///
    /// # Errors
    /// [`SweepError::Disk`].
    pub fn sync(&self) -> Result<(), SweepError> {
        self.file.sync_data().map_err(SweepError::disk(&self.path))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn entry(from: u64) -> Entry {
        Entry {
            from_flight: from,
            to_flight: from + 16,
            from_byte: 10 * from,
            to_byte: 10 * from + 160,
            sha256: "ab".into(),
            trajectories_sha256: None,
        }
    }

    #[test]
    fn the_last_line_about_a_block_holds() {
        let folder = tempfile::tempdir().unwrap();
        let unfinished = Entry {
            to_flight: 21,
            to_byte: 200,
            ..entry(16)
        };
        let mut ledger = Ledger::open_with(folder.path(), "plan", &[entry(0), unfinished]).unwrap();
        ledger.add(&entry(16)).unwrap();
        ledger.add(&entry(32)).unwrap();
        let read = Ledger::read(folder.path(), "plan").unwrap();
        assert_eq!(read, (vec![entry(0), entry(16), entry(32)], 0));
    }

    // Every single byte changed, and every shorter file: what is left is only ever lines as they were written.
    #[test]
    fn damaged_lines_are_left_out_and_whole_ones_stay() {
        let folder = tempfile::tempdir().unwrap();
        let entries: Vec<Entry> = (0..3).map(|i| entry(16 * i)).collect();
        let mut ledger = Ledger::open_with(folder.path(), "plan", &entries[..1]).unwrap();
        ledger.add(&entries[1]).unwrap();
        ledger.add(&entries[2]).unwrap();
        ledger.sync().unwrap();
        let read = || Ledger::read(folder.path(), "plan").unwrap();
        assert_eq!(read(), (entries.clone(), 0));
        let of_another = Ledger::read(folder.path(), "other").unwrap();
        assert_eq!(of_another, (Vec::new(), 3));
        let path = folder.path().join(Ledger::FILE);
        let whole = std::fs::read(&path).unwrap();
        for place in 0..whole.len() {
            let mut bytes = whole.clone();
            bytes[place] ^= 0x10;
            std::fs::write(&path, &bytes).unwrap();
            let (left, damaged) = read();
            assert!(damaged > 0 && left.len() < 3, "{place}");
            assert!(left.iter().all(|entry| entries.contains(entry)), "{place}");
            std::fs::write(&path, &whole[..place]).unwrap();
            let (left, _) = read();
            assert!(entries.starts_with(&left), "{place}");
        }
    }
}
