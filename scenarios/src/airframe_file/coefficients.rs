//! Aerodynamic coefficients and tabs, each number with its origin.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// `source` of a coefficient the file leaves out.
pub const NOT_GIVEN: &str = "not given in the file";

/// One coefficient and where it comes from.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Coefficient {
    /// The number; angles in rad.
    pub value: f64,
    /// How it was found.
    pub origin: Origin,
    /// From where: the formula and the section of the book it stands in, or which throws it was fitted to.
    pub source: String,
    /// One standard deviation of the number, where it is known how sure it is; 0 or more.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(range(min = 0.0))]
    pub one_sigma: Option<f64>,
}

impl Coefficient {
    /// The zero that stands for a coefficient the file leaves out.
    pub fn not_given() -> Self {
        Coefficient {
            value: 0.0,
            origin: Origin::Builder,
            source: NOT_GIVEN.to_owned(),
            one_sigma: None,
        }
    }

    /// Whether the file gives it.
    pub fn is_given(&self) -> bool {
        self.source != NOT_GIVEN
    }
}

/// How a coefficient was found.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Origin {
    /// From the builder's own table or measurement.
    Builder,
    /// Estimated from the planform.
    Estimate,
    /// Fitted to measured throws.
    Fit,
}

/// Forces and moments in attached flow, about the reference point.
///
/// Lift and drag in stability axes, side force along body y (right), moments about body axes: roll positive right wing down,
/// pitch positive nose up, yaw positive nose right. Angles in rad: alpha positive when the air comes from below, beta positive
/// when it comes from the right. Rates made dimensionless with span/2V (roll rate p, yaw rate r) and chord/2V (pitch rate q,
/// alpha rate). What is left out is zero, or estimated where the file says `estimate`.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Coefficients {
    /// Whether the alpha-rate coefficients hold the plates' apparent mass already, so that it must not be flown with besides.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub includes_apparent_mass: bool,
    /// Lift coefficient at alpha = 0.
    #[serde(default = "Coefficient::not_given")]
    pub lift_zero: Coefficient,
    /// Lift-curve slope, 1/rad; positive.
    #[serde(default = "Coefficient::not_given")]
    pub lift_alpha_per_rad: Coefficient,
    /// Lift from pitch rate, per rad of qc/2V.
    #[serde(default = "Coefficient::not_given")]
    pub lift_q_per_rad: Coefficient,
    /// Lift from the rate of alpha (a tail's downwash lag only, unless `includes_apparent_mass`), per rad of (alpha rate)c/2V.
    #[serde(default = "Coefficient::not_given")]
    pub lift_alpha_rate_per_rad: Coefficient,
    /// Least drag coefficient.
    #[serde(default = "Coefficient::not_given")]
    pub drag_min: Coefficient,
    /// How drag grows with lift: drag = drag_min + drag_factor (lift − lift_at_min_drag)².
    #[serde(default = "Coefficient::not_given")]
    pub drag_factor: Coefficient,
    /// Lift coefficient at which the drag is least.
    #[serde(default = "Coefficient::not_given")]
    pub lift_at_min_drag: Coefficient,
    /// Pitching-moment coefficient at alpha = 0, nose up positive.
    #[serde(default = "Coefficient::not_given")]
    pub pitch_zero: Coefficient,
    /// Pitching moment from alpha, 1/rad; negative steadies.
    #[serde(default = "Coefficient::not_given")]
    pub pitch_alpha_per_rad: Coefficient,
    /// Pitch damping, per rad of qc/2V; negative damps.
    #[serde(default = "Coefficient::not_given")]
    pub pitch_q_per_rad: Coefficient,
    /// Pitching moment from the rate of alpha (a tail's downwash lag only, unless `includes_apparent_mass`), per rad of (alpha rate)c/2V.
    #[serde(default = "Coefficient::not_given")]
    pub pitch_alpha_rate_per_rad: Coefficient,
    /// Side-force coefficient of a lopsided airframe at beta = 0, right positive.
    #[serde(default = "Coefficient::not_given")]
    pub side_zero: Coefficient,
    /// Side force from sideslip, 1/rad; negative as a rule.
    #[serde(default = "Coefficient::not_given")]
    pub side_beta_per_rad: Coefficient,
    /// Side force from roll rate, per rad of pb/2V.
    #[serde(default = "Coefficient::not_given")]
    pub side_p_per_rad: Coefficient,
    /// Side force from yaw rate, per rad of rb/2V.
    #[serde(default = "Coefficient::not_given")]
    pub side_r_per_rad: Coefficient,
    /// Rolling-moment coefficient of a lopsided airframe at beta = 0, right wing down positive.
    #[serde(default = "Coefficient::not_given")]
    pub roll_zero: Coefficient,
    /// Rolling moment from sideslip (dihedral effect), 1/rad; negative steadies.
    #[serde(default = "Coefficient::not_given")]
    pub roll_beta_per_rad: Coefficient,
    /// Roll damping, per rad of pb/2V; negative damps.
    #[serde(default = "Coefficient::not_given")]
    pub roll_p_per_rad: Coefficient,
    /// Rolling moment from yaw rate, per rad of rb/2V.
    #[serde(default = "Coefficient::not_given")]
    pub roll_r_per_rad: Coefficient,
    /// Yawing-moment coefficient of a lopsided airframe at beta = 0, nose right positive.
    #[serde(default = "Coefficient::not_given")]
    pub yaw_zero: Coefficient,
    /// Yawing moment from sideslip (weathercock stability), 1/rad; positive steadies.
    #[serde(default = "Coefficient::not_given")]
    pub yaw_beta_per_rad: Coefficient,
    /// Yawing moment from roll rate, per rad of pb/2V.
    #[serde(default = "Coefficient::not_given")]
    pub yaw_p_per_rad: Coefficient,
    /// Yaw damping, per rad of rb/2V; negative damps.
    #[serde(default = "Coefficient::not_given")]
    pub yaw_r_per_rad: Coefficient,
}

