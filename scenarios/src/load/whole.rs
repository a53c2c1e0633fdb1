//! The whole way from what files say to something that can fly, with words for all that may be wrong on it.

use super::changed::{self, Changed, NotChanged, Spoilt, formed};
use super::paths::{airframe_path, folder_of, nearest_beside, without_detours};
use super::{LoadedAirframe, LoadedScenario};
use crate::build::{self, BuiltScenario};
use crate::error::{FileError, Problem};
use crate::estimate::on_reading::Lattice;
use crate::field::FieldPath;
use crate::outline::Drawings;
use crate::overrides::{self, Override, Stage};
use crate::read::{Document, typed};
use crate::scenario_checks;
use crate::scenario_file::ScenarioFile;
use crate::schema::Kind;
use crate::site;
use serde_json::Value;
use sim_core::site::Zone;
use std::path::Path;
use std::sync::Arc;

/// A scenario whose text is read; `path` is where its airframe is looked for from. What `base` has read already is not read again; its overrides come before `more`.
pub(super) fn scenario_on(
    path: Arc<Path>,
    document: Arc<Document>,
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

    let airframe = airframe_of(&path, &file, &overrides, base, &wrong)?;
    let mut other_bytes = Arc::default();
    let zones = || match base.filter(|base| base.has_zones_of(&file)) {
        Some(base) => {
            other_bytes = Arc::clone(&base.other_bytes);
            Ok(base.zones_of_file().to_vec())
        }
        None => {
            let folders = (folder_of(&path), folder_of(Path::new(&document.file)));
            let (zones, bytes) = site::zones_of_file(&file.site, Some(folders))?;
            other_bytes = bytes.into();
            Ok(zones)
        }
    };
    let built = built(&file, &airframe, zones).map_err(wrong)?;
    Ok(LoadedScenario {
        bytes: Arc::clone(&document.bytes),
        path,
        other_bytes,
        built,
        airframe,
        file,
        overrides,
        document,
        numbers: Arc::default(),
    })
}

/// A checked scenario with its airframe, built and found fit to start. `zones` are those of the file it names.
pub(super) fn built(
    file: &ScenarioFile,
    airframe: &LoadedAirframe,
    zones: impl FnOnce() -> Result<Vec<Zone>, Problem>,
) -> Result<BuiltScenario, Problem> {
    scenario_checks::check_with_airframe(file, &airframe.built)?;
    let mut built = build::scenario(file, &airframe.built);
    built.throw.site.zones.extend(zones()?);
    let started = built.throw.release_state();
    started.map_err(|error| scenario_checks::cannot_start(file, &error))?;
    scenario_checks::check_step(file, &built)?;
    Ok(built)
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
) -> Result<Arc<LoadedAirframe>, FileError> {
    if let Some(base) = base {
        let of = &base.airframe;
        let meant = overrides.iter().filter(|one| one.kind() == Kind::Airframe);
        if meant.eq(&of.overrides) {
            return Ok(Arc::clone(of));
        }
        return airframe_changed(
            Arc::clone(&of.path),
            Arc::clone(&of.document),
            &of.drawings(),
            overrides,
            of.lattice.as_ref(),
        )
        .map(Arc::new);
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
    airframe_from(&airframe_path, Arc::new(document), &drawings, overrides).map(Arc::new)
}

pub(super) fn airframe_from(
    path: &Path,
    document: Arc<Document>,
    drawings: &Drawings,
    overrides: &[Override],
) -> Result<LoadedAirframe, FileError> {
    // The file must make sense as it stands: else an error of the file would be put down to an override.
    formed(&document.value, drawings).map_err(|problem| document.error(problem))?;
    airframe_changed(path.into(), document, drawings, overrides, None)
}

/// An airframe whose file makes sense as it stands, with overrides. `before` is a lattice that may be of the same surfaces.
fn airframe_changed(
    path: Arc<Path>,
    document: Arc<Document>,
    drawings: &Drawings,
    overrides: &[Override],
    before: Option<&Arc<Lattice>>,
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
        lattice,
        ..
    } = changed;

    let own = overrides.iter().filter(|one| one.kind() == Kind::Airframe);
    Ok(LoadedAirframe {
        path,
        bytes: Arc::clone(&document.bytes),
        other_bytes: drawings.used_by(&file).into(),
        built: build::airframe(&written_down),
        file,
        written_down,
        estimated,
        lattice,
        overrides: own.cloned().collect(),
        document,
        meant: Arc::default(),
    })
}
