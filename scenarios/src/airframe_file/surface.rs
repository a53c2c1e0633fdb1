//! Lifting surfaces.

use super::drawing::is_zero;
use super::{Corner, OutlineSvg, Plane, Point};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// One lifting surface from its root outwards: exactly one of a trapezoid (`root_leading_edge`, `root_chord_mm`, `tip_chord_mm`,
/// `half_span_mm`, `leading_edge_sweep_deg`), an `outline` and an `outline_svg`.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[schemars(extend("oneOf" = [
    {"required": ["root_leading_edge", "root_chord_mm", "tip_chord_mm", "half_span_mm", "leading_edge_sweep_deg"]},
    {"required": ["outline", "plane"]},
    {"required": ["outline_svg", "plane"]}
]))]
pub struct Surface {
    /// Name: letters, digits, - and _.
    pub name: String,
    /// Free text: how its numbers were measured.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub note: String,
    /// Where the leading edge of the root is. Trapezoids only, and needed there.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub root_leading_edge: Option<Point>,
    /// Chord at the root, mm. Trapezoids only, and needed there.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub root_chord_mm: Option<f64>,
    /// Chord at the tip, mm; 0 for a pointed tip. Trapezoids only, and needed there.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub tip_chord_mm: Option<f64>,
    /// Length from root to tip measured along the surface, mm. Trapezoids only, and needed there.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub half_span_mm: Option<f64>,
    /// Sweep of the leading edge measured in the surface, deg; positive when the tip lies further aft. Trapezoids only, and needed
    /// there.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub leading_edge_sweep_deg: Option<f64>,
    /// Which way an outline is drawn: "level" (corners by station and right) or "upright" (corners by station and up). Outlines
    /// only, and needed there.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub plane: Option<Plane>,
    /// Height of a level outline's root, mm. Level outlines only, and needed there.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub up_mm: Option<f64>,
    /// Place of an upright outline's root right of the centre line, mm. Upright outlines only, and needed there.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub right_mm: Option<f64>,
    /// Corners in order, either way round, drawn flat: distances are those on the foam. The last joins the first. A line across
    /// the span meets the outline in one piece. A level one's root is nearest the centre line, an upright one's lowest; one that
    /// stands mostly below the reference line (negative `up_mm`) is a keel, its root is highest.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    #[schemars(length(min = 3))]
    pub outline: Vec<Corner>,
    /// The outline out of a drawing. The same drawing and id may serve a sheet of `mass.parts`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub outline_svg: Option<OutlineSvg>,
    /// How far the surface is tilted up towards its tip about its root, deg: 0 lies flat, 90 is a fin standing up. A trapezoid has
    /// this or `cant_deg`; a level outline may leave it out and lies flat.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub dihedral_deg: Option<f64>,
    /// How far a fin leans to the right from upright, deg, about its root; of a mirrored pair both lean outwards. A trapezoid has
    /// this or `dihedral_deg`; an upright outline may leave it out and stands upright.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub cant_deg: Option<f64>,
    /// Angle of the root's chord over the reference line, deg, nose up.
    #[serde(default, skip_serializing_if = "is_zero")]
    #[schemars(extend("default" = 0.0))]
    pub incidence_deg: f64,
    /// How much more incidence the tip has than the root, deg; even in between. Negative is washout.
    #[serde(default, skip_serializing_if = "is_zero")]
    #[schemars(extend("default" = 0.0))]
    pub twist_deg: f64,
    /// Thickness of the foam, mm; where whole sheets are glued on one another, of all together. For the estimate. Left out: that of the
    /// sheet in `mass.parts` with the same name, times its layers; without one, 3.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub thickness_mm: Option<f64>,
    /// How the leading edge is cut. For the estimate.
    #[serde(default, skip_serializing_if = "Edge::is_square")]
    pub leading_edge: Edge,
    /// How the trailing edge is cut. For the estimate.
    #[serde(default, skip_serializing_if = "Edge::is_square")]
    pub trailing_edge: Edge,
    /// Further sheets glued on over part of the chord or span. For the estimate; their mass is in `mass`.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub doublers: Vec<Doubler>,
    /// Bent trailing edges: reflex, and what the tabs bend.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub bends: Vec<Bend>,
    /// Whether the surface stands a second time on the other side of the centre line.
    #[serde(default)]
    pub mirrored: bool,
}

/// How an edge is cut.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Edge {
    /// Cut square, as a knife leaves it.
    #[default]
    Square,
    /// Sanded or taped round.
    Rounded,
    /// Sanded to a taper.
    Tapered,
}

impl Edge {
    fn is_square(&self) -> bool {
        *self == Edge::Square
    }
}

/// A further sheet glued on over part of a surface.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Doubler {
    /// Name, by which an override can reach it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub name: Option<String>,
    /// Its thickness, mm.
    pub thickness_mm: f64,
    /// Where it begins, as a fraction of the span from the root.
    pub from_span_fraction: f64,
    /// Where it ends, as a fraction of the span from the root.
    pub to_span_fraction: f64,
    /// Where it begins, as a fraction of the chord from the leading edge.
    pub from_chord_fraction: f64,
    /// Where it ends, as a fraction of the chord from the leading edge.
    pub to_chord_fraction: f64,
    /// How its front edge is cut.
    #[serde(default, skip_serializing_if = "Edge::is_square")]
    pub leading_edge: Edge,
    /// How its back edge is cut.
    #[serde(default, skip_serializing_if = "Edge::is_square")]
    pub trailing_edge: Edge,
}

/// A bent trailing edge: by a tab's setting, or by a fixed angle.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[schemars(extend("oneOf" = [{"required": ["tab"]}, {"required": ["angle_deg"]}]))]
pub struct Bend {
    /// Name, by which an override can reach a bend without a tab.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub name: Option<String>,
    /// Name of the tab whose angle this is.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub tab: Option<String>,
    /// A fixed angle, deg, trailing edge down positive; of upright surfaces to the left.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub angle_deg: Option<f64>,
    /// Where it begins, as a fraction of the span from the root.
    pub from_span_fraction: f64,
    /// Where it ends, as a fraction of the span from the root.
    pub to_span_fraction: f64,
    /// How much of the chord is bent, from the trailing edge forwards.
    pub chord_fraction: f64,
    /// Whether the mirror image is bent the other way, as ailerons are. Mirrored surfaces only.
    #[serde(default)]
    pub antisymmetric: bool,
}
