//! From a path to something that can fly.

mod changed;

use crate::airframe_checks;
use crate::airframe_file::AirframeFile;
use crate::build::{self, BuiltAirframe, BuiltScenario, PartMass, Side};
use crate::effective::{Effective, filled};
use crate::error::{FileError, Problem, Warning};
use crate::estimate::EstimatedAt;
use crate::field::FieldPath;
use crate::outline::Drawings;
use crate::overrides::{self, Override, Stage, Touched};
use crate::read::{Document, nearest_file, typed};
use crate::scenario_checks;
use crate::scenario_file::{ScenarioFile, WindForm};
use crate::schema::Kind;
use crate::site;
use changed::{Changed, NotChanged, Spoilt, formed};
use serde_json::Value;
use sim_core::estimate::convergence::Settled;
use sim_core::mass::MassProperties;
use sim_core::site::Zone;
use std::path::{Component, Path, PathBuf};
use std::sync::Arc;

/// An airframe file, checked, with overrides applied, and built.
#[derive(Clone, Debug)]
pub struct LoadedAirframe {
    /// Where the file is.
    pub path: PathBuf,
    /// The file's bytes as they were read, for hashing.
    pub bytes: Vec<u8>,
    /// Name, as the file gives it, and bytes of every drawing it takes outlines from, for hashing.
    pub other_bytes: Vec<(String, Vec<u8>)>,
    /// The file after overrides, defaults filled.
    pub file: AirframeFile,
    /// The same with outlines from drawings written down as corners.
    pub written_down: AirframeFile,
    /// For what flow the coefficients the file leaves out were estimated; none where it gives them all.
    pub estimated: Option<EstimatedAt>,
    settled: Option<Arc<Settled>>,
    /// What flies, and what a person wants to see of it.
    pub built: BuiltAirframe,
    /// What is worth saying before a flight.
    pub warnings: Vec<Warning>,
    document: Document,
    changed: Value,
    touched: Vec<Touched>,
}

/// A scenario file, checked, with its airframe, and built.
#[derive(Clone, Debug)]
pub struct LoadedScenario {
    /// Where the file is.
    pub path: PathBuf,
    /// The file's bytes as they were read, for hashing.
    pub bytes: Vec<u8>,
    /// Name, as the file gives it, and bytes of every further file it takes its site from, for hashing.
    pub other_bytes: Vec<(String, Vec<u8>)>,
    /// The file, defaults filled.
    pub file: ScenarioFile,
    /// Its airframe, overrides applied.
    pub airframe: LoadedAirframe,
    /// What flies.
    pub built: BuiltScenario,
    /// What is worth saying before a flight, the airframe's included.
    pub warnings: Vec<Warning>,
    overrides: Vec<Override>,
    document: Document,
    changed: Value,
    touched: Vec<Touched>,
}

/// What a changed airframe weighs and where it balances.
#[derive(Clone, Debug)]
pub struct ChangedMass {
    /// The file after overrides, coefficients not estimated.
    pub file: AirframeFile,
    /// The whole.
    pub whole: MassProperties,
    /// Its parts.
    pub parts: Vec<PartMass>,
}

/// Reads an airframe file and applies overrides in order.
///
/// # Errors
/// [`FileError`] of the file as it stands, or of the override that spoils it.
pub fn load_airframe(
    path: impl AsRef<Path>,
    overrides: &[Override],
) -> Result<LoadedAirframe, FileError> {
    let path = path.as_ref();
    airframe_alone(path, Document::open(path)?, overrides)
}

/// An airframe that no scenario names: overrides of a scenario are refused.
fn airframe_alone(
    path: &Path,
    document: Document,
    overrides: &[Override],
) -> Result<LoadedAirframe, FileError> {
    if let Some(error) = overrides.iter().find_map(Override::without_scenario) {
        return Err(error);
    }
    let drawings = Drawings::beside(path, &document.file);
    airframe_from(path, document, &drawings, overrides)
}

/// The same for bytes already read; `file` is the name errors give them.
///
/// # Errors
/// As [`load_airframe`].
pub fn airframe_from_bytes(
    file: &str,
    bytes: Vec<u8>,
    overrides: &[Override],
) -> Result<LoadedAirframe, FileError> {
    airframe_alone(
        Path::new(file),
        Document::from_bytes(file, bytes)?,
        overrides,
    )
}

/// Reads a scenario file and the airframe it names, its overrides applied.
///
/// # Errors
/// [`FileError`] of either file.
pub fn load_scenario(path: impl AsRef<Path>) -> Result<LoadedScenario, FileError> {
    load_scenario_with(path, &[])
}

