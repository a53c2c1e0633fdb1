//! The page of a thrust line.

use super::fly::about_drawing;
use super::read::{Folder, ReportError, is_plain};
use super::{cautions, inputs};
use crate::output::chart::{Chart, Look, Sample};
use crate::output::curves::Curves;
use crate::output::html::{
    Plots, Series, facts_of_object, link, page as whole, section, table, table_of_objects, words_of,
};
use crate::output::summary_row::SummaryRow;
use crate::output::table::number;
use crate::output::window::{self, PASSES, Picture, STATES};
use maud::{Markup, html};
use scenarios::thrustline::power::PowerCurve;
use scenarios::thrustline::window::{AtAngle, Window};
use serde::Deserialize;
use serde_json::{Map, Value};
use std::collections::BTreeMap;

/// What the page reads of `thrustline.json`.
#[derive(Deserialize)]
struct ThrustLine {
    airframe: String,
    study: String,
    scenario: String,
    angle_field: String,
    is_elevation: bool,
    in_plain_words: String,
    share_wanted_fraction: f64,
    confidence_fraction: f64,
    trimmed_by: Option<String>,
    tossline_version: String,
    inputs_sha256: String,
    engine: String,
    seed: u64,
    flights: u64,
    could_not_start: u64,
    first_reason: Option<String>,
    answers: Vec<Answer>,
    #[serde(default)]
    trajectories: Vec<Kept>,
    warnings: Vec<String>,
    caution: String,
}

/// The answer at one height of the motors: what is drawn by name, and further lists as tables.
#[derive(Deserialize)]
struct Answer {
    height_change_mm: f64,
    best_deg: Option<f64>,
    window: Option<Window>,
    power: PowerCurve,
    power_at_best: Option<PowerCurve>,
    chosen: Vec<AtAngle>,
    stated: Vec<AtAngle>,
    #[serde(flatten)]
    further: Map<String, Value>,
}

/// A flight whose trajectory is kept.
#[derive(Deserialize)]
struct Kept {
    name: String,
    role: String,
    file: String,
    flight: Option<u64>,
    angle_deg: Option<f64>,
}

impl Kept {
    /// What it is called on the page.
    fn words(&self) -> String {
        let at = match self.angle_deg {
            Some(angle) => format!(" ({}°)", number(Some(angle), 1)),
            None => String::new(),
        };
        let what = match self.role.as_str() {
            "before_twin" => "before, without the throttle step",
            "after_twin" => "after, without the throttle step",
            "worst" => return format!("worst: {}{at}", self.name),
            _ => self.name.as_str(),
        };
        format!("{what}{at}")
    }
}

/// What the page reads of `study.json`.
#[derive(Deserialize)]
struct Study {
    #[serde(default)]
    note: String,
}

pub(super) fn page(folder: &Folder) -> Result<String, ReportError> {
    let report: ThrustLine = folder.json("thrustline.json")?;
    let study: Study = folder.json("study.json")?;
    let flights = folder.csv("thrustline.csv")?;
    let drawn = drawn(folder, &report.trajectories)?;
    let body = html! {
        @if !study.note.is_empty() { p { (study.note) } }
        @for answer in &report.answers {
            (section(&heading("The window of angles", answer), &window_pictures(&report, answer)))
        }
        @if !drawn.is_empty() {
            (section("Before and after, in flight", &html! {
                p { "Flights of the airframe as drawn, without scatter, and the lowest of those with scatter." }
                (Plots::of_flights("flights before and after", &drawn).draw())
                p.note { (about_drawing(&drawn)) }
            }))
        }
        @for answer in &report.answers {
            (section(&heading("The nose against the throttle", answer), &html! {
                (steady_plots(&answer.power, answer.power_at_best.as_ref()).draw())
            }))
            (section(&heading("In numbers", answer), &numbers(answer)))
        }
        (section("Worst cases", &worst_cases(&report.trajectories, flights)))
        (section("What made this", &made_by(&report)))
        (section("Cautions", &cautions(&report.warnings, &report.caution)))
    };
    let title = format!("Thrust line: {}", report.airframe);
    Ok(whole(&title, &report.in_plain_words, &body))
}

/// Curves of the flights kept: before and after with their twins, and the worst.
fn drawn(folder: &Folder, kept: &[Kept]) -> Result<Vec<Curves>, ReportError> {
    let mut drawn = Vec::new();
    // The worst take the looks that are left.
    let mut worst = 2;
    for flight in kept {
        if !is_plain(&flight.file) {
            let found = format!("a trajectory file \"{}\"", flight.file);
            return Err(folder.wrong_file("thrustline.json", &found, "a path in this folder"));
        }
        let look = match flight.role.as_str() {
            "before" => window::before(),
            "before_twin" => window::before().twin(),
            "after" => window::after(),
            "after_twin" => window::after().twin(),
            _ => {
                worst += 1;
                Look::of(worst - 1)
            }
        };
        drawn.extend(folder.curves(&flight.file, &flight.words(), look)?);
    }
    Ok(drawn)
}

