//! The parts of an airframe, and what a gram off each of them does.

use crate::load::LoadedScenario;
use nalgebra::Vector3;
use serde::{Deserialize, Serialize};
use sim_core::power::motor::Motor;

/// What is taken off each part, g; all of a part that weighs less.
const TAKEN_G: f64 = 1.0;

/// What keeps the balance point's station when a gram is taken off a part.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Ballast {
    /// Grams of ballast that go with each gram; negative where ballast must be added.
    pub saved_per_gram: f64,
    /// Grams saved in all with each gram, that gram included.
    pub saved_in_all_per_gram: f64,
    /// Grams to take off this part alone, ballast with it, for what is over; none where nothing is over, or nothing is saved in all.
    pub to_level_g: Option<f64>,
    /// Whether the part weighs so much.
    pub part_has_it: Option<bool>,
}

/// A part, what it holds, and what a gram off it does.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct PartRow {
    /// The part.
    pub part: String,
    /// All its copies, g.
    pub mass_g: f64,
    /// Of the whole mass.
    pub share_fraction: f64,
    /// Where its centre of mass is, mm aft of the nose datum.
    pub station_mm: f64,
    /// How much was taken off it, g: one gram, or all of it.
    pub taken_g: f64,
    /// Move of the balance point, mm, aft positive.
    pub balance_moves_aft_mm: f64,
    /// Move of the balance point, mm, up positive.
    pub balance_moves_up_mm: f64,
    /// Change of the static margin, share of the chord.
    pub static_margin_change_fraction: f64,
    /// Change of the elevation that aims through the balance point, deg; none without a lever along the body.
    pub aimed_through_change_deg: Option<f64>,
    /// Change of the lever arm of power, mm, nose up positive.
    pub lever_arm_change_mm: Option<f64>,
    /// With ballast at the station asked for; none where that is the balance point.
    pub with_ballast: Option<Ballast>,
}

/// Parts of a scenario's airframe, heaviest first; none where its mass is measured as a whole. `over_g` is what the airframe weighs too much.
pub fn parts(scenario: &LoadedScenario, ballast_station_m: f64, over_g: f64) -> Vec<PartRow> {
    let built = &scenario.airframe.built;
    let (whole, chord) = (&built.mass, built.vehicle.coefficients.chord);
    let motors = &built.vehicle.motors;
    let mut rows: Vec<PartRow> = built
        .parts
        .iter()
        .map(|part| {
            let (own, mass_g) = (&part.properties, part.properties.mass_kg * 1e3);
            let taken_g = TAKEN_G.min(mass_g);
            let left = whole.mass_kg - taken_g * 1e-3;
            let aft_m = taken_g * 1e-3 * (whole.balance.station_m - own.balance.station_m) / left;
            let up_m = taken_g * 1e-3 * (whole.balance.up_m - own.balance.up_m) / left;
            // Body axes from the balance point: what it moves aft puts every place that much further forward, what it moves up further down.
            let moved = Vector3::new(aft_m, 0.0, up_m);
            let still = Vector3::zeros();
            let changed = |of: fn(&[Motor<f64>], &Vector3<f64>) -> Option<f64>| {
                Some(of(motors, &moved)? - of(motors, &still)?)
            };
            PartRow {
                part: part.name.clone(),
                mass_g,
                share_fraction: own.mass_kg / whole.mass_kg,
                station_mm: own.balance.station_m * 1e3,
                taken_g,
                balance_moves_aft_mm: aft_m * 1e3,
                balance_moves_up_mm: up_m * 1e3,
                static_margin_change_fraction: -aft_m / chord,
                aimed_through_change_deg: changed(aimed_through_deg),
                lever_arm_change_mm: changed(lever_arm_mm),
                with_ballast: ballast(
                    own.balance.station_m - whole.balance.station_m,
                    whole.balance.station_m - ballast_station_m,
                    mass_g,
                    over_g,
                ),
            }
        })
        .collect();
    rows.sort_by(|a, b| b.mass_g.total_cmp(&a.mass_g));
    rows
}

/// The lever ratio: a part so far behind the balance point (m), ballast so far ahead of it (m).
fn ballast(behind_m: f64, ahead_m: f64, mass_g: f64, over_g: f64) -> Option<Ballast> {
    if ahead_m == 0.0 {
        return None;
    }
    let ratio = behind_m / ahead_m;
    let in_all = 1.0 + ratio;
    let to_level_g = (over_g > 0.0 && in_all > 0.0).then(|| over_g / in_all);
    Some(Ballast {
        saved_per_gram: ratio,
        saved_in_all_per_gram: in_all,
        to_level_g,
        part_has_it: to_level_g.map(|grams| grams <= mass_g),
    })
}

fn aimed_through_deg(motors: &[Motor<f64>], moved: &Vector3<f64>) -> Option<f64> {
    crate::thrustline::power::aimed_through_from_deg(motors, moved)
}

/// Mean of the motors' lever arms about the balance point, mm, nose up positive; none without motors.
pub(super) fn lever_arm_mm(motors: &[Motor<f64>], moved: &Vector3<f64>) -> Option<f64> {
    let arm = |motor: &Motor<f64>| (motor.place + moved).cross(&motor.axis).y;
    let sum: f64 = motors.iter().map(arm).sum();
    (!motors.is_empty()).then(|| 1e3 * sum / motors.len() as f64)
}

#[cfg(test)]
mod tests {
    use super::*;

    // Moments about the balance point by hand: a gram 240 mm behind it is held by three grams 80 mm ahead of it.
    #[test]
    fn a_gram_at_the_tail_is_worth_its_lever_at_the_nose() {
        let tail = ballast(0.24, 0.08, 10.0, 6.0).unwrap();
        assert!((tail.saved_per_gram - 3.0).abs() < 1e-12);
        assert!((tail.saved_in_all_per_gram - 4.0).abs() < 1e-12);
        assert!((tail.to_level_g.unwrap() - 1.5).abs() < 1e-12);
        assert_eq!(tail.part_has_it, Some(true));
        assert_eq!(
            ballast(0.24, 0.08, 1.0, 6.0).unwrap().part_has_it,
            Some(false)
        );
        // Half-way to the nose half of it has to go back as ballast; at the nose nothing is saved.
        assert!((ballast(-0.04, 0.08, 9.0, 1.0).unwrap().to_level_g.unwrap() - 2.0).abs() < 1e-12);
        assert_eq!(ballast(-0.08, 0.08, 9.0, 1.0).unwrap().to_level_g, None);
        assert_eq!(ballast(0.24, 0.08, 9.0, -1.0).unwrap().to_level_g, None);
        assert_eq!(ballast(0.24, 0.0, 9.0, 1.0), None);
    }
}
