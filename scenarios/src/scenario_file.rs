//! The scenario file: one throw, its air, pilot and site, and the defaults of what it may leave out.
//!
//! The doc comments are the descriptions in the JSON Schema: they are what an editor shows while somebody writes a file.

mod air;
mod pilot;
mod site;

pub use air::{Turbulence, WindForm, WindProfile};
pub use pilot::{
    ClimbChange, ClimbHold, HeadingChange, HeadingHold, HeightChange, HeightHold, Hold, PowerCut,
    Slew,
};
pub use site::{Hall, HallCorner, LaunchPoint, PlanCorner, Rectangle, Site, Wall, Zone, ZoneKind};

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use serde_json::{Map, Value};
use std::collections::BTreeMap;

/// One throw: which airframe, how it is released, in what air, what the pilot does, and when it is over.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[schemars(title = "Tossline scenario file")]
pub struct ScenarioFile {
    /// Where an editor finds the JSON Schema of this file; not looked at here.
    #[serde(rename = "$schema", default, skip_serializing_if = "Option::is_none")]
    pub json_schema: Option<String>,
    /// Version of the file format: 1.
    #[schemars(extend("const" = 1))]
    pub tossline: u32,
    /// What the file is: "scenario".
    pub kind: ScenarioKind,
    /// Name of the throw, and of the folder its results go to: letters, digits, - and _.
    pub name: String,
    /// Free text: what the throw is for.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub note: String,
    /// Path of the airframe file, from the folder this file is in.
    pub airframe: String,
    /// Changes to the airframe for this throw. The name is the path of a field: names joined by dots, an element of a list by its
    /// name, `*` for every element. The value is set, or {"add": x} or {"multiply": x} changes the number that is there.
    #[serde(default, skip_serializing_if = "Map::is_empty")]
    #[schemars(with = "BTreeMap<String, OverrideValue>")]
    pub overrides: Map<String, Value>,
    /// How the hand lets go.
    pub launch: Launch,
    /// The air of the day.
    #[serde(default)]
    pub air: Air,
    /// What the pilot does.
    #[serde(default)]
    pub pilot: Pilot,
    /// What stands around, and what must be missed.
    #[serde(default)]
    pub site: Site,
    /// When the flight is over, if it has not come down before.
    pub end: End,
    /// What the summary looks at.
    #[serde(default)]
    pub summary: Summary,
    /// How exactly the flight is computed.
    #[serde(default)]
    pub solver: Solver,
    /// How often the trajectory is written.
    #[serde(default)]
    pub record: Record,
}

/// The word that marks a scenario file.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
#[schemars(inline)]
pub enum ScenarioKind {
    /// A scenario file.
    Scenario,
}

/// What an override does: sets a field, or changes the number that is there.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(untagged)]
pub enum OverrideValue {
    /// Sets a number.
    Number(f64),
    /// Sets a text or a name.
    Text(String),
    /// Sets true or false.
    Truth(bool),
    /// Adds to the number that is there.
    Add(OverrideAdd),
    /// Multiplies the number that is there.
    Multiply(OverrideMultiply),
}

/// Adds to the number that is there.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct OverrideAdd {
    /// What to add, in the field's own unit.
    pub add: f64,
}

/// Multiplies the number that is there.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct OverrideMultiply {
    /// What to multiply by.
    pub multiply: f64,
}

/// How the hand lets go. Speeds and angles of the path are over the ground: the hand stands still, so a headwind adds airspeed.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Launch {
    /// Speed of the balance point over the ground, m/s.
    #[schemars(range(min = 0.0))]
    pub release_speed_m_s: f64,
    /// Height of the balance point over the ground, m.
    #[schemars(range(min = 0.0))]
    pub release_height_m: f64,
    /// Climb angle of the path, deg; negative is a throw downwards.
    #[serde(default)]
    pub path_angle_deg: f64,
    /// Where the throw goes, deg: 0 north, 90 east.
    #[serde(default)]
    pub heading_deg: f64,
    /// Nose above the path, deg.
    #[serde(default)]
    pub nose_above_path_deg: f64,
    /// Nose right of the path, deg.
    #[serde(default)]
    pub nose_right_of_path_deg: f64,
    /// Bank, deg, right wing down positive.
    #[serde(default)]
    pub bank_deg: f64,
    /// Roll rate, deg/s, right wing going down positive.
    #[serde(default)]
    pub roll_rate_deg_s: f64,
    /// Pitch rate, deg/s, nose going up positive.
    #[serde(default)]
    pub pitch_rate_deg_s: f64,
    /// Yaw rate, deg/s, nose going right positive.
    #[serde(default)]
    pub yaw_rate_deg_s: f64,
    /// Speed of each rotor, rpm, in the order of the airframe's motors. Left out: the steady speed at the release throttle and
    /// airspeed.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub rotor_speed_rpm: Option<Vec<f64>>,
    /// Charge left in the cell, 1 for full.
    #[serde(default = "one")]
    #[schemars(range(min = 0.0, max = 1.0))]
    pub charge_fraction: f64,
}

