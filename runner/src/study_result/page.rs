//! A finished study as text: the paragraph, then tables.

use super::paragraph::digits;
use super::{Finished, Report, told_columns};
use crate::args::PageOption;
use crate::output::CAUTION;
use crate::output::table::{number, of_texts, percent};
use scenarios::study::judge::Share;
use scenarios::study::sensitivity::FieldShare;
use scenarios::study::tally::{Answer, ColumnAnswer, Decides, Point};
use std::path::Path;

/// Fields of a column's sensitivities that are shown.
const FIELDS_SHOWN: usize = 12;
/// Width of the paragraph.
const WIDTH: usize = 120;

/// The text; `out` is the folder where files stay, with its page or without.
pub fn page(finished: &Finished, out: Option<(&Path, PageOption)>) -> String {
    let report = &finished.report;
    let answer = &report.answer;
    let mut text = format!("{}\n\n{}\n\n", report.study, folded(&report.paragraph));
    if !answer.conditions.is_empty() {
        text += &conditions(answer);
        text.push('\n');
    }
    text += &columns(finished);
    if !finished.points.is_empty() && !answer.conditions.is_empty() {
        text.push('\n');
        text += &points(finished);
    }
    for decides in &answer.sensitivities {
        text.push('\n');
        text += &sensitivities(decides);
    }
    let ends: Vec<String> = answer
        .ends
        .iter()
        .map(|(word, count)| format!("{word} {count}"))
        .collect();
    text += &format!(
        "\nHow they ended: {}. Could not start: {}. Failed numerically: {}.\n",
        ends.join(", "),
        answer.could_not_start.flights,
        answer.failed.flights
    );
    if let Some((out, html)) = out {
        text += &written(report, out, html);
    }
    text + CAUTION + "\n"
}

fn written(report: &Report, out: &Path, html: PageOption) -> String {
    format!(
        "Written to {}: {}, summary.json, {}{}{}{}\n",
        out.display(),
        report.table,
        report.sample_table,
        report
            .points_table
            .map_or(String::new(), |name| format!(", {name}")),
        match report.worst_trajectories.first() {
            Some(worst) => format!(
                ", trajectories of the worst flights (first {})",
                worst.display()
            ),
            None => String::new(),
        },
        html.named()
    )
}

/// Lines no longer than a page is wide.
fn folded(text: &str) -> String {
    let mut lines = String::new();
    let mut length = 0;
    for word in text.split(' ') {
        let wide = word.chars().count();
        if length > 0 && length + 1 + wide > WIDTH {
            lines.push('\n');
            length = 0;
        } else if length > 0 {
            lines.push(' ');
            length += 1;
        }
        lines += word;
        length += wide;
    }
    lines
}

fn conditions(answer: &Answer) -> String {
    let heads = [
        "condition",
        "held",
        "of",
        "share and its interval",
        "asked",
        "enough",
    ];
    let mut rows: Vec<Vec<String>> = answer
        .conditions
        .iter()
        .map(|condition| {
            let share = &condition.share;
            vec![
                share.condition.clone(),
                share.meets.count.to_string(),
                share.meets.of.to_string(),
                percent(&share.meets),
                format!("{} %", number(Some(100.0 * share.least_share_fraction), 1)),
                match (share.holds, share.must_hold) {
                    (true, _) => "yes",
                    (false, true) => "NO, AND IT MUST",
                    (false, false) => "no",
                }
                .to_owned(),
            ]
        })
        .collect();
    if let Some(all) = &answer.all_conditions {
        rows.push(vec![
            "all of them".to_owned(),
            all.count.to_string(),
            all.of.to_string(),
            percent(all),
            String::new(),
            String::new(),
        ]);
    }
    of_texts(&heads, &rows)
}

/// A column's numbers as text: least, 5 %, median, 95 %, most, mean, standard deviation; a dash where there is none.
pub fn in_numbers(column: &ColumnAnswer) -> [String; 7] {
    [
        column.least.map(|least| least.value),
        column.quantile("0.05"),
        column.quantile("0.5"),
        column.quantile("0.95"),
        column.most.map(|most| most.value),
        column.mean,
        column.standard_deviation,
    ]
    .map(|value| value.map_or("–".to_owned(), digits))
}