/// The same with further overrides of the scenario and its airframe, applied after those of the file.
///
/// # Errors
/// [`FileError`] of either file or of an override.
pub fn load_scenario_with(
    path: impl AsRef<Path>,
    more: &[Override],
) -> Result<LoadedScenario, FileError> {
    let path = path.as_ref();
    scenario_from(path, Document::open(path)?, more, None)
}

/// A scenario whose text is already read; `path` is where its airframe is looked for from. What `base` has read already is not read again;
/// its overrides come before `more`.
pub(crate) fn scenario_from(
    path: &Path,
    document: Document,
    more: &[Override],
    base: Option<&LoadedScenario>,
) -> Result<LoadedScenario, FileError> {
    // The file must make sense as it stands: else an error of the file would be put down to an override.
    // Of a base that has been shown; and where no override touches the scenario, its form is the written one.
    let (as_written, mut overrides) = match base {
        Some(base) => (base.file.clone(), base.overrides.clone()),
        None => {
            let file = checked_scenario(&document.value).map_err(|wrong| document.error(wrong))?;
            let overrides = Override::of_scenario(&document, &file.overrides)?;
            (file, overrides)
        }
    };
    overrides.extend_from_slice(more);

    let mut changed = document.value.clone();
    let touched = overrides::apply(&mut changed, Kind::Scenario, &overrides, Stage::Build)?;
    let file = if touched.is_empty() {
        as_written
    } else {
        checked_scenario(&changed).map_err(|problem| {
            let is_right_with = |others: &[Override]| {
                let mut value = document.value.clone();
                overrides::apply(&mut value, Kind::Scenario, others, Stage::Build).is_ok()
                    && checked_scenario(&value).is_ok()
            };
            overrides::blame(&problem, &changed, &overrides, &touched, is_right_with)
                .unwrap_or_else(|| document.error(problem))
        })?
    };
    let wrong = |problem: Problem| {
        overrides::blame_direct(&problem, &changed, &overrides, &touched)
            .unwrap_or_else(|| document.error(problem))
    };

    let airframe = airframe_of(path, &file, &overrides, base, &wrong)?;
    scenario_checks::check_with_airframe(&file, &airframe.built).map_err(wrong)?;
    let mut built = build::scenario(&file, &airframe.built);
    let (zones, other_bytes) = match base.filter(|base| base.has_zones_of(&file)) {
        Some(base) => (base.zones_of_file().to_vec(), base.other_bytes.clone()),
        None => {
            let folders = (folder_of(path), folder_of(Path::new(&document.file)));
            site::zones_of_file(&file.site, Some(folders)).map_err(wrong)?
        }
    };
    built.throw.site.zones.extend(zones);
    built
        .throw
        .release_state()
        .map_err(|error| wrong(scenario_checks::cannot_start(&file, &error)))?;
    scenario_checks::check_step(&file, &built).map_err(wrong)?;
    let mut warnings = airframe.warnings.clone();
    warnings.extend(placed(
        &document,
        scenario_checks::warnings(&file, &airframe.built),
    ));
    warnings.extend(placed(
        &document,
        site::cautions(&file.site, &built.throw.site.zones),
    ));
    Ok(LoadedScenario {
        path: path.to_owned(),
        bytes: document.bytes.clone(),
        other_bytes,
        built,
        airframe,
        warnings,
        file,
        overrides,
        changed,
        touched,
        document,
    })
}

fn checked_scenario(value: &Value) -> Result<ScenarioFile, Problem> {
    let file: ScenarioFile = typed(value, Kind::Scenario)?;
    scenario_checks::check(&file)?;
    Ok(file)
}

/// The airframe a scenario names, with the overrides that are meant for it.
fn airframe_of(
    path: &Path,
    file: &ScenarioFile,
    overrides: &[Override],
    base: Option<&LoadedScenario>,
    wrong: &dyn Fn(Problem) -> FileError,
) -> Result<LoadedAirframe, FileError> {
    if let Some(base) = base {
        let meant = overrides.iter().filter(|one| one.kind() == Kind::Airframe);
        if meant.eq(base.airframe_overrides().iter()) {
            return Ok(base.airframe.clone());
        }
        let (of, document) = (&base.airframe, base.airframe.document.clone());
        let drawings = Drawings::read_already(&of.path, &document.file, of.other_bytes.clone());
        return airframe_changed(
            &of.path,
            document,
            &drawings,
            overrides,
            of.settled.as_ref(),
        );
    }
    let airframe_path = airframe_path(path, &file.airframe);
    if !airframe_path.is_file() {
        let found = format!("{:?}, which is no file", file.airframe);
        let wanted = "the path of an airframe file, from the folder this file is in";
        let mut problem = Problem::new(FieldPath::default().key("airframe"), found, wanted);
        problem.nearest = nearest_beside(&airframe_path, &file.airframe);
        return Err(wrong(problem));
    }
    let document = Document::open_as(
        &airframe_path,
        &without_detours(&airframe_path).display().to_string(),
    )?;
    let drawings = Drawings::beside(&airframe_path, &document.file);
    airframe_from(&airframe_path, document, &drawings, overrides)
}