fn one() -> f64 {
    1.0
}

/// The air of the day.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, default)]
pub struct Air {
    /// Temperature at the ground, °C.
    #[serde(rename = "temperature_C")]
    pub temperature_c: f64,
    /// Pressure at the ground (of the place itself, not brought down to sea level), hPa.
    #[serde(rename = "pressure_hPa")]
    pub pressure_hpa: f64,
    /// Mean wind.
    pub wind: Wind,
    /// Turbulence, added to the mean wind and to gusts.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub turbulence: Option<Turbulence>,
    /// Gusts, added to the mean wind and to each other.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub gusts: Vec<Gust>,
}

impl Default for Air {
    /// Still standard air.
    fn default() -> Self {
        Air {
            temperature_c: 15.0,
            pressure_hpa: 1013.25,
            wind: Wind::default(),
            turbulence: None,
            gusts: Vec::new(),
        }
    }
}

/// A steady wind, the same at every height unless it has a profile.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, default)]
pub struct Wind {
    /// Horizontal speed, m/s.
    pub speed_m_s: f64,
    /// Where it comes from, deg: 0 north, 90 east.
    pub from_deg: f64,
    /// Speed upwards, m/s; negative for sinking air. The same at every height.
    pub up_m_s: f64,
    /// How the horizontal speed grows from the ground up. Left out: it does not.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub profile: Option<WindProfile>,
}

/// A gust that rises and falls as 1 − cosine: laid out in place (`gust_start_m`, `gust_length_m`) or in time (`gust_start_s`,
/// `gust_duration_s`).
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[schemars(extend("oneOf" = [
    {"required": ["gust_start_m", "gust_length_m"]},
    {"required": ["gust_start_s", "gust_duration_s"]}
]))]
pub struct Gust {
    /// Horizontal speed in the middle of the gust, m/s.
    pub speed_m_s: f64,
    /// Where it comes from, deg: 0 north, 90 east.
    pub from_deg: f64,
    /// Speed upwards in the middle of the gust, m/s; negative downwards.
    #[serde(default)]
    pub up_m_s: f64,
    /// Where it starts, m from the release point along `along_heading_deg`, at the moment of release. It drifts with the mean wind
    /// (of the height it is carried at, where the wind has a profile).
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub gust_start_m: Option<f64>,
    /// Its whole length, m.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub gust_length_m: Option<f64>,
    /// Heading along which it is laid out, deg. Left out: the launch heading. Gusts in place only.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub along_heading_deg: Option<f64>,
    /// When it starts, s after release, everywhere at once.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub gust_start_s: Option<f64>,
    /// How long it lasts, s.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub gust_duration_s: Option<f64>,
}

/// What the pilot does over time.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, default)]
pub struct Pilot {
    /// Throttle of all motors, 0 to 1. Its changes are the throttle steps the summary counts.
    pub throttle: FractionProgramme,
    /// Throttle of the left motor less that of the right one, −1 to 1; positive turns the nose right. Needs one motor on each side.
    pub left_minus_right: FractionProgramme,
    /// Tabs that move in flight; each starts at the airframe's setting.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub tabs: Vec<TabProgramme>,
    /// How fast throttles and tabs can follow. Left out: at once.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub slew: Option<Slew>,
    /// What the pilot holds by looking at the aircraft, added to the programmes. Left out: nothing.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub hold: Option<Hold>,
    /// The power goes from all motors for good: a plug that slips, a cell that dies. Left out: it does not.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub power_cut: Option<PowerCut>,
    /// What the noise of the gyro in the airframe's `damper` is drawn from. The same seed gives the same flight.
    pub gyro_seed: u64,
}

