//! Dips with a closed answer: a body pushed straight up by a rotor that keeps its speed.
//!
//! With thrust T the height is h0 − v0 t + a t²/2, a = T/m − g; the bottom is v0²/2a deep, at v0/a.

use super::bodies::{G, ball, ideal_motor, step, throw};
use super::{near, sum_up};
use crate::{DipEnd, EndWord, SummarySettings, summarise};
use nalgebra::Vector3;
use sim_core::flight::Throw;
use sim_core::launch::Launch;
use std::f64::consts::{FRAC_PI_2, TAU};

const RISE_M_S2: f64 = 2.0;

/// A level body released at a height with a vertical speed (up positive), accelerating up at [`RISE_M_S2`].
fn lifted(height_m: f64, up_m_s: f64, rim_m: f64) -> Throw {
    // A huge, fast and feeble propeller: the body's own speed then hardly changes its advance ratio.
    let (diameter, rotor) = (0.6_f64, 1e5);
    let mut vehicle = ball();
    let thrust = vehicle.mass * (RISE_M_S2 + G);
    let coefficient = thrust / (1.2 * (rotor / TAU).powi(2) * diameter.powi(4));
    // Level, its disc lies flat: the lowest point is that of the outline.
    let mut motor = ideal_motor(-Vector3::z(), Vector3::zeros(), diameter, coefficient);
    motor.rotor_inertia = 1e-30;
    vehicle.motors = vec![motor];
    vehicle.outline = vec![Vector3::new(0.0, 0.0, rim_m)];
    let path = if up_m_s < 0.0 { -FRAC_PI_2 } else { FRAC_PI_2 };
    throw(
        vehicle,
        Launch {
            path_angle_rad: path,
            nose_above_path_rad: -path,
            rotor_speeds_rad_s: Some(vec![rotor]),
            ..Launch::level(height_m, up_m_s.abs())
        },
        6.0,
    )
}

#[test]
fn a_dip_ends_when_the_height_has_risen_again() {
    let summary = sum_up(&lifted(3.0, -1.2, 0.05));
    let depth = 1.2 * 1.2 / (2.0 * RISE_M_S2);
    assert_eq!(summary.ended_by, EndWord::Time);
    assert_eq!(summary.dip_ended_by, Some(DipEnd::Climbed));
    near(summary.height_lost_since_step_m, depth, 1e-6);
    near(summary.minimum_altitude_m, 3.0 - depth - 0.05, 1e-6);
    near(summary.minimum_altitude_time_s, 1.2 / RISE_M_S2, 1e-4);
    // It ends higher than it began: gained is the rise over the release, lost nothing, and no glide ratio.
    near(summary.height_lost_m, 0.0, 0.0);
    near(
        summary.height_gained_m,
        -1.2 * 6.0 + 0.5 * RISE_M_S2 * 36.0,
        1e-4,
    );
    assert_eq!(summary.glide_ratio_over_ground, None);
    // The best second is the last: from 5 to 6 s, −1.2 + a·5.5.
    near(summary.best_climb_rate_m_s, -1.2 + RISE_M_S2 * 5.5, 1e-4);
}

// 0.05 s later the body has risen by a·0.05²/2 = 2.5 mm only, so the window ends the look, at the same bottom.
#[test]
fn the_window_ends_the_look_before_and_just_after_the_bottom() {
    let flight = lifted(3.0, -1.2, 0.05).fly().unwrap();
    let height = |t: f64| 3.0 - 1.2 * t + 0.5 * RISE_M_S2 * t * t;
    for (window_s, lowest) in [(0.4, height(0.4)), (0.65, height(0.6))] {
        let settings = SummarySettings {
            dip_window_s: window_s,
            ..SummarySettings::default()
        };
        let summary = summarise(&flight, None, &settings);
        assert_eq!(summary.dip_ended_by, Some(DipEnd::Window));
        near(summary.minimum_altitude_m, lowest - 0.05, 1e-6);
        near(summary.height_lost_since_step_m, 3.0 - lowest, 1e-6);
    }
}

#[test]
fn the_ground_ends_the_look() {
    let summary = sum_up(&lifted(0.3, -1.2, 0.05));
    assert_eq!(summary.ended_by, EndWord::Ground);
    assert_eq!(summary.dip_ended_by, Some(DipEnd::Ground));
    near(summary.minimum_altitude_m, 0.0, 0.0);
    near(summary.height_lost_since_step_m, 0.25, 1e-6);
    let touch = (1.2 - (1.2 * 1.2 - 2.0 * RISE_M_S2 * 0.25_f64).sqrt()) / RISE_M_S2;
    near(summary.minimum_altitude_time_s, touch, 1e-6);
}

#[test]
fn climbing_from_the_first_moment_is_no_dip() {
    let summary = sum_up(&lifted(3.0, 0.5, 0.05));
    assert_eq!(summary.dip_ended_by, Some(DipEnd::NoDip));
    near(summary.minimum_altitude_m, 2.95, 1e-12);
    near(summary.minimum_altitude_time_s, 0.0, 0.0);
    near(summary.height_lost_since_step_m, 0.0, 0.0);
}

// Climbing at the start and falling below it later is a dip: the look goes on past the top. Thrown up at 1 m/s without thrust, the ball
// is at 10 + 0.8 − g·0.64/2 after 0.8 s.
#[test]
fn a_climb_at_the_start_does_not_hide_the_dip() {
    let up = Launch {
        path_angle_rad: FRAC_PI_2,
        ..Launch::level(10.0, 1.0)
    };
    let summary = sum_up(&throw(ball(), up, 0.8));
    assert_eq!(summary.dip_ended_by, Some(DipEnd::Window));
    near(summary.minimum_altitude_m, 10.8 - G * 0.32, 1e-8);
}

// After the first bottom the body climbs to some 7 m; from 2.5 s on a second rotor pushes it down into the ground, inside the window.
#[test]
fn a_later_deeper_fall_is_not_part_of_the_dip() {
    let mut pushed_down = lifted(3.0, -1.2, 0.05);
    pushed_down
        .vehicle
        .motors
        .push(ideal_motor(Vector3::z(), Vector3::zeros(), 0.6, 1.3e-6));
    pushed_down.launch.rotor_speeds_rad_s = Some(vec![1e5, 0.0]);
    pushed_down.pilot.left_minus_right = step(2.5, 1.0);
    pushed_down.pilot.steering_shares = vec![0.0, 1.0];
    let summary = sum_up(&pushed_down);
    assert_eq!(summary.ended_by, EndWord::Ground);
    assert!(summary.flight_time_s.unwrap() < 5.0 && summary.highest_point_m.unwrap() > 6.0);
    assert_eq!(summary.dip_ended_by, Some(DipEnd::Climbed));
    near(summary.minimum_altitude_m, 3.0 - 0.36 - 0.05, 1e-5);
    near(summary.height_lost_since_step_m, 0.36, 1e-5);
}
