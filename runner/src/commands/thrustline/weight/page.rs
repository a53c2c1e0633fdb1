//! What a builder reads of the greatest mass.

use super::Report;
use crate::args::PageOption;
use crate::output::CAUTION;
use crate::output::table::{number, of_texts, percent};
use scenarios::thrustline::weight::{Ends, Greatest, PartRow};
use std::path::Path;

fn grams(value: f64) -> String {
    format!("{} g", number(Some(value), 1))
}

/// Two ends with what is open said.
fn between(low_g: Option<f64>, high_g: Option<f64>) -> String {
    let end = |value: Option<f64>| value.map_or_else(|| "open".to_owned(), |v| number(Some(v), 1));
    format!("{} to {} g", end(low_g), end(high_g))
}

fn over_or_spare(greatest: &Greatest) -> String {
    if greatest.over_g > 0.0 {
        format!("{} over", grams(greatest.over_g))
    } else {
        format!("{} to spare", grams(-greatest.over_g))
    }
}

/// One paragraph to act on.
pub fn plain_words(report: &Report) -> String {
    let throttle = number(Some(report.throttle_fraction), 2);
    let mut text = format!("{} weighs {}. ", report.airframe, grams(report.mass_g));
    let of_draws = |ends: &Ends| {
        format!(
            " (nine in ten builds {}; {} of {} drawn builds hold height, {})",
            between(ends.greatest_mass_low_g, ends.greatest_mass_high_g),
            ends.flies_level.count,
            ends.flies_level.of,
            percent(&ends.flies_level)
        )
    };
    let margin = report.margin.as_ref();
    if let Some(re_set) = &report.carries.tab_re_set
        && let Some(tab) = &re_set.tab
    {
        text += &format!(
            "Level at throttle {throttle} it can be {}{}: {}. That is with {} at {}° instead of {}°, at {} m/s. ",
            grams(re_set.mass_g),
            margin.map_or(String::new(), |margin| of_draws(&margin.tab_re_set)),
            over_or_spare(re_set),
            tab.name,
            number(Some(tab.angle_deg), 1),
            number(Some(tab.setting_deg), 1),
            number(Some(re_set.airspeed_m_s), 1),
        );
        if re_set.at_the_end {
            text += "Stall, or the reach of that tab, keeps it from being more. ";
        }
    }
    text += &match (&report.carries.as_set, &report.carries.as_set_not_found) {
        (Some(greatest), _) => format!(
            "With the tabs as set it flies level at throttle {throttle} up to {}{}: {}.",
            grams(greatest.mass_g),
            margin.map_or(String::new(), |margin| of_draws(&margin.as_set)),
            over_or_spare(greatest)
        ),
        (None, reason) => format!(
            "At throttle {throttle}: {}.",
            reason.as_deref().unwrap_or("nothing was found")
        ),
    };
    text += &match (report.level_throttle_fraction, &report.no_level_because) {
        (Some(level), _) => format!(
            " As it is, level flight takes throttle {}.",
            number(Some(level), 2)
        ),
        (None, Some(reason)) => format!(" As it is: {reason}."),
        (None, None) => String::new(),
    };
    text
}

/// Heads of the table of flights; name and unit on two lines.
pub(crate) const FLIGHTS: [&str; 6] = [
    "level flight of the greatest mass",
    "mass\ng",
    "over\ng",
    "airspeed\nm/s",
    "incidence\ndeg",
    "to stall\ndeg",
];

/// The flights of the greatest mass.
pub(crate) fn flight_rows(report: &Report) -> Vec<Vec<String>> {
    let row = |name: &str, greatest: &Greatest| {
        vec![
            name.to_owned(),
            number(Some(greatest.mass_g), 1),
            number(Some(greatest.over_g), 1),
            number(Some(greatest.airspeed_m_s), 2),
            number(Some(greatest.alpha_deg), 1),
            number(Some(greatest.stall_margin_deg), 1),
        ]
    };
    let carries = &report.carries;
    let mut rows = Vec::new();
    rows.extend(carries.as_set.as_ref().map(|g| row("tabs as set", g)));
    rows.extend(carries.tab_re_set.as_ref().map(|greatest| {
        let tab = greatest.tab.as_ref().map_or("a tab", |tab| &tab.name);
        row(&format!("{tab} re-set"), greatest)
    }));
    rows
}

