//! What a builder reads first of the thrust line: one paragraph to act on.

use super::{Answer, Hold, Report, Verdict};
use crate::output::table::number;
use scenarios::thrustline::window::AtAngle;

/// Which way the propeller blows its air at an elevation, and which way the thrust pulls.
pub(super) fn blows(elevation_deg: f64) -> String {
    let size = number(Some(elevation_deg.abs()), 1);
    if size == "0.0" {
        return "air blown straight back".to_owned();
    }
    if elevation_deg < 0.0 {
        format!("air blown back and {size}° up")
    } else {
        format!("air blown back and {size}° down")
    }
}

pub(super) fn angle_words(report: &Report, angle_deg: f64) -> String {
    let angle = number(Some(angle_deg), 1);
    if report.is_elevation {
        format!("thrust elevation {angle}° ({})", blows(angle_deg))
    } else {
        format!("{} {angle}", report.angle_field)
    }
}

pub(super) fn percent(share: f64) -> String {
    format!("{:.0} %", 100.0 * share)
}

/// One paragraph to act on.
pub(super) fn plain_words(report: &Report) -> String {
    let answer = &report.answers[0];
    let mut text = fault(report, answer);
    match (answer.verdict, answer.best_deg, &answer.window) {
        (Verdict::Angle, Some(best), Some(window)) => {
            text += &format!(
                "Set the motors to {}. Between {}° and {}° at least {} of throws meet every condition ({} of {} at the weakest angle, interval {} to {}); you may be off by {}° either way. ",
                angle_words(report, best),
                number(Some(window.low_deg), 1),
                number(Some(window.high_deg), 1),
                percent(report.share_wanted_fraction),
                window.least.count,
                window.least.of,
                percent(window.least.low_fraction),
                percent(window.least.high_fraction),
                number(answer.may_be_off_by_deg, 1),
            );
            text += &hold(answer);
            text += &bands(answer);
        }
        (Verdict::NoAngle, ..) => {
            let angles: Vec<f64> = answer.chosen.iter().map(|at| at.angle_deg).collect();
            text += &format!(
                "No angle between {}° and {}° cures it: at none does even the airframe as drawn meet every condition. ",
                number(angles.first().copied(), 0),
                number(angles.last().copied(), 0)
            );
            text += &left_and_right(report, answer);
            let least = answer.other_changes.iter().filter(|tried| tried.is_least);
            let does: Vec<String> = least.map(what_it_does).collect();
            text += &match does.as_slice() {
                [] => format!(
                    "Nor does any other single change tried{}.",
                    nearest_change(answer)
                ),
                list => format!(
                    "With the angle as it is, the least that does, as drawn: {}. Change that in the file and ask again for its share.",
                    list.join("; or ")
                ),
            };
            text += " ";
        }
        _ => {
            text += &not_sure(report, answer);
            text += &left_and_right(report, answer);
            text += &bands(answer);
            text += &measure_next(answer);
        }
    }
    text += &beside(answer);
    text.trim_end().to_owned()
}

/// What the flights at the best angle found say, where that is not enough to state one.
fn not_sure(report: &Report, answer: &Answer) -> String {
    let wanted = percent(report.share_wanted_fraction);
    let at = angle_words(report, answer.conditions_at_deg);
    let Some(meets) = answer.meets_at_best_found else {
        return format!("No angle can be stated: no flight at {at} tells. ");
    };
    let sure = match meets.low_fraction >= report.share_wanted_fraction {
        true => format!("surely the {wanted} wanted"),
        false => format!("not surely the {wanted} wanted"),
    };
    let mut text = format!(
        "No angle can be stated for sure. The best found is {at}: there {} of {} throws meet every condition ({} to {}), {sure}",
        meets.count,
        meets.of,
        percent(meets.low_fraction),
        percent(meets.high_fraction),
    );
    let floor = report.floor_wanted_fraction;
    let mut short: Vec<&super::CircumstanceShare> = answer
        .circumstances
        .iter()
        .filter(|one| one.meets.low_fraction < floor)
        .collect();
    short.sort_by_key(|one| one.meets.count);
    let names = |list: &[&super::CircumstanceShare]| {
        let one = |c: &&super::CircumstanceShare| {
            format!("{} ({} of {})", c.circumstance, c.meets.count, c.meets.of)
        };
        list.iter().map(one).collect::<Vec<String>>().join(", ")
    };
    text += &match short.len() {
        _ if answer.circumstances.len() < 2 => ". ".to_owned(),
        0 => ". ".to_owned(),
        1..=3 => format!(", but not surely {} in {}. ", percent(floor), names(&short)),
        several => format!(
            ", and not surely {} in {several} circumstances, least in {}. ",
            percent(floor),
            names(&short[..1])
        ),
    };
    if !answer.holds_as_drawn {
        text += "Not even the airframe as drawn meets every condition. ";
    }
    text
}

/// What to measure so that it can be told.
fn measure_next(answer: &Answer) -> String {
    let most = answer.measure_next.first();
    most.filter(|most| most.share_fraction > 0.0)
        .map_or_else(String::new, |most| {
            format!(
                "Measure next: {}{} (give or take one standard deviation it moves {} by {}, {} of the spread). ",
                most.field,
                how_to_measure(&most.field),
                most.column,
                number(Some(most.half_difference.abs()), 2),
                percent(most.share_fraction)
            )
        })
}

