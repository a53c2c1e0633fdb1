//! Which way controls, wind and release turn the aircraft, by the words of the design alone.

use crate::look::{AHEAD, level, look};
use nalgebra::Vector3;
use sim_core::air::{Air, wind_from};
use sim_core::frames::{EulerAngles, rotation};
use sim_core::launch::Launch;
use tossline_tests::known::aircraft::{glider, steady_air, steady_pilot, throw, twin};

// A tab down (positive) at the tail with C_mδ < 0, C_Lδ > 0 lifts the tail: the nose goes down in flight. A rudder
// tab to the left with C_nδ < 0, C_Yδ > 0 swings the nose left.
#[test]
fn tabs_steer_the_way_their_effects_say() {
    let vehicle = twin();
    let still = look(
        &vehicle,
        &steady_air(),
        &level(AHEAD, [0.0; 2]),
        &[0.0, 0.0],
    );
    let elevator = look(
        &vehicle,
        &steady_air(),
        &level(AHEAD, [0.0; 2]),
        &[0.1, 0.0],
    );
    assert!(elevator.forces.attached.force.z < still.forces.attached.force.z);
    assert!(elevator.rate.rates.y < still.rate.rates.y);
    assert!(
        elevator.forces.attached.force.x < still.forces.attached.force.x,
        "a bent tab drags"
    );
    let rudder = look(
        &vehicle,
        &steady_air(),
        &level(AHEAD, [0.0; 2]),
        &[0.0, 0.1],
    );
    assert!(rudder.rate.rates.z < 0.0 && rudder.forces.attached.force.y > 0.0);
    let other_way = look(
        &vehicle,
        &steady_air(),
        &level(AHEAD, [0.0; 2]),
        &[0.0, -0.1],
    );
    assert!(other_way.rate.rates.z > 0.0);
    let heading_after = |tab: f64| {
        let mut throw = throw(twin(), steady_air(), Launch::level(20.0, 6.0), 1.0);
        throw.pilot = steady_pilot(0.0, 0.0, &[0.0, tab]);
        let (_, all) = throw.fly().unwrap().evaluation_at(1.0);
        EulerAngles::of(&all.to_earth).yaw_rad
    };
    assert!(heading_after(0.1) < -0.01 && heading_after(-0.1) > 0.01);
}

/// Heading, bank and pitch after a time with a throttle and a left-minus-right difference.
fn after(seconds: f64, throttle: f64, difference: f64) -> EulerAngles {
    let mut throw = throw(twin(), steady_air(), Launch::level(20.0, 6.0), seconds);
    throw.pilot = steady_pilot(throttle, difference, &[0.0, 0.0]);
    EulerAngles::of(&throw.fly().unwrap().evaluation_at(seconds).1.to_earth)
}

// More on the left turns the nose right, and the other way about. More throttle on pushers above the balance point
// puts the nose down and the speed up.
#[test]
fn throttle_and_its_difference_steer() {
    assert!(after(0.5, 0.4, 0.4).yaw_rad > 0.01);
    assert!(after(0.5, 0.4, -0.4).yaw_rad < -0.01);
    assert!(after(0.4, 0.6, 0.0).pitch_rad < after(0.4, 0.0, 0.0).pitch_rad - 0.01);
    let vehicle = twin();
    let thrust = |throttle: f64| {
        let mut throw = throw(vehicle.clone(), steady_air(), Launch::level(20.0, 6.0), 1.0);
        throw.pilot = steady_pilot(throttle, 0.0, &[0.0, 0.0]);
        let flight = throw.fly().unwrap();
        let (state, all) = flight.evaluation_at(0.0);
        assert!(
            all.rate.rotors[0].abs() < 1e-3 * state.rotors[0].max(1.0),
            "rotors start steady"
        );
        all.motors[0].thrust
    };
    assert!(
        thrust(0.0) < 0.0,
        "a stopped or windmilling propeller drags"
    );
    assert!(thrust(0.3) < thrust(0.6) && thrust(0.6) < thrust(1.0) && thrust(1.0) > 0.02);
}

