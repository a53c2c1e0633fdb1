//! Near the ground a wing is spared part of its own downwash: more lift, less induced drag, and nothing of it three spans up.

use nalgebra::{Vector3, Vector4};
use sim_core::aero::coefficients::Coefficients;
use sim_core::air::Air;
use sim_core::flight::{End, Flight};
use sim_core::forces::{Breakdown, evaluate};
use sim_core::launch::Launch;
use sim_core::segment::Segment;
use sim_core::state::State;
use sim_core::trim::{TrimConditions, Trimmer};
use sim_core::vehicle::Vehicle;
use std::f64::consts::PI;
use tossline_tests::known::aircraft::{
    DENSITY_KG_M3, glider, stalling_glider, steady_air, throw, tight,
};
use tossline_tests::known::random::Random;

use crate::scatter;

fn near_ground() -> Air<f64> {
    Air {
        ground_effect: 1.0,
        ..steady_air()
    }
}

/// Wings level at an incidence (rad), 6 m/s along the horizon, the balance point at a height (m).
fn level(alpha: f64, height_m: f64) -> State<f64> {
    State {
        position: Vector3::new(0.0, 0.0, -height_m),
        attitude: Vector4::new((alpha / 2.0).cos(), 0.0, (alpha / 2.0).sin(), 0.0),
        velocity: Vector3::new(6.0 * alpha.cos(), 0.0, 6.0 * alpha.sin()),
        rates: Vector3::zeros(),
        rotors: [0.0; 2],
        charge: 0.0,
    }
}

fn forces(vehicle: &Vehicle<f64>, air: &Air<f64>, state: &State<f64>) -> Breakdown<f64> {
    evaluate(vehicle, air, &Segment::steady(&[], &[]), 0.0, state).forces
}

/// Lift and drag coefficients of what the wing gives, ground included.
fn lift_and_drag(vehicle: &Vehicle<f64>, air: &Air<f64>, alpha: f64, height_m: f64) -> (f64, f64) {
    let at = forces(vehicle, air, &level(alpha, height_m));
    let force = at.attached.force + at.ground_effect.force;
    let (sin, cos) = alpha.sin_cos();
    let pressure = 0.5 * DENSITY_KG_M3 * 36.0 * vehicle.coefficients.area;
    (
        (force.x * sin - force.z * cos) / pressure,
        (-force.x * cos - force.z * sin) / pressure,
    )
}

// Wieselsberger's statement: at one lift coefficient the incidence is less by σC_L/(πAR) and the drag coefficient by σC_L²/(πAR). σ of Hurt,
// Aerodynamics for Naval Aviators (from memory): 0.476 a tenth, 0.235 a quarter of a span up. A symmetric table, K over 1/(πAR).
#[test]
fn at_one_lift_incidence_and_drag_are_less_by_the_handbooks_share() {
    let mut vehicle = glider();
    vehicle.coefficients.lift_at_min_drag = 0.0;
    let aspect_ratio = 0.5 * 0.5 / 0.06;
    for (height_over_span, share) in [(0.1, 0.476), (0.25, 0.235)] {
        let low = 0.08;
        let (lift, drag) = lift_and_drag(&vehicle, &near_ground(), low, 0.5 * height_over_span);
        let high = (lift - 0.05) / 3.8;
        let (same, more_drag) = lift_and_drag(&vehicle, &near_ground(), high, 10.0);
        assert!((same - lift).abs() < 1e-12);
        let spared = (high - low) / (lift / (PI * aspect_ratio));
        assert!((spared / share - 1.0).abs() < 0.03, "{spared} {share}");
        let relief = (more_drag - drag) / (lift * lift / (PI * aspect_ratio));
        assert!((relief / share - 1.0).abs() < 0.03, "{relief} {share}");
    }
}

// The lift that comes acts at the neutral point: −C_mα/C_Lα of a chord behind the reference point, as any incidence's lift does.
#[test]
fn the_lift_comes_at_the_neutral_point() {
    let vehicle = glider();
    let at = forces(&vehicle, &near_ground(), &level(0.0, 0.1)).ground_effect;
    let arm = at.moment.y / at.force.z;
    let expected = 0.12 * 0.5 / 3.8;
    assert!(at.force.z < -1e-3, "{at:?}");
    // At no incidence lift is along −z and drag along −x, so that r × F is x F_z alone.
    assert!((arm / expected - 1.0).abs() < 1e-12, "{arm} {expected}");
}

