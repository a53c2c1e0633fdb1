//! Two results on disk, by their summaries and trajectories.

use super::drawn::Flown;
use super::{Compared, Pair, report};
use crate::args::CompareArguments;
use crate::exit::Outcome;
use crate::output::chart::Look;
use crate::output::curves::Curves;
use crate::output::picture::MOST_FLIGHTS;
use scenarios::compare::differences;
use scenarios::compare::numbers::Number;
use scenarios::summary::Summary;
use serde_json::Value;
use std::fs;
use std::path::{Path, PathBuf};

type Wrong = (String, Outcome);

/// A summary as it was written.
struct Result {
    scenario: String,
    inputs_sha256: String,
    engine: String,
    version: String,
    summary: Value,
    folder: PathBuf,
}

/// Whether a file is a summary that `tossline fly` writes.
pub(super) fn is_summary(path: &Path) -> bool {
    read(path).is_ok()
}

fn read(path: &Path) -> std::result::Result<Result, String> {
    let wrong = |found: &str| {
        format!(
            "{}: found {found}, wanted a summary.json of tossline fly",
            path.display()
        )
    };
    let text = fs::read_to_string(path).map_err(|error| format!("{}: {error}", path.display()))?;
    let value: Value = serde_json::from_str(&text).map_err(|error| wrong(&error.to_string()))?;
    let word = |name: &str| value[name].as_str().unwrap_or_default().to_owned();
    match (value["scenario"].as_str(), value["summary"].is_object()) {
        (Some(scenario), true) => Ok(Result {
            scenario: scenario.to_owned(),
            inputs_sha256: word("inputs_sha256"),
            engine: word("engine"),
            version: word("tossline_version"),
            summary: value["summary"].clone(),
            folder: path.parent().unwrap_or(Path::new("")).to_owned(),
        }),
        _ => Err(wrong("something else")),
    }
}

/// The results in a folder, or that of a file.
fn all(path: &Path) -> std::result::Result<Vec<Result>, Wrong> {
    let bad = |text: String| (text, Outcome::BadInput);
    if !path.is_dir() {
        return read(path).map(|one| vec![one]).map_err(bad);
    }
    let own = path.join("summary.json");
    if own.is_file() {
        return read(&own).map(|one| vec![one]).map_err(bad);
    }
    let entries =
        fs::read_dir(path).map_err(|error| bad(format!("{}: {error}", path.display())))?;
    let mut files: Vec<PathBuf> = entries
        .flatten()
        .map(|entry| entry.path().join("summary.json"))
        .filter(|file| file.is_file())
        .collect();
    files.sort();
    if files.is_empty() {
        return Err(bad(format!(
            "{}: found no summary.json, wanted a folder that tossline fly has written",
            path.display()
        )));
    }
    files.iter().map(|file| read(file).map_err(bad)).collect()
}

pub(super) fn compare(arguments: &CompareArguments) -> std::result::Result<Compared, Wrong> {
    if arguments.scenario.is_some() || !arguments.overrides.set.is_empty() {
        let text = "--scenario and --set: found two results, which are not flown again; wanted two airframe files";
        return Err((text.to_owned(), Outcome::BadInput));
    }
    let (before, after) = (all(&arguments.before)?, all(&arguments.after)?);
    let mut report = report(arguments);
    let mut flown = Vec::new();
    let single = before.len() == 1 && after.len() == 1;
    for old in &before {
        let partner = after
            .iter()
            .find(|new| single || new.scenario == old.scenario);
        let Some(new) = partner else {
            report.without_partner.push(old.scenario.clone());
            continue;
        };
        if new.scenario != old.scenario {
            report.warnings.push(format!(
                "two throws are compared, \"{}\" and \"{}\": throw or air may differ",
                old.scenario, new.scenario
            ));
        }
        if report.pairs.is_empty() {
            report.inputs_sha256 = [old.inputs_sha256.clone(), new.inputs_sha256.clone()];
            report.engines = [old.engine.clone(), new.engine.clone()];
        }
        if (&old.engine, &old.version) != (&new.engine, &new.version) {
            report.warnings.push(format!(
                "\"{}\" was flown by Tossline {} ({}) before and {} ({}) after: numbers may differ for that alone",
                old.scenario, old.version, old.engine, new.version, new.engine
            ));
        }
        report.pairs.push(Pair {
            scenario: old.scenario.clone(),
            words: words(&old.summary, &new.summary),
            numbers: differences(&numbers(&old.summary), &numbers(&new.summary), &[]),
        });
        for (when, one) in [("before", old), ("after", new)] {
            if flown.len() < MOST_FLIGHTS {
                let look = Look::of(flown.len());
                let title = format!("{when}: {}", one.scenario);
                flown.extend(flight(title, look, &one.folder));
            }
        }
    }
    let lonely = after
        .iter()
        .filter(|new| !single && !before.iter().any(|old| old.scenario == new.scenario));
    report
        .without_partner
        .extend(lonely.map(|new| new.scenario.clone()));
    if report.pairs.is_empty() {
        let text = format!(
            "{} and {}: found no scenario that both have, wanted at least one",
            arguments.before.display(),
            arguments.after.display()
        );
        return Err((text, Outcome::BadInput));
    }
    Ok(Compared {
        report,
        flown,
        files: Vec::new(),
        failed: false,
    })
}

/// The columns of a summary that are numbers.
fn numbers(summary: &Value) -> Vec<Number> {
    let columns = Summary::columns().into_iter();
    columns
        .map(|column| Number {
            value: summary[column.name].as_f64(),
            name: column.name.to_owned(),
            unit: column.unit,
        })
        .collect()
}

/// The columns that are words and differ.
fn words(before: &Value, after: &Value) -> Vec<(String, String, String)> {
    let word = |summary: &Value, name: &str| summary[name].as_str().unwrap_or("–").to_owned();
    Summary::columns()
        .into_iter()
        .map(|column| {
            (
                column.name,
                word(before, column.name),
                word(after, column.name),
            )
        })
        .filter(|(_, old, new)| old != new)
        .map(|(name, old, new)| (name.to_owned(), old, new))
        .collect()
}

/// The flight drawn from the trajectory beside a summary; none where there is none to be read.
fn flight(name: String, look: Look, folder: &Path) -> Option<(Flown, Curves)> {
    let file = folder.join("trajectory.csv");
    let rows = fs::read(&file).ok()?;
    let curves = Curves::read(&name, look, &rows).ok()?;
    Some((Flown::elsewhere(name, file, &rows), curves))
}