fn flights(report: &Report) -> String {
    match flight_rows(report) {
        rows if rows.is_empty() => String::new(),
        rows => of_texts(&FLIGHTS, &rows) + "over: negative is to spare.\n",
    }
}

/// What drawn builds come to, a sentence each.
pub(crate) fn draw_sentences(report: &Report) -> Vec<String> {
    let mut list = vec![match &report.trimmed_by {
        Some(tab) => format!("Drawn builds are trimmed by test glides with {tab} first."),
        None => "Drawn builds fly as built.".to_owned(),
    }];
    let ends = report.margin.iter().flat_map(|margin| {
        let re_set = report.carries.tab_re_set.as_ref();
        let re_set = re_set.map(|_| ("tab re-set", margin.tab_re_set));
        std::iter::once(("tabs as set", margin.as_set)).chain(re_set)
    });
    list.extend(ends.map(|(name, ends)| {
        format!(
            "{} drawn builds, {name}: greatest mass {}, to spare {} (nine in ten; negative: over; open: some fly level at no mass); {} fly level at no mass.",
            report.draws,
            between(ends.greatest_mass_low_g, ends.greatest_mass_high_g),
            between(ends.spare_low_g, ends.spare_high_g),
            ends.none_flies_level,
        )
    }));
    if report.could_not_be_drawn > 0 {
        list.push(format!(
            "{} builds could not be drawn.",
            report.could_not_be_drawn
        ));
    }
    list
}

/// Heads of the table of parts; name and unit on two lines.
pub(crate) const PARTS: [&str; 11] = [
    "part (all copies)",
    "mass\ng",
    "share\n%",
    "station\nmm",
    "balance\nmm aft",
    "margin\n%",
    "aim\ndeg",
    "lever\nmm",
    "ballast\ng per g",
    "in all\ng per g",
    "to level\ng",
];

/// What is said where the mass is measured as a whole.
pub(crate) const NO_PARTS: &str =
    "The mass is measured as a whole: the file does not say which part holds it.";

/// The parts.
pub(crate) fn part_rows(report: &Report) -> Vec<Vec<String>> {
    let row = |part: &PartRow| {
        let ballast = part.with_ballast;
        vec![
            part.part.clone(),
            number(Some(part.mass_g), 2),
            number(Some(100.0 * part.share_fraction), 1),
            number(Some(part.station_mm), 0),
            number(Some(part.balance_moves_aft_mm), 2),
            number(Some(100.0 * part.static_margin_change_fraction), 2),
            number(part.aimed_through_change_deg, 2),
            number(part.lever_arm_change_mm, 2),
            number(ballast.map(|b| b.saved_per_gram), 2),
            number(ballast.map(|b| b.saved_in_all_per_gram), 2),
            match ballast.and_then(|b| Some((b.to_level_g?, b.part_has_it?))) {
                Some((needed, true)) => number(Some(needed), 1),
                Some((_, false)) => "not enough".to_owned(),
                None => "–".to_owned(),
            },
        ]
    };
    report.parts.iter().map(row).collect()
}

/// What the columns of the parts mean.
pub(crate) fn about_parts(report: &Report) -> String {
    format!(
        "balance to lever: what a gram off that part (all of it where it weighs less) does if nothing else is done: balance point, static margin, angle that aims through the
balance point, lever arm of power (nose up positive). ballast: grams at {} mm that go with each gram off it, balance point (at {} mm) held; negative: to be added.
in all: both together. to level: grams off that part alone, ballast with them, for what is over with the tab re-set (as set where no tab trims). The ballast taken off must be there. Which parts can be lighter is yours to say.",
        number(Some(report.ballast_station_mm), 0),
        number(Some(report.balance_station_mm), 1),
    )
}

fn parts(report: &Report) -> String {
    match part_rows(report) {
        rows if rows.is_empty() => format!("{NO_PARTS}\n"),
        rows => of_texts(&PARTS, &rows) + &about_parts(report) + "\n",
    }
}

/// The whole text.
pub fn page(report: &Report, out: &Path, page: PageOption) -> String {
    let mut text = format!("{}\n\n{}", report.in_plain_words, flights(report));
    for sentence in draw_sentences(report) {
        text += &(sentence + "\n");
    }
    text.push('\n');
    text += &parts(report);
    text + &format!(
        "\n{}\nWritten to {}: weight.json, weight-parts.csv, weight-draws.csv{}\n{CAUTION}\n",
        report.not_flown,
        out.display(),
        page.named()
    )
}
