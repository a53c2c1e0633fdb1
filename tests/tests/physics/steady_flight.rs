//! Steady flight found by the trim functions: the textbook's balances by hand, and a flight that keeps it.

use nalgebra::Vector3;
use sim_core::air::Air;
use sim_core::error::TrimError;
use sim_core::flight::Flight;
use sim_core::frames::{EulerAngles, rotation};
use sim_core::launch::Launch;
use sim_core::modes::linearise;
use sim_core::segment::Segment;
use sim_core::trim::{SteadyFlight, TrimConditions, Trimmer};
use sim_core::vehicle::Vehicle;
use tossline_tests::known::aircraft::{
    DENSITY_KG_M3, never_stalls, steady_air, steady_pilot, throw, tight, twin,
};
use tossline_tests::known::linearise::DualModel;
use tossline_tests::known::power::ideal_cell;
use tossline_tests::known::steady_glide::{Glide, trimmed_glider};

const WEIGHT_N: f64 = 0.045 * 9.80665;

/// The twin without stall on a cell that does not sag, motors thrusting straight ahead in toe.
fn vehicle() -> Vehicle<f64> {
    let mut vehicle = Vehicle {
        post_stall: never_stalls(),
        cell: ideal_cell(3.9),
        ..twin()
    };
    for (motor, side) in vehicle.motors.iter_mut().zip([-1.0, 1.0]) {
        motor.axis = sim_core::power::motor::thrust_axis(0.03, 0.0, side);
    }
    vehicle
}

fn conditions(height_m: f64) -> TrimConditions {
    TrimConditions {
        tabs_rad: vec![0.0, 0.0],
        steering_shares: vec![0.5, -0.5],
        height_m,
        charge_fraction: 1.0,
    }
}

/// Lift and drag by the table at an incidence, N, by hand.
fn lift_and_drag(alpha: f64, speed: f64) -> (f64, f64) {
    let lift = 0.05 + 3.8 * alpha;
    let drag = 0.03 + 0.12 * (lift - 0.05) * (lift - 0.05);
    let pressure = 0.5 * DENSITY_KG_M3 * speed * speed * 0.06;
    (pressure * lift, pressure * drag)
}

// Level flight: T cos(α + e) = D and L + T sin(α + e) = W, and the moments of thrust, lift and drag about the balance
// point with C_m balance, to 1e-9 of the weight (any textbook). T is the propellers', e = 0.03 rad, the table's point
// 10 mm ahead of and 4 mm below the balance point.
#[test]
fn level_flight_balances_thrust_drag_lift_and_weight() {
    let (vehicle, air) = (vehicle(), steady_air());
    let trimmer = Trimmer::new(&vehicle, &air, conditions(20.0));
    let level = trimmer.level().unwrap();
    let thrust: f64 = trimmer
        .evaluation(&level)
        .motors
        .iter()
        .map(|m| m.thrust)
        .sum();
    let (alpha, speed) = (level.alpha_rad, level.airspeed_m_s);
    let (lift, drag) = lift_and_drag(alpha, speed);
    assert!(thrust > 0.02, "{thrust}");
    assert!((thrust * (alpha + 0.03).cos() - drag).abs() < 1e-9 * WEIGHT_N);
    assert!((lift + thrust * (alpha + 0.03).sin() - WEIGHT_N).abs() < 1e-9 * WEIGHT_N);
    let (fx, fz) = (
        lift * alpha.sin() - drag * alpha.cos(),
        -drag * alpha.sin() - lift * alpha.cos(),
    );
    let pressure = 0.5 * DENSITY_KG_M3 * speed * speed * 0.06;
    let own = pressure * 0.12 * (0.04 - 0.5 * alpha);
    // (r × F)_y = z F_x − x F_z.
    let at_table = 0.004 * fx - 0.01 * fz;
    let at_motors = -0.02 * thrust * 0.03_f64.cos() + 0.12 * -thrust * 0.03_f64.sin();
    assert!((own + at_table + at_motors).abs() < 1e-9 * WEIGHT_N * 0.12);
    assert!(
        level.climb_m_s.abs() < 1e-9
            && level.bank_rad.abs() < 1e-9
            && level.turn_rate_rad_s.abs() < 1e-9
    );
    assert!((0.0..1.0).contains(&level.throttle_fraction));
    assert!(
        (level.pitch_rad - alpha).abs() < 1e-9,
        "level: pitch is incidence"
    );
}

