//! What a study comes to, in numbers.

use super::column::ColumnAnswer;
use super::point::Point;
use super::worst::WorstFlight;
use crate::study::judge::{ConditionShare, Share};
use crate::study::keep::SensitivityKind;
use crate::study::sensitivity::FieldShare;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// Flights of one kind: how many, and the first.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Reasons {
    /// How many.
    pub flights: u64,
    /// Number of the first of them.
    pub first_flight: Option<u64>,
    /// Its reason.
    pub first_reason: Option<String>,
}

impl Reasons {
    pub(super) fn add(&mut self, flight: u64, reason: &str) {
        if self.flights == 0 {
            self.first_flight = Some(flight);
            self.first_reason = Some(reason.to_owned());
        }
        self.flights += 1;
    }
}

/// A field that differs between flights that met a condition and those that missed it.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct InCommon {
    /// The field.
    pub field: String,
    /// Mean of the flights that missed less that of those that met, in standard deviations of both together.
    pub difference_in_standard_deviations: f64,
    /// Mean of those that missed, in the field's unit.
    pub mean_of_missed: f64,
    /// Mean of those that met.
    pub mean_of_met: f64,
}

/// A condition, its share, and what flights that missed it have in common.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct ConditionAnswer {
    /// The share.
    #[serde(flatten)]
    pub share: ConditionShare,
    /// The fields that differ, the most different first.
    pub missed_have_in_common: Vec<InCommon>,
}

/// What decides a column.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Decides {
    /// The column, the unit at its end.
    pub column: String,
    /// How it was found.
    pub kind: SensitivityKind,
    /// Samples whose whole group has the number.
    pub samples: u64,
    /// Samples left out because a flight of the group does not have it.
    pub left_out: u64,
    /// The fields, the most weighty first; empty where the column does not vary.
    pub fields: Vec<FieldDecides>,
}

/// A field with its share.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct FieldDecides {
    /// The field.
    pub field: String,
    /// Its share.
    #[serde(flatten)]
    pub share: FieldShare,
}

/// What a study comes to.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Answer {
    /// All flights.
    pub flights: u64,
    /// Those that shares and quantiles are of.
    pub counted_flights: u64,
    /// Flights that could not start.
    pub could_not_start: Reasons,
    /// Flights whose numbers failed.
    pub failed: Reasons,
    /// How counted flights ended, word by word.
    pub ends: BTreeMap<String, u64>,
    /// Counted flights that left the range the model holds in; absent where that column is not kept.
    pub left_model_range: Option<u64>,
    /// Confidence of all intervals.
    pub confidence_fraction: f64,
    /// The conditions.
    pub conditions: Vec<ConditionAnswer>,
    /// Flights that meet all of them; absent of fewer than two.
    pub all_conditions: Option<Share>,
    /// Points of the axes.
    pub points: u64,
    /// The point at which most flights meet all conditions, the first of equal ones; with axes and conditions only.
    pub best_point: Option<Point>,
    /// The point at which fewest do.
    pub worst_point: Option<Point>,
    /// Every kept column of numbers.
    pub columns: Vec<ColumnAnswer>,
    /// What decides which column.
    pub sensitivities: Vec<Decides>,
    /// The flights whose trajectories are kept because they are worst, the worst first.
    pub worst_flights: Vec<WorstFlight>,
}
