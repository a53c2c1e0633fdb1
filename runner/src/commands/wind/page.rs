//! What the wind leaves, as text and as the cells of a picture.

use super::Report;
use super::table::{Largest, Table};
use crate::output::CAUTION;
use crate::output::table::{number, of_texts, percent};
use crate::output::verdicts::Picture;
use scenarios::wind_limits::penetration::{AtThrottle, NoReturn};
use scenarios::wind_limits::verdicts::Verdict;
use std::path::Path;

pub(super) fn text(report: &Report, out: Option<&Path>) -> String {
    let mut text = format!("{}\n{}", report.airframe, steady(report));
    text += &dive(report);
    for table in &report.tables {
        text += &go(table);
    }
    if let Some(out) = out {
        text += &format!(
            "Written to {}: wind.json, wind-cells.csv, wind-throws.csv, wind.svg\n",
            out.display()
        );
    }
    text + CAUTION + "\n"
}

fn steady(report: &Report) -> String {
    let p = &report.penetration;
    let mut heads: Vec<String> = [
        "steady, no gusts",
        "throttle",
        "airspeed\nm/s",
        "climb\nm/s",
        "to stall\ndeg",
    ]
    .map(str::to_owned)
    .to_vec();
    heads.extend(p.winds_m_s.iter().map(|wind| format!("wind {wind}\nm/s")));
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
    let mut rows: Vec<Vec<String>> = p
        .as_set
        .iter()
        .map(|one| row(one, "tabs as set".into()))
        .collect();
    let tab = p.tab.as_deref().unwrap_or_default();
    rows.extend(p.level_with_tab.iter().map(|one| {
        let name = format!("level, {tab} at {} deg", number(one.tab_deg, 1));
        row(one, name)
    }));
    let heads: Vec<&str> = heads.iter().map(String::as_str).collect();
    let mut text = of_texts(&heads, &rows);
    text += "Under each wind: ground speed against it, m/s; negative is blown back. The wind is that where it flies.\n";
    text += &no_return(p.no_return.as_ref(), p.reserve_m_s, "with tabs as set");
    if p.tab.is_some() {
        let how = format!("with {tab} moved for level flight");
        text += &no_return(p.no_return_with_tab.as_ref(), p.reserve_m_s, &how);
    }
    let rows: Vec<Vec<String>> = p
        .in_winds
        .iter()
        .map(|one| {
            vec![
                number(Some(one.wind_m_s), 1),
                number(one.glide_height_lost_upwind_m, 1),
                number(one.glide_height_lost_downwind_m, 1),
                number(one.level_distance_upwind_m, 0),
            ]
        })
        .collect();
    text += &of_texts(
        &[
            "wind\nm/s",
            "glide, 100 m\nupwind loses m",
            "glide, 100 m\ndownwind loses m",
            "level upwind until\nthe cell ends it, m",
        ],
        &rows,
    );
    text += "–: it is not flown at all.\n";
    match (&p.level, &p.no_level) {
        (Some(level), _) => {
            text += &format!(
                "level flight: throttle {:.2}, {:.2} m/s, {} min until {}; heat is left out\n",
                level.throttle_fraction,
                level.airspeed_m_s,
                number(level.endurance_min, 1),
                level.endurance_ended_by.replace('_', " ")
            );
        }
        (None, Some(reason)) => text += &format!("level flight: {reason}\n"),
        (None, None) => {}
    }
    text
}

fn no_return(found: Option<&NoReturn>, reserve_m_s: f64, how: &str) -> String {
    match found {
        Some(found) => format!(
            "It no longer comes back in {:.1} m/s {how} (throttle {:.2}); with {reserve_m_s} m/s in reserve, in {:.1} m/s.\n",
            found.wind_m_s, found.throttle_fraction, found.wind_with_reserve_m_s
        ),
        None => {
            format!("At no throttle of these it holds height {how}: it comes back from no wind.\n")
        }
    }
}

fn dive(report: &Report) -> String {
    let dive = &report.dive;
    let mut text = format!(
        "a dive {} deg down at {:.1} m/s, throttle {} before, tabs as set, nobody steering: height needed to end it\n",
        dive.angle_deg, dive.airspeed_m_s, dive.throttle_before_fraction
    );
    let rows: Vec<Vec<String>> = dive
        .recoveries
        .iter()
        .map(|one| {
            vec![
                number(Some(one.throttle_fraction), 2),
                one.height_m
                    .map_or("no climb in 10 s".to_owned(), |m| number(Some(m), 2)),
                number(one.airspeed_max_m_s, 1),
                number(one.stalled_time_s, 2),
            ]
        })
        .collect();
    text += &of_texts(
        &["throttle", "height\nm", "fastest\nm/s", "stalled\ns"],
        &rows,
    );
    let least = dive
        .recoveries
        .iter()
        .filter(|one| one.height_m.is_some())
        .min_by(|a, b| a.height_m.partial_cmp(&b.height_m).expect("finite heights"));
    if let Some(least) = least {
        text += &format!(
            "Least height of these: throttle {:.2}, {} m.\n",
            least.throttle_fraction,
            number(least.height_m, 2)
        );
    }
    text
}

fn go(table: &Table) -> String {
    let what = match table.first_axis {
        "wind" => "wind",
        _ => "gust",
    };
    let mut text = format!(
        "{}: share of {} throws each that meet {}\n",
        table.study,
        table.throws_each,
        names(table)
    );
    let throttles: Vec<String> = table
        .largest
        .iter()
        .map(|one| format!("throttle {}", one.throttle_fraction))
        .collect();
    let first = format!("{what} m/s");
    let mut heads: Vec<&str> = vec![&first];
    heads.extend(throttles.iter().map(String::as_str));
    let rows: Vec<Vec<String>> = table
        .cells
        .chunks(table.largest.len())
        .map(|cells| {
            let mut row = vec![cells[0].first.to_string()];
            row.extend(
                cells
                    .iter()
                    .map(|cell| format!("{} {}", percent(&cell.meets_all), cell.verdict.words())),
            );
            row
        })
        .collect();
    text += &of_texts(&heads, &rows);
    text += &format!(
        "go: the whole {} % interval (Clopper-Pearson, for that cell alone) is at or over {} %; no-go: under it.\n",
        number(Some(table.confidence_fraction * 100.0), 1),
        number(Some(table.asked_share_fraction * 100.0), 1)
    );
    for (i, one) in table.largest.iter().enumerate() {
        text += &format!(
            "throttle {}: {}{}\n",
            one.throttle_fraction,
            largest(what, one),
            least_met(what, table, i)
        );
    }
    if let Some(reason) = &table.first_reason_of_no_start {
        text += &format!("Some throws could not start and count as not met; the first: {reason}\n");
    }
    text += "The throws' scatter is common practice or assumption, no source, and the brackets hold the luck of the draw alone: film your own throws.\n";
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