/// A fraction at release and its changes.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, default)]
pub struct FractionProgramme {
    /// Value at release.
    #[schemars(range(min = -1.0, max = 1.0))]
    pub at_release_fraction: f64,
    /// Changes, in order of time.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub changes: Vec<FractionChange>,
}

/// One change of a fraction.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct FractionChange {
    /// When it begins, s after release.
    pub time_s: f64,
    /// New value.
    #[schemars(range(min = -1.0, max = 1.0))]
    pub to_fraction: f64,
    /// How long the change takes, s; 0 for a step.
    #[serde(default)]
    pub ramp_s: f64,
}

/// The changes of one tab.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct TabProgramme {
    /// Name of the tab, one of the airframe's `tabs`.
    pub tab: String,
    /// Changes, in order of time.
    pub changes: Vec<TabChange>,
}

/// One change of a tab.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct TabChange {
    /// When it begins, s after release.
    pub time_s: f64,
    /// New angle, deg, trailing edge down positive (upright surface: trailing edge left).
    pub to_deg: f64,
    /// How long the change takes, s; 0 for a step.
    #[serde(default)]
    pub ramp_s: f64,
}

/// When the flight is over, if it has not come down before.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct End {
    /// Longest flight, s; at most 3600.
    #[schemars(range(min = 0.0, max = 3600.0))]
    pub time_limit_s: f64,
}

/// What the summary looks at.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, default)]
pub struct Summary {
    /// Which change of the throttle counts as the throttle step, from 1; a change to the value it has already is not counted.
    pub power_step_number: u32,
    /// How long after the step the nose is compared with the flight without it, s.
    pub power_window_s: f64,
    /// How long after the step the lowest point is looked for, s.
    pub dip_window_s: f64,
    /// Period of the slow swing of speed and height, s: 0.45 s²/m times the gliding speed. With it the summary tells what stays after the
    /// step: sustained climb, height gained, the longest stall.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub phugoid_period_s: Option<f64>,
}

impl Default for Summary {
    fn default() -> Self {
        Summary {
            power_step_number: 1,
            power_window_s: 2.0,
            dip_window_s: 5.0,
            phugoid_period_s: None,
        }
    }
}

/// How exactly the flight is computed.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, default)]
pub struct Solver {
    /// Integration method. Left out: `dopri5`, and in studies (sweep, thrustline, footprint, wind) `lanes`.
    pub method: SolverMethod,
    /// Relative error allowed in a step, 1e-13 to 1e-3. Left out: 1e-9, and in studies that name no method either 1e-6.
    pub relative_tolerance: f64,
    /// Absolute error allowed in a step, in each state's SI unit, 1e-13 to 1e-3.
    pub absolute_tolerance: f64,
    /// Longest step, s.
    pub largest_step_s: f64,
}

impl Default for Solver {
    fn default() -> Self {
        let tolerance = sim_core::solver::Tolerance::default();
        Solver {
            method: SolverMethod::Dopri5,
            relative_tolerance: tolerance.relative,
            absolute_tolerance: tolerance.absolute,
            largest_step_s: tolerance.largest_step_s,
        }
    }
}

/// Integration method.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum SolverMethod {
    /// Dormand-Prince 5(4).
    Dopri5,
    /// Dormand-Prince 8(5,3).
    Dop853,
    /// Tsitouras 5(4), many throws side by side: for studies of many flights. Its error is `relative_tolerance` of sizes of its own (1e-6 is
    /// well under a millimetre over ten seconds); `absolute_tolerance` is not used.
    Lanes,
    /// The same in numbers of 24 bits, for screening very many flights to about a millimetre; `relative_tolerance` 1e-5 and up.
    LanesSingle,
}

/// How often the trajectory is written.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, default)]
pub struct Record {
    /// Time between two rows, s. It does not change the flight.
    pub interval_s: f64,
}

impl Default for Record {
    fn default() -> Self {
        Record { interval_s: 0.01 }
    }
}
