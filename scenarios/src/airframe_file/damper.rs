//! The rate damper of the power module.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// A gyro on the module's board and what the board makes of it: roll and yaw are damped by left-right difference, pitch by the throttle of
/// all motors. It sits with the motors and goes with the airframe; a throw that wants it otherwise overrides `damper.yaw_gain_s` and the
/// like. Off while all gains are 0.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, default)]
pub struct Damper {
    /// Time between samples, s.
    #[schemars(range(min = 0.001, max = 1.0))]
    pub sample_time_s: f64,
    /// From a sample to the motors' new throttle, s.
    #[schemars(range(min = 0.0, max = 1.0))]
    pub delay_s: f64,
    /// Left-right difference for each rad/s of roll, s: positive works against it. Needs one motor on each side.
    pub roll_gain_s: f64,
    /// Throttle added for each rad/s of the nose rising, s: positive damps where more throttle lowers the nose, negative where it raises it.
    pub pitch_gain_s: f64,
    /// Left-right difference for each rad/s of yaw, s: positive works against it. Needs one motor on each side.
    pub yaw_gain_s: f64,
    /// Largest throttle and largest difference it asks for.
    #[schemars(range(min = 0.0, max = 1.0))]
    pub saturation_fraction: f64,
    /// Noise of each sample of the gyro, one standard deviation, deg/s. Drawn from the scenario's `pilot.gyro_seed`.
    pub noise_deg_s: f64,
    /// What the gyro says of no roll, deg/s.
    pub roll_bias_deg_s: f64,
    /// What it says of no pitching, deg/s.
    pub pitch_bias_deg_s: f64,
    /// What it says of no yawing, deg/s.
    pub yaw_bias_deg_s: f64,
}

impl Default for Damper {
    fn default() -> Self {
        Damper {
            sample_time_s: 0.01,
            delay_s: 0.01,
            roll_gain_s: 0.0,
            pitch_gain_s: 0.0,
            yaw_gain_s: 0.0,
            saturation_fraction: 0.2,
            noise_deg_s: 0.0,
            roll_bias_deg_s: 0.0,
            pitch_bias_deg_s: 0.0,
            yaw_bias_deg_s: 0.0,
        }
    }
}
