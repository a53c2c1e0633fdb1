//! The site in a scenario file: ground, walls, a hall, zones to be missed.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// What stands around, and what must be missed. The ground is flat. Places are counted from the ground point under the release.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, default)]
pub struct Site {
    /// Height of the ground over the ground under the release, m; negative for a throw from a dyke. All other heights of the file, the
    /// ceiling's too, count from the ground under the release. The slope of the dyke itself is left out.
    #[serde(skip_serializing_if = "is_zero")]
    pub ground_height_m: f64,
    /// Walls.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub walls: Vec<Wall>,
    /// The hall it is thrown in.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub hall: Option<Hall>,
    /// Where the ground point under the release is on the earth; needed where zones come in longitude and latitude.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub launch_point: Option<LaunchPoint>,
    /// Areas that must be missed. They change no flight.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub zones: Vec<Zone>,
    /// Path of a GeoJSON file (RFC 7946) with more of them, from the folder this file is in: a FeatureCollection of polygons with `name`
    /// and, if you like, `kind` among their properties. Longitude and latitude in degrees (WGS 84); or metres east and north of the
    /// release, where the collection has a member "tossline_coordinates": "east_north_m".
    #[serde(skip_serializing_if = "Option::is_none")]
    pub zones_geojson: Option<String>,
    /// Whether lift and induced drag change near the ground, as they do. False leaves that out, to see what it does.
    pub ground_effect: bool,
}

impl Default for Site {
    /// Open flat ground that wings feel.
    fn default() -> Self {
        Site {
            ground_height_m: 0.0,
            walls: Vec::new(),
            hall: None,
            launch_point: None,
            zones: Vec::new(),
            zones_geojson: None,
            ground_effect: true,
        }
    }
}

fn is_zero(value: &f64) -> bool {
    *value == 0.0
}

/// An upright wall without end, square to a heading.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Wall {
    /// Heading from the release point square to the wall, deg.
    pub heading_deg: f64,
    /// Distance along that heading, m.
    pub distance_m: f64,
}

/// A hall: a rectangle around the release, or corners in plan; and a ceiling.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[schemars(extend("oneOf" = [{"required": ["rectangle"]}, {"required": ["corners"]}]))]
pub struct Hall {
    /// Four walls around the release. Their names are `ahead`, `right`, `behind` and `left`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub rectangle: Option<Rectangle>,
    /// Corners of the plan in order, either way round; a wall from each to the next and from the last to the first. Their names are the
    /// `wall_name` of the corner they begin at, or `1`, `2`, ...
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub corners: Vec<HallCorner>,
    /// Height of the ceiling over the ground under the release, m.
    pub ceiling_height_m: f64,
}

/// Four walls around the release.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Rectangle {
    /// Distance of the wall ahead of the release, m.
    pub ahead_m: f64,
    /// Distance of the wall behind it, m.
    pub behind_m: f64,
    /// Distance of the wall on the left, m.
    pub left_m: f64,
    /// Distance of the wall on the right, m.
    pub right_m: f64,
    /// Heading of "ahead", deg: 0 north, 90 east. Left out: the launch heading.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub heading_deg: Option<f64>,
}

/// A corner of a hall, and the wall that begins there.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct HallCorner {
    /// Metres east of the release.
    pub east_m: f64,
    /// Metres north of the release.
    pub north_m: f64,
    /// What the wall from here to the next corner is called.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub wall_name: Option<String>,
}

/// A place on the earth (WGS 84).
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct LaunchPoint {
    /// Longitude, deg, east positive.
    pub longitude_deg: f64,
    /// Latitude, deg, north positive.
    pub latitude_deg: f64,
}

/// An area that must be missed.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Zone {
    /// What it is called.
    pub name: String,
    /// What is there.
    #[serde(default)]
    pub kind: ZoneKind,
    /// Its corners in order, either way round.
    pub corners: Vec<PlanCorner>,
}

/// A corner in plan: metres from the release.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct PlanCorner {
    /// Metres east.
    pub east_m: f64,
    /// Metres north.
    pub north_m: f64,
}

/// What is in a zone.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
#[schemars(inline)]
pub enum ZoneKind {
    /// People: a path, a playground, the public.
    People,
    /// Animals that must not be disturbed.
    Animals,
    /// A road or a car park.
    Road,
    /// A railway.
    Railway,
    /// A power line.
    PowerLine,
    /// An airfield and the air around it.
    Airfield,
    /// Water.
    Water,
    /// A building.
    Building,
    /// Anything else.
    #[default]
    Other,
}
