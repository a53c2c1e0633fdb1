//! A finished study in one plain paragraph that a builder can act on.

use crate::output::names::{against, name_and_unit, spaced};
use crate::output::table::percent;
use scenarios::study::StudyFile;
use scenarios::study::file::{Comparison, Condition};
use scenarios::study::judge::Share;
use scenarios::study::sensitivity::FieldShare;
use scenarios::study::tally::{Answer, ColumnAnswer, ConditionAnswer, Decides, InCommon};

/// Fields named after a condition or a column.
const FIELDS_NAMED: usize = 2;
/// A field that decides less than this share is not named.
const LEAST_SHARE: f64 = 0.05;

/// The paragraph: how often all held, what did not hold and what to look after, then the rest.
pub fn paragraph(file: &StudyFile, scenario: &str, answer: &Answer) -> String {
    let mut said = vec![opening(file, scenario, answer)];
    if let Some(all) = &answer.all_conditions {
        said.push(format!(
            "All {} conditions together held in {}.",
            file.conditions.len(),
            percent(all)
        ));
    }
    let conditions = file.conditions.iter().zip(&answer.conditions);
    let (enough, short): (Vec<_>, Vec<_>) = conditions.partition(|(_, found)| found.share.holds);
    for (condition, found) in short.into_iter().chain(enough) {
        said.push(of_condition(condition, found, answer));
        if let Some(worst) = worst_of(condition, answer) {
            said.push(worst);
        }
    }
    if file.conditions.is_empty() {
        said.extend(spread(answer));
    }
    said.extend(at_points(file, answer));
    said.extend(answer.sensitivities.iter().filter_map(of_column));
    if let Some(left) = answer.left_model_range.filter(|&left| left > 0) {
        said.push(format!(
            "{left} of {} throws left the range the model holds in: trust those less; the column model_range says where each did.",
            answer.counted_flights
        ));
    }
    said.join(" ")
}

fn opening(file: &StudyFile, scenario: &str, answer: &Answer) -> String {
    let mut text = format!("{} throws of {scenario}", answer.flights);
    if answer.counted_flights < answer.flights {
        text += &format!(
            " ({} of them drawn apart, which are counted; the others only show what decides)",
            answer.counted_flights
        );
    }
    if file.scatter.fields.is_empty() {
        text += ", nothing left to chance";
    }
    let lost = [
        (&answer.could_not_start, "could not start"),
        (&answer.failed, "failed numerically"),
    ];
    for (reasons, what) in lost {
        if let (Some(flight), Some(reason)) = (reasons.first_flight, &reasons.first_reason) {
            text += &format!(
                "; {} {what}, the first of them flight {flight}: {reason}",
                reasons.flights
            );
        }
    }
    text + "."
}

fn of_condition(condition: &Condition, found: &ConditionAnswer, answer: &Answer) -> String {
    let share = &found.share;
    let least = condition.least_share_fraction;
    let asked = if least >= 1.0 {
        "every throw is asked for".to_owned()
    } else {
        format!("{} % are asked for", digits(100.0 * least))
    };
    let verdict = verdict(&share.meets, least, share.holds);
    let must = match (condition.must_hold, share.holds) {
        (true, false) => " IT MUST HOLD.",
        _ => "",
    };
    let mut text = format!(
        "\"{}\" ({}) held in {} of {} throws, {}; {asked}: {verdict}.{must}",
        condition.name,
        in_words(condition),
        share.meets.count,
        answer.counted_flights,
        percent(&share.meets)
    );
    let common: Vec<String> = found
        .missed_have_in_common
        .iter()
        .take(FIELDS_NAMED)
        .map(differs)
        .collect();
    if !common.is_empty() {
        text += &format!(
            " Throws that missed it had {}. Look after that first.",
            common.join(", and ")
        );
    }
    text
}

/// What a share says of what is asked.
fn verdict(share: &Share, least: f64, holds: bool) -> &'static str {
    match (
        holds,
        share.low_fraction >= least,
        share.high_fraction < least,
    ) {
        (true, true, _) => "enough",
        (true, false, _) if least >= 1.0 => "so far none missed it",
        (true, false, _) => "enough as counted, but more throws may show otherwise",
        (false, _, true) => "not enough",
        (false, _, false) => "not enough as counted, though more throws may show otherwise",
    }
}

fn differs(one: &InCommon) -> String {
    let by = one.difference_in_standard_deviations;
    format!(
        "{} {}",
        if by > 0.0 { "more" } else { "less" },
        against(&one.field, one.mean_of_missed, one.mean_of_met, digits)
    )
}

/// What a condition asks.
pub fn in_words(condition: &Condition) -> String {
    let (column, unit) = name_and_unit(&condition.column);
    let limit = condition.limit.map(digits).unwrap_or_default() + &spaced(unit);
    let word = condition.word.as_deref().unwrap_or_default();
    match condition.comparison {
        Comparison::AtLeast => format!("{column} at least {limit}"),
        Comparison::AtMost => format!("{column} at most {limit}"),
        Comparison::Above => format!("{column} above {limit}"),
        Comparison::Below => format!("{column} below {limit}"),
        Comparison::Is => format!("{column} is {word}"),
        Comparison::IsNot => format!("{column} is not {word}"),
    }
}

