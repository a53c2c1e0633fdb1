//! `tossline compare`.

mod airframes;
mod page;
mod results;

use crate::args::CompareArguments;
use crate::exit::Outcome;
use crate::output::curves::Curves;
use crate::output::picture;
use crate::output::{CAUTION, complain, files, print, print_json, warn};
use page::{page, plain_words};
use scenarios::compare::Difference;
use scenarios::compare::fields::FieldChange;
use serde::Serialize;
use std::path::{Path, PathBuf};

/// One throw before and after.
#[derive(Debug, Serialize)]
struct Pair {
    scenario: String,
    /// How each flight ended, and other words of the summaries that differ: name, before, after.
    words: Vec<(String, String, String)>,
    numbers: Vec<Difference>,
}

/// What is written and printed.
#[derive(Debug, Serialize)]
struct Report {
    before: String,
    after: String,
    in_plain_words: String,
    /// Of airframes: what changed in the files.
    fields: Vec<FieldChange>,
    pairs: Vec<Pair>,
    /// Fields moved in both for the bands.
    uncertain_fields: usize,
    /// Results that only one side has.
    without_partner: Vec<String>,
    inputs_sha256: [String; 2],
    tossline_version: &'static str,
    warnings: Vec<String>,
    caution: &'static str,
}

/// A comparison with what is drawn and written of it.
struct Compared {
    report: Report,
    curves: Vec<Curves>,
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
    if let Err(error) = write(&arguments.out, &compared) {
        return complain(&error, Outcome::CannotWrite);
    }
    let shown = if arguments.json {
        print_json(&compared.report)
    } else {
        print(&page(&compared.report, &arguments.out))
    };
    match shown {
        Outcome::Done if compared.failed => Outcome::FlightFailed,
        shown => shown,
    }
}

fn write(out: &Path, compared: &Compared) -> Result<(), Box<dyn std::error::Error>> {
    let report = &compared.report;
    files::prove_writable(out)?;
    for (place, content) in &compared.files {
        files::write_whole(&out.join(place), content)?;
    }
    files::write_whole(&out.join("compare.csv"), &table(report)?)?;
    if !compared.curves.is_empty() {
        let svg = picture::draw(&compared.curves);
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
        fields: Vec::new(),
        pairs: Vec::new(),
        uncertain_fields: 0,
        without_partner: Vec::new(),
        inputs_sha256: [String::new(), String::new()],
        tossline_version: env!("CARGO_PKG_VERSION"),
        warnings: Vec::new(),
        caution: CAUTION,
    }
}
