//! Turning rotors: gyroscopic moment, torque reaction, conservation of angular momentum.

use nalgebra::{Matrix3, Vector3};
use sim_core::aero::coefficients::Coefficients;
use sim_core::flight::{Flight, Throw};
use sim_core::frames::rotation;
use sim_core::launch::Launch;
use sim_core::power::disc::DiscEffects;
use sim_core::power::motor::{Motor, thrust_axis};
use sim_core::power::propeller::{Propeller, PropellerRow};
use sim_core::vehicle::Vehicle;
use tossline_tests::known::aircraft::{
    body, lopsided_twin, steady_pilot, throw, tight, weightless_air,
};
use tossline_tests::known::power::ideal_cell;

const ROTOR_INERTIA: f64 = 4e-7;
const ACROSS: f64 = 3e-4;

/// A flywheel on a motor: no propeller, friction as given.
fn flywheel(axis: Vector3<f64>, spin: f64, no_load_current: f64) -> Motor<f64> {
    let rows = [0.0, 1.0].map(|advance_ratio| PropellerRow {
        advance_ratio,
        thrust_coefficient: 0.0,
        power_coefficient: 0.0,
    });
    Motor {
        constant: 7e-4,
        resistance: 1.2,
        no_load_current,
        rotor_inertia: ROTOR_INERTIA,
        spin,
        axis,
        place: Vector3::new(-0.1, 0.05, -0.02),
        propeller: Propeller::from_table(0.05, &rows, (0.0, 0.0)),
        disc: DiscEffects::none(),
    }
}

/// A body that floats with its motors, without air to hold on to.
fn floating(inertia: Matrix3<f64>, motors: Vec<Motor<f64>>, launch: Launch) -> Throw {
    let shares = vec![0.0; motors.len()];
    let vehicle = Vehicle {
        motors,
        cell: ideal_cell(4.0),
        ..body(0.05, inertia, Coefficients::none(0.01, 0.1, 0.1))
    };
    let mut throw = throw(vehicle, weightless_air(), launch, 2.0);
    throw.pilot = steady_pilot(0.0, 0.0, &[]);
    throw.pilot.steering_shares = shares;
    throw.tolerance = tight();
    throw
}

fn symmetric() -> Matrix3<f64> {
    Matrix3::from_diagonal(&Vector3::new(1e-4, ACROSS, ACROSS))
}

// A body symmetric about the shaft, with a rotor of angular momentum H along +x (clockwise from behind) and a small
// pitch rate q0: I q̇ = −H r, I ṙ = +H q, hence q = q0 cos(Ht/I), r = q0 sin(Ht/I) (free gyroscope, any textbook).
// Nose up pulls a clockwise propeller's nose to the right.
#[test]
fn a_free_gyroscope_nutates_at_h_over_i() {
    for spin in [1.0, -1.0] {
        let rotor = 1500.0;
        let launch = Launch {
            rates_rad_s: Vector3::new(0.0, 0.8, 0.0),
            rotor_speeds_rad_s: Some(vec![rotor]),
            ..Launch::level(50.0, 0.0)
        };
        // Throttle closed, no friction: the rotor keeps its speed.
        let throw = floating(symmetric(), vec![flywheel(Vector3::x(), spin, 0.0)], launch);
        let flight = throw.fly().unwrap();
        let frequency = spin * ROTOR_INERTIA * rotor / ACROSS;
        for i in 0..=100 {
            let t = 0.02 * f64::from(i);
            let state = flight.state_at(t);
            let (sin, cos) = (frequency * t).sin_cos();
            let expected = Vector3::new(0.0, 0.8 * cos, 0.8 * sin);
            assert!(
                (state.rates - expected).norm() < 1e-10,
                "{t} s: {}",
                state.rates
            );
            assert_eq!(state.rotors[0], rotor);
        }
        assert!(flight.state_at(0.05).rates.z * spin > 0.0);
    }
}

