//! A throw in a notebook.

use crate::airframe::Airframe;
use crate::errors::file_error;
use crate::flight::{Flight, Flights};
use crate::fly::{Asked, fly_all};
use crate::values::{overrides, to_python, typed};
use pyo3::prelude::*;
use pyo3::types::PyDict;
use scenarios::LoadedScenario;
use scenarios::overrides::Override;
use std::sync::Arc;

/// A throw: scenario and airframe, checked, overrides applied. Does not change; `changed` gives another.
#[pyclass(frozen, module = "tossline")]
#[derive(Debug)]
pub struct Scenario {
    /// What flies.
    pub loaded: Arc<LoadedScenario>,
    /// Overrides applied after those of the file.
    pub overrides: Vec<Override>,
}

impl Scenario {
    /// What was loaded, with the overrides that have been applied.
    pub fn new(loaded: LoadedScenario, overrides: Vec<Override>) -> Self {
        Scenario {
            loaded: Arc::new(loaded),
            overrides,
        }
    }
}

#[pymethods]
impl Scenario {
    /// Name, as the file gives it.
    #[getter]
    fn name(&self) -> &str {
        &self.loaded.file.name
    }

    /// What the throw is for, as the file says it.
    #[getter]
    fn note(&self) -> &str {
        &self.loaded.file.note
    }

    /// The file, as it was named.
    #[getter]
    fn path(&self) -> String {
        self.loaded.path.display().to_string()
    }

    /// What is worth saying before a flight, a text each.
    #[getter]
    fn warnings(&self) -> Vec<String> {
        self.loaded
            .warnings()
            .iter()
            .map(ToString::to_string)
            .collect()
    }

    /// The airframe with its overrides.
    #[getter]
    fn airframe(&self) -> Airframe {
        let of_airframe = self.loaded.airframe_overrides();
        Airframe::new((*self.loaded.airframe).clone(), of_airframe)
    }

    /// SHA-256 of what decides the flight: version, engine, files, overrides as written here.
    #[getter]
    fn inputs_sha256(&self) -> String {
        runner::inputs_sha256(&self.loaded, &typed(&self.overrides))
    }

    /// The scenario file after defaults and overrides, as nested dictionaries and lists. The airframe has its own.
    fn effective<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyAny>> {
        to_python(py, &self.loaded.effective().value)
    }

    /// The same throw with further overrides; arguments and errors as of `load`. No file is read again.
    #[pyo3(signature = (overrides = None, /, **fields))]
    fn changed(
        &self,
        py: Python<'_>,
        overrides: Option<&Bound<'_, PyAny>>,
        fields: Option<&Bound<'_, PyDict>>,
    ) -> PyResult<Self> {
        let more = self::overrides(py, overrides, fields)?;
        let loaded = py.detach(|| self.loaded.changed_by(&more));
        let loaded = loaded.map_err(|error| file_error(py, &error))?;
        let all = self.overrides.iter().cloned().chain(more).collect();
        Ok(Scenario::new(loaded, all))
    }

    /// Flies the throw, and its twin that never touched the throttle where there is a step.
    ///
    /// Ground, wall and stall are answers. A flight whose numbers failed has `ended_by` "failed" and no metric.
    fn fly(&self, py: Python<'_>) -> PyResult<Flight> {
        let asked = Asked::as_it_is(self);
        let mut flown = fly_all(py, vec![asked], None, true)?;
        Ok(flown.swap_remove(0))
    }

    /// Flies the throw once for each dictionary of overrides, in their order, on all threads.
    ///
    /// Parameters
    /// ----------
    /// changes : iterable of dict
    ///     Overrides of each throw, after those this one has: ``[{"launch.release_speed_m_s": v} for v in (4, 5, 6)]``.
    /// threads : int, optional
    ///     Threads to fly with; all cores where left out. Results do not depend on it.
    /// keep_trajectories : bool
    ///     False keeps the summaries alone; for thousands of flights.
    ///
    /// Returns
    /// -------
    /// Flights
    ///
    /// Raises
    /// ------
    /// FileError
    ///     Of the first dictionary that cannot be applied.
    /// KeyboardInterrupt
    ///     Where stopped; the flights in the air end first.
    #[pyo3(signature = (changes, *, threads = None, keep_trajectories = true))]
    fn fly_many(
        &self,
        py: Python<'_>,
        changes: &Bound<'_, PyAny>,
        threads: Option<u16>,
        keep_trajectories: bool,
    ) -> PyResult<Flights> {
        let mut asked = Vec::new();
        for change in changes.try_iter()? {
            asked.push(Asked::changed(self, overrides(py, Some(&change?), None)?));
        }
        Ok(Flights::new(fly_all(
            py,
            asked,
            threads,
            keep_trajectories,
        )?))
    }

    fn __repr__(&self) -> String {
        format!(
            "<tossline.Scenario {} of {}>",
            self.name(),
            self.loaded.airframe.file.name
        )
    }
}