/// The path, as a file would write it, of the file beside a missing one whose name is most like it.
pub(crate) fn nearest_beside(missing: &Path, written: &str) -> Option<String> {
    let near = nearest_file(missing)?;
    let name = Path::new(&near).file_name()?.to_str()?;
    Some(
        Path::new(written)
            .with_file_name(name)
            .display()
            .to_string(),
    )
}

fn folder_of(path: &Path) -> &Path {
    path.parent().unwrap_or(Path::new(""))
}

fn airframe_path(scenario: &Path, airframe: &str) -> PathBuf {
    folder_of(scenario).join(airframe)
}

/// A path without its `..` where they only undo a folder before them; for people, not for opening (a folder may be a link).
pub(crate) fn without_detours(path: &Path) -> PathBuf {
    let mut tidy = PathBuf::new();
    for step in path.components() {
        match (step, tidy.components().next_back()) {
            (Component::ParentDir, Some(Component::Normal(_))) => {
                tidy.pop();
            }
            _ => tidy.push(step),
        }
    }
    tidy
}

fn airframe_from(
    path: &Path,
    document: Document,
    drawings: &Drawings,
    overrides: &[Override],
) -> Result<LoadedAirframe, FileError> {
    // The file must make sense as it stands: else an error of the file would be put down to an override.
    formed(&document.value, drawings).map_err(|problem| document.error(problem))?;
    airframe_changed(path, document, drawings, overrides, None)
}

/// An airframe whose file makes sense as it stands, with overrides. `before` is a lattice that may be of the same surfaces.
fn airframe_changed(
    path: &Path,
    document: Document,
    drawings: &Drawings,
    overrides: &[Override],
    before: Option<&Arc<Settled>>,
) -> Result<LoadedAirframe, FileError> {
    let with = |these: &[Override]| changed::changed(&document.value, these, drawings, before);
    let changed = with(overrides).map_err(|spoilt| {
        let Spoilt {
            problem,
            value,
            touched,
        } = match spoilt {
            NotChanged::Override(error) => return error,
            NotChanged::Airframe(spoilt) => *spoilt,
        };
        let is_right_with = |others: &[Override]| with(others).is_ok();
        overrides::blame(&problem, &value, overrides, &touched, is_right_with)
            .unwrap_or_else(|| document.error(problem))
    })?;
    let Changed {
        file,
        written_down,
        estimated,
        settled,
        ..
    } = changed;

    let carriers: Vec<&str> = file
        .motors
        .iter()
        .filter_map(|motor| motor.mount.carried_by.as_deref())
        .collect();
    let mut warnings = overrides::warnings(overrides, &carriers);
    warnings.extend(placed(&document, airframe_checks::warnings(&written_down)));
    Ok(LoadedAirframe {
        path: path.to_owned(),
        bytes: document.bytes.clone(),
        other_bytes: drawings.used_by(&file),
        built: build::airframe(&written_down),
        file,
        written_down,
        estimated,
        settled,
        warnings,
        document,
        changed: changed.value,
        touched: changed.touched,
    })
}

fn placed(
    document: &Document,
    warnings: Vec<(FieldPath, String)>,
) -> impl Iterator<Item = Warning> + '_ {
    warnings.into_iter().map(|(path, text)| Warning {
        file: document.file.clone(),
        line: document.line_of(&path),
        field: path.shown(&document.value),
        text,
    })
}

impl LoadedAirframe {
    /// The file after defaults and overrides.
    pub fn effective(&self) -> Effective {
        let mut file = self.file.clone();
        let normal_at_90 = build::normal_at_90(&file);
        if let Some(stall) = &mut file.stall {
            stall.normal_force_coefficient_at_90_deg = Some(normal_at_90);
        }
        file.apparent_mass = Some(file.flown_apparent_mass());
        for (motor, built) in file.motors.iter_mut().zip(&self.built.motors) {
            let turn = match built.side {
                Side::Centre => &mut motor.thrust_right_deg,
                Side::Left | Side::Right => &mut motor.thrust_toe_deg,
            };
            turn.get_or_insert(0.0);
        }
        let value = json(&file);
        Effective {
            defaulted: filled(&self.changed, &value),
            value,
            overridden: overridden(&self.touched, &self.changed),
        }
    }

