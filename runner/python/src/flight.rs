//! Flown flights in a notebook.

use crate::frame::Frame;
use crate::values::to_python;
use pyo3::exceptions::{PyIndexError, PyValueError};
use pyo3::prelude::*;
use pyo3::sync::PyOnceLock;
use pyo3::types::{PyCapsule, PyList};
use runner::{Cells, Curves, MOST_FLIGHTS, Record};
use scenarios::LoadedScenario;
use scenarios::summary::{Cell, Summary};
use sim_core::record;
use std::sync::Arc;

/// Columns of a summary that hold words; the others are numbers.
const TEXTS: [&str; 8] = [
    "ended_by",
    "failure",
    "touched",
    "twin_failure",
    "dip_ended_by",
    "landed_in_zone",
    "zones_overflown",
    "model_range",
];

/// One flown throw.
///
/// `flight["height_m"]` is a NumPy array of shape (rows,), a row for every record interval and one for the end, named as in the
/// command's trajectory.csv; `summary` holds what the flight comes to. In a notebook it shows its side view, and pitch, airspeed and
/// throttle over time.
#[pyclass(frozen, module = "tossline")]
pub struct Flight {
    record: Record,
    flown: Option<(sim_core::flight::Flight, Arc<LoadedScenario>)>,
    trajectory: PyOnceLock<Py<Frame>>,
}

impl std::fmt::Debug for Flight {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Flight")
            .field("record", &self.record)
            .finish_non_exhaustive()
    }
}

impl Flight {
    /// What a flight comes to, with the flight itself where it is kept.
    pub fn new(
        record: Record,
        flown: Option<(sim_core::flight::Flight, Arc<LoadedScenario>)>,
    ) -> Self {
        Flight {
            record,
            flown,
            trajectory: PyOnceLock::new(),
        }
    }

    fn kept(&self) -> PyResult<&(sim_core::flight::Flight, Arc<LoadedScenario>)> {
        self.flown.as_ref().ok_or_else(|| {
            PyValueError::new_err(
                "this flight's trajectory was not kept: fly it with keep_trajectories=True",
            )
        })
    }

    /// To be drawn with the look of a number; none where nothing can be.
    fn curves(&self, number: usize) -> PyResult<Option<Curves>> {
        let (flight, scenario) = self.kept()?;
        Ok(runner::curves(scenario, flight, number))
    }

    /// The trajectory's table.
    fn rows(&self) -> PyResult<Frame> {
        let (flight, scenario) = self.kept()?;
        let built = &scenario.airframe.built;
        let motors: Vec<&str> = built.motors.iter().map(|m| m.name.as_str()).collect();
        let tabs: Vec<&str> = built.tabs.iter().map(|t| t.name.as_str()).collect();
        let names = record::column_names(&motors, &tabs);
        let times = record::row_times_s(flight, scenario.built.record_interval_s);
        let mut columns = vec![Vec::with_capacity(times.len()); names.len()];
        for time_s in times {
            let row = record::row(flight, time_s);
            for (column, value) in columns.iter_mut().zip(row) {
                // As in the CSV: no minus before a nought.
                column.push(value.map(|x| x + 0.0));
            }
        }
        let columns = columns.into_iter().map(Cells::Numbers);
        Frame::new(names.into_iter().zip(columns).collect())
    }
}

#[pymethods]
impl Flight {
    /// Name of the scenario.
    #[getter]
    fn name(&self) -> &str {
        self.record.scenario()
    }

    /// What the flight comes to: the columns of the command's summary.csv, None where there is no such number.
    #[getter]
    fn summary<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyAny>> {
        to_python(py, &self.record.summary)
    }

    /// What the command's summary.json holds: `summary`, and what made it (version, `inputs_sha256`, engine, seed, warnings).
    #[getter]
    fn record<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyAny>> {
        to_python(py, &self.record)
    }

    /// The trajectory, a Frame named as the command's trajectory.csv; worked out once.
    #[getter]
    fn trajectory(&self, py: Python<'_>) -> PyResult<Py<Frame>> {
        let made = self.trajectory.get_or_try_init(py, || {
            let frame = py.detach(|| self.rows())?;
            Py::new(py, frame)
        })?;
        Ok(made.clone_ref(py))
    }

    /// Names of the trajectory's columns.
    #[getter]
    fn columns(&self, py: Python<'_>) -> PyResult<Vec<String>> {
        self.trajectory(py)?.bind(py).getattr("columns")?.extract()
    }