/// A heading, with the height of the motors where it is not the file's.
fn heading(words: &str, answer: &Answer) -> String {
    match answer.height_change_mm {
        0.0 => words.to_owned(),
        height => format!("{words}, motors {} mm up", number(Some(height), 1)),
    }
}

fn window_pictures(report: &ThrustLine, answer: &Answer) -> Markup {
    let picture = Picture {
        name: &report.airframe,
        angle: if report.is_elevation {
            "thrust elevation, deg"
        } else {
            &report.angle_field
        },
        chosen: &answer.chosen,
        stated: &answer.stated,
        wanted: report.share_wanted_fraction,
        window: answer
            .window
            .map(|window| (window.low_deg, window.high_deg)),
        best_deg: answer.best_deg,
        before: &answer.power,
        after: answer.power_at_best.as_ref(),
    };
    html! {
        (window_plots(&picture).draw())
        p.note {
            "Hollow: flights by which the angle was chosen. Filled: fresh flights by which it is stated. Bars: interval at "
            (number(Some(100.0 * report.confidence_fraction), 0)) " % confidence. Shaded: the window; dashed upright: the best angle."
        }
    }
}

fn numbers(answer: &Answer) -> Markup {
    let list = |pass: &str, points: &[AtAngle]| -> Vec<Value> {
        let row = |at: &AtAngle| {
            let mut row = serde_json::to_value(at).unwrap_or_default();
            if let Some(cells) = row.as_object_mut() {
                cells.insert("pass".to_owned(), pass.into());
                // Of single circumstances the answer's own table tells.
                cells.remove("each");
            }
            row
        };
        points.iter().map(row).collect()
    };
    let mut angles = list("choosing", &answer.chosen);
    angles.extend(list("stating", &answer.stated));
    let further = answer.further.iter().filter_map(|(key, value)| {
        let list = value.as_array()?;
        let objects = !list.is_empty() && list.iter().all(Value::is_object);
        objects.then_some((key, list))
    });
    html! {
        (facts_of_object(&Value::Object(answer.further.clone())))
        @for (key, list) in further { (table_of_objects(&words_of(key), list)) }
        (table_of_objects("Share of throws at each angle", &angles))
        (power(&format!("Steady flight {}", STATES[0]), &answer.power))
        @if let Some(curve) = &answer.power_at_best { (power(&format!("Steady flight {}", STATES[1]), curve)) }
    }
}

fn window_plots(picture: &Picture<'_>) -> Plots {
    let chart = window::shares(picture);
    let mut plots = Plots::new(
        "share of throws that meet every condition",
        "angle_deg",
        true,
    );
    plots.know("low", "at least", "% at least", 1);
    plots.know("high", "at most", "% at most", 1);
    let lists = [
        (picture.chosen, window::after()),
        (picture.stated, window::before()),
    ];
    let samples = [Sample::Hollow, Sample::Filled];
    for (((list, look), name), sample) in lists.into_iter().zip(PASSES).zip(samples) {
        let of = |value: fn(&AtAngle) -> Option<f64>| list.iter().map(value).collect();
        plots.series.push(Series {
            name: name.to_owned(),
            look,
            sample,
            columns: BTreeMap::from([
                ("angle_deg".to_owned(), of(|at| Some(at.angle_deg))),
                (
                    "share".to_owned(),
                    of(|at| at.meets.share_fraction.map(|s| 100.0 * s)),
                ),
                (
                    "low".to_owned(),
                    of(|at| Some(100.0 * at.meets.low_fraction)),
                ),
                (
                    "high".to_owned(),
                    of(|at| Some(100.0 * at.meets.high_fraction)),
                ),
            ]),
        });
    }
    plots.chart(&chart, "angle_deg", "share", &["share", "low", "high"]);
    plots
}

