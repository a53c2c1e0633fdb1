//! What will be done: inputs read and checked, results proved writable, before anything flies.

use crate::args::Overrides;
use crate::exit::NotDone;
use crate::output::files::{WriteError, prove_writable};
use scenarios::error::FileError;
use scenarios::load::{LoadedAirframe, LoadedScenario, load_airframe, load_scenario_with};
use scenarios::overrides::Override;
use scenarios::study::{LoadedStudy, Plan, Purpose, load_study};
use scenarios::thrustline::hands::Hands;
use scenarios::thrustline::usual::{check_form, flies, usual_study};
use sha2::{Digest, Sha256};
use std::path::{Path, PathBuf};
use thiserror::Error;

/// Why nothing was begun.
#[derive(Debug, Error)]
pub enum PlanError {
    /// Files that cannot be understood; all of them.
    #[error("{}", lines(.0))]
    BadInput(Vec<FileError>),
    /// Two scenarios of one name, whose results would lie in one folder.
    #[error(
        "{second} and {first} are both named \"{name}\"; results are named after scenarios, so give one another name"
    )]
    DoubledName {
        /// The name.
        name: String,
        /// The file that has it first.
        first: String,
        /// The file that has it again.
        second: String,
    },
    /// The results could not be written.
    #[error(transparent)]
    CannotWrite(#[from] WriteError),
}

impl From<PlanError> for NotDone {
    fn from(error: PlanError) -> Self {
        match error {
            PlanError::CannotWrite(error) => error.into(),
            PlanError::BadInput(ref files) => NotDone {
                files: files.clone(),
                ..NotDone::bad_input(&error)
            },
            PlanError::DoubledName { .. } => NotDone::bad_input(&error),
        }
    }
}

fn lines(errors: &[FileError]) -> String {
    let lines: Vec<String> = errors.iter().map(FileError::to_string).collect();
    lines.join("\nerror: ")
}

/// Scenarios to fly and where their results go.
#[derive(Debug)]
pub struct FlyPlan {
    /// The scenarios, in the order given.
    pub scenarios: Vec<LoadedScenario>,
    /// Folder for the results; there and writable.
    pub out: PathBuf,
    /// Overrides of the command line, as typed: part of every result's hash.
    typed_overrides: Vec<String>,
}

impl FlyPlan {
    /// Reads all scenarios, then proves the folder writable. Nothing is made where an input is bad.
    ///
    /// # Errors
    /// [`PlanError`].
    pub fn new(files: &[PathBuf], out: &Path, overrides: &Overrides) -> Result<Self, PlanError> {
        let more = parse(overrides).map_err(|error| PlanError::BadInput(vec![error]))?;
        let mut scenarios: Vec<LoadedScenario> = Vec::new();
        let mut errors: Vec<FileError> = Vec::new();
        for file in files {
            match load_scenario_with(file, &more) {
                Ok(scenario) => scenarios.push(scenario),
                Err(error) if errors.contains(&error) => {}
                Err(error) => errors.push(error),
            }
        }
        if !errors.is_empty() {
            return Err(PlanError::BadInput(errors));
        }
        for (i, second) in scenarios.iter().enumerate() {
            let name = &second.file.name;
            // Some file systems do not tell upper from lower case.
            let same = |s: &&LoadedScenario| s.file.name.eq_ignore_ascii_case(name);
            if let Some(first) = scenarios[..i].iter().find(same) {
                return Err(PlanError::DoubledName {
                    name: name.clone(),
                    first: first.path.display().to_string(),
                    second: second.path.display().to_string(),
                });
            }
        }
        prove_writable(out)?;
        Ok(FlyPlan {
            scenarios,
            out: out.to_path_buf(),
            typed_overrides: overrides.set.clone(),
        })
    }

    /// Hash of everything that decides a scenario's result: version, engine, files, overrides. Hexadecimal SHA-256.
    pub fn inputs_sha256(&self, scenario: &LoadedScenario) -> String {
        inputs_sha256(scenario, &self.typed_overrides)
    }
}

/// Hash of everything that decides a scenario's result: version, engine, files, overrides as typed. Hexadecimal SHA-256.
pub fn inputs_sha256(scenario: &LoadedScenario, typed_overrides: &[String]) -> String {
    hashed(scenario, typed_overrides, &[])
}

/// Hash of what decides a result: version, engine, the scenario's files, overrides as typed, and further parts.
fn hashed(scenario: &LoadedScenario, typed_overrides: &[String], further: &[&[u8]]) -> String {
    let mut hash = Sha256::new();
    let mut part = |bytes: &[u8]| {
        hash.update((bytes.len() as u64).to_le_bytes());
        hash.update(bytes);
    };
    part(env!("CARGO_PKG_VERSION").as_bytes());
    part(engine(scenario).as_bytes());
    part(&scenario.bytes);
    part(&scenario.airframe.bytes);
    // Drawings and zones come before overrides, marked, so that no list of one can stand for one of the other.
    let drawings = scenario.airframe.other_bytes.iter();
    let zones = scenario.other_bytes.iter();
    let marked = drawings
        .map(|file| (b"drawing".as_slice(), file))
        .chain(zones.map(|file| (b"zones".as_slice(), file)));
    for (mark, (name, bytes)) in marked {
        part(mark);
        part(name.as_bytes());
        part(bytes);
    }
    for typed in typed_overrides {
        part(typed.as_bytes());
    }
    further.iter().for_each(|bytes| part(bytes));
    hash.finalize()
        .iter()
        .map(|byte| format!("{byte:02x}"))
        .collect()
}

