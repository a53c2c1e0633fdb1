//! Outlines taken from a drawing.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// An outline drawn as a closed path in an SVG file on a page of known size: the cutting template itself.
///
/// The page's `width` and `height` must be in mm (or cm, in), and its `viewBox` say what they are divided into. Paths, polygons,
/// rectangles, circles and ellipses are read, with their transforms and those of their groups.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct OutlineSvg {
    /// Path of the drawing, from the folder the airframe file is in.
    pub file: String,
    /// The `id` of the path in the drawing. Further closed pieces inside the largest one are holes.
    pub id: String,
    /// Ids of further closed paths that are holes in it.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub hole_ids: Vec<String>,
    /// Which way on the page is aft. Left out: down.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub aft_on_page: Option<Way>,
    /// Which way on the page is right (level outlines only). Left out: right, or up where aft is right or left.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub right_on_page: Option<Way>,
    /// Which way on the page is up (upright outlines only). Left out: right, or up where aft is right or left.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub up_on_page: Option<Way>,
    /// Station of the page's top left corner, mm aft of the nose datum.
    #[serde(default, skip_serializing_if = "is_zero")]
    #[schemars(extend("default" = 0.0))]
    pub station_from_mm: f64,
    /// How far right of the centre line the page's top left corner is, mm; negative to the left. Level outlines only.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(extend("default" = 0.0))]
    pub right_from_mm: Option<f64>,
    /// How far over the reference line the page's top left corner is, mm. Upright outlines only.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(extend("default" = 0.0))]
    pub up_from_mm: Option<f64>,
    /// Whether the path shows the "half" that is written down here (as drawn; the default), or the "whole" of a level, mirrored
    /// part, of which the right half is then taken.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub drawn: Option<Drawn>,
    /// How wide the path is on the page from left to right, mm, measured with a ruler on the printed template. A scale that is
    /// wrong by more than 1 % is then refused.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub check_width_mm: Option<f64>,
}

/// A way on a drawing's page.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Way {
    /// Towards its right edge.
    Right,
    /// Towards its left edge.
    Left,
    /// Towards its top edge.
    Up,
    /// Towards its bottom edge.
    Down,
}

/// How much of a part a path shows.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Drawn {
    /// What is written down here; `mirrored` adds its mirror image.
    Half,
    /// Both halves of a part cut in one piece across the centre line.
    Whole,
}

pub(super) fn is_zero(value: &f64) -> bool {
    *value == 0.0
}