/// How a builder gets at a number of the file. Common practice, no source.
fn how_to_measure(field: &str) -> &'static str {
    let name = field.strip_prefix("coefficients.").unwrap_or(field);
    match name.split('.').next().unwrap_or("") {
        "drag_min" | "drag_factor" | "lift_at_min_drag" => {
            ", by the distance test glides go for their height in still air"
        }
        "lift_alpha_per_rad" | "lift_zero" => ", by the airspeed of test glides",
        "pitch_alpha_per_rad" => {
            ", by how far the trim must change when the balance point moves 2 mm"
        }
        "pitch_zero" | "tabs" => ", by test glides at two settings of the tab",
        "mass" => ", on a scale and by where it balances",
        "motors" if name.ends_with("deg") => ", with a protractor against the reference line",
        "motors" | "cell" => ", by the pull of each motor on a scale",
        _ => "",
    }
}

/// Shown conditions that fewer than half of the throws meet: no angle is chosen by them, and a builder wants to know.
fn beside(answer: &Answer) -> String {
    let rare = |one: &&super::ConditionShare| {
        !one.counts && one.meets.of > 0 && 2 * one.meets.count < one.meets.of
    };
    let list: Vec<String> = answer
        .conditions
        .iter()
        .filter(rare)
        .map(|one| {
            let (count, of) = (one.meets.count, one.meets.of);
            format!("{} is met by {count} of {of} throws only", one.condition)
        })
        .collect();
    match list.is_empty() {
        true => String::new(),
        false => format!("Beside what the angle is chosen by: {}.", list.join("; ")),
    }
}

/// Whether it is the angle that fails, or what differs between left and right.
fn left_and_right(report: &Report, answer: &Answer) -> String {
    let share = |at: &AtAngle| at.meets.share_fraction.unwrap_or(0.0);
    let straight = answer.straight.iter();
    let Some(best) = straight.max_by(|a, b| share(a).total_cmp(&share(b))) else {
        return String::new();
    };
    let weakest = best.each.iter().filter_map(|each| each.share_fraction);
    let weakest = weakest.fold(1.0, f64::min);
    let enough = best.refused.is_none()
        && share(best) >= report.share_wanted_fraction
        && weakest >= report.floor_wanted_fraction;
    let reach = format!(
        "{} of throws do at {}°, {} in the weakest circumstance",
        percent(share(best)),
        number(Some(best.angle_deg), 1),
        percent(weakest)
    );
    match enough {
        true => format!(
            "It is not the angle but what differs between left and right (warp, the two motors, the hand): with left and right alike {reach}. First make it glide straight and match the motors. "
        ),
        false => format!("With left and right alike {reach}. "),
    }
}

fn what_it_does(tried: &super::Tried) -> String {
    format!(
        "{} (lowest {} m, largest drop {}°, least climb {} m/s)",
        tried.change,
        number(tried.lowest_m, 2),
        number(tried.largest_drop_deg, 1),
        number(tried.least_climb_m_s, 2)
    )
}

/// With what the angle can be held.
fn hold(answer: &Answer) -> String {
    let with = match answer.hold {
        Some(Hold::ByEye) => "Set it by eye. ",
        Some(Hold::Protractor) => "Set it with a protractor on the mount. ",
        Some(Hold::Wedge) => "Set it with a wedge cut from the drawing, nothing less. ",
        Some(Hold::NotToBeKept) => "Nobody holds an angle so exactly: it is no usable angle. ",
        None => "",
    };
    let set = answer.setting.as_ref().map(|setting| {
        format!(
            "Set off by up to {}°, {} of {} throws meet all. ",
            number(Some(setting.within_deg), 1),
            setting.at.meets.count,
            setting.at.meets.of
        )
    });
    with.to_owned() + &set.unwrap_or_default()
}

/// What the estimate's bands leave of it.
fn bands(answer: &Answer) -> String {
    match answer.bands.len() {
        0 => "As if the coefficients were exact. ".to_owned(),
        draws => format!(
            "Of {draws} draws of what is not known of the airframe it is good in {}, bad in {}. ",
            answer.bands_good, answer.bands_bad
        ),
    }
}

fn nearest_change(answer: &Answer) -> String {
    let best = answer
        .other_changes
        .iter()
        .max_by_key(|tried| tried.conditions_met);
    best.map_or_else(String::new, |tried| {
        format!(
            "; the nearest, {}, meets {} of {} and not {}",
            tried.change,
            tried.conditions_met,
            tried.of,
            tried.not_met.join(", ")
        )
    })
}

/// What power does now.
fn fault(report: &Report, answer: &Answer) -> String {
    let full = answer
        .power
        .points
        .iter()
        .rfind(|p| p.throttle_fraction == 1.0);
    let Some(full) = full else {
        return format!(
            "{}: no steady flight at full throttle as it is. ",
            report.airframe
        );
    };
    let moment = full.moment.total_n_m() * 1e3;
    let way = if moment < 0.0 { "down" } else { "up" };
    format!(
        "{}: at full throttle power pushes the nose {way} with {} mN·m (the thrust's lever arm alone: {} {}). ",
        report.airframe,
        number(Some(moment.abs()), 2),
        number(Some((full.moment.lever_arm_n_m * 1e3).abs()), 2),
        if full.moment.lever_arm_n_m < 0.0 {
            "down"
        } else {
            "up"
        },
    )
}
