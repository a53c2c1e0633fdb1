//! What the wind leaves, as text and as the cells of a picture.

use super::Report;
use super::table::{Largest, Table};
use crate::args::PageOption;
use crate::output::CAUTION;
use crate::output::table::{number, of_texts, percent};
use crate::output::verdicts::Picture;
use scenarios::wind_limits::dive::Recovery;
use scenarios::wind_limits::penetration::{AtThrottle, InWind, NoReturn};
use scenarios::wind_limits::verdicts::{Cell, Verdict};
use std::path::Path;

/// One paragraph to act on.
pub(super) fn plain_words(report: &Report) -> String {
    let mut list: Vec<String> = report.tables.iter().map(largest_of_all).collect();
    let p = &report.penetration;
    // The tab is moved before a throw and not in the air: with it as it is set comes first.
    list.push(no_return(
        p.no_return.as_ref(),
        p.reserve_m_s,
        "with tabs as set",
    ));
    list.push(least_dive(report).unwrap_or_else(|| {
        let degrees = report.dive.angle_deg;
        format!("No throttle of these ends a dive {degrees}° down within 10 s.")
    }));
    list.push(level(report));
    format!("{}: {}", report.airframe, list.join(" "))
}

/// The largest wind or gust that goes at any throttle, counted with throws of its own.
fn largest_of_all(table: &Table) -> String {
    let what = what(table);
    let goes = table.largest.iter().filter_map(|one| {
        let cell = one.stated.as_ref()?;
        (cell.verdict == Verdict::Go).then_some((cell, one.is_last_tried))
    });
    let share = number(Some(100.0 * table.asked_share_fraction), 0);
    let names = names(table);
    match goes.max_by(|a, b| a.0.first.total_cmp(&b.0.first)) {
        Some((cell, is_last_tried)) => format!(
            "{} up to {} m/s{} it goes at throttle {}: {} of throws of their own meet {names}, where {share} % are asked.",
            capital(what),
            cell.first,
            if is_last_tried {
                ", the largest tried,"
            } else {
                ""
            },
            cell.throttle_fraction,
            percent(&cell.meets_all),
        ),
        // What is not ruled out may go yet.
        None if table.cells.iter().any(|cell| cell.verdict != Verdict::NoGo) => format!(
            "No {what} goes for sure: {} throws each cannot tell whether {share} % meet {names}; fly more, or take another throttle.",
            table.throws_each
        ),
        None => format!(
            "No {what} of these goes at any throttle: fewer than {share} % of throws meet {names}."
        ),
    }
}

fn capital(what: &str) -> &str {
    match what {
        "wind" => "Wind",
        _ => "Gust",
    }
}

fn what(table: &Table) -> &'static str {
    match &*table.first_axis {
        "wind" => "wind",
        _ => "gust",
    }
}

pub(super) fn text(report: &Report, out: Option<&Path>, page: PageOption) -> String {
    let mut text = format!("{}\n\n{}", report.in_plain_words, steady(report));
    text += &dive(report);
    for table in &report.tables {
        text += &go(table);
    }
    if let Some(out) = out {
        text += &format!(
            "Written to {}: wind.json, wind-cells.csv, wind-throws.csv, wind.svg{}\n",
            out.display(),
            page.named()
        );
    }
    text + CAUTION + "\n"
}

/// Heads of the table of steady flight; name and unit on two lines.
pub(crate) fn steady_heads(report: &Report) -> Vec<String> {
    let fixed = [
        "steady, no gusts",
        "throttle",
        "airspeed\nm/s",
        "climb\nm/s",
        "to stall\ndeg",
    ];
    let winds = report.penetration.winds_m_s.iter();
    let fixed = fixed.into_iter().map(str::to_owned);
    fixed
        .chain(winds.map(|wind| format!("wind {wind}\nm/s")))
        .collect()
}

/// Steady flight at each throttle, tabs as set and moved for level flight.
pub(crate) fn steady_rows(report: &Report) -> Vec<Vec<String>> {
    let p = &report.penetration;
    let row = |one: &AtThrottle, name: String| {
        let mut row = vec![
            name,
            number(Some(one.throttle_fraction), 2),
            number(Some(one.airspeed_m_s), 2),
            number(Some(one.climb_m_s), 2),
            number(Some(one.stall_margin_deg), 1),
        ];
        row.extend(one.ground_speed_m_s.iter().map(|&v| number(Some(v), 2)));
        row
    };
    let as_set = p.as_set.iter().map(|one| row(one, "tabs as set".into()));
    let tab = p.tab.as_deref().unwrap_or_default();
    let level = p.level_with_tab.iter().map(|one| {
        let name = format!("level, {tab} at {} deg", number(one.tab_deg, 1));
        row(one, name)
    });
    as_set.chain(level).collect()
}

/// What stands under the table of steady flight.
pub(crate) const ABOUT_STEADY: &str = "Under each wind: ground speed against it, m/s; negative is blown back. The wind is that where it flies.";

