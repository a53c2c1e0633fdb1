//! The study that is flown where none is given (MODEL.md § 24): a sea wall, eight circumstances, usual scatter, usual conditions.

use super::change::{carriers, heaviest_movable, raised};
use super::glide::TestGlide;
use super::hands::{Cut, Hands, Spread};
use super::power::trimmer;
use crate::airframe_file::{AirframeFile, Part, PropellerEffects};
use crate::error::{FileError, Problem};
use crate::field::FieldPath;
use crate::load::{LoadedAirframe, LoadedScenario, load_airframe, scenario_from};
use crate::overrides::Override;
use crate::read::Document;
use crate::schema::Kind;
use crate::study::{LoadedStudy, Purpose, study_from};
use serde_json::{Value, json};
use sim_core::air::Air;
use sim_core::trim::{TrimConditions, Trimmer};
use std::path::Path;

/// Height of the sea wall over the marsh, m; all heights count from the marsh.
const WALL_M: f64 = 4.0;
/// Release speeds over the glide's airspeed: usual, soft, hard.
const RELEASE_OVER_GLIDE: [f64; 3] = [1.1, 0.8, 1.5];
/// Phugoid period over airspeed, s²/m: √2 π / g (Lanchester).
const PERIOD_S2_M: f64 = 0.453;
/// Flights at each angle and circumstance in the choosing pass.
const FLIGHTS: u32 = 8;
/// Flights of each band draw in each circumstance.
const BAND_FLIGHTS: u32 = 4;

/// The circumstances, with what differs between them.
struct Circumstances {
    names: [&'static str; 8],
    at_release: [f64; 8],
    to: [f64; 8],
    ramp_s: [f64; 8],
    /// Which of the release speeds.
    release: [usize; 8],
    path_deg: [f64; 8],
    heading_deg: [f64; 8],
    wind_m_s: [f64; 8],
    /// Where the wind comes from, where the coin does not bring it to 0.
    from_deg: [f64; 8],
    gust_up_m_s: [f64; 8],
    gust_m_s: [f64; 8],
}

const CIRCUMSTANCES: Circumstances = Circumstances {
    names: [
        "glide_full",
        "glide_half",
        "soft_full",
        "hard_full",
        "behind_soft_start",
        "side_full",
        "ahead_up",
        "ahead_down_lull",
    ],
    at_release: [0.0, 0.0, 0.5, 0.5, 0.3, 0.5, 0.5, 0.5],
    to: [1.0, 0.5, 1.0, 1.0, 1.0, 1.0, 1.0, 1.0],
    ramp_s: [0.0, 0.0, 0.0, 0.0, 2.0, 0.0, 0.0, 0.0],
    release: [0, 0, 1, 2, 0, 0, 0, 0],
    path_deg: [0.0, 0.0, 0.0, 5.0, 0.0, 0.0, 0.0, 0.0],
    // A coin turns the wind from 180 to 0 and leaves 0: so the throw is turned, not the wind.
    heading_deg: [0.0, 0.0, 0.0, 0.0, 180.0, 90.0, 0.0, 0.0],
    wind_m_s: [0.0, 0.0, 0.0, 0.0, 1.2, 2.5, 2.5, 2.5],
    from_deg: [0.0, 0.0, 0.0, 0.0, 0.0, 180.0, 0.0, 0.0],
    gust_up_m_s: [0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.5, -0.35],
    gust_m_s: [0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.7],
};

/// The usual study of an airframe file, with overrides of the airframe and the throw, and with another number of flights if given.
///
/// # Errors
/// [`FileError`] of the file or an override, or where the airframe has no motor or no glide to release it in.
pub fn usual_study(
    airframe: &Path,
    more: &[Override],
    hands: Hands,
    flights: Option<u32>,
) -> Result<LoadedStudy, FileError> {
    let spread = hands.spread();
    let of_airframe: Vec<Override> = more
        .iter()
        .filter(|change| change.kind() == Kind::Airframe)
        .cloned()
        .collect();
    let loaded = load_airframe(airframe, &of_airframe)?;
    let throw = usual_throw(airframe, &loaded, spread)?;
    let name = "the built-in throw";
    let document = Document::from_bytes(name, throw.to_string().into_bytes())?;
    let base = scenario_from(Path::new("built-in-throw.json"), document, more)?;
    let glide = trimmer(&base).glide().map_err(|error| FileError {
        file: loaded.file_name().to_owned(),
        line: None,
        field: None,
        found: format!("no glide as changed: {error}"),
        wanted: "an airframe that glides; or give --study, with a throw of your own".to_owned(),
        nearest: None,
    })?;
    let study = usual_file(
        &base,
        glide.airspeed_m_s,
        spread,
        flights.unwrap_or(FLIGHTS),
    );
    let document = Document::from_bytes("the built-in study", format!("{study:#}\n").into_bytes())?;
    study_from(Path::new("the built-in study"), document, base)
}

fn usual_throw(
    path: &Path,
    airframe: &LoadedAirframe,
    spread: &Spread,
) -> Result<Value, FileError> {
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
        height_m: WALL_M + spread.hand_m[1],
        charge_fraction: 1.0,
    };
    let glide = Trimmer::new(&built.vehicle, &Air::calm(), conditions)
        .glide()
        .map_err(|error| {
            let wanted = "an airframe that glides; or give --study, with a throw of your own";
            wrong(&format!("no glide to release it in: {error}"), wanted)
        })?;
    let glide_m_s = glide.airspeed_m_s;
    let period_s = rounded(PERIOD_S2_M * glide_m_s, 3);
    Ok(json!({
        "tossline": 1, "kind": "scenario", "name": "built-in-throw",
        "airframe": path.display().to_string(),
        "launch": {
            "release_speed_m_s": rounded(RELEASE_OVER_GLIDE[0] * glide_m_s, 3),
            "release_height_m": WALL_M + spread.hand_m[1]
        },
        "air": {
            "wind": {"profile": {"form": "logarithmic", "speed_height_m": 10, "roughness_m": 0.03}},
            "gusts": [{
                "speed_m_s": 0, "from_deg": 180,
                "gust_start_m": rounded(-12.5 * chord_m(airframe), 3), "gust_length_m": rounded(25.0 * chord_m(airframe), 3)
            }]
        },
        "pilot": {"throttle": {"at_release_fraction": 0, "changes": [{"time_s": 1, "to_fraction": 1, "ramp_s": 0}]}},
        "end": {"time_limit_s": rounded((5.0 + 3.0 * period_s).max(10.0), 2)},
        "summary": {"phugoid_period_s": period_s}
    }))
}

