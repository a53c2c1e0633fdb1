//! Columns of numbers: mean and spread of all, quantiles and histogram of as many as memory allows.

use super::chosen::Chosen;
use crate::study::quantiles::quantiles;
use crate::study::row::{ColumnKind, Row, TableColumn};
use crate::study::sensitivity::Moments;
use crate::summary::Cell;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// Flights whose values are kept for quantiles.
const MOST_KEPT: usize = 32_768;
/// Shares of the flights at which quantiles are given, and what they are called.
pub const QUANTILES: [(&str, f64); 7] = [
    ("0.01", 0.01),
    ("0.05", 0.05),
    ("0.25", 0.25),
    ("0.5", 0.5),
    ("0.75", 0.75),
    ("0.95", 0.95),
    ("0.99", 0.99),
];
/// Bins of a histogram.
const BINS: usize = 20;

/// An end of a column.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Extreme {
    /// The value.
    pub value: f64,
    /// The first flight that has it.
    pub flight: u64,
}

/// How often a column's values lie in equal bins.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Histogram {
    /// Where the first bin begins.
    pub from: f64,
    /// Where the last ends.
    pub to: f64,
    /// Values in each bin; the upper edge belongs to the last.
    pub counts: Vec<u64>,
}

/// A column of numbers; all in the unit at the end of its name.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct ColumnAnswer {
    /// The column.
    pub column: String,
    /// Counted flights that have a number there.
    pub flights: u64,
    /// Mean of them; absent where there is none.
    pub mean: Option<f64>,
    /// Standard deviation; absent of fewer than two.
    pub standard_deviation: Option<f64>,
    /// The least.
    pub least: Option<Extreme>,
    /// The most.
    pub most: Option<Extreme>,
    /// Of how many flights the quantiles and the histogram are.
    pub quantiles_of_flights: u64,
    /// Quantiles by their share of the flights.
    pub quantiles: BTreeMap<String, f64>,
    /// The same values in bins.
    pub histogram: Option<Histogram>,
}

impl ColumnAnswer {
    /// A quantile by the name of its share.
    pub fn quantile(&self, share: &str) -> Option<f64> {
        self.quantiles.get(share).copied()
    }
}

/// Kept columns of numbers.
#[derive(Clone, Debug)]
pub(super) struct Columns {
    columns: Vec<Column>,
    /// Flights whose values are kept.
    chosen: Chosen,
}

#[derive(Clone, Debug)]
struct Column {
    name: String,
    place: usize,
    moments: Moments,
    least: Option<Extreme>,
    most: Option<Extreme>,
    /// Not a number stands for none.
    values: Vec<f64>,
}

impl Columns {
    pub fn new(outputs: &[TableColumn]) -> Self {
        let numbers = outputs.iter().enumerate();
        let numbers = numbers.filter(|(_, column)| column.kind == ColumnKind::Number);
        Columns {
            columns: numbers
                .map(|(place, column)| Column {
                    name: column.name.clone(),
                    place,
                    moments: Moments::default(),
                    least: None,
                    most: None,
                    values: Vec::new(),
                })
                .collect(),
            chosen: Chosen::new(MOST_KEPT),
        }
    }

    pub fn add(&mut self, row: &Row) {
        let keeps = self.chosen.takes(row.flight);
        for column in &mut self.columns {
            let value = match row.outputs[column.place] {
                Cell::Number(value) => value,
                _ => f64::NAN,
            };
            if !value.is_nan() {
                column.add(value, row.flight);
            }
            if keeps {
                column.values.push(value);
            }
        }
        while let Some(stays) = self.chosen.thinned() {
            for column in &mut self.columns {
                let mut stays = stays.iter();
                column.values.retain(|_| stays.next() == Some(&true));
            }
        }
    }

    pub fn answers(&self) -> Vec<ColumnAnswer> {
        self.columns.iter().map(Column::answer).collect()
    }
}

impl Column {
    fn add(&mut self, value: f64, flight: u64) {
        self.moments.add(value);
        if self.least.is_none_or(|least| value < least.value) {
            self.least = Some(Extreme { value, flight });
        }
        if self.most.is_none_or(|most| value > most.value) {
            self.most = Some(Extreme { value, flight });
        }
    }

    fn answer(&self) -> ColumnAnswer {
        let mut sorted: Vec<f64> = self
            .values
            .iter()
            .copied()
            .filter(|v| !v.is_nan())
            .collect();
        sorted.sort_by(f64::total_cmp);
        let count = self.moments.count;
        ColumnAnswer {
            column: self.name.clone(),
            flights: count,
            mean: (count > 0).then_some(self.moments.mean),
            standard_deviation: (count > 1).then(|| self.moments.standard_deviation()),
            least: self.least,
            most: self.most,
            quantiles_of_flights: sorted.len() as u64,
            histogram: histogram(&sorted),
            quantiles: QUANTILES
                .iter()
                .zip(quantiles(sorted, QUANTILES.map(|(_, share)| share)))
                .filter_map(|(&(name, _), value)| Some((name.to_owned(), value?)))
                .collect(),
        }
    }
}

fn histogram(sorted: &[f64]) -> Option<Histogram> {
    let (&from, &to) = (sorted.first()?, sorted.last()?);
    let mut counts = vec![0; BINS];
    for value in sorted {
        let share = (value - from) / (to - from);
        // Of values all alike the share is no number; they are in the first bin.
        let bin = (share * BINS as f64) as usize;
        counts[bin.min(BINS - 1)] += 1;
    }
    Some(Histogram { from, to, counts })
}
