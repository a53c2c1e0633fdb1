//! Two airframes in the same throw and air, with the band of each difference.

use super::drawn::Flown as Drawn;
use super::{Compared, Pair, report};
use crate::args::CompareArguments;
use crate::exit::Outcome;
use crate::output::chart::Look;
use crate::output::curves::Curves;
use crate::output::trajectory;
use crate::plan::{engine, parse, scenario_sha256};
use crate::work::{in_parallel, stop_on_interrupt};
use scenarios::compare::fields::{FieldChange, changes};
use scenarios::compare::numbers::{Flown, Number, flown};
use scenarios::compare::{MovedPair, differences, uncertain};
use scenarios::error::FileError;
use scenarios::load::{LoadedScenario, load_scenario};
use scenarios::overrides::Override;
use scenarios::summary::{Cell, EndWord, Summary};
use scenarios::thrustline::hands::Hands;
use scenarios::thrustline::usual::usual_study;
use serde_json::{Value, json};
use std::path::{Path, PathBuf};
use std::sync::atomic::Ordering;

type Wrong = (String, Outcome);

fn bad(error: &FileError) -> Wrong {
    (error.to_string(), Outcome::BadInput)
}

pub(super) fn compare(arguments: &CompareArguments) -> Result<Compared, Wrong> {
    let more = parse(&arguments.overrides).map_err(|error| bad(&error))?;
    let throw = match &arguments.scenario {
        Some(file) => load_scenario(file).map_err(|error| bad(&error))?,
        None => {
            let study =
                usual_study(&arguments.before, &more, Hands::Visitors, None).map_err(|error| {
                    let text = format!(
                        "{error}\nerror: no built-in throw for it; give one with --scenario"
                    );
                    (text, Outcome::BadInput)
                })?;
            study.base
        }
    };
    let of = |airframe: &Path| throw.with_airframe(airframe, &more).map_err(|e| bad(&e));
    let sides = [of(&arguments.before)?, of(&arguments.after)?];
    let stop = stop_on_interrupt("throws");

    // Both as they are, then both with every uncertain field moved up and down.
    let fields = uncertain(&sides[0], &sides[1]);
    let mut jobs: Vec<(usize, Vec<Override>)> = vec![(0, Vec::new()), (1, Vec::new())];
    for field in &fields {
        for direction in [1.0, -1.0] {
            jobs.extend([0, 1].map(|side| (side, field.moved(side == 1, direction))));
        }
    }
    let results = in_parallel(
        &jobs,
        arguments.flying.threads,
        &stop,
        |(side, overrides)| {
            let moved = sides[*side].changed_by(overrides).map_err(|e| bad(&e))?;
            flown(&moved).map_err(|error| {
                let text = format!("{}: {error}", moved.airframe.file_name());
                (text, Outcome::BadInput)
            })
        },
    );
    if stop.load(Ordering::Relaxed) {
        return Err(("stopped; nothing was written".to_owned(), Outcome::Stopped));
    }
    let mut results = results.into_iter().flatten();
    let mut next = || {
        results
            .next()
            .unwrap_or(Err((String::new(), Outcome::Stopped)))
    };
    let as_they_are = [next()?, next()?];
    let mut numbers = || next().map_or_else(|_| Vec::new(), |flown: Flown| flown.numbers);
    let moved: Vec<[MovedPair; 2]> = fields
        .iter()
        .map(|_| {
            [(); 2].map(|()| MovedPair {
                before: numbers(),
                after: numbers(),
            })
        })
        .collect();
    compared(arguments, &sides, &as_they_are, &moved)
}

