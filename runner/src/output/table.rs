//! Tables for people: aligned, units in the heads, the worst case marked.

use comfy_table::{Cell, CellAlignment, Table, presets};
use scenarios::study::judge::Share;

/// A column of numbers.
pub struct Column {
    /// Head, first line.
    pub name: &'static str,
    /// Unit, second line.
    pub unit: &'static str,
    /// Digits after the point.
    pub decimals: usize,
    /// Which end is the worst.
    pub worst: Worst,
}

/// Which value of a column is the worst.
#[derive(Clone, Copy, PartialEq, Eq)]
pub enum Worst {
    /// No end is worse than the other.
    None,
    /// The lowest.
    Lowest,
    /// The highest.
    Highest,
}

/// A number with so many digits after the point, never "-0"; a dash where there is none.
pub fn number(value: Option<f64>, decimals: usize) -> String {
    let Some(value) = value else {
        return "–".to_owned();
    };
    let text = format!("{value:.decimals$}");
    match text.strip_prefix('-') {
        Some(digits) if digits.chars().all(|c| c == '0' || c == '.') => digits.to_owned(),
        _ => text,
    }
}

/// A share in per cent with its interval.
pub fn percent(share: &Share) -> String {
    let of = |fraction: f64| number(Some(fraction * 100.0), 1);
    format!(
        "{} % ({} to {} %)",
        number(share.share_fraction.map(|s| s * 100.0), 1),
        of(share.low_fraction),
        of(share.high_fraction)
    )
}

/// A table with a name in front of each row. The worst value of a column is marked with `*` where rows differ.
pub fn of_numbers(corner: &str, columns: &[Column], rows: &[(String, Vec<Option<f64>>)]) -> String {
    let mut table = plain(
        std::iter::once(corner.to_owned())
            .chain(columns.iter().map(|c| format!("{}\n{}", c.name, c.unit))),
    );
    let marks: Vec<Option<f64>> = columns
        .iter()
        .enumerate()
        .map(|(i, column)| worst(column.worst, rows.iter().filter_map(|(_, row)| row[i])))
        .collect();
    for (name, row) in rows {
        let cells = columns
            .iter()
            .zip(row)
            .zip(&marks)
            .map(|((column, value), mark)| {
                let star = if value.is_some() && value == mark {
                    "*"
                } else {
                    " "
                };
                Cell::new(number(*value, column.decimals) + star)
                    .set_alignment(CellAlignment::Right)
            });
        table.add_row(std::iter::once(Cell::new(name)).chain(cells));
    }
    format!("{table}\n")
}

/// A table of words and ready numbers; all columns but the first to the right.
pub fn of_texts(heads: &[&str], rows: &[Vec<String>]) -> String {
    let mut table = plain(heads.iter().map(|head| (*head).to_owned()));
    for row in rows {
        table.add_row(row.iter().enumerate().map(|(i, text)| {
            let alignment = if i == 0 {
                CellAlignment::Left
            } else {
                CellAlignment::Right
            };
            Cell::new(text).set_alignment(alignment)
        }));
    }
    format!("{table}\n")
}

fn plain(heads: impl Iterator<Item = String>) -> Table {
    let mut table = Table::new();
    table.load_style(presets::NOTHING);
    table.set_header(heads.enumerate().map(|(i, head)| {
        let alignment = if i == 0 {
            CellAlignment::Left
        } else {
            CellAlignment::Right
        };
        Cell::new(head).set_alignment(alignment)
    }));
    table
}

/// The worst of some values; none where they are all alike.
pub fn worst(which: Worst, values: impl Iterator<Item = f64>) -> Option<f64> {
    let values: Vec<f64> = values.collect();
    let low = values.iter().copied().reduce(f64::min)?;
    let high = values.iter().copied().reduce(f64::max)?;
    match which {
        _ if low == high => None,
        Worst::None => None,
        Worst::Lowest => Some(low),
        Worst::Highest => Some(high),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_number_rounded_to_nothing_has_no_sign() {
        assert_eq!(number(Some(-0.04), 1), "0.0");
        assert_eq!(number(Some(-0.06), 1), "-0.1");
        assert_eq!(number(None, 1), "–");
    }

    #[test]
    fn marks_the_worst_and_leaves_absent_cells_open() {
        let columns = [
            Column {
                name: "lowest",
                unit: "m",
                decimals: 2,
                worst: Worst::Lowest,
            },
            Column {
                name: "time",
                unit: "s",
                decimals: 1,
                worst: Worst::None,
            },
        ];
        let rows = [
            ("calm".to_owned(), vec![Some(1.5), Some(3.0)]),
            ("gust".to_owned(), vec![Some(0.25), None]),
        ];
        let text = of_numbers("throw", &columns, &rows);
        assert!(
            text.contains("0.25*") && text.contains("1.50 ") && text.contains('–'),
            "{text}"
        );
        assert_eq!(text.matches('*').count(), 1);
    }
}
