//! Where the flight takes place: flat ground, walls, a hall, zones to be missed (MODEL.md § 9.1).

mod plan;

pub use plan::{Hall, HallWall, PlanPoint, Zone, distance_to_edges, is_inside, largest_circle};

/// A flat upright wall across a heading, at a distance from the release point.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Wall {
    /// Heading from the release point square to the wall, rad.
    pub heading_rad: f64,
    /// Distance along that heading, m.
    pub distance_m: f64,
}

/// The site.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Site {
    /// Height of the ground over the ground under the release, m.
    pub ground_height_m: f64,
    /// Walls.
    pub walls: Vec<Wall>,
    /// The hall it is in.
    pub hall: Option<Hall>,
    /// Areas to be missed. They change no flight.
    pub zones: Vec<Zone>,
}
