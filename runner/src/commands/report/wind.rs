//! The page of what a wind leaves of an airframe.

use super::read::{Folder, ReportError};
use super::{cautions, inputs};
use crate::commands::wind::Report;
use crate::commands::wind::page::{
    ABOUT_STEADY, ABOUT_WINDS, DIVES, about_dive, about_table, dive_rows, go_heads, go_rows,
    go_sentences, least_dive, level, no_returns, steady_heads, steady_rows, wind_rows,
};
use crate::commands::wind::table::Table;
use crate::output::chart::{Axis, Chart, Look, Mark, Sample};
use crate::output::html::{Plots, Series, link, page as whole, section, sentences, table};
use crate::output::table::{number, percent};
use maud::{Markup, html};
use scenarios::wind_limits::penetration::AtThrottle;
use scenarios::wind_limits::verdicts::{Cell, Verdict};
use std::collections::BTreeMap;

pub(super) fn page(folder: &Folder) -> Result<String, ReportError> {
    let report: Report = folder.json("wind.json")?;
    let body = html! {
        (section("Go or no-go", &html! {
            @for (i, one) in report.tables.iter().enumerate() {
                // The built-in tables have one note.
                @if !one.note.is_empty() && (i == 0 || report.tables[i - 1].note != one.note) { p { (one.note) } }
                (go(one))
            }
        }))
        (section("Ground speed against the wind", &html! {
            p { "Steady flight without gusts. Where a curve passes 0 it is no longer getting on: there it does not come back." }
            (ground_speed(&report).draw())
            (sentences(&no_returns(&report)))
            (table("Steady flight", &one_line(&steady_heads(&report)), &cells(steady_rows(&report))))
            p.note { (ABOUT_STEADY) }
            (table("In each wind", &IN_WINDS.map(str::to_owned), &cells(wind_rows(&report))))
            p.note { (ABOUT_WINDS) " " (level(&report)) }
        }))
        (section("Height to end a dive", &html! {
            (dives(&report).draw())
            (table(&about_dive(&report), &one_line(&DIVES), &cells(dive_rows(&report))))
            @if let Some(least) = least_dive(&report) { p { (least) } }
        }))
        (section("What made this", &made_by(&report)))
        (section("Cautions", &cautions(&report.warnings, &report.caution)))
    };
    let title = format!("In the wind: {}", report.airframe);
    Ok(whole(&title, &report.in_plain_words, &body))
}

/// Heads of the table of winds.
const IN_WINDS: [&str; 4] = [
    "wind, m/s",
    "gliding 100 m upwind loses, m",
    "gliding 100 m downwind loses, m",
    "level upwind until the cell ends it, m",
];

/// Heads of two lines, name and unit, in one.
fn one_line<T: AsRef<str>>(heads: &[T]) -> Vec<String> {
    let heads = heads.iter().map(AsRef::as_ref);
    heads.map(|head: &str| head.replace('\n', ", ")).collect()
}

fn cells(rows: Vec<Vec<String>>) -> Vec<Vec<Markup>> {
    let row = |row: Vec<String>| row.into_iter().map(|cell| html! { (cell) }).collect();
    rows.into_iter().map(row).collect()
}

fn go(one: &Table) -> Markup {
    let said = |cell: &Cell| {
        let class = match cell.verdict {
            Verdict::Go => "verdict go",
            Verdict::CannotTell => "verdict",
            Verdict::NoGo => "verdict no-go",
        };
        html! { span class=(class) { (cell.verdict.words()) } br; (percent(&cell.meets_all)) }
    };
    let row = |(first, cells): (f64, &[Cell])| {
        let first = html! { (first) };
        std::iter::once(first)
            .chain(cells.iter().map(said))
            .collect()
    };
    let rows: Vec<Vec<Markup>> = go_rows(one).map(row).collect();
    html! {
        (table(&about_table(one), &go_heads(one), &rows))
        (sentences(&go_sentences(one)))
    }
}

/// Keys of the two ways of setting the tabs.
const WAYS: [&str; 2] = ["as_set_m_s", "level_m_s"];

