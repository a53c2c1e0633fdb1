//! What a study's flights come to: rows in, one after the other in the plan's order, numbers out (MODEL.md § 27).
//!
//! Memory does not grow with the number of flights, and what comes out is a function of the rows alone: no running state has to be
//! saved with them.

mod answer;
mod chosen;
mod column;
mod point;
mod worst;

pub use answer::{Answer, ConditionAnswer, Decides, FieldDecides, InCommon, Reasons};
pub use column::{ColumnAnswer, Extreme, Histogram, QUANTILES};
pub use point::Point;
pub use worst::WorstFlight;

use super::file::StudyFile;
use super::judge::{ConditionShare, Share};
use super::keep::{SensitivityKind, Set, Trajectories};
use super::plan::Plan;
use super::row::{ColumnKind, Row, RowForm};
use super::sensitivity::{ColumnShares, Gathered, Moments, columns};
use crate::summary::Cell;
use chosen::Chosen;
use column::Columns;
use point::Points;
use std::collections::BTreeMap;
use worst::WorstOf;

/// Least difference, in standard deviations, that missed flights are said to have in common.
const LEAST_IN_COMMON: f64 = 0.3;
/// Least flights on either side of it.
const LEAST_FLIGHTS: u64 = 3;
/// Rows of the sample at most.
const MOST_SAMPLED: usize = 512;

/// Gathers rows.
#[derive(Clone, Debug)]
pub struct Tally {
    file: StudyFile,
    plan: Plan,
    form: RowForm,
    flights: u64,
    counted: u64,
    could_not_start: Reasons,
    failed: Reasons,
    ends: BTreeMap<String, u64>,
    left_range: u64,
    met: Vec<u64>,
    met_all: u64,
    /// Of each condition and input: flights that met it, flights that missed it.
    sides: Vec<Vec<[Moments; 2]>>,
    columns: Columns,
    sample: Vec<Row>,
    sampled: Chosen,
    points: Option<Points>,
    sensitive: Vec<Sensitive>,
    worst: Option<WorstOf>,
}

/// A column whose sensitivities are gathered.
#[derive(Clone, Debug)]
struct Sensitive {
    column: String,
    place: usize,
    group: Vec<Option<f64>>,
    gathered: Gathered,
}

impl Tally {
    /// Nothing gathered yet, of a checked study and its whole plan.
    pub fn new(file: &StudyFile, plan: &Plan) -> Self {
        let form = RowForm::new(file, plan);
        let place = |name: &str| form.outputs().iter().position(|column| column.name == name);
        let fields = file.scatter.fields.len();
        let sensitive = file.sensitivity.as_ref().map_or_else(Vec::new, |asked| {
            let of = |column: String| {
                Some(Sensitive {
                    place: place(&column)?,
                    column,
                    group: Vec::new(),
                    gathered: Gathered::new(asked.kind, fields, u64::from(file.flights)),
                })
            };
            columns(file).into_iter().filter_map(of).collect()
        });
        let worst = match &file.keep.trajectories {
            Trajectories::Worst(worst) => place(&worst.column).map(|at| WorstOf::new(worst, at)),
            _ => None,
        };
        let conditions = file.conditions.len();
        Tally {
            flights: 0,
            counted: 0,
            could_not_start: Reasons::default(),
            failed: Reasons::default(),
            ends: BTreeMap::new(),
            left_range: 0,
            met: vec![0; conditions],
            met_all: 0,
            sides: vec![vec![[Moments::default(); 2]; form.inputs().len()]; conditions],
            columns: Columns::new(form.outputs()),
            sample: Vec::new(),
            sampled: Chosen::new(MOST_SAMPLED),
            points: (!file.axes.is_empty()).then(|| Points::new(&form, plan)),
            sensitive,
            worst,
            file: file.clone(),
            plan: plan.clone(),
            form,
        }
    }

    /// Adds the next row. Gives the point of the axes that this row shows to be finished.
    pub fn add(&mut self, row: &Row) -> Option<Point> {
        self.flights += 1;
        if let Some(reason) = &row.could_not_start {
            self.could_not_start.add(row.flight, reason);
        }
        let failed = self.text(row, "failure");
        if let Some(reason) = &failed {
            self.failed.add(row.flight, reason);
        }
        self.gather(row);
        if let Some(worst) = &mut self.worst {
            worst.add(row);
        }
        let place = row.flight % self.plan.group();
        let kind = self.file.sensitivity.as_ref().map(|asked| asked.kind);
        if !kind.is_none_or(|kind| Set::at(kind, place).is_counted()) {
            return None;
        }
        self.count(row);
        let met_all = row.meets.iter().all(|met| *met == Some(true));
        let confidence = self.file.confidence_fraction;
        let point = row.flight / self.plan.flights_at_a_point();
        let points = self.points.as_mut()?;
        points.add(row, point, failed.is_some(), met_all, confidence)
    }