    /// A column of the trajectory as a NumPy array of float64, shape (rows,), read only; NaN where there is no number.
    fn __getitem__<'py>(&self, py: Python<'py>, name: &str) -> PyResult<Bound<'py, PyAny>> {
        self.trajectory(py)?.get().__getitem__(py, name)
    }

    /// The trajectory by Arrow's C stream interface, for polars, pyarrow, DuckDB and others; called by them.
    #[pyo3(signature = (requested_schema = None))]
    fn __arrow_c_stream__<'py>(
        &self,
        py: Python<'py>,
        requested_schema: Option<Bound<'py, PyAny>>,
    ) -> PyResult<Bound<'py, PyCapsule>> {
        self.trajectory(py)?
            .get()
            .__arrow_c_stream__(py, requested_schema)
    }

    /// The trajectory as a pandas DataFrame; see Frame.to_pandas.
    fn to_pandas<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyAny>> {
        self.trajectory(py)?.get().to_pandas(py)
    }

    /// The trajectory as a polars DataFrame; see Frame.to_polars.
    fn to_polars<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyAny>> {
        Frame::to_polars(self.trajectory(py)?.into_bound(py), py)
    }

    /// Side view, pitch, airspeed and throttle as SVG; None where the trajectory was not kept.
    fn _repr_svg_(&self) -> PyResult<Option<String>> {
        if self.flown.is_none() {
            return Ok(None);
        }
        let curves: Vec<Curves> = self.curves(0)?.into_iter().collect();
        Ok(Some(runner::draw_flights(&curves)))
    }

    fn __repr__(&self) -> String {
        let summary = &self.record.summary;
        let time = summary
            .flight_time_s
            .map_or(String::new(), |t| format!(" after {t:.2} s"));
        let end = Cell::from(&summary.ended_by);
        format!("<tossline.Flight {}: {end}{time}>", self.name())
    }
}

/// Flown throws, in the order asked for: `flights[0]`, `len(flights)`, `for flight in flights`.
///
/// In a notebook they show the first eight over one another.
#[pyclass(frozen, module = "tossline")]
#[derive(Debug)]
pub struct Flights {
    flights: Vec<Py<Flight>>,
}

impl Flights {
    /// Of flights flown.
    pub fn new(flights: Vec<Flight>) -> Self {
        Python::attach(|py| Flights {
            flights: flights
                .into_iter()
                .filter_map(|one| Py::new(py, one).ok())
                .collect(),
        })
    }
}

#[pymethods]
impl Flights {
    fn __len__(&self) -> usize {
        self.flights.len()
    }

    fn __iter__<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyAny>> {
        PyList::new(py, self.flights.iter().map(|one| one.bind(py)))?.call_method0("__iter__")
    }

    fn __getitem__(&self, py: Python<'_>, index: isize) -> PyResult<Py<Flight>> {
        let count = self.flights.len() as isize;
        let place = if index < 0 { index + count } else { index };
        let found = usize::try_from(place)
            .ok()
            .and_then(|place| self.flights.get(place));
        match found {
            Some(flight) => Ok(flight.clone_ref(py)),
            None => Err(PyIndexError::new_err(format!("flight {index} of {count}"))),
        }
    }

    /// What the flights come to: a Frame with a row for each and the columns of the command's summary.csv, from `scenario`,
    /// `airframe`, `tossline_version`, `inputs_sha256`, `engine` and `seed` on.
    #[getter]
    fn summaries(&self) -> PyResult<Frame> {
        let records: Vec<&Record> = self.flights.iter().map(|one| &one.get().record).collect();
        let words = |of: fn(&Record) -> &str| {
            Cells::Texts(
                records
                    .iter()
                    .map(|record| Some(of(record).to_owned()))
                    .collect(),
            )
        };
        let seeds = records
            .iter()
            .map(|record| record.seed().map(|seed| seed as f64));
        let mut columns = vec![
            ("scenario".to_owned(), words(Record::scenario)),
            ("airframe".to_owned(), words(Record::airframe)),
            (
                "tossline_version".to_owned(),
                words(Record::tossline_version),
            ),
            ("inputs_sha256".to_owned(), words(Record::inputs_sha256)),
            ("engine".to_owned(), words(Record::engine)),
            ("seed".to_owned(), Cells::Numbers(seeds.collect())),
        ];
        let rows: Vec<Vec<Cell>> = records.iter().map(|record| record.summary.row()).collect();
        for (i, column) in Summary::columns().into_iter().enumerate() {
            let cells = rows.iter().map(|row| &row[i]);
            let cells = if TEXTS.contains(&column.name) {
                let text = |cell: &Cell| match cell {
                    Cell::Empty => None,
                    other => Some(other.to_string()),
                };
                Cells::Texts(cells.map(text).collect())
            } else {
                let number = |cell: &Cell| match cell {
                    Cell::Number(number) => Some(*number),
                    _ => None,
                };
                Cells::Numbers(cells.map(number).collect())
            };
            columns.push((column.name.to_owned(), cells));
        }
        Frame::new(columns)
    }

    /// The first eight flights over one another as SVG; None where trajectories were not kept.
    fn _repr_svg_(&self) -> PyResult<Option<String>> {
        let shown = self.flights.iter().take(MOST_FLIGHTS).map(Py::get);
        if self.flights.is_empty() || shown.clone().any(|flight| flight.flown.is_none()) {
            return Ok(None);
        }
        let curves = shown.enumerate().map(|(i, flight)| flight.curves(i));
        let curves: Vec<Option<Curves>> = curves.collect::<PyResult<_>>()?;
        let curves: Vec<Curves> = curves.into_iter().flatten().collect();
        Ok(Some(runner::draw_flights(&curves)))
    }

    fn __repr__(&self) -> String {
        format!("<tossline.Flights: {}>", self.flights.len())
    }
}