/// A curve for each throttle in two pictures: tabs as set, and a tab moved for level flight.
fn ground_speed(report: &Report) -> Plots {
    let p = &report.penetration;
    let mut plots = Plots::new("ground speed against the wind", "wind_m_s", true);
    let mut throttles: Vec<f64> = Vec::new();
    for one in p.as_set.iter().chain(&p.level_with_tab) {
        if !throttles.contains(&one.throttle_fraction) {
            throttles.push(one.throttle_fraction);
        }
    }
    throttles.sort_by(f64::total_cmp);
    let at = |list: &[AtThrottle], throttle: f64| -> Option<Vec<f64>> {
        let one = list.iter().find(|one| one.throttle_fraction == throttle)?;
        Some(one.ground_speed_m_s.clone())
    };
    let name = |throttle: f64| format!("throttle {}", number(Some(throttle), 2));
    for (i, &throttle) in throttles.iter().enumerate() {
        let mut columns = BTreeMap::from([(
            "wind_m_s".to_owned(),
            p.winds_m_s.iter().map(|&wind| Some(wind)).collect(),
        )]);
        for (key, list) in WAYS.into_iter().zip([&p.as_set, &p.level_with_tab]) {
            let column = match at(list, throttle) {
                Some(speeds) => speeds.into_iter().map(Some).collect(),
                None => vec![None; p.winds_m_s.len()],
            };
            columns.insert(key.to_owned(), column);
        }
        plots.series.push(Series {
            name: name(throttle),
            look: Look::of(i),
            sample: Sample::Curve,
            columns,
        });
    }
    let with_tab = p
        .tab
        .as_ref()
        .map(|tab| format!("Level flight, {tab} moved"));
    let titles = [Some("Tabs as set".to_owned()), with_tab];
    for ((key, title), list) in WAYS
        .into_iter()
        .zip(titles)
        .zip([&p.as_set, &p.level_with_tab])
    {
        let Some(title) = title.filter(|_| !list.is_empty()) else {
            continue;
        };
        let mut marks = vec![Mark::Level(0.0, "no longer getting on".to_owned())];
        marks.extend(throttles.iter().enumerate().filter_map(|(i, &throttle)| {
            let points = p.winds_m_s.iter().copied().zip(at(list, throttle)?);
            Some(Mark::Curve(name(throttle), Look::of(i), points.collect()))
        }));
        let chart = Chart {
            title,
            x: Axis::new("wind against it", "m/s", 1),
            y: Axis::new("ground speed", "m/s", 2),
            equal: false,
            marks,
        };
        plots.chart(&chart, "wind_m_s", key, &[key]);
    }
    plots
}

fn dives(report: &Report) -> Plots {
    let recoveries = &report.dive.recoveries;
    let mut plots = Plots::new("height to end a dive", "throttle_fraction", true);
    let name = "height needed";
    let mut height = Axis::new("height", "m", 2);
    height.holds = vec![0.0];
    let points = recoveries
        .iter()
        .filter_map(|one| Some((one.throttle_fraction, one.height_m?)));
    let chart = Chart {
        title: "Height needed".to_owned(),
        x: Axis::new("throttle", "fraction", 2),
        y: height,
        equal: false,
        marks: vec![Mark::Curve(name.to_owned(), Look::of(0), points.collect())],
    };
    let columns = [
        (
            "throttle_fraction",
            recoveries
                .iter()
                .map(|one| Some(one.throttle_fraction))
                .collect(),
        ),
        (
            "height_m",
            recoveries
                .iter()
                .map(|one| one.height_m)
                .collect::<Vec<_>>(),
        ),
    ];
    plots.series.push(Series {
        name: name.to_owned(),
        look: Look::of(0),
        sample: Sample::Curve,
        columns: columns.map(|(key, values)| (key.to_owned(), values)).into(),
    });
    plots.chart(&chart, "throttle_fraction", "height_m", &["height_m"]);
    plots
}

fn made_by(report: &Report) -> Markup {
    let of_table = |one: &Table| {
        format!(
            "{}, scenario {}, seed {}, {} throws a cell; inputs, SHA-256: {}",
            one.study, one.scenario, one.seed, one.throws_each, one.inputs_sha256
        )
    };
    let tables: Vec<String> = report.tables.iter().map(of_table).collect();
    let version = format!("Tossline {}", report.tossline_version);
    let mut list: Vec<(&str, &str)> = vec![("airframe", &report.airframe)];
    list.extend(tables.iter().map(|words| ("study", words.as_str())));
    list.extend([
        ("version", version.as_str()),
        ("engine", report.engine.as_str()),
    ]);
    inputs(
        &list,
        &html! {
            (link("wind.json", "wind.json")) " "
            (link("wind-cells.csv", "wind-cells.csv")) " "
            (link("wind-throws.csv", "wind-throws.csv")) " "
            (link("wind.svg", "wind.svg"))
        },
    )
}
