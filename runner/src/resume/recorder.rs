//! Writes rows as they come, in the plan's order, and each finished block into the ledger.

use super::folder::{Folder, NO_TRAJECTORY};
use super::ledger::{Entry, Ledger};
use super::verify::hashes_of_kept;
use super::{SweepError, hexadecimal, sha256};
use crate::output::files::{WriteError, write_whole};
use crate::output::{flights, parquet};
use scenarios::study::keep::TableFormat;
use scenarios::study::row::{Row, RowForm};
use sha2::{Digest, Sha256};
use std::fs::{File, OpenOptions};
use std::io::{BufWriter, Read, Seek, SeekFrom, Write};
use std::path::PathBuf;
use std::time::{Duration, Instant};

/// How often what is written is made sure to be on the disk.
const SYNC_EVERY: Duration = Duration::from_secs(1);

/// A flight that has been flown.
pub struct Flown {
    /// Its row.
    pub row: Row,
    /// The row as a line, where the table is text.
    pub line: Vec<u8>,
    /// Of a flight whose trajectory is kept: the hash of what was written, or [`NO_TRAJECTORY`].
    pub trajectory: Option<Result<String, WriteError>>,
    /// Whether it could not start or failed.
    pub failed: bool,
}

/// Where rows go.
enum Table {
    Text {
        path: PathBuf,
        file: BufWriter<File>,
        from_byte: u64,
        at_byte: u64,
        hash: Sha256,
    },
    /// Rows of the part that is not whole.
    Parts { rows: Vec<Row> },
}

/// The table and the ledger of a folder, open for more.
pub struct Recorder<'a> {
    folder: &'a Folder,
    form: &'a RowForm,
    ledger: Ledger,
    entries: Vec<Entry>,
    table: Table,
    from_flight: u64,
    next_flight: u64,
    /// Flight after the last that the ledger speaks of.
    saved_to: u64,
    trajectories: Option<String>,
    synced: Instant,
}

impl<'a> Recorder<'a> {
    /// Goes on after these blocks, which must join. What lies behind them in the table is cut off. A part that is not whole is read, and written
    /// anew when it is.
    ///
    /// # Errors
    /// [`SweepError`] where the table or the ledger cannot be written.
    pub fn after(
        folder: &'a Folder,
        form: &'a RowForm,
        mut entries: Vec<Entry>,
    ) -> Result<Self, SweepError> {
        let begin = folder.identity().range().start;
        let next_flight = entries.last().map_or(begin, |entry| entry.to_flight);
        let ledger = Ledger::open_with(folder.path(), folder.id(), &entries)?;
        let mut trajectories = None;
        let table = match folder.identity().format {
            TableFormat::Csv => text(folder, form, entries.last())?,
            TableFormat::Parquet => {
                let is_whole =
                    |last: &Entry| folder.identity().block_end(last.from_flight) == last.to_flight;
                match entries.pop_if(|last| !is_whole(last)) {
                    None => Table::Parts { rows: Vec::new() },
                    Some(unfinished) => {
                        trajectories = hashes_of_kept(folder, &unfinished)?;
                        let path = folder.part(unfinished.from_flight);
                        let file = File::open(&path).map_err(SweepError::disk(&path))?;
                        Table::Parts {
                            rows: parquet::decoded(file, form)?,
                        }
                    }
                }
            }
        };
        let from_flight = match &table {
            Table::Text { .. } => next_flight,
            Table::Parts { rows } => next_flight - rows.len() as u64,
        };
        Ok(Recorder {
            ledger,
            entries,
            folder,
            form,
            table,
            from_flight,
            next_flight,
            saved_to: next_flight,
            trajectories,
            synced: Instant::now(),
        })
    }

    /// The flight that is wanted next.
    pub fn next_flight(&self) -> u64 {
        self.next_flight
    }

    /// Writes the next flight.
    ///
    /// # Errors
    /// [`SweepError`] where something cannot be written; what the ledger says stays.
    pub fn add(&mut self, flown: Flown) -> Result<(), SweepError> {
        if let Some(trajectory) = flown.trajectory {
            self.trajectories
                .get_or_insert_default()
                .push_str(&trajectory?);
        }
        match &mut self.table {
            Table::Parts { rows } => rows.push(flown.row),
            Table::Text {
                path,
                file,
                at_byte,
                hash,
                ..
            } => {
                file.write_all(&flown.line)
                    .map_err(SweepError::disk(path))?;
                hash.update(&flown.line);
                *at_byte += flown.line.len() as u64;
            }
        }
        self.next_flight += 1;
        if self.next_flight == self.folder.identity().block_end(self.from_flight) {
            self.finish_block()?;
        }
        Ok(())
    }

    /// Writes the block as far as it is there and makes sure that all is on the disk.
    ///
    /// # Errors
    /// [`SweepError`].
    pub fn save(&mut self) -> Result<(), SweepError> {
        if self.next_flight > self.saved_to {
            self.write_block()?;
        }
        self.sync()
    }

    /// The blocks that are written.
    pub fn into_entries(self) -> Vec<Entry> {
        self.entries
    }

    /// Writes the block, which is whole, and begins the next.
    fn finish_block(&mut self) -> Result<(), SweepError> {
        let entry = self.write_block()?;
        self.entries.push(entry);
        self.from_flight = self.next_flight;
        self.trajectories = None;
        if let Table::Parts { rows } = &mut self.table {
            rows.clear();
        }
        if self.synced.elapsed() >= SYNC_EVERY {
            self.sync()?;
        }
        Ok(())
    }

