//! The page of the greatest mass that flies level at a throttle.

use super::read::{Folder, ReportError};
use super::{cautions, inputs};
use crate::commands::thrustline::weight::Report;
use crate::commands::thrustline::weight::page::{
    FLIGHTS, NO_PARTS, PARTS, about_parts, draw_sentences, flight_rows, part_rows,
};
use crate::output::chart::{Axis, Chart, Interval, Look, Mark, Sample};
use crate::output::html::{Plots, Series, link, page as whole, section, sentences, table};
use crate::output::table::number;
use maud::{Markup, html};
use scenarios::thrustline::weight::{Ends, Greatest};
use std::collections::BTreeMap;

pub(super) fn page(folder: &Folder) -> Result<String, ReportError> {
    let report: Report = folder.json("weight.json")?;
    let ways = ways(&report);
    let body = html! {
        (section("How heavy it may be", &html! {
            @if !ways.is_empty() {
                (picture(&report, &ways).draw())
                p.note {
                    "Dot: the airframe as the file has it. Bar: nine in ten of " (report.draws) " drawn builds; one that reaches 0 g is open: some builds fly level at no mass. "
                    "Level line: what it weighs now."
                }
                (table("Level flight of the greatest mass", &heads_of_flights(), &cells(flight_rows(&report))))
                p.note { "Over: negative is to spare." }
            }
            (sentences(&draw_sentences(&report)))
        }))
        (section("The parts that hold it", &html! {
            @if report.parts.is_empty() {
                p { (NO_PARTS) }
            } @else {
                (table("Parts, heaviest first, and what a gram off each does", &PARTS.map(one_line), &cells(part_rows(&report))))
                p.note { (about_parts(&report)) }
            }
        }))
        (section("What is not flown", &html! { p { (report.not_flown) } }))
        (section("What made this", &made_by(&report)))
        (section("Cautions", &cautions(&report.warnings, &report.caution)))
    };
    let title = format!(
        "How heavy for level flight at throttle {}: {}",
        number(Some(report.throttle_fraction), 2),
        report.airframe
    );
    Ok(whole(&title, &report.in_plain_words, &body))
}

/// A head of two lines in one.
fn one_line(head: &str) -> String {
    match head.split_once('\n') {
        Some((name, unit)) => format!("{name}, {unit}"),
        None => head.to_owned(),
    }
}

/// The caption says what the flights are.
fn heads_of_flights() -> Vec<String> {
    let mut heads = FLIGHTS.map(one_line);
    heads[0] = "tabs".to_owned();
    heads.to_vec()
}

fn cells(rows: Vec<Vec<String>>) -> Vec<Vec<Markup>> {
    let row = |row: Vec<String>| row.into_iter().map(|cell| html! { (cell) }).collect();
    rows.into_iter().map(row).collect()
}

/// A way of setting the tabs: what it is called, the greatest mass with it and the ends of what drawn builds carry.
struct Way {
    name: String,
    mass_g: f64,
    /// 0 where the end is open: some builds fly level at no mass.
    low_g: f64,
    high_g: f64,
}

impl Way {
    fn of(name: String, greatest: &Greatest, ends: Option<&Ends>) -> Self {
        let mass_g = greatest.mass_g;
        Way {
            name,
            mass_g,
            low_g: ends.map_or(mass_g, |ends| ends.greatest_mass_low_g.unwrap_or(0.0)),
            high_g: ends
                .and_then(|ends| ends.greatest_mass_high_g)
                .unwrap_or(mass_g),
        }
    }

    fn words(&self) -> String {
        let grams = |value: f64| number(Some(value), 1);
        format!(
            "{}: {} g ({} to {} g)",
            self.name,
            grams(self.mass_g),
            grams(self.low_g),
            grams(self.high_g)
        )
    }
}

/// The ways in which some mass flies level.
fn ways(report: &Report) -> Vec<Way> {
    let margin = report.margin.as_ref();
    let as_set = report.carries.as_set.as_ref().map(|greatest| {
        Way::of(
            "tabs as set".to_owned(),
            greatest,
            margin.map(|margin| &margin.as_set),
        )
    });
    let re_set = report.carries.tab_re_set.as_ref().map(|greatest| {
        let tab = greatest.tab.as_ref().map_or("tab", |tab| &tab.name);
        Way::of(
            format!("{tab} re-set"),
            greatest,
            margin.map(|margin| &margin.tab_re_set),
        )
    });
    as_set.into_iter().chain(re_set).collect()
}

fn picture(report: &Report, ways: &[Way]) -> Plots {
    let name = "greatest mass";
    let mut plots = Plots::new("greatest mass that flies level", "way", true);
    plots.names = ways.iter().map(|way| way.name.clone()).collect();
    plots.know("low_g", "low end", "g at least", 1);
    plots.know("high_g", "high end", "g at most", 1);
    let mut way = Axis::new("", "", 0);
    way.names = plots.names.clone();
    way.holds = vec![-0.5, ways.len() as f64 - 0.5];
    let intervals = ways.iter().enumerate().map(|(i, way)| Interval {
        x: i as f64,
        value: way.mass_g,
        low: way.low_g,
        high: way.high_g,
        words: way.words(),
    });
    let now = format!("now {} g", number(Some(report.mass_g), 1));
    let chart = Chart {
        title: format!(
            "Greatest mass at throttle {}",
            number(Some(report.throttle_fraction), 2)
        ),
        x: way,
        y: Axis::new("mass", "g", 1),
        equal: false,
        marks: vec![
            Mark::Level(report.mass_g, now),
            Mark::Intervals(name.to_owned(), Look::of(0), false, intervals.collect()),
        ],
    };
    let of = |value: fn(&Way) -> f64| ways.iter().map(|way| Some(value(way))).collect();
    plots.series.push(Series {
        name: name.to_owned(),
        look: Look::of(0),
        sample: Sample::Filled,
        columns: BTreeMap::from([
            (
                "way".to_owned(),
                (0..ways.len()).map(|i| Some(i as f64)).collect(),
            ),
            ("mass_g".to_owned(), of(|way| way.mass_g)),
            ("low_g".to_owned(), of(|way| way.low_g)),
            ("high_g".to_owned(), of(|way| way.high_g)),
        ]),
    });
    plots.chart(&chart, "way", "mass_g", &["mass_g", "low_g", "high_g"]);
    plots
}

fn made_by(report: &Report) -> Markup {
    let trimmed = report.trimmed_by.as_ref().map_or_else(
        || "drawn builds fly as built".to_owned(),
        |tab| format!("each drawn build by test glides, bending {tab}"),
    );
    inputs(
        &[
            ("airframe", &report.airframe),
            ("study", &report.study),
            ("trimmed", &trimmed),
            ("drawn builds", &report.draws.to_string()),
            ("inputs, SHA-256", &report.inputs_sha256),
            ("version", &format!("Tossline {}", report.tossline_version)),
            ("engine", &report.engine),
            ("seed", &report.seed.to_string()),
        ],
        &html! {
            (link("weight.json", "weight.json")) " "
            (link("weight-parts.csv", "weight-parts.csv")) " "
            (link("weight-draws.csv", "weight-draws.csv"))
        },
    )
}
