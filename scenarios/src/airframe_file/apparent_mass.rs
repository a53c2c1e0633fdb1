//! Whether an airframe flies with the air it carries.

use super::{AirframeFile, Coefficient, Coefficients, Origin};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// The air an airframe carries along when its velocity through the air changes.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum ApparentMass {
    /// As much as flat plates of the surfaces' shape carry.
    FromSurfaces,
    /// None.
    None,
}

impl AirframeFile {
    /// What is flown: what the file says, else the default for its coefficients (MODEL.md § 5.4).
    pub fn flown_apparent_mass(&self) -> ApparentMass {
        self.apparent_mass
            .unwrap_or_else(|| ApparentMass::default_for(&self.coefficients))
    }
}

impl ApparentMass {
    /// Flown where the table comes from a planform: one entry at least estimated, its alpha-rate entries not the builder's own (nobody knows
    /// what those hold), and no apparent mass in it.
    pub fn default_for(table: &Coefficients) -> Self {
        let given = |one: &Coefficient, origin| one.is_given() && one.origin == origin;
        let estimated = table
            .named()
            .iter()
            .any(|(_, one)| given(one, Origin::Estimate))
            && ![
                &table.lift_alpha_rate_per_rad,
                &table.pitch_alpha_rate_per_rad,
            ]
            .iter()
            .any(|one| given(one, Origin::Builder));
        if estimated && !table.includes_apparent_mass {
            ApparentMass::FromSurfaces
        } else {
            ApparentMass::None
        }
    }
}
