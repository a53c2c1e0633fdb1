//! Files into airframes and scenarios, and what is worth saying about them.

use crate::airframe::Airframe;
use crate::errors::{file_error, wrong};
use crate::scenario::Scenario;
use crate::values::{overrides, to_python};
use pyo3::prelude::*;
use pyo3::types::PyDict;
use scenarios::read::Document;
use scenarios::schema::Kind;
use scenarios::study::load_study;
use std::path::{Path, PathBuf};

/// Reads an airframe or a scenario file, whichever it is, checks it, and applies overrides.
///
/// Parameters
/// ----------
/// path : str or os.PathLike
///     The file.
/// overrides : dict, optional
///     Paths and values, as in a scenario file: ``{"motors.*.thrust_elevation_deg": {"add": -3}}``.
/// **fields
///     The same as keyword arguments, two underscores for each dot: ``launch__release_speed_m_s=5``.
///
/// Returns
/// -------
/// Airframe or Scenario
///
/// Raises
/// ------
/// FileError
///     With file, line, field, what was found, what was wanted, and the nearest right name, worded as by the command.
#[pyfunction]
#[pyo3(signature = (path, overrides = None, /, **fields))]
pub fn load<'py>(
    py: Python<'py>,
    path: PathBuf,
    overrides: Option<&Bound<'py, PyAny>>,
    fields: Option<&Bound<'py, PyDict>>,
) -> PyResult<Bound<'py, PyAny>> {
    match kind(py, &path)? {
        Kind::Airframe => {
            let airframe = load_airframe(py, path, overrides, fields)?;
            Ok(Bound::new(py, airframe)?.into_any())
        }
        Kind::Scenario => {
            let scenario = load_scenario(py, path, overrides, fields)?;
            Ok(Bound::new(py, scenario)?.into_any())
        }
        kind => Err(wrong(
            "path",
            &format!(
                "found a file of kind \"{}\", wanted an airframe or a scenario",
                kind.word()
            ),
        )),
    }
}

/// Reads an airframe file, checks it, and applies overrides; arguments and errors as of `load`.
#[pyfunction]
#[pyo3(signature = (path, overrides = None, /, **fields))]
pub fn load_airframe(
    py: Python<'_>,
    path: PathBuf,
    overrides: Option<&Bound<'_, PyAny>>,
    fields: Option<&Bound<'_, PyDict>>,
) -> PyResult<Airframe> {
    let overrides = self::overrides(py, overrides, fields)?;
    let loaded = py.detach(|| scenarios::load_airframe(&path, &overrides));
    let loaded = loaded.map_err(|error| file_error(py, &error))?;
    Ok(Airframe::new(loaded, overrides))
}

/// Reads a scenario file and the airframe it names, checks them, and applies overrides; arguments and errors as of `load`.
#[pyfunction]
#[pyo3(signature = (path, overrides = None, /, **fields))]
pub fn load_scenario(
    py: Python<'_>,
    path: PathBuf,
    overrides: Option<&Bound<'_, PyAny>>,
    fields: Option<&Bound<'_, PyDict>>,
) -> PyResult<Scenario> {
    let overrides = self::overrides(py, overrides, fields)?;
    let loaded = py.detach(|| scenarios::load::load_scenario_with(&path, &overrides));
    let loaded = loaded.map_err(|error| file_error(py, &error))?;
    Ok(Scenario::new(loaded, overrides))
}

/// Checks an airframe, a scenario or a study, and says what is worth saying before a flight: one text for each warning, none where all is
/// well.
///
/// Parameters and errors as of `load`; the overrides of a study are of the scenario it flies.
#[pyfunction]
#[pyo3(signature = (path, overrides = None, /, **fields))]
pub fn check(
    py: Python<'_>,
    path: PathBuf,
    overrides: Option<&Bound<'_, PyAny>>,
    fields: Option<&Bound<'_, PyDict>>,
) -> PyResult<Vec<String>> {
    if kind(py, &path)? != Kind::Study {
        return load(py, path, overrides, fields)?
            .getattr("warnings")?
            .extract();
    }
    let overrides = self::overrides(py, overrides, fields)?;
    let loaded = py.detach(|| load_study(&path, &overrides));
    let loaded = loaded.map_err(|error| file_error(py, &error))?;
    let warnings = loaded.base.warnings();
    Ok(warnings.iter().map(ToString::to_string).collect())
}

/// What a file says it is.
fn kind(py: Python<'_>, path: &Path) -> PyResult<Kind> {
    let kind = Document::open(path).and_then(|document| document.kind());
    kind.map_err(|error| file_error(py, &error))
}

/// The JSON Schema (draft 2020-12) of a kind of file, as a dictionary: "airframe", "scenario" or "study".
#[pyfunction]
pub fn schema<'py>(py: Python<'py>, kind: &str) -> PyResult<Bound<'py, PyAny>> {
    let found = Kind::ALL.into_iter().find(|one| one.word() == kind);
    let Some(found) = found else {
        let words: Vec<&str> = Kind::ALL.iter().map(|kind| kind.word()).collect();
        return Err(wrong(
            "kind",
            &format!("found \"{kind}\", wanted one of {}", words.join(", ")),
        ));
    };
    to_python(py, &found.schema())
}