// Weathervane, dihedral: wind from the right (from east, flying north) is positive sideslip; C_Yβ < 0 pushes left,
// C_lβ < 0 rolls left, C_nβ > 0 swings the nose into it. Wind from ahead adds airspeed, rising air adds incidence.
#[test]
fn wind_comes_from_where_it_is_named_after() {
    let vehicle = glider();
    let in_wind = |wind: Vector3<f64>| {
        let mut air = steady_air();
        air.mean_wind = wind;
        look(&vehicle, &air, &level(AHEAD, [0.0; 2]), &[])
    };
    let calm = in_wind(Vector3::zeros());
    let quarter = std::f64::consts::FRAC_PI_2;
    let east = in_wind(wind_from(2.0, quarter, 0.0));
    assert!(east.flow.beta > 0.3);
    assert!(east.forces.attached.force.y < 0.0);
    assert!(east.rate.rates.x < 0.0 && east.rate.rates.z > 0.0);
    let west = in_wind(wind_from(2.0, 3.0 * quarter, 0.0));
    assert!(west.flow.beta < -0.3);
    let ahead = in_wind(wind_from(2.0, 0.0, 0.0));
    assert!((ahead.flow.airspeed - 8.0).abs() < 1e-12);
    let behind = in_wind(wind_from(2.0, 2.0 * quarter, 0.0));
    assert!((behind.flow.airspeed - 4.0).abs() < 1e-12);
    let rising = in_wind(wind_from(0.0, 0.0, 1.0));
    assert!(rising.flow.alpha > calm.flow.alpha + 0.1);
}

// Release: the path is the ground velocity of the balance point; nose above it is incidence, nose right of it
// negative sideslip in calm air; a headwind adds airspeed at the same ground speed.
#[test]
fn the_release_is_over_the_ground() {
    let launch = Launch {
        path_angle_rad: 0.2,
        heading_rad: 1.0,
        nose_above_path_rad: 0.05,
        ..Launch::level(1.8, 7.0)
    };
    let mut windy = steady_air();
    windy.mean_wind = wind_from(2.0, 1.0, 0.0);
    let start = |air: &Air<f64>, launch: &Launch| {
        throw(glider(), air.clone(), launch.clone(), 0.01)
            .fly()
            .unwrap()
            .evaluation_at(0.0)
    };
    let (state, calm) = start(&steady_air(), &launch);
    let velocity = rotation(&state.attitude) * state.velocity;
    let expected = Vector3::new(
        0.2_f64.cos() * 1.0_f64.cos(),
        0.2_f64.cos() * 1.0_f64.sin(),
        -0.2_f64.sin(),
    ) * 7.0;
    assert!((velocity - expected).norm() < 1e-14);
    assert!((calm.flow.alpha - 0.05).abs() < 1e-14 && calm.flow.beta.abs() < 1e-14);
    assert!((EulerAngles::of(&calm.to_earth).pitch_rad - 0.25).abs() < 1e-14);
    let (blown, wind) = start(&windy, &launch);
    assert!((blown.velocity - state.velocity).norm() < 1e-14);
    // Relative wind: 7 m/s up the path and 2 m/s level against it.
    let against = (49.0 + 4.0 + 2.0 * 7.0 * 2.0 * 0.2_f64.cos()).sqrt();
    assert!((wind.flow.airspeed - against).abs() < 1e-13);
    let right = Launch {
        nose_right_of_path_rad: 0.1,
        ..launch.clone()
    };
    let (_, slipping) = start(&steady_air(), &right);
    assert!(
        slipping.flow.beta < -0.09,
        "nose right of the path: flow from the left"
    );
    let banked = Launch {
        bank_rad: 0.3,
        ..launch
    };
    let angles = EulerAngles::of(&start(&steady_air(), &banked).1.to_earth);
    assert!(
        (angles.roll_rad - 0.3).abs() < 0.02,
        "right wing down: {angles:?}"
    );
}

// Right wing down turns right and stays a right turn; stable gliders come back from a sideslip.
#[test]
fn a_bank_to_the_right_turns_right() {
    let mut launch = Launch::level(40.0, 6.0);
    launch.bank_rad = 0.3;
    let flight = throw(glider(), steady_air(), launch, 2.0).fly().unwrap();
    let (state, all) = flight.evaluation_at(2.0);
    assert!(EulerAngles::of(&all.to_earth).yaw_rad > 0.2);
    assert!(state.position.y > 0.2);
}
