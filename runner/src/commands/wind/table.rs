//! One table of go and no-go: throws flown to choose, the chosen cells stated with others.

use super::{Rows, sha256};
use crate::args::WindArguments;
use crate::work::{each_flight, flights_of};
use scenarios::study::{LoadedStudy, Plan, Purpose};
use scenarios::summary::Summary;
use scenarios::wind_limits::verdicts::{Cell, JudgedThrow, last_that_goes};
use serde::{Deserialize, Serialize};
use std::borrow::Cow;
use std::sync::atomic::{AtomicBool, Ordering};

/// The largest wind or gust that goes at a throttle.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub struct Largest {
    /// Throttle.
    pub throttle_fraction: f64,
    /// The cell counted anew with throws of their own; absent where none goes.
    pub stated: Option<Cell>,
    /// Whether it is the largest that was tried, so that a larger one may go as well.
    pub is_last_tried: bool,
}

/// A condition and what it asks.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub struct Asks {
    /// Its name.
    pub name: String,
    /// Whether it is an error where it does not hold.
    pub must_hold: bool,
    /// Share of the throws that are to meet it.
    pub least_share_fraction: f64,
}

/// A table of go and no-go.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub struct Table {
    /// Name of the study.
    pub study: String,
    /// Name of its scenario.
    pub scenario: String,
    /// What the study is for.
    pub note: String,
    /// Of all that decides the table.
    pub inputs_sha256: String,
    /// Of the draws.
    pub seed: u32,
    /// `wind` or `gust`.
    pub first_axis: Cow<'static, str>,
    /// Throws of each cell.
    pub throws_each: u32,
    /// Share that is to meet all conditions.
    pub asked_share_fraction: f64,
    /// Of the intervals.
    pub confidence_fraction: f64,
    /// What is asked of each throw.
    pub conditions: Vec<Asks>,
    /// The study as it was flown.
    pub study_file: scenarios::study::StudyFile,
    /// Its scenario, before axes and scatter.
    pub scenario_file: scenarios::scenario_file::ScenarioFile,
    /// Why the first throw that could not start could not.
    pub first_reason_of_no_start: Option<String>,
    /// All throttles of the first wind, then those of the next.
    pub cells: Vec<Cell>,
    /// The largest that goes at each throttle.
    pub largest: Vec<Largest>,
}

impl Table {
    /// Whether a flight failed numerically, or a condition marked `must_hold` does not hold where it says go.
    pub fn fails(&self) -> bool {
        let stated = || self.largest.iter().filter_map(|one| one.stated.as_ref());
        let failed = self
            .cells
            .iter()
            .chain(stated())
            .any(|cell| cell.failed > 0);
        failed
            || stated().any(|cell| {
                let each = self.conditions.iter().zip(&cell.meets_each);
                each.filter(|(condition, _)| condition.must_hold)
                    .any(|(condition, share)| {
                        share.share_fraction.unwrap_or(0.0) < condition.least_share_fraction
                    })
            })
    }

    /// Cells of a throttle, from the lowest wind on.
    pub fn column(&self, throttle: usize) -> impl Iterator<Item = &Cell> {
        self.cells.iter().skip(throttle).step_by(self.largest.len())
    }
}

