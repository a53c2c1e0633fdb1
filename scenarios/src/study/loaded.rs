//! A study file read, checked, and with the scenario it flies.

use super::checks;
use super::file::{Scatter, StudyFile};
use super::plan::{Plan, PlannedFlight, Purpose, axis_values};
use crate::error::{FileError, Problem};
use crate::field::FieldPath;
use crate::load::{LoadedScenario, load_scenario_with, nearest_beside, without_detours};
use crate::overrides::Override;
use crate::read::Document;
use crate::schema::Kind;
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// A study file, checked, with the scenario it flies.
#[derive(Clone, Debug)]
pub struct LoadedStudy {
    /// Where the file is.
    pub path: PathBuf,
    /// The file's bytes as they were read, for hashing.
    pub bytes: Arc<[u8]>,
    /// The file, defaults filled.
    pub file: StudyFile,
    /// The scenario it flies, with the overrides of a command line, before axes and scatter.
    pub base: LoadedScenario,
    document: Arc<Document>,
}

/// Reads a study and the scenario it flies, with overrides that come before its axes and scatter.
///
/// # Errors
/// [`FileError`] of the study, of the scenario or its airframe, or of an axis or a scattered field that leads nowhere.
pub fn load_study(path: impl AsRef<Path>, more: &[Override]) -> Result<LoadedStudy, FileError> {
    let path = path.as_ref();
    let document = Document::open(path)?;
    let file: StudyFile = document.typed(Kind::Study)?;
    checks::check(&file).map_err(|problem| document.error(problem))?;
    let scenario = path.parent().unwrap_or(Path::new("")).join(&file.base);
    if !scenario.is_file() {
        let found = format!("{:?}, which is no file", file.base);
        let wanted = "the path of a scenario file, from the folder this file is in";
        let mut problem = Problem::new(FieldPath::default().key("base"), found, wanted);
        problem.nearest = nearest_beside(&scenario, &file.base);
        return Err(document.error(problem));
    }
    let base = load_scenario_with(without_detours(&scenario), more)?;
    study_of(path, document, file, base)
}

/// A study's file out of its bytes, checked by itself: without its scenario, so that paths of fields are not followed. `name` is what errors
/// call it.
///
/// # Errors
/// [`FileError`] of the study.
pub fn study_file_from_bytes(name: &str, bytes: Vec<u8>) -> Result<StudyFile, FileError> {
    let document = Document::from_bytes(name, bytes)?;
    let file: StudyFile = document.typed(Kind::Study)?;
    checks::check(&file).map_err(|problem| document.error(problem))?;
    Ok(file)
}

/// A checked study of a scenario that is read already.
fn study_of(
    path: &Path,
    document: Document,
    file: StudyFile,
    base: LoadedScenario,
) -> Result<LoadedStudy, FileError> {
    let study = LoadedStudy {
        path: path.to_owned(),
        bytes: Arc::clone(&document.bytes),
        base: base.as_studies_fly_it()?,
        file,
        document: Arc::new(document),
    };
    // The first flight shows whether every path leads somewhere.
    let first = study.plan(Purpose::State).flight(0);
    study.scenario(&first).map(|_| study)
}

/// A study whose text is already read, of a scenario that is: its `base` is not looked for.
///
/// # Errors
/// [`FileError`] of the study, or of an axis or a scattered field that leads nowhere.
pub(crate) fn study_from(
    path: &Path,
    document: Document,
    base: LoadedScenario,
) -> Result<LoadedStudy, FileError> {
    let file: StudyFile = document.typed(Kind::Study)?;
    checks::check(&file).map_err(|problem| document.error(problem))?;
    study_of(path, document, file, base)
}

impl LoadedStudy {
    /// A problem of the file as an error.
    pub(crate) fn error(&self, problem: Problem) -> FileError {
        self.document.error(problem)
    }

    /// The study of the same file at other values of its first axis, with another number of flights at each.
    pub fn at_values(&self, values: Vec<f64>, flights: u32) -> Self {
        let mut study = self.clone();
        study.file.flights = flights;
        if let Some(axis) = study.file.axes.first_mut() {
            (axis.from, axis.to, axis.count) = (None, None, None);
            axis.values = values;
            axis.names.clear();
        }
        study
    }

    /// Draws of what is not known, each as changes of the scenario.
    pub fn band_draws(&self) -> Vec<Vec<Override>> {
        let Some(bands) = &self.file.bands else {
            return Vec::new();
        };
        let mut file = self.file.clone();
        file.axes.clear();
        file.scatter = Scatter {
            fields: bands.fields.clone(),
            ..Default::default()
        };
        file.flights = bands.draws;
        let plan = Plan::new(&file, Purpose::Band);
        (0..plan.flights())
            .map(|draw| plan.flight(draw).overrides)
            .collect()
    }

    /// The study of the same file with its scenario changed first.
    ///
    /// # Errors
    /// [`FileError`] of an override that cannot be.
    pub fn with_base_changed(&self, overrides: &[Override]) -> Result<Self, FileError> {
        Ok(LoadedStudy {
            base: self.base.changed_by(overrides)?,
            ..self.clone()
        })
    }

    /// Values of the first axis.
    pub fn first_axis_values(&self) -> Vec<f64> {
        self.file.axes.first().map_or_else(Vec::new, axis_values)
    }

    /// The flights that count: one a sample, whether or not sensitivities are asked for.
    pub fn plan(&self, purpose: Purpose) -> Plan {
        let file = StudyFile {
            sensitivity: None,
            ..self.file.clone()
        };
        self.plan_of(&file, purpose)
    }

    /// All flights, those that only sensitivities need included.
    pub fn whole_plan(&self) -> Plan {
        self.plan_of(&self.file, Purpose::State)
    }

    fn plan_of(&self, file: &StudyFile, purpose: Purpose) -> Plan {
        let mut plan = Plan::new(file, purpose);
        plan.name_places(&self.document.file, |list, i| {
            let at = list
                .iter()
                .fold(FieldPath::default(), |path, key| path.key(key));
            self.document.line_of(&at.index(i))
        });
        plan
    }

    /// The scenario of a flight.
    ///
    /// # Errors
    /// [`FileError`] of an override that cannot be, named by the study's line.
    pub fn scenario(&self, flight: &PlannedFlight) -> Result<LoadedScenario, FileError> {
        self.base.changed_by(&flight.overrides)
    }
}
