//! Ground, wall, apex, empty cell: found where closed answers put them, to 1e-6 s, and where a tighter run puts them.

use nalgebra::{Matrix3, Vector3};
use sim_core::aero::coefficients::Coefficients;
use sim_core::error::LaunchError;
use sim_core::flight::{End, Flight, Throw};
use sim_core::launch::Launch;
use sim_core::pilot::Change;
use sim_core::site::Wall;
use sim_core::solver::Tolerance;
use tossline_tests::known::aircraft::{
    body, stalling_glider, steady_air, steady_pilot, throw, twin,
};
use tossline_tests::known::power::ideal_cell;
use tossline_tests::known::random::Random;

const GRAVITY: f64 = 9.80665;

/// A point without air resistance.
fn stone(launch: Launch, time_limit_s: f64) -> Throw {
    let vehicle = body(
        0.05,
        Matrix3::identity() * 1e-4,
        Coefficients::none(0.01, 0.1, 0.1),
    );
    throw(vehicle, steady_air(), launch, time_limit_s)
}

// A stone thrown at 12 m/s, 35° up from 1.8 m: top at v_z/g, ground at the root of h + v_z t − ½gt² = 0.
#[test]
fn a_stones_apex_and_landing_are_galileos() {
    let angle = 35.0_f64.to_radians();
    let launch = Launch {
        path_angle_rad: angle,
        ..Launch::level(1.8, 12.0)
    };
    let flight = stone(launch, 10.0).fly().unwrap();
    let rise = 12.0 * angle.sin();
    assert_eq!(flight.end, End::Ground);
    assert_eq!(flight.apex_times_s.len(), 1);
    assert!((flight.apex_times_s[0] - rise / GRAVITY).abs() < 2e-8);
    let landing = (rise + (rise * rise + 2.0 * GRAVITY * 1.8).sqrt()) / GRAVITY;
    assert!(
        (flight.end_time_s - landing).abs() < 2e-8,
        "{}",
        flight.end_time_s
    );
    assert!(flight.clearance_at(flight.end_time_s).abs() < 1e-6);
}

// A rod spinning about its middle touches with its end: clearance h − ½gt² − R|sin(ωt)|, first zero by scanning and
// bisection of that formula.
#[test]
fn a_spinning_rod_touches_with_its_end() {
    let (height, radius, rate) = (1.5, 0.4, 9.0);
    let mut throw = stone(Launch::level(height, 0.0), 3.0);
    throw.vehicle.outline = vec![
        Vector3::new(radius, 0.0, 0.0),
        Vector3::new(-radius, 0.0, 0.0),
    ];
    throw.launch.rates_rad_s = Vector3::new(0.0, rate, 0.0);
    let clearance = |t: f64| height - 0.5 * GRAVITY * t * t - radius * (rate * t).sin().abs();
    let first = (0..)
        .map(|i| 1e-4 * f64::from(i))
        .find(|&t| clearance(t) < 0.0)
        .unwrap();
    let (mut low, mut high) = (first - 1e-4, first);
    for _ in 0..60 {
        let middle = 0.5 * (low + high);
        if clearance(middle) > 0.0 {
            low = middle;
        } else {
            high = middle;
        }
    }
    let flight = throw.fly().unwrap();
    assert_eq!(flight.end, End::Ground);
    assert!(
        (flight.end_time_s - high).abs() < 2e-8,
        "{} {high}",
        flight.end_time_s
    );
    for i in 0..50 {
        let t = 0.01 * f64::from(i);
        if t < flight.end_time_s {
            assert!((flight.clearance_at(t) - clearance(t)).abs() < 1e-7);
        }
    }
}

// A wall 5 m ahead across the heading 70°: the foremost point, 0.2 m before the balance point, gets there after 4.8 m
// at the speed across it.
#[test]
fn a_wall_is_met_by_the_foremost_point() {
    let heading = 70.0_f64.to_radians();
    let launch = Launch {
        heading_rad: heading,
        ..Launch::level(20.0, 8.0)
    };
    let mut throw = stone(launch, 3.0);
    throw.vehicle.outline = vec![Vector3::new(0.2, 0.0, 0.0), Vector3::new(-0.3, 0.1, 0.0)];
    throw.site.walls = vec![
        Wall {
            heading_rad: heading + 2.0,
            distance_m: 30.0,
        },
        Wall {
            heading_rad: heading,
            distance_m: 5.0,
        },
    ];
    let flight = throw.fly().unwrap();
    assert_eq!(flight.end, End::Wall(1));
    assert!(
        (flight.end_time_s - 4.8 / 8.0).abs() < 2e-8,
        "{}",
        flight.end_time_s
    );
    throw.site.walls[1].distance_m = 0.15;
    assert_eq!(
        throw.fly().unwrap_err(),
        LaunchError::BehindWall { wall: 2 }
    );
    throw.site.walls.clear();
    throw.launch.height_m = 0.0;
    throw.vehicle.outline.push(Vector3::new(0.0, 0.0, 0.05));
    match throw.fly().unwrap_err() {
        LaunchError::BelowGround { below_m } => assert!((below_m - 0.05).abs() < 1e-12),
        other => panic!("{other:?}"),
    }
}

