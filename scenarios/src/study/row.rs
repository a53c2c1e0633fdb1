//! One flight of a study as a row of a table: inputs beside outputs, units in the names.

use super::file::{Condition, StudyFile};
use super::judge::{cell_meets, is_asked};
use super::keep::Set;
use super::plan::{Plan, PlannedFlight};
use crate::summary::{Cell, Holds, Summary};

/// Columns of the summary that are always kept: how it ended, and why the numbers failed.
const ALWAYS: [&str; 3] = ["ended_by", "failure", "screened_in"];

/// What a column of the table holds.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ColumnKind {
    /// Whole numbers.
    Count,
    /// Numbers, or nothing.
    Number,
    /// Text, or nothing.
    Text,
    /// True or false, or nothing.
    Truth,
}

/// A column of the table of flights.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct TableColumn {
    /// Name, with the unit at its end where it is a field or a number of the summary.
    pub name: String,
    /// What it holds.
    pub kind: ColumnKind,
}

/// A flight's row.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Row {
    /// Number of the flight in the plan.
    pub flight: u64,
    /// Its sample, and the word of its set of numbers, where sensitivities are asked for.
    pub sample: Option<(u64, String)>,
    /// Why it could not start.
    pub could_not_start: Option<String>,
    /// Values of the fields that are moved.
    pub inputs: Vec<f64>,
    /// Kept cells of the summary; of a flight that could not start all empty.
    pub outputs: Vec<Cell>,
    /// Whether it meets each condition; of a flight that could not start, nothing.
    pub meets: Vec<Option<bool>>,
}

/// The form of a study's rows.
#[derive(Clone, Debug)]
pub struct RowForm {
    inputs: Vec<String>,
    /// Places of kept columns in the summary.
    kept: Vec<usize>,
    outputs: Vec<TableColumn>,
    conditions: Vec<(Condition, usize)>,
    has_samples: bool,
}

impl RowForm {
    /// The form of a checked study's rows.
    pub fn new(file: &StudyFile, plan: &Plan) -> Self {
        let columns = Summary::columns();
        let is_kept = |name: &str| {
            let chosen = &file.keep.columns;
            chosen.is_empty() || ALWAYS.contains(&name) || chosen.iter().any(|one| one == name)
        };
        let kept: Vec<usize> = (0..columns.len())
            .filter(|&i| is_kept(columns[i].name))
            .collect();
        let place = |condition: &Condition| {
            let found = columns.iter().position(|c| c.name == condition.column);
            found.expect("a checked condition names a column")
        };
        let conditions = file.conditions.iter();
        RowForm {
            inputs: plan.fields().collect(),
            outputs: kept
                .iter()
                .map(|&i| TableColumn {
                    name: columns[i].name.to_owned(),
                    kind: match columns[i].holds {
                        Holds::Number => ColumnKind::Number,
                        Holds::Text => ColumnKind::Text,
                    },
                })
                .collect(),
            kept,
            conditions: conditions.map(|c| (c.clone(), place(c))).collect(),
            has_samples: file.sensitivity.is_some(),
        }
    }

    /// Names of the moved fields.
    pub fn inputs(&self) -> &[String] {
        &self.inputs
    }

    /// Kept columns of the summary.
    pub fn outputs(&self) -> &[TableColumn] {
        &self.outputs
    }

    /// How many conditions there are.
    pub fn conditions(&self) -> usize {
        self.conditions.len()
    }

    /// Whether rows name their sample.
    pub fn has_samples(&self) -> bool {
        self.has_samples
    }

    /// All columns in order: the flight, its sample where there is one, why it could not start, inputs, outputs, conditions.
    pub fn columns(&self) -> Vec<TableColumn> {
        let column = |name: &str, kind| TableColumn {
            name: name.to_owned(),
            kind,
        };
        let mut columns = vec![column("flight", ColumnKind::Count)];
        if self.has_samples {
            columns.push(column("sample", ColumnKind::Count));
            columns.push(column("set", ColumnKind::Text));
        }
        columns.push(column("could_not_start", ColumnKind::Text));
        let inputs = self.inputs.iter();
        columns.extend(inputs.map(|name| column(name, ColumnKind::Number)));
        columns.extend(self.outputs.iter().cloned());
        let conditions = self.conditions.iter();
        columns.extend(
            conditions.map(|(c, _)| column(&format!("meets {}", c.name), ColumnKind::Truth)),
        );
        columns
    }

    /// The row of a flight: its summary, or why it could not start.
    pub fn row(&self, flight: &PlannedFlight, result: Result<&Summary, String>) -> Row {
        let mut row = Row {
            flight: flight.index,
            sample: flight.set.map(|set: Set| (flight.sample, set.word())),
            inputs: flight.values.clone(),
            ..Row::default()
        };
        match result {
            Ok(summary) => {
                let mut cells = summary.row();
                let failed = summary.failure.is_some();
                let conditions = self.conditions.iter();
                row.meets = conditions
                    .map(|(condition, place)| {
                        let asked = is_asked(condition, &flight.names);
                        Some(!failed && (!asked || cell_meets(condition, &cells[*place])))
                    })
                    .collect();
                let kept = self.kept.iter();
                row.outputs = kept
                    .map(|&place| std::mem::replace(&mut cells[place], Cell::Empty))
                    .collect();
            }
            Err(reason) => {
                row.could_not_start = Some(reason);
                row.outputs = vec![Cell::Empty; self.kept.len()];
                row.meets = vec![None; self.conditions.len()];
            }
        }
        row
    }
}
