//! The air an airframe carries takes energy only to keep it: F·U + M·ϖ = −d/dt(½ν_rᵀM_Aν_r), and adds to mass and inertia.

use nalgebra::{DMatrix, Matrix6, Vector3, Vector6};
use sim_core::aero::apparent_mass::ApparentMass;
use sim_core::aero::coefficients::Coefficients;
use sim_core::air::gust::Gust;
use sim_core::air::{Air, wind_from};
use sim_core::flight::{Flight, Throw};
use sim_core::forces::{Evaluation, evaluate};
use sim_core::launch::Launch;
use sim_core::modes::linearise;
use sim_core::segment::Segment;
use sim_core::state::State;
use sim_core::trim::{TrimConditions, Trimmer};
use sim_core::vehicle::Vehicle;
use std::f64::consts::{PI, TAU};
use tossline_tests::known::aircraft::{
    DENSITY_KG_M3, body, steady_air, steady_pilot, throw, tight, twin, weightless_air,
};
use tossline_tests::known::carried_air::{
    MASS_KG, NORMAL_FACTOR, SIDES_M, carried_kg, lopsided, of_rectangle, plate,
};
use tossline_tests::known::random::Random;
use tossline_tests::known::spinning_plate;

use crate::scatter;

/// The twin with lopsided air, powered, rolling and slipping.
fn lively(air: Air<f64>) -> Throw {
    let mut vehicle = twin();
    vehicle.apparent_mass = Some(lopsided(&mut Random::new(41)));
    let launch = Launch {
        nose_above_path_rad: 0.1,
        bank_rad: 0.2,
        rates_rad_s: Vector3::new(0.5, 1.0, -0.4),
        ..Launch::level(30.0, 6.0)
    };
    let mut throw = throw(vehicle, air, launch, 1.0);
    throw.pilot = steady_pilot(0.4, 0.1, &[0.02, 0.0]);
    throw.tolerance = tight();
    throw
}

/// Wind, a gust in place along a slant and one in time that overlap.
fn gusty_air() -> Air<f64> {
    let mut air = steady_air();
    air.mean_wind = wind_from(1.5, 0.8, 0.0);
    air.gusts = vec![
        Gust::in_place(Vector3::new(0.5, 0.9, -1.2), 0.7, -2.0, 12.0),
        Gust::in_time(Vector3::new(0.0, 0.9, 0.3), -0.1, 3.0),
    ];
    air
}

/// Velocity of the balance point and rates, both relative to the air.
fn relative(throw: &Throw, state: &State<f64>, all: &Evaluation<f64>) -> Vector6<f64> {
    let reference = &throw.vehicle.coefficients.reference;
    let velocity = all.flow.velocity - state.rates.cross(reference);
    let rates = all.flow.rates;
    Vector6::new(
        velocity.x, velocity.y, velocity.z, rates.x, rates.y, rates.z,
    )
}

/// ½ν_rᵀM_Aν_r, J.
fn energy_of_air(flight: &Flight, time_s: f64) -> f64 {
    let (state, all) = flight.evaluation_at(time_s);
    let matrix = flight
        .throw()
        .vehicle
        .apparent_mass
        .clone()
        .unwrap()
        .per_density;
    let relative = relative(flight.throw(), &state, &all);
    0.5 * DENSITY_KG_M3 * relative.dot(&(matrix * relative))
}

// The definition (design: "its power is exactly −d/dt(½νᵀM_Aν)"), with the rate by central differences along the flight.
#[test]
fn its_power_is_minus_the_rate_of_the_airs_energy() {
    for air in [steady_air(), gusty_air()] {
        let flight = lively(air).fly().unwrap();
        let h = 1e-4;
        let mut largest: f64 = 0.0;
        for i in 1..95 {
            let t = 0.01 * f64::from(i);
            let rate = (energy_of_air(&flight, t + h) - energy_of_air(&flight, t - h)) / (2.0 * h);
            let (state, all) = flight.evaluation_at(t);
            let relative = relative(flight.throw(), &state, &all);
            let wrench = all.forces.apparent_mass;
            let power = wrench.force.dot(&relative.fixed_rows::<3>(0).into_owned())
                + wrench.moment.dot(&relative.fixed_rows::<3>(3).into_owned());
            assert!((power + rate).abs() < 2e-7, "{t} s: {power} {rate}");
            largest = largest.max(power.abs());
        }
        assert!(largest > 0.05, "there is something to see: {largest}");
    }
}

