//! Which angle of the motors cures what power does to the nose, in a notebook.

use crate::airframe::Airframe;
use crate::errors::{not_done, wrong};
use crate::fly::some_threads;
use crate::frame::Frame;
use crate::stoppable::stoppable;
use crate::values::{escaped, overrides, to_python, typed};
use pyo3::exceptions::PyKeyboardInterrupt;
use pyo3::prelude::*;
use pyo3::types::PyDict;
use runner::{ThrustLineAsked, WhoseHands};
use serde_json::Value;
use std::path::PathBuf;

/// Which thrust angle cures what power does to the nose, how exactly it must be held, or what else is at fault.
///
/// `words` says it in a paragraph to act on. In a notebook it shows that, and the share of throws over the angle with steady flight
/// before and after.
#[pyclass(frozen, module = "tossline")]
#[derive(Debug)]
pub struct ThrustLine {
    report: Value,
    text: String,
    picture: String,
    flights: Py<Frame>,
    angles: Py<Frame>,
}

impl ThrustLine {
    /// A field of the answer with the motors where the file has them.
    fn answer(&self, field: &str) -> &Value {
        &self.report["answers"][0][field]
    }
}

#[pymethods]
impl ThrustLine {
    /// Name of the airframe.
    #[getter]
    fn airframe(&self) -> &str {
        self.report["airframe"].as_str().unwrap_or_default()
    }

    /// "angle": there is a window of angles; "no_angle": none does it; "cannot_tell": too little is known.
    #[getter]
    fn verdict(&self) -> &str {
        self.answer("verdict").as_str().unwrap_or_default()
    }

    /// The best angle, deg, named as in the airframe file (negative: the propellers' air blows up); None without a window.
    #[getter]
    fn best_deg(&self) -> Option<f64> {
        self.answer("best_deg").as_f64()
    }

    /// The window of angles that hold, (low, high), deg; None where there is none.
    #[getter]
    fn window_deg(&self) -> Option<(f64, f64)> {
        let window = self.answer("window");
        window["low_deg"].as_f64().zip(window["high_deg"].as_f64())
    }

    /// How far off the best angle a builder may be either way, deg; None without a window.
    #[getter]
    fn may_be_off_by_deg(&self) -> Option<f64> {
        self.answer("may_be_off_by_deg").as_f64()
    }

    /// The answer in a paragraph to act on: the command's.
    #[getter]
    fn words(&self) -> &str {
        self.report["in_plain_words"].as_str().unwrap_or_default()
    }

    /// What the command prints; the files are named where `out` was.
    #[getter]
    fn text(&self) -> &str {
        &self.text
    }

    /// What the command's thrustline.json holds, as nested dictionaries and lists; an answer for each height of the motors.
    #[getter]
    fn report<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyAny>> {
        to_python(py, &self.report)
    }

    /// A Frame with a row for each angle counted: `height_change_mm`, `pass` ("choose" or "state": no flight that chose an angle states its
    /// share), `angle_deg`, `flights`, `meet_all`, `share_fraction` with its interval `low_fraction` to `high_fraction`, and `refused`,
    /// why an angle is no answer whatever its share.
    #[getter]
    fn angles(&self, py: Python<'_>) -> Py<Frame> {
        self.angles.clone_ref(py)
    }

    /// A Frame with a row for each flight, inputs beside outputs: the command's thrustline.csv.
    #[getter]
    fn flights(&self, py: Python<'_>) -> Py<Frame> {
        self.flights.clone_ref(py)
    }

    /// What is worth saying before a flight, a text each.
    #[getter]
    fn warnings(&self) -> Vec<String> {
        let list = self.report["warnings"].as_array().into_iter().flatten();
        list.filter_map(Value::as_str).map(str::to_owned).collect()
    }

    /// The share of throws over the angle, and steady flight before and after over the throttle, as SVG: the command's thrustline.svg.
    #[getter]
    fn picture(&self) -> &str {
        &self.picture
    }

    /// The paragraph over the picture, for a notebook.
    fn _repr_html_(&self) -> String {
        format!("<p>{}</p>\n{}", escaped(self.words()), self.picture)
    }

    fn __repr__(&self) -> String {
        let best = self
            .best_deg()
            .map_or_else(String::new, |best| format!(", {best} deg"));
        format!(
            "<tossline.ThrustLine {}: {}{best}>",
            self.airframe(),
            self.verdict()
        )
    }
}