fn chord_m(airframe: &LoadedAirframe) -> f64 {
    airframe.built.vehicle.coefficients.chord
}

fn rounded(value: f64, decimals: i32) -> f64 {
    let scale = 10_f64.powi(decimals);
    (value * scale).round() / scale
}

/// The study's file.
fn usual_file(base: &LoadedScenario, glide_m_s: f64, spread: &Spread, flights: u32) -> Value {
    let (chord, span) = (
        chord_m(&base.airframe),
        base.airframe.built.vehicle.coefficients.span,
    );
    let all = &CIRCUMSTANCES;
    let release = all
        .release
        .map(|i| rounded(RELEASE_OVER_GLIDE[i] * glide_m_s, 3));
    let full: Vec<&str> = all
        .names
        .into_iter()
        .filter(|n| *n != "glide_half")
        .collect();
    let stall_s = rounded((10.0 * chord / glide_m_s).clamp(0.2, 0.5), 3);
    json!({
        "tossline": 1, "kind": "study", "name": format!("thrust-line-{}{}", base.airframe.file.name, spread.suffix),
        "base": "built-in-throw.json",
        "axes": [
            {"field": "motors.*.thrust_elevation_deg", "from": -26, "to": 26, "count": 14},
            {
                "field": "pilot.throttle.at_release_fraction", "values": all.at_release, "names": all.names,
                "along": [
                    {"field": "pilot.throttle.changes.1.to_fraction", "values": all.to},
                    {"field": "pilot.throttle.changes.1.ramp_s", "values": all.ramp_s},
                    {"field": "launch.release_speed_m_s", "values": release},
                    {"field": "launch.path_angle_deg", "values": all.path_deg},
                    {"field": "launch.heading_deg", "values": all.heading_deg},
                    {"field": "air.wind.speed_m_s", "values": all.wind_m_s},
                    {"field": "air.wind.from_deg", "values": all.from_deg},
                    {"field": "air.gusts.1.up_m_s", "values": all.gust_up_m_s},
                    {"field": "air.gusts.1.speed_m_s", "values": all.gust_m_s}
                ]
            }
        ],
        "scatter": {
            "fields": usual_scatter(base, glide_m_s, spread),
            "correlations": [{"first": STEP_TIME, "second": GUST_START, "coefficient": spread.step_with_gust}]
        },
        "flights": flights,
        "seed": 1,
        "confidence_fraction": 0.9,
        "floor_fraction": 0.75,
        "steady_at_full_throttle": {"least_path_angle_deg": 4, "least_stall_margin_deg": 2},
        "bands": {"draws": 16, "flights": flights.min(BAND_FLIGHTS), "fields": usual_bands(&base.airframe.file)},
        "conditions": [
            {"name": "over_heads", "column": "minimum_altitude_m", "comparison": "at_least", "limit": 2.3, "at": full},
            {"name": "not_lower", "column": "height_below_twin_m", "comparison": "at_most", "limit": rounded(span.max(0.4), 3), "at": ["glide_half"]},
            {"name": "nose_down", "column": "pitch_down_under_power_deg", "comparison": "at_most", "limit": 15},
            {"name": "nose_up", "column": "pitch_up_under_power_deg", "comparison": "at_most", "limit": 45},
            {"name": "no_stall", "column": "longest_stall_after_step_s", "comparison": "at_most", "limit": stall_s, "at": full},
            {"name": "climbs", "column": "sustained_climb_m_s", "comparison": "at_least", "limit": rounded(0.07 * glide_m_s, 3), "at": full},
            {"name": "stays_up", "column": "height_gain_since_step_m", "comparison": "at_least", "limit": 0, "at": ["glide_full", "soft_full", "hard_full"]},
            {"name": "bank", "column": "bank_largest_deg", "comparison": "at_most", "limit": 45, "counts": false},
            {"name": "not_back", "column": "furthest_back_m", "comparison": "at_least", "limit": -2, "counts": false}
        ]
    })
}

