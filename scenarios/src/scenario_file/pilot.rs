//! What a pilot does beside programmes: slew limits, holding a plan, power that goes.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// How fast throttles and tabs can follow what they are told.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, default)]
pub struct Slew {
    /// Largest change of a motor's throttle, per second: 2 takes half a second from 0 to 1. Left out: at once.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub throttle_largest_rate_fraction_s: Option<f64>,
    /// Largest change of a tab, deg/s. Left out: at once.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub tabs_largest_rate_deg_s: Option<f64>,
}

/// A person who looks at the aircraft now and then and, after a reaction time, steers by what was seen: a heading by left-right difference,
/// a height or a climb by the throttle. Proportional only, so that a steady error remains.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[schemars(extend("not" = {"required": ["height", "climb"]}))]
pub struct Hold {
    /// Time between looks, s.
    #[serde(default = "sample_time_s")]
    #[schemars(range(min = 0.001, max = 10.0))]
    pub sample_time_s: f64,
    /// From a look to what the hands make of it, s.
    #[serde(default = "delay_s")]
    #[schemars(range(min = 0.0, max = 10.0))]
    pub delay_s: f64,
    /// The heading to hold. Needs one motor on each side.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub heading: Option<HeadingHold>,
    /// The height to hold; not with `climb`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub height: Option<HeightHold>,
    /// The climb to hold; not with `height`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub climb: Option<ClimbHold>,
}

fn sample_time_s() -> f64 {
    0.15
}

fn delay_s() -> f64 {
    0.25
}

/// Holds a heading: banks towards it, and holds the bank by left-right difference.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct HeadingHold {
    /// Heading of the nose wanted at release, deg: 0 north, 90 east.
    pub at_release_deg: f64,
    /// Changes, in order of time.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub changes: Vec<HeadingChange>,
    /// Bank wanted for each degree of heading missing, deg.
    pub bank_per_heading: f64,
    /// Largest bank wanted, deg.
    pub largest_bank_deg: f64,
    /// Left-right difference for each degree of bank missing.
    pub gain_fraction_deg: f64,
    /// Largest left-right difference.
    #[schemars(range(min = 0.0, max = 1.0))]
    pub largest_fraction: f64,
}

/// One change of the heading wanted.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct HeadingChange {
    /// When it begins, s after release.
    pub time_s: f64,
    /// New heading, deg. It is turned to the short way round at any moment.
    pub to_deg: f64,
    /// How long the change takes, s; 0 for a step.
    #[serde(default)]
    pub ramp_s: f64,
}

/// Holds a height: climbs towards it, and holds the climb by the throttle of all motors.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct HeightHold {
    /// Height of the balance point over the ground wanted at release, m.
    pub at_release_m: f64,
    /// Changes, in order of time.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub changes: Vec<HeightChange>,
    /// Climb wanted for each metre of height missing, m/s.
    pub climb_per_height_1_s: f64,
    /// Largest climb or sink wanted, m/s.
    pub largest_climb_m_s: f64,
    /// Throttle for each m/s of climb missing.
    pub gain_fraction_s_m: f64,
    /// Largest change of the programme's throttle.
    #[schemars(range(min = 0.0, max = 1.0))]
    pub largest_fraction: f64,
}

/// One change of the height wanted.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct HeightChange {
    /// When it begins, s after release.
    pub time_s: f64,
    /// New height, m.
    pub to_m: f64,
    /// How long the change takes, s; 0 for a step.
    #[serde(default)]
    pub ramp_s: f64,
}

/// Holds a climb by the throttle of all motors.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct ClimbHold {
    /// Climb wanted at release, m/s; negative sinking.
    pub at_release_m_s: f64,
    /// Changes, in order of time.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub changes: Vec<ClimbChange>,
    /// Throttle for each m/s of climb missing.
    pub gain_fraction_s_m: f64,
    /// Largest change of the programme's throttle.
    #[schemars(range(min = 0.0, max = 1.0))]
    pub largest_fraction: f64,
}

/// One change of the climb wanted.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct ClimbChange {
    /// When it begins, s after release.
    pub time_s: f64,
    /// New climb, m/s.
    pub to_m_s: f64,
    /// How long the change takes, s; 0 for a step.
    #[serde(default)]
    pub ramp_s: f64,
}

/// Power that goes for good.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct PowerCut {
    /// When, s after release.
    pub at_s: f64,
}
