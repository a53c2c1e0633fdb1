//! What decides every byte of a sweep's result, and what of it has changed.

use super::difference::differences;
use super::{SweepError, sha256};
use crate::plan::{StudyPlan, engine};
use scenarios::error::Warning;
use scenarios::study::keep::TableFormat;
use scenarios::study::{Plan, StudyFile, study_file_from_bytes};
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;
use std::ops::Range;
use std::path::Path;

/// A share of a plan, counted from 1.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Part {
    /// Which.
    pub number: u32,
    /// Of how many.
    pub of: u32,
}

impl std::fmt::Display for Part {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{}/{}", self.number, self.of)
    }
}

impl std::str::FromStr for Part {
    type Err = String;

    /// From `K/N`.
    fn from_str(text: &str) -> Result<Self, String> {
        let wanted = || "K/N, K from 1 to N and N at most 100000".to_owned();
        let (number, of) = text.split_once('/').ok_or_else(wanted)?;
        let whole = |text: &str| text.parse::<u32>().map_err(|_| wanted());
        let part = Part {
            number: whole(number)?,
            of: whole(of)?,
        };
        let fits = (1..=part.of).contains(&part.number) && part.of <= 100_000;
        fits.then_some(part).ok_or_else(wanted)
    }
}

/// What decides a sweep's result.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Identity {
    /// Version of this program.
    pub tossline_version: String,
    /// Method, number type, use of fused multiply-add.
    pub engine: String,
    /// Name of the study.
    pub study: String,
    /// Name of the scenario it flies.
    pub scenario: String,
    /// Name of the airframe.
    pub airframe: String,
    /// SHA-256 of every file, by what it is and its name without folders.
    pub inputs: BTreeMap<String, String>,
    /// Overrides of the command line, as typed.
    pub overrides: Vec<String>,
    /// Hash of all of these, as other commands state it.
    pub inputs_sha256: String,
    /// Flights of the whole plan.
    pub flights: u64,
    /// Flights of a block.
    pub block_flights: u64,
    /// Format of the table.
    pub format: TableFormat,
    /// The share of the plan that is here; the whole where absent.
    pub part: Option<Part>,
    /// What reading the files had to say, without the folders they lie in.
    pub warnings: Vec<String>,
    /// The study file's text.
    pub study_text: String,
}

/// Blocks of a text table at most: what is known of each is held in memory.
const MOST_BLOCKS: u64 = 1 << 16;

/// Flights of a block: what is flown again where bytes are damaged, and what is lost at most where the power goes. It depends on the plan
/// alone. A short plan loses little, a long one has no more lines of ledger than memory holds.
fn block_flights(flights: u64, format: TableFormat) -> u64 {
    let (blocks, least, most) = match format {
        TableFormat::Csv => (1000, 16, 256.max(flights.div_ceil(MOST_BLOCKS))),
        // The rows of a part wait in memory until it is whole.
        TableFormat::Parquet => (100, 64, 4096),
    };
    flights
        .div_ceil(blocks)
        .clamp(least, most)
        .next_power_of_two()
}

impl Identity {
    /// Of a plan about to be flown.
    pub fn of(plan: &StudyPlan, flights: &Plan, part: Option<Part>) -> Self {
        let study = &plan.study;
        let base = &study.base;
        let format = study.file.keep.format;
        let mut inputs = BTreeMap::new();
        let mut add = |what: &str, name: &str, bytes: &[u8]| {
            inputs.insert(format!("{what} {name}"), sha256(bytes));
        };
        add("study", &file_name(&study.path), &study.bytes);
        add("scenario", &file_name(&base.path), &base.bytes);
        let airframe = &base.airframe;
        add("airframe", &file_name(&airframe.path), &airframe.bytes);
        for (name, bytes) in airframe.other_bytes.iter() {
            add("drawing", name, bytes);
        }
        for (name, bytes) in base.other_bytes.iter() {
            add("zones", name, bytes);
        }
        Identity {
            tossline_version: env!("CARGO_PKG_VERSION").to_owned(),
            engine: engine(base),
            study: study.file.name.clone(),
            scenario: base.file.name.clone(),
            airframe: airframe.file.name.clone(),
            inputs,
            overrides: plan.typed_overrides().to_vec(),
            inputs_sha256: plan.inputs_sha256("sweep"),
            flights: flights.flights(),
            block_flights: block_flights(flights.flights(), format),
            format,
            part,
            warnings: base.warnings().iter().map(without_folders).collect(),
            study_text: String::from_utf8_lossy(&study.bytes).into_owned(),
        }
    }

    /// The study, without the scenario it flies.
    ///
    /// # Errors
    /// [`SweepError::Refused`] where the text kept is no study.
    pub fn study_file(&self) -> Result<StudyFile, SweepError> {
        study_file_from_bytes("plan.json", self.study_text.clone().into_bytes())
            .map_err(|error| SweepError::Refused(error.to_string()))
    }

    /// Numbers of the flights that belong here: whole blocks.
    pub fn range(&self) -> Range<u64> {
        let Some(part) = self.part else {
            return 0..self.flights;
        };
        let blocks = self.flights.div_ceil(self.block_flights);
        let edge = |k: u32| {
            let block = u128::from(blocks) * u128::from(k) / u128::from(part.of);
            (block as u64 * self.block_flights).min(self.flights)
        };
        edge(part.number - 1)..edge(part.number)
    }

    /// Where the block ends that a flight is in.
    pub fn block_end(&self, flight: u64) -> u64 {
        ((flight / self.block_flights + 1) * self.block_flights).min(self.flights)
    }

