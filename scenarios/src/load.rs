//! From a path to something that can fly.

mod changed;
mod paths;
mod quick;
mod quick_airframe;
mod whole;

use crate::airframe_checks;
use crate::airframe_file::AirframeFile;
use crate::build::{self, BuiltAirframe, BuiltScenario, PartMass, Side};
use crate::effective::{Effective, filled};
use crate::error::{FileError, Warning};
use crate::estimate::EstimatedAt;
use crate::estimate::on_reading::Lattice;
use crate::field::FieldPath;
use crate::outline::{Drawings, NamedBytes};
use crate::overrides::{self, Numbers, Override, Stage, Touched};
use crate::read::Document;
use crate::scenario_checks;
use crate::scenario_file::{ScenarioFile, WindForm};
use crate::schema::Kind;
use crate::site;
pub(crate) use paths::{nearest_beside, without_detours};
use quick_airframe::Meant;
use serde_json::{Value, json};
use sim_core::mass::MassProperties;
use sim_core::site::Zone;
use std::path::Path;
use std::sync::{Arc, OnceLock};
use whole::{airframe_from, scenario_on};

/// An airframe file, checked, with overrides applied, and built.
#[derive(Clone, Debug)]
pub struct LoadedAirframe {
    /// Where the file is.
    pub path: Arc<Path>,
    /// The file's bytes as they were read, for hashing.
    pub bytes: Arc<[u8]>,
    /// Name, as the file gives it, and bytes of every drawing it takes outlines from, for hashing.
    pub other_bytes: Arc<[NamedBytes]>,
    /// The file after overrides, defaults filled.
    pub file: AirframeFile,
    /// The same with outlines from drawings written down as corners.
    pub written_down: AirframeFile,
    /// For what flow the coefficients the file leaves out were estimated; none where it gives them all.
    pub estimated: Option<EstimatedAt>,
    lattice: Option<Arc<Lattice>>,
    /// What flies, and what a person wants to see of it.
    pub built: BuiltAirframe,
    overrides: Vec<Override>,
    document: Arc<Document>,
    /// What further changes start from; worked out when first asked for.
    meant: Arc<OnceLock<Option<Meant>>>,
}

/// Relative tolerance of lanes in a study whose scenario gives none: well under a millimetre over ten seconds (MODEL.md § 28).
pub const STUDY_TOLERANCE: f64 = 1e-6;

/// A scenario file, checked, with its airframe, and built.
#[derive(Clone, Debug)]
pub struct LoadedScenario {
    /// Where the file is.
    pub path: Arc<Path>,
    /// The file's bytes as they were read, for hashing.
    pub bytes: Arc<[u8]>,
    /// Name, as the file gives it, and bytes of every further file it takes its site from, for hashing.
    pub other_bytes: Arc<[NamedBytes]>,
    /// The file, defaults filled.
    pub file: ScenarioFile,
    /// Its airframe, overrides applied.
    pub airframe: Arc<LoadedAirframe>,
    /// What flies.
    pub built: BuiltScenario,
    overrides: Vec<Override>,
    document: Arc<Document>,
    /// What further changes start from; worked out when first asked for.
    numbers: Arc<OnceLock<Numbers>>,
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
    airframe_alone(path, Arc::new(Document::open(path)?), overrides)
}

/// An airframe that no scenario names: overrides of a scenario are refused.
fn airframe_alone(
    path: &Path,
    document: Arc<Document>,
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
        Arc::new(Document::from_bytes(file, bytes)?),
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
    scenario_from(path, Document::open(path)?, more)
}

/// A scenario whose text is already read; `path` is where its airframe is looked for from.
pub(crate) fn scenario_from(
    path: &Path,
    document: Document,
    more: &[Override],
) -> Result<LoadedScenario, FileError> {
    scenario_on(path.into(), Arc::new(document), more, None)
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
        let document = &self.document.value;
        let before = self.lattice.as_ref();
        let Ok(changed) = changed::changed(document, &self.overrides, &self.drawings(), before)
        else {
            unreachable!("what has been read can be read again");
        };
        effective(&file, &changed.value, &changed.touched)
    }

    /// The file as the user named it.
    pub fn file_name(&self) -> &str {
        &self.document.file
    }

    /// What is worth saying before a flight.
    pub fn warnings(&self) -> Vec<Warning> {
        let motors = self.file.motors.iter();
        let carriers: Vec<&str> = motors
            .filter_map(|motor| motor.mount.carried_by.as_deref())
            .collect();
        let mut warnings = overrides::warnings(&self.overrides, &carriers);
        let of_file = airframe_checks::warnings(&self.written_down);
        warnings.extend(placed(&self.document, of_file));
        warnings
    }

    /// Its drawings, which are read.
    fn drawings(&self) -> Drawings {
        let read = self.other_bytes.to_vec();
        Drawings::read_already(&self.path, &self.document.file, read)
    }
}

