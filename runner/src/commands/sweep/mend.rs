//! Flies again what is damaged in the middle of a table, and puts it back in its place.

use super::fly::Flyer;
use super::stopped;
use crate::output::files::write_whole;
use crate::output::parquet;
use crate::resume::ledger::Entry;
use crate::resume::recorder::Flown;
use crate::resume::verify::{Hole, Verified};
use crate::resume::{SweepError, sha256};
use crate::work::in_order;
use scenarios::study::keep::TableFormat;
use std::fs::OpenOptions;
use std::io::{Seek, SeekFrom, Write};
use std::ops::Range;
use std::sync::atomic::AtomicBool;

/// Flights of a hole whose rows are held in memory; a longer one is flown with all that comes after it.
const MOST_FLIGHTS: u64 = 1 << 16;

/// A block flown again.
struct Block {
    flights: Range<u64>,
    bytes: Vec<u8>,
    trajectories: Option<String>,
}

/// The good blocks that join from the beginning, after flying what was damaged between them; none where it was stopped on the way.
///
/// # Errors
/// [`SweepError`]: something cannot be written, or flights come out otherwise than they did.
pub fn mend(
    flyer: &Flyer<'_>,
    found: Verified,
    threads: Option<u16>,
    stop: &AtomicBool,
) -> Result<Option<Vec<Entry>>, SweepError> {
    let mut good = found.good;
    for hole in &found.holes {
        let flights = hole.flights.end - hole.flights.start;
        let is_text = flyer.folder.identity().format == TableFormat::Csv;
        let mended = match flights > MOST_FLIGHTS && is_text {
            true => None,
            false => fly(flyer, hole, threads, stop)?,
        };
        if stopped(stop) {
            return Ok(None);
        }
        match mended {
            Some(entries) => good.extend(entries),
            None => {
                // What is behind cannot keep its place.
                good.retain(|entry| entry.to_flight <= hole.flights.start);
                break;
            }
        }
    }
    good.sort_by_key(|entry| entry.from_flight);
    Ok(Some(good))
}

/// Flies a hole and writes it; none where its rows do not fit into their place.
fn fly(
    flyer: &Flyer<'_>,
    hole: &Hole,
    threads: Option<u16>,
    stop: &AtomicBool,
) -> Result<Option<Vec<Entry>>, SweepError> {
    let mut at = hole.flights.start;
    let mut entries = Vec::new();
    let mut all: Vec<u8> = Vec::new();
    while at < hole.flights.end {
        let end = flyer.folder.identity().block_end(at).min(hole.flights.end);
        let Some(block) = fly_block(flyer, at..end, threads, stop)? else {
            return Ok(None);
        };
        at = end;
        let hash = sha256(&block.bytes);
        if hole
            .entry
            .as_ref()
            .is_some_and(|entry| entry.sha256 != hash)
        {
            return Err(SweepError::Refused(format!(
                "flights {} to {} come out otherwise than when they were first flown: another machine or program began this folder; give another one",
                block.flights.start,
                block.flights.end - 1
            )));
        }
        let from_byte = match flyer.folder.identity().format {
            TableFormat::Parquet => {
                write_whole(&flyer.folder.part(block.flights.start), &block.bytes)?;
                0
            }
            TableFormat::Csv => hole.bytes.start + all.len() as u64,
        };
        entries.push(Entry {
            from_flight: block.flights.start,
            to_flight: block.flights.end,
            from_byte,
            to_byte: from_byte + block.bytes.len() as u64,
            sha256: hash,
            trajectories_sha256: block.trajectories,
        });
        if flyer.folder.identity().format == TableFormat::Csv {
            all.extend(block.bytes);
        }
    }
    if flyer.folder.identity().format == TableFormat::Csv {
        if all.len() as u64 != hole.bytes.end - hole.bytes.start {
            return Ok(None);
        }
        let path = flyer.folder.table();
        let disk = || SweepError::disk(&path);
        let mut file = OpenOptions::new().write(true).open(&path).map_err(disk())?;
        file.seek(SeekFrom::Start(hole.bytes.start))
            .map_err(disk())?;
        file.write_all(&all).map_err(disk())?;
        file.sync_data().map_err(disk())?;
    }
    Ok(Some(entries))
}

/// Flies a block; none where it was stopped on the way.
fn fly_block(
    flyer: &Flyer<'_>,
    flights: Range<u64>,
    threads: Option<u16>,
    stop: &AtomicBool,
) -> Result<Option<Block>, SweepError> {
    let mut block = Block {
        flights: flights.clone(),
        bytes: Vec::new(),
        trajectories: None,
    };
    let mut rows = Vec::new();
    let mut trajectories: Option<String> = None;
    let window = flights.end - flights.start;
    let take = |_, flown: Flown| {
        if let Some(trajectory) = flown.trajectory {
            trajectories.get_or_insert_default().push_str(&trajectory?);
        }
        match flyer.folder.identity().format {
            TableFormat::Csv => block.bytes.extend(flown.line),
            TableFormat::Parquet => rows.push(flown.row),
        }
        Ok::<(), SweepError>(())
    };
    let end = in_order(
        flights.clone(),
        threads,
        window,
        stop,
        |i| flyer.fly(i),
        take,
    )?;
    if end < flights.end {
        return Ok(None);
    }
    if flyer.folder.identity().format == TableFormat::Parquet {
        block.bytes = parquet::encoded(flyer.form, &rows)?;
    }
    block.trajectories = trajectories.map(|all| sha256(all.as_bytes()));
    Ok(Some(block))
}
