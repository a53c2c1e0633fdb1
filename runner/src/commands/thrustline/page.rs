//! What a builder reads of the thrust line on the terminal.

use super::paragraph::{angle_words, blows, percent};
use super::{Answer, Report, Verdict};
use crate::output::CAUTION;
use crate::output::table::{number, of_texts};
use scenarios::thrustline::power::{AtThrottle, PowerCurve};
use scenarios::thrustline::window::AtAngle;

/// Everything on the terminal; `written`: with the files that stay.
pub fn page(report: &Report, written: bool) -> String {
    let mut text = report.in_plain_words.clone() + "\n\n";
    for answer in &report.answers {
        if report.answers.len() > 1 {
            text += &heading(report, answer);
        }
        text += &angles(answer);
        text += &conditions(report, answer);
        text += &circumstances(answer);
        text += &power("as it is", &answer.power);
        if let Some(at_best) = &answer.power_at_best {
            text += &power(&format!("at {}°", number(answer.best_deg, 1)), at_best);
        }
        text += &notes(report, answer);
        text += &others(answer);
    }
    if let Some(tab) = &report.trimmed_by {
        text += &format!(
            "Each drawn airframe was first trimmed by test glides, bending {tab} until it glides as fast as drawn; --as-built leaves that out.\n"
        );
    }
    if report.could_not_start > 0 {
        let reason = report.first_reason.as_deref().unwrap_or("");
        text += &format!(
            "{} flights could not start and count as not meeting: {reason}\n",
            report.could_not_start
        );
    }
    text += &format!("{} flights.", report.flights);
    if written {
        text +=
            " Written: thrustline.json, thrustline.csv, thrustline.svg, study.json, trajectories/";
    }
    text + "\n" + CAUTION + "\n"
}

fn heading(report: &Report, answer: &Answer) -> String {
    let word = match answer.verdict {
        Verdict::Angle => format!(
            "{}, may be off by {}°",
            angle_words(report, answer.best_deg.unwrap_or(0.0)),
            number(answer.may_be_off_by_deg, 1)
        ),
        Verdict::NoAngle => "no angle does it".to_owned(),
        Verdict::CannotTell => "cannot be told".to_owned(),
    };
    let cuts = if answer.disc_cuts_a_surface {
        "; a propeller cuts a surface here"
    } else {
        ""
    };
    format!("motors {} mm up: {word}{cuts}\n", answer.height_change_mm)
}

fn angles(answer: &Answer) -> String {
    let rows = |pass: &str, list: &[AtAngle]| {
        let row = |at: &AtAngle| {
            vec![
                number(Some(at.angle_deg), 2),
                pass.to_owned(),
                format!("{} of {}", at.meets.count, at.meets.of),
                percent(at.meets.low_fraction),
                percent(at.meets.high_fraction),
                at.refused.clone().unwrap_or_default(),
            ]
        };
        list.iter().map(row).collect::<Vec<_>>()
    };
    let mut list = rows("choosing", &answer.chosen);
    list.extend(rows("stating", &answer.stated));
    of_texts(
        &[
            "angle\ndeg",
            "pass",
            "meet all",
            "at least",
            "at most",
            "refused",
        ],
        &list,
    )
}

fn conditions(report: &Report, answer: &Answer) -> String {
    let rows: Vec<Vec<String>> = answer
        .conditions
        .iter()
        .map(|one| {
            vec![
                one.condition.clone(),
                format!("{} of {}", one.meets.count, one.meets.of),
                percent(one.meets.low_fraction),
                percent(one.meets.high_fraction),
            ]
        })
        .collect();
    let head = format!(
        "condition at {}",
        angle_words(report, answer.conditions_at_deg)
    );
    of_texts(&[&head, "meet it", "at least", "at most"], &rows)
}

fn circumstances(answer: &Answer) -> String {
    let rows: Vec<Vec<String>> = answer
        .circumstances
        .iter()
        .map(|one| {
            let mark = if one.is_weakest { "weakest" } else { "" };
            vec![
                one.circumstance.clone(),
                format!("{} of {}", one.meets.count, one.meets.of),
                percent(one.meets.low_fraction),
                percent(one.meets.high_fraction),
                mark.to_owned(),
            ]
        })
        .collect();
    match rows.len() {
        0 | 1 => String::new(),
        _ => of_texts(
            &["circumstance", "meet all", "at least", "at most", ""],
            &rows,
        ),
    }
}