/// A table with the throws behind it.
pub(super) struct Tabled {
    pub table: Table,
    study_fields: Vec<String>,
    /// Whether a throw was flown to choose or to state, and the throw.
    throws: Vec<(&'static str, JudgedThrow)>,
}

impl Tabled {
    /// Flies a study of two axes; none where it was stopped.
    pub fn fly(
        rows: Rows,
        study: &LoadedStudy,
        arguments: &WindArguments,
        stop: &AtomicBool,
    ) -> Option<Self> {
        let asked = arguments.share_fraction;
        let judge = |flight: &_| JudgedThrow::fly(study, flight);
        let plan = study.plan(Purpose::Choose);
        let flown = each_flight(&plan, arguments.flying.threads, stop, judge);
        let throws: Vec<JudgedThrow> = flown.into_iter().flatten().collect();
        if stop.load(Ordering::Relaxed) {
            return None;
        }
        let points: Vec<u64> = (0..plan.axis_points()).collect();
        let cells: Vec<Cell> = points
            .iter()
            .map(|&point| cell(study, &plan, point, &throws, asked))
            .collect();

        // In order of the first axis' values, whatever order a study brings them in.
        let throttles = cells.iter().take_while(|c| c.first == cells[0].first);
        let width = throttles.count().max(1);
        let mut order: Vec<usize> = (0..cells.len() / width).collect();
        order.sort_by(|&a, &b| cells[a * width].first.total_cmp(&cells[b * width].first));
        let place = |row: usize, column: usize| order[row] * width + column;
        let chosen: Vec<Option<usize>> = (0..width)
            .map(|column| {
                let verdicts = (0..order.len()).map(|row| cells[place(row, column)].verdict);
                last_that_goes(verdicts)
            })
            .collect();
        let stating = study.plan(Purpose::State);
        let each = u64::from(study.file.flights);
        let numbers: Vec<u64> = chosen
            .iter()
            .enumerate()
            .filter_map(|(column, row)| Some(place((*row)?, column) as u64))
            .flat_map(|point| point * each..(point + 1) * each)
            .collect();
        let flown = flights_of(&stating, &numbers, arguments.flying.threads, stop, judge);
        let stated: Vec<JudgedThrow> = flown.into_iter().flatten().collect();
        if stop.load(Ordering::Relaxed) {
            return None;
        }
        let largest = chosen.iter().enumerate().map(|(column, row)| Largest {
            throttle_fraction: cells[place(0, column)].throttle_fraction,
            stated: row.map(|row| cell(study, &stating, place(row, column) as u64, &stated, asked)),
            is_last_tried: *row == Some(order.len() - 1),
        });
        let reason = throws.iter().find_map(|t| t.result.as_ref().err().cloned());
        let table = Table {
            study: study.file.name.clone(),
            scenario: study.base.file.name.clone(),
            note: study.file.note.clone(),
            inputs_sha256: sha256(study, arguments),
            seed: study.file.seed,
            first_axis: match rows {
                Rows::Wind => "wind".into(),
                Rows::Gust => "gust".into(),
            },
            throws_each: study.file.flights,
            asked_share_fraction: asked,
            confidence_fraction: study.file.confidence_fraction,
            conditions: study
                .file
                .conditions
                .iter()
                .map(|condition| Asks {
                    name: condition.name.clone(),
                    must_hold: condition.must_hold,
                    least_share_fraction: condition.least_share_fraction,
                })
                .collect(),
            study_file: study.file.clone(),
            scenario_file: study.base.file.clone(),
            first_reason_of_no_start: reason,
            largest: largest.collect(),
            cells: (0..order.len())
                .flat_map(|row| (0..width).map(move |column| (row, column)))
                .map(|(row, column)| cells[place(row, column)].clone())
                .collect(),
        };
        Some(Tabled {
            table,
            study_fields: plan.fields().collect(),
            throws: throws
                .into_iter()
                .map(|throw| ("choose", throw))
                .chain(stated.into_iter().map(|throw| ("state", throw)))
                .collect(),
        })
    }
}

fn cell(study: &LoadedStudy, plan: &Plan, point: u64, throws: &[JudgedThrow], asked: f64) -> Cell {
    let of: Vec<&JudgedThrow> = throws
        .iter()
        .filter(|throw| throw.flight.axis_point == point)
        .collect();
    let values = plan.axis_values(point);
    Cell::of(study, (values[0], values[1]), &of, asked)
}

/// A row for each cell of each table, chosen and stated.
pub(super) fn cells_csv(tables: &[Table]) -> Result<Vec<u8>, Box<dyn std::error::Error>> {
    let mut writer = csv::Writer::from_writer(Vec::new());
    writer.write_record([
        "study",
        "first_axis",
        "speed_m_s",
        "throttle_fraction",
        "purpose",
        "throws",
        "meet_all",
        "share_fraction",
        "low_fraction",
        "high_fraction",
        "verdict",
        "could_not_start",
        "failed",
    ])?;
    for table in tables {
        let stated = table.largest.iter().filter_map(|one| one.stated.as_ref());
        let chosen = table.cells.iter().map(|cell| ("choose", cell));
        for (purpose, cell) in chosen.chain(stated.map(|cell| ("state", cell))) {
            let share = &cell.meets_all;
            writer.write_record([
                table.study.clone(),
                table.first_axis.to_string(),
                cell.first.to_string(),
                cell.throttle_fraction.to_string(),
                purpose.to_owned(),
                share.of.to_string(),
                share.count.to_string(),
                share
                    .share_fraction
                    .map_or(String::new(), |s| s.to_string()),
                share.low_fraction.to_string(),
                share.high_fraction.to_string(),
                cell.verdict.words().to_owned(),
                cell.could_not_start.to_string(),
                cell.failed.to_string(),
            ])?;
        }
    }
    Ok(writer.into_inner()?)
}

/// A row for each throw: what was drawn, in words `field=value`, since tables differ in their fields; its summary; which conditions it meets.
pub(super) fn throws_csv(tables: &[Tabled]) -> Result<Vec<u8>, Box<dyn std::error::Error>> {
    let mut writer = csv::Writer::from_writer(Vec::new());
    let columns = Summary::columns();
    let head = [
        "study",
        "purpose",
        "throw",
        "drawn",
        "could_not_start",
        "meets",
    ];
    writer.write_record(
        head.into_iter()
            .chain(columns.iter().map(|column| column.name)),
    )?;
    for tabled in tables {
        for (purpose, throw) in &tabled.throws {
            let drawn = tabled.study_fields.iter().zip(&throw.flight.values);
            let drawn: Vec<String> = drawn.map(|(f, v)| format!("{f}={v}")).collect();
            let mut row = vec![
                tabled.table.study.clone(),
                (*purpose).to_owned(),
                throw.flight.index.to_string(),
                drawn.join("; "),
            ];
            match &throw.result {
                Ok((summary, met)) => {
                    let conditions = tabled.table.conditions.iter().zip(met);
                    let names: Vec<&str> = conditions
                        .filter(|(_, met)| **met)
                        .map(|(condition, _)| condition.name.as_str())
                        .collect();
                    row.extend([String::new(), names.join("; ")]);
                    row.extend(summary.row().iter().map(ToString::to_string));
                }
                Err(reason) => {
                    row.push(reason.clone());
                    row.extend(std::iter::repeat_n(String::new(), columns.len() + 1));
                }
            }
            writer.write_record(row)?;
        }
    }
    Ok(writer.into_inner()?)
}