/// A file as it is meant, with the JSON it was read from and what overrides have touched in it.
fn effective<T: serde::Serialize>(file: &T, given: &Value, touched: &[Touched]) -> Effective {
    let value = serde_json::to_value(file)
        .expect("a checked file holds only finite numbers and text names");
    Effective {
        defaulted: filled(given, &value),
        overridden: overridden(touched, given),
        value,
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
        match self.quickly_changed_by(more) {
            Some(changed) => Ok(changed),
            None => self.changed_at_length_by(more),
        }
    }

    /// The same scenario as a study flies it: where neither file nor override names a method, in lanes (MODEL.md § 28).
    ///
    /// # Errors
    /// [`FileError`], though none is known.
    pub(crate) fn as_studies_fly_it(&self) -> Result<Self, FileError> {
        let is_given = |name: &str| {
            let path = format!("solver.{name}");
            self.document.value["solver"].get(name).is_some()
                || self.overrides.iter().any(|one| one.path == path)
        };
        if is_given("method") {
            return Ok(self.clone());
        }
        let mut more = vec![Override::new("solver.method", &json!("lanes"))?];
        if !is_given("relative_tolerance") {
            let tolerance = json!(STUDY_TOLERANCE);
            more.push(Override::new("solver.relative_tolerance", &tolerance)?);
        }
        self.changed_by(&more)
    }

    /// The same by the whole way, which has words for all that may be wrong.
    pub(crate) fn changed_at_length_by(&self, more: &[Override]) -> Result<Self, FileError> {
        let document = Arc::clone(&self.document);
        scenario_on(Arc::clone(&self.path), document, more, Some(self))
    }

    /// What its airframe would weigh and where it would balance with further overrides: soon worked out, since nothing is estimated. None where an
    /// override spoils the airframe, which [`Self::changed_by`] says.
    pub fn mass_changed_by(&self, more: &[Override]) -> Option<ChangedMass> {
        let of_airframe = |one: &&Override| one.kind() == Kind::Airframe;
        let more: Vec<Override> = more.iter().filter(of_airframe).cloned().collect();
        let of = &self.airframe;
        if let Some(mass) = of.quick_mass(&more) {
            return Some(mass);
        }
        let mut overrides = self.airframe_overrides();
        overrides.extend(more);
        let file = changed::massed(&of.document.value, &overrides, &of.drawings()).ok()?;
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
        let mut document = (*self.document).clone();
        // A path from where the user stands, not from the scenario's folder.
        let absolute = std::path::absolute(airframe).unwrap_or_else(|_| airframe.to_owned());
        document.value["airframe"] = Value::from(absolute.display().to_string());
        scenario_from(&self.path, document, more)
    }

    /// The overrides its airframe has, those of the file first.
    pub fn airframe_overrides(&self) -> Vec<Override> {
        self.airframe.overrides.clone()
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
        let (changed, touched) = self.changed();
        effective(&file, &changed, &touched)
    }

    /// What is worth saying before a flight, the airframe's included.
    pub fn warnings(&self) -> Vec<Warning> {
        let mut warnings = self.airframe.warnings();
        let of_file = scenario_checks::warnings(&self.file, &self.airframe.built);
        warnings.extend(placed(&self.document, of_file));
        let cautions = site::cautions(&self.file.site, &self.built.throw.site.zones);
        warnings.extend(placed(&self.document, cautions));
        warnings
    }

    /// Its JSON after overrides, and what they have touched.
    fn changed(&self) -> (Value, Vec<Touched>) {
        let mut value = self.document.value.clone();
        let touched = overrides::apply(&mut value, Kind::Scenario, &self.overrides, Stage::Build)
            .expect("overrides that could be applied before");
        (value, touched)
    }
}
