//! The throttle step against its twin.

use super::bodies::{G, ball, ideal_motor, step, throw};
use super::near;
use crate::{
    RangeKind, Summary, SummarySettings, fly_with_twin, summarise, throttle_step_times_s, twin,
};
use nalgebra::{Matrix3, Vector3};
use sim_core::flight::Throw;
use sim_core::launch::Launch;
use sim_core::pilot::{Change, Pilot, Programme};
use std::f64::consts::TAU;

pub(super) const STEP_S: f64 = 0.7;
pub(super) const DIAMETER_M: f64 = 0.05;
pub(super) const THRUST_COEFFICIENT: f64 = 0.1;
const ARM_M: f64 = 0.01;
const PITCH_INERTIA: f64 = 0.25;
pub(super) const MASS_KG: f64 = 500.0;

/// A body at rest without gravity, free to pitch only, with a motor above (positive) or below the balance point.
///
/// It is so heavy that the disc stays at rest and its thrust is C_T ρ n² D⁴.
pub(super) fn hovering(up_m: f64) -> Throw {
    let mut vehicle = ball();
    vehicle.mass = MASS_KG;
    vehicle.inertia = Matrix3::from_diagonal(&Vector3::new(1e9, PITCH_INERTIA, 1e9));
    vehicle.inverse_inertia = vehicle.inertia.try_inverse().unwrap();
    vehicle.motors = vec![ideal_motor(
        Vector3::x(),
        Vector3::new(0.0, 0.0, -up_m),
        DIAMETER_M,
        THRUST_COEFFICIENT,
    )];
    let mut hovering = throw(vehicle, Launch::level(1.5, 0.0), 5.0);
    hovering.air.gravity.surface_m_s2 = 0.0;
    hovering.pilot.throttle = step(STEP_S, 0.8);
    hovering
}

fn compare(throw: &Throw) -> Summary {
    let settings = SummarySettings::default();
    let (flight, twin) = fly_with_twin(throw, &settings).unwrap();
    summarise(&flight, twin.as_ref(), &settings)
}

/// ∫Ω² and ∬Ω² after `t` seconds of Ω = Ω∞ (1 − e^(−t/τ)): the brushed motor without friction and load, τ = JR/k², Ω∞ = dU/k.
pub(super) fn rotor_integrals(t: f64) -> (f64, f64) {
    let (k, r, j) = (4e-4, 1.0, 2e-8);
    let (tau, top) = (j * r / (k * k), 0.8 * 4.0 / k);
    let (e1, e2) = (1.0 - (-t / tau).exp(), 1.0 - (-2.0 * t / tau).exp());
    let once = t - 2.0 * tau * e1 + 0.5 * tau * e2;
    let twice = t * t / 2.0 - 2.0 * tau * (t - tau * e1) + 0.5 * tau * (t - 0.5 * tau * e2);
    (top * top * once, top * top * twice)
}

// θ̈ = −T·arm/I with T from the closed rotor speed, so that at the window's end θ is −(arm/I) C_T ρ D⁴/4π² ∬Ω²; the speed gained is
// C_T ρ D⁴/(4π² m) ∫Ω². Neither needs a solver.
#[test]
fn thrust_above_the_balance_point_lowers_the_nose_by_the_closed_angle() {
    let summary = compare(&hovering(ARM_M));
    let (once, twice) = rotor_integrals(2.0);
    let per_square = THRUST_COEFFICIENT * 1.2 * DIAMETER_M.powi(4) / (TAU * TAU);
    let angle = (ARM_M / PITCH_INERTIA * per_square * twice).to_degrees();
    assert!(angle > 2.0, "worth measuring: {angle}");
    near(summary.throttle_step_time_s, STEP_S, 0.0);
    near(summary.power_window_end_s, STEP_S + 2.0, 0.0);
    near(summary.pitch_down_under_power_deg, angle, 1e-5 * angle);
    near(summary.pitch_down_time_s, STEP_S + 2.0, 0.0);
    near(summary.nose_drop_deg, angle, 1e-5 * angle);
    near(summary.nose_drop_time_s, STEP_S + 2.0, 0.0);
    let faster = per_square / MASS_KG * once;
    near(
        summary.airspeed_above_twin_at_pitch_down_m_s,
        faster,
        1e-3 * faster,
    );
    near(summary.pitch_up_under_power_deg, 0.0, 1e-6);
    near(summary.mean_climb_rate_m_s, 0.0, 1e-4);
    let charge = summary.charge_used_mAh.unwrap();
    assert!(charge > 0.0);
    near(summary.charge_left_fraction, 1.0 - charge / 100.0, 1e-12);
}