/// The middle half of a condition's column and the flight at its worse end.
fn worst_of(condition: &Condition, answer: &Answer) -> Option<String> {
    let column = answer
        .columns
        .iter()
        .find(|column| column.column == condition.column)?;
    let worst = match condition.comparison {
        Comparison::AtLeast | Comparison::Above => column.least?,
        Comparison::AtMost | Comparison::Below => column.most?,
        Comparison::Is | Comparison::IsNot => return None,
    };
    Some(format!(
        "Half of the throws had a {}; the worst, flight {}, had {}{}.",
        middle(column)?,
        worst.flight,
        digits(worst.value),
        spaced(name_and_unit(&column.column).1)
    ))
}

fn middle(column: &ColumnAnswer) -> Option<String> {
    let [low, high] = ["0.25", "0.75"].map(|share| column.quantile(share).map(digits));
    let (low, high) = (low?, high?);
    let (name, unit) = name_and_unit(&column.column);
    let unit = spaced(unit);
    Some(match low == high {
        true => format!("{name} of about {low}{unit}"),
        false => format!("{name} from {low} to {high}{unit}"),
    })
}

/// Without conditions: how far and how long throws went.
fn spread(answer: &Answer) -> Option<String> {
    let wanted = ["distance_from_release_m", "flight_time_s"];
    let columns = answer.columns.iter();
    let middles: Vec<String> = columns
        .filter(|column| wanted.contains(&column.column.as_str()))
        .filter_map(middle)
        .collect();
    (!middles.is_empty()).then(|| {
        format!(
            "Half of the throws had a {}. The study names no conditions, so nothing is judged.",
            middles.join(", half a ")
        )
    })
}

fn at_points(file: &StudyFile, answer: &Answer) -> Option<String> {
    let (best, worst) = (answer.best_point.as_ref()?, answer.worst_point.as_ref()?);
    let place = |values: &[f64]| {
        let axes = file.axes.iter().zip(values);
        let each: Vec<String> = axes
            .map(|(axis, &value)| format!("{} {}", axis.field, digits(value)))
            .collect();
        each.join(", ")
    };
    Some(if best.point == worst.point {
        "No point of the axes is better than another.".to_owned()
    } else {
        format!(
            "Most throws met every condition at {}, {}; fewest at {}, {}.",
            place(&best.axis_values),
            percent(&best.all_conditions),
            place(&worst.axis_values),
            percent(&worst.all_conditions)
        )
    })
}

fn of_column(decides: &Decides) -> Option<String> {
    if decides.fields.is_empty() {
        return Some(format!(
            "What decides the {} cannot be said: it did not vary, or too few throws have it.",
            name_and_unit(&decides.column).0
        ));
    }
    let (name, unit) = name_and_unit(&decides.column);
    let unit = spaced(unit);
    let mut named: Vec<String> = Vec::new();
    for one in decides.fields.iter().take(FIELDS_NAMED) {
        match one.share {
            FieldShare::Sobol { first_order, total } if total.estimate >= LEAST_SHARE => {
                named.push(format!(
                    "{} ({} ± {} % of its variance go with it, {} % with it alone)",
                    one.field,
                    digits(100.0 * total.estimate),
                    digits(100.0 * total.plus_minus),
                    digits(100.0 * first_order.estimate.max(0.0))
                ));
            }
            FieldShare::Elementary { mean_size, .. } => named.push(format!(
                "{} ({} ± {}{unit} over its whole range)",
                one.field,
                digits(mean_size.estimate),
                digits(mean_size.plus_minus)
            )),
            FieldShare::Sobol { .. } => {}
        }
    }
    let left_out = match decides.left_out {
        0 => String::new(),
        n => format!(" ({n} samples are left out, having no such number)"),
    };
    (!named.is_empty()).then(|| {
        format!(
            "What decides the {name} most is {}{left_out}.",
            named.join(", then ")
        )
    })
}

/// A number to three digits, as people write it.
pub fn digits(value: f64) -> String {
    let size = value.abs();
    if size == 0.0 {
        return "0".to_owned();
    }
    let decimals = match size {
        s if s >= 100.0 => 0,
        s if s >= 10.0 => 1,
        s if s >= 1.0 => 2,
        s if s >= 0.1 => 3,
        s if s >= 0.001 => 5,
        _ => return format!("{value:.2e}"),
    };
    let text = format!("{value:.decimals$}");
    match text.contains('.') {
        true => text.trim_end_matches('0').trim_end_matches('.').to_owned(),
        false => text,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_have_three_digits_and_no_idle_ones() {
        for (value, text) in [
            (0.0, "0"),
            (1234.6, "1235"),
            (95.0, "95"),
            (12.34, "12.3"),
            (-1.5, "-1.5"),
            (0.25, "0.25"),
            (0.0123, "0.0123"),
            (1.234e-5, "1.23e-5"),
        ] {
            assert_eq!(digits(value), text);
        }
    }

    #[test]
    fn a_verdict_minds_the_interval() {
        let of = |count, of, least| {
            let share = Share::new(count, of, 0.95);
            let holds = share.share_fraction.is_some_and(|s| s >= least);
            verdict(&share, least, holds)
        };
        assert_eq!(of(100, 100, 0.9), "enough");
        assert!(of(92, 100, 0.9).starts_with("enough as counted"));
        assert!(of(88, 100, 0.9).starts_with("not enough as counted"));
        assert_eq!(of(50, 100, 0.9), "not enough");
        assert_eq!(of(100, 100, 1.0), "so far none missed it");
    }
}