/// In which wind it no longer comes back, a sentence for each way of setting the tabs.
pub(crate) fn no_returns(report: &Report) -> Vec<String> {
    let p = &report.penetration;
    let as_set = no_return(p.no_return.as_ref(), p.reserve_m_s, "with tabs as set");
    let with_tab = p.tab.as_ref().map(|tab| {
        let how = format!("with {tab} moved for level flight");
        no_return(p.no_return_with_tab.as_ref(), p.reserve_m_s, &how)
    });
    std::iter::once(as_set).chain(with_tab).collect()
}

/// Heads of the table of winds; two lines each.
pub(crate) const IN_WINDS: [&str; 4] = [
    "wind\nm/s",
    "glide, 100 m\nupwind loses m",
    "glide, 100 m\ndownwind loses m",
    "level upwind until\nthe cell ends it, m",
];

/// Gliding and flying level in each wind.
pub(crate) fn wind_rows(report: &Report) -> Vec<Vec<String>> {
    let winds = report.penetration.in_winds.iter();
    let row = |one: &InWind| {
        vec![
            number(Some(one.wind_m_s), 1),
            number(one.glide_height_lost_upwind_m, 1),
            number(one.glide_height_lost_downwind_m, 1),
            number(one.level_distance_upwind_m, 0),
        ]
    };
    winds.map(row).collect()
}

/// What stands under the table of winds.
pub(crate) const ABOUT_WINDS: &str = "–: it is not flown at all.";

/// What level flight takes.
pub(crate) fn level(report: &Report) -> String {
    match (&report.penetration.level, &report.penetration.no_level) {
        (Some(level), _) => format!(
            "Level flight: throttle {:.2}, {:.2} m/s, {} min until {}; heat is left out.",
            level.throttle_fraction,
            level.airspeed_m_s,
            number(level.endurance_min, 1),
            level.endurance_ended_by.replace('_', " ")
        ),
        (None, Some(reason)) => format!("Level flight: {reason}."),
        (None, None) => String::new(),
    }
}

fn steady(report: &Report) -> String {
    let heads = steady_heads(report);
    let heads: Vec<&str> = heads.iter().map(String::as_str).collect();
    let mut text = of_texts(&heads, &steady_rows(report)) + ABOUT_STEADY + "\n";
    for sentence in no_returns(report) {
        text += &(sentence + "\n");
    }
    text += &(of_texts(&IN_WINDS, &wind_rows(report)) + ABOUT_WINDS + "\n");
    text + &level(report) + "\n"
}

fn no_return(found: Option<&NoReturn>, reserve_m_s: f64, how: &str) -> String {
    match found {
        Some(found) => format!(
            "It no longer comes back in {:.1} m/s {how} (throttle {:.2}); with {reserve_m_s} m/s in reserve, in {:.1} m/s.",
            found.wind_m_s, found.throttle_fraction, found.wind_with_reserve_m_s
        ),
        None => {
            format!("At no throttle of these it holds height {how}: it comes back from no wind.")
        }
    }
}

/// The dive, in words.
pub(crate) fn about_dive(report: &Report) -> String {
    let dive = &report.dive;
    format!(
        "a dive {} deg down at {:.1} m/s, throttle {} before, tabs as set, nobody steering: height needed to end it",
        dive.angle_deg, dive.airspeed_m_s, dive.throttle_before_fraction
    )
}

/// Heads of the table of dives; two lines each.
pub(crate) const DIVES: [&str; 4] = ["throttle", "height\nm", "fastest\nm/s", "stalled\ns"];

/// The dive at each throttle.
pub(crate) fn dive_rows(report: &Report) -> Vec<Vec<String>> {
    let row = |one: &Recovery| {
        vec![
            number(Some(one.throttle_fraction), 2),
            one.height_m
                .map_or("no climb in 10 s".to_owned(), |m| number(Some(m), 2)),
            number(one.airspeed_max_m_s, 1),
            number(one.stalled_time_s, 2),
        ]
    };
    report.dive.recoveries.iter().map(row).collect()
}

/// The throttle that ends a dive in the least height.
pub(crate) fn least_dive(report: &Report) -> Option<String> {
    let heights = report.dive.recoveries.iter();
    let heights = heights.filter_map(|one| Some((one.throttle_fraction, one.height_m?)));
    let (throttle, height) = heights.min_by(|a, b| a.1.total_cmp(&b.1))?;
    Some(format!(
        "A dive {} deg down takes {} m to end at the best throttle of these, {throttle:.2}.",
        report.dive.angle_deg,
        number(Some(height), 2)
    ))
}

fn dive(report: &Report) -> String {
    let text = about_dive(report) + "\n" + &of_texts(&DIVES, &dive_rows(report));
    text + &least_dive(report).map_or_else(String::new, |least| least + "\n")
}

