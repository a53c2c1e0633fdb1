//! Where the flight takes place: flat ground at height zero, and walls.

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
    /// Walls.
    pub walls: Vec<Wall>,
}
