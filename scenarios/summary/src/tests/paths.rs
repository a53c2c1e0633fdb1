//! Thrown and turning bodies without air forces.

use super::bodies::{G, ball, counted_stall, throw};
use super::{near, sum_up};
use crate::{DipEnd, EndWord};
use nalgebra::Vector3;
use sim_core::air::wind_from;
use sim_core::launch::Launch;
use sim_core::site::Wall;
use std::f64::consts::{FRAC_PI_2, PI};

// A dropped ball: t = √(2h/g), v = √(2gh).
#[test]
fn a_dropped_ball() {
    let summary = sum_up(&throw(ball(), Launch::level(1.8, 0.0), 10.0));
    let time = (2.0 * 1.8 / G).sqrt();
    assert_eq!(summary.ended_by, EndWord::Ground);
    near(summary.flight_time_s, time, 1e-8);
    near(
        summary.ground_impact_speed_m_s,
        (2.0 * G * 1.8_f64).sqrt(),
        1e-7,
    );
    near(summary.minimum_altitude_m, 0.0, 0.0);
    near(summary.minimum_altitude_time_s, time, 1e-8);
    near(summary.height_lost_since_step_m, 1.8, 1e-7);
    assert_eq!(summary.dip_ended_by, Some(DipEnd::Ground));
    near(summary.height_gained_m, 0.0, 0.0);
    near(summary.height_lost_m, 1.8, 1e-7);
    near(summary.glide_ratio_over_ground, 0.0, 1e-9);
    near(summary.track_length_m, 0.0, 1e-9);
    assert_eq!(
        summary.best_climb_rate_m_s, None,
        "there is no whole second"
    );
    for absent in [
        summary.throttle_step_time_s,
        summary.pitch_down_under_power_deg,
        summary.pitch_up_under_power_deg,
        summary.nose_drop_deg,
        summary.mean_climb_rate_m_s,
        summary.charge_used_mAh,
        summary.failed_at_s,
    ] {
        assert_eq!(absent, None);
    }
}

// Thrown level at u: distance u t on the heading of the throw; through a tailwind of w the air is crossed at u − w; at release the
// airspeed is u − w too. The nose stays level, so alpha ends at atan(v_down/(u − w)).
#[test]
fn a_level_throw_on_a_heading_with_a_tailwind() {
    let (u, w, h, heading) = (6.0, 1.5, 1.8, 0.9);
    let mut level = throw(
        ball(),
        Launch {
            heading_rad: heading,
            ..Launch::level(h, u)
        },
        10.0,
    );
    level.air.mean_wind = wind_from(w, heading + PI, 0.0);
    let summary = sum_up(&level);
    let time = (2.0 * h / G).sqrt();
    near(summary.distance_along_m, u * time, 1e-7);
    near(summary.distance_right_m, 0.0, 1e-9);
    near(summary.distance_from_release_m, u * time, 1e-7);
    near(summary.track_length_m, u * time, 1e-7);
    near(summary.glide_ratio_over_ground, u * time / h, 1e-7);
    near(summary.glide_ratio_through_air, (u - w) * time / h, 1e-7);
    near(summary.release_airspeed_m_s, u - w, 1e-12);
    near(summary.release_alpha_deg, 0.0, 1e-12);
    near(
        summary.alpha_max_deg,
        (G * time / (u - w)).atan().to_degrees(),
        1e-6,
    );
    near(summary.alpha_max_time_s, time, 1e-8);
    near(summary.alpha_min_deg, 0.0, 1e-9);
    near(summary.airspeed_min_m_s, u - w, 1e-9);
    near(summary.airspeed_max_m_s, (u - w).hypot(G * time), 1e-6);
}

// Wind from the left of the throw drifts nothing without air forces, but the air is met from the left: sin beta = −w/√(u² + w²).
#[test]
fn a_crosswind_is_met_as_sideslip() {
    let mut level = throw(ball(), Launch::level(100.0, 6.0), 0.5);
    level.air.mean_wind = wind_from(2.0, -FRAC_PI_2, 0.0);
    let summary = sum_up(&level);
    assert_eq!(summary.ended_by, EndWord::Time);
    let beta = (2.0_f64 / 6.0).atan().to_degrees();
    near(summary.release_beta_deg, -beta, 1e-9);
    near(summary.beta_largest_deg, beta, 1e-9);
    near(summary.beta_largest_time_s, 0.0, 0.0);
    near(summary.distance_right_m, 0.0, 1e-9);
    near(summary.distance_along_m, 3.0, 1e-9);
    near(summary.flight_time_s, 0.5, 0.0);
    assert_eq!(summary.ground_impact_speed_m_s, None);
}

// Thrown up at γ: top v² sin²γ/2g above the hand at v sin γ/g, airspeed there v cos γ. The best second is the first: v sin γ − g/2.
#[test]
fn a_throw_upwards_has_its_top_and_its_slowest_moment() {
    let (v, gamma) = (9.0_f64, 0.7_f64);
    let summary = sum_up(&throw(
        ball(),
        Launch {
            path_angle_rad: gamma,
            ..Launch::level(2.0, v)
        },
        10.0,
    ));
    let rise = v * gamma.sin();
    let top = rise * rise / (2.0 * G);
    near(summary.highest_point_m, 2.0 + top, 1e-9);
    near(summary.highest_point_time_s, rise / G, 1e-5);
    near(summary.height_gained_m, top, 1e-9);
    near(summary.height_lost_m, 2.0 + top, 1e-7);
    near(summary.airspeed_min_m_s, v * gamma.cos(), 1e-9);
    near(summary.airspeed_min_time_s, rise / G, 1e-5);
    near(summary.best_climb_rate_m_s, rise - G / 2.0, 1e-8);
    near(
        summary
            .best_climb_rate_m_s
            .map(|_| summary.glide_ratio_over_ground.unwrap()),
        {
            let time = (rise + (rise * rise + 4.0 * G).sqrt()) / G;
            v * gamma.cos() * time / 2.0
        },
        1e-7,
    );
}

