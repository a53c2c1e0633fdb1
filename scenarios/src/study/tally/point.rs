//! Points of the axes: a row for each, as soon as its last flight is there.

use crate::study::judge::Share;
use crate::study::plan::Plan;
use crate::study::row::{ColumnKind, Row, RowForm};
use crate::study::sensitivity::Moments;
use crate::summary::Cell;
use serde::{Deserialize, Serialize};

/// What the flights at one point of the axes come to.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Point {
    /// Number of the point, from 0.
    pub point: u64,
    /// Value of every axis.
    pub axis_values: Vec<f64>,
    /// Flights there.
    pub flights: u64,
    /// Those that could not start or failed.
    pub without_result: u64,
    /// Flights that meet each condition.
    pub conditions: Vec<Share>,
    /// Flights that meet all.
    pub all_conditions: Share,
    /// Mean of every kept column of numbers, over the flights that have it.
    pub means: Vec<Option<f64>>,
}

impl Point {
    fn share(&self) -> f64 {
        self.all_conditions.share_fraction.unwrap_or(0.0)
    }
}

/// Gathers points, one after the other.
#[derive(Clone, Debug)]
pub(super) struct Points {
    plan: Plan,
    places: Vec<usize>,
    at: Option<u64>,
    flights: u64,
    without_result: u64,
    met: Vec<u64>,
    met_all: u64,
    means: Vec<Moments>,
    best: Option<Point>,
    worst: Option<Point>,
}

impl Points {
    pub fn new(form: &RowForm, plan: &Plan) -> Self {
        let numbers = form.outputs().iter().enumerate();
        let numbers = numbers.filter(|(_, column)| column.kind == ColumnKind::Number);
        let places: Vec<usize> = numbers.map(|(place, _)| place).collect();
        Points {
            plan: plan.clone(),
            at: None,
            flights: 0,
            without_result: 0,
            met: vec![0; form.conditions()],
            met_all: 0,
            means: vec![Moments::default(); places.len()],
            places,
            best: None,
            worst: None,
        }
    }

    pub fn add(
        &mut self,
        row: &Row,
        point: u64,
        failed: bool,
        met_all: bool,
        confidence: f64,
    ) -> Option<Point> {
        let finished = if self.at == Some(point) {
            None
        } else {
            self.finish(confidence)
        };
        self.at = Some(point);
        self.flights += 1;
        self.without_result += u64::from(failed || row.could_not_start.is_some());
        for (count, met) in self.met.iter_mut().zip(&row.meets) {
            *count += u64::from(*met == Some(true));
        }
        self.met_all += u64::from(met_all);
        for (mean, &place) in self.means.iter_mut().zip(&self.places) {
            if let Cell::Number(value) = row.outputs[place] {
                mean.add(value);
            }
        }
        finished
    }

    /// The point gathered last.
    pub fn finish(&mut self, confidence: f64) -> Option<Point> {
        let number = self.at.take()?;
        let share = |count: u64| Share::new(count, self.flights, confidence);
        let mean = |m: &Moments| (m.count > 0).then_some(m.mean);
        let point = Point {
            point: number,
            axis_values: self.plan.axis_values(number),
            flights: self.flights,
            without_result: self.without_result,
            conditions: self.met.iter().map(|&count| share(count)).collect(),
            all_conditions: share(self.met_all),
            means: self.means.iter().map(mean).collect(),
        };
        if !self.met.is_empty() {
            let is_better = |other: &Point| point.share() > other.share();
            let is_worse = |other: &Point| point.share() < other.share();
            if self.best.as_ref().is_none_or(is_better) {
                self.best = Some(point.clone());
            }
            if self.worst.as_ref().is_none_or(is_worse) {
                self.worst = Some(point.clone());
            }
        }
        (self.flights, self.without_result, self.met_all) = (0, 0, 0);
        self.met.fill(0);
        self.means.fill(Moments::default());
        Some(point)
    }

    pub fn best(&self) -> Option<&Point> {
        self.best.as_ref()
    }

    pub fn worst(&self) -> Option<&Point> {
        self.worst.as_ref()
    }
}
