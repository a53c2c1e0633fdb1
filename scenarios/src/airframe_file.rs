//! The airframe file: its form, and the defaults of what it may leave out.
//!
//! The doc comments are the descriptions in the JSON Schema: they are what an editor shows while somebody writes a file.

mod apparent_mass;
mod body;
mod coefficients;
mod damper;
mod drawing;
mod mass;
mod power;
mod propeller_effects;
mod surface;

pub use apparent_mass::ApparentMass;
pub use body::{Body, BoxBody, RodBody};
pub use coefficients::{Coefficient, Coefficients, NOT_GIVEN, Origin, Tab};
pub use damper::Damper;
pub use drawing::{Drawn, OutlineSvg, Way};
pub use mass::{
    Corner, Mass, Measured, Part, Plane, Point, PointPart, RodPart, SheetPart, StripPart,
};
pub use power::{
    Cell, ChargeVoltage, MeasuredMotor, MeasuredPropeller, Motor, Mount, Propeller, PropellerRow,
    Spin,
};
pub use propeller_effects::PropellerEffects;
pub use surface::{Bend, Doubler, Edge, Surface};

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// One aircraft as it was built: what it weighs and where, its surfaces, its coefficients, and its power.
///
/// Every position is in builder's axes: `station_mm` aft of the nose datum, `right_mm` right of the centre line (negative to
/// the left), `up_mm` up from the reference line. Left and right are the pilot's, seen from behind.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[schemars(title = "Tossline airframe file")]
pub struct AirframeFile {
    /// Where an editor finds the JSON Schema of this file; not looked at here.
    #[serde(rename = "$schema", default, skip_serializing_if = "Option::is_none")]
    pub json_schema: Option<String>,
    /// Version of the file format: 1.
    #[schemars(extend("const" = 1))]
    pub tossline: u32,
    /// What the file is: "airframe".
    pub kind: AirframeKind,
    /// Name of the aircraft: letters, digits, - and _.
    pub name: String,
    /// Free text: who built it, where its numbers come from.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub note: String,
    /// Mass, balance point and inertia: from the parts, or as measured.
    pub mass: Mass,
    /// Lifting surfaces as trapezoids or outlines. The flow beyond stall, the damping of a spin and the outline are worked out from them, and
    /// every coefficient that is estimated.
    pub surfaces: Vec<Surface>,
    /// What stands in the air beside the surfaces: module, canopy, pylon, sticks, by their size. For the estimate of coefficients, the picture,
    /// and the airframe's lowest point.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub bodies: Vec<Body>,
    /// Area, span, chord and point the coefficients refer to. Left out, in an airframe that is estimated: those of the largest level surface.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub reference: Option<Reference>,
    /// Forces and moments in normal flight. Left out: all are estimated from the surfaces, and so are the tabs' effects and the stall.
    #[serde(default)]
    pub coefficients: Coefficients,
    /// At what airspeed the estimate is made. Given beside `coefficients`: those that are left out there are estimated, and not zero.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub estimate: Option<EstimateAt>,
    /// The air the surfaces carry along when their velocity through it changes. Left out: "from_surfaces" where the coefficients were
    /// estimated from the planform, else "none".
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub apparent_mass: Option<ApparentMass>,
    /// Trim tabs and bent trailing edges, in the order results list them.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub tabs: Vec<Tab>,
    /// Where the flow separates. Left out, in an airframe that is estimated: estimated.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub stall: Option<Stall>,
    /// The cell that feeds the motors; needed with motors, refused without.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub cell: Option<Cell>,
    /// Propellers the motors may name.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub propellers: Vec<Propeller>,
    /// The motors: none, one or two.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    #[schemars(length(max = 2))]
    pub motors: Vec<Motor>,
    /// The rate damper of the power module. Left out, or with all gains 0: none. A throw may set its gains by an override.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub damper: Option<Damper>,
    /// What the propellers do beside thrust and torque. Left out: all of it.
    #[serde(default)]
    pub propeller_effects: PropellerEffects,
}

/// The flow an estimate is made for. What is left out is that of the steady glide, found together with the estimate.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct EstimateAt {
    /// Airspeed, m/s.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(range(min = 0.5, max = 50.0))]
    pub airspeed_m_s: Option<f64>,
    /// Incidence of the reference line, deg.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(range(min = -10.0, max = 30.0))]
    pub incidence_deg: Option<f64>,
}

impl AirframeFile {
    /// Whether what the file leaves out of its coefficients is estimated: where it says `estimate`, or gives no coefficient at all.
    pub fn is_estimated(&self) -> bool {
        self.estimate.is_some() || self.coefficients.named().iter().all(|(_, c)| !c.is_given())
    }

    /// What the coefficients refer to.
    ///
    /// # Panics
    /// Where the file leaves it out and nothing has been estimated yet; airframes that were loaded have it.
    pub fn reference(&self) -> &Reference {
        self.reference
            .as_ref()
            .expect("a loaded airframe has a reference")
    }

    /// Where the flow separates.
    ///
    /// # Panics
    /// As [`AirframeFile::reference`].
    pub fn stall(&self) -> &Stall {
        self.stall
            .as_ref()
            .expect("a loaded airframe has stall angles")
    }
}

/// The word that marks an airframe file.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
#[schemars(inline)]
pub enum AirframeKind {
    /// An airframe file.
    Airframe,
}

/// The reference values by which coefficients are made dimensionless, and the point moments are taken about.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Reference {
    /// Reference area S, cm².
    pub area_cm2: f64,
    /// Reference span b, mm.
    pub span_mm: f64,
    /// Reference chord c̄, mm.
    pub chord_mm: f64,
    /// Station of the reference point, mm aft of the nose datum. It stays where it is when the balance point moves.
    pub station_mm: f64,
    /// Height of the reference point over the reference line, mm.
    pub up_mm: f64,
}

/// Where the flow separates, and over what range it does so.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Stall {
    /// Angle of attack at which half of the flow over the level surfaces has separated, deg.
    pub alpha_stall_deg: f64,
    /// Width of that change, deg: three quarters of it lies within this angle on both sides.
    pub alpha_blend_deg: f64,
    /// Sideslip at which half of the flow has separated, deg.
    pub beta_stall_deg: f64,
    /// Width of that change, deg.
    pub beta_blend_deg: f64,
    /// Normal-force coefficient of the surfaces square to the flow. Left out: 1.11 + 0.018 b²/S.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub normal_force_coefficient_at_90_deg: Option<f64>,
}
