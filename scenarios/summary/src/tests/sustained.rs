//! What stays after the throttle step, on bodies whose flight is known by hand.

use super::bodies::{G, ball, counted_stall, step, throw};
use super::steps::{DIAMETER_M, MASS_KG, STEP_S, THRUST_COEFFICIENT, hovering, rotor_integrals};
use super::{near, sum_up};
use crate::{Summary, SummarySettings, fly_with_twin, summarise};
use nalgebra::Vector3;
use sim_core::air::wind_from;
use sim_core::flight::Throw;
use sim_core::launch::Launch;
use sim_core::pilot::{Change, Programme};
use std::f64::consts::TAU;

const PERIOD_S: f64 = 0.1;

fn with_period(throw: &Throw, period_s: f64) -> Summary {
    let settings = SummarySettings {
        phugoid_period_s: Some(period_s),
        ..SummarySettings::default()
    };
    let (flight, twin) = fly_with_twin(throw, &settings).unwrap();
    summarise(&flight, twin.as_ref(), &settings)
}

/// A body with a motor that does nothing, thrown level, stepped at 0.1 s.
fn thrown(speed_m_s: f64) -> Throw {
    let mut vehicle = ball();
    vehicle.motors = hovering(0.0).vehicle.motors;
    vehicle.motors[0].propeller.diameter = 1e-9;
    let mut thrown = throw(vehicle, Launch::level(1.5, speed_m_s), 0.45);
    thrown.pilot.throttle = step(0.1, 0.8);
    thrown
}

// Mechanics of a point by hand: a falling body trades height for speed and climbs by nothing, though thrown upwards it gains height first;
// between 0.1 and 0.4 s the height changes by v sin(γ)·0.3 − ½g(0.16 − 0.01).
#[test]
fn speed_traded_for_height_is_no_climb() {
    let mut zoom = thrown(8.0);
    zoom.launch.path_angle_rad = 1.2;
    let summary = with_period(&zoom, PERIOD_S);
    let gain = 8.0 * 1.2_f64.sin() * 0.3 - 0.5 * G * 0.15;
    assert!(gain > 1.0, "it zooms");
    near(summary.height_gain_since_step_m, gain, 1e-7);
    near(summary.sustained_climb_m_s, 0.0, 1e-6);
    near(summary.height_below_twin_m, 0.0, 1e-9);
    // Beyond any stall angle all the way: a body falling on its belly.
    let mut falling = thrown(0.0);
    falling.vehicle.post_stall = counted_stall(0.2, 3.0);
    let summary = with_period(&falling, PERIOD_S);
    near(summary.longest_stall_after_step_s, 3.0 * PERIOD_S, 1e-9);
}

// Without gravity a body that goes up at w goes on at w, and its speed through any steady wind stays: it climbs at w.
#[test]
fn a_steady_climb_counts_in_full_in_any_steady_wind() {
    let mut rising = thrown(3.0);
    rising.air.gravity.surface_m_s2 = 0.0;
    rising.launch.path_angle_rad = 0.3;
    for wind in [
        wind_from(0.0, 0.0, 0.0),
        wind_from(2.0, 0.0, 0.0),
        wind_from(0.0, 0.0, 0.7),
    ] {
        rising.air.mean_wind = wind;
        let summary = with_period(&rising, PERIOD_S);
        near(summary.sustained_climb_m_s, 3.0 * 0.3_f64.sin(), 1e-7);
    }
}

// A thrust straight down on a heavy body at rest: the twin stays, the flight falls by C_T ρ D⁴/(4π² m) ∬Ω² in two periods (here 2 s).
#[test]
fn the_height_below_the_twin_is_that_of_the_thrust() {
    let mut pushed = hovering(0.0);
    pushed.vehicle.motors[0].axis = Vector3::z();
    let summary = with_period(&pushed, 1.0);
    let (_, twice) = rotor_integrals(2.0);
    let fall = THRUST_COEFFICIENT * 1.2 * DIAMETER_M.powi(4) / (TAU * TAU) / MASS_KG * twice;
    near(summary.height_below_twin_m, fall, 1e-4 * fall);
}

// The flight ends at 0.45 s: three periods of 0.12 s after a step at 0.1 s are not there, nor is the climb after a ramp that ends later.
#[test]
fn a_flight_that_ends_before_has_none_of_it() {
    let late = with_period(&thrown(5.0), 0.12);
    for absent in [
        late.height_gain_since_step_m,
        late.sustained_climb_m_s,
        late.longest_stall_after_step_s,
    ] {
        assert_eq!(absent, None);
    }
    let mut ramp = thrown(5.0);
    ramp.pilot.throttle = Programme {
        at_release: 0.0,
        changes: vec![Change {
            time_s: 0.1,
            to: 0.8,
            ramp_s: 0.1,
        }],
    };
    let ramped = with_period(&ramp, PERIOD_S);
    assert!(ramped.height_gain_since_step_m.is_some());
    assert_eq!(ramped.sustained_climb_m_s, None);
    let without = sum_up(&hovering(0.0));
    assert_eq!(without.sustained_climb_m_s, None);
    assert!(without.throttle_step_time_s == Some(STEP_S) && without.height_below_twin_m.is_none());
}

// Thrown over the shoulder: along the heading it goes v cos γ t, backwards.
#[test]
fn the_furthest_back_is_behind_the_release() {
    let mut back = thrown(2.0);
    back.air.gravity.surface_m_s2 = 0.0;
    near(sum_up(&back).furthest_back_m, 0.0, 1e-12);
    back.launch.path_angle_rad = 2.0;
    near(
        sum_up(&back).furthest_back_m,
        2.0 * 2.0_f64.cos() * 0.45,
        1e-7,
    );
}
