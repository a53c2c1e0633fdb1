//! Longitude and latitude to local metres (MODEL.md § 9.1).

/// Semi-major axis of WGS 84, m (NGA.STND.0036, from memory; exact by definition).
const SEMI_MAJOR_AXIS_M: f64 = 6_378_137.0;
/// Inverse flattening of WGS 84 (the same; exact by definition).
const INVERSE_FLATTENING: f64 = 298.257_223_563;
/// Nearest to a pole a launch point may be, deg: beyond, meridians run together too fast for a plane.
pub const LARGEST_LATITUDE_DEG: f64 = 85.0;

/// The plane through a launch point with the ellipsoid's radii of curvature there.
#[derive(Clone, Copy, Debug)]
pub struct Projection {
    longitude_deg: f64,
    latitude_deg: f64,
    /// Metres north in a radian of latitude.
    meridian_m: f64,
    /// Metres east in a radian of longitude.
    parallel_m: f64,
}

impl Projection {
    /// The plane at a longitude and latitude (deg, WGS 84).
    pub fn at(longitude_deg: f64, latitude_deg: f64) -> Self {
        let flattening = 1.0 / INVERSE_FLATTENING;
        let eccentricity_squared = flattening * (2.0 - flattening);
        let (sin, cos) = libm::sincos(latitude_deg.to_radians());
        let w = (1.0 - eccentricity_squared * sin * sin).sqrt();
        Projection {
            longitude_deg,
            latitude_deg,
            meridian_m: SEMI_MAJOR_AXIS_M * (1.0 - eccentricity_squared) / (w * w * w),
            parallel_m: SEMI_MAJOR_AXIS_M / w * cos,
        }
    }

    /// Metres north and east of the launch point.
    pub fn north_east_m(&self, longitude_deg: f64, latitude_deg: f64) -> (f64, f64) {
        let east_deg = (longitude_deg - self.longitude_deg + 180.0).rem_euclid(360.0) - 180.0;
        (
            self.meridian_m * (latitude_deg - self.latitude_deg).to_radians(),
            self.parallel_m * east_deg.to_radians(),
        )
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    // Length of a degree of latitude (centred on the parallel) and of longitude on WGS 84, to a metre: the usual table, as in N. Bowditch,
    // The American Practical Navigator (NGA Pub. 9), table 7; from memory.
    #[test]
    fn a_degree_has_its_published_length() {
        for (latitude_deg, north_m, east_m) in [
            (0.0, 110_574.0, 111_320.0),
            (15.0, 110_649.0, 107_550.0),
            (30.0, 110_852.0, 96_486.0),
            (45.0, 111_132.0, 78_847.0),
            (60.0, 111_412.0, 55_800.0),
            (75.0, 111_618.0, 28_902.0),
        ] {
            let plane = Projection::at(9.0, latitude_deg);
            let (north, east) = plane.north_east_m(10.0, latitude_deg + 1.0);
            assert!((north - north_m).abs() < 1.0, "{latitude_deg}: {north}");
            assert!((east - east_m).abs() < 1.0, "{latitude_deg}: {east}");
        }
    }

    #[test]
    fn the_date_line_is_no_edge() {
        let plane = Projection::at(179.9995, -17.0);
        let (_, east) = plane.north_east_m(-179.9995, -17.0);
        assert!(east > 100.0 && east < 110.0, "{east}");
    }
}