const STEP_TIME: &str = "pilot.throttle.changes.1.time_s";
const GUST_START: &str = "air.gusts.1.gust_start_m";

/// A bell that is cut on both sides of its mean.
fn cut(field: String, change: &str, mean: f64, (standard_deviation, at): Cut) -> Value {
    json!({
        "distribution": "truncated_normal", "field": field, "change": change, "mean": mean,
        "standard_deviation": standard_deviation, "least": mean - at, "most": mean + at
    })
}

/// The same cut at two standard deviations.
fn within_two(field: String, change: &str, mean: f64, standard_deviation: f64) -> Value {
    let sd = rounded(standard_deviation, 6);
    cut(field, change, mean, (sd, 2.0 * sd))
}

/// How throws and builds scatter, as fields of a study.
fn usual_scatter(base: &LoadedScenario, glide_m_s: f64, spread: &Spread) -> Vec<Value> {
    let [least, likely, most] = spread.hand_m.map(|hand| WALL_M + hand);
    let [early, usual, late] = spread.step_s;
    let [pitch, roll, yaw] = spread.rates_deg_s;
    let launch = |field: &str| format!("launch.{field}");
    let gust_s = spread.gust_s.map(|time_s| rounded(time_s * glide_m_s, 3));
    let mut fields = vec![
        json!({"distribution": "triangular", "field": launch("release_height_m"), "least": least, "most_likely": likely, "most": most}),
        cut(
            launch("release_speed_m_s"),
            "multiply",
            1.0,
            spread.release_speed,
        ),
        cut(launch("path_angle_deg"), "add", 0.0, spread.path_deg),
        cut(launch("nose_above_path_deg"), "add", 0.0, spread.nose_deg),
        cut(
            launch("nose_right_of_path_deg"),
            "add",
            0.0,
            spread.nose_deg,
        ),
        cut(launch("bank_deg"), "add", 0.0, spread.bank_deg),
        within_two(launch("pitch_rate_deg_s"), "add", 0.0, pitch),
        within_two(launch("roll_rate_deg_s"), "add", 0.0, roll),
        within_two(launch("yaw_rate_deg_s"), "add", 0.0, yaw),
        json!({"distribution": "uniform", "field": launch("charge_fraction"), "least": spread.least_charge_fraction, "most": 1}),
        json!({"distribution": "triangular", "field": STEP_TIME, "least": early, "most_likely": usual, "most": late}),
        json!({"distribution": "uniform", "field": "air.wind.speed_m_s", "change": "multiply", "least": 0.8, "most": 1.2}),
        json!({"distribution": "whole_number", "field": "air.wind.from_deg", "change": "multiply", "least": 0, "most": 1}),
        json!({"distribution": "triangular", "field": GUST_START, "change": "add", "least": gust_s[0], "most_likely": gust_s[1], "most": gust_s[2]}),
    ];
    masses(base, spread, &mut fields);
    motors(base, spread, &mut fields);
    surfaces(base, spread, &mut fields);
    fields
}

