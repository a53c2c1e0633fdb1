//! The air beyond a steady wind and gusts: how wind grows over height, and turbulence.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// How the mean wind grows from the ground up.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct WindProfile {
    /// Its form.
    pub form: WindForm,
    /// Height over the ground at which the wind has its `speed_m_s`, m.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub speed_height_m: Option<f64>,
    /// Roughness length of the ground, m: mown grass 0.01, long grass 0.05, scattered bushes 0.2. Logarithmic only.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub roughness_m: Option<f64>,
    /// Power of the height: 1/7 over open grass. Power law only.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub exponent: Option<f64>,
    /// Height whose wind carries gusts and turbulence along, m. Left out: the release height.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub carried_at_height_m: Option<f64>,
}

/// Forms of a wind profile.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum WindForm {
    /// The same at every height.
    Uniform,
    /// Growing with the logarithm of the height over a roughness length.
    Logarithmic,
    /// Growing with a power of the height.
    PowerLaw,
}

/// Dryden turbulence of MIL-F-8785C at low altitude, a frozen field made from a seed and carried by the mean wind.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Turbulence {
    /// Which of all possible fields: the same seed is the same air, whatever flies in it.
    pub seed: u32,
    /// Height its lengths and intensities are taken at along the whole flight, m; below 10 ft those of 10 ft. Left out: the release
    /// height.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub height_m: Option<f64>,
    /// Wind at 20 ft (6.096 m) that sets the intensities, m/s. Left out: the mean wind there.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub wind_at_20_ft_m_s: Option<f64>,
    /// Root mean square of each horizontal velocity, m/s, in place of the standard's; only together with the vertical one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub horizontal_intensity_m_s: Option<f64>,
    /// Root mean square of the vertical velocity, m/s; only together with the horizontal one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub vertical_intensity_m_s: Option<f64>,
}
