//! The study that is flown where none is given (MODEL.md § 24): a throttle step at four metres, usual scatter, usual conditions.

use super::change::{carriers, heaviest_movable};
use crate::airframe_file::{AirframeFile, Part, PropellerEffects};
use crate::error::{FileError, Problem};
use crate::field::FieldPath;
use crate::load::{LoadedAirframe, LoadedScenario, load_airframe, scenario_from};
use crate::overrides::Override;
use crate::read::Document;
use crate::schema::Kind;
use crate::study::plan::{LoadedStudy, study_from};
use serde_json::{Value, json};
use sim_core::air::Air;
use sim_core::trim::{TrimConditions, Trimmer};
use std::path::Path;

/// Release airspeed over that of the glide.
const RELEASE_OVER_GLIDE: f64 = 1.1;
/// Share of the whole mass from which on a part's own mass is scattered.
const WORTH_WEIGHING: f64 = 0.03;
/// Flights at each angle in the stating pass.
const FLIGHTS: u32 = 64;

/// The usual study of an airframe file, with overrides of the airframe and the throw.
///
/// # Errors
/// [`FileError`] of the file or an override, or where the airframe has no motor or no glide to release it in.
pub fn usual_study(airframe: &Path, more: &[Override]) -> Result<LoadedStudy, FileError> {
    let of_airframe: Vec<Override> = more
        .iter()
        .filter(|change| change.kind() == Kind::Airframe)
        .cloned()
        .collect();
    let loaded = load_airframe(airframe, &of_airframe)?;
    let throw = usual_throw(airframe, &loaded)?;
    let name = "the built-in throw";
    let document = Document::from_bytes(name, throw.to_string().into_bytes())?;
    let base = scenario_from(Path::new("built-in-throw.json"), document, more, None)?;
    let study = usual_file(&base);
    let document = Document::from_bytes("the built-in study", format!("{study:#}\n").into_bytes())?;
    study_from(Path::new("the built-in study"), document, base)
}

fn usual_throw(path: &Path, airframe: &LoadedAirframe) -> Result<Value, FileError> {
    let wrong = |found: &str, wanted: &str| FileError {
        file: airframe.file_name().to_owned(),
        line: None,
        field: None,
        found: found.to_owned(),
        wanted: wanted.to_owned(),
        nearest: None,
    };
    let built = &airframe.built;
    if built.vehicle.motors.is_empty() {
        return Err(wrong(
            "an airframe without a motor",
            "at least one motor, for a thrust line",
        ));
    }
    let conditions = TrimConditions {
        tabs_rad: built.tabs.iter().map(|tab| tab.setting_rad).collect(),
        steering_shares: built.steering_shares.clone(),
        height_m: 4.0,
        charge_fraction: 1.0,
    };
    let glide = Trimmer::new(&built.vehicle, &Air::calm(), conditions)
        .glide()
        .map_err(|error| {
            let wanted = "an airframe that glides; or give --study, with a throw of your own";
            wrong(&format!("no glide to release it in: {error}"), wanted)
        })?;
    Ok(json!({
        "tossline": 1, "kind": "scenario", "name": "built-in-throw",
        "airframe": path.display().to_string(),
        "launch": {
            "release_speed_m_s": rounded(RELEASE_OVER_GLIDE * glide.airspeed_m_s, 2),
            "release_height_m": 4,
            "path_angle_deg": -6,
            "nose_above_path_deg": rounded(glide.alpha_rad.to_degrees(), 1)
        },
        "pilot": {"throttle": {"at_release_fraction": 0.3, "changes": [{"time_s": 1, "to_fraction": 1}]}},
        "end": {"time_limit_s": 8}
    }))
}

fn rounded(value: f64, decimals: i32) -> f64 {
    let scale = 10_f64.powi(decimals);
    (value * scale).round() / scale
}

/// The study's file.
fn usual_file(base: &LoadedScenario) -> Value {
    json!({
        "tossline": 1, "kind": "study", "name": format!("thrust-line-{}", base.airframe.file.name),
        "base": "built-in-throw.json",
        "axes": [{"field": "motors.*.thrust_elevation_deg", "from": -26, "to": 26, "count": 14}],
        "scatter": {"fields": usual_scatter(base)},
        "flights": FLIGHTS,
        "seed": 1,
        "conditions": [
            {"name": "stays-up", "column": "minimum_altitude_m", "comparison": "at_least", "limit": 1.5},
            {"name": "nose-not-far-down", "column": "pitch_down_under_power_deg", "comparison": "at_most", "limit": 8},
            {"name": "no-stall-at-full-power", "column": "stalled_time_s", "comparison": "at_most", "limit": 0.2},
            {"name": "climbs-at-full-power", "column": "best_climb_rate_m_s", "comparison": "above", "limit": 0}
        ]
    })
}

fn normal(field: String, change: &str, mean: f64, standard_deviation: f64) -> Value {
    json!({"distribution": "normal", "field": field, "change": change, "mean": mean, "standard_deviation": standard_deviation})
}

