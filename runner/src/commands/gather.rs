//! `tossline gather`.

use super::report::{self, ReportError};
use super::sweep::{after, show};
use crate::args::GatherArguments;
use crate::exit::Outcome;
use crate::output::complain;
use crate::output::files::{beside, into_place, write_whole};
use crate::output::flights;
use crate::resume::SweepError;
use crate::resume::folder::Folder;
use crate::resume::identity::{Identity, Part};
use crate::resume::ledger::{Entry, Ledger};
use crate::resume::recorder::bytes_of;
use crate::resume::verify::{is_kept, verify};
use crate::study_result::{Finished, finish};
use scenarios::study::keep::TableFormat;
use scenarios::study::row::RowForm;
use scenarios::study::{Plan, Purpose};
use std::collections::BTreeMap;
use std::io::Write;

/// Joins parts.
pub fn run(arguments: &GatherArguments) -> Outcome {
    match gather(arguments) {
        Ok((finished, written)) => {
            let shown = show(&finished, &arguments.out, arguments.json, arguments.page);
            after(written, shown)
        }
        Err(error) => complain(&error, error.outcome()),
    }
}

/// A part that is whole.
struct Gathered {
    folder: Folder,
    entries: Vec<Entry>,
}

fn gather(arguments: &GatherArguments) -> Result<(Finished, Result<(), ReportError>), SweepError> {
    let mut parts: BTreeMap<u32, Folder> = BTreeMap::new();
    let mut first: Option<Identity> = None;
    let mut faults: Vec<String> = Vec::new();
    for path in &arguments.parts {
        let name = path.display();
        let folder = match Folder::begun(path) {
            Ok(folder) => folder,
            Err(SweepError::Refused(why)) => {
                faults.push(why);
                continue;
            }
            Err(error) => return Err(error),
        };
        let identity = folder.identity();
        let Some(part) = identity.part else {
            faults.push(format!("{name}: no part but a whole study"));
            continue;
        };
        let first = first.get_or_insert_with(|| identity.clone());
        let mut changes = identity.whole().changes_from(&first.whole());
        if first.part.map(|part| part.of) != Some(part.of) {
            changes.push(format!("a part of {}", part.of));
        }
        if !changes.is_empty() {
            let of = arguments.parts[0].display();
            faults.push(format!(
                "{name}: foreign: not of the same sweep as {of}: {}",
                changes.join("; ")
            ));
            continue;
        }
        if let Some(other) = parts.get(&part.number) {
            faults.push(format!(
                "{name}: part {part} doubled: it is in {} too",
                other.path().display()
            ));
            continue;
        }
        parts.insert(part.number, folder);
    }
    let Some(first) = first else {
        return Err(refused(&faults));
    };
    let of = first.part.map_or(0, |part| part.of);
    let missing = (1..=of).filter(|number| !parts.contains_key(number));
    faults.extend(missing.map(|number| format!("part {number}/{of} is missing")));
    let file = first.study_file()?;
    let plan = Plan::new(&file, Purpose::State);
    let form = RowForm::new(&file, &plan);
    let mut gathered = Vec::new();
    for (number, folder) in parts {
        match whole(&folder, &form)? {
            Ok(entries) => gathered.push(Gathered { folder, entries }),
            Err(why) => {
                let part = Part { number, of };
                faults.push(format!("{}: part {part}: {why}", folder.path().display()));
            }
        }
    }
    if !faults.is_empty() {
        return Err(refused(&faults));
    }
    let out = Folder::take(&arguments.out, first.whole())?;
    let entries = join(&out, &form, &gathered)?;
    Ledger::open_with(out.path(), out.id(), &entries)?;
    let mut trajectory = |flight: u64| read_trajectory(&gathered, flight);
    for flight in (0..first.flights).filter(|&i| is_kept(&file.keep.trajectories, i)) {
        if let Some(rows) = trajectory(flight)? {
            write_whole(&out.trajectory(flight), &rows)?;
        }
    }
    let finished = finish(&out, &form, &plan, &mut trajectory)?;
    let written = report::at_the_end(report::Kind::Sweep, out.path(), &arguments.page);
    Ok((finished, written))
}

fn refused(faults: &[String]) -> SweepError {
    SweepError::Refused(faults.join("\nerror: "))
}

/// The blocks of a part that is finished and undamaged; else what is wrong with it.
fn whole(folder: &Folder, form: &RowForm) -> Result<Result<Vec<Entry>, String>, SweepError> {
    let found = verify(folder, form)?;
    let range = folder.identity().range();
    let flown: u64 = found.good.iter().map(|e| e.to_flight - e.from_flight).sum();
    let wanted = range.end - range.start;
    if flown < wanted || !found.notes.is_empty() {
        let mut why = format!("not finished: {flown} of {wanted} flights");
        for note in &found.notes {
            why += &format!("; {note}");
        }
        return Ok(Err(why + "; give its sweep command again"));
    }
    let ends = |entry: &Entry| folder.identity().block_end(entry.from_flight) == entry.to_flight;
    if !found.good.iter().all(ends) {
        return Ok(Err("not finished; give its sweep command again".into()));
    }
    Ok(Ok(found.good))
}

/// Writes the joined table and says what blocks it has.
fn join(out: &Folder, form: &RowForm, parts: &[Gathered]) -> Result<Vec<Entry>, SweepError> {
    let mut joined = Vec::new();
    if out.identity().format == TableFormat::Parquet {
        for Gathered { folder, entries } in parts {
            for entry in entries {
                let from = folder.part(entry.from_flight);
                let bytes = std::fs::read(&from).map_err(SweepError::disk(&from))?;
                write_whole(&out.part(entry.from_flight), &bytes)?;
                joined.push(entry.clone());
            }
        }
        return Ok(joined);
    }
    let path = out.table();
    let mut table = std::io::BufWriter::new(beside(&path)?);
    let header = flights::header(form)?;
    table.write_all(&header).map_err(SweepError::disk(&path))?;
    let mut at = header.len() as u64;
    for Gathered { folder, entries } in parts {
        for entry in entries {
            let bytes = bytes_of(folder, entry)?;
            table.write_all(&bytes).map_err(SweepError::disk(&path))?;
            let end = at + bytes.len() as u64;
            joined.push(Entry {
                from_byte: at,
                to_byte: end,
                ..entry.clone()
            });
            at = end;
        }
    }
    let table = table
        .into_inner()
        .map_err(|error| SweepError::disk(&path)(error.into_error()))?;
    into_place(table, &path)?;
    Ok(joined)
}

/// A trajectory out of the part that has the flight.
fn read_trajectory(parts: &[Gathered], flight: u64) -> Result<Option<Vec<u8>>, SweepError> {
    let has = |part: &&Gathered| part.folder.identity().range().contains(&flight);
    let Some(part) = parts.iter().find(has) else {
        return Ok(None);
    };
    let path = part.folder.trajectory(flight);
    match std::fs::read(&path) {
        Ok(rows) => Ok(Some(rows)),
        Err(error) if error.kind() == std::io::ErrorKind::NotFound => Ok(None),
        Err(error) => Err(SweepError::disk(&path)(error)),
    }
}