    fn write_block(&mut self) -> Result<Entry, SweepError> {
        let (from_byte, to_byte, sha256) = match &mut self.table {
            Table::Text {
                path,
                file,
                from_byte,
                at_byte,
                hash,
            } => {
                file.flush().map_err(SweepError::disk(path))?;
                let bytes = (*from_byte, *at_byte);
                *from_byte = *at_byte;
                (bytes.0, bytes.1, hexadecimal(&hash.finalize_reset()))
            }
            Table::Parts { rows } => {
                let bytes = parquet::encoded(self.form, rows)?;
                write_whole(&self.folder.part(self.from_flight), &bytes)?;
                (0, bytes.len() as u64, sha256(&bytes))
            }
        };
        let entry = Entry {
            from_flight: self.from_flight,
            to_flight: self.next_flight,
            from_byte,
            to_byte,
            sha256,
            trajectories_sha256: self
                .trajectories
                .as_ref()
                .map(|all| super::sha256(all.as_bytes())),
        };
        self.ledger.add(&entry)?;
        self.saved_to = self.next_flight;
        Ok(entry)
    }

    fn sync(&mut self) -> Result<(), SweepError> {
        if let Table::Text { path, file, .. } = &self.table {
            file.get_ref().sync_data().map_err(SweepError::disk(path))?;
        }
        self.ledger.sync()?;
        self.synced = Instant::now();
        Ok(())
    }
}

/// The text table, open behind its last good block.
fn text(folder: &Folder, form: &RowForm, last: Option<&Entry>) -> Result<Table, SweepError> {
    let header = flights::header(form)?;
    let path = folder.table();
    let disk = || SweepError::disk(&path);
    let mut file = OpenOptions::new()
        .create(true)
        .truncate(false)
        .read(true)
        .write(true)
        .open(&path)
        .map_err(disk())?;
    let mut there = vec![0; header.len()];
    let is_there = file.read_exact(&mut there).is_ok() && there == header;
    if !is_there {
        file.seek(SeekFrom::Start(0)).map_err(disk())?;
        file.write_all(&header).map_err(disk())?;
    }
    let end = last.map_or(header.len() as u64, |entry| entry.to_byte);
    file.set_len(end).map_err(disk())?;
    file.seek(SeekFrom::End(0)).map_err(disk())?;
    Ok(Table::Text {
        path: path.clone(),
        file: BufWriter::with_capacity(1 << 16, file),
        from_byte: end,
        at_byte: end,
        hash: Sha256::new(),
    })
}

/// Hash of a trajectory, as the ledger's hash over a block is made of.
pub fn trajectory_hash(bytes: Option<&[u8]>) -> String {
    bytes.map_or_else(|| NO_TRAJECTORY.to_owned(), sha256)
}

/// The entries that an undisturbed run would have left: one for each block. The rows of blocks that were finished in pieces are read again.
///
/// # Errors
/// [`SweepError::Disk`].
pub fn settled(folder: &Folder, entries: Vec<Entry>) -> Result<Vec<Entry>, SweepError> {
    let mut settled: Vec<Entry> = Vec::new();
    let mut pieces: Vec<Entry> = Vec::new();
    for entry in entries {
        let ends = folder.identity().block_end(entry.from_flight) == entry.to_flight;
        pieces.push(entry);
        if ends {
            settled.push(joined(folder, std::mem::take(&mut pieces))?);
        }
    }
    settled.extend(pieces);
    Ok(settled)
}

fn joined(folder: &Folder, mut pieces: Vec<Entry>) -> Result<Entry, SweepError> {
    let Some(last) = pieces.pop() else {
        return Err(SweepError::Refused("a block without flights".into()));
    };
    let Some(first) = pieces.first() else {
        return Ok(last);
    };
    let whole = Entry {
        from_flight: first.from_flight,
        from_byte: first.from_byte,
        ..last
    };
    let sha256 = text_sha256(folder, &whole)?;
    let kept = whole.trajectories_sha256.is_some() || first.trajectories_sha256.is_some();
    Ok(Entry {
        sha256,
        trajectories_sha256: match kept {
            true => super::verify::trajectories_of(folder, &whole)?,
            false => None,
        },
        ..whole
    })
}

/// SHA-256 of a block's bytes in a text table.
///
/// # Errors
/// [`SweepError::Disk`].
pub fn text_sha256(folder: &Folder, entry: &Entry) -> Result<String, SweepError> {
    let path = folder.table();
    let disk = || SweepError::disk(&path);
    let mut file = File::open(&path).map_err(disk())?;
    file.seek(SeekFrom::Start(entry.from_byte))
        .map_err(disk())?;
    let mut hash = Sha256::new();
    let mut left = file.take(entry.to_byte - entry.from_byte);
    let mut bytes = [0; 1 << 16];
    loop {
        match left.read(&mut bytes).map_err(disk())? {
            0 => return Ok(hexadecimal(&hash.finalize())),
            n => hash.update(&bytes[..n]),
        }
    }
}

/// A block's bytes in a text table.
///
/// # Errors
/// [`SweepError::Disk`].
pub fn bytes_of(folder: &Folder, entry: &Entry) -> Result<Vec<u8>, SweepError> {
    let path = folder.table();
    let disk = || SweepError::disk(&path);
    let mut file = File::open(&path).map_err(disk())?;
    file.seek(SeekFrom::Start(entry.from_byte))
        .map_err(disk())?;
    let mut bytes = vec![0; (entry.to_byte - entry.from_byte) as usize];
    file.read_exact(&mut bytes).map_err(disk())?;
    Ok(bytes)
}