// The glide by the trimmer is the glide by hand.
#[test]
fn the_glide_is_that_of_the_table() {
    let (throw, by_hand) = trimmed_glider(30.0, 1.0);
    let trimmer = Trimmer::new(
        &throw.vehicle,
        &throw.air,
        TrimConditions {
            tabs_rad: vec![],
            steering_shares: vec![],
            ..conditions(30.0)
        },
    );
    let found = trimmer.glide().unwrap();
    let Glide {
        alpha_rad,
        airspeed_m_s,
        path_angle_rad,
        lift,
        drag,
    } = by_hand;
    assert!((found.alpha_rad - alpha_rad).abs() < 1e-9);
    assert!((found.airspeed_m_s - airspeed_m_s).abs() < 1e-8);
    assert!((found.path_angle_rad - path_angle_rad).abs() < 1e-9);
    assert!((found.glide_ratio().unwrap() / (lift / drag) - 1.0).abs() < 1e-9);
    assert_eq!(trimmer.level().unwrap_err(), TrimError::NoMotor);
}

/// A throw that releases into a steady flight.
fn fly(steady: &SteadyFlight, vehicle: &Vehicle<f64>, air: &Air<f64>, seconds: f64) -> Flight {
    let state = &steady.state;
    let to_earth = rotation(&state.attitude);
    let velocity = to_earth * state.velocity;
    let (path, heading) = (
        (-velocity.z / velocity.norm()).asin(),
        velocity.y.atan2(velocity.x),
    );
    let from_path = nalgebra::Rotation3::from_euler_angles(0.0, path, heading)
        .matrix()
        .transpose();
    let body = EulerAngles::of(&(from_path * to_earth));
    let launch = Launch {
        path_angle_rad: path,
        heading_rad: heading,
        nose_above_path_rad: body.pitch_rad,
        nose_right_of_path_rad: body.yaw_rad,
        bank_rad: body.roll_rad,
        rates_rad_s: state.rates,
        rotor_speeds_rad_s: Some(state.rotors[..vehicle.motors.len()].to_vec()),
        ..Launch::level(state.height(), velocity.norm())
    };
    let mut throw = throw(vehicle.clone(), air.clone(), launch, seconds);
    throw.pilot = steady_pilot(
        steady.throttle_fraction,
        steady.left_minus_right_fraction,
        &[0.0, 0.0],
    );
    throw.tolerance = tight();
    throw.fly().unwrap()
}

// Flown, level flight stays level, and power at a throttle climbs straight at the angle found.
#[test]
fn trimmed_power_flies_as_found() {
    let (vehicle, air) = (vehicle(), steady_air());
    let trimmer = Trimmer::new(&vehicle, &air, conditions(60.0));
    let level = trimmer.level().unwrap();
    let climb = trimmer
        .power((level.throttle_fraction + 0.1).min(1.0))
        .unwrap();
    assert!(climb.path_angle_rad > 0.01);
    for steady in [level, climb] {
        let flight = fly(&steady, &vehicle, &air, 3.0);
        for i in 0..=30 {
            let t = 0.1 * f64::from(i);
            let state = flight.state_at(t);
            assert!(
                (state.height() - 60.0 - steady.climb_m_s * t).abs() < 1e-9,
                "{t} s"
            );
            assert!(
                state.position.y.abs() < 1e-9
                    && (state.velocity.norm() - steady.airspeed_m_s).abs() < 1e-9
            );
        }
    }
}