    fn count(&mut self, row: &Row) {
        self.counted += 1;
        if let Some(word) = self.text(row, "ended_by") {
            *self.ends.entry(word).or_default() += 1;
        }
        self.left_range += u64::from(self.text(row, "model_range").is_some());
        let mut all = true;
        for (condition, met) in row.meets.iter().enumerate() {
            let met = *met == Some(true);
            all &= met;
            self.met[condition] += u64::from(met);
            for (sides, value) in self.sides[condition].iter_mut().zip(&row.inputs) {
                sides[usize::from(!met)].add(*value);
            }
        }
        self.met_all += u64::from(all);
        self.columns.add(row);
        if self.sampled.takes(row.flight) {
            self.sample.push(row.clone());
        }
        while let Some(stays) = self.sampled.thinned() {
            let mut stays = stays.iter();
            self.sample.retain(|_| stays.next() == Some(&true));
        }
    }

    /// Counted flights chosen as if by chance, in order: all where they are few.
    pub fn sample(&self) -> &[Row] {
        &self.sample
    }

    fn gather(&mut self, row: &Row) {
        let group = self.plan.group();
        for one in &mut self.sensitive {
            let value = match row.outputs[one.place] {
                Cell::Number(value) => Some(value),
                _ => None,
            };
            one.group.push(value);
            if one.group.len() as u64 == group {
                let sample = row.flight / group;
                let steps = match self.file.sensitivity.as_ref().map(|asked| asked.kind) {
                    Some(SensitivityKind::ElementaryEffects) => self.plan.steps(sample),
                    _ => Vec::new(),
                };
                one.gathered.add(sample, &one.group, &steps);
                one.group.clear();
            }
        }
    }

    /// Text of a kept column.
    fn text(&self, row: &Row, name: &str) -> Option<String> {
        let outputs = self.form.outputs();
        let place = outputs
            .iter()
            .position(|c| c.kind == ColumnKind::Text && c.name == name)?;
        match &row.outputs[place] {
            Cell::Text(text) => Some(text.clone()),
            _ => None,
        }
    }

    /// The answer, and the last point of the axes.
    pub fn finish(mut self) -> (Answer, Option<Point>) {
        let confidence = self.file.confidence_fraction;
        let last = self.points.as_mut().and_then(|p| p.finish(confidence));
        let share = |count: u64| Share::new(count, self.counted, confidence);
        let conditions = self.file.conditions.iter().enumerate();
        let has_range = self.form.outputs().iter().any(|c| c.name == "model_range");
        let several = self.met.len() > 1;
        let points = self.points.as_ref();
        let answer = Answer {
            flights: self.flights,
            counted_flights: self.counted,
            left_model_range: has_range.then_some(self.left_range),
            confidence_fraction: confidence,
            conditions: conditions
                .map(|(i, condition)| ConditionAnswer {
                    share: ConditionShare::new(condition, share(self.met[i])),
                    missed_have_in_common: in_common(self.form.inputs(), &self.sides[i]),
                })
                .collect(),
            all_conditions: several.then(|| share(self.met_all)),
            points: self.plan.axis_points(),
            best_point: points.and_then(|points| points.best().cloned()),
            worst_point: points.and_then(|points| points.worst().cloned()),
            columns: self.columns.answers(),
            sensitivities: self.decides(confidence),
            worst_flights: self.worst.as_ref().map_or_else(Vec::new, WorstOf::flights),
            could_not_start: self.could_not_start,
            failed: self.failed,
            ends: self.ends,
        };
        (answer, last)
    }

    fn decides(&self, confidence: f64) -> Vec<Decides> {
        let Some(asked) = &self.file.sensitivity else {
            return Vec::new();
        };
        let names = self.form.inputs();
        let one = |one: &Sensitive| {
            let ColumnShares {
                samples,
                left_out,
                fields,
            } = one.gathered.shares(confidence, self.file.seed);
            let mut fields: Vec<FieldDecides> = names
                .iter()
                .zip(fields.unwrap_or_default())
                .map(|(name, share)| FieldDecides {
                    field: name.clone(),
                    share,
                })
                .collect();
            fields.sort_by(|a, b| b.share.weight().total_cmp(&a.share.weight()));
            Decides {
                column: one.column.clone(),
                kind: asked.kind,
                samples,
                left_out,
                fields,
            }
        };
        self.sensitive.iter().map(one).collect()
    }
}

fn in_common(names: &[String], sides: &[[Moments; 2]]) -> Vec<InCommon> {
    let mut common: Vec<InCommon> = names
        .iter()
        .zip(sides)
        .filter_map(|(name, [met, missed])| {
            if met.count.min(missed.count) < LEAST_FLIGHTS {
                return None;
            }
            let (a, b) = (met.count as f64, missed.count as f64);
            let off = missed.mean - met.mean;
            let squares = met.squares_about_mean()
                + missed.squares_about_mean()
                + a * b / (a + b) * off * off;
            let difference = off / (squares / (a + b)).sqrt();
            (difference.abs() >= LEAST_IN_COMMON).then(|| InCommon {
                field: name.clone(),
                difference_in_standard_deviations: difference,
                mean_of_missed: missed.mean,
                mean_of_met: met.mean,
            })
        })
        .collect();
    let size = |one: &InCommon| one.difference_in_standard_deviations.abs();
    common.sort_by(|a, b| size(b).total_cmp(&size(a)));
    common
}

#[cfg(test)]
mod tests;
