//! `tossline compare`.

mod airframes;
mod drawn;
pub mod page;
mod results;

use super::report::{Kind, at_the_end};
use crate::args::CompareArguments;
use crate::exit::Outcome;
use crate::output::curves::Curves;
use crate::output::picture;
use crate::output::{CAUTION, complain, files, print, print_json, warn};
pub use drawn::Drawn;
use drawn::Flown;
use page::{page, plain_words};
use scenarios::compare::Difference;
use scenarios::compare::fields::FieldChange;
use serde::{Deserialize, Serialize};
use std::path::{Path, PathBuf};

/// One throw before and after.
#[derive(Debug, Serialize, Deserialize)]
pub struct Pair {
    /// The scenario.
    pub scenario: String,
    /// How each flight ended, and other words of the summaries that differ: name, before, after.
    pub words: Vec<(String, String, String)>,
    /// Numbers side by side.
    pub numbers: Vec<Difference>,
}

/// What is written and printed.
#[derive(Debug, Serialize, Deserialize)]
pub struct Report {
    /// Airframe file or result, before.
    pub before: String,
    /// The same after.
    pub after: String,
    /// What to know of it, in a paragraph.
    pub in_plain_words: String,
    /// Whether two airframes are compared and not two results.
    pub of_airframes: bool,
    /// Of airframes: what changed in the files.
    pub fields: Vec<FieldChange>,
    /// Throws side by side.
    pub pairs: Vec<Pair>,
    /// Fields moved in both for the bands.
    pub uncertain_fields: usize,
    /// Results that only one side has.
    pub without_partner: Vec<String>,
    /// Flights that are drawn.
    pub flights: Vec<Drawn>,
    /// Of before and after; of several throws that of the first.
    pub inputs_sha256: [String; 2],
    /// Engine and its numbers that flew before and after.
    pub engines: [String; 2],
    /// Version that compared.
    pub tossline_version: String,
    /// What is worth saying.
    pub warnings: Vec<String>,
    /// The usual cautions.
    pub caution: String,
}

/// A comparison with what is drawn and written of it.
struct Compared {
    report: Report,
    /// What is drawn, in order, with its trajectory.
    flown: Vec<(Flown, Curves)>,
    /// Further files: place under the folder, content.
    files: Vec<(PathBuf, Vec<u8>)>,
    failed: bool,
}

/// Sets two airframes or two results side by side.
pub fn run(arguments: &CompareArguments) -> Outcome {
    let is_result = |path: &Path| path.is_dir() || results::is_summary(path);
    let compared = match (is_result(&arguments.before), is_result(&arguments.after)) {
        (true, true) => results::compare(arguments),
        (false, false) => airframes::compare(arguments),
        (before, _) => {
            let (result, other) = match before {
                true => (&arguments.before, &arguments.after),
                false => (&arguments.after, &arguments.before),
            };
            Err((
                format!(
                    "{} is a result, {} is not: wanted two airframe files, or two results",
                    result.display(),
                    other.display()
                ),
                Outcome::BadInput,
            ))
        }
    };
    let mut compared = match compared {
        Ok(compared) => compared,
        Err((text, outcome)) => return complain(&text, outcome),
    };
    let report = &mut compared.report;
    report.warnings.iter().for_each(|warning| warn(warning));
    report.in_plain_words = plain_words(report);
    if let Err(error) = write(&arguments.out, &mut compared) {
        return complain(&error, Outcome::CannotWrite);
    }
    if let Err(error) = at_the_end(Kind::Compare, &arguments.out, &arguments.page) {
        return complain(&error, error.outcome());
    }
    let shown = if arguments.json {
        print_json(&compared.report)
    } else {
        print(&page(&compared.report, &arguments.out, arguments.page))
    };
    match shown {
        Outcome::Done if compared.failed => Outcome::FlightFailed,
        shown => shown,
    }
}

fn write(out: &Path, compared: &mut Compared) -> Result<(), Box<dyn std::error::Error>> {
    files::prove_writable(out)?;
    for (place, content) in &compared.files {
        files::write_whole(&out.join(place), content)?;
    }
    let flown = compared.flown.iter();
    compared.report.flights = flown
        .map(|(flown, _)| flown.beside(out))
        .collect::<Result<_, _>>()?;
    let report = &compared.report;
    files::write_whole(&out.join("compare.csv"), &table(report)?)?;
    if !compared.flown.is_empty() {
        let curves: Vec<Curves> = compared.flown.iter().map(|one| one.1.clone()).collect();
        let svg = picture::draw(&curves);
        files::write_whole(&out.join("compare.svg"), svg.as_bytes())?;
    }
    let mut json = serde_json::to_vec_pretty(report)?;
    json.push(b'\n');
    files::write_whole(&out.join("compare.json"), &json)?;
    Ok(())
}

/// A row for each number of each pair.
fn table(report: &Report) -> Result<Vec<u8>, Box<dyn std::error::Error>> {
    let mut writer = csv::Writer::from_writer(Vec::new());
    writer.write_record([
        "scenario",
        "number",
        "before",
        "after",
        "difference",
        "one_sigma",
        "verdict",
        "meaning",
    ])?;
    let cell = |value: Option<f64>| value.map_or_else(String::new, |value| value.to_string());
    for pair in &report.pairs {
        for one in &pair.numbers {
            writer.write_record([
                pair.scenario.clone(),
                one.name.clone(),
                cell(one.before),
                cell(one.after),
                cell(one.difference),
                cell(one.one_sigma),
                page::word(one.verdict).to_owned(),
                one.meaning.clone().unwrap_or_default(),
            ])?;
        }
    }
    Ok(writer.into_inner()?)
}

/// A report of nothing yet.
fn report(arguments: &CompareArguments) -> Report {
    Report {
        before: arguments.before.display().to_string(),
        after: arguments.after.display().to_string(),
        in_plain_words: String::new(),
        of_airframes: false,
        fields: Vec::new(),
        pairs: Vec::new(),
        uncertain_fields: 0,
        without_partner: Vec::new(),
        flights: Vec::new(),
        inputs_sha256: [String::new(), String::new()],
        engines: [String::new(), String::new()],
        tossline_version: env!("CARGO_PKG_VERSION").to_owned(),
        warnings: Vec::new(),
        caution: CAUTION.to_owned(),
    }
}