fn columns(finished: &Finished) -> String {
    let heads = [
        "column", "throws", "least", "5 %", "half", "95 %", "most", "mean", "spread",
    ];
    let rows: Vec<Vec<String>> = told_columns(&finished.file, &finished.report.answer)
        .into_iter()
        .map(|column| {
            let mut row = vec![column.column.clone(), column.flights.to_string()];
            row.extend(in_numbers(column));
            row
        })
        .collect();
    if rows.is_empty() {
        return String::new();
    }
    of_texts(&heads, &rows)
        + "5 %, half, 95 %: that share of the throws has less; spread: standard deviation. All kept columns are in summary.json.\n"
}

fn points(finished: &Finished) -> String {
    let axes: Vec<&str> = finished
        .file
        .axes
        .iter()
        .map(|a| a.field.as_str())
        .collect();
    let names = finished.file.conditions.iter().map(|c| c.name.as_str());
    let mut heads = axes;
    heads.push("throws");
    heads.extend(names);
    let several = finished.file.conditions.len() > 1;
    if several {
        heads.push("all");
    }
    let short = |share: &Share| number(share.share_fraction.map(|s| 100.0 * s), 1) + " %";
    let row = |point: &Point| {
        let mut cells: Vec<String> = point.axis_values.iter().copied().map(digits).collect();
        cells.push(point.flights.to_string());
        cells.extend(point.conditions.iter().map(short));
        if several {
            cells.push(short(&point.all_conditions));
        }
        cells
    };
    let rows: Vec<Vec<String>> = finished.points.iter().map(row).collect();
    let mut text = of_texts(&heads, &rows);
    let left = finished.report.answer.points - rows.len() as u64;
    if left > 0 {
        text += &format!("{left} points more, and all intervals, are in points.csv.\n");
    }
    text
}

fn sensitivities(decides: &Decides) -> String {
    let with = |estimate: f64, plus_minus: f64| format!("{estimate:.3} ± {plus_minus:.3}");
    let is_sobol = matches!(
        decides.fields.first().map(|one| one.share),
        Some(FieldShare::Sobol { .. })
    );
    let heads: [&str; 3] = if is_sobol {
        ["by itself", "with others", ""]
    } else {
        ["mean size", "mean", "spread"]
    };
    let first = format!("what decides {}", decides.column);
    let heads: Vec<&str> = std::iter::once(first.as_str())
        .chain(heads.into_iter().filter(|head| !head.is_empty()))
        .collect();
    let shown = |value: f64| digits(value);
    let rows: Vec<Vec<String>> = decides
        .fields
        .iter()
        .take(FIELDS_SHOWN)
        .map(|one| {
            let mut cells = vec![one.field.clone()];
            match one.share {
                FieldShare::Sobol { first_order, total } => {
                    cells.push(with(first_order.estimate, first_order.plus_minus));
                    cells.push(with(total.estimate, total.plus_minus));
                }
                FieldShare::Elementary {
                    mean_size,
                    mean,
                    standard_deviation,
                } => {
                    let pair = |e: f64, p: f64| format!("{} ± {}", shown(e), shown(p));
                    cells.push(pair(mean_size.estimate, mean_size.plus_minus));
                    cells.push(pair(mean.estimate, mean.plus_minus));
                    cells.push(shown(standard_deviation));
                }
            }
            cells
        })
        .collect();
    if rows.is_empty() {
        return format!("{first}: it did not vary, or too few throws have it.\n");
    }
    let more = decides.fields.len().saturating_sub(FIELDS_SHOWN);
    let mut text = of_texts(&heads, &rows);
    if more > 0 {
        text += &format!("{more} fields that decide less are in summary.json.\n");
    }
    text += if is_sobol {
        "Shares of the variance: of the field by itself, and with all it does together with others.\n"
    } else {
        "In the column's unit, for the field's whole range of chances; spread large against mean size: bent, or together with others.\n"
    };
    text
}
