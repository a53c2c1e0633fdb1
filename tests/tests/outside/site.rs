//! Sites against other libraries: point in polygon, and the plane through the launch point.

use geo::{Contains, Coord, LineString, Point, Polygon};
use geographiclib_rs::{Geodesic, InverseGeodesic};
use scenarios::site::projection::Projection;
use sim_core::site::{PlanPoint, Zone};
use tossline_tests::known::random::Random;

fn ring(corners: &[PlanPoint]) -> LineString {
    LineString::new(
        corners
            .iter()
            .map(|c| Coord { x: c.y, y: c.x })
            .collect::<Vec<_>>(),
    )
}

/// A star around a centre: simple, seldom convex.
fn star(random: &mut Random, centre: PlanPoint, corners: usize, reach_m: f64) -> Vec<PlanPoint> {
    (0..corners)
        .map(|k| {
            let angle = std::f64::consts::TAU * k as f64 / corners as f64;
            let radius = reach_m * random.between(0.3, 1.0);
            centre + PlanPoint::new(angle.cos(), angle.sin()) * radius
        })
        .collect()
}

// The `geo` crate's Contains, on stars with a star-shaped hole, at 20 000 random places. Places on an edge are no part of the check: none is hit.
#[test]
fn a_zone_holds_what_the_geo_crate_s_polygon_contains() {
    let mut random = Random::new(4);
    let mut inside = 0;
    for _ in 0..20 {
        let centre = PlanPoint::new(random.between(-30.0, 30.0), random.between(-30.0, 30.0));
        let outline = star(&mut random, centre, 11, 40.0);
        let hole = star(&mut random, centre, 7, 10.0);
        let polygon = Polygon::new(ring(&outline), vec![ring(&hole)]);
        let zone = Zone {
            name: "star".into(),
            kind: "other".into(),
            rings: vec![outline, hole],
        };
        for _ in 0..1000 {
            let place =
                centre + PlanPoint::new(random.between(-45.0, 45.0), random.between(-45.0, 45.0));
            let expected = polygon.contains(&Point::new(place.y, place.x));
            assert_eq!(zone.holds(&place), expected, "{place:?}");
            inside += usize::from(expected);
        }
    }
    assert!((2_000..18_000).contains(&inside), "{inside}");
}

// GeographicLib's geodesics (C. F. F. Karney, J. Geodesy 87 (2013), as its Rust port computes them). What a plane with the radii of curvature
// leaves out is of the order d² tan φ/R; that, plus a fiftieth of d²/R for the third order and a millimetre, is allowed.
#[test]
fn the_plane_agrees_with_geodesics_within_what_it_leaves_out() {
    let earth = Geodesic::wgs84();
    for latitude in [-62.0, -33.0, 0.0, 18.0, 54.5, 71.0] {
        let plane = Projection::at(8.6, latitude);
        for (d_longitude, d_latitude) in
            [(0.004, 0.001), (-0.012, 0.007), (0.0, 0.02), (0.05, -0.03)]
        {
            let (longitude, other) = (8.6 + d_longitude, latitude + d_latitude);
            let (north, east) = plane.north_east_m(longitude, other);
            let (distance, azimuth, _, _): (f64, f64, f64, f64) =
                earth.inverse(latitude, 8.6, other, longitude);
            let (sin, cos) = azimuth.to_radians().sin_cos();
            let off = (north - distance * cos).hypot(east - distance * sin);
            let allowed = distance.powi(2) * latitude.to_radians().tan().abs() / 6.37e6
                + distance.powi(2) / 6.37e6 * 0.02
                + 1e-3;
            assert!(
                off < allowed,
                "{latitude}: {off} m at {distance} m, {allowed} allowed"
            );
        }
    }
}