// A free plate of mass m in air that heaves as W(t): (m + M) ẇ = M Ẇ, so w = M/(m + M) W. M by the handbook's k.
#[test]
fn heaving_air_takes_a_plate_along_by_its_share() {
    let mut air = weightless_air();
    air.gusts = vec![Gust::in_time(Vector3::new(0.0, 0.0, -2.0), 0.0, 1.0)];
    let mut throw = throw(plate(), air, Launch::level(20.0, 0.0), 1.0);
    throw.tolerance = tight();
    let flight = throw.fly().unwrap();
    let share = carried_kg() / (MASS_KG + carried_kg());
    assert!((0.4..0.6).contains(&share), "{share}");
    for i in 1..10 {
        let t = 0.1 * f64::from(i);
        let wind = -2.0 * 0.5 * (1.0 - (TAU * t).cos());
        let down = flight.state_at(t).velocity.z;
        assert!((down / (share * wind) - 1.0).abs() < 1e-8, "{t} s: {down}");
    }
}

/// Period (s) of a plate heaving on a spring (N/m) that pulls it back to a height of 10 m, by Runge and Kutta with gravity as the spring.
fn period_on_a_spring(vehicle: &Vehicle<f64>, spring_n_m: f64) -> f64 {
    let mut air = weightless_air();
    let segment = Segment::steady(&[], &[]);
    let mut rate = |row: &[f64; 16]| {
        let state = State::from_array(row);
        air.gravity.surface_m_s2 = -spring_n_m / vehicle.mass * (state.position.z + 10.0);
        evaluate(vehicle, &air, &segment, 0.0, &state)
            .rate
            .to_array()
    };
    let mut row = throw(
        vehicle.clone(),
        weightless_air(),
        Launch::level(10.05, 0.0),
        1.0,
    )
    .release_state()
    .unwrap()
    .to_array();
    let along = |row: &[f64; 16], rate: &[f64; 16], h: f64| {
        std::array::from_fn::<f64, 16, _>(|i| row[i] + h * rate[i])
    };
    let (h, mut time, mut crossings) = (1e-4, 0.0, Vec::new());
    while crossings.len() < 3 {
        let a = rate(&row);
        let b = rate(&along(&row, &a, h / 2.0));
        let c = rate(&along(&row, &b, h / 2.0));
        let d = rate(&along(&row, &c, h));
        let next: [f64; 16] =
            std::array::from_fn(|i| row[i] + h / 6.0 * (a[i] + 2.0 * b[i] + 2.0 * c[i] + d[i]));
        let (before, after) = (row[2] + 10.0, next[2] + 10.0);
        if before * after < 0.0 {
            crossings.push(time + h * before / (before - after));
        }
        (row, time) = (next, time + h);
        assert!(time < 10.0);
    }
    crossings[2] - crossings[0]
}

// A mass on a spring swings with T = 2π√((m + M)/K); M = k(π/4)ρc²b with the handbook's k = 0.757 (DNV-RP-C205, aspect ratio 2, from memory).
#[test]
fn a_plate_on_a_spring_swings_with_its_own_mass_and_the_airs() {
    let spring = 2.0;
    let expected = TAU * ((MASS_KG + carried_kg()) / spring).sqrt();
    let found = period_on_a_spring(&plate(), spring);
    assert!((found / expected - 1.0).abs() < 1e-7, "{found} {expected}");
    let bare = Vehicle {
        apparent_mass: None,
        ..plate()
    };
    let dry = period_on_a_spring(&bare, spring);
    assert!((dry / (TAU * (MASS_KG / spring).sqrt()) - 1.0).abs() < 1e-7);
    assert!(found > 1.3 * dry, "it is no small thing: {found} {dry}");
}

/// A plate flying along x at no lift, without drag or weight, disturbed in heave: the flow's response to small motions alone.
fn heaving(vehicle: Vehicle<f64>, disturbance_rad: f64) -> Flight {
    let launch = Launch {
        nose_above_path_rad: disturbance_rad,
        ..Launch::level(20.0, 6.0)
    };
    let mut throw = throw(vehicle, weightless_air(), launch, 1.0);
    throw.tolerance = tight();
    throw.fly().unwrap()
}

fn flying_plate() -> Vehicle<f64> {
    let [span, chord] = SIDES_M;
    let table = Coefficients {
        lift_alpha: 2.5,
        pitch_alpha: -0.5,
        pitch_q: -1.5,
        ..Coefficients::none(span * chord, span, chord)
    };
    body(MASS_KG, plate().inertia, table)
}

fn apart(a: &Flight, b: &Flight) -> f64 {
    (0..=50)
        .map(|i| {
            let t = 0.02 * f64::from(i);
            let (a, b) = (a.state_at(t), b.state_at(t));
            (a.velocity - b.velocity).norm() + SIDES_M[1] * (a.rates - b.rates).norm()
        })
        .fold(0.0, f64::max)
}