    /// The file as the user named it.
    pub fn file_name(&self) -> &str {
        &self.document.file
    }
}

/// Paths of the fields overrides have touched, each once.
fn overridden(touched: &[Touched], changed: &Value) -> Vec<String> {
    let mut paths: Vec<String> = Vec::new();
    for one in touched {
        let shown = one.path.shown(changed);
        if !paths.contains(&shown) {
            paths.push(shown);
        }
    }
    paths
}

impl LoadedScenario {
    /// The same scenario with further overrides, after those it has. No file is read again.
    ///
    /// # Errors
    /// [`FileError`] of an override.
    pub fn changed_by(&self, more: &[Override]) -> Result<Self, FileError> {
        scenario_from(&self.path, self.document.clone(), more, Some(self))
    }

    /// What its airframe would weigh and where it would balance with further overrides: soon worked out, since nothing is estimated. None where an
    /// override spoils the airframe, which [`Self::changed_by`] says.
    pub fn mass_changed_by(&self, more: &[Override]) -> Option<ChangedMass> {
        let mut overrides = self.airframe_overrides();
        let of_airframe = |one: &&Override| one.kind() == Kind::Airframe;
        overrides.extend(more.iter().filter(of_airframe).cloned());
        let of = &self.airframe;
        let drawings = Drawings::read_already(&of.path, &of.document.file, of.other_bytes.clone());
        let file = changed::massed(&of.document.value, &overrides, &drawings).ok()?;
        let (whole, parts) = build::whole(&file.mass);
        Some(ChangedMass { file, whole, parts })
    }

    /// The same throw in the same air of another airframe: the file as it was read with its airframe exchanged, its own overrides, then these.
    ///
    /// # Errors
    /// [`FileError`] of the airframe's file, of an override, or where the throw does not suit the airframe.
    pub fn with_airframe(&self, airframe: &Path, more: &[Override]) -> Result<Self, FileError> {
        let own: Vec<Override> = more
            .iter()
            .filter(|change| change.kind() == Kind::Airframe)
            .cloned()
            .collect();
        // By itself first: its errors then name the file as the user did.
        load_airframe(airframe, &own)?;
        let mut document = self.document.clone();
        // A path from where the user stands, not from the scenario's folder.
        let absolute = std::path::absolute(airframe).unwrap_or_else(|_| airframe.to_owned());
        document.value["airframe"] = Value::from(absolute.display().to_string());
        scenario_from(&self.path, document, more, None)
    }

    /// The overrides its airframe has, those of the file first.
    pub fn airframe_overrides(&self) -> Vec<Override> {
        let of_airframe = |one: &&Override| one.kind() == Kind::Airframe;
        self.overrides.iter().filter(of_airframe).cloned().collect()
    }

    /// Its overrides: those of the file, then those that came later.
    pub(crate) fn overrides(&self) -> &[Override] {
        &self.overrides
    }

    /// Whether another form of this file takes the same zones from the same file.
    fn has_zones_of(&self, file: &ScenarioFile) -> bool {
        let (own, other) = (&self.file.site, &file.site);
        own.zones_geojson == other.zones_geojson && own.launch_point == other.launch_point
    }

    /// The zones that came from a GeoJSON file.
    fn zones_of_file(&self) -> &[Zone] {
        &self.built.throw.site.zones[self.file.site.zones.len()..]
    }

    /// The file after defaults and overrides. Its airframe's view is [`LoadedAirframe::effective`].
    pub fn effective(&self) -> Effective {
        let mut file = self.file.clone();
        for gust in &mut file.air.gusts {
            if gust.gust_start_m.is_some() {
                gust.along_heading_deg
                    .get_or_insert(file.launch.heading_deg);
            }
        }
        let release_height_m = file.launch.release_height_m;
        if let Some(profile) = &mut file.air.wind.profile
            && profile.form != WindForm::Uniform
        {
            profile.carried_at_height_m.get_or_insert(release_height_m);
        }
        if let Some(turbulence) = &mut file.air.turbulence {
            turbulence.height_m.get_or_insert(release_height_m);
        }
        let rectangle = file.site.hall.as_mut().and_then(|h| h.rectangle.as_mut());
        if let Some(rectangle) = rectangle {
            rectangle.heading_deg.get_or_insert(file.launch.heading_deg);
        }
        let value = json(&file);
        Effective {
            defaulted: filled(&self.changed, &value),
            value,
            overridden: overridden(&self.touched, &self.changed),
        }
    }
}

fn json<T: serde::Serialize>(file: &T) -> Value {
    serde_json::to_value(file).expect("a checked file holds only finite numbers and text names")
}
