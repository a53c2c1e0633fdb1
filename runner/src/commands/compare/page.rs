//! What a builder reads of before and after.

use super::{Pair, Report};
use crate::output::CAUTION;
use crate::output::table::{number, of_texts};
use scenarios::compare::meaning::is_shown;
use scenarios::compare::{Difference, Verdict};
use serde_json::Value;
use std::path::Path;

/// Differences told in the paragraph at most.
const MOST_TOLD: usize = 12;

/// The word of a verdict in tables.
pub(super) fn word(verdict: Verdict) -> &'static str {
    match verdict {
        Verdict::Same => "same",
        Verdict::Sure => "differs",
        Verdict::Unsure => "smaller than what the estimate is sure of",
        Verdict::NoBand => "differs, band not known",
        Verdict::OnlyOne => "only one has it",
    }
}

/// A value of a file; a dash where there is none.
pub(super) fn value(value: Option<&Value>) -> String {
    match value {
        None => "–".to_owned(),
        Some(Value::String(text)) => text.clone(),
        Some(value) => value.to_string(),
    }
}

fn differs(one: &Difference) -> bool {
    one.verdict != Verdict::Same
}

/// One paragraph.
pub fn plain_words(report: &Report) -> String {
    let pairs = &report.pairs;
    let same = pairs
        .iter()
        .all(|p| p.words.is_empty() && !p.numbers.iter().any(differs));
    if report.fields.is_empty() && same {
        return "No differences.".to_owned();
    }
    if same {
        return format!(
            "{} fields differ; nothing that flies or balances does.",
            report.fields.len()
        );
    }
    let mut told = Vec::new();
    for pair in pairs {
        let name = if pairs.len() > 1 {
            format!("{}: ", pair.scenario)
        } else {
            String::new()
        };
        let meanings = pair.numbers.iter().filter_map(|one| one.meaning.as_ref());
        told.extend(meanings.map(|meaning| format!("{name}{meaning}")));
    }
    let unsure = pairs
        .iter()
        .flat_map(|pair| &pair.numbers)
        .filter(|one| one.verdict == Verdict::Unsure && is_shown(&one.name))
        .count();
    let more = told.len().saturating_sub(MOST_TOLD);
    told.truncate(MOST_TOLD);
    let mut text = match told.is_empty() {
        true => {
            "After against before: no difference that is sure and has a word for it.".to_owned()
        }
        false => format!("After against before: {}.", told.join("; ")),
    };
    if more > 0 {
        text += &format!(" {more} more below.");
    }
    if unsure > 0 {
        text += &format!(
            " {unsure} further differences are smaller than what the estimate is sure of."
        );
    }
    text
}

fn fields(report: &Report) -> String {
    let (worked_out, given): (Vec<_>, Vec<_>) =
        report.fields.iter().partition(|field| field.worked_out);
    let also = match worked_out.len() {
        0 => String::new(),
        count => format!(
            "{count} values that defaults or the estimate fill differ as well; they are in fields.csv.\n\n"
        ),
    };
    if given.is_empty() {
        return also;
    }
    let rows: Vec<Vec<String>> = given
        .iter()
        .map(|field| {
            vec![
                field.path.clone(),
                value(field.before.as_ref()),
                value(field.after.as_ref()),
            ]
        })
        .collect();
    of_texts(&["field of the file", "before", "after"], &rows) + &also + "\n"
}

fn throw(pair: &Pair) -> String {
    let rows: Vec<Vec<String>> = pair
        .numbers
        .iter()
        .filter(|one| differs(one) && is_shown(&one.name))
        .map(|one| {
            vec![
                one.name.clone(),
                number(one.before, 3),
                number(one.after, 3),
                number(one.difference, 3),
                number(one.one_sigma, 3),
                match &one.meaning {
                    Some(meaning) => meaning.clone(),
                    None if one.verdict == Verdict::Sure => String::new(),
                    None => word(one.verdict).to_owned(),
                },
            ]
        })
        .collect();
    let mut text = String::new();
    for (name, before, after) in &pair.words {
        text += &format!("{name}: {before} before, {after} after\n");
    }
    if rows.is_empty() {
        return format!(
            "{}: no differences among the numbers shown\n{text}",
            pair.scenario
        );
    }
    let heads = [
        pair.scenario.as_str(),
        "before",
        "after",
        "difference",
        "one sigma",
        "meaning",
    ];
    of_texts(&heads, &rows) + &text
}

/// The whole page.
pub fn page(report: &Report, out: &Path) -> String {
    let mut text = format!(
        "before: {}\nafter:  {}\n{}\n\n{}",
        report.before,
        report.after,
        report.in_plain_words,
        fields(report)
    );
    for pair in &report.pairs {
        text += &throw(pair);
        text.push('\n');
    }
    for name in &report.without_partner {
        text += &format!("{name}: only one of the two has it\n");
    }
    text += &match report.uncertain_fields {
        0 => "No band is known: neither file gives a one sigma, or results on disk are compared. How sure a difference is cannot be told.\n".to_owned(),
        count => format!(
            "one sigma: of the difference, {count} uncertain coefficients and factors moved in both at once. What is smaller than two of it is smaller than what the estimate is sure of.\n"
        ),
    };
    text + &format!(
        "Every number is in {}/compare.csv and compare.json; compare.svg shows both flights.\n{CAUTION}\n",
        out.display()
    )
}
