//! An airframe in a notebook.

use crate::errors::{file_error, wrong};
use crate::frame::Frame;
use crate::values::{overrides, to_python};
use pyo3::exceptions::PyValueError;
use pyo3::prelude::*;
use pyo3::types::PyDict;
use runner::{Ask, CAUTION, Cells, NOT_VALIDATED};
use scenarios::LoadedAirframe;
use scenarios::balance::{self, BallastWish};
use scenarios::build::{PartMass, drawn};
use scenarios::load::airframe_from_bytes;
use scenarios::overrides::Override;
use serde_json::{Map, Value, json};
use sim_core::air::Air;

/// An airframe: checked, overrides applied, coefficients estimated where the file gives none. Does not change; `changed` gives
/// another.
///
/// In a notebook it shows itself in plan and side view with balance point, neutral point and thrust lines.
#[pyclass(frozen, module = "tossline")]
#[derive(Debug)]
pub struct Airframe {
    /// What was loaded.
    pub loaded: LoadedAirframe,
    /// Overrides applied after those of the file.
    pub overrides: Vec<Override>,
}

/// Columns of `trim` and `modes` that hold words.
const TEXTS: [&str; 5] = ["flight", "not_found", "endurance_ended_by", "about", "name"];

impl Airframe {
    /// What was loaded, with the overrides that have been applied.
    pub fn new(loaded: LoadedAirframe, overrides: Vec<Override>) -> Self {
        Airframe { loaded, overrides }
    }

    fn balanced(&self, wish: &BallastWish) -> balance::Balance {
        balance::balance(&self.loaded.built, &Air::calm(), wish)
    }

    /// One table of the report on steady flight.
    fn report(&self, py: Python<'_>, ask: &Ask, table: &str) -> PyResult<Frame> {
        if let Some((name, text)) = ask.fault() {
            return Err(wrong(name, &text));
        }
        let report =
            py.detach(|| serde_json::to_value(runner::trim_report(&self.loaded, ask, None)));
        let report = report.map_err(|error| PyValueError::new_err(error.to_string()))?;
        let rows = report[table].as_array().map_or(&[][..], Vec::as_slice);
        let rows: Vec<Map<String, Value>> = rows
            .iter()
            .filter_map(|row| row.as_object().cloned())
            .collect();
        Frame::of_records(&rows, &TEXTS)
    }
}

