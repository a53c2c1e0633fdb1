//! The worst flights by a column.

use crate::study::keep::{Worst, WorstEnd};
use crate::study::row::Row;
use crate::summary::Cell;
use serde::{Deserialize, Serialize};
use std::cmp::Reverse;
use std::collections::BTreeSet;

/// A flight at the worse end of a column.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct WorstFlight {
    /// Its number.
    pub flight: u64,
    /// The column's value.
    pub value: f64,
}

/// The worst flights by a column, so many of them.
#[derive(Clone, Debug)]
pub(super) struct WorstOf {
    place: usize,
    count: usize,
    end: WorstEnd,
    /// Badness in the order of its number, then the flight, later ones better.
    flights: BTreeSet<(u64, Reverse<u64>)>,
}

impl WorstOf {
    pub fn new(worst: &Worst, place: usize) -> Self {
        WorstOf {
            place,
            count: worst.count as usize,
            end: worst.end,
            flights: BTreeSet::new(),
        }
    }

    pub fn add(&mut self, row: &Row) {
        if let Cell::Number(value) = row.outputs[self.place] {
            let badness = match self.end {
                WorstEnd::Highest => ordered(value),
                WorstEnd::Lowest => !ordered(value),
            };
            self.flights.insert((badness, Reverse(row.flight)));
            if self.flights.len() > self.count {
                self.flights.pop_first();
            }
        }
    }

    pub fn flights(&self) -> Vec<WorstFlight> {
        let worst_first = self.flights.iter().rev();
        worst_first
            .map(|&(badness, Reverse(flight))| WorstFlight {
                flight,
                value: match self.end {
                    WorstEnd::Highest => unordered(badness),
                    WorstEnd::Lowest => unordered(!badness),
                },
            })
            .collect()
    }
}

/// A whole number that is larger where the number is.
pub(super) fn ordered(value: f64) -> u64 {
    let bits = (value + 0.0).to_bits();
    if bits >> 63 == 1 {
        !bits
    } else {
        bits | (1 << 63)
    }
}

pub(super) fn unordered(bits: u64) -> f64 {
    f64::from_bits(if bits >> 63 == 1 {
        bits & !(1 << 63)
    } else {
        !bits
    })
}
