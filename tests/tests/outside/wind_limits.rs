//! What a wind leaves of steady flight, against vector subtraction flown over the ground; the end of a dive, against Lanchester.

use scenarios::wind_limits::dive::{Dive, recovery};
use sim_core::air::wind_from;
use sim_core::launch::Launch;
use sim_core::pilot::{Pilot, Programme};
use sim_core::trim::{TrimConditions, Trimmer};
use tossline_tests::known::aircraft::{steady_air, throw, tight, twin};
use tossline_tests::known::frictionless::{first_integral, lanchester};

const SHARES: [f64; 2] = [0.5, -0.5];

fn conditions(tabs_rad: [f64; 2]) -> TrimConditions {
    TrimConditions {
        tabs_rad: tabs_rad.to_vec(),
        steering_shares: SHARES.to_vec(),
        height_m: 10.0,
        charge_fraction: 1.0,
    }
}

// Velocity over the ground = velocity through the air + wind. Level flight is thrown into a uniform wind and its way over the ground
// measured: what the trim says is left, for 3 s.
#[test]
fn level_flight_makes_over_the_ground_what_the_wind_leaves() {
    let vehicle = twin();
    let trimmer = Trimmer::new(&vehicle, &steady_air(), conditions([0.0, 0.0]));
    let level = trimmer.level().unwrap();
    for wind_m_s in [-1.5, 0.0, 2.0, 3.0] {
        let left = level.ground_speed_against_m_s(wind_m_s);
        assert!(left > 0.0, "slow enough a wind to throw against");
        let launch = Launch {
            nose_above_path_rad: level.pitch_rad,
            rotor_speeds_rad_s: Some(level.state.rotors[..2].to_vec()),
            ..Launch::level(10.0, left)
        };
        let mut throw = throw(vehicle.clone(), steady_air(), launch, 3.0);
        throw.air.mean_wind = wind_from(wind_m_s, 0.0, 0.0);
        throw.pilot = Pilot {
            throttle: Programme::constant(level.throttle_fraction),
            steering_shares: SHARES.to_vec(),
            tabs: vec![Programme::constant(0.0); 2],
            ..Pilot::default()
        };
        throw.tolerance = tight();
        let end = throw.fly().unwrap().state_at(3.0);
        assert!(
            (end.position.x - 3.0 * left).abs() < 2e-3,
            "{wind_m_s}: {} {left}",
            end.position.x
        );
        assert!((end.height() - 10.0).abs() < 2e-3);
        // The same way through the air, whatever the wind: V t.
        let through_air = end.position.x + 3.0 * wind_m_s;
        assert!((through_air - 3.0 * level.airspeed_m_s).abs() < 2e-3);
    }
}

// By hand: sinking at s and going forward at v over the ground, D takes D/v and costs s D/v; the glide ratio E is v/s in still air.
#[test]
fn a_glide_loses_height_by_its_ratio_and_more_against_the_wind() {
    let vehicle = twin();
    let trimmer = Trimmer::new(&vehicle, &steady_air(), conditions([0.0, 0.0]));
    let glide = trimmer.glide().unwrap();
    let ratio = glide.glide_ratio().unwrap();
    let still = glide.height_lost_over_m(100.0, 0.0).unwrap();
    assert!((still - 100.0 / ratio).abs() < 1e-9);
    let forward = glide.airspeed_m_s * (1.0 / ratio).atan().cos();
    let half = glide.height_lost_over_m(100.0, 0.5 * forward).unwrap();
    let with = glide.height_lost_over_m(100.0, -forward).unwrap();
    assert!(
        (half / still - 2.0).abs() < 1e-9,
        "half as fast, twice as long"
    );
    assert!((with / still - 0.5).abs() < 1e-9, "twice as fast");
    assert_eq!(glide.height_lost_over_m(100.0, forward + 1e-6), None);
}

// What is found by moving the tab must be what is found with the tab bent there and the throttle given. As set this aircraft flies level on
// the slow side: bent for the same throttle it flies faster, and faster still with more throttle.
#[test]
fn level_flight_by_a_tab_is_level_with_the_tab_bent_there() {
    let vehicle = twin();
    let trimmer = Trimmer::new(&vehicle, &steady_air(), conditions([0.0, 0.0]));
    let tab = trimmer.pitch_tab().unwrap();
    assert_eq!(tab, 0, "the one that neither rolls nor yaws");
    let start = trimmer.level().unwrap();
    let throttles = [start.throttle_fraction + 1e-3, 0.4, 0.6];
    let found = trimmer.level_at_throttles(tab, &throttles);
    let mut slower = start.airspeed_m_s;
    for (throttle, level) in throttles.into_iter().zip(found) {
        let level = level.expect("more throttle than level flight takes");
        let mut tabs = [0.0; 2];
        tabs[tab] = level.tab_rad;
        let bent = Trimmer::new(&vehicle, &steady_air(), conditions(tabs));
        let flown = bent.power(throttle).unwrap();
        assert!(
            flown.climb_m_s.abs() < 1e-9,
            "{throttle}: {}",
            flown.climb_m_s
        );
        assert!((flown.airspeed_m_s - level.flight.airspeed_m_s).abs() < 1e-8);
        assert!(level.flight.airspeed_m_s > slower);
        slower = level.flight.airspeed_m_s;
    }
    assert_eq!(
        trimmer.level_at_throttles(tab, &[0.1]),
        [None],
        "too little"
    );
}

// Lanchester's first integral (from memory; cos γ = z/3z1 + C √(z1/z), z = V²/2g): at the bottom γ = 0. Without drag the height lost is
// z_bottom − z_start. The bottom is the fast root.
#[test]
fn a_dive_without_drag_ends_where_lanchester_says() {
    let level = 5.0;
    for (angle_deg, speed) in [(10.0_f64, 5.0_f64), (30.0, 5.0), (30.0, 4.0), (60.0, 6.5)] {
        let angle_rad = angle_deg.to_radians();
        let constant = first_integral(level, speed, angle_rad);
        let cosine = |ratio: f64| ratio / 3.0 + constant / ratio.sqrt();
        let (mut low, mut high) = ((speed / level).powi(2), 9.0);
        assert!(cosine(low) < 1.0 && cosine(high) > 1.0);
        for _ in 0..200 {
            let middle = 0.5 * (low + high);
            if cosine(middle) < 1.0 {
                low = middle;
            } else {
                high = middle;
            }
        }
        let height_m = (low - (speed / level).powi(2)) * level * level / (2.0 * 9.80665);
        let mut throw = lanchester(level, Launch::level(50.0, level), 1.0);
        throw.tolerance = tight();
        let dive = Dive {
            angle_rad,
            airspeed_m_s: speed,
            incidence_rad: 0.0,
            throttle_before_fraction: 0.0,
        };
        let found = recovery(&throw, &dive, 0.0).unwrap().height_m.unwrap();
        assert!(
            (found - height_m).abs() < 1e-6,
            "{angle_deg}: {found} {height_m}"
        );
    }
}

#[test]
fn where_a_dive_starts_makes_no_difference() {
    let level = 5.0;
    let dive = Dive {
        angle_rad: 0.5,
        airspeed_m_s: 5.0,
        incidence_rad: 0.0,
        throttle_before_fraction: 0.0,
    };
    let from = |height_m: f64| {
        let mut throw = lanchester(level, Launch::level(height_m, level), 1.0);
        throw.tolerance = tight();
        recovery(&throw, &dive, 0.0).unwrap().height_m.unwrap()
    };
    // Air of one density and no ground near: the same to rounding of the height.
    assert!((from(1.0) - from(80.0)).abs() < 1e-9);
}