// The rim of a propeller disc is part of the airframe: how far the vehicle reaches in a direction is the farthest of
// the outline's points and of points around the rims, drawn here one by one.
#[test]
fn propeller_discs_reach_as_far_as_their_rims() {
    let mut random = Random::new(31);
    let mut vehicle = twin();
    for motor in &mut vehicle.motors {
        motor.propeller.diameter = 0.3;
    }
    let mut by_disc = 0;
    for _ in 0..500 {
        let direction = random.direction();
        let corner = vehicle
            .outline
            .iter()
            .map(|p| p.dot(&direction))
            .fold(0.0, f64::max);
        let rim = vehicle
            .motors
            .iter()
            .flat_map(|motor| {
                let first = motor.axis.cross(&Vector3::z()).normalize();
                let second = motor.axis.cross(&first);
                (0..720).map(move |i| {
                    let (sin, cos) = (f64::from(i) * std::f64::consts::TAU / 720.0).sin_cos();
                    motor.place + (first * cos + second * sin) * (motor.propeller.diameter / 2.0)
                })
            })
            .map(|p| p.dot(&direction))
            .fold(0.0, f64::max);
        let reach = vehicle.reach(&direction);
        // 720 points miss the true rim by R(1 − cos ¼°) at most.
        assert!((reach - corner.max(rim)).abs() < 2e-6, "{direction}");
        by_disc += usize::from(rim > corner);
    }
    assert!(by_disc > 50, "discs matter: {by_disc}");
}

// Electronics alone draw 0.5 A from a cell with 0.8 C left: empty after 1.6 s.
#[test]
fn an_empty_cell_ends_the_flight() {
    let mut throw = stone(Launch::level(100.0, 8.0), 10.0);
    throw.vehicle.cell = ideal_cell(4.0);
    throw.vehicle.cell.capacity = 2.0;
    throw.vehicle.cell.electronics_current = 0.5;
    throw.launch.charge_fraction = 0.4;
    let flight = throw.fly().unwrap();
    assert_eq!(flight.end, End::CellEmpty);
    assert!(
        (flight.end_time_s - 1.6).abs() < 2e-8,
        "{}",
        flight.end_time_s
    );
}

// A number that fails ends the flight in a word of its own, with the states before it kept: a tab moved to no number
// after 0.5 s.
#[test]
fn a_failed_number_ends_the_flight_and_says_so() {
    let mut throw = throw(twin(), steady_air(), Launch::level(50.0, 6.0), 2.0);
    throw.pilot = steady_pilot(0.2, 0.0, &[0.0, 0.0]);
    throw.pilot.tabs[0].changes.push(Change {
        time_s: 0.5,
        to: f64::NAN,
        ramp_s: 0.0,
    });
    let flight = throw.fly().unwrap();
    assert!(matches!(flight.end, End::Failed(_)), "{:?}", flight.end);
    assert!(
        (flight.end_time_s - 0.5).abs() < 1e-9,
        "{}",
        flight.end_time_s
    );
    let kept = flight.state_at(0.4).to_array();
    assert!(kept.iter().all(|x| x.is_finite()));
}

fn lively_twin(tolerance: f64) -> Flight {
    let launch = Launch {
        path_angle_rad: 0.5,
        bank_rad: 0.3,
        ..Launch::level(1.8, 9.0)
    };
    let mut throw = throw(twin(), steady_air(), launch, 30.0);
    throw.pilot = steady_pilot(0.35, 0.05, &[0.02, -0.01]);
    throw.tolerance = Tolerance {
        relative: tolerance,
        absolute: tolerance,
        ..Tolerance::default()
    };
    throw.fly().unwrap()
}

// Halving the tolerance again and again from the default moves landing and tops by less than 1e-6 s.
#[test]
fn halving_the_tolerance_moves_no_event_by_a_microsecond() {
    let standard = lively_twin(Tolerance::default().relative);
    assert_eq!(standard.end, End::Ground);
    assert!(!standard.apex_times_s.is_empty());
    let mut tolerance = Tolerance::default().relative;
    for _ in 0..10 {
        tolerance /= 2.0;
        let tighter = lively_twin(tolerance);
        let shift = (tighter.end_time_s - standard.end_time_s).abs();
        assert!(shift < 1e-6, "{shift:.2e} at {tolerance:.1e}");
        assert_eq!(tighter.apex_times_s.len(), standard.apex_times_s.len());
        for (a, b) in tighter.apex_times_s.iter().zip(&standard.apex_times_s) {
            assert!((a - b).abs() < 1e-6);
        }
    }
}

// What is looked at does not influence the flight: a far wall, more outline points and a longer time limit leave
// every bit of the states before the end as they were; looking twice gives the same bits.
#[test]
fn looking_does_not_change_the_flight() {
    let mut plain = throw(
        stalling_glider(),
        steady_air(),
        Launch::level(30.0, 9.0),
        2.0,
    );
    plain.launch.path_angle_rad = 0.8;
    let mut watched = plain.clone();
    watched.site.walls.push(Wall {
        heading_rad: 0.0,
        distance_m: 500.0,
    });
    watched.vehicle.outline.push(Vector3::new(0.1, 0.1, 0.1));
    let mut longer = plain.clone();
    longer.time_limit_s = 3.0;
    let (plain, watched, longer) = (
        plain.fly().unwrap(),
        watched.fly().unwrap(),
        longer.fly().unwrap(),
    );
    let mut looked = 0;
    for t in plain
        .look_times_s()
        .into_iter()
        .chain((0..150).map(|i| 0.01 * f64::from(i)))
    {
        let state = plain.state_at(t);
        assert_eq!(state, watched.state_at(t));
        assert_eq!(state, plain.evaluation_at(t).0);
        // The last step of the shorter flight is cut short by its end.
        if t < 1.9 {
            assert_eq!(state, longer.state_at(t));
            looked += 1;
        }
    }
    assert!(looked > 100);
}
