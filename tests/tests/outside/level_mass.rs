//! The greatest mass in level flight at a throttle, against the thrust that textbooks require for it.
//!
//! Parabolic polar C_D = C_D0 + k C_L², thrust that does not change with speed. Level: T cos α = D, L + T sin α = W. Without V: W = T (cos α C_L/C_D +
//! sin α). The least thrust of level flight is T = W·2·√(C_D0 k), at C_L = √(C_D0/k) (Anderson, Introduction to Flight, thrust required; from memory).

use sim_core::aero::coefficients::{Coefficients, TabEffect};
use sim_core::trim::TrimConditions;
use sim_core::trim::level_mass::{LevelMassError, LevelMasses};
use sim_core::vehicle::Vehicle;
use tossline_tests::known::aircraft::{DENSITY_KG_M3, glider, steady_air, twin};
use tossline_tests::known::power::{constant_thrust, ideal_cell};

const DRAG_MIN: f64 = 0.03;
const DRAG_FACTOR: f64 = 0.1;
const LIFT_ALPHA: f64 = 5.5;
const THRUST_N: f64 = 0.04;
const GRAVITY_M_S2: f64 = 9.80665;

/// The glider with a parabolic polar, C_L 0 at α 0, a tab that only pitches, and that thrust along body x at full throttle.
fn textbook(pitch_tab: f64) -> Vehicle<f64> {
    let (engine, rotor_rad_s) = constant_thrust(THRUST_N, DENSITY_KG_M3);
    let mut vehicle = glider();
    vehicle.coefficients = Coefficients {
        lift_zero: 0.0,
        lift_alpha: LIFT_ALPHA,
        drag_min: DRAG_MIN,
        drag_factor: DRAG_FACTOR,
        lift_at_min_drag: 0.0,
        pitch_zero: 0.05,
        tabs: vec![TabEffect {
            lift: 0.0,
            drag: 0.0,
            pitch: pitch_tab,
            side: 0.0,
            roll: 0.0,
            yaw: 0.0,
        }],
        ..vehicle.coefficients
    };
    // Speed constant 1: the rotor's speed is the cell's voltage at full throttle.
    vehicle.cell = ideal_cell(rotor_rad_s);
    vehicle.motors = vec![engine];
    vehicle
}

fn conditions(tabs_rad: Vec<f64>) -> TrimConditions {
    TrimConditions {
        tabs_rad,
        steering_shares: vec![0.0],
        height_m: 10.0,
        charge_fraction: 1.0,
    }
}

/// Grams carried at an incidence, by the two equations of level flight.
fn carried_g(alpha: f64) -> f64 {
    let lift = LIFT_ALPHA * alpha;
    let drag = DRAG_MIN + DRAG_FACTOR * lift * lift;
    1e3 * THRUST_N * (alpha.cos() * lift / drag + alpha.sin()) / GRAVITY_M_S2
}

// As set the moments give α = −C_m0/C_mα: nothing of the rest of the table comes in.
#[test]
fn as_set_it_is_the_mass_that_the_two_equations_of_level_flight_give() {
    for pitch_zero in [0.02, 0.04, 0.08] {
        for tab in [-1.0, 0.0] {
            let mut vehicle = textbook(tab);
            vehicle.coefficients.pitch_zero = pitch_zero;
            let alpha = pitch_zero / 0.5;
            let masses = LevelMasses::of(&vehicle, &steady_air(), conditions(vec![0.0]), 1.0);
            let found = masses.unwrap().as_set().unwrap();
            let off = found.mass_kg * 1e3 / carried_g(alpha) - 1.0;
            assert!(off.abs() < 1e-8, "{pitch_zero} {tab}: {off}");
            assert!(found.flight.climb_m_s.abs() < 1e-9);
        }
    }
}

