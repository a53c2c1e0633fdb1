//! Halls and lowered ground: where straight lines and parabolas meet them, by hand.

use nalgebra::{Matrix3, Vector3};
use scenarios::summary::{EndWord, SummarySettings, summarise};
use sim_core::aero::coefficients::Coefficients;
use sim_core::error::LaunchError;
use sim_core::flight::{End, Throw};
use sim_core::launch::Launch;
use sim_core::site::{Hall, PlanPoint, Zone};
use tossline_tests::known::aircraft::{body, steady_air, throw};

const GRAVITY: f64 = 9.80665;

/// A stick that reaches 0.3 m ahead of its balance point, 0.1 m behind, 0.2 m left and right and 0.05 m up, without air resistance, and
/// without weight where `weight` says so.
fn stick(launch: Launch, weight: bool) -> Throw {
    let mut vehicle = body(
        0.05,
        Matrix3::identity() * 1e-4,
        Coefficients::none(0.01, 0.1, 0.1),
    );
    vehicle.outline = vec![
        Vector3::new(0.3, 0.0, 0.0),
        Vector3::new(-0.1, 0.0, 0.0),
        Vector3::new(0.0, 0.2, 0.0),
        Vector3::new(0.0, -0.2, 0.0),
        Vector3::new(0.0, 0.0, -0.05),
    ];
    let mut throw = throw(vehicle, steady_air(), launch, 10.0);
    if !weight {
        throw.air.gravity.surface_m_s2 = 0.0;
    }
    throw
}

fn hall(corners: &[(f64, f64)], ceiling_m: f64) -> Hall {
    let corners: Vec<PlanPoint> = corners.iter().map(|&(n, e)| PlanPoint::new(n, e)).collect();
    let names = (0..corners.len()).map(|k| format!("w{k}")).collect();
    Hall::new(corners, names, ceiling_m)
}

fn close(found: f64, expected: f64) {
    assert!((found - expected).abs() < 1e-7, "{found} {expected}");
}

// Level at 5 m/s towards a heading ψ in a box 12 m ahead and 4 m to the right: north wall when 5t cos ψ + reach = 12, east wall when
// 5t sin ψ + reach = 4, reach the largest of the five points' along the wall's normal; whichever is first.
#[test]
fn a_straight_throw_meets_the_box_s_wall_it_must() {
    for heading_deg in [0.0_f64, 10.0, 17.0, 20.0, 60.0, 90.0] {
        let heading = heading_deg.to_radians();
        let launch = Launch {
            heading_rad: heading,
            ..Launch::level(2.0, 5.0)
        };
        let mut throw = stick(launch, false);
        throw.site.hall = Some(hall(
            &[(12.0, -4.0), (12.0, 4.0), (-2.0, 4.0), (-2.0, -4.0)],
            6.0,
        ));
        let reach_north = (0.3 * heading.cos()).max(0.2 * heading.sin());
        let reach_east = (0.3 * heading.sin()).max(0.2 * heading.cos());
        let north_s = (12.0 - reach_north) / (5.0 * heading.cos());
        let east_s = (4.0 - reach_east) / (5.0 * heading.sin());
        let flight = throw.fly().unwrap();
        let (wall, at_s) = if north_s < east_s {
            (0, north_s)
        } else {
            (1, east_s)
        };
        assert_eq!(flight.end, End::HallWall(wall), "{heading_deg}");
        close(flight.end_time_s, at_s);
        let summary = summarise(&flight, None, &SummarySettings::default());
        assert_eq!(summary.ended_by, EndWord::Wall);
        assert_eq!(
            summary.touched.as_deref(),
            Some(format!("hall wall w{wall}").as_str())
        );
        close(summary.touch_speed_m_s.unwrap(), 5.0);
        let square = if wall == 0 {
            heading.cos()
        } else {
            heading.sin()
        };
        close(summary.touch_speed_square_m_s.unwrap(), 5.0 * square);
        close(summary.end_north_m.unwrap(), 5.0 * at_s * heading.cos());
        close(summary.end_east_m.unwrap(), 5.0 * at_s * heading.sin());
        assert_eq!(summary.ground_impact_speed_m_s, None);
    }
}

