//! Balancing: each drawn airframe's movable part is shifted until its masses no longer move the balance point (MODEL.md § 24).

use super::change::{carriers, heaviest_movable};
use crate::airframe_file::{AirframeFile, Part};
use crate::error::FileError;
use crate::load::LoadedScenario;
use crate::overrides::{Change, Override};

/// Shifts too small to matter, mm.
const NOTHING_MM: f64 = 1e-6;

/// The mark on an airframe where it is to balance, and what is moved to balance it there.
#[derive(Clone, Debug, PartialEq)]
pub struct Mark {
    part: String,
    part_station_mm: f64,
    balance_station_mm: f64,
}

impl Mark {
    /// Of the airframe that was meant; none where it has no part to move.
    pub fn of(scenario: &LoadedScenario) -> Option<Self> {
        let file = &scenario.airframe.file;
        let part = heaviest_movable(file, &carriers(file))?;
        Some(Mark {
            part_station_mm: station_mm(file, &part)?,
            balance_station_mm: balance_mm(scenario),
            part,
        })
    }

    /// A drawn airframe balanced at the mark, but for how far its movable part was drawn away.
    ///
    /// # Errors
    /// [`FileError`] where the part cannot be moved so.
    pub fn balanced(&self, drawn: LoadedScenario) -> Result<LoadedScenario, FileError> {
        let built = &drawn.airframe.built;
        let part = built.parts.iter().find(|part| part.name == self.part);
        let station = station_mm(&drawn.airframe.file, &self.part);
        let (Some(part), Some(station_mm)) = (part, station) else {
            return Ok(drawn);
        };
        let share = part.properties.mass_kg / built.mass.mass_kg;
        let missed_mm = share * (station_mm - self.part_station_mm);
        let off_mm = balance_mm(&drawn) - missed_mm - self.balance_station_mm;
        let shift_mm = -off_mm / share;
        if shift_mm.abs() < NOTHING_MM {
            return Ok(drawn);
        }
        drawn.changed_by(&[Override {
            path: format!("mass.parts.{}.at.station_mm", self.part),
            change: Change::Add(shift_mm),
            file: "balancing".to_owned(),
            line: None,
        }])
    }
}

fn balance_mm(scenario: &LoadedScenario) -> f64 {
    1e3 * scenario.airframe.built.mass.balance.station_m
}

fn station_mm(file: &AirframeFile, name: &str) -> Option<f64> {
    file.mass
        .parts
        .iter()
        .flatten()
        .find_map(|part| match part {
            Part::Point(point) if point.name == name => Some(point.at.station_mm),
            _ => None,
        })
}
