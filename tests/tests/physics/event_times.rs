//! Events between the looks of a step, beside each other, and at tighter tolerances; steady rotors on a weak cell; the price of a step.

use nalgebra::{Matrix3, Vector3};
use sim_core::aero::coefficients::Coefficients;
use sim_core::air::gust::Gust;
use sim_core::error::LaunchError;
use sim_core::flight::{End, Throw};
use sim_core::forces::evaluate;
use sim_core::launch::Launch;
use sim_core::segment::Segment;
use sim_core::site::Wall;
use sim_core::solver::{Method, Tolerance};
use tossline_tests::known::aircraft::{body, steady_air, steady_pilot, throw, twin};
use tossline_tests::known::power::ideal_cell;

const GRAVITY: f64 = 9.80665;
const STEP_S: f64 = 0.05;

/// A point without air resistance, flown in steps of [`STEP_S`] each: the solver is exact for its parabola.
fn stone(launch: Launch) -> Throw {
    let coefficients = Coefficients::none(0.01, 0.1, 0.1);
    let vehicle = body(0.05, Matrix3::identity() * 1e-4, coefficients);
    let mut throw = throw(vehicle, steady_air(), launch, 1.0);
    throw.tolerance = Tolerance {
        first_step_s: STEP_S,
        largest_step_s: STEP_S,
        ..Tolerance::default()
    };
    throw
}

// A point thrown down that is drawn up as a stone is drawn down: h = (g/2)(t − t_b)² − d, under the ground from t_b − τ to t_b + τ with
// τ² = 2d/g. The dip lies inside a step and spans one of its eighths and no second one; MODEL.md § 9: looked at in 8 parts.
#[test]
fn a_touch_and_rise_inside_one_step_is_found() {
    for eighth in 1..=7 {
        let half_length = 0.55 * STEP_S / 8.0;
        let bottom = STEP_S * (10.0 + f64::from(eighth) / 8.0);
        let height = 0.5 * GRAVITY * (bottom * bottom - half_length * half_length);
        let launch = |height_m: f64| Launch {
            path_angle_rad: -std::f64::consts::FRAC_PI_2,
            ..Launch::level(height_m, GRAVITY * bottom)
        };
        let mut dipping = stone(launch(height));
        dipping.air.gravity.surface_m_s2 = -GRAVITY;
        // A metre higher nothing is touched, in steps that leave both ends of the dip inside one.
        let mut above = dipping.clone();
        above.launch.height_m += 1.0;
        let above = above.fly().unwrap();
        assert_eq!((above.end, above.counts.accepted_steps), (End::Time, 20));
        let flight = dipping.fly().unwrap();
        assert_eq!(flight.end, End::Ground, "eighth {eighth}");
        let touch = bottom - half_length;
        assert!(
            (flight.end_time_s - touch).abs() < 1e-7,
            "{} {touch}",
            flight.end_time_s
        );
    }
}

// Ground at √(2h/g), wall at distance/speed, both in the eighth of a step from 0.50625 to 0.5125 s: the earlier of the two ends the
// flight, whichever it is, and the nearer of two walls, whichever is listed first.
#[test]
fn of_two_events_in_one_look_the_earlier_ends_the_flight() {
    let (early, late) = (0.508, 0.5105);
    let speed = 6.0;
    let wall = |time_s: f64| Wall {
        heading_rad: 0.0,
        distance_m: speed * time_s,
    };
    let falling = |ground_s: f64, walls_s: &[f64]| {
        let mut throw = stone(Launch::level(0.5 * GRAVITY * ground_s * ground_s, speed));
        throw.site.walls = walls_s.iter().map(|&time_s| wall(time_s)).collect();
        throw.fly().unwrap()
    };
    for (ground_s, walls_s, end) in [
        (early, vec![late], End::Ground),
        (late, vec![early], End::Wall(0)),
        (late + 0.3, vec![early, late], End::Wall(0)),
        (late + 0.3, vec![late, early], End::Wall(1)),
    ] {
        let flight = falling(ground_s, &walls_s);
        assert_eq!(flight.end, end, "ground {ground_s}, walls {walls_s:?}");
        assert!((flight.end_time_s - early).abs() < 1e-8);
    }
}

/// A lively powered throw through a gust in place, that would go on for seconds.
fn lively() -> Throw {
    let launch = Launch {
        path_angle_rad: 0.4,
        bank_rad: 0.2,
        ..Launch::level(30.0, 9.0)
    };
    let mut throw = throw(twin(), steady_air(), launch, 3.0);
    throw.pilot = steady_pilot(0.35, 0.05, &[0.02, -0.01]);
    throw.air.gusts = vec![Gust::in_place(Vector3::new(0.3, 0.5, -0.8), 0.0, 2.0, 3.0)];
    throw
}