fn power(title: &str, curve: &PowerCurve) -> String {
    let row = |p: &AtThrottle| {
        let milli = |x: f64| number(Some(x * 1e3), 2);
        vec![
            number(Some(p.throttle_fraction), 1),
            number(Some(p.path_angle_deg), 1),
            number(Some(p.pitch_deg), 1),
            number(Some(p.airspeed_m_s), 2),
            number(Some(p.alpha_deg), 1),
            number(Some(p.stall_margin_deg), 1),
            milli(p.moment.total_n_m()),
            milli(p.moment.lever_arm_n_m),
            milli(p.moment.disc_normal_force_n_m),
            milli(p.moment.wash_n_m),
            milli(p.moment.suction_n_m),
        ]
    };
    let rows: Vec<Vec<String>> = curve.points.iter().map(row).collect();
    let head = format!("steady flight\n{title}: throttle");
    let mut text = of_texts(
        &[
            &head,
            "path\ndeg",
            "nose\ndeg",
            "airspeed\nm/s",
            "incidence\ndeg",
            "to stall\ndeg",
            "power's moment\nmN·m",
            "lever arm\nmN·m",
            "disc\nmN·m",
            "wash\nmN·m",
            "suction\nmN·m",
        ],
        &rows,
    );
    if let Some(reason) = &curve.ends_because {
        text += &format!("No steady flight beyond: {reason}\n");
    }
    match (curve.level_throttle_fraction, &curve.no_level_because) {
        (Some(level), _) => {
            text += &format!(
                "Level flight takes throttle {}, {} is left.",
                number(Some(level), 2),
                number(Some(1.0 - level), 2)
            );
        }
        (None, Some(reason)) => text += &format!("No level flight: {reason}."),
        (None, None) => {}
    }
    text += match curve.more_throttle_climbs {
        Some(true) => " More throttle means climb.",
        Some(false) => " More throttle does not always mean climb.",
        None => "",
    };
    if let Some(change) = curve.nose_change_deg {
        let way = if change < 0.0 { "down" } else { "up" };
        text += &format!(
            " From there to full throttle the steady nose goes {}° {way}.",
            number(Some(change.abs()), 1)
        );
    }
    text + "\n"
}

fn notes(report: &Report, answer: &Answer) -> String {
    let mut text = String::new();
    if !report.is_elevation {
        return text;
    }
    if let Some(aim) = answer.power.aimed_through_deg {
        text += &format!(
            "The thrust aims through the balance point at {}° ({}).\n",
            number(Some(aim), 1),
            blows(aim)
        );
    }
    text += &match answer.balanced_deg {
        Some(balanced) => format!(
            "Power does not pitch at all in steady flight at full throttle at {}° ({}).\n",
            number(Some(balanced), 2),
            blows(balanced)
        ),
        None => "At no angle looked at is power without pitching moment in steady flight at full throttle.\n".to_owned(),
    };
    let words = if report.pushers {
        "The propellers stand behind the balance point: tilting them so that they blow upwards lifts the nose.\n"
    } else {
        "The propellers stand ahead of the balance point: tilting them so that they blow downwards lifts the nose.\n"
    };
    text += words;
    for shift in &answer.power.weight_shift {
        text += &match (&shift.carried_by, shift.lost_fraction) {
            (Some(part), Some(lost)) => format!(
                "Motor {}: moving {part} moves the balance point along by {} of the way.\n",
                shift.motor,
                percent(lost)
            ),
            _ => format!(
                "Motor {}: no part carries it, so the file does not let its weight shift be told.\n",
                shift.motor
            ),
        };
    }
    text
}

fn others(answer: &Answer) -> String {
    let mut text = String::new();
    if !answer.other_changes.is_empty() {
        let row = |tried: &super::Tried| {
            vec![
                tried.change.clone(),
                format!("{} of {}", tried.conditions_met, tried.of),
                tried.not_met.join(", "),
                number(tried.lowest_m, 2),
                number(tried.largest_drop_deg, 1),
                number(tried.least_climb_m_s, 2),
            ]
        };
        let rows: Vec<Vec<String>> = answer.other_changes.iter().map(row).collect();
        text += &of_texts(
            &[
                "one other change, as drawn",
                "conditions met",
                "not met",
                "lowest\nm",
                "largest drop\ndeg",
                "least climb\nm/s",
            ],
            &rows,
        );
    }
    if !answer.measure_next.is_empty() {
        let rows: Vec<Vec<String>> = answer
            .measure_next
            .iter()
            .take(8)
            .map(|one| {
                vec![
                    one.field.clone(),
                    one.column.clone(),
                    number(Some(one.half_difference), 3),
                    percent(one.share_fraction),
                ]
            })
            .collect();
        text += &of_texts(
            &[
                "what spreads it",
                "column",
                "half difference",
                "of the spread",
            ],
            &rows,
        );
    }
    text
}
