//! What a study keeps of its flights, and what it asks of them together: part of the study file's form.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// What is kept of each flight.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, default)]
pub struct Keep {
    /// Columns of the summary that are kept; all where left out. How a flight ended and why it failed are always kept.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub columns: Vec<String>,
    /// Format of the table of flights.
    pub format: TableFormat,
    /// Which flights' trajectories are kept.
    pub trajectories: Trajectories,
}

/// Format of a table of flights.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
#[schemars(inline)]
pub enum TableFormat {
    /// One text file.
    #[default]
    Csv,
    /// Apache Parquet, typed columns, in parts.
    Parquet,
}

/// Which flights' trajectories are kept; `which` says it.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(tag = "which", rename_all = "snake_case", deny_unknown_fields)]
pub enum Trajectories {
    /// No flight's.
    #[default]
    None,
    /// Every flight's.
    All,
    /// Every so-manieth flight's, the first included.
    Every(Every),
    /// Those of the flights worst by a column.
    Worst(Worst),
}

/// Every so-manieth flight.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Every {
    /// One of so many.
    pub step: u32,
}

/// The flights worst by a column.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Worst {
    /// How many.
    pub count: u32,
    /// Column of the summary, the unit at its end; one of those kept. Of equal flights the first is worse.
    pub column: String,
    /// Which end of it is the worse.
    pub end: WorstEnd,
}

/// Which end of a column is the worse.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
#[schemars(inline)]
pub enum WorstEnd {
    /// The lowest values.
    Lowest,
    /// The highest.
    Highest,
}

/// Which of the scattered fields decide the result. `flights` becomes the number of samples; each takes several flights.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Sensitivity {
    /// How it is found.
    pub kind: SensitivityKind,
    /// Columns of the summary it is found for, kept ones; those of the conditions where left out.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub columns: Vec<String>,
}

/// How it is found what decides the result.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
#[schemars(inline)]
pub enum SensitivityKind {
    /// First-order and total Sobol indices: two flights a sample more than there are scattered fields.
    SobolIndices,
    /// Elementary effects, the cheaper screen: one flight a sample more than there are scattered fields.
    ElementaryEffects,
}

impl SensitivityKind {
    /// Flights of a group: all that belong to one sample of so many fields.
    pub fn group(self, fields: u64) -> u64 {
        match self {
            SensitivityKind::SobolIndices => fields + 2,
            SensitivityKind::ElementaryEffects => fields + 1,
        }
    }
}

/// Which numbers of its sample a flight of a group has (MODEL.md § 27).
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Set {
    /// The first half.
    A,
    /// The second half; of Sobol indices only.
    B,
    /// The first half but for one field (from 0).
    Exchanged(usize),
}

impl Set {
    /// The set of a flight by its place in its group.
    pub fn at(kind: SensitivityKind, place: u64) -> Self {
        match (kind, place) {
            (_, 0) => Set::A,
            (SensitivityKind::SobolIndices, 1) => Set::B,
            (SensitivityKind::SobolIndices, i) => Set::Exchanged(i as usize - 2),
            (SensitivityKind::ElementaryEffects, i) => Set::Exchanged(i as usize - 1),
        }
    }

    /// Whether a flight of it is counted: drawn apart from all others that are.
    pub fn is_counted(self) -> bool {
        !matches!(self, Set::Exchanged(_))
    }

    /// As a word in a table.
    pub fn word(self) -> String {
        match self {
            Set::A => "a".to_owned(),
            Set::B => "b".to_owned(),
            Set::Exchanged(field) => format!("ab {}", field + 1),
        }
    }
}