#[test]
fn re_set_it_is_the_weight_of_least_thrust() {
    let masses = LevelMasses::of(&textbook(-1.0), &steady_air(), conditions(vec![0.0]), 1.0);
    let found = masses.unwrap().tab_re_set().unwrap();
    // Exactly: the largest of the closed form, looked for on a fine grid of its own.
    let exact = (1..60_000).map(|i| carried_g(f64::from(i) * 1e-5));
    let exact = exact.fold(0.0, f64::max);
    let off = found.mass_kg * 1e3 / exact - 1.0;
    assert!(off.abs() < 1e-8, "{off}");
    assert!(!found.at_the_end);
    // The textbook leaves out the angle. By hand at its C_L = √0.3, α = 0.09959: cos α − 1 = −0.00496, sin α over C_L/C_D = 9.129 is 0.01089: 0.0059 more.
    let least_thrust = 1e3 * THRUST_N / (2.0 * (DRAG_MIN * DRAG_FACTOR).sqrt()) / GRAVITY_M_S2;
    let more = found.mass_kg * 1e3 / least_thrust - 1.0;
    assert!((more - 0.0059).abs() < 5e-4, "{more}");
}

// T = W·2·√(C_D0 k): half the thrust carries half the mass; this engine's thrust goes with the square of its speed, which is that of the throttle.
#[test]
fn what_is_carried_goes_with_the_thrust() {
    let at = |throttle: f64| {
        let masses = LevelMasses::of(
            &textbook(-1.0),
            &steady_air(),
            conditions(vec![0.0]),
            throttle,
        );
        masses.unwrap().tab_re_set().unwrap().mass_kg
    };
    let ratio = at(0.5) / at(1.0);
    assert!((ratio - 0.25).abs() < 1e-8, "{ratio}");
}

// What is found must be what the trim of that mass finds: level at that throttle, with real propellers, a low-lying thrust line and tabs that lift.
#[test]
fn the_airframe_of_that_mass_flies_level_at_that_throttle() {
    let vehicle = twin();
    let two = |tab: f64| TrimConditions {
        steering_shares: vec![0.5, -0.5],
        ..conditions(vec![tab, 0.0])
    };
    let masses = LevelMasses::of(&vehicle, &steady_air(), two(0.0), 0.4).unwrap();
    for found in [masses.as_set().unwrap(), masses.tab_re_set().unwrap()] {
        let heavier = Vehicle {
            mass: found.mass_kg,
            ..vehicle.clone()
        };
        let air = steady_air();
        let trimmer = sim_core::trim::Trimmer::new(&heavier, &air, two(found.tab_rad.unwrap()));
        let flown = trimmer.power(0.4).unwrap();
        assert!(flown.climb_m_s.abs() < 1e-7, "{}", flown.climb_m_s);
        let off = flown.airspeed_m_s - found.flight.airspeed_m_s;
        assert!(off.abs() < 1e-6, "{off}");
    }
}

#[test]
fn what_cannot_be_carried_is_said() {
    let air = steady_air();
    let none = LevelMasses::of(&glider(), &air, conditions(vec![]), 1.0).err();
    assert_eq!(none, Some(LevelMassError::NoMotor));
    let mut still = textbook(-1.0);
    still.cell = ideal_cell(0.0);
    let none = LevelMasses::of(&still, &air, conditions(vec![0.0]), 1.0).err();
    assert_eq!(none, Some(LevelMassError::NoneFliesLevel));
    // Trimmed for α = 1 rad by itself: 0.6 rad is the end of what is looked at, and the tab (C_mδ −1) would have to take C_mα·0.4 = 0.2 away: 0.2 rad down.
    let mut steep = textbook(-1.0);
    steep.coefficients.pitch_zero = 0.5;
    let masses = LevelMasses::of(&steep, &air, conditions(vec![0.0]), 1.0).unwrap();
    match masses.as_set().err() {
        Some(LevelMassError::SetOtherwise { by_deg }) => {
            assert!((by_deg - 0.2_f64.to_degrees()).abs() < 1e-6, "{by_deg}");
        }
        other => panic!("{other:?}"),
    }
}