// Zero from three spans up, and anywhere when it is left out; zero lift has none either.
#[test]
fn zero_where_it_must_be() {
    let none = |wrench: sim_core::wrench::Wrench<f64>| {
        assert_eq!(wrench.force.norm() + wrench.moment.norm(), 0.0);
    };
    let vehicle = glider();
    none(forces(&vehicle, &near_ground(), &level(0.1, 1.5)).ground_effect);
    none(forces(&vehicle, &steady_air(), &level(0.1, 0.1)).ground_effect);
    let mut flat = glider();
    flat.coefficients.lift_zero = 0.0;
    flat.coefficients.lift_at_min_drag = 0.0;
    none(forces(&flat, &near_ground(), &level(0.0, 0.1)).ground_effect);
    assert!(
        forces(&vehicle, &near_ground(), &level(0.1, 1.4))
            .ground_effect
            .force
            .norm()
            > 0.0
    );
}

// No table, height or direction of flow makes a drag of attached flow less than C_Dmin's, or a number that is none.
#[test]
fn it_never_pulls_forward() {
    let mut random = Random::new(61);
    for _ in 0..3000 {
        let mut vehicle = stalling_glider();
        let table = &mut vehicle.coefficients;
        table.lift_alpha = random.between(0.0, 7.0);
        table.lift_at_min_drag = random.between(-0.3, 0.3);
        table.drag_factor = random.between(0.0, 0.4);
        table.span = random.between(0.1, 0.8);
        let mut state = scatter::state(&mut random);
        state.position.z *= 0.01;
        let at = evaluate(
            &vehicle,
            &near_ground(),
            &Segment::steady(&[], &[]),
            0.0,
            &state,
        );
        let force = at.forces.attached.force + at.forces.ground_effect.force;
        let (sin, cos) = at.flow.alpha.sin_cos();
        let drag = -force.x * cos - force.z * sin;
        let pressure = 0.5 * at.flow.density * at.flow.airspeed.powi(2) * vehicle.coefficients.area;
        let least = at.attached_weight * pressure * vehicle.coefficients.drag_min;
        assert!(drag > least - 1e-12 * pressure, "{drag} {least}");
        assert!(at.rate.to_array().iter().all(|x| x.is_finite()));
    }
    let mut empty = glider();
    empty.coefficients = Coefficients::none(0.0, 0.5, 0.12);
    let rate = evaluate(
        &empty,
        &near_ground(),
        &Segment::steady(&[], &[]),
        0.0,
        &level(0.1, 0.1),
    );
    assert!(rate.rate.to_array().iter().all(|x| x.is_finite()));
}

// A glide low over the ground goes further; higher than three spans it is the same to the bit.
#[test]
fn a_low_glide_goes_further_and_a_high_one_the_same() {
    let fly = |height_m: f64, air: Air<f64>| {
        let launch = Launch {
            nose_above_path_rad: 0.1,
            ..Launch::level(height_m, 5.5)
        };
        let mut throw = throw(glider(), air, launch, 4.0);
        throw.tolerance = tight();
        throw.fly().unwrap()
    };
    let (with, without) = (fly(0.2, near_ground()), fly(0.2, steady_air()));
    let reach = |flight: &Flight| flight.state_at(flight.end_time_s).position.x;
    assert_eq!((with.end, without.end), (End::Ground, End::Ground));
    let (with, without) = (reach(&with), reach(&without));
    assert!(with > without + 0.1, "{with} {without}");
    let (with, without) = (fly(20.0, near_ground()), fly(20.0, steady_air()));
    assert_eq!(with.state_at(4.0), without.state_at(4.0));
}

// Steady flight is found away from the ground, whatever the height its density is taken at.
#[test]
fn steady_flight_is_away_from_the_ground() {
    let vehicle = glider();
    let glide = |air: &Air<f64>| {
        let conditions = TrimConditions {
            tabs_rad: vec![],
            steering_shares: vec![],
            height_m: 0.0,
            charge_fraction: 1.0,
        };
        Trimmer::new(&vehicle, air, conditions).glide().unwrap()
    };
    assert_eq!(glide(&near_ground()).state, glide(&steady_air()).state);
}