fn compared(
    arguments: &CompareArguments,
    sides: &[LoadedScenario; 2],
    flown: &[Flown; 2],
    moved: &[[MovedPair; 2]],
) -> Result<Compared, Wrong> {
    let cannot = |error: &dyn std::fmt::Display| (error.to_string(), Outcome::CannotWrite);
    let mut report = report(arguments);
    report.of_airframes = true;
    report.fields = changes(&sides[0].airframe, &sides[1].airframe);
    report.uncertain_fields = moved.len();
    report.inputs_sha256 = sides
        .each_ref()
        .map(|side| scenario_sha256(side, &arguments.overrides.set, "compare"));
    let numbers: [&[Number]; 2] = flown.each_ref().map(|one| one.numbers.as_slice());
    report.engines = sides.each_ref().map(engine);
    report.pairs = vec![Pair {
        scenario: sides[0].file.name.clone(),
        words: words(&flown[0].summary, &flown[1].summary),
        numbers: differences(numbers[0], numbers[1], moved),
    }];
    let own = |side: &LoadedScenario| -> Vec<String> {
        let touched = side.file.overrides.keys().filter(|path| !is_of_throw(path));
        touched.cloned().collect()
    };
    let overridden = own(&sides[0]);
    if arguments.scenario.is_some() && !overridden.is_empty() {
        report.warnings.push(format!(
            "{}: its overrides of the airframe go for both: {}",
            sides[0].path.display(),
            overridden.join(", ")
        ));
    }
    for side in sides {
        for warning in side.warnings().iter().map(ToString::to_string) {
            if !report.warnings.contains(&warning) {
                report.warnings.push(warning);
            }
        }
    }
    let mut files = vec![(
        PathBuf::from("fields.csv"),
        fields_table(&report.fields).map_err(|e| cannot(&e))?,
    )];
    let mut drawn = Vec::new();
    for (name, (side, one)) in ["before", "after"].into_iter().zip(sides.iter().zip(flown)) {
        let rows = trajectory::csv(
            &one.flight,
            &side.airframe.built,
            side.built.record_interval_s,
        );
        let summary = json!({
            "scenario": side.file.name,
            "airframe": side.airframe.file.name,
            "summary": one.summary,
        });
        let text = format!("{summary:#}\n");
        files.push((Path::new(name).join("summary.json"), text.into_bytes()));
        let title = format!("{name}: {}", side.airframe.file.name);
        let rows = rows.map_err(|e| cannot(&e))?;
        let file = format!("{name}/trajectory.csv");
        if let Ok(curves) = Curves::read(&title, Look::of(drawn.len()), &rows) {
            drawn.push((Drawn::own(title, file.clone(), &rows), curves));
        }
        files.push((PathBuf::from(file), rows));
    }
    Ok(Compared {
        report,
        flown: drawn,
        files,
        failed: flown
            .iter()
            .any(|one| one.summary.ended_by == EndWord::Failed),
    })
}

/// Whether an override of a scenario file is of the throw and not of the airframe.
fn is_of_throw(path: &str) -> bool {
    Override::new(path, &Value::from(0)).is_ok_and(|change| change.is_of_scenario())
}

/// Words of two summaries that differ.
fn words(before: &Summary, after: &Summary) -> Vec<(String, String, String)> {
    let text = |cell: &Cell| match cell {
        Cell::Text(text) => Some(text.clone()),
        Cell::Number(_) => None,
        Cell::Empty => Some("–".to_owned()),
    };
    let rows = before.row().into_iter().zip(after.row());
    Summary::columns()
        .into_iter()
        .zip(rows)
        .filter(|(_, (old, new))| old != new)
        .filter(|(_, (old, new))| matches!(old, Cell::Text(_)) || matches!(new, Cell::Text(_)))
        .filter_map(|(column, (old, new))| Some((column.name.to_owned(), text(&old)?, text(&new)?)))
        .collect()
}

fn fields_table(fields: &[FieldChange]) -> Result<Vec<u8>, Box<dyn std::error::Error>> {
    let mut writer = csv::Writer::from_writer(Vec::new());
    writer.write_record(["field", "before", "after", "worked_out"])?;
    for field in fields {
        writer.write_record([
            field.path.clone(),
            super::page::value(field.before.as_ref()),
            super::page::value(field.after.as_ref()),
            field.worked_out.to_string(),
        ])?;
    }
    Ok(writer.into_inner()?)
}