// A plate's C_Lα̇ = πk: 4M/(ρSc̄) with M = k(π/4)ρc²b. Heave alone, so that nothing but the normal force is compared. The two differ where the
// lift turns with the incidence and the apparent mass with the body: of second order.
#[test]
fn in_heave_it_is_the_equal_alpha_rate_coefficient_at_small_angles() {
    let with_air = || {
        let mut only_heave = Matrix6::zeros();
        only_heave[(2, 2)] = plate().apparent_mass.unwrap().per_density[(2, 2)];
        let mut vehicle = flying_plate();
        vehicle.apparent_mass = Some(ApparentMass {
            per_density: only_heave,
        });
        vehicle
    };
    let with_rate = || {
        let mut vehicle = flying_plate();
        vehicle.coefficients.lift_alpha_rate = PI * NORMAL_FACTOR;
        vehicle
    };
    let compared = [0.04, 0.02, 0.01].map(|angle| {
        let air = heaving(with_air(), angle);
        let rate = heaving(with_rate(), angle);
        let none = heaving(flying_plate(), angle);
        (apart(&air, &rate), apart(&air, &none))
    });
    for pair in compared.windows(2) {
        let ratio = pair[0].0 / pair[1].0;
        assert!(ratio > 3.5, "second order: {compared:?}");
    }
    for ((between, effect), angle) in compared.into_iter().zip([0.04, 0.02, 0.01]) {
        assert!(between < 1.5 * angle * effect, "{compared:?}");
    }
}

// Gone as density goes to zero: what is left of the difference is in proportion to the density.
#[test]
fn it_goes_with_the_density() {
    let mut random = Random::new(43);
    let mut vehicle = twin();
    vehicle.motors.clear();
    vehicle.apparent_mass = Some(lopsided(&mut random));
    let bare = Vehicle {
        apparent_mass: None,
        ..vehicle.clone()
    };
    let (state, segment) = (scatter::state(&mut random), scatter::segment(&mut random));
    let departs = |density: f64| {
        let mut air = gusty_air();
        air.atmosphere = sim_core::air::atmosphere::Atmosphere::constant_density(density);
        let rates = |vehicle| evaluate(vehicle, &air, &segment, 0.3, &state).rate;
        let (with, without) = (rates(&vehicle), rates(&bare));
        (with.velocity - without.velocity).norm() + (with.rates - without.rates).norm()
    };
    let (thin, thinner) = (departs(1e-4), departs(1e-6));
    assert!(
        (thin / thinner / 100.0 - 1.0).abs() < 0.02,
        "{thin} {thinner}"
    );
    assert!(departs(1.2) > 0.1 && departs(1e-12) < 1e-8);
}

// Off is off: no force, and the accelerations of the body alone.
#[test]
fn without_it_there_is_no_such_force() {
    let mut throw = lively(gusty_air());
    throw.vehicle.apparent_mass = None;
    let flight = throw.fly().unwrap();
    for i in 0..10 {
        let wrench = flight
            .evaluation_at(0.1 * f64::from(i))
            .1
            .forces
            .apparent_mass;
        assert_eq!(wrench.force.norm() + wrench.moment.norm(), 0.0);
    }
}

// Newton and Euler with everything: m(v̇ + ω×v) = F, Iω̇ + ω×Iω = M with the apparent mass among the forces.
#[test]
fn accelerations_are_those_of_all_forces_together() {
    let mut random = Random::new(44);
    for _ in 0..500 {
        let mut vehicle = twin();
        vehicle.apparent_mass = Some(lopsided(&mut random));
        let (state, air, segment) = (
            scatter::state(&mut random),
            scatter::air(&mut random),
            scatter::segment(&mut random),
        );
        let all = evaluate(&vehicle, &air, &segment, 0.3, &state);
        let total = all.forces.total();
        let force = (all.rate.velocity + state.rates.cross(&state.velocity)) * vehicle.mass;
        let moment =
            vehicle.inertia * all.rate.rates + state.rates.cross(&(vehicle.inertia * state.rates));
        let sizes = all.forces.attached.force.norm() + all.forces.plates.force.norm();
        assert!(
            (force - total.force).norm() < 1e-10 * (1.0 + sizes),
            "{force} {}",
            total.force
        );
        assert!((moment - total.moment).norm() < 1e-11 * (1.0 + sizes));
    }
}

fn conditions() -> TrimConditions {
    TrimConditions {
        tabs_rad: vec![0.0, 0.0],
        steering_shares: vec![0.5, -0.5],
        height_m: 20.0,
        charge_fraction: 1.0,
    }
}

