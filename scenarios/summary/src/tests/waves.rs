//! A height that goes up and down in closed form: dips that end and dips that do not, and what is lowest later.
//!
//! A constant push that turns evenly in the vertical plane, without gravity: the vertical acceleration is A cos(ωt + π), so that the
//! height is h0 − s t − R (1 − cos ωt) with R = A/ω² and the sink speed s at release. With sin ε = s/(Rω) its bottoms are at
//! ωt = π + ε + 2πk, its tops at 2π − ε + 2πk; between them it rises R (2 cos ε − (π − 2ε) sin ε), and each bottom is 2πs/ω lower
//! than the one before (calculus).

use super::bodies::{G, ball, ideal_motor, step, throw};
use super::{near, sum_up};
use crate::{DipEnd, EndWord, SummarySettings, summarise};
use nalgebra::Vector3;
use sim_core::flight::Throw;
use sim_core::launch::Launch;
use sim_core::pilot::Change;
use std::f64::consts::{FRAC_PI_2, PI, TAU};

const TURN_RAD_S: f64 = TAU;
const DRIFT_RAD: f64 = 0.3;
const HEIGHT_M: f64 = 5.0;
const TIME_S: f64 = 3.0;

struct Wave {
    amplitude_m: f64,
    sink_m_s: f64,
}

impl Wave {
    /// The wave that rises by a height between bottom and top.
    fn rising(rise_m: f64) -> Self {
        let per_amplitude = 2.0 * DRIFT_RAD.cos() - (PI - 2.0 * DRIFT_RAD) * DRIFT_RAD.sin();
        let amplitude_m = rise_m / per_amplitude;
        Wave {
            amplitude_m,
            sink_m_s: amplitude_m * TURN_RAD_S * DRIFT_RAD.sin(),
        }
    }

    fn bottom_s(&self, number: i32) -> f64 {
        (PI + DRIFT_RAD) / TURN_RAD_S + f64::from(number)
    }

    fn lost_m(&self, time_s: f64) -> f64 {
        self.sink_m_s * time_s + self.amplitude_m * (1.0 - (TURN_RAD_S * time_s).cos())
    }

    /// The throw that flies it: the rotor keeps its speed, and so much faster than the body that its thrust stays; a tiny disc.
    fn throw(&self) -> Throw {
        let (diameter, rotor) = (1e-5_f64, 6e9);
        let mut vehicle = ball();
        let thrust = vehicle.mass * self.amplitude_m * TURN_RAD_S * TURN_RAD_S;
        let coefficient = thrust / (1.2 * (rotor / TAU).powi(2) * diameter.powi(4));
        let mut motor = ideal_motor(-Vector3::z(), Vector3::zeros(), diameter, coefficient);
        motor.rotor_inertia = 1e-30;
        vehicle.motors = vec![motor];
        let mut throw = throw(
            vehicle,
            Launch {
                path_angle_rad: -FRAC_PI_2,
                // On its back at first: the push is down.
                nose_above_path_rad: FRAC_PI_2 + PI,
                rates_rad_s: Vector3::new(0.0, TURN_RAD_S, 0.0),
                rotor_speeds_rad_s: Some(vec![rotor]),
                ..Launch::level(HEIGHT_M, self.sink_m_s)
            },
            TIME_S,
        );
        throw.air.gravity.surface_m_s2 = 0.0;
        throw
    }
}

#[test]
fn a_rise_of_more_than_a_tenth_of_a_metre_ends_a_dip_though_a_fall_follows() {
    for rise_m in [0.2, 0.11] {
        let wave = Wave::rising(rise_m);
        let summary = sum_up(&wave.throw());
        assert_eq!(summary.ended_by, EndWord::Time);
        assert_eq!(summary.dip_ended_by, Some(DipEnd::Climbed), "{rise_m} m");
        let bottom_s = wave.bottom_s(0);
        near(summary.minimum_altitude_time_s, bottom_s, 1e-3);
        near(
            summary.height_lost_since_step_m,
            wave.lost_m(bottom_s),
            1e-6,
        );
        near(
            summary.minimum_altitude_m,
            HEIGHT_M - wave.lost_m(bottom_s),
            1e-5,
        );
        // What comes later is in the whole flight's numbers: the third bottom is the lowest.
        let last_s = wave.bottom_s(2);
        assert!(wave.lost_m(last_s) > wave.lost_m(bottom_s) + 0.05);
        near(
            summary.lowest_clearance_m,
            HEIGHT_M - wave.lost_m(last_s),
            1e-5,
        );
        near(summary.lowest_clearance_time_s, last_s, 1e-3);
    }
}

#[test]
fn a_rise_of_less_does_not_end_it() {
    for rise_m in [0.05, 0.09] {
        let wave = Wave::rising(rise_m);
        let summary = sum_up(&wave.throw());
        assert_eq!(summary.dip_ended_by, Some(DipEnd::Window), "{rise_m} m");
        // No bottom is left for good by 0.1 m, so the look goes on to the end: the third one is the lowest.
        let bottom_s = wave.bottom_s(2);
        near(summary.minimum_altitude_time_s, bottom_s, 1e-3);
        near(
            summary.height_lost_since_step_m,
            wave.lost_m(bottom_s),
            1e-6,
        );
    }
}

// Dropped at 2 m with a rotor that does nothing, stepped at 0.2 s and again at 0.4 s, up to 0.5 s. The power window is that of the step
// named; height lost and minimum count from the first step whatever is named: (g/2)(0.5² − 0.2²).
#[test]
fn the_dip_starts_at_the_first_step_though_another_is_named() {
    let mut dropped = throw(ball(), Launch::level(2.0, 0.0), 0.5);
    dropped
        .vehicle
        .motors
        .push(ideal_motor(Vector3::x(), Vector3::zeros(), 1e-9, 0.1));
    dropped.pilot.steering_shares = vec![0.0];
    dropped.pilot.throttle = step(0.2, 0.3);
    dropped.pilot.throttle.changes.push(Change {
        time_s: 0.4,
        to: 0.6,
        ramp_s: 0.0,
    });
    let flight = dropped.fly().unwrap();
    for (number, named_s) in [(1, 0.2), (2, 0.4)] {
        let settings = SummarySettings {
            throttle_step_number: number,
            ..SummarySettings::default()
        };
        let summary = summarise(&flight, None, &settings);
        near(summary.throttle_step_time_s, named_s, 0.0);
        near(
            summary.mean_climb_rate_m_s,
            -0.5 * G * (0.5 + named_s),
            1e-7,
        );
        let lost_m = 0.5 * G * (0.25 - 0.04);
        near(summary.height_lost_since_step_m, lost_m, 1e-8);
        // A window of 0.25 s is over at 0.45 s, counted from the first step too.
        let short = SummarySettings {
            dip_window_s: 0.25,
            ..settings
        };
        let summary = summarise(&flight, None, &short);
        near(summary.minimum_altitude_time_s, 0.45, 1e-12);
        near(
            summary.minimum_altitude_m,
            2.0 - 0.5 * G * 0.45 * 0.45,
            1e-8,
        );
    }
}
