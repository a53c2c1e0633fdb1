//! Balancing: each drawn airframe's movable part is shifted until its masses no longer move the balance point (MODEL.md § 24).

use super::change::{carriers, heaviest_movable};
use crate::airframe_file::{AirframeFile, Part};
use crate::load::{ChangedMass, LoadedScenario};
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

    /// What balances a drawn airframe at the mark, but for how far its movable part was drawn away; none where it balances there.
    pub fn shift(&self, drawn: &ChangedMass) -> Option<Override> {
        let part = drawn.parts.iter().find(|part| part.name == self.part)?;
        let station_mm = station_mm(&drawn.file, &self.part)?;
        let share = part.properties.mass_kg / drawn.whole.mass_kg;
        let missed_mm = share * (station_mm - self.part_station_mm);
        let off_mm = 1e3 * drawn.whole.balance.station_m - missed_mm - self.balance_station_mm;
        let shift_mm = -off_mm / share;
        (shift_mm.abs() > NOTHING_MM).then(|| Override {
            path: format!("mass.parts.{}.at.station_mm", self.part),
            change: Change::Add(shift_mm),
            file: "balancing".to_owned(),
            line: None,
        })
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::load::load_scenario;
    use serde_json::json;

    // Moments of masses by hand: 2 g more in a part put the balance point back by moving the cell; a cell drawn 4 mm aft stays missed by its
    // share of the mass.
    #[test]
    fn masses_leave_the_balance_where_it_was_and_a_miss_stays() {
        let path = concat!(env!("CARGO_MANIFEST_DIR"), "/ready/step-in-calm.json");
        let meant = load_scenario(path).unwrap();
        let mark = Mark::of(&meant).unwrap();
        assert_eq!(mark.shift(&meant.mass_changed_by(&[]).unwrap()), None);
        let change = |path: &str, by: f64| Override::new(path, &json!({"add": by})).unwrap();
        let more = [change("mass.parts.motor-bridge.mass_g", 2.0)];
        let heavier = meant.changed_by(&more).unwrap();
        let shift = mark.shift(&meant.mass_changed_by(&more).unwrap()).unwrap();
        let balanced = heavier.changed_by(&[shift]).unwrap();
        assert!((balance_mm(&heavier) - balance_mm(&meant)).abs() > 2.0);
        assert!((balance_mm(&balanced) - balance_mm(&meant)).abs() < 1e-6);
        let missed = meant
            .mass_changed_by(&[change("mass.parts.cell.at.station_mm", 4.0)])
            .unwrap();
        assert_eq!(mark.shift(&missed), None);
    }
}
