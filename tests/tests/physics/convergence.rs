//! The solver's order: Dormand-Prince 5(4) errs with the fifth power of the step, its dense output with the fourth or
//! better, the 8(5,3) method with the eighth (Hairer, Nørsett & Wanner, Solving Ordinary Differential Equations I,
//! from memory).

use nalgebra::{SVector, Vector3};
use sim_core::flight::Flight;
use sim_core::launch::Launch;
use sim_core::solver::{Method, Tolerance};
use sim_core::state::STATE_LENGTH;
use tossline_tests::known::aircraft::reference_solution;
use tossline_tests::known::frictionless::lanchester;

/// Fixed steps: a tolerance so loose that only the largest step counts.
fn fixed(method: Method, step_s: f64) -> Tolerance {
    Tolerance {
        method,
        relative: 1e6,
        absolute: 1e6,
        largest_step_s: step_s,
        first_step_s: step_s,
    }
}

/// Loops of the frictionless phugoid by a body that turns over three times as it goes: every state but the cell's on
/// the move, nothing stiff.
fn fly(tolerance: Tolerance) -> Flight {
    let launch = Launch {
        path_angle_rad: 0.1,
        heading_rad: 0.4,
        rates_rad_s: Vector3::new(0.0, 6.0, 0.0),
        ..Launch::level(100.0, 9.0)
    };
    let mut throw = lanchester(6.0, launch, 3.2);
    throw.tolerance = tolerance;
    throw.fly().unwrap()
}

fn row(flight: &Flight, time_s: f64) -> SVector<f64, STATE_LENGTH> {
    SVector::from(flight.state_at(time_s).to_array())
}

/// Slopes of log error over log step between successive halvings of the step.
fn orders(steps: [f64; 4], error: impl Fn(f64) -> f64) -> Vec<f64> {
    let errors = steps.map(error);
    errors.windows(2).map(|e| (e[0] / e[1]).log2()).collect()
}

#[test]
fn dopri5_converges_with_the_fifth_power_of_its_step() {
    let exact = fly(reference_solution());
    let steps = [0.04, 0.02, 0.01, 0.005];
    let orders = orders(steps, |h| {
        let flight = fly(fixed(Method::Dopri5, h));
        assert_eq!(flight.counts.accepted_steps, (3.2 / h).round() as u32);
        (row(&flight, 3.2) - row(&exact, 3.2)).norm()
    });
    assert!(orders.iter().all(|o| (4.7..5.6).contains(o)), "{orders:?}");
}

// Between its steps: the worst error in the middle and at the quarters of all steps.
#[test]
fn dense_output_converges_between_the_steps() {
    let exact = fly(reference_solution());
    let orders = orders([0.04, 0.02, 0.01, 0.005], |h| {
        let flight = fly(fixed(Method::Dopri5, h));
        (0..(1.6 / h) as i32)
            .flat_map(|i| [0.25, 0.5, 0.75].map(|share| h * (f64::from(i) + share)))
            .map(|t| (row(&flight, t) - row(&exact, t)).norm())
            .fold(0.0, f64::max)
    });
    assert!(orders.iter().all(|o| *o > 4.0), "{orders:?}");
}

// What a flight gives at its end is the dense output, for this method that of a 5(4) run over the last step: a local
// error of h⁶ is left, and so an order of six or more is what can be asked here.
#[test]
fn dop853_converges_faster_than_the_sixth_power_of_its_step() {
    let exact = fly(reference_solution());
    let error = |method, h| (row(&fly(fixed(method, h)), 3.2) - row(&exact, 3.2)).norm();
    let orders = orders([0.32, 0.16, 0.08, 0.04], |h| error(Method::Dop853, h));
    assert!(orders.iter().all(|o| *o > 6.0), "{orders:?}");
    assert!(50.0 * error(Method::Dop853, 0.04) < error(Method::Dopri5, 0.04));
}

// At an adaptive tolerance the error follows it: a hundred times tighter gives an error at least twenty times
// smaller, down to 1e-9.
#[test]
fn the_error_follows_the_tolerance() {
    let exact = fly(reference_solution());
    let errors = [1e-7, 1e-9, 1e-11].map(|tolerance| {
        let flight = fly(Tolerance {
            relative: tolerance,
            absolute: tolerance,
            ..Tolerance::default()
        });
        (row(&flight, 3.2) - row(&exact, 3.2)).norm()
    });
    for pair in errors.windows(2) {
        assert!(pair[0] / pair[1] > 20.0, "{errors:?}");
    }
    assert!(errors[1] < 1e-7, "the default tolerance: {errors:?}");
}

// The dense output is one continuous curve through the steps: no jump at any look, and the ends of looks are met from
// both sides.
#[test]
fn the_solution_has_no_jumps() {
    for tolerance in [Tolerance::default(), reference_solution()] {
        let flight = fly(tolerance);
        for t in flight.look_times_s() {
            let jump = row(&flight, t + 1e-9) - row(&flight, (t - 1e-9).max(0.0));
            assert!(jump.norm() < 1e-6, "{t} s: {jump}");
        }
    }
}
