//! The page of two airframes, or two results, side by side.

use super::fly::about_drawing;
use super::read::{Folder, ReportError, is_plain};
use super::{cautions, inputs};
use crate::commands::compare::page::{
    OF_FIELDS, OF_NUMBERS, field_rows, number_rows, sentences as further, word_sentences,
};
use crate::commands::compare::{Pair, Report};
use crate::output::curves::Curves;
use crate::output::html::{Plots, link, page as whole, section, sentences, table, words_of};
use maud::{Markup, html};
use std::path::Path;

pub(super) fn page(folder: &Folder) -> Result<String, ReportError> {
    let report: Report = folder.json("compare.json")?;
    let (drawn, not_drawn) = drawn(folder, &report)?;
    let body = html! {
        (section("Before and after, in flight", &html! {
            @if !drawn.is_empty() {
                (Plots::of_flights("flights before and after", &drawn).draw())
                p.note { (about_drawing(&drawn)) }
            }
            (sentences(&not_drawn))
        }))
        (section("What differs", &html! {
            @for pair in &report.pairs { (throw(pair)) }
            (sentences(&further(&report)))
            p.note { "Numbers not shown here, and those that are the same, are in " (link("compare.csv", "compare.csv")) "." }
        }))
        (section("What changed in the files", &fields(&report)))
        (section("What made this", &made_by(folder, &report)))
        (section("Cautions", &cautions(&report.warnings, &report.caution)))
    };
    let title = match report.pairs.as_slice() {
        [_] if report.of_airframes => {
            let [before, after] = [&report.before, &report.after].map(|file| name_of(file));
            format!("Before and after: {before}, {after}")
        }
        [one] => format!("Before and after: {}", one.scenario),
        more => format!("Before and after: {} throws", more.len()),
    };
    Ok(whole(&title, &report.in_plain_words, &body))
}

/// A file's name without folder and ending.
fn name_of(file: &str) -> String {
    let stem = Path::new(file).file_stem();
    stem.map_or_else(
        || file.to_owned(),
        |stem| stem.to_string_lossy().into_owned(),
    )
}

/// Curves of the flights compared, and sentences on those whose trajectories are not there any more.
fn drawn(folder: &Folder, report: &Report) -> Result<(Vec<Curves>, Vec<String>), ReportError> {
    let (mut drawn, mut missing) = (Vec::new(), Vec::new());
    if report.flights.is_empty() {
        missing.push("No trajectory was found beside the results.".to_owned());
    }
    for (number, flight) in report.flights.iter().enumerate() {
        // Those of airframes are part of this result; those of results lie where these were, and may have gone or been flown anew.
        let of_this_result = is_plain(&flight.file);
        if !of_this_result && !folder.has(&flight.file) {
            missing.push(format!("{} is not drawn: its trajectory is no longer where it was when they were compared.", flight.name));
            continue;
        }
        let bytes = folder.bytes(&flight.file)?;
        match flight.curves(number, &bytes) {
            Ok(Some(curves)) => drawn.push(curves),
            Ok(None) if of_this_result => {
                let found = "another trajectory than that compared";
                return Err(folder.wrong_file(&flight.file, found, "results of one run"));
            }
            Ok(None) => missing.push(format!("{} is not drawn: another trajectory lies where its own was when they were compared.", flight.name)),
            Err(error) => return Err(folder.wrong_file(&flight.file, &error.to_string(), "a trajectory")),
        }
    }
    Ok((drawn, missing))
}

fn cells(rows: Vec<Vec<String>>) -> Vec<Vec<Markup>> {
    let row = |row: Vec<String>| row.into_iter().map(|cell| html! { (cell) }).collect();
    rows.into_iter().map(row).collect()
}

fn throw(pair: &Pair) -> Markup {
    let mut rows = number_rows(pair);
    for name in rows.iter_mut().filter_map(|row| row.first_mut()) {
        *name = words_of(name);
    }
    let heads: Vec<String> = ["number"]
        .iter()
        .chain(&OF_NUMBERS)
        .map(ToString::to_string)
        .collect();
    html! {
        @if rows.is_empty() {
            p { (pair.scenario) ": no differences among the numbers shown." }
        } @else {
            (table(&pair.scenario, &heads, &cells(rows)))
        }
        (sentences(&word_sentences(pair)))
    }
}

fn fields(report: &Report) -> Markup {
    let (rows, also) = field_rows(report);
    html! {
        @if !report.of_airframes {
            p { "Results are compared by their summaries; what changed in their files is not looked at." }
        } @else if rows.is_empty() {
            p { "No field that a file gives differs." }
        } @else {
            (table("Fields that differ", &OF_FIELDS.map(str::to_owned), &cells(rows)))
        }
        @if let Some(also) = also { p { (also) } }
    }
}

fn made_by(folder: &Folder, report: &Report) -> Markup {
    let several = match report.pairs.len() {
        0 | 1 => "",
        _ => ", of the first throw",
    };
    let [before, after] = &report.inputs_sha256;
    let engine = match &report.engines {
        [one, other] if one == other => one.clone(),
        [one, other] => format!("{one} before, {other} after"),
    };
    let own: &[&str] = match report.of_airframes {
        true => &["fields.csv", "before/summary.json", "after/summary.json"],
        false => &[],
    };
    let own = own.iter().filter(|file| folder.has(file));
    let files = html! {
        (link("compare.json", "compare.json")) " "
        (link("compare.csv", "compare.csv"))
        @for file in own { " " (link(file, file)) }
        @if !report.flights.is_empty() { " " (link("compare.svg", "compare.svg")) }
        @for flight in report.flights.iter().filter(|flight| is_plain(&flight.file) && folder.has(&flight.file)) {
            " " (link(&flight.file, &flight.file))
        }
    };
    inputs(
        &[
            ("before", &report.before),
            ("after", &report.after),
            (&format!("inputs before{several}, SHA-256"), before),
            (&format!("inputs after{several}, SHA-256"), after),
            ("version", &format!("Tossline {}", report.tossline_version)),
            ("engine", &engine),
        ],
        &files,
    )
}