// Halving the tolerance again and again from the default moves wall, empty cell and gust edges by less than 1e-6 s.
#[test]
fn halving_the_tolerance_moves_no_wall_cell_or_gust_edge_by_a_microsecond() {
    let mut walled = lively();
    walled.site.walls = vec![Wall {
        heading_rad: 0.3,
        distance_m: 7.0,
    }];
    let mut emptied = lively();
    emptied.vehicle.cell.capacity = 0.25;
    for (throw, end) in [(walled, End::Wall(0)), (emptied, End::CellEmpty)] {
        let standard = throw.fly().unwrap();
        assert_eq!(standard.end, end, "at {} s", standard.end_time_s);
        // Release, into the gust, out of it, end.
        let cuts = standard.cut_times_s();
        assert_eq!(cuts.len(), 4, "{cuts:?}");
        for halvings in 1..=8 {
            let mut tighter = throw.clone();
            tighter.tolerance.relative *= 0.5_f64.powi(halvings);
            tighter.tolerance.absolute *= 0.5_f64.powi(halvings);
            let flight = tighter.fly().unwrap();
            assert_eq!(flight.end, end);
            let moved = flight.cut_times_s();
            assert_eq!(moved.len(), cuts.len());
            for (a, b) in moved.iter().zip(&cuts) {
                assert!((a - b).abs() < 1e-6, "{a} {b} after {halvings} halvings");
            }
        }
    }
}

// On a cell of 4 Ω with motors of 0.05 Ω one rotor's speed is nearly the other's current; with 0.001 Ω the more so. What is released as
// steady is steady: a rotor that is 1e-9 rad/s off (MODEL.md § 8) changes its speed by some k²/(R J) · 1e-9 rad/s, k² 4.65e-7 and J 1e-7
// kg m²: 9e-8 rad/s² at 0.05 Ω. Ten times that is allowed. Else the throw says that there is no steady speed.
#[test]
fn rotors_released_as_steady_are_steady_on_a_weak_cell() {
    let mut found = 0;
    for resistance in [0.05, 0.001] {
        for (throttle, difference) in [(0.3, 0.0), (0.5, 0.1), (0.8, -0.2), (1.0, 0.0)] {
            let mut vehicle = twin();
            vehicle.cell = ideal_cell(3.9);
            vehicle.cell.resistance = 4.0;
            for motor in &mut vehicle.motors {
                motor.resistance = resistance;
            }
            let mut throw = throw(vehicle, steady_air(), Launch::level(20.0, 6.0), 1.0);
            throw.pilot = steady_pilot(throttle, difference, &[0.0, 0.0]);
            let state = match throw.release_state() {
                Ok(state) => state,
                Err(error) => {
                    let honest = matches!(error, LaunchError::NoRotorSpeed { .. });
                    assert!(honest && resistance < 0.05, "{error:?} at {resistance} Ω");
                    continue;
                }
            };
            let duties = [throttle + difference / 2.0, throttle - difference / 2.0];
            let segment = Segment::steady(&duties, &[0.0, 0.0]);
            let at = evaluate(&throw.vehicle, &throw.air, &segment, 0.0, &state);
            let allowed = 10.0 * 4.65e-7 / (resistance * 1e-7) * 1e-9;
            for (speed, rate) in state.rotors.iter().zip(at.rate.rotors) {
                // A rotor that the sagging cell cannot drive stands still.
                let steady = rate.abs() < allowed || (*speed == 0.0 && rate <= 0.0);
                assert!(steady, "{speed} rad/s at {rate:.1e} rad/s², {throttle}");
            }
            assert!(state.rotors.iter().any(|&speed| speed > 0.0));
            found += 1;
        }
    }
    assert!(found >= 4, "{found} throws with steady rotors");
}

// Hairer, Nørsett & Wanner, Solving ODEs I (from memory): a step of the 8(5,3) method takes 11 new stages and the derivative at its end,
// one of the 5(4) method six with its first taken over from the step before. Each 8(5,3) step is crossed by a 5(4) run besides.
#[test]
fn every_derivative_call_is_counted() {
    let counts = |method| {
        let mut throw = lively();
        throw.tolerance.method = method;
        throw.fly().unwrap().counts
    };
    for (method, stages) in [(Method::Dopri5, 6), (Method::Dop853, 11 + 6)] {
        let counts = counts(method);
        assert!(counts.accepted_steps > 10);
        assert!(
            counts.derivative_calls >= stages * counts.accepted_steps,
            "{method:?}: {counts:?}"
        );
    }
}