#[test]
fn thrust_below_the_balance_point_raises_it_as_much() {
    let down = compare(&hovering(ARM_M));
    let up = compare(&hovering(-ARM_M));
    let wanted = down.pitch_down_under_power_deg.unwrap();
    near(up.pitch_up_under_power_deg, wanted, 1e-6);
    near(up.pitch_up_time_s, STEP_S + 2.0, 0.0);
    // As fast as the closed rotor speed pushes it, as with the nose down; nothing yet at the step, where the nose is lowest.
    let faster = THRUST_COEFFICIENT * 1.2 * DIAMETER_M.powi(4) / (TAU * TAU * MASS_KG)
        * rotor_integrals(2.0).0;
    near(
        up.airspeed_above_twin_at_pitch_up_m_s,
        faster,
        1e-3 * faster,
    );
    near(up.airspeed_above_twin_at_pitch_down_m_s, 0.0, 1e-3 * faster);
    near(up.pitch_down_under_power_deg, 0.0, 1e-6);
    near(up.nose_drop_deg, 0.0, 1e-6);
}

#[test]
fn twins_are_the_same_to_the_bit_up_to_the_step() {
    let mut moving = hovering(ARM_M);
    moving.air.gravity.surface_m_s2 = G;
    moving.launch = Launch {
        path_angle_rad: 0.4,
        rates_rad_s: Vector3::new(0.1, 0.2, -0.3),
        ..Launch::level(200.0, 7.0)
    };
    moving.pilot.throttle = Programme {
        at_release: 0.3,
        changes: vec![
            Change {
                time_s: 0.2,
                to: 0.5,
                ramp_s: 0.9,
            },
            Change {
                time_s: 0.7,
                to: 0.9,
                ramp_s: 0.0,
            },
        ],
    };
    let settings = SummarySettings {
        throttle_step_number: 2,
        ..SummarySettings::default()
    };
    let (flight, twin) = fly_with_twin(&moving, &settings).unwrap();
    let twin = twin.unwrap();
    let before: Vec<f64> = flight
        .look_times_s()
        .into_iter()
        .filter(|t| *t <= 0.7)
        .collect();
    assert!(before.len() > 50 && before.contains(&0.7));
    for &time_s in &before {
        let rows = [&flight, &twin].map(|f| f.state_at(time_s).to_array().map(f64::to_bits));
        assert_eq!(rows[0], rows[1], "at {time_s} s");
    }
    assert_ne!(flight.state_at(0.8).rotors, twin.state_at(0.8).rotors);
    // The ramp was at 0.3 + 0.2·5/9 when it was stopped.
    near(
        Some(twin.throw().pilot.throttle.after(3.0)),
        0.3 + 0.2 * 5.0 / 9.0,
        1e-15,
    );
    assert_eq!(twin.end_time_s, 0.7 + settings.power_window_s);
    let summary = summarise(&flight, Some(&twin), &settings);
    near(summary.throttle_step_time_s, 0.7, 0.0);
}

#[test]
fn without_a_step_or_a_motor_there_is_nothing_to_compare() {
    let settings = SummarySettings::default();
    let mut steady = hovering(ARM_M);
    steady.pilot.throttle = Programme::constant(0.5);
    assert!(twin(&steady, &settings).is_none());
    // A change to the value it has is no step; the second one is the first.
    steady.pilot.throttle.changes = vec![
        Change {
            time_s: 0.5,
            to: 0.5,
            ramp_s: 0.0,
        },
        Change {
            time_s: 0.9,
            to: 0.4,
            ramp_s: 0.0,
        },
    ];
    assert_eq!(throttle_step_times_s(&steady.pilot), [0.9]);
    // Nor is one at or after a power cut.
    steady.pilot.power_cut_s = Some(0.9);
    assert!(throttle_step_times_s(&steady.pilot).is_empty());
    steady.pilot.power_cut_s = Some(0.91);
    assert_eq!(throttle_step_times_s(&steady.pilot), [0.9]);
    steady.pilot.power_cut_s = None;
    let second = SummarySettings {
        throttle_step_number: 2,
        ..settings
    };
    assert!(twin(&steady, &second).is_none());
    steady.vehicle.motors.clear();
    steady.pilot = Pilot {
        throttle: step(STEP_S, 1.0),
        ..Pilot::default()
    };
    let summary = compare(&steady);
    assert_eq!(summary.throttle_step_time_s, None);
    assert_eq!(summary.pitch_down_under_power_deg, None);
    assert_eq!(summary.charge_left_fraction, None);
    // A flight that ends before its step has none either.
    let mut late = hovering(ARM_M);
    late.pilot.throttle = step(7.0, 1.0);
    assert_eq!(compare(&late).pitch_down_under_power_deg, None);
}

// With gravity the body falls 1.5 m in √(2·1.5/g) = 0.553 s; stepped at 0.2 s, the window closes at the touch.
#[test]
fn the_window_closes_at_the_ground() {
    let mut falling = hovering(ARM_M);
    falling.air.gravity.surface_m_s2 = G;
    falling.pilot.throttle = step(0.2, 0.8);
    falling.vehicle.motors[0].propeller.diameter = 1e-9;
    let touch = (3.0 / G).sqrt();
    let summary = compare(&falling);
    near(summary.power_window_end_s, touch, 1e-7);
    near(summary.height_lost_since_step_m, 1.5 - 0.5 * G * 0.04, 1e-7);
    near(
        summary.mean_climb_rate_m_s,
        -(1.5 - 0.5 * G * 0.04) / (touch - 0.2),
        1e-6,
    );
}

