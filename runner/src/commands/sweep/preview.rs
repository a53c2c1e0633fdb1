//! What a sweep will take, before it is flown: flights, time, disk.

use crate::output::{flights as text, parquet};
use crate::plan::StudyPlan;
use crate::resume::SweepError;
use crate::resume::identity::Identity;
use crate::work::thread_count;
use scenarios::study::Plan;
use scenarios::study::keep::{TableFormat, Trajectories};
use scenarios::study::row::RowForm;
use serde::Serialize;
use std::time::{Duration, Instant};

/// Flights that are timed at most, spread over the plan.
const MOST_TIMED: u64 = 8;
/// One flight of so many is timed, so that a small plan does not wait for its own preview.
const TIMED_OF: u64 = 100;
/// No further flight is timed after so long.
const LONG_ENOUGH: Duration = Duration::from_millis(500);

/// What is to be expected.
#[derive(Debug, Serialize)]
pub struct Preview {
    study: String,
    points: u64,
    samples_at_a_point: u64,
    flights_a_sample: u64,
    flights: u64,
    flights_of_this_share: u64,
    flights_left: u64,
    timed_flights: u64,
    time_a_flight_s: f64,
    threads: usize,
    expected_time_s: f64,
    expected_table_bytes: f64,
    trajectories: u64,
    expected_trajectories_bytes: f64,
}

impl Preview {
    /// Flies a few flights to time them; nothing is written.
    ///
    /// # Errors
    /// [`SweepError::Table`] where no row can be made.
    pub fn new(
        plan: &StudyPlan,
        flights: &Plan,
        form: &RowForm,
        identity: &Identity,
        threads: Option<u16>,
        left: u64,
    ) -> Result<Self, SweepError> {
        let range = identity.range();
        let share = range.end - range.start;
        let keep = &plan.study.file.keep;
        let trajectories = match &keep.trajectories {
            Trajectories::None => 0,
            Trajectories::All => share,
            Trajectories::Every(every) => share.div_ceil(u64::from(every.step.max(1))),
            Trajectories::Worst(worst) => u64::from(worst.count).min(share),
        };
        let to_time = share.div_ceil(TIMED_OF).min(MOST_TIMED);
        let begin = Instant::now();
        let (mut timed, mut rows, mut trajectory_bytes) = (0_u32, Vec::new(), 0);
        for k in 0..to_time {
            let sample = flights.flight(range.start + k * share / to_time);
            let (row, trajectory) = super::fly::trial(&plan.study, form, &sample, trajectories > 0);
            rows.push(row);
            trajectory_bytes = trajectory_bytes.max(trajectory);
            timed += 1;
            if begin.elapsed() > LONG_ENOUGH {
                break;
            }
        }
        let time_a_flight_s = begin.elapsed().as_secs_f64() / f64::from(timed.max(1));
        let mut bytes = 0;
        for row in &rows {
            bytes += text::encoded(row)?.len();
        }
        let mut row_bytes = bytes as f64 / f64::from(timed.max(1));
        if identity.format == TableFormat::Parquet {
            // Numbers seldom repeat: eight bytes each; words nearly always do. A file's own tables come on top.
            let numbers = form.columns().len() - form.conditions();
            let file = parquet::encoded(form, &rows)?.len();
            row_bytes = 8.0 * numbers as f64 + file as f64 / identity.block_flights as f64;
        }
        let threads = thread_count(threads);
        Ok(Preview {
            study: identity.study.clone(),
            points: flights.axis_points(),
            samples_at_a_point: u64::from(plan.study.file.flights),
            flights_a_sample: flights.group(),
            flights: identity.flights,
            flights_of_this_share: share,
            flights_left: left,
            timed_flights: u64::from(timed),
            time_a_flight_s,
            threads,
            expected_time_s: time_a_flight_s * left as f64 / threads as f64,
            expected_table_bytes: row_bytes * share as f64,
            trajectories,
            expected_trajectories_bytes: trajectory_bytes as f64 * trajectories as f64,
        })
    }

    /// In words.
    pub fn text(&self) -> String {
        let mut text = format!("Plan of {}: {} flights", self.study, self.flights);
        if self.points > 1 {
            text += &format!(
                " ({} points of the axes, {} at each)",
                self.points,
                self.samples_at_a_point * self.flights_a_sample
            );
        } else if self.flights_a_sample > 1 {
            text += &format!(
                " ({} samples, {} flights each)",
                self.samples_at_a_point, self.flights_a_sample
            );
        }
        if self.flights_of_this_share < self.flights {
            text += &format!(", {} of them here", self.flights_of_this_share);
        }
        if self.flights_left < self.flights_of_this_share {
            text += &format!(
                "; {} are there already, {} are left",
                self.flights_of_this_share - self.flights_left,
                self.flights_left
            );
        }
        text += &format!(
            ". About {} on {} threads ({:.2} ms a flight, from {} timed ones); table about {}",
            duration(self.expected_time_s),
            self.threads,
            1e3 * self.time_a_flight_s,
            self.timed_flights,
            size(self.expected_table_bytes)
        );
        match self.trajectories {
            0 => text += ", no trajectories.\n",
            n => {
                text += &format!(
                    ", {n} trajectories about {}.\n",
                    size(self.expected_trajectories_bytes)
                );
            }
        }
        text
    }
}

fn duration(time_s: f64) -> String {
    match time_s {
        t if t < 120.0 => format!("{t:.0} s"),
        t if t < 7200.0 => format!("{:.0} min", t / 60.0),
        t if t < 172_800.0 => format!("{:.1} h", t / 3600.0),
        t => format!("{:.1} days", t / 86_400.0),
    }
}

fn size(bytes: f64) -> String {
    match bytes {
        b if b < 1e6 => format!("{:.0} kB", (b / 1e3).max(1.0)),
        b if b < 1e9 => format!("{:.1} MB", b / 1e6),
        b => format!("{:.1} GB", b / 1e9),
    }
}