impl Default for Coefficients {
    /// None given.
    fn default() -> Self {
        serde_json::from_value(serde_json::json!({})).expect("every coefficient may be left out")
    }
}

impl Coefficients {
    /// All of them with their names in the file.
    pub fn named(&self) -> [(&'static str, &Coefficient); 23] {
        [
            ("lift_zero", &self.lift_zero),
            ("lift_alpha_per_rad", &self.lift_alpha_per_rad),
            ("lift_q_per_rad", &self.lift_q_per_rad),
            ("lift_alpha_rate_per_rad", &self.lift_alpha_rate_per_rad),
            ("drag_min", &self.drag_min),
            ("drag_factor", &self.drag_factor),
            ("lift_at_min_drag", &self.lift_at_min_drag),
            ("pitch_zero", &self.pitch_zero),
            ("pitch_alpha_per_rad", &self.pitch_alpha_per_rad),
            ("pitch_q_per_rad", &self.pitch_q_per_rad),
            ("pitch_alpha_rate_per_rad", &self.pitch_alpha_rate_per_rad),
            ("side_zero", &self.side_zero),
            ("side_beta_per_rad", &self.side_beta_per_rad),
            ("side_p_per_rad", &self.side_p_per_rad),
            ("side_r_per_rad", &self.side_r_per_rad),
            ("roll_zero", &self.roll_zero),
            ("roll_beta_per_rad", &self.roll_beta_per_rad),
            ("roll_p_per_rad", &self.roll_p_per_rad),
            ("roll_r_per_rad", &self.roll_r_per_rad),
            ("yaw_zero", &self.yaw_zero),
            ("yaw_beta_per_rad", &self.yaw_beta_per_rad),
            ("yaw_p_per_rad", &self.yaw_p_per_rad),
            ("yaw_r_per_rad", &self.yaw_r_per_rad),
        ]
    }

    /// The same, to be changed.
    pub(crate) fn all_mut(&mut self) -> [&mut Coefficient; 23] {
        [
            &mut self.lift_zero,
            &mut self.lift_alpha_per_rad,
            &mut self.lift_q_per_rad,
            &mut self.lift_alpha_rate_per_rad,
            &mut self.drag_min,
            &mut self.drag_factor,
            &mut self.lift_at_min_drag,
            &mut self.pitch_zero,
            &mut self.pitch_alpha_per_rad,
            &mut self.pitch_q_per_rad,
            &mut self.pitch_alpha_rate_per_rad,
            &mut self.side_zero,
            &mut self.side_beta_per_rad,
            &mut self.side_p_per_rad,
            &mut self.side_r_per_rad,
            &mut self.roll_zero,
            &mut self.roll_beta_per_rad,
            &mut self.roll_p_per_rad,
            &mut self.roll_r_per_rad,
            &mut self.yaw_zero,
            &mut self.yaw_beta_per_rad,
            &mut self.yaw_p_per_rad,
            &mut self.yaw_r_per_rad,
        ]
    }
}

/// A trim tab or a bent trailing edge: its setting, and what a rad of it does.
///
/// Angles are positive trailing edge down; on an upright surface trailing edge left. Effects left out are zero.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Tab {
    /// Name: letters, digits, - and _.
    pub name: String,
    /// Free text: how its numbers were measured.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub note: String,
    /// Angle it is bent to, deg, trailing edge down positive (upright surface: trailing edge left).
    pub setting_deg: f64,
    /// Lift, 1/rad.
    #[serde(default = "Coefficient::not_given")]
    pub lift_per_rad: Coefficient,
    /// Pitching moment, nose up positive, 1/rad.
    #[serde(default = "Coefficient::not_given")]
    pub pitch_per_rad: Coefficient,
    /// Side force, right positive, 1/rad.
    #[serde(default = "Coefficient::not_given")]
    pub side_per_rad: Coefficient,
    /// Rolling moment, right wing down positive, 1/rad.
    #[serde(default = "Coefficient::not_given")]
    pub roll_per_rad: Coefficient,
    /// Yawing moment, nose right positive, 1/rad.
    #[serde(default = "Coefficient::not_given")]
    pub yaw_per_rad: Coefficient,
    /// Drag, per rad squared.
    #[serde(default = "Coefficient::not_given")]
    pub drag_per_rad2: Coefficient,
}

impl Tab {
    /// Its effects with their names in the file.
    pub fn named(&self) -> [(&'static str, &Coefficient); 6] {
        [
            ("lift_per_rad", &self.lift_per_rad),
            ("drag_per_rad2", &self.drag_per_rad2),
            ("pitch_per_rad", &self.pitch_per_rad),
            ("side_per_rad", &self.side_per_rad),
            ("roll_per_rad", &self.roll_per_rad),
            ("yaw_per_rad", &self.yaw_per_rad),
        ]
    }

    /// The same, to be changed.
    pub(crate) fn all_mut(&mut self) -> [&mut Coefficient; 6] {
        [
            &mut self.lift_per_rad,
            &mut self.drag_per_rad2,
            &mut self.pitch_per_rad,
            &mut self.side_per_rad,
            &mut self.roll_per_rad,
            &mut self.yaw_per_rad,
        ]
    }
}
