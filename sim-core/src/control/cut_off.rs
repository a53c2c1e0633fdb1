//! When the driver takes the power from the motors because the voltage is too low (MODEL.md § 6.1).

use crate::events::looks;
use crate::root::bisect;
use crate::segment::Segment;
use crate::solver::{Piece, Row};
use crate::state::State;
use crate::vehicle::Vehicle;

/// Watches the terminal voltage in one segment.
#[derive(Clone, Copy, Debug)]
pub struct CutOff<'a> {
    /// The vehicle.
    pub vehicle: &'a Vehicle<f64>,
    /// What holds in the segment.
    pub segment: &'a Segment<f64>,
    /// Voltage below which the driver cuts, V.
    pub voltage_v: f64,
}

impl CutOff<'_> {
    /// How far the terminal voltage is over the cut-off at a time (s), V.
    pub fn margin_v(&self, time_s: f64, row: &Row) -> f64 {
        let state = State::from_array(row);
        let cell = &self.vehicle.cell;
        let left = 1.0 - state.charge / cell.capacity;
        let duty = self.segment.duty(time_s);
        cell.terminal_voltage(left, &self.vehicle.motors, &duty, &state.rotors) - self.voltage_v
    }

    /// When a piece first goes below, s.
    pub fn first_s(&self, piece: &Piece) -> Option<f64> {
        self.first_between_s(looks(piece), |time_s| piece.at(time_s))
    }

    /// When it first is below between looks at a solution, s.
    pub fn first_between_s(
        &self,
        mut looks: impl Iterator<Item = (f64, f64)>,
        at: impl Fn(f64) -> Row,
    ) -> Option<f64> {
        looks.find_map(|(before, after)| {
            let margin = |t: f64| self.margin_v(t, &at(t));
            (margin(after) < 0.0).then(|| bisect(before, after, margin))
        })
    }
}
