//! Extremes cost calls only where one can hide, and are found wherever one does.

use crate::refine::{largest, smallest};
use std::cell::Cell;
use std::f64::consts::PI;

const LOOKS: usize = 400;

/// Looks 0.1 apart, and how often the function is called after them.
fn counted(
    f: impl Fn(f64) -> f64,
    find: impl Fn(&[(f64, f64)], &dyn Fn(f64) -> f64) -> Option<(f64, f64)>,
) -> ((f64, f64), usize) {
    let points: Vec<(f64, f64)> = (0..=LOOKS)
        .map(|i| 0.1 * i as f64)
        .map(|t| (t, f(t)))
        .collect();
    let calls = Cell::new(0);
    let counting = |t: f64| {
        calls.set(calls.get() + 1);
        f(t)
    };
    let found = find(&points, &counting).expect("there are points");
    (found, calls.get())
}

// Halving 0.2 s down to 1e-8 s takes log2(2e7) = 25 calls, and parabolas are quicker; one top for each of 400 looks would be thousands.
const CALLS_OF_ONE_TOP: usize = 25;

#[test]
fn a_constant_function_is_hardly_called() {
    for find in [
        |p: &[(f64, f64)], f: &dyn Fn(f64) -> f64| largest(p, f),
        |p: &[(f64, f64)], f: &dyn Fn(f64) -> f64| smallest(p, f),
    ] {
        let ((time, value), calls) = counted(|_| 3.0, find);
        assert_eq!((time, value), (0.0, 3.0), "the earliest of equals");
        assert!(calls <= CALLS_OF_ONE_TOP, "{calls} calls");
    }
}

// A hill 1 − 40 (t − t0)² that stands on a level stretch at 0 and has its top between two looks; also as far from one as from the next,
// so that these two looks are equal.
#[test]
fn a_hill_on_a_level_stretch_is_found() {
    for top_s in [20.03, 20.05, 20.08] {
        let hill = |t: f64| (1.0 - 40.0 * (t - top_s) * (t - top_s)).max(0.0);
        let ((time, value), calls) = counted(hill, |p, f| largest(p, f));
        assert!((time - top_s).abs() < 1e-6, "{time} {top_s}");
        assert!((value - 1.0).abs() < 1e-12, "{value}");
        assert!(calls <= 3 * CALLS_OF_ONE_TOP, "{calls} calls");
        let ((time, value), _) = counted(|t| -hill(t), |p, f| smallest(p, f));
        assert!((time - top_s).abs() < 1e-6 && (value + 1.0).abs() < 1e-12);
    }
}

// sin 2πt/1.7 has its tops at (k + ¼)·1.7 s, 23 of them; under an envelope that is largest at 20.8 s the one at 20.825 s is the highest
// (calculus), and only tops near as high could hide the largest value.
#[test]
fn only_tops_that_can_be_the_highest_are_refined() {
    let wave =
        |t: f64| (2.0 * PI * t / 1.7).sin() * (1.0 - 0.02 * (t - 20.8) * (t - 20.8)).max(0.1);
    let ((time, value), calls) = counted(wave, |p, f| largest(p, f));
    assert!((time - 20.825).abs() < 1e-3, "{time}");
    assert!(value > 0.9999 && value <= 1.0, "{value}");
    assert!(calls <= 6 * CALLS_OF_ONE_TOP, "{calls} calls");
}