/// Finds the thrust angle that cures what power does to the nose, or says that none does, as `tossline thrustline` does.
///
/// Angles are flown by hands and builds that scatter, in eight circumstances; some thousand flights, a minute on two cores.
///
/// Parameters
/// ----------
/// airframe : Airframe, str or os.PathLike
///     The airframe, or its file. Of an Airframe the file is read again and its overrides applied.
/// overrides : dict, optional
///     Changes of airframe and throw; as of `load`.
/// study : str or os.PathLike, optional
///     Study file in place of the built-in throws; its scenario must fly that airframe.
/// hands : str
///     Who builds and throws in the built-in study: "visitors", many hands, or "practised", one careful builder.
/// flights : int, optional
///     Flights of the built-in study at each angle and circumstance while choosing; 8 where left out. More of them, narrower intervals.
/// height_mm : sequence of float
///     Also answer with the motors so many mm higher (negative: lower).
/// share_fraction : float
///     Share of throws that must meet all conditions, over 0 and under 1.
/// as_built : bool
///     Fly each drawn airframe as it is built, without balancing it and trimming it by test glides first.
/// out : str or os.PathLike, optional
///     Folder for the command's files, its page among them. Left out, nothing stays on disk.
/// threads : int, optional
///     Threads to fly with, 1 to 1024; all cores where left out. Results do not depend on it.
/// **fields
///     The same as `overrides` as keyword arguments.
///
/// Returns
/// -------
/// ThrustLine
///     Angles in deg, its tables of shape (angles,) and (flights,) a column.
///
/// Raises
/// ------
/// FileError
///     Of a file or an override, worded as by the command.
/// ValueError
///     Of another argument.
/// OSError
///     Where `out` cannot be written.
/// KeyboardInterrupt
///     Where stopped; the flights in the air end first, and nothing is written.
#[pyfunction]
#[pyo3(signature = (
    airframe, overrides = None, /, *, study = None, hands = "visitors", flights = None, height_mm = Vec::new(), share_fraction = 0.9, as_built = false,
    out = None, threads = None, **fields
))]
#[expect(clippy::too_many_arguments, reason = "they are named in Python")]
pub fn thrust_line(
    py: Python<'_>,
    airframe: &Bound<'_, PyAny>,
    overrides: Option<&Bound<'_, PyAny>>,
    study: Option<PathBuf>,
    hands: &str,
    flights: Option<u32>,
    height_mm: Vec<f64>,
    share_fraction: f64,
    as_built: bool,
    out: Option<PathBuf>,
    threads: Option<u16>,
    fields: Option<&Bound<'_, PyDict>>,
) -> PyResult<ThrustLine> {
    some_threads(threads)?;
    if let Some(found @ (0 | 100_001..)) = flights {
        return Err(wrong(
            "flights",
            &format!("found {found}, wanted 1 to 100000"),
        ));
    }
    if flights.is_some() && study.is_some() {
        let text = "found beside a study, wanted one of the two: the study file's `flights` say it";
        return Err(wrong("flights", text));
    }
    let hands = match hands {
        "visitors" => WhoseHands::Visitors,
        "practised" if study.is_none() => WhoseHands::Practised,
        "practised" => {
            let text =
                "found beside a study, wanted one of the two: the study file's scatter says it";
            return Err(wrong("hands", text));
        }
        found => {
            let text = format!("found {found:?}, wanted \"visitors\" or \"practised\"");
            return Err(wrong("hands", &text));
        }
    };
    let (airframe, mut changes) = match airframe.cast::<Airframe>() {
        Ok(loaded) => {
            let loaded = loaded.get();
            (loaded.loaded.path.to_path_buf(), typed(&loaded.overrides))
        }
        Err(_) => (airframe.extract()?, Vec::new()),
    };
    changes.extend(typed(&self::overrides(py, overrides, fields)?));
    let asked = ThrustLineAsked {
        airframe,
        overrides: changes,
        study,
        hands,
        flights,
        height_mm,
        share_fraction,
        as_built,
        threads,
    };
    let found = stoppable(py, |stop| runner::thrust_line(&asked, out.as_deref(), stop))?;
    let Some(found) = found.map_err(|error| not_done(py, &error))? else {
        return Err(PyKeyboardInterrupt::new_err(()));
    };
    Ok(ThrustLine {
        report: found.report,
        text: found.page,
        picture: found.picture,
        flights: Py::new(py, Frame::new(found.flights)?)?,
        angles: Py::new(py, Frame::new(found.angles)?)?,
    })
}