// Straight up a path of 30°: the nose reaches 0.3 sin 30° up, more than the fin's 0.05 cos 30°; ceiling at 2 + 5t sin 30° + 0.15 = 4.
#[test]
fn a_straight_climb_meets_the_ceiling() {
    let launch = Launch {
        path_angle_rad: 30.0_f64.to_radians(),
        ..Launch::level(2.0, 5.0)
    };
    let mut throw = stick(launch, false);
    throw.site.hall = Some(hall(&[(30.0, -9.0), (30.0, 9.0), (-2.0, 0.0)], 4.0));
    let flight = throw.fly().unwrap();
    assert_eq!(flight.end, End::Ceiling);
    close(flight.end_time_s, 1.85 / 2.5);
    let summary = summarise(&flight, None, &SummarySettings::default());
    assert_eq!(
        (summary.ended_by, summary.touched.as_deref()),
        (EndWord::Ceiling, Some("ceiling"))
    );
    close(summary.touch_speed_square_m_s.unwrap(), 2.5);
}

// Galileo from a dyke: ground at −4 m is met at √(2·6/g), and a hall whose ceiling and walls are far away changes no bit of it.
#[test]
fn ground_below_the_release_is_met_later() {
    let mut throw = stick(Launch::level(2.0, 5.0), true);
    throw.vehicle.outline.clear();
    let high = throw.fly().unwrap();
    close(high.end_time_s, (2.0 * 2.0 / GRAVITY).sqrt());
    throw.site.ground_height_m = -4.0;
    let low = throw.fly().unwrap();
    assert_eq!(low.end, End::Ground);
    close(low.end_time_s, (2.0 * 6.0 / GRAVITY).sqrt());
    close(low.clearance_at(0.0), 6.0);
    let middle = 0.5 * high.end_time_s;
    assert_eq!(
        low.state_at(middle).to_array(),
        high.state_at(middle).to_array()
    );
    let summary = summarise(&low, None, &SummarySettings::default());
    close(summary.end_height_m.unwrap(), -4.0);

    throw.site.hall = Some(hall(
        &[(900.0, -900.0), (900.0, 900.0), (-900.0, 0.0)],
        900.0,
    ));
    let in_hall = throw.fly().unwrap();
    assert_eq!(in_hall.end, End::Ground);
    assert_eq!(
        in_hall.state_at(in_hall.end_time_s).to_array(),
        low.state_at(low.end_time_s).to_array()
    );
}

#[test]
fn a_throw_through_a_wall_or_the_ceiling_does_not_start() {
    let mut throw = stick(Launch::level(2.0, 5.0), false);
    let square = [(0.2, -4.0), (0.2, 4.0), (-2.0, 4.0), (-2.0, -4.0)];
    throw.site.hall = Some(hall(&square, 6.0));
    assert_eq!(
        throw.fly().unwrap_err(),
        LaunchError::OutsideHall { wall: 1 }
    );
    throw.site.hall = Some(hall(&[(9.0, -4.0), (9.0, 4.0), (-2.0, 0.0)], 2.02));
    match throw.fly().unwrap_err() {
        LaunchError::ThroughCeiling { above_m } => close(above_m, 0.03),
        other => panic!("{other:?}"),
    }
}

// Level at 5 m/s north, falling 2 m in √(4/g) s = 0.639 s and so 3.193 m: over a zone from 1 to 2 m for 0.2 s, down in one from 3 to 4 m.
#[test]
fn time_over_zones_and_the_zone_it_comes_down_in() {
    let mut throw = stick(Launch::level(2.0, 5.0), true);
    throw.vehicle.outline.clear();
    let band = |name: &str, from: f64, to: f64| Zone {
        name: name.into(),
        kind: "other".into(),
        rings: vec![
            [(from, -1.0), (to, -1.0), (to, 1.0), (from, 1.0)]
                .iter()
                .map(|&(n, e)| PlanPoint::new(n, e))
                .collect(),
        ],
    };
    throw.site.zones = vec![
        band("path", 1.0, 2.0),
        band("pond", 3.0, 4.0),
        band("road", 9.0, 10.0),
    ];
    let with = throw.fly().unwrap();
    let summary = summarise(&with, None, &SummarySettings::default());
    assert_eq!(summary.zones_overflown.as_deref(), Some("path; pond"));
    assert_eq!(summary.landed_in_zone.as_deref(), Some("pond"));
    let down_s = (4.0 / GRAVITY).sqrt();
    let expected = 0.2 + (down_s - 0.6);
    assert!((summary.time_over_zones_s.unwrap() - expected).abs() < 1e-7);
    throw.site.zones.clear();
    let without = throw.fly().unwrap();
    assert_eq!(
        with.state_at(with.end_time_s).to_array(),
        without.state_at(without.end_time_s).to_array()
    );
    let summary = summarise(&without, None, &SummarySettings::default());
    assert_eq!(
        (summary.zones_overflown, summary.time_over_zones_s),
        (None, None)
    );
}
