//! What a builder reads of before and after.

use super::{Pair, Report};
use crate::args::PageOption;
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

/// Heads of the table of fields.
pub(crate) const OF_FIELDS: [&str; 3] = ["field of the file", "before", "after"];

/// Fields that a file gives and that differ, and a sentence on those that are filled.
pub(crate) fn field_rows(report: &Report) -> (Vec<Vec<String>>, Option<String>) {
    let (worked_out, given): (Vec<_>, Vec<_>) =
        report.fields.iter().partition(|field| field.worked_out);
    let also = (!worked_out.is_empty()).then(|| {
        format!(
            "{} values that defaults or the estimate fill differ as well; they are in fields.csv.",
            worked_out.len()
        )
    });
    let rows = given.iter().map(|field| {
        vec![
            field.path.clone(),
            value(field.before.as_ref()),
            value(field.after.as_ref()),
        ]
    });
    (rows.collect(), also)
}

fn fields(report: &Report) -> String {
    let (rows, also) = field_rows(report);
    let also = also.map_or_else(String::new, |also| also + "\n\n");
    if rows.is_empty() {
        return also;
    }
    of_texts(&OF_FIELDS, &rows) + &also + "\n"
}

/// Heads of the table of numbers, behind the throw's name.
pub(crate) const OF_NUMBERS: [&str; 5] = ["before", "after", "difference", "one sigma", "meaning"];

/// The numbers of a throw that differ and are shown.
pub(crate) fn number_rows(pair: &Pair) -> Vec<Vec<String>> {
    pair.numbers
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
        .collect()
}

/// Words of a throw that differ, a sentence each.
pub(crate) fn word_sentences(pair: &Pair) -> Vec<String> {
    let sentence = |(name, before, after): &(String, String, String)| {
        format!("{name}: {before} before, {after} after")
    };
    pair.words.iter().map(sentence).collect()
}

fn throw(pair: &Pair) -> String {
    let rows = number_rows(pair);
    let words = word_sentences(pair).into_iter();
    let text: String = words.map(|sentence| sentence + "\n").collect();
    if rows.is_empty() {
        return format!(
            "{}: no differences among the numbers shown\n{text}",
            pair.scenario
        );
    }
    let heads: Vec<&str> = std::iter::once(pair.scenario.as_str())
        .chain(OF_NUMBERS)
        .collect();
    of_texts(&heads, &rows) + &text
}

/// Further sentences: who has no partner, and what the one sigmas are.
pub(crate) fn sentences(report: &Report) -> Vec<String> {
    let lonely = report.without_partner.iter();
    let lonely = lonely.map(|name| format!("{name}: only one of the two has it"));
    lonely.chain([match report.uncertain_fields {
        0 => "No band is known: neither file gives a one sigma, or results on disk are compared. How sure a difference is cannot be told.".to_owned(),
        count => format!(
            "one sigma: of the difference, {count} uncertain coefficients and factors moved in both at once. What is smaller than two of it is smaller than what the estimate is sure of."
        ),
    }])
    .collect()
}

/// The whole text.
pub fn page(report: &Report, out: &Path, page: PageOption) -> String {
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
    for sentence in sentences(report) {
        text += &(sentence + "\n");
    }
    let shown = match (report.flights.is_empty(), page.no_page) {
        (true, true) => "no trajectory was found to draw",
        (true, false) => "report.html is the page; no trajectory was found to draw",
        (false, true) => "compare.svg shows the flights",
        (false, false) => "compare.svg shows the flights, report.html is the page",
    };
    text + &format!(
        "Every number is in {}/compare.csv and compare.json; {shown}.\n{CAUTION}\n",
        out.display()
    )
}