// Two motors asked for f ± Δ/2 with f = 0.8, Δ = 0.8 from 1 s to 2.5 s: 1.2 for the left one, 0.4 for the right one.
#[test]
fn a_throttle_held_at_its_limit_is_said() {
    let mut steered = hovering(ARM_M);
    let motor = steered.vehicle.motors[0].clone();
    steered.vehicle.motors.push(motor);
    steered.pilot = Pilot {
        throttle: Programme::constant(0.8),
        left_minus_right: Programme {
            at_release: 0.0,
            changes: vec![
                Change {
                    time_s: 1.0,
                    to: 0.8,
                    ramp_s: 0.0,
                },
                Change {
                    time_s: 2.5,
                    to: 0.0,
                    ramp_s: 0.0,
                },
            ],
        },
        steering_shares: vec![0.5, -0.5],
        ..Pilot::default()
    };
    let summary = compare(&steered);
    let notes: Vec<_> = summary
        .model_range
        .iter()
        .filter(|note| note.what == RangeKind::ThrottleHeldAtLimit)
        .collect();
    assert_eq!(notes.len(), 1);
    assert_eq!(notes[0].motor, Some(1));
    near(Some(notes[0].time_s), 1.5, 1e-12);
    near(Some(notes[0].first_at_s), 1.0, 0.0);
    near(Some(notes[0].worst), 1.2, 1e-12);
    assert_eq!(notes[0].limit, 1.0);
}

// A rotor that coasts without friction at 600 rad/s in a disc of 50 mm, thrown at 9 m/s: J = 9·2π/(600·0.05) = 1.885, beyond the
// table's 1; and one set going backwards at −3 rad/s.
#[test]
fn advance_ratios_beyond_the_table_and_rotors_going_backwards_are_said() {
    let mut coasting = hovering(ARM_M);
    coasting.pilot.throttle = Programme::constant(0.0);
    coasting.launch = Launch {
        rotor_speeds_rad_s: Some(vec![600.0]),
        ..Launch::level(1.5, 9.0)
    };
    let summary = compare(&coasting);
    let note = summary.model_range[0];
    assert_eq!(note.what, RangeKind::AdvanceRatioBeyondTable);
    near(Some(note.worst), 9.0 * TAU / 30.0, 1e-3);
    near(Some(note.time_s), 5.0, 1e-9);
    coasting.launch.rotor_speeds_rad_s = Some(vec![-3.0]);
    let summary = compare(&coasting);
    let kinds: Vec<_> = summary.model_range.iter().map(|note| note.what).collect();
    assert_eq!(kinds, [RangeKind::RotorTurnedBackwards]);
    assert!(summary.model_range[0].worst <= -3.0 + 1e-9);
}

// The flight stands on its own when its twin fails: what compares the two is absent, and why is said.
#[test]
fn a_failed_twin_leaves_the_flight_its_own_numbers() {
    let settings = SummarySettings::default();
    let throw = hovering(ARM_M);
    let mut failing = twin(&throw, &settings).unwrap();
    failing.air.gravity.surface_m_s2 = 1e308;
    let summary = summarise(
        &throw.fly().unwrap(),
        Some(&failing.fly().unwrap()),
        &settings,
    );
    assert!(summary.twin_failure.is_some());
    assert_eq!(summary.pitch_down_under_power_deg, None);
    assert_eq!(summary.airspeed_above_twin_at_pitch_down_m_s, None);
    near(summary.power_window_end_s, STEP_S + 2.0, 0.0);
    assert!(summary.nose_drop_deg.unwrap() > 2.0);
}

// Stepped at 0.2 s, a rotor pushes the body down or up; the other of the two falls freely to the ground in 0.553 s.
#[test]
fn whichever_touches_first_closes_the_window() {
    let settings = SummarySettings::default();
    let free_fall = (3.0 / G).sqrt();
    for (axis, flight_is_first) in [(Vector3::z(), true), (-Vector3::z(), false)] {
        let mut pushed = hovering(0.0);
        pushed.vehicle.mass = 0.05;
        pushed.vehicle.motors[0].axis = axis;
        pushed.air.gravity.surface_m_s2 = G;
        pushed.pilot.throttle = step(0.2, 0.8);
        let (flight, twin) = fly_with_twin(&pushed, &settings).unwrap();
        let twin = twin.unwrap();
        let summary = summarise(&flight, Some(&twin), &settings);
        assert_eq!(flight.end_time_s < twin.end_time_s - 1e-3, flight_is_first);
        let first = flight.end_time_s.min(twin.end_time_s);
        near(summary.power_window_end_s, first, 0.0);
        assert!(first <= free_fall + 1e-6, "{first}");
    }
}
