//! Tables of a sweep's page.

use super::Sweep;
use crate::output::html::{facts, link, table, words_of};
use crate::output::table::{number, percent};
use crate::study_result::page::in_numbers;
use crate::study_result::paragraph::{digits, in_words};
use maud::{Markup, html};
use scenarios::study::keep::Trajectories;
use scenarios::study::keep::WorstEnd;

/// Points of the axes on the page.
pub(super) const POINTS_SHOWN: usize = 60;
/// Worst flights on the page.
const WORST_SHOWN: usize = 6;
/// Fields named of a condition's missed throws.
const FIELDS_SHOWN: usize = 5;

fn heads(list: &[&str]) -> Vec<String> {
    list.iter().map(|head| (*head).to_owned()).collect()
}

pub(super) fn conditions(sweep: &Sweep<'_>) -> Markup {
    let conditions = sweep.file.conditions.iter().zip(&sweep.answer().conditions);
    let mut rows: Vec<Vec<Markup>> = conditions
        .map(|(condition, found)| {
            let share = &found.share;
            vec![
                html! { (condition.name) },
                html! { (in_words(condition)) },
                html! { (share.meets.count) " of " (share.meets.of) },
                html! { (percent(&share.meets)) },
                html! { (digits(100.0 * share.least_share_fraction)) " %" },
                html! {
                    @match (share.holds, share.must_hold) {
                        (true, _) => "yes",
                        (false, true) => "no, and it must",
                        (false, false) => "no",
                    }
                },
            ]
        })
        .collect();
    if let Some(all) = &sweep.answer().all_conditions {
        rows.push(vec![
            html! { "all of them" },
            html! {},
            html! { (all.count) " of " (all.of) },
            html! { (percent(all)) },
            html! {},
            html! {},
        ]);
    }
    let heads = heads(&[
        "condition",
        "what it asks",
        "held in",
        "share and its interval",
        "asked for",
        "enough as counted",
    ]);
    html! {
        (table("Conditions", &heads, &rows))
        p.note {
            "Brackets: " (number(Some(100.0 * sweep.answer().confidence_fraction), 1))
            " % confidence (Clopper-Pearson). They hold the luck of the draw, not what the model or the study leaves out."
        }
    }
}

pub(super) fn columns(sweep: &Sweep<'_>) -> Markup {
    let rows: Vec<Vec<Markup>> = sweep
        .columns()
        .iter()
        .map(|column| {
            let name = std::iter::once(html! { (words_of(&column.column)) });
            let flights = std::iter::once(column.flights.to_string());
            let cells = in_numbers(column).into_iter().chain(flights);
            name.chain(cells.map(|cell| html! { (cell) })).collect()
        })
        .collect();
    let heads = heads(&[
        "column",
        "least",
        "5 %",
        "half",
        "95 %",
        "most",
        "mean",
        "standard deviation",
        "throws",
    ]);
    let of = sweep
        .columns()
        .first()
        .map(|c| (c.quantiles_of_flights, c.flights));
    html! {
        (table("In numbers", &heads, &rows))
        p.note {
            "5 %, half, 95 %: that share of the throws has less. "
            @if let Some((some, all)) = of.filter(|(some, all)| some < all) {
                "Quantiles and pictures are of " (some) " of " (all) " throws, chosen as if by chance. "
            }
            "All kept columns are in summary.json."
        }
    }
}

pub(super) fn ends(sweep: &Sweep<'_>) -> Markup {
    let answer = sweep.answer();
    let ends: Vec<String> = answer
        .ends
        .iter()
        .map(|(word, count)| format!("{word} {count}"))
        .collect();
    let mut list = vec![
        ("flights", html! { (answer.flights) }),
        ("ended", html! { (ends.join(", ")) }),
    ];
    if answer.counted_flights < answer.flights {
        let only = html! { (answer.counted_flights) "; the others only show what decides" };
        list.push(("counted", only));
    }
    for (name, reasons) in [
        ("could not start", &answer.could_not_start),
        ("failed numerically", &answer.failed),
    ] {
        if let Some(reason) = &reasons.first_reason {
            list.push((name, html! { (reasons.flights) "; the first: " (reason) }));
        }
    }
    if let Some(left) = answer.left_model_range.filter(|&left| left > 0) {
        list.push(("left the range the model holds in", html! { (left) }));
    }
    facts(&list)
}

/// In what throws that missed a condition differ from those that met it.
pub(super) fn in_common(sweep: &Sweep<'_>) -> Markup {
    let mut rows = Vec::new();
    for found in &sweep.answer().conditions {
        for one in found.missed_have_in_common.iter().take(FIELDS_SHOWN) {
            rows.push(vec![
                html! { (found.share.condition) },
                html! { (one.field) },
                html! { (digits(one.mean_of_missed)) },
                html! { (digits(one.mean_of_met)) },
                html! { (digits(one.difference_in_standard_deviations)) },
            ]);
        }
    }
    let heads = heads(&[
        "condition",
        "field",
        "mean where missed",
        "mean where met",
        "apart, standard deviations",
    ]);
    html! { @if !rows.is_empty() { (table("What throws that missed a condition have in common", &heads, &rows)) } }
}