fn steady_plots(before: &PowerCurve, after: Option<&PowerCurve>) -> Plots {
    let mut plots = Plots::new("steady flight", "throttle_fraction", true);
    let states = [
        (Some(before), window::before(), STATES[0]),
        (after, window::after(), STATES[1]),
    ];
    for (curve, look, name) in states {
        let Some(curve) = curve else { continue };
        let columns = [
            (
                "throttle_fraction",
                curve
                    .points
                    .iter()
                    .map(|p| Some(p.throttle_fraction))
                    .collect(),
            ),
            (
                "pitch_deg",
                curve.points.iter().map(|p| Some(p.pitch_deg)).collect(),
            ),
            (
                "path_angle_deg",
                curve
                    .points
                    .iter()
                    .map(|p| Some(p.path_angle_deg))
                    .collect::<Vec<_>>(),
            ),
        ];
        plots.series.push(Series {
            name: name.to_owned(),
            look,
            sample: Sample::Curve,
            columns: columns.map(|(key, values)| (key.to_owned(), values)).into(),
        });
    }
    let charts: [Chart; 2] = window::steady(before, after);
    for (chart, key) in charts.iter().zip(["pitch_deg", "path_angle_deg"]) {
        plots.chart(chart, "throttle_fraction", key, &[key]);
    }
    plots
}

fn power(title: &str, curve: &PowerCurve) -> Markup {
    let points: Vec<Value> = curve
        .points
        .iter()
        .filter_map(|point| serde_json::to_value(point).ok())
        .collect();
    let level = match (curve.level_throttle_fraction, &curve.no_level_because) {
        (Some(level), _) => format!(
            "Level flight takes throttle {}, {} is left.",
            number(Some(level), 2),
            number(Some(1.0 - level), 2)
        ),
        (None, Some(reason)) => format!("No level flight: {reason}."),
        (None, None) => String::new(),
    };
    html! {
        (table_of_objects(title, &points))
        p {
            (level)
            @if let Some(reason) = &curve.ends_because { " No steady flight beyond: " (reason) "." }
        }
    }
}

/// Columns of `thrustline.csv` shown of a kept flight.
const OF_KEPT: [(&str, usize); 4] = [
    ("minimum_altitude_m", 2),
    ("pitch_down_under_power_deg", 1),
    ("alpha_max_deg", 1),
    ("stalled_time_s", 2),
];

fn worst_cases(kept: &[Kept], flights: Vec<Vec<(String, String)>>) -> Markup {
    if kept.is_empty() {
        return html! {
            p { "No trajectories are kept in this result; every flight's numbers are in " (link("thrustline.csv", "thrustline.csv")) "." }
        };
    }
    let rows: Vec<SummaryRow> = flights
        .into_iter()
        .map(|cells| SummaryRow::from_cells("", cells))
        .collect();
    let mut heads = vec![
        "flight".to_owned(),
        "role".to_owned(),
        "row of thrustline.csv".to_owned(),
    ];
    heads.extend(OF_KEPT.map(|(column, _)| words_of(column)));
    heads.push("its file".to_owned());
    // The worst first.
    let mut order: Vec<&Kept> = kept.iter().collect();
    order.sort_by_key(|one| one.role != "worst");
    let list: Vec<Vec<Markup>> = order
        .iter()
        .map(|one| {
            let row = one.flight.and_then(|flight| {
                rows.iter()
                    .find(|row| row.number("flight") == Some(flight as f64))
            });
            let mut cells = vec![
                html! { (one.words()) },
                html! { (one.role.replace('_', " ")) },
                html! { @match one.flight { Some(flight) => (flight), None => "–" } },
            ];
            cells.extend(OF_KEPT.map(|(column, decimals)| {
                html! { (number(row.and_then(|row| row.number(column)), decimals)) }
            }));
            cells.push(link(&one.file, "trajectory"));
            cells
        })
        .collect();
    table("Flights whose trajectories are kept", &heads, &list)
}

fn made_by(report: &ThrustLine) -> Markup {
    let trimmed = report.trimmed_by.as_ref().map_or_else(String::new, |tab| {
        format!("each drawn airframe by test glides, bending {tab}")
    });
    let not_started = match (&report.first_reason, report.could_not_start) {
        (Some(reason), more) => format!("{more}, counted as not meeting; the first: {reason}"),
        (None, _) => String::new(),
    };
    inputs(
        &[
            ("airframe", &report.airframe),
            ("study", &report.study),
            ("scenario", &report.scenario),
            ("trimmed", &trimmed),
            ("flights", &report.flights.to_string()),
            ("could not start", &not_started),
            ("inputs, SHA-256", &report.inputs_sha256),
            ("version", &format!("Tossline {}", report.tossline_version)),
            ("engine", &report.engine),
            ("seed", &report.seed.to_string()),
        ],
        &html! {
            (link("thrustline.json", "thrustline.json")) " "
            (link("thrustline.csv", "thrustline.csv")) " "
            (link("study.json", "study.json"))
        },
    )
}