/// What a table of go and no-go counts.
pub(crate) fn about_table(table: &Table) -> String {
    format!(
        "{}: share of {} throws each that meet {}",
        table.study,
        table.throws_each,
        names(table)
    )
}

/// Heads of a table of go and no-go.
pub(crate) fn go_heads(table: &Table) -> Vec<String> {
    let throttles = table.largest.iter();
    let throttles = throttles.map(|one| format!("throttle {}", one.throttle_fraction));
    std::iter::once(format!("{} m/s", what(table)))
        .chain(throttles)
        .collect()
}

/// Winds (or gusts) of a table, each with its cells.
pub(crate) fn go_rows(table: &Table) -> impl Iterator<Item = (f64, &[Cell])> {
    let rows = table.cells.chunks(table.largest.len().max(1));
    rows.filter_map(|cells| Some((cells.first()?.first, cells)))
}

/// What stands under a table of go and no-go, a sentence each.
pub(crate) fn go_sentences(table: &Table) -> Vec<String> {
    let what = what(table);
    let mut list = vec![format!(
        "go: the whole {} % interval (Clopper-Pearson, for that cell alone) is at or over {} %; no-go: under it.",
        number(Some(table.confidence_fraction * 100.0), 1),
        number(Some(table.asked_share_fraction * 100.0), 1)
    )];
    list.extend(table.largest.iter().enumerate().map(|(i, one)| {
        format!(
            "throttle {}: {}{}",
            one.throttle_fraction,
            largest(what, one),
            least_met(what, table, i)
        )
    }));
    if let Some(reason) = &table.first_reason_of_no_start {
        list.push(format!(
            "Some throws could not start and count as not met; the first: {reason}"
        ));
    }
    list.push("The throws' scatter is common practice or assumption, no source, and the brackets hold the luck of the draw alone: film your own throws.".to_owned());
    list
}

fn go(table: &Table) -> String {
    let heads = go_heads(table);
    let heads: Vec<&str> = heads.iter().map(String::as_str).collect();
    let row = |(first, cells): (f64, &[Cell])| {
        let said = |cell: &Cell| format!("{} {}", percent(&cell.meets_all), cell.verdict.words());
        std::iter::once(first.to_string())
            .chain(cells.iter().map(said))
            .collect()
    };
    let rows: Vec<Vec<String>> = go_rows(table).map(row).collect();
    let mut text = about_table(table) + "\n" + &of_texts(&heads, &rows);
    for sentence in go_sentences(table) {
        text += &(sentence + "\n");
    }
    text
}

/// The condition least met in the first cell of a throttle that does not go.
fn least_met(what: &str, table: &Table, throttle: usize) -> String {
    let first = table.column(throttle).find(|c| c.verdict != Verdict::Go);
    let least = first.and_then(|cell| {
        let each = table.conditions.iter().zip(&cell.meets_each);
        let least = each.min_by_key(|(_, share)| share.count)?;
        Some((cell.first, least))
    });
    let Some((speed, (condition, share))) = least else {
        return String::new();
    };
    format!(
        "; at {what} {speed} m/s least met is {}: {}",
        condition.name,
        percent(share)
    )
}

fn names(table: &Table) -> String {
    let names: Vec<&str> = table.conditions.iter().map(|c| c.name.as_str()).collect();
    if names.is_empty() {
        "nothing in particular (the study has no conditions)".to_owned()
    } else {
        names.join(", ")
    }
}

fn largest(what: &str, one: &Largest) -> String {
    let Some(cell) = &one.stated else {
        return format!("no {what} of these goes");
    };
    let beyond = if one.is_last_tried {
        ", the largest tried"
    } else {
        ""
    };
    let said = percent(&cell.meets_all);
    if cell.verdict == Verdict::Go {
        format!(
            "largest {what} that goes {} m/s{beyond}; throws of their own: {said}, go",
            cell.first
        )
    } else {
        format!(
            "{what} up to {} m/s seemed to go{beyond}, but throws of their own say {said}, {}: take the next lower",
            cell.first,
            cell.verdict.words()
        )
    }
}

/// The tables as pictures.
pub(super) fn pictures(report: &Report) -> Vec<Picture> {
    let tables = report.tables.iter();
    tables
        .map(|table| Picture {
            title: format!(
                "{}, {}: share of throws that meet {}",
                report.airframe,
                table.study,
                names(table)
            ),
            first: format!("{} m/s", table.first_axis),
            speeds: table.column(0).map(|cell| cell.first.to_string()).collect(),
            throttles: table
                .largest
                .iter()
                .map(|one| format!("throttle {}", one.throttle_fraction))
                .collect(),
            cells: table
                .cells
                .iter()
                .map(|cell| {
                    let share = number(cell.meets_all.share_fraction.map(|s| s * 100.0), 0);
                    (cell.verdict, format!("{share} % {}", cell.verdict.words()))
                })
                .collect(),
        })
        .collect()
}
