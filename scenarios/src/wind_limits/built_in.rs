//! The throws of an ordinary windy afternoon, as a study (MODEL.md § 10.4). How much throws and gusts scatter is common practice or
//! assumption, no source.

use crate::error::FileError;
use crate::load::{LoadedAirframe, load_airframe, scenario_from};
use crate::overrides::Override;
use crate::read::Document;
use crate::schema::Kind;
use crate::study::{LoadedStudy, study_from};
use serde_json::{Value, json};
use std::path::Path;

/// Field of a mean wind, as the first axis of a study.
pub const WIND_FIELD: &str = "air.wind.speed_m_s";
/// Field of the first gust, as the first axis of a study.
pub const GUST_FIELD: &str = "air.gusts.1.speed_m_s";
/// Field of a constant throttle, as the second axis.
pub const THROTTLE_FIELD: &str = "pilot.throttle.at_release_fraction";

/// Slowest throw, m/s: a hand that opens while it still moves.
const GENTLEST_THROW_M_S: f64 = 0.5;

/// What grows from row to row.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Rows {
    /// The mean wind, and with it turbulence and gust.
    Wind,
    /// The gust alone, in still air.
    Gust,
}

/// What the study asks.
#[derive(Clone, Debug, PartialEq)]
pub struct Afternoon<'a> {
    /// What the first axis is.
    pub rows: Rows,
    /// Its values, m/s, rising.
    pub speeds_m_s: &'a [f64],
    /// Values of the second axis, 0 to 1.
    pub throttles: &'a [f64],
    /// Gust, as a fraction of the mean wind.
    pub gust_fraction: f64,
    /// Throws at each wind and throttle.
    pub throws: u32,
    /// Seed of everything drawn.
    pub seed: u32,
    /// Confidence of the intervals.
    pub confidence_fraction: f64,
    /// Height of the release, m.
    pub release_height_m: f64,
    /// How long is flown, s.
    pub time_s: f64,
    /// Clearance that is asked for, m.
    pub least_clearance_m: f64,
    /// Airspeed of the glide, m/s.
    pub glide_airspeed_m_s: f64,
    /// Its incidence, deg.
    pub glide_alpha_deg: f64,
    /// Whether the pilot holds the heading by left-right difference.
    pub holds_heading: bool,
}

/// Reads an airframe with those overrides that are meant for it.
///
/// # Errors
/// [`FileError`].
pub fn airframe_of(path: &Path, overrides: &[Override]) -> Result<LoadedAirframe, FileError> {
    let meant: Vec<Override> = overrides
        .iter()
        .filter(|one| one.kind() == Kind::Airframe)
        .cloned()
        .collect();
    load_airframe(path, &meant)
}

/// The study of an airframe file, with overrides that come before its axes and scatter.
///
/// # Errors
/// [`FileError`] of the airframe or an override; of a value asked for that cannot be, named by its field.
pub fn study(
    airframe: &Path,
    afternoon: &Afternoon<'_>,
    overrides: &[Override],
) -> Result<LoadedStudy, FileError> {
    let document = |what: &str, value: &Value| {
        let name = format!("the built-in {what} of tossline wind");
        let text = serde_json::to_string_pretty(value).unwrap_or_default();
        Document::from_bytes(&name, text.into_bytes())
    };
    let name = airframe.file_name().unwrap_or_default().to_string_lossy();
    let scenario = document("throw", &scenario(&name, afternoon))?;
    // Beside the airframe, which it names; no file is written or read there.
    let base = scenario_from(&airframe.with_file_name("wind.json"), scenario, overrides)?;
    let study = document("study", &study_value(afternoon))?;
    study_from(&airframe.with_file_name("wind-study.json"), study, base)
}

/// Speed of the throw over the ground in a wind, m/s.
fn release_speed_m_s(afternoon: &Afternoon<'_>, wind_m_s: f64) -> f64 {
    (afternoon.glide_airspeed_m_s - wind_m_s).max(GENTLEST_THROW_M_S)
}