// Steady flight has no accelerations in body components, turning or not: it is the same, and the force is nothing. Small motions about it
// are those of the heavier body: (M + M_A) J = M J_without (any textbook's mass matrix), both by exact derivatives.
#[test]
fn steady_flight_does_not_feel_it_and_modes_do() {
    let mut without = twin();
    without.coefficients.lift_alpha_rate = 0.0;
    without.coefficients.pitch_alpha_rate = 0.0;
    let apparent = lopsided(&mut Random::new(45));
    let mut with = without.clone();
    with.apparent_mass = Some(apparent.clone());
    let air = steady_air();
    let (heavy, light) = (
        Trimmer::new(&with, &air, conditions()),
        Trimmer::new(&without, &air, conditions()),
    );
    for (difference, throttle) in [(0.0, 0.4), (0.05, 0.4)] {
        let (a, b) = (
            heavy.turn(throttle, difference).unwrap(),
            light.turn(throttle, difference).unwrap(),
        );
        let wrench = heavy.evaluation(&a).forces.apparent_mass;
        assert!(wrench.force.norm() < 1e-10 && wrench.moment.norm() < 1e-10);
        for (x, y) in a.state.to_array().iter().zip(b.state.to_array()) {
            assert!((x - y).abs() < 1e-7 * y.abs().max(1.0), "{x} {y}");
        }
        assert!(difference == 0.0 || a.turn_rate_rad_s.abs() > 0.05);
        let mut own = DMatrix::zeros(6, 6);
        for i in 0..3 {
            own[(i, i)] = without.mass;
            for j in 0..3 {
                own[(3 + i, 3 + j)] = without.inertia[(i, j)];
            }
        }
        let whole =
            &own + DMatrix::from_fn(6, 6, |i, j| DENSITY_KG_M3 * apparent.per_density[(i, j)]);
        let rows = |vehicle: &Vehicle<f64>| {
            let matrix = linearise(vehicle, heavy.air(), &b.segment, &b.state).matrix;
            matrix.rows(0, 6).into_owned()
        };
        let (left, right) = (whole * rows(&with), own * rows(&without));
        assert!(
            (&left - &right).amax() < 1e-9 * right.amax(),
            "{left} {right}"
        );
        assert!((rows(&with) - rows(&without)).amax() > 1.0);
    }
}

// A plate with the air it carries, tumbling in still air: the energy of both together only falls, and most of the tumbling is gone.
#[test]
fn a_tumbling_plate_still_comes_to_rest() {
    for rates in [
        Vector3::new(10.0, 20.0, 5.0),
        Vector3::new(-15.0, 2.0, -20.0),
    ] {
        let mut vehicle = spinning_plate::plate();
        vehicle.apparent_mass = Some(of_rectangle(
            spinning_plate::SIDES_M,
            spinning_plate::SIDES_M[1] / 2.0,
        ));
        let launch = Launch {
            rates_rad_s: rates,
            ..Launch::level(200.0, 3.0)
        };
        let flight = throw(vehicle, weightless_air(), launch, 10.0)
            .fly()
            .unwrap();
        let energy = |t: f64| {
            let (state, vehicle) = (flight.state_at(t), &flight.throw().vehicle);
            0.5 * vehicle.mass * state.velocity.norm_squared()
                + 0.5 * state.rates.dot(&(vehicle.inertia * state.rates))
                + energy_of_air(&flight, t)
        };
        let mut last = energy(0.0);
        for i in 1..=100 {
            let now = energy(0.1 * f64::from(i));
            assert!(now < last + 1e-12, "{i}: {now} {last}");
            last = now;
        }
        let (start, end) = (flight.state_at(0.0).rates, flight.state_at(10.0).rates);
        assert!(end.x.hypot(end.y) < 0.3 * start.x.hypot(start.y), "{end}");
    }
}

// The demonstration aircraft's matrices from their files: symmetric, never negative, and of the size that design states, k(π/4)ρc/(m/S) of the
// mass with k below 1.
#[test]
fn matrices_from_files_are_symmetric_and_positive() {
    let demo = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("../demo-airframes");
    for name in ["dunlin", "avocet", "godwit"] {
        let on = scenarios::overrides::Override::parse("apparent_mass=from_surfaces").unwrap();
        let loaded =
            scenarios::load::load_airframe(demo.join(name).with_extension("json"), &[on]).unwrap();
        let vehicle = &loaded.built.vehicle;
        let matrix = vehicle.apparent_mass.as_ref().unwrap().per_density;
        assert!((matrix - matrix.transpose()).amax() < 1e-17);
        let least = matrix.symmetric_eigenvalues().min();
        assert!(least > -1e-17, "{name}: {least}");
        let table = &vehicle.coefficients;
        let chord = table.chord;
        let thin = PI / 4.0 * DENSITY_KG_M3 * chord * table.area / vehicle.mass;
        let share = DENSITY_KG_M3 * matrix[(2, 2)] / vehicle.mass;
        assert!(
            (0.3 * thin..1.2 * thin).contains(&share),
            "{name}: {share} {thin}"
        );
    }
}
