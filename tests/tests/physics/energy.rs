//! Energy: kinetic and potential energy change by the work of the air's forces and of nothing else.

use nalgebra::Vector3;
use sim_core::flight::Flight;
use sim_core::forces::{Evaluation, evaluate};
use sim_core::launch::Launch;
use sim_core::state::State;
use sim_core::vehicle::Vehicle;
use sim_core::wrench::Wrench;
use tossline_tests::known::aircraft::{
    DENSITY_KG_M3, glider, stalling_glider, steady_air, steady_pilot, throw, tight, twin,
};
use tossline_tests::known::carried_air::lopsided;
use tossline_tests::known::random::Random;

use crate::scatter;

/// ½mv² + ½ω·Iω + mgh, uniform gravity.
fn energy(vehicle: &Vehicle<f64>, state: &State<f64>) -> f64 {
    0.5 * vehicle.mass * state.velocity.norm_squared()
        + 0.5 * state.rates.dot(&(vehicle.inertia * state.rates))
        + vehicle.mass * 9.80665 * state.height()
}

/// F·v + M·ω.
fn power(wrench: &Wrench<f64>, state: &State<f64>) -> f64 {
    wrench.force.dot(&state.velocity) + wrench.moment.dot(&state.rates)
}

/// Power of everything but weight; −ω×H has none.
fn power_of_forces(forces: &Evaluation<f64>, state: &State<f64>) -> f64 {
    let f = &forces.forces;
    [
        f.attached,
        f.ground_effect,
        f.alpha_rate,
        f.apparent_mass,
        f.plates,
        f.damping,
        f.motors[0],
        f.motors[1],
        f.spin_up,
    ]
    .iter()
    .map(|wrench| power(wrench, state))
    .sum()
}

// d/dt(½mv² + ½ω·Iω + mgh) from the state's rates alone equals Σ(F·v + M·ω), at any state: stalled, gusty, powered.
#[test]
fn the_rate_of_energy_is_the_power_of_the_forces() {
    let (mut vehicle, mut random) = (twin(), Random::new(3));
    for round in 0..2000 {
        vehicle.apparent_mass = (round % 2 == 0).then(|| lopsided(&mut random));
        let (state, air, segment) = (
            scatter::state(&mut random),
            scatter::air(&mut random),
            scatter::segment(&mut random),
        );
        let all = evaluate(&vehicle, &air, &segment, 0.3, &state);
        let rate = vehicle.mass * state.velocity.dot(&all.rate.velocity)
            + state.rates.dot(&(vehicle.inertia * all.rate.rates))
            - vehicle.mass * 9.80665 * all.rate.position.z;
        let power = power_of_forces(&all, &state);
        let scale = all.forces.total().force.norm() * state.velocity.norm() + power.abs();
        assert!(
            (rate - power).abs() < 1e-12 * scale.max(1.0),
            "{rate} {power}"
        );
        assert!(power_of_gyroscopic(&all, &state).abs() < 1e-15);
    }
}

fn power_of_gyroscopic(all: &Evaluation<f64>, state: &State<f64>) -> f64 {
    power(&all.forces.gyroscopic, state)
}

/// Work of all forces but weight over a flight: Simpson's rule over each of the solver's looks.
fn work(flight: &Flight) -> f64 {
    let at = |t: f64| {
        let (state, all) = flight.evaluation_at(t);
        power_of_forces(&all, &state)
    };
    flight
        .look_times_s()
        .windows(2)
        .map(|w| (w[1] - w[0]) / 6.0 * (at(w[0]) + 4.0 * at(0.5 * (w[0] + w[1])) + at(w[1])))
        .sum()
}

// Over a whole flight, gliding, and stalled and tumbling, the energy at the end is that at release plus the work in
// between.
#[test]
fn over_a_flight_energy_changes_by_the_work_done() {
    let mut tumbling = Launch::level(30.0, 9.0);
    tumbling.path_angle_rad = 0.9;
    tumbling.rates_rad_s = Vector3::new(2.0, 9.0, -1.0);
    for (vehicle, launch) in [
        (glider(), Launch::level(30.0, 7.0)),
        (stalling_glider(), tumbling),
    ] {
        let mut throw = throw(vehicle, steady_air(), launch, 2.5);
        throw.tolerance = tight();
        let flight = throw.fly().unwrap();
        assert_eq!(flight.end_time_s, 2.5);
        let vehicle = &flight.throw().vehicle;
        let change =
            energy(vehicle, &flight.state_at(2.5)) - energy(vehicle, &flight.state_at(0.0));
        let work = work(&flight);
        assert!(change < -0.05, "the air takes energy: {change}");
        assert!((change / work - 1.0).abs() < 1e-9, "{change} {work}");
    }
}

// In plane flight without rotation the only work is drag's: dE/dt = −½ρV³S C_D, C_D from the polar by hand; lift does
// none.
#[test]
fn in_straight_flight_only_drag_takes_energy() {
    let mut vehicle = glider();
    vehicle.coefficients.lift_alpha_rate = 0.0;
    vehicle.coefficients.pitch_alpha_rate = 0.0;
    for degrees in [-6.0, -1.0, 0.0, 4.0, 9.0] {
        let alpha = f64::to_radians(degrees);
        let mut state = throw(vehicle.clone(), steady_air(), Launch::level(20.0, 8.0), 1.0)
            .fly()
            .unwrap()
            .state_at(0.0);
        state.velocity = Vector3::new(8.0 * alpha.cos(), 0.0, 8.0 * alpha.sin());
        let segment = sim_core::segment::Segment::steady(&[], &[]);
        let all = evaluate(&vehicle, &steady_air(), &segment, 0.0, &state);
        let lift = 0.05 + 3.8 * alpha;
        let drag = 0.03 + 0.12 * (lift - 0.05) * (lift - 0.05);
        let expected = -0.5 * DENSITY_KG_M3 * 8.0_f64.powi(3) * 0.06 * drag;
        assert!((power_of_forces(&all, &state) / expected - 1.0).abs() < 1e-13);
    }
}

// The cell's energy: charge drawn is the integral of the current, and what the motors get is never more than the cell
// gives, U·I ≥ Σ k I_i Ω_i.
#[test]
fn the_cell_gives_at_least_what_the_shafts_get() {
    let mut throw = throw(twin(), steady_air(), Launch::level(20.0, 7.0), 3.0);
    throw.pilot = steady_pilot(0.7, 0.2, &[0.0, 0.0]);
    let flight = throw.fly().unwrap();
    for i in 0..=30 {
        let (state, all) = flight.evaluation_at(0.1 * f64::from(i).min(flight.end_time_s * 10.0));
        let vehicle = &flight.throw().vehicle;
        let shaft: f64 = (0..2)
            .map(|i| vehicle.motors[i].constant * all.motors[i].current * state.rotors[i])
            .sum();
        let electric = all.cell_voltage * all.rate.charge;
        assert!(shaft > 0.0 && electric > shaft, "{electric} {shaft}");
    }
    let times: Vec<f64> = flight.look_times_s();
    let drawn: f64 = times
        .windows(2)
        .map(|w| {
            let current = |t: f64| flight.evaluation_at(t).1.rate.charge;
            (w[1] - w[0]) / 6.0
                * (current(w[0]) + 4.0 * current(0.5 * (w[0] + w[1])) + current(w[1]))
        })
        .sum();
    let end = flight.state_at(flight.end_time_s).charge;
    assert!((drawn / end - 1.0).abs() < 1e-10, "{drawn} {end}");
}