fn scenario(airframe: &str, afternoon: &Afternoon<'_>) -> Value {
    // Axes set it; without any wind a scenario warns that the standard has no turbulence.
    let wind_m_s = match afternoon.rows {
        Rows::Wind => afternoon.speeds_m_s.iter().copied().fold(0.0, f64::max),
        Rows::Gust => 0.0,
    };
    let mut value = json!({
        "tossline": 1,
        "kind": "scenario",
        "name": "windy-afternoon",
        "note": "A throw into the wind at constant throttle. What scatters is in the study; common practice, no source.",
        "airframe": airframe,
        "launch": {
            "release_speed_m_s": release_speed_m_s(afternoon, wind_m_s),
            "release_height_m": afternoon.release_height_m,
            "nose_above_path_deg": afternoon.glide_alpha_deg
        },
        "air": {
            "wind": {"speed_m_s": wind_m_s, "from_deg": 0},
            "gusts": [{
                "speed_m_s": 0,
                "from_deg": 0,
                "gust_start_m": 5,
                "gust_length_m": 15,
                "along_heading_deg": 0
            }]
        },
        "pilot": {"throttle": {"at_release_fraction": 0}},
        "end": {"time_limit_s": afternoon.time_s}
    });
    if afternoon.rows == Rows::Wind {
        value["air"]["wind"]["profile"] =
            json!({"form": "logarithmic", "roughness_m": 0.03, "speed_height_m": 2});
        value["air"]["turbulence"] = json!({"seed": 0});
    }
    if afternoon.holds_heading {
        value["pilot"]["hold"] = json!({"heading": {
            "at_release_deg": 0,
            "bank_per_heading": 0.4,
            "largest_bank_deg": 15,
            "gain_fraction_deg": 0.02,
            "largest_fraction": 0.5
        }});
    }
    value
}

fn study_value(afternoon: &Afternoon<'_>) -> Value {
    let speeds = afternoon.speeds_m_s;
    let rows = match afternoon.rows {
        Rows::Wind => {
            let of = |f: &dyn Fn(f64) -> f64| speeds.iter().map(|&w| f(w)).collect::<Vec<_>>();
            json!({"field": WIND_FIELD, "values": speeds, "along": [
                {"field": GUST_FIELD, "values": of(&|w| w * afternoon.gust_fraction)},
                {"field": "launch.release_speed_m_s", "values": of(&|w| release_speed_m_s(afternoon, w))}
            ]})
        }
        Rows::Gust => json!({"field": GUST_FIELD, "values": speeds}),
    };
    let mut fields = vec![
        json!({"distribution": "truncated_normal", "field": "launch.release_speed_m_s", "change": "multiply", "mean": 1, "standard_deviation": 0.1, "least": 0.7, "most": 1.3}),
        json!({"distribution": "normal", "field": "launch.path_angle_deg", "mean": 0, "standard_deviation": 4}),
        json!({"distribution": "normal", "field": "launch.heading_deg", "mean": 0, "standard_deviation": 8}),
        json!({"distribution": "normal", "field": "launch.bank_deg", "mean": 0, "standard_deviation": 4}),
        json!({"distribution": "normal", "field": "air.gusts.1.from_deg", "mean": 0, "standard_deviation": 30}),
        json!({"distribution": "uniform", "field": "air.gusts.1.gust_start_m", "least": 0, "most": 15}),
        json!({"distribution": "uniform", "field": "air.gusts.1.gust_length_m", "least": 5, "most": 30}),
    ];
    if afternoon.rows == Rows::Wind {
        fields.push(json!({"distribution": "whole_number", "field": "air.turbulence.seed", "least": 0, "most": 1_000_000_000}));
    }
    json!({
        "tossline": 1,
        "kind": "study",
        "name": match afternoon.rows {
            Rows::Wind => "windy-afternoon",
            Rows::Gust => "gust-in-still-air",
        },
        "note": "Common practice and assumption, no source: film your own throws.",
        "base": "wind.json",
        "axes": [rows, {"field": THROTTLE_FIELD, "values": afternoon.throttles}],
        "flights": afternoon.throws,
        "seed": afternoon.seed,
        "scatter": {"fields": fields},
        "confidence_fraction": afternoon.confidence_fraction,
        "conditions": [
            {"name": "stays-up", "column": "lowest_clearance_m", "comparison": "at_least", "limit": afternoon.least_clearance_m},
            {"name": "makes-ground-upwind", "column": "end_north_m", "comparison": "above", "limit": 0},
            {"name": "no-stall", "column": "stalled_time_s", "comparison": "at_most", "limit": 0.2}
        ]
    })
}