fn masses(base: &LoadedScenario, spread: &Spread, fields: &mut Vec<Value>) {
    let file = &base.airframe.file;
    let whole_kg = base.airframe.built.mass.mass_kg;
    let [least, most] = spread.glue;
    for part in file.mass.parts.iter().flatten() {
        let path = |field: &str| format!("mass.parts.{}.{field}", part.name());
        match part {
            Part::Sheet(_) => {
                fields.push(cut(
                    path("areal_density_g_m2"),
                    "multiply",
                    1.0,
                    spread.areal_density,
                ));
            }
            Part::Point(point) if point.name == "glue" => fields.push(json!({
                "distribution": "triangular", "field": path("mass_g"), "change": "add",
                "least": rounded((1000.0 * least * whole_kg).max(-0.9 * point.mass_g), 4), "most_likely": 0, "most": rounded(1000.0 * most * whole_kg, 4)
            })),
            _ => {}
        }
    }
    let parts = &base.airframe.built.parts;
    let movable = heaviest_movable(file, &carriers(file));
    let built = movable.and_then(|name| parts.iter().find(|part| part.name == name));
    if let Some(part) = built {
        let miss_mm =
            (1000.0 * spread.balance_of_chord * chord_m(&base.airframe)).max(spread.balance_mm);
        let of_part_mm = miss_mm * whole_kg / part.properties.mass_kg;
        let path = format!("mass.parts.{}.at.station_mm", part.name);
        fields.push(within_two(path, "add", 0.0, of_part_mm));
    }
}

fn motors(base: &LoadedScenario, spread: &Spread, fields: &mut Vec<Value>) {
    let file = &base.airframe.file;
    // What raises the motors also says what carries them.
    for raised in raised(file, 1.0) {
        let along = raised.path.replace("up_", "station_");
        fields.push(within_two(raised.path, "add", 0.0, spread.mount_height_mm));
        fields.push(within_two(along, "add", 0.0, spread.mount_station_mm));
    }
    if file
        .motors
        .iter()
        .all(|motor| motor.speed_constant_rpm_v.is_some())
    {
        let path = "motors.*.speed_constant_rpm_V".to_owned();
        fields.push(within_two(path, "multiply", 1.0, spread.speed_constant));
    }
    for (motor, built) in file.motors.iter().zip(&base.airframe.built.motors) {
        let path = |field: &str| format!("motors.{}.{field}", motor.name);
        let turn = match built.place.right_m == 0.0 {
            true => "thrust_right_deg",
            false => "thrust_toe_deg",
        };
        fields.push(within_two(
            path("thrust_elevation_deg"),
            "add",
            0.0,
            spread.elevation_deg,
        ));
        fields.push(within_two(path(turn), "add", 0.0, spread.toe_deg));
        if motor.speed_constant_rpm_v.is_some() {
            let path = path("speed_constant_rpm_V");
            fields.push(within_two(
                path,
                "multiply",
                1.0,
                spread.speed_constant_each,
            ));
        }
    }
    let sagging = spread.cell_resistance;
    fields.push(json!({
        "distribution": "triangular", "field": "cell.internal_resistance_ohm", "change": "multiply", "least": sagging[0], "most_likely": sagging[1], "most": sagging[2]
    }));
}