/// How throws and builds scatter, as fields of a study.
pub fn usual_scatter(base: &LoadedScenario) -> Vec<Value> {
    let file = &base.airframe.file;
    let mut fields = vec![
        normal("launch.release_speed_m_s".into(), "multiply", 1.0, 0.05),
        normal("launch.path_angle_deg".into(), "add", 0.0, 2.0),
        json!({"distribution": "uniform", "field": "air.wind.speed_m_s", "least": 0, "most": 0.5}),
    ];
    masses(base, &mut fields);
    for motor in &file.motors {
        let path = |field: &str| format!("motors.{}.{field}", motor.name);
        fields.push(normal(path("thrust_elevation_deg"), "add", 0.0, 0.5));
        if motor.speed_constant_rpm_v.is_some() {
            fields.push(normal(path("speed_constant_rpm_V"), "multiply", 1.0, 0.03));
        }
    }
    for (factor, one_sigma) in PropellerEffects::FACTORS_ONE_SIGMA {
        fields.push(json!({
            "distribution": "truncated_normal", "field": format!("propeller_effects.{factor}"),
            "mean": 1, "standard_deviation": one_sigma, "least": 0, "most": 5
        }));
    }
    aerodynamics(file, &mut fields);
    fields
}

fn masses(base: &LoadedScenario, fields: &mut Vec<Value>) {
    let file = &base.airframe.file;
    let whole_g = base.airframe.built.mass.mass_kg * 1e3;
    let carriers = carriers(file);
    let movable = heaviest_movable(file, &carriers);
    for part in file.mass.parts.iter().flatten() {
        let path = |field: &str| format!("mass.parts.{}.{field}", part.name());
        match part {
            Part::Sheet(_) => {
                fields.push(normal(path("areal_density_g_m2"), "multiply", 1.0, 0.03));
            }
            Part::Point(point) if point.name == "glue" => fields.push(json!({
                "distribution": "uniform", "field": path("mass_g"), "change": "multiply", "least": 0.5, "most": 2
            })),
            Part::Point(point) if point.mass_g > WORTH_WEIGHING * whole_g => {
                fields.push(normal(path("mass_g"), "multiply", 1.0, 0.03));
            }
            Part::Rod(rod) if rod.mass_g > WORTH_WEIGHING * whole_g => {
                fields.push(normal(path("mass_g"), "multiply", 1.0, 0.03));
            }
            _ => {}
        }
    }
    if let Some(name) = movable {
        fields.push(normal(
            format!("mass.parts.{name}.at.station_mm"),
            "add",
            0.0,
            1.0,
        ));
    }
}

fn aerodynamics(file: &AirframeFile, fields: &mut Vec<Value>) {
    fields.push(normal(
        "coefficients.roll_zero.value".into(),
        "add",
        0.0,
        0.002,
    ));
    for (name, coefficient) in file.coefficients.named() {
        let Some(one_sigma) = coefficient.one_sigma.filter(|&sigma| sigma > 0.0) else {
            continue;
        };
        // Test glides end when it glides straight: what is left over is the warp above.
        if !matches!(name, "roll_zero" | "yaw_zero" | "side_zero") {
            fields.push(normal(
                format!("coefficients.{name}.value"),
                "add",
                0.0,
                one_sigma,
            ));
        }
    }
    for tab in &file.tabs {
        fields.push(normal(
            format!("tabs.{}.setting_deg", tab.name),
            "add",
            0.0,
            0.2,
        ));
        for (name, effect) in tab.named() {
            if let Some(one_sigma) = effect.one_sigma.filter(|&sigma| sigma > 0.0) {
                let path = format!("tabs.{}.{name}.value", tab.name);
                fields.push(normal(path, "add", 0.0, one_sigma));
            }
        }
    }
}

/// Whether a study flies an airframe file.
///
/// # Errors
/// [`FileError`] where its scenario flies another one, or has no motor.
pub fn flies(study: &LoadedStudy, airframe: &Path) -> Result<(), FileError> {
    let same = |path: &Path| path.canonicalize().ok();
    let own = &study.base.airframe;
    let base = FieldPath::default().key("base");
    if same(&own.path) != same(airframe) {
        let found = format!("a scenario that flies {}", own.file_name());
        let wanted = format!("one that flies {}", airframe.display());
        return Err(study.error(Problem::new(base, found, wanted)));
    }
    if own.file.motors.is_empty() {
        let wanted = "at least one motor, for a thrust line";
        return Err(study.error(Problem::new(base, "an airframe without a motor", wanted)));
    }
    Ok(())
}

/// The one axis of a study for the thrust line.
///
/// # Errors
/// [`FileError`] where it has another number of axes, or no conditions.
pub fn check_form(study: &LoadedStudy) -> Result<(), FileError> {
    let top = FieldPath::default();
    if study.file.axes.len() != 1 {
        let found = format!("{} axes", study.file.axes.len());
        let wanted = "one axis of angles, such as \"motors.*.thrust_elevation_deg\"";
        return Err(study.error(Problem::new(top.key("axes"), found, wanted)));
    }
    if study.file.conditions.is_empty() {
        let wanted = "at least one condition that a good angle meets";
        return Err(study.error(Problem::new(top.key("conditions"), "none", wanted)));
    }
    Ok(())
}