/// Hash of everything that decides a scenario's result, with what the command line asks for beside overrides.
pub fn scenario_sha256(
    scenario: &LoadedScenario,
    typed_overrides: &[String],
    asked: &str,
) -> String {
    hashed(scenario, typed_overrides, &[asked.as_bytes()])
}

/// A study to fly and where its results go.
#[derive(Debug)]
pub struct StudyPlan {
    /// The study with the scenario it flies.
    pub study: LoadedStudy,
    /// Its flights.
    pub flights: Plan,
    /// Folder for the results; there and writable.
    pub out: PathBuf,
    typed_overrides: Vec<String>,
}

impl StudyPlan {
    /// Reads the study, then proves the folder writable. Nothing is made where an input is bad.
    ///
    /// # Errors
    /// [`PlanError`].
    pub fn new(file: &Path, out: &Path, overrides: &Overrides) -> Result<Self, PlanError> {
        let bad = |error| PlanError::BadInput(vec![error]);
        let study = parse(overrides)
            .and_then(|more| load_study(file, &more))
            .map_err(bad)?;
        Self::of(study, out, overrides)
    }

    /// The study of a thrust line: that of a file, whose scenario must fly the airframe named, or the usual one (with a number
    /// of flights, if given).
    ///
    /// # Errors
    /// [`PlanError`].
    pub fn for_thrust_line(
        airframe: &Path,
        (file, hands, flights): (Option<&Path>, Hands, Option<u32>),
        out: &Path,
        overrides: &Overrides,
    ) -> Result<Self, PlanError> {
        let bad = |error| PlanError::BadInput(vec![error]);
        let more = parse(overrides).map_err(bad)?;
        let study = match file {
            None => usual_study(airframe, &more, hands, flights),
            Some(file) => load_airframe(airframe, &[])
                .and_then(|_| load_study(file, &more))
                .and_then(|study| flies(&study, airframe).map(|()| study)),
        };
        let study = study.map_err(bad)?;
        check_form(&study).map_err(bad)?;
        Self::of(study, out, overrides)
    }

    fn of(study: LoadedStudy, out: &Path, overrides: &Overrides) -> Result<Self, PlanError> {
        prove_writable(out)?;
        Ok(StudyPlan {
            flights: study.plan(Purpose::State),
            study,
            out: out.to_path_buf(),
            typed_overrides: overrides.set.clone(),
        })
    }

    /// Overrides of the command line, as typed.
    pub fn typed_overrides(&self) -> &[String] {
        &self.typed_overrides
    }

    /// Hash of everything that decides the result: as of a scenario, with the study's file and what the command line asks for.
    pub fn inputs_sha256(&self, asked: &str) -> String {
        study_sha256(&self.study, &self.typed_overrides, asked)
    }
}

/// Hash of everything that decides a study's result: as of a scenario, with the study's file and what the command line asks for.
pub fn study_sha256(study: &LoadedStudy, typed_overrides: &[String], asked: &str) -> String {
    let further: [&[u8]; 3] = [b"study", &study.bytes, asked.as_bytes()];
    hashed(&study.base, typed_overrides, &further)
}

/// Engine of a scenario: method, number type, use of fused multiply-add.
pub fn engine(scenario: &LoadedScenario) -> String {
    use sim_core::solver::Method;
    match scenario.built.throw.tolerance.method {
        Method::Dopri5 => "dopri5, f64, no fused multiply-add",
        Method::Dop853 => "dop853, f64, no fused multiply-add",
        Method::Lanes => "tsitouras5 in lanes, f64, fused multiply-add",
        Method::LanesSingle => "SCREENING: tsitouras5 in lanes, f32, fused multiply-add",
    }
    .to_owned()
}

/// Overrides as typed, understood.
///
/// # Errors
/// [`FileError`].
pub fn parse(overrides: &Overrides) -> Result<Vec<Override>, FileError> {
    overrides
        .set
        .iter()
        .map(|text| Override::parse(text))
        .collect()
}

/// An airframe file with overrides from the command line.
///
/// # Errors
/// [`FileError`].
pub fn airframe(file: &Path, overrides: &Overrides) -> Result<LoadedAirframe, FileError> {
    load_airframe(file, &parse(overrides)?)
}

/// A study file with overrides from the command line.
///
/// # Errors
/// [`FileError`].
pub fn study(file: &Path, overrides: &Overrides) -> Result<LoadedStudy, FileError> {
    load_study(file, &parse(overrides)?)
}

/// A scenario file with overrides from the command line.
///
/// # Errors
/// [`FileError`].
pub fn scenario(file: &Path, overrides: &Overrides) -> Result<LoadedScenario, FileError> {
    load_scenario_with(file, &parse(overrides)?)
}