fn surfaces(base: &LoadedScenario, spread: &Spread, fields: &mut Vec<Value>) {
    let file = &base.airframe.file;
    if let Some(glide) = TestGlide::of(base) {
        let mut bends = file.surfaces.iter().flat_map(|surface| &surface.bends);
        let whole = bends
            .any(|bend| bend.tab.as_deref() == Some(&glide.name) && bend.chord_fraction == 1.0);
        let left_over_deg = if whole {
            spread.whole_tab_deg
        } else {
            spread.tab_deg
        };
        let path = format!("tabs.{}.setting_deg", glide.name);
        fields.push(within_two(path, "add", 0.0, left_over_deg));
    }
    let lift_alpha = base.airframe.built.vehicle.coefficients.lift_alpha;
    let rolling = |half_deg: f64| rounded(0.21 * lift_alpha * half_deg.to_radians(), 6);
    let (sd, most) = spread.warp_deg;
    let path = "coefficients.roll_zero.value".to_owned();
    fields.push(cut(path, "add", 0.0, (rolling(sd), rolling(most))));
}

/// What is not known, as fields of a study.
fn usual_bands(file: &AirframeFile) -> Vec<Value> {
    let normal = |field: String, one_sigma: f64| json!({"distribution": "normal", "field": field, "change": "add", "mean": 0, "standard_deviation": one_sigma});
    let mut fields = Vec::new();
    for (factor, one_sigma) in PropellerEffects::FACTORS_ONE_SIGMA {
        fields.push(json!({
            "distribution": "truncated_normal", "field": format!("propeller_effects.{factor}"),
            "mean": 1, "standard_deviation": one_sigma, "least": 0, "most": 5
        }));
    }
    for (name, coefficient) in file.coefficients.named() {
        let one_sigma = coefficient.one_sigma.filter(|&sigma| sigma > 0.0);
        // Test glides end when it glides straight: what is left over is the warp of the scatter.
        if let Some(one_sigma) = one_sigma
            && !matches!(name, "roll_zero" | "yaw_zero" | "side_zero")
        {
            fields.push(normal(format!("coefficients.{name}.value"), one_sigma));
        }
    }
    for tab in &file.tabs {
        for (name, effect) in tab.named() {
            if let Some(one_sigma) = effect.one_sigma.filter(|&sigma| sigma > 0.0) {
                fields.push(normal(format!("tabs.{}.{name}.value", tab.name), one_sigma));
            }
        }
    }
    fields
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

/// Whether a study has the form of one for the thrust line: a first axis of angles, which nothing goes along with, and conditions.
///
/// # Errors
/// [`FileError`] where it has not.
pub fn check_form(study: &LoadedStudy) -> Result<(), FileError> {
    let top = FieldPath::default();
    let wanted = "a first axis of angles, such as \"motors.*.thrust_elevation_deg\"; further axes are circumstances";
    let Some(first) = study.file.axes.first() else {
        return Err(study.error(Problem::new(top.key("axes"), "no axes", wanted)));
    };
    let at = top.key("axes").index(0);
    if !first.along.is_empty() {
        let wanted = "a first axis alone: other angles are flown than it lists";
        return Err(study.error(Problem::new(
            at.key("along"),
            "fields along with it",
            wanted,
        )));
    }
    if !first.names.is_empty() {
        let wanted = "a first axis without names: other angles are flown than it lists";
        return Err(study.error(Problem::new(at.key("names"), "names", wanted)));
    }
    if !study
        .file
        .conditions
        .iter()
        .any(|condition| condition.counts)
    {
        let wanted = "at least one condition that a good angle meets";
        return Err(study.error(Problem::new(top.key("conditions"), "none", wanted)));
    }
    Ok(())
}

/// Names of the circumstances: the points of all axes but the first.
pub fn circumstances(study: &LoadedStudy) -> Vec<String> {
    let one = study.at_values(vec![0.0], 1);
    let plan = one.plan(Purpose::State);
    let axes = &study.file.axes[1..];
    let name = |point: u64| {
        let flight = plan.flight(point);
        let mut names = flight.names.into_iter();
        let words = axes.iter().zip(&flight.values[1..]).map(|(axis, value)| {
            let name = (!axis.names.is_empty()).then(|| names.next()).flatten();
            name.unwrap_or_else(|| format!("{}={value}", axis.field))
        });
        words.collect::<Vec<String>>().join(" ")
    };
    (0..plan.axis_points()).map(name).collect()
}

/// Names of the axis values of each circumstance, those of axes that have names.
pub fn names_of_circumstances(study: &LoadedStudy) -> Vec<Vec<String>> {
    let plan = study.at_values(vec![0.0], 1).plan(Purpose::State);
    (0..plan.axis_points())
        .map(|point| plan.flight(point).names)
        .collect()
}