    /// A hash that stands for all of it.
    pub fn id(&self) -> String {
        sha256(serde_json::to_string(self).unwrap_or_default().as_bytes())
    }

    /// The same without its share: equal for all parts of one plan.
    pub fn whole(&self) -> Identity {
        Identity {
            part: None,
            ..self.clone()
        }
    }

    /// What differs from another, in words; nothing where they are alike.
    pub fn changes_from(&self, before: &Identity) -> Vec<String> {
        let mut changes = Vec::new();
        let mut say = |what: &str, then: &str, now: &str| {
            if then != now {
                changes.push(format!("{what}: then {then}, now {now}"));
            }
        };
        say("version", &before.tossline_version, &self.tossline_version);
        say("engine", &before.engine, &self.engine);
        let list = |overrides: &[String]| match overrides {
            [] => "none".to_owned(),
            some => some.join(" "),
        };
        say("--set", &list(&before.overrides), &list(&self.overrides));
        let part = |part: Option<Part>| part.map_or("the whole".to_owned(), |p| p.to_string());
        say("part", &part(before.part), &part(self.part));
        let names = before.inputs.keys().chain(self.inputs.keys());
        let mut names: Vec<&String> = names.collect();
        names.sort();
        names.dedup();
        for name in names {
            match (before.inputs.get(name), self.inputs.get(name)) {
                (Some(then), Some(now)) if then != now => {
                    let mut change = format!("{name}: its content has changed");
                    // Of the study the text is kept: what of it has changed can be said.
                    if name.starts_with("study ") {
                        let fields = differences(&before.study_text, &self.study_text);
                        if !fields.is_empty() {
                            change += &format!(" ({})", fields.join("; "));
                        }
                    }
                    changes.push(change);
                }
                (Some(_), None) => changes.push(format!("{name}: then used, now not")),
                (None, Some(_)) => changes.push(format!("{name}: then not used, now used")),
                _ => {}
            }
        }
        if changes.is_empty() && self != before {
            changes.push("how this program lays out its results".to_owned());
        }
        changes
    }
}

/// A warning with its file's name alone: where the file lies differs between machines, and results must not.
fn without_folders(warning: &Warning) -> String {
    let file = file_name(Path::new(&warning.file));
    Warning {
        file,
        ..warning.clone()
    }
    .to_string()
}

/// A path's last step.
fn file_name(path: &Path) -> String {
    path.file_name()
        .map_or_else(String::new, |name| name.to_string_lossy().into_owned())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn identity(flights: u64, part: Option<Part>) -> Identity {
        Identity {
            tossline_version: "1".into(),
            engine: "e".into(),
            study: "s".into(),
            scenario: "c".into(),
            airframe: "a".into(),
            inputs: BTreeMap::from([("airframe a.json".into(), "00".into())]),
            overrides: Vec::new(),
            inputs_sha256: String::new(),
            flights,
            block_flights: block_flights(flights, TableFormat::Csv),
            format: TableFormat::Csv,
            part,
            warnings: Vec::new(),
            study_text: String::new(),
        }
    }

    #[test]
    fn parts_are_whole_blocks_that_join_without_gap_or_overlap() {
        for flights in [1, 15, 16, 17, 200, 5000, 10_000_000, 1 << 32] {
            for of in [1, 2, 3, 7, 50] {
                let mut next = 0;
                for number in 1..=of {
                    let part = identity(flights, Some(Part { number, of }));
                    let range = part.range();
                    assert_eq!(range.start, next);
                    assert!(
                        range.start.is_multiple_of(part.block_flights) || range.start == flights
                    );
                    next = range.end;
                }
                assert_eq!(next, flights);
            }
        }
    }

    // Up to ten million flights a block of text is short; beyond, there are no more than 65 536 of them. A part of a table in parts is never
    // longer than memory holds.
    #[test]
    fn blocks_are_short_and_not_more_than_memory_holds() {
        for (flights, text, parts) in [
            (1, 16, 64),
            (200, 16, 64),
            (20_000, 32, 256),
            (10_000_000, 256, 4096),
            (1 << 24, 256, 4096),
            ((1 << 24) + 1, 512, 4096),
            (1 << 32, 65_536, 4096),
        ] {
            assert_eq!(block_flights(flights, TableFormat::Csv), text, "{flights}");
            assert_eq!(block_flights(flights, TableFormat::Parquet), parts);
            assert!(flights.div_ceil(text) <= MOST_BLOCKS);
        }
    }

    #[test]
    fn part_is_read_and_nonsense_refused() {
        assert_eq!("2/3".parse(), Ok(Part { number: 2, of: 3 }));
        for wrong in ["0/3", "4/3", "1", "a/b", "1/0", "-1/2"] {
            assert!(wrong.parse::<Part>().is_err(), "{wrong}");
        }
    }

    #[test]
    fn changes_are_named() {
        let before = identity(200, None);
        let mut now = before.clone();
        assert!(now.changes_from(&before).is_empty());
        now.tossline_version = "2".into();
        now.inputs.insert("airframe a.json".into(), "11".into());
        now.inputs.insert("zones z".into(), "22".into());
        now.part = Some(Part { number: 1, of: 2 });
        assert_eq!(
            now.changes_from(&before),
            [
                "version: then 1, now 2",
                "part: then the whole, now 1/2",
                "airframe a.json: its content has changed",
                "zones z: then not used, now used",
            ]
        );
    }
}