#[pymethods]
impl Airframe {
    /// Name, as the file gives it.
    #[getter]
    fn name(&self) -> &str {
        &self.loaded.file.name
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

    /// Mass of everything aboard, g.
    #[getter]
    fn mass_g(&self) -> f64 {
        self.loaded.built.mass.mass_kg * 1e3
    }

    /// The file after defaults, overrides and estimate, as nested dictionaries and lists.
    fn effective<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyAny>> {
        to_python(py, &self.loaded.effective().value)
    }

    /// The same airframe with further overrides; arguments and errors as of `load`.
    #[pyo3(signature = (overrides = None, /, **fields))]
    fn changed(
        &self,
        py: Python<'_>,
        overrides: Option<&Bound<'_, PyAny>>,
        fields: Option<&Bound<'_, PyDict>>,
    ) -> PyResult<Self> {
        let mut all = self.overrides.clone();
        all.extend(self::overrides(py, overrides, fields)?);
        let (file, bytes) = (self.path(), self.loaded.bytes.to_vec());
        let loaded = py.detach(|| airframe_from_bytes(&file, bytes, &all));
        let loaded = loaded.map_err(|error| file_error(py, &error))?;
        Ok(Airframe::new(loaded, all))
    }

    /// What each part weighs and where it is: a Frame of `part`, `mass_g`, `station_mm`, `right_mm`, `up_mm` and `copies`.
    fn parts(&self) -> PyResult<Frame> {
        let parts = &self.loaded.built.parts;
        let numbers = |of: &dyn Fn(&PartMass) -> f64| {
            Cells::Numbers(parts.iter().map(|part| Some(of(part))).collect())
        };
        let names = parts.iter().map(|part| Some(part.name.clone())).collect();
        Frame::new(vec![
            ("part".into(), Cells::Texts(names)),
            ("mass_g".into(), numbers(&|p| p.properties.mass_kg * 1e3)),
            (
                "station_mm".into(),
                numbers(&|p| p.properties.balance.station_m * 1e3),
            ),
            (
                "right_mm".into(),
                numbers(&|p| p.properties.balance.right_m * 1e3),
            ),
            (
                "up_mm".into(),
                numbers(&|p| p.properties.balance.up_m * 1e3),
            ),
            ("copies".into(), numbers(&|p| p.copies as f64)),
        ])
    }

    /// Where it balances and how it glides, as `tossline balance --json` says it.
    ///
    /// Parameters
    /// ----------
    /// ballast_station_mm : float
    ///     Where ballast would go, mm aft of the nose datum.
    /// margin_fraction : float
    ///     Static margin the ballast is to reach, share of the chord.
    ///
    /// Returns
    /// -------
    /// dict
    ///     `balance` with `mass_g`, `balance_station_mm`, `static_margin_fraction`, `glide` and more; `one_sigma` of them; `mark`,
    ///     `trailing_edges`; `validity` and `caution`.
    #[pyo3(signature = (*, ballast_station_mm = 0.0, margin_fraction = 0.1))]
    fn balance<'py>(
        &self,
        py: Python<'py>,
        ballast_station_mm: f64,
        margin_fraction: f64,
    ) -> PyResult<Bound<'py, PyAny>> {
        if !(-0.5..=1.0).contains(&margin_fraction) {
            let text = format!("found {margin_fraction}, wanted -0.5 to 1");
            return Err(wrong("margin_fraction", &text));
        }
        if !(-2000.0..=4000.0).contains(&ballast_station_mm) {
            let text = format!("found {ballast_station_mm}, wanted -2000 to 4000");
            return Err(wrong("ballast_station_mm", &text));
        }
        let wish = BallastWish {
            station_m: ballast_station_mm * 1e-3,
            margin_fraction,
        };
        let (file, built) = (&self.loaded.written_down, &self.loaded.built);
        let value = py.detach(|| {
            let balance = self.balanced(&wish);
            json!({
                "airframe": self.loaded.file.name,
                "tossline_version": env!("CARGO_PKG_VERSION"),
                "one_sigma": balance::doubt(file, built, &Air::calm()),
                "mark": balance::mark(file, &balance),
                "trailing_edges": balance::trailing_edges(file, &balance),
                "balance": balance,
                "validity": NOT_VALIDATED,
                "caution": CAUTION,
            })
        });
        to_python(py, &value)
    }

    /// Steady flight: glide, flight at each throttle, level flight, turns; a Frame with a row for each.
    ///
    /// Parameters
    /// ----------
    /// throttle : sequence of float, optional
    ///     Throttles, 0 to 1; a ladder of ten where left out.
    /// left_minus_right : float
    ///     Throttle difference of the turns, −1 to 1; positive turns right.
    /// height_m : float
    ///     Height over the ground, m.
    /// charge_fraction : float
    ///     Charge left in the cell, 0 to 1.
    ///
    /// Returns
    /// -------
    /// Frame
    ///     `flight`, `throttle_fraction`, `airspeed_m_s`, `alpha_deg`, `climb_m_s`, `thrust_N` and so on, named as by
    ///     `tossline trim --json`; `not_found` says why a flight has no numbers.
    #[pyo3(signature = (throttle = Vec::new(), *, left_minus_right = 0.2, height_m = 0.0, charge_fraction = 1.0))]
    fn trim(
        &self,
        py: Python<'_>,
        throttle: Vec<f64>,
        left_minus_right: f64,
        height_m: f64,
        charge_fraction: f64,
    ) -> PyResult<Frame> {
        let ask = Ask {
            throttle,
            left_minus_right,
            height_m,
            charge_fraction,
        };
        self.report(py, &ask, "steady")
    }

    /// Small motions about the glide and level flight, a row for each mode: `about`, `name`, `period_s`, `damping_ratio`,
    /// `time_to_half_s` and so on, named as by `tossline trim --json`.
    #[pyo3(signature = (*, height_m = 0.0, charge_fraction = 1.0))]
    fn modes(&self, py: Python<'_>, height_m: f64, charge_fraction: f64) -> PyResult<Frame> {
        let ask = Ask {
            throttle: vec![0.5],
            left_minus_right: 0.2,
            height_m,
            charge_fraction,
        };
        self.report(py, &ask, "modes")
    }

    /// The balance picture as SVG: plan and side view, balance and neutral point, thrust lines, and where the propellers blow.
    fn _repr_svg_(&self, py: Python<'_>) -> String {
        py.detach(|| {
            let wish = BallastWish {
                station_m: 0.0,
                margin_fraction: 0.1,
            };
            let balance = self.balanced(&wish);
            let things = drawn(&self.loaded.written_down);
            runner::draw_airframe(
                &self.loaded.file.name,
                &self.loaded.built,
                &things,
                &balance,
            )
        })
    }

    fn __repr__(&self) -> String {
        format!(
            "<tossline.Airframe {}: {:.1} g>",
            self.name(),
            self.mass_g()
        )
    }
}
