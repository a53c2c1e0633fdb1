//! What propellers do beside thrust and torque, and how strongly.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// What the propellers do beside thrust and torque; each can be switched off, or taken stronger or weaker within its doubt.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct PropellerEffects {
    /// Whether a propeller that meets the air at an angle pushes across its axis, as a small fin would.
    #[serde(default = "on")]
    pub disc_normal_force: bool,
    /// Whether the jet of a propeller acts on surfaces behind it.
    #[serde(default = "on")]
    pub wash: bool,
    /// Whether the air a propeller draws in acts on surfaces beside and ahead of it.
    #[serde(default = "on")]
    pub suction: bool,
    /// How much stronger the force across the axis is than reckoned: 1 give or take 0.35.
    #[serde(default = "one")]
    #[schemars(range(min = 0.0, max = 5.0))]
    pub disc_normal_force_factor: f64,
    /// How much stronger the wash is than reckoned: 1 give or take 0.4.
    #[serde(default = "one")]
    #[schemars(range(min = 0.0, max = 5.0))]
    pub wash_factor: f64,
    /// How much stronger the suction is than reckoned: 1 give or take 0.4.
    #[serde(default = "one")]
    #[schemars(range(min = 0.0, max = 5.0))]
    pub suction_factor: f64,
}

impl PropellerEffects {
    /// The factors with their one sigma (MODEL.md 6.5 to 6.7).
    pub const FACTORS_ONE_SIGMA: [(&str, f64); 3] = [
        ("disc_normal_force_factor", 0.35),
        ("wash_factor", 0.4),
        ("suction_factor", 0.4),
    ];
}

fn on() -> bool {
    true
}

fn one() -> f64 {
    1.0
}

impl Default for PropellerEffects {
    fn default() -> Self {
        PropellerEffects {
            disc_normal_force: on(),
            wash: on(),
            suction: on(),
            disc_normal_force_factor: one(),
            wash_factor: one(),
            suction_factor: one(),
        }
    }
}