// A heavy gyroscope yields square to the moment: with a steady pitching moment M the mean rate is r = M/H. From rest
// the closed solution is q = (M/H) sin(Ht/I), r = (M/H)(1 − cos(Ht/I)). The moment is that of a constant thrust below
// the balance point.
#[test]
fn a_gyroscope_under_a_moment_precesses() {
    let (rotor, moment) = (2000.0, 2e-4);
    let (mut engine, engine_speed) = tossline_tests::known::power::constant_thrust(0.02, 1.225);
    engine.place = Vector3::new(0.0, 0.0, moment / 0.02);
    let launch = Launch {
        rotor_speeds_rad_s: Some(vec![rotor, engine_speed]),
        ..Launch::level(1000.0, 0.0)
    };
    let mut throw = floating(
        symmetric(),
        vec![flywheel(Vector3::x(), 1.0, 0.0), engine],
        launch,
    );
    // High up: the engine's disc is a kilometre wide.
    throw.time_limit_s = 1.0;
    let flight = throw.fly().unwrap();
    let momentum = ROTOR_INERTIA * rotor;
    for i in 0..=50 {
        let t = 0.02 * f64::from(i);
        let (sin, cos) = (momentum / ACROSS * t).sin_cos();
        let rates = flight.state_at(t).rates;
        let steady = moment / momentum;
        let expected = Vector3::new(0.0, steady * sin, steady * (1.0 - cos));
        assert!(
            (rates - expected).norm() < 1e-9 * steady,
            "{t} s: {rates} {expected}"
        );
    }
}

/// Angular momentum of body and rotors about the balance point, earth axes.
fn momentum(flight: &Flight, time_s: f64) -> Vector3<f64> {
    let state = flight.state_at(time_s);
    let vehicle = &flight.throw().vehicle;
    let mut sum = vehicle.inertia * state.rates;
    for (motor, speed) in vehicle.motors.iter().zip(state.rotors) {
        sum += motor.axis * (motor.spin * motor.rotor_inertia * speed);
    }
    rotation(&state.attitude) * sum
}

// Action and reaction: whatever the motors do inside, with friction and currents, the angular momentum of body and
// rotors together stays constant over the earth. A lopsided body tumbling with two skew rotors, one starting, one
// running down.
#[test]
fn motors_cannot_change_the_total_angular_momentum() {
    let motors = vec![
        flywheel(thrust_axis(0.2, 0.3, 1.0), 1.0, 0.05),
        flywheel(thrust_axis(-0.1, 0.2, -1.0), -1.0, 0.05),
    ];
    let launch = Launch {
        rates_rad_s: Vector3::new(1.0, -2.0, 0.7),
        rotor_speeds_rad_s: Some(vec![0.0, 4000.0]),
        ..Launch::level(50.0, 0.0)
    };
    let mut throw = floating(lopsided_twin().inertia, motors, launch);
    throw.pilot = steady_pilot(0.4, 0.8, &[]);
    let flight = throw.fly().unwrap();
    let start = momentum(&flight, 0.0);
    let rotor = flight.state_at(2.0).rotors;
    assert!(
        rotor[0] > 2000.0 && rotor[1] < 3900.0,
        "the rotors change speed: {rotor:?}"
    );
    for i in 0..=100 {
        let now = momentum(&flight, 0.02 * f64::from(i));
        assert!((now - start).norm() < 1e-9 * start.norm(), "{now} {start}");
    }
}

// From rest a motor starting at the nose turns the body the other way: I_x p = −s J Ω to the last, left wing down for
// a clockwise propeller.
#[test]
fn a_starting_rotor_turns_the_body_back() {
    for spin in [1.0, -1.0] {
        let launch = Launch {
            rotor_speeds_rad_s: Some(vec![0.0]),
            ..Launch::level(50.0, 0.0)
        };
        let mut throw = floating(
            symmetric(),
            vec![flywheel(Vector3::x(), spin, 0.02)],
            launch,
        );
        throw.pilot.throttle.at_release = 0.6;
        let flight = throw.fly().unwrap();
        for i in 1..=20 {
            let state = flight.state_at(0.1 * f64::from(i));
            let expected = -spin * ROTOR_INERTIA * state.rotors[0] / 1e-4;
            assert!(
                (state.rates.x / expected - 1.0).abs() < 1e-9,
                "{}",
                state.rates.x
            );
            assert!(state.rates.x * spin < 0.0);
        }
    }
}

// Two equal rotors turning against one another leave nothing: no gyroscopic moment, no reaction.
#[test]
fn rotors_against_one_another_cancel() {
    let launch = Launch {
        rates_rad_s: Vector3::new(0.0, 0.8, 0.0),
        rotor_speeds_rad_s: Some(vec![1500.0, 1500.0]),
        ..Launch::level(50.0, 0.0)
    };
    let motors = [1.0, -1.0]
        .map(|spin| flywheel(Vector3::x(), spin, 0.02))
        .to_vec();
    let mut throw = floating(symmetric(), motors, launch);
    throw.pilot = steady_pilot(0.5, 0.0, &[]);
    let flight = throw.fly().unwrap();
    for i in 0..=20 {
        assert_eq!(
            flight.state_at(0.1 * f64::from(i)).rates,
            Vector3::new(0.0, 0.8, 0.0)
        );
    }
}
