//! Every mode's name: from matrices put together so that only the motion named takes part, and about powered flight.

use nalgebra::DMatrix;
use sim_core::modes::{Linearisation, Mode, linearise};
use sim_core::trim::{TrimConditions, Trimmer};
use sim_core::vehicle::Vehicle;
use tossline_tests::known::aircraft::{never_stalls, steady_air, twin};
use tossline_tests::known::power::ideal_cell;

// Places of the states: u v w p q r θ φ Ω1 Ω2.
const U: usize = 0;
const V: usize = 1;
const W: usize = 2;
const P: usize = 3;
const Q: usize = 4;
const R: usize = 5;
const THETA: usize = 6;
const PHI: usize = 7;

/// Modes of states that do not influence each other but in pairs: (state, its rate of growth), (two states, growth, frequency).
fn modes(alone: &[(usize, f64)], pairs: &[([usize; 2], f64, f64)]) -> Vec<Mode> {
    let mut matrix = DMatrix::zeros(10, 10);
    for &(i, growth) in alone {
        matrix[(i, i)] = growth;
    }
    // [[a, b], [−b, a]] has the eigenvalues a ± b i (linear algebra).
    for &([i, j], growth, frequency) in pairs {
        matrix[(i, i)] = growth;
        matrix[(j, j)] = growth;
        matrix[(i, j)] = frequency;
        matrix[(j, i)] = -frequency;
    }
    Linearisation { matrix }.modes()
}

#[track_caller]
fn named(modes: &[Mode], wanted: &[(&str, f64, f64)]) {
    assert_eq!(modes.len(), wanted.len(), "{modes:?}");
    for (mode, &(name, growth, frequency)) in modes.iter().zip(wanted) {
        assert_eq!(mode.name, name, "{mode:?}");
        assert!((mode.growth_1_s - growth).abs() < 1e-9, "{mode:?}");
        assert!((mode.damped_frequency_rad_s - frequency).abs() < 1e-9);
    }
}

// MODEL.md § 10 says which states make which name; fastest first.
#[test]
fn the_motions_of_a_stable_aircraft_have_their_names() {
    let found = modes(
        &[(P, -12.0), (PHI, -0.05), (8, -30.0), (9, -20.0)],
        &[
            ([W, Q], -2.0, 5.0),
            ([U, THETA], -0.02, 0.6),
            ([V, R], -0.3, 4.0),
        ],
    );
    named(
        &found,
        &[
            ("rotor", -30.0, 0.0),
            ("rotor", -20.0, 0.0),
            ("roll subsidence", -12.0, 0.0),
            ("short period", -2.0, 5.0),
            ("Dutch roll", -0.3, 4.0),
            ("phugoid", -0.02, 0.6),
            ("spiral", -0.05, 0.0),
        ],
    );
}

#[test]
fn the_motions_of_an_unstable_aircraft_have_their_names() {
    let found = modes(
        &[
            (W, -3.0),
            (Q, 1.0),
            (U, -0.1),
            (THETA, 0.2),
            (V, -0.7),
            (R, 0.3),
            (8, -30.0),
            (9, 20.0),
        ],
        &[([P, PHI], -0.5, 2.0)],
    );
    named(
        &found,
        &[
            ("rotor", -30.0, 0.0),
            ("rotor", 20.0, 0.0),
            ("pitch subsidence", -3.0, 0.0),
            ("roll-spiral oscillation", -0.5, 2.0),
            ("pitch divergence", 1.0, 0.0),
            ("spiral", -0.7, 0.0),
            ("spiral", 0.3, 0.0),
            ("speed divergence", 0.2, 0.0),
            ("speed subsidence", -0.1, 0.0),
        ],
    );
}

// A stable glider in powered flight has the textbook's five modes (Etkin & Reid, Dynamics of Flight, from memory) and one more for each
// rotor. On a cell without resistance each rotor's is near −(k²/R + dQ_a/dΩ)/J, with dQ_a/dΩ > 0 faster than −k²/(R J): −3.9/s.
#[test]
fn powered_flight_has_a_rotor_mode_for_each_motor() {
    let mut vehicle = Vehicle {
        post_stall: never_stalls(),
        cell: ideal_cell(3.9),
        ..twin()
    };
    // Five times as stable in pitch as the twin, at the same incidence: so light an airframe's pitching is damped out otherwise
    // before it swings, and is two subsidences.
    vehicle.coefficients.pitch_alpha *= 5.0;
    vehicle.coefficients.pitch_zero *= 5.0;
    let air = steady_air();
    let conditions = TrimConditions {
        tabs_rad: vec![0.0, 0.0],
        steering_shares: vec![0.5, -0.5],
        height_m: 20.0,
        charge_fraction: 1.0,
    };
    let trimmer = Trimmer::new(&vehicle, &air, conditions);
    let level = trimmer.level().unwrap();
    let modes = linearise(&vehicle, &air, &level.segment, &level.state).modes();
    let mut names: Vec<&str> = modes.iter().map(|mode| mode.name).collect();
    names.sort_unstable();
    assert_eq!(
        names,
        [
            "Dutch roll",
            "phugoid",
            "roll subsidence",
            "rotor",
            "rotor",
            "short period",
            "spiral"
        ]
    );
    let constant = 60.0 / (std::f64::consts::TAU * 14_000.0);
    let slowest = -constant * constant / (1.2 * 1e-7);
    for rotor in modes.iter().filter(|mode| mode.name == "rotor") {
        assert!(rotor.growth_1_s < slowest && rotor.growth_1_s > 10.0 * slowest);
        assert_eq!(rotor.period_s(), None);
        let own: f64 = rotor.participation[8..].iter().sum();
        assert!(own > 0.9, "{rotor:?}");
    }
}
