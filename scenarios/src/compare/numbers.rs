//! The numbers an airframe comes to in a throw: balance, steady flight, power, and the throw's summary.

use crate::balance::neutral_point_m;
use crate::load::LoadedScenario;
use crate::summary::{Cell, Summary, fly_with_twin, summarise};
use crate::thrustline::power::curve;
use serde::Serialize;
use sim_core::error::LaunchError;
use sim_core::flight::Flight;

/// A number with its name.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Number {
    /// Name, with its unit.
    pub name: String,
    /// Unit, as people read it.
    pub unit: &'static str,
    /// Value; absent where there is none.
    pub value: Option<f64>,
}

/// Numbers of the airframe in steady flight, motors off and on, in the throw's air made still.
pub fn steady_numbers(scenario: &LoadedScenario) -> Vec<Number> {
    let built = &scenario.airframe.built;
    let (mass, table) = (&built.mass, &built.vehicle.coefficients);
    let neutral_m = neutral_point_m(built);
    let power = curve(scenario);
    let at = |throttle: f64| {
        let mut points = power.points.iter();
        points.find(|point| point.throttle_fraction == throttle)
    };
    let has_motor = !built.vehicle.motors.is_empty();
    let (glide, full) = (at(0.0), at(1.0).filter(|_| has_motor));
    let only_powered = |value: Option<f64>| value.filter(|_| has_motor);
    let list: [(&str, &'static str, Option<f64>); 17] = [
        ("mass_g", "g", Some(mass.mass_kg * 1e3)),
        (
            "balance_station_mm",
            "mm",
            Some(mass.balance.station_m * 1e3),
        ),
        ("balance_up_mm", "mm", Some(mass.balance.up_m * 1e3)),
        ("neutral_point_station_mm", "mm", Some(neutral_m * 1e3)),
        (
            "static_margin_fraction",
            "",
            Some((neutral_m - mass.balance.station_m) / table.chord),
        ),
        ("glide_airspeed_m_s", "m/s", glide.map(|p| p.airspeed_m_s)),
        ("glide_sink_m_s", "m/s", glide.map(|p| -p.climb_m_s)),
        ("glide_alpha_deg", "deg", glide.map(|p| p.alpha_deg)),
        (
            "glide_stall_margin_deg",
            "deg",
            glide.map(|p| p.stall_margin_deg),
        ),
        (
            "level_throttle_fraction",
            "",
            only_powered(power.level_throttle_fraction),
        ),
        (
            "full_throttle_path_angle_deg",
            "deg",
            full.map(|p| p.path_angle_deg),
        ),
        ("full_throttle_climb_m_s", "m/s", full.map(|p| p.climb_m_s)),
        (
            "full_throttle_airspeed_m_s",
            "m/s",
            full.map(|p| p.airspeed_m_s),
        ),
        (
            "full_throttle_stall_margin_deg",
            "deg",
            full.map(|p| p.stall_margin_deg),
        ),
        (
            "full_throttle_power_moment_mN_m",
            "mN m",
            full.map(|p| 1e3 * p.moment.total_n_m()),
        ),
        (
            "steady_nose_change_deg",
            "deg",
            only_powered(power.nose_change_deg),
        ),
        (
            "aimed_through_deg",
            "deg",
            only_powered(power.aimed_through_deg),
        ),
    ];
    list.into_iter()
        .map(|(name, unit, value)| Number {
            name: name.to_owned(),
            unit,
            value,
        })
        .collect()
}

/// Numbers of a flight's summary; its words are left out.
pub fn summary_numbers(summary: &Summary) -> Vec<Number> {
    let columns = Summary::columns().into_iter();
    columns
        .zip(summary.row())
        .map(|(column, cell)| Number {
            name: column.name.to_owned(),
            unit: column.unit,
            value: match cell {
                Cell::Number(value) => Some(value),
                Cell::Text(_) | Cell::Empty => None,
            },
        })
        .collect()
}

/// A throw flown and summed up, with all its numbers.
#[derive(Debug)]
pub struct Flown {
    /// The flight.
    pub flight: Flight,
    /// Its summary.
    pub summary: Summary,
    /// Steady numbers, then those of the summary.
    pub numbers: Vec<Number>,
}

/// Flies a throw and works its airframe's steady flights out.
///
/// # Errors
/// [`LaunchError`].
pub fn flown(scenario: &LoadedScenario) -> Result<Flown, LaunchError> {
    let built = &scenario.built;
    let (flight, twin) = fly_with_twin(&built.throw, &built.summary)?;
    let summary = summarise(&flight, twin.as_ref(), &built.summary);
    let mut numbers = steady_numbers(scenario);
    numbers.extend(summary_numbers(&summary));
    Ok(Flown {
        flight,
        summary,
        numbers,
    })
}