/// Axes, flights and shares with their intervals; means stay in the file.
pub(super) fn points(sweep: &Sweep<'_>) -> Markup {
    let (names, rows) = &sweep.points;
    let place = |name: &str| names.iter().position(|head| head == name);
    let of = |row: &[String], name: &str| row.get(place(name)?)?.parse::<f64>().ok();
    // The point's number, the axes, flights.
    let plain = 1..(sweep.file.axes.len() + 2).min(names.len());
    let asked: Vec<&str> = names
        .iter()
        .filter_map(|name| name.strip_suffix(": share_fraction"))
        .collect();
    let mut heads: Vec<String> = names[plain.clone()].to_vec();
    let of_asked = asked.iter();
    heads.extend(of_asked.map(|name| name.trim_start_matches("meets ").to_owned()));
    let percent = |row: &[String], name: &str| {
        let part = |what: &str| {
            let share = of(row, &format!("{name}: {what}_fraction"));
            number(share.map(|share| 100.0 * share), 0)
        };
        format!("{} % ({} to {})", part("share"), part("low"), part("high"))
    };
    let cells: Vec<Vec<Markup>> = rows
        .iter()
        .map(|row| {
            let values = row[plain.clone()].iter();
            let values = values.map(|text| text.parse().map_or_else(|_| text.clone(), digits));
            let shares = asked.iter().map(|name| percent(row, name));
            values.chain(shares).map(|cell| html! { (cell) }).collect()
        })
        .collect();
    let left = sweep.answer().points.saturating_sub(rows.len() as u64);
    html! {
        (table("Points of the axes", &heads, &cells))
        p.note {
            @if left > 0 { (left) " points more, and means, are in " }
            @else { "Means of the other columns at each point are in " }
            (link("points.csv", "points.csv")) "."
        }
    }
}

/// The worst flights with what was drawn for them.
pub(super) fn worst(sweep: &Sweep<'_>) -> Markup {
    let columns = sweep.columns();
    let kept = &sweep.answer().worst_flights;
    let by = match &sweep.file.keep.trajectories {
        Trajectories::Worst(worst) if !kept.is_empty() => Some(worst),
        _ => None,
    };
    let says = |flight: u64| -> String {
        let mut words = Vec::new();
        if let (Some(worst), Some(one)) = (by, kept.iter().find(|one| one.flight == flight)) {
            let end = match worst.end {
                WorstEnd::Lowest => "low",
                WorstEnd::Highest => "high",
            };
            words.push(format!("{} {} ({end})", worst.column, digits(one.value)));
        }
        for column in &columns {
            let ends = [(column.least, "least"), (column.most, "most")];
            for (extreme, word) in ends {
                let asked = sweep.condition_of(&column.column).is_some();
                let named = by.is_some_and(|worst| worst.column == column.column);
                if let Some(extreme) = extreme.filter(|e| e.flight == flight && asked && !named) {
                    words.push(format!(
                        "{} {} ({word})",
                        column.column,
                        digits(extreme.value)
                    ));
                }
            }
        }
        words.join(", ")
    };
    let all = sweep.worst_flights();
    let flights = &all[..all.len().min(WORST_SHOWN)];
    let mut names = vec![String::new()];
    names.extend(flights.iter().map(|flight| format!("flight {flight}")));
    let row = |name: &str, of: &dyn Fn(u64) -> Markup| -> Vec<Markup> {
        let cells = flights.iter().map(|&flight| of(flight));
        std::iter::once(html! { (name) }).chain(cells).collect()
    };
    let drawn: Vec<Vec<f64>> = flights
        .iter()
        .map(|&flight| sweep.plan.flight(flight).values)
        .collect();
    let mut rows = vec![
        row("why it is here", &|flight| html! { (says(flight)) }),
        row("its file", &|flight| {
            html! { @match sweep.trajectory(flight) { Some(file) => (link(&file, "trajectory")), None => "–" } }
        }),
    ];
    rows.extend(sweep.plan.fields().enumerate().map(|(i, field)| {
        let cells = drawn.iter().map(|values| html! { (digits(values[i])) });
        std::iter::once(html! { (field) }).chain(cells).collect()
    }));
    html! {
        @if flights.is_empty() { p { "The study names no conditions and keeps no worst flights, so none is worse than another." } }
        @else { (table("The worst flights, and what was drawn for them", &names, &rows)) }
        p {
            "Rows of single flights are in the table of flights, inputs beside outputs"
            @if all.len() > flights.len() { "; " (all.len() - flights.len()) " worst flights more are in summary.json" }
            @if sweep.file.keep.trajectories != Trajectories::None { "; trajectories that are kept lie in the folder trajectories" }
            "."
        }
    }
}