// A steady turn describes a helix: circle of the radius found, height per turn found, the period 2π/ψ̇. And tan φ is
// near V ψ̇/g, less what side force and climb make of it.
#[test]
fn a_steady_turn_is_a_helix_of_the_radius_found() {
    let (mut vehicle, air) = (vehicle(), steady_air());
    // Enough dihedral that turns are stable: with less, a small difference turns it the wrong way or not at all.
    vehicle.coefficients.roll_beta = -0.12;
    let trimmer = Trimmer::new(&vehicle, &air, conditions(60.0));
    let throttle = trimmer.level().unwrap().throttle_fraction;
    let turn = trimmer.turn(throttle, 0.02).unwrap();
    assert!(
        turn.turn_rate_rad_s > 0.05,
        "more left turns right: {turn:?}"
    );
    let (radius, rate) = (turn.turn_radius_m().unwrap(), turn.turn_rate_rad_s);
    let period = std::f64::consts::TAU / rate;
    let flight = fly(&turn, &vehicle, &air, period);
    assert_eq!(flight.end_time_s, period);
    // The centre lies square to the path, to the right, at the radius.
    let start = flight.state_at(0.0);
    let velocity = rotation(&start.attitude) * start.velocity;
    let centre = start.position + Vector3::new(-velocity.y, velocity.x, 0.0).normalize() * radius;
    for i in 0..=40 {
        let state = flight.state_at(period * f64::from(i) / 40.0);
        let from = state.position - centre;
        assert!(
            (from.x.hypot(from.y) / radius - 1.0).abs() < 1e-5,
            "{i}: {from} {radius}"
        );
    }
    let end = flight.state_at(period);
    let change = turn.height_change_per_turn_m().unwrap();
    assert!(
        (end.height() - start.height() - change).abs() < 1e-4,
        "{change}"
    );
    assert!((end.position.xy() - start.position.xy()).norm() < 1e-9);
    // Balance across, by hand from the state and the table: m (r u − p w) = m g sin φ cos θ + Y.
    let (v, w) = (turn.state.velocity, turn.state.rates);
    let linear = 0.25 * DENSITY_KG_M3 * trimmer.evaluation(&turn).flow.airspeed * 0.06;
    let side = linear
        * (2.0 * trimmer.evaluation(&turn).flow.airspeed * -0.35 * turn.beta_rad
            + 0.5 * (0.02 * w.x + 0.15 * w.z));
    let inward = 0.045 * (w.z * v.x - w.x * v.z);
    let weight = WEIGHT_N * turn.bank_rad.sin() * turn.pitch_rad.cos();
    assert!((inward - weight - side).abs() < 1e-9 * WEIGHT_N);
    let coordinated = (turn.airspeed_m_s * rate / 9.80665).atan();
    assert!(
        (turn.bank_rad / coordinated - 1.0).abs() < 0.1,
        "{} {coordinated}",
        turn.bank_rad
    );
}

// What the library linearises is what dual numbers in textbook variables give (states reordered: u v w p q r θ φ
// against u v w p q r φ θ), about a glide.
#[test]
fn the_librarys_linearisation_is_the_textbooks() {
    let (throw, glide) = trimmed_glider(30.0, 1.0);
    let segment = Segment::steady(&[], &[]);
    let state = throw.fly().unwrap().state_at(0.0);
    let library = linearise(&throw.vehicle, &throw.air, &segment, &state).matrix;
    let ours = DualModel::of(&throw.vehicle, &throw.air, &segment).small_motions(
        &state.velocity,
        glide.alpha_rad + glide.path_angle_rad,
        30.0,
        [0.0; 2],
    );
    let order = [0, 1, 2, 3, 4, 5, 7, 6];
    for i in 0..8 {
        for j in 0..8 {
            let (a, b) = (library[(i, j)], ours[(order[i], order[j])]);
            assert!(
                (a - b).abs() < 1e-11 * library.row(i).amax().max(1.0),
                "{i} {j}: {a} {b}"
            );
        }
    }
}

// A mode is how a small disturbance fades: flown from a trimmed glide with a tiny push, the phugoid's and the short
// period's natural decay are seen in the flight. The spectrum of the flight is that of the matrix: exp(A t) x0
// against the flight, to second order in the push.
#[test]
fn a_small_disturbance_flies_as_the_matrix_says() {
    let (mut throw, glide) = trimmed_glider(30.0, 1.0);
    throw.tolerance = tight();
    throw.time_limit_s = 3.0;
    let segment = Segment::steady(&[], &[]);
    let calm = throw.fly().unwrap();
    let matrix = DualModel::of(&throw.vehicle, &throw.air, &segment).small_motions(
        &calm.state_at(0.0).velocity,
        glide.alpha_rad + glide.path_angle_rad,
        30.0,
        [0.0; 2],
    );
    let push = 1e-5;
    throw.launch.rates_rad_s = Vector3::new(0.3, 1.0, -0.2) * push;
    throw.launch.speed_m_s *= 1.0 + push;
    let pushed = throw.fly().unwrap();
    let vector = |flight: &Flight, t: f64| {
        let state = flight.state_at(t);
        let angles = EulerAngles::of(&rotation(&state.attitude));
        let (v, w) = (state.velocity, state.rates);
        nalgebra::SVector::<f64, 8>::from([
            v.x,
            v.y,
            v.z,
            w.x,
            w.y,
            w.z,
            angles.roll_rad,
            angles.pitch_rad,
        ])
    };
    let start = vector(&pushed, 0.0) - vector(&calm, 0.0);
    for t in [0.1, 0.5, 1.0, 2.0, 3.0] {
        let predicted = (matrix * t).exp() * start;
        let flown = vector(&pushed, t) - vector(&calm, t);
        assert!(
            (predicted - flown).norm() < 1e-5 * start.norm(),
            "{t} s: {predicted} {flown}"
        );
    }
}
