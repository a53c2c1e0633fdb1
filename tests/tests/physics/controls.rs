//! Throttle and tab programmes: the flight is cut at every corner of them, and nowhere is there a stretch too short
//! to fly.

use sim_core::flight::{End, Flight};
use sim_core::launch::Launch;
use sim_core::pilot::{Change, Programme};
use tossline_tests::known::aircraft::{steady_air, steady_pilot, throw, twin};

fn programme(at_release: f64, changes: &[(f64, f64, f64)]) -> Programme {
    Programme {
        at_release,
        changes: changes
            .iter()
            .map(|&(time_s, to, ramp_s)| Change { time_s, to, ramp_s })
            .collect(),
    }
}

fn fly(throttle: Programme, left_minus_right: Programme, tab: Programme) -> Flight {
    let mut throw = throw(twin(), steady_air(), Launch::level(30.0, 6.5), 2.0);
    throw.pilot = steady_pilot(0.0, 0.0, &[0.0, 0.0]);
    throw.pilot.throttle = throttle;
    throw.pilot.left_minus_right = left_minus_right;
    throw.pilot.tabs[0] = tab;
    throw.fly().unwrap()
}

fn has_cut(flight: &Flight, time_s: f64) -> bool {
    flight
        .cut_times_s()
        .iter()
        .any(|t| (t - time_s).abs() < 1e-9)
}

#[test]
fn every_corner_of_a_programme_is_a_cut() {
    let flight = fly(
        programme(0.2, &[(0.5, 0.6, 0.25), (1.25, 0.3, 0.0)]),
        programme(0.0, &[(0.6, 0.1, 0.05)]),
        programme(0.0, &[(0.7, 0.05, 0.4)]),
    );
    for corner in [0.5, 0.6, 0.65, 0.7, 0.75, 1.1, 1.25] {
        assert!(
            has_cut(&flight, corner),
            "{corner}: {:?}",
            flight.cut_times_s()
        );
    }
    assert_eq!(flight.cut_times_s().len(), 9);
    // Between corners duties are straight lines, drawn here by hand.
    for (t, left, right) in [
        (0.55, 0.28, 0.28),
        (0.625, 0.425, 0.375),
        (1.0, 0.65, 0.55),
        (1.5, 0.35, 0.25),
    ] {
        let (_, all) = flight.evaluation_at(t);
        assert!(
            (all.motors[0].duty - left).abs() < 1e-12 && (all.motors[1].duty - right).abs() < 1e-12,
            "{t} s"
        );
    }
}

// Where throttle and difference ask a motor for more than it has, it stays at its limit, the flight is cut where it
// gets there, and says so.
#[test]
fn a_limit_is_met_at_a_cut_and_said() {
    // Left: 0.4 + 0.6·(t − 0.5) + 0.2 meets 1 at t = 0.5 + 0.4/0.6.
    let flight = fly(
        programme(0.4, &[(0.5, 1.0, 1.0)]),
        programme(0.4, &[]),
        programme(0.0, &[]),
    );
    let meets = 0.5 + 0.4 / 0.6;
    assert!(has_cut(&flight, meets), "{:?}", flight.cut_times_s());
    assert!(!flight.throttle_held_at(meets - 0.01) && flight.throttle_held_at(meets + 0.01));
    assert_eq!(flight.evaluation_at(1.4).1.motors[0].duty, 1.0);
    assert!((flight.evaluation_at(1.4).1.motors[1].duty - 0.74).abs() < 1e-12);
}

// Times written in tenths do not add up in binary: 0.1 + 0.2 > 0.3. A ramp that ends where something else begins, and
// a ramp that reaches full throttle just at its end, must fly like any other: no failed number from a stretch of
// 1e-16 s.
#[test]
fn corners_that_nearly_coincide_are_flown() {
    let mut failed = Vec::new();
    for tenths in 1..=9 {
        for ramp in 1..=9 {
            let (start, length) = (f64::from(tenths) / 10.0, f64::from(ramp) / 10.0);
            let end = f64::from(tenths + ramp) / 10.0;
            let flight = fly(
                programme(0.2, &[(start, 0.6, length)]),
                programme(0.0, &[]),
                programme(0.0, &[(end, 0.05, 0.0)]),
            );
            if flight.end != End::Time {
                failed.push((start, length, flight.end));
            }
        }
    }
    assert!(failed.is_empty(), "{} of 81: {failed:?}", failed.len());
}

#[test]
fn a_ramp_to_full_throttle_is_flown() {
    let mut failed = Vec::new();
    for tenths in 1..=9 {
        for from in 1..=9 {
            let (start, from) = (f64::from(tenths) / 10.0, f64::from(from) / 10.0);
            for (from, to) in [(from, 1.0), (from, 0.0)] {
                let flight = fly(
                    programme(from, &[(start, to, 0.7)]),
                    programme(0.0, &[]),
                    programme(0.0, &[]),
                );
                if flight.end != End::Time {
                    failed.push((start, from, to, flight.end));
                }
            }
        }
    }
    assert!(failed.is_empty(), "{} of 162: {failed:?}", failed.len());
}

// The same programme with a corner that is none (a change to the value it has) flies the same: cutting costs nothing
// but steps.
#[test]
fn a_cut_without_a_change_changes_nothing() {
    let plain = fly(
        programme(0.5, &[]),
        programme(0.1, &[]),
        programme(0.02, &[]),
    );
    let cut = fly(
        programme(0.5, &[(0.3, 0.5, 0.0), (0.777, 0.5, 0.4)]),
        programme(0.1, &[(1.234, 0.1, 0.0)]),
        programme(0.02, &[]),
    );
    assert!(cut.cut_times_s().len() > plain.cut_times_s().len());
    for i in 0..=20 {
        let (a, b) = (
            plain.state_at(0.1 * f64::from(i)),
            cut.state_at(0.1 * f64::from(i)),
        );
        assert!((a.position - b.position).norm() < 1e-7, "{i}");
        assert!((a.rates - b.rates).norm() < 1e-6, "{i}");
    }
}

// A twin flight: the same to the last bit up to the step, and after it with the throttle as it was just before.
#[test]
fn the_twin_parts_from_the_flight_at_the_step_only() {
    let mut stepping = throw(twin(), steady_air(), Launch::level(30.0, 6.5), 2.0);
    stepping.pilot = steady_pilot(0.2, 0.05, &[0.0, 0.0]);
    stepping.pilot.throttle = programme(0.2, &[(0.8, 0.9, 0.0)]);
    let mut held = stepping.clone();
    held.pilot = stepping.pilot.with_throttle_held_from(0.8);
    let (flight, twin) = (stepping.fly().unwrap(), held.fly().unwrap());
    for i in 0..80 {
        let t = 0.01 * f64::from(i);
        assert_eq!(flight.state_at(t), twin.state_at(t), "{t} s");
    }
    assert_eq!(flight.state_at(0.8), twin.state_at(0.8));
    assert!((twin.evaluation_at(1.5).1.motors[0].duty - 0.225).abs() < 1e-12);
    // Pushers above the balance point: the step puts the nose down.
    let pitch =
        |f: &Flight| sim_core::frames::EulerAngles::of(&f.evaluation_at(1.1).1.to_earth).pitch_rad;
    assert!(pitch(&twin) - pitch(&flight) > 0.01);
}
