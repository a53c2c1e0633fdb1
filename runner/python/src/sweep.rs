//! Studies of many throws in a notebook.

use crate::errors::not_done;
use crate::fly::some_threads;
use crate::frame::Frame;
use crate::stoppable::stoppable;
use crate::values::{escaped, overrides, to_python, typed};
use pyo3::exceptions::PyKeyboardInterrupt;
use pyo3::prelude::*;
use pyo3::types::PyDict;
use runner::Swept;
use serde_json::Value;
use std::path::PathBuf;

/// A study flown: what comes out how often, and what decides it.
///
/// `words` says it in a paragraph, `text` is what the command prints, `flights` has a row for each flight, inputs beside outputs. In a
/// notebook it shows its text.
#[pyclass(frozen, module = "tossline")]
#[derive(Debug)]
pub struct Sweep {
    report: Value,
    text: String,
    flights: Py<Frame>,
    points: Option<Py<Frame>>,
    sensitivities: Option<Py<Frame>>,
    warnings: Vec<String>,
}

impl Sweep {
    fn new(py: Python<'_>, swept: Swept) -> PyResult<Self> {
        let frame = |table| Py::new(py, Frame::new(table)?);
        Ok(Sweep {
            report: swept.report,
            text: swept.page,
            flights: frame(swept.flights)?,
            points: swept.points.map(frame).transpose()?,
            sensitivities: swept.sensitivities.map(frame).transpose()?,
            warnings: swept.warnings,
        })
    }
}

#[pymethods]
impl Sweep {
    /// Name of the study.
    #[getter]
    fn name(&self) -> &str {
        self.report["study"].as_str().unwrap_or_default()
    }

    /// What it comes to, in a paragraph: the command's.
    #[getter]
    fn words(&self) -> &str {
        self.report["paragraph"].as_str().unwrap_or_default()
    }

    /// What the command prints; the files are named where `out` was.
    #[getter]
    fn text(&self) -> &str {
        &self.text
    }

    /// What the command's summary.json holds, as nested dictionaries and lists.
    #[getter]
    fn report<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyAny>> {
        to_python(py, &self.report)
    }

    /// A Frame with a row for each flight: the command's table. `flight` counts from 0; then the moved fields under their paths, the kept
    /// columns of the summary, and `meets NAME` for each condition.
    #[getter]
    fn flights(&self, py: Python<'_>) -> Py<Frame> {
        self.flights.clone_ref(py)
    }

    /// A Frame with a row for each point of the axes: the command's points.csv. None without axes.
    #[getter]
    fn points(&self, py: Python<'_>) -> Option<Py<Frame>> {
        self.points.as_ref().map(|frame| frame.clone_ref(py))
    }

    /// What decides each column, a row for each `column` and `field`, the most weighty first. None where the study does not ask for it.
    ///
    /// Of Sobol indices: `first_order` and `total`, shares of the variance. Of elementary effects: `mean_size`, `mean` and
    /// `standard_deviation`, in the column's unit for the field's whole range. `..._plus_minus` is half of an interval's width.
    #[getter]
    fn sensitivities(&self, py: Python<'_>) -> Option<Py<Frame>> {
        self.sensitivities.as_ref().map(|frame| frame.clone_ref(py))
    }

    /// What is worth saying, a text each: of the files, and of what was found damaged in the folder.
    #[getter]
    fn warnings(&self) -> Vec<String> {
        self.warnings.clone()
    }

    fn __len__(&self) -> usize {
        self.report["flights"].as_u64().unwrap_or(0) as usize
    }

    /// What the command prints, for a notebook.
    fn _repr_html_(&self) -> String {
        format!("<pre>{}</pre>", escaped(&self.text))
    }

    fn __repr__(&self) -> String {
        format!(
            "<tossline.Sweep {}: {} flights>",
            self.name(),
            self.__len__()
        )
    }
}

/// Flies a study file: many throws, fields moved along axes and scattered by chance, conditions counted; as `tossline sweep` does.
///
/// Parameters
/// ----------
/// study : str or os.PathLike
///     The study file.
/// overrides : dict, optional
///     Changes of the scenario it flies, before its axes and scatter; as of `load`.
/// out : str or os.PathLike, optional
///     Folder for the command's files. What is there already of the same study is kept and gone on with, so that a sweep that was
///     stopped goes on. Left out, nothing stays on disk, kept trajectories neither.
/// threads : int, optional
///     Threads to fly with, 1 to 1024; all cores where left out. Results do not depend on it.
/// **fields
///     The same as `overrides` as keyword arguments.
///
/// Returns
/// -------
/// Sweep
///     Its tables have shape (flights,) or (points,) a column.
///
/// Raises
/// ------
/// FileError
///     Of the study, its scenario or its airframe, worded as by the command.
/// ValueError
///     Where `out` holds something else.
/// OSError
///     Where it cannot be written; what is finished is saved.
/// KeyboardInterrupt
///     Where stopped; the flights in the air end first. With `out` what is finished is saved.
#[pyfunction]
#[pyo3(signature = (study, overrides = None, /, *, out = None, threads = None, **fields))]
pub fn sweep(
    py: Python<'_>,
    study: PathBuf,
    overrides: Option<&Bound<'_, PyAny>>,
    out: Option<PathBuf>,
    threads: Option<u16>,
    fields: Option<&Bound<'_, PyDict>>,
) -> PyResult<Sweep> {
    some_threads(threads)?;
    let overrides = typed(&self::overrides(py, overrides, fields)?);
    let swept = stoppable(py, |stop| {
        runner::sweep(&study, &overrides, out.as_deref(), threads, stop)
    })?;
    match swept.map_err(|error| not_done(py, &error))? {
        Some(swept) => Sweep::new(py, swept),
        None => Err(PyKeyboardInterrupt::new_err(())),
    }
}
