//! One flight of a sweep.

use crate::output::files::write_whole;
use crate::output::{flights, trajectory as rows};
use crate::resume::SweepError;
use crate::resume::folder::Folder;
use crate::resume::recorder::{Flown, trajectory_hash};
use crate::resume::verify::is_kept;
use crate::work::IdleLanes;
use scenarios::FileError;
use scenarios::load::LoadedScenario;
use scenarios::study::keep::TableFormat;
use scenarios::study::row::{Row, RowForm};
use scenarios::study::{LoadedStudy, Plan, PlannedFlight};
use scenarios::summary::{Summary, fly_with_twin, summarise};
use sim_core::flight::Flight;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::Path;

/// Flies flights by their numbers.
pub struct Flyer<'a> {
    /// What is flown.
    pub study: &'a LoadedStudy,
    /// Its flights.
    pub plan: &'a Plan,
    /// The form of their rows.
    pub form: &'a RowForm,
    /// Where results go.
    pub folder: &'a Folder,
    /// Lanes nobody flies in at the moment.
    pub lanes: IdleLanes,
}

/// A flown throw with its scenario.
struct Thrown {
    scenario: LoadedScenario,
    flight: Flight,
    summary: Summary,
}

impl Flyer<'_> {
    /// Flies one. Whatever goes wrong in it becomes its row's reason.
    pub fn fly(&self, index: u64) -> Flown {
        let planned = self.plan.flight(index);
        self.fly_alone(&planned)
    }

    /// Flies one by itself.
    pub(super) fn fly_alone(&self, planned: &PlannedFlight) -> Flown {
        let thrown = throw(self.study, planned);
        let summary = thrown.as_ref().map(|thrown| &thrown.summary);
        self.flown(planned, summary.map_err(Clone::clone), || {
            thrown.as_ref().ok().and_then(Thrown::rows)
        })
    }

    /// The row of a flown throw, and what else is kept of it: its trajectory as a table, where it is kept.
    pub(super) fn flown(
        &self,
        planned: &PlannedFlight,
        summary: Result<&Summary, String>,
        table: impl FnOnce() -> Option<Vec<u8>>,
    ) -> Flown {
        let index = planned.index;
        let failed = summary
            .as_ref()
            .is_ok_and(|summary| summary.failure.is_some());
        let row = self.form.row(planned, summary);
        let line = match self.folder.identity().format {
            TableFormat::Csv => flights::encoded(&row).unwrap_or_default(),
            TableFormat::Parquet => Vec::new(),
        };
        let trajectory = is_kept(&self.study.file.keep.trajectories, index).then(|| {
            let rows = table();
            if let Some(rows) = &rows {
                write_whole(&self.folder.trajectory(index), rows)?;
            }
            Ok(trajectory_hash(rows.as_deref()))
        });
        Flown {
            failed: failed || row.could_not_start.is_some(),
            row,
            line,
            trajectory,
        }
    }
}

/// The trajectory of a flight as a table; none where it cannot start.
///
/// # Errors
/// None of its own.
pub fn trajectory(
    study: &LoadedStudy,
    planned: &PlannedFlight,
) -> Result<Option<Vec<u8>>, SweepError> {
    Ok(throw(study, planned).ok().as_ref().and_then(Thrown::rows))
}

/// Flies a flight to see what it takes: its row, and how long its trajectory is as a table, bytes, where that is asked.
pub fn trial(
    study: &LoadedStudy,
    form: &RowForm,
    planned: &PlannedFlight,
    with_trajectory: bool,
) -> (Row, usize) {
    let thrown = throw(study, planned);
    let summary = thrown.as_ref().map(|thrown| &thrown.summary);
    let row = form.row(planned, summary.map_err(Clone::clone));
    let rows = thrown.as_ref().ok().filter(|_| with_trajectory);
    let bytes = rows.and_then(Thrown::rows).map_or(0, |rows| rows.len());
    (row, bytes)
}

impl Thrown {
    fn rows(&self) -> Option<Vec<u8>> {
        table(&self.scenario, &self.flight)
    }
}

/// A flight of a scenario as a table.
pub(super) fn table(scenario: &LoadedScenario, flight: &Flight) -> Option<Vec<u8>> {
    let interval_s = scenario.built.record_interval_s;
    rows::csv(flight, &scenario.airframe.built, interval_s).ok()
}

/// Flies a planned flight, or says why not.
fn throw(study: &LoadedStudy, planned: &PlannedFlight) -> Result<Thrown, String> {
    // A defect of this program in one flight in a million must not end a night's work; the row says so.
    catch_unwind(AssertUnwindSafe(|| attempt(study, planned)))
        .unwrap_or_else(|_| Err("a defect of this program; please report this flight".to_owned()))
}

fn attempt(study: &LoadedStudy, planned: &PlannedFlight) -> Result<Thrown, String> {
    let scenario = study.scenario(planned).map_err(without_folders)?;
    let built = &scenario.built;
    let (flight, twin) =
        fly_with_twin(&built.throw, &built.summary).map_err(|error| error.to_string())?;
    let summary = summarise(&flight, twin.as_ref(), &built.summary);
    Ok(Thrown {
        scenario,
        flight,
        summary,
    })
}

/// An error with its file's name alone: where the file lies differs between machines, and rows must not.
pub(super) fn without_folders(mut error: FileError) -> String {
    if let Some(name) = Path::new(&error.file).file_name() {
        error.file = name.to_string_lossy().into_owned();
    }
    error.to_string()
}
