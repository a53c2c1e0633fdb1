//! What stands in the air beside the surfaces: module, canopy, pylon, sticks.

use super::{Plane, Point};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// A thing in the air beside the surfaces; its `form` says how it meets the air. It has drag and side area, no mass: that is in
/// `mass`.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(tag = "form", rename_all = "snake_case", deny_unknown_fields)]
pub enum Body {
    /// A block with sharp edges: a module, a motor, a pylon; a stick or keel bar along the flight as a long one.
    Block(BoxBody),
    /// A block with a rounded nose.
    RoundedBlock(BoxBody),
    /// A body rounded ahead and running out behind.
    Streamlined(BoxBody),
    /// A round rod or wire across the flow.
    Rod(RodBody),
    /// A canopy of foam plates glued on one another or standing up, cut square.
    StackedCanopy(BoxBody),
}

impl Body {
    /// The body's name.
    pub fn name(&self) -> &str {
        match self {
            Body::Rod(rod) => &rod.name,
            Body::Block(body)
            | Body::RoundedBlock(body)
            | Body::Streamlined(body)
            | Body::StackedCanopy(body) => &body.name,
        }
    }

    /// Where its middle is.
    pub fn at(&self) -> &Point {
        match self {
            Body::Rod(rod) => &rod.at,
            Body::Block(body)
            | Body::RoundedBlock(body)
            | Body::Streamlined(body)
            | Body::StackedCanopy(body) => &body.at,
        }
    }

    /// Whether it stands a second time on the other side.
    pub fn is_mirrored(&self) -> bool {
        match self {
            Body::Rod(rod) => rod.mirrored,
            Body::Block(body)
            | Body::RoundedBlock(body)
            | Body::Streamlined(body)
            | Body::StackedCanopy(body) => body.mirrored,
        }
    }
}

/// A body by its width and height seen from ahead and its length.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct BoxBody {
    /// Name of the body: letters, digits, - and _. A part of `mass` may have the same.
    pub name: String,
    /// Free text: how its numbers were measured.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub note: String,
    /// Width seen from ahead, mm.
    pub width_mm: f64,
    /// Height, mm.
    pub height_mm: f64,
    /// Length along the flight, mm. Length times height is its side area.
    pub length_mm: f64,
    /// Where its middle is.
    pub at: Point,
    /// Whether it stands a second time on the other side of the centre line.
    #[serde(default)]
    pub mirrored: bool,
}

/// A round rod or wire across the flow.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct RodBody {
    /// Name of the body: letters, digits, - and _. A part of `mass` may have the same.
    pub name: String,
    /// Free text: how its numbers were measured.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub note: String,
    /// Length across the flow, mm.
    pub length_mm: f64,
    /// Diameter, mm.
    pub diameter_mm: f64,
    /// Which way it goes: "level" (left to right) or "upright". One along the flight is a long "block".
    pub plane: Plane,
    /// Where its middle is.
    pub at: Point,
    /// Whether it stands a second time on the other side of the centre line.
    #[serde(default)]
    pub mirrored: bool,
}
