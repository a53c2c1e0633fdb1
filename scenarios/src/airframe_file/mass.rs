//! The mass of an airframe: a list of parts, or measured values.

use super::OutlineSvg;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// Mass, balance point and inertia: exactly one of `parts` and `measured`.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[schemars(extend("oneOf" = [{"required": ["parts"]}, {"required": ["measured"]}]))]
pub struct Mass {
    /// Free text: how its numbers were measured.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub note: String,
    /// What the aircraft is made of; mass, balance point and inertia are added up from it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub parts: Option<Vec<Part>>,
    /// Mass of the glue as a fraction of that of all sheets, strips and rods, spread as they are. A row of its own in the mass
    /// table. Weigh the bare parts, then the glued airframe without its module. Parts only.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub glue_fraction: Option<f64>,
    /// Mass, balance point and inertia measured on the whole aircraft.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub measured: Option<Measured>,
}

/// A place in builder's axes.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Point {
    /// Aft of the nose datum, mm.
    pub station_mm: f64,
    /// Right of the centre line, mm; negative to the left.
    pub right_mm: f64,
    /// Up from the reference line, mm.
    pub up_mm: f64,
}

/// One part of the aircraft; its `form` says how its mass is spread.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(tag = "form", rename_all = "snake_case", deny_unknown_fields)]
pub enum Part {
    /// A flat sheet cut to a polygon.
    Sheet(SheetPart),
    /// Tape, wire or edging of even thickness along a line with corners.
    Strip(StripPart),
    /// A straight thin rod of known mass.
    Rod(RodPart),
    /// Anything small enough to count as one place: a motor, a cell, a blob of glue.
    Point(PointPart),
}

impl Part {
    /// The part's name.
    pub fn name(&self) -> &str {
        match self {
            Part::Sheet(part) => &part.name,
            Part::Strip(part) => &part.name,
            Part::Rod(part) => &part.name,
            Part::Point(part) => &part.name,
        }
    }

    /// Whether the part stands a second time on the other side.
    pub fn is_mirrored(&self) -> bool {
        match self {
            Part::Sheet(part) => part.mirrored,
            Part::Strip(part) => part.mirrored,
            Part::Rod(part) => part.mirrored,
            Part::Point(part) => part.mirrored,
        }
    }
}

/// A flat sheet cut to a polygon, lying level like a wing or standing upright like a fin: exactly one of `outline` and
/// `outline_svg`.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct SheetPart {
    /// Name of the part: letters, digits, - and _.
    pub name: String,
    /// Free text: how its numbers were measured.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub note: String,
    /// Mass of one sheet per area, g/m². Weigh a rectangle of known sides, with all that is on it and not given by
    /// `facing_areal_density_g_m2` or `glue_fraction`.
    pub areal_density_g_m2: f64,
    /// Mass of the facing (paper, film) on one side per area, g/m². Weigh a rectangle before and after stripping one side.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub facing_areal_density_g_m2: Option<f64>,
    /// How many sides of a sheet carry the facing: 0, 1 or 2. Needed with a facing, refused without.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(range(max = 2))]
    pub faced_sides: Option<u32>,
    /// How many equal sheets lie on one another, facings and all.
    #[serde(default = "one", skip_serializing_if = "is_one")]
    #[schemars(extend("default" = 1), range(min = 1, max = 100))]
    pub layers: u32,
    /// Thickness of one sheet, mm.
    pub thickness_mm: f64,
    /// Which way the sheet lies: "level" (corners by station and right) or "upright" (corners by station and up).
    pub plane: Plane,
    /// Height of a level sheet's middle plane, mm. Level sheets only, and needed there.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub up_mm: Option<f64>,
    /// Place of an upright sheet's middle plane right of the centre line, mm. Upright sheets only, and needed there.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub right_mm: Option<f64>,
    /// Corners in order, either way round; three at least. The last joins the first.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    #[schemars(length(min = 3))]
    pub outline: Vec<Corner>,
    /// The outline out of a drawing; its holes come with it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub outline_svg: Option<OutlineSvg>,
    /// Holes cut out of it: each a list of corners like the outline, inside it and apart from one another.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    #[schemars(inner(length(min = 3)))]
    pub holes: Vec<Vec<Corner>>,
    /// Whether the part stands a second time on the other side of the centre line.
    #[serde(default)]
    pub mirrored: bool,
}

fn one() -> u32 {
    1
}

fn is_one(count: &u32) -> bool {
    *count == 1
}

/// Which way a sheet lies.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Plane {
    /// In station and right, like a wing.
    Level,
    /// In station and up, like a fin.
    Upright,
}

/// One corner of an outline.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Corner {
    /// Aft of the nose datum, mm.
    pub station_mm: f64,
    /// Right of the centre line, mm. Level outlines only, and needed there.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub right_mm: Option<f64>,
    /// Up from the reference line, mm. Upright outlines only, and needed there.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub up_mm: Option<f64>,
}

/// Tape, wire or edging of even thickness along a line with corners.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct StripPart {
    /// Name of the part: letters, digits, - and _.
    pub name: String,
    /// Free text: how its numbers were measured.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub note: String,
    /// Mass per length, g/m. Weigh a metre of it.
    pub linear_density_g_m: f64,
    /// Where it runs: two places at least.
    #[schemars(length(min = 2))]
    pub path: Vec<Point>,
    /// Whether the part stands a second time on the other side of the centre line.
    #[serde(default)]
    pub mirrored: bool,
}

/// A straight thin rod of known mass, spread evenly.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct RodPart {
    /// Name of the part: letters, digits, - and _.
    pub name: String,
    /// Free text: how its numbers were measured.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub note: String,
    /// Mass, g.
    pub mass_g: f64,
    /// One end.
    pub from: Point,
    /// The other end.
    pub to: Point,
    /// Whether the part stands a second time on the other side of the centre line.
    #[serde(default)]
    pub mirrored: bool,
}

/// A mass at one place.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct PointPart {
    /// Name of the part: letters, digits, - and _.
    pub name: String,
    /// Free text: how its numbers were measured.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub note: String,
    /// Mass, g.
    pub mass_g: f64,
    /// Where it sits.
    pub at: Point,
    /// Whether the part stands a second time on the other side of the centre line.
    #[serde(default)]
    pub mirrored: bool,
}

/// Mass, balance point and inertia as measured on the whole aircraft, ready to fly.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Measured {
    /// Mass, g, everything aboard.
    pub mass_g: f64,
    /// Balance point. Station: balance it on an edge. Height: hang it by two points and see where the plumb lines cross.
    pub balance: Point,
    /// Moment of inertia in roll, ∫(y² + z²) dm about the balance point, kg m². Hang it by two threads and time its swings.
    pub inertia_xx_kg_m2: f64,
    /// Moment of inertia in pitch, ∫(x² + z²) dm about the balance point, kg m².
    pub inertia_yy_kg_m2: f64,
    /// Moment of inertia in yaw, ∫(x² + y²) dm about the balance point, kg m².
    pub inertia_zz_kg_m2: f64,
    /// Product of inertia +∫xy dm (x forward, y right), kg m²: positive when the mass lies ahead right and behind left.
    #[serde(default)]
    pub product_xy_kg_m2: f64,
    /// Product of inertia +∫xz dm (x forward, z down), kg m²: positive when the mass lies ahead below and behind above.
    #[serde(default)]
    pub product_xz_kg_m2: f64,
    /// Product of inertia +∫yz dm (y right, z down), kg m²: positive when the mass lies right below and left above.
    #[serde(default)]
    pub product_yz_kg_m2: f64,
}