// A level ball falling beside its own nose: alpha = atan(g t/u) passes α_s at u tan α_s/g.
#[test]
fn stalled_time_of_a_falling_level_body() {
    let (u, stall) = (5.0, 0.25_f64);
    let mut vehicle = ball();
    vehicle.post_stall = counted_stall(stall, 1.0);
    let summary = sum_up(&throw(vehicle, Launch::level(50.0, u), 1.2));
    let begins = u * stall.tan() / G;
    near(summary.stalled_time_s, 1.2 - begins, 1e-8);
    let note = summary.model_range[0];
    assert_eq!(summary.model_range.len(), 1);
    near(Some(note.first_at_s), begins, 1e-8);
    near(Some(note.time_s), 1.2 - begins, 1e-8);
    near(Some(note.worst), (G * 1.2 / u).atan().to_degrees(), 1e-7);
    near(Some(note.limit), stall.to_degrees(), 1e-12);
    assert_eq!(note.unit, "deg");
}

// A ball keeps its rates: three turns and a quarter to the right at 2.6 s each 0.8 s. Rates of r b/2V = 7.85·0.25/10 < 0.3.
#[test]
fn turns_are_added_up() {
    let rate = 3.25 * 2.0 * PI / 2.6;
    let summary = sum_up(&throw(
        ball(),
        Launch {
            rates_rad_s: Vector3::new(0.0, 0.0, rate),
            ..Launch::level(100.0, 10.0)
        },
        2.6,
    ));
    near(summary.heading_change_deg, 3.25 * 360.0, 1e-5);
    near(summary.bank_largest_deg, 0.0, 1e-9);
    assert_eq!(summary.model_range, []);
}

// Two loops and a third on the spot: upside down at times, never turned. Rate q c/2V with V = g t is above 0.1 at first, once
// V > 1 m/s, until g t = q c/0.2.
#[test]
fn loops_turn_no_heading_and_stay_numbers_at_the_vertical() {
    let rate = 2.0 * PI * 7.0 / 3.0 / 2.0;
    let looping = throw(
        ball(),
        Launch {
            rates_rad_s: Vector3::new(0.0, rate, 0.0),
            ..Launch::level(100.0, 0.0)
        },
        2.0,
    );
    let summary = sum_up(&looping);
    near(summary.heading_change_deg, 0.0, 1e-6);
    near(summary.bank_largest_deg, 180.0, 1e-6);
    let ends = rate * 0.1 / 0.2 / G;
    let note = summary.model_range[0];
    near(Some(note.first_at_s), 1.0 / G, 1e-7);
    near(Some(note.time_s), ends - 1.0 / G, 1e-7);
    near(Some(note.worst), rate * 0.1 / 2.0, 1e-6);
    // Straight up, at rest at first: every angle is still a number.
    let upright = sum_up(&throw(
        ball(),
        Launch {
            nose_above_path_rad: FRAC_PI_2,
            ..Launch::level(100.0, 0.0)
        },
        1.0,
    ));
    near(upright.heading_change_deg, 0.0, 1e-6);
    near(upright.alpha_max_deg, 180.0, 1e-6);
    near(upright.airspeed_min_m_s, 0.0, 0.0);
}

// A slow lean to the right: bank p t.
#[test]
fn bank_of_a_rolling_body() {
    let summary = sum_up(&throw(
        ball(),
        Launch {
            rates_rad_s: Vector3::new(-0.5, 0.0, 0.0),
            bank_rad: 0.2,
            ..Launch::level(100.0, 10.0)
        },
        2.0,
    ));
    near(summary.bank_largest_deg, 0.8_f64.to_degrees(), 1e-7);
    near(summary.bank_largest_time_s, 2.0, 0.0);
}

#[test]
fn a_wall_and_heights_beyond_the_model_are_said() {
    let mut level = throw(ball(), Launch::level(2000.5, 5.0), 10.0);
    level.site.walls = vec![
        Wall {
            heading_rad: FRAC_PI_2,
            distance_m: 3.0,
        },
        Wall {
            heading_rad: 0.0,
            distance_m: 4.0,
        },
    ];
    let summary = sum_up(&level);
    assert_eq!(
        (summary.ended_by, summary.wall_number),
        (EndWord::Wall, Some(2))
    );
    near(summary.flight_time_s, 0.8, 1e-8);
    let note = summary.model_range[0];
    near(Some(note.time_s), (2.0 * 0.5 / G).sqrt(), 1e-7);
    near(Some(note.worst), 2000.5, 0.0);
    assert_eq!(note.first_at_s, 0.0);
    near(summary.glide_ratio_over_ground, 4.0 / (G * 0.32), 1e-6);
}

// Less than 0.1 m lost makes no glide ratio: 0.1 s of fall is 0.049 m.
#[test]
fn no_glide_ratio_without_height_lost() {
    let summary = sum_up(&throw(ball(), Launch::level(10.0, 5.0), 0.1));
    assert_eq!(summary.glide_ratio_over_ground, None);
    assert_eq!(summary.glide_ratio_through_air, None);
    assert_eq!(summary.dip_ended_by, Some(DipEnd::Window));
    near(summary.minimum_altitude_m, 10.0 - 0.005 * G, 1e-9);
}
