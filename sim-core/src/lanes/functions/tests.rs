//! Errors of MODEL.md § 28.2, against the functions of the `libm` crate, a general-purpose library.

use super::*;
use crate::lanes::register::{One, OneSingle};

/// Largest error of a function over arguments, each compared with a scale of its own.
fn largest(
    arguments: impl Iterator<Item = f64>,
    own: impl Fn(f64) -> f64,
    library: impl Fn(f64) -> (f64, f64),
) -> f64 {
    arguments
        .map(|x| {
            let (expected, scale) = library(x);
            (own(x) - expected).abs() / scale
        })
        .fold(0.0, f64::max)
}

fn between(low: f64, high: f64) -> impl Iterator<Item = f64> {
    (0..=20_000).map(move |i| low + (high - low) * f64::from(i) / 20_000.0)
}

fn double(f: impl Fn(One) -> One) -> impl Fn(f64) -> f64 {
    move |x| f(One(x)).0
}

/// The argument as 24 bits have it is what the library gets, too.
fn single(f: impl Fn(OneSingle) -> OneSingle) -> impl Fn(f64) -> f64 {
    move |x| f64::from(f(OneSingle(x as f32)).0)
}

#[test]
fn the_exponential_has_its_stated_error() {
    let library = |x: f64| (libm::exp(x), libm::exp(x));
    assert!(largest(between(-708.0, 708.0), double(exp), library) < 4e-16);
    assert!(largest(between(-1.0, 1.0), double(exp), library) < 4e-16);
    let rounded = |x: f64| library(f64::from(x as f32));
    assert!(largest(between(-87.0, 87.0), single(exp), rounded) < 3e-7);
    assert_eq!(exp(One(0.0)).0, 1.0);
    assert!(exp(One(f64::NAN)).0.is_nan() && exp(One(1e9)).0.is_finite());
}

#[test]
fn the_logarithm_has_its_stated_error() {
    let library = |x: f64| (libm::log(x), libm::log(x).abs().max(1.0));
    let wide = || between(-300.0, 300.0).map(libm::exp10);
    assert!(largest(wide(), double(ln), library) < 4e-16);
    assert!(largest(between(0.5, 2.0), double(ln), library) < 4e-16);
    let rounded = |x: f64| library(f64::from(x as f32));
    let narrow = || between(-30.0, 30.0).map(libm::exp10);
    assert!(largest(narrow(), single(ln), rounded) < 3e-7);
    assert!(ln(One(f64::NAN)).0.is_nan());
}

#[test]
fn the_hyperbolic_tangent_has_its_stated_error() {
    let library = |x: f64| (libm::tanh(x), 1.0);
    assert!(largest(between(-25.0, 25.0), double(tanh), library) < 4e-16);
    assert!(largest(between(-0.1, 0.1), double(tanh), library) < 4e-16);
    let rounded = |x: f64| library(f64::from(x as f32));
    assert!(largest(between(-25.0, 25.0), single(tanh), rounded) < 3e-7);
}

#[test]
fn sine_and_cosine_have_their_stated_error() {
    let sine = |x: f64| (libm::sin(x), 1.0);
    let cosine = |x: f64| (libm::cos(x), 1.0);
    for (low, high) in [(-7.0, 7.0), (-1e5, 1e5), (-0.1, 0.1)] {
        assert!(largest(between(low, high), double(|x| sin_cos(x).0), sine) < 4e-16);
        assert!(largest(between(low, high), double(|x| sin_cos(x).1), cosine) < 4e-16);
    }
    let rounded = |x: f64| sine(f64::from(x as f32));
    assert!(largest(between(-1e3, 1e3), single(|x| sin_cos(x).0), rounded) < 3e-7);
    let rounded = |x: f64| cosine(f64::from(x as f32));
    assert!(largest(between(-1e3, 1e3), single(|x| sin_cos(x).1), rounded) < 3e-7);
}

#[test]
fn angles_have_their_stated_error_all_round() {
    for distance in [1e-3, 1.0, 12.0] {
        let point = |a: f64| (distance * libm::sin(a), distance * libm::cos(a));
        let expected = |a: f64| (libm::atan2(point(a).0, point(a).1), 1.0);
        let own = |a: f64| atan2(One(point(a).0), One(point(a).1)).0;
        assert!(largest(between(-3.15, 3.15), own, expected) < 9e-16);
        let expected = |a: f64| {
            let (y, x) = (point(a).0 as f32, point(a).1 as f32);
            (libm::atan2(f64::from(y), f64::from(x)), 1.0)
        };
        let own = |a: f64| {
            let point = point(a);
            f64::from(atan2(OneSingle(point.0 as f32), OneSingle(point.1 as f32)).0)
        };
        assert!(largest(between(-3.15, 3.15), own, expected) < 5e-7);
    }
    let expected = |a: f64| (libm::atan2(libm::sin(a), libm::cos(a)), 1.0);
    let own = |a: f64| angle(One(libm::sin(a)), One(libm::cos(a))).0;
    assert!(largest(between(-3.15, 3.15), own, expected) < 9e-16);
    let own = |a: f64| {
        let (s, c) = (libm::sin(a) as f32, libm::cos(a) as f32);
        f64::from(angle(OneSingle(s), OneSingle(c)).0)
    };
    assert!(largest(between(-3.15, 3.15), own, expected) < 6e-7);
    assert_eq!(atan2(One(0.0), One(0.0)).0, 0.0);
    assert!((atan2(One(0.0), One(-1.0)).0 - PI).abs() < 1e-15);
    assert!(atan2(One(f64::NAN), One(1.0)).0.is_nan());
}

#[test]
fn the_power_of_density_has_its_stated_error() {
    let power = crate::lanes::DENSITY_POWER;
    // Not pow(1 + x): the sum alone is rounded.
    let exact = |x: f64| libm::exp(power * libm::log1p(x));
    let library = |x: f64| (exact(x), exact(x));
    assert!(largest(between(-0.02, 0.02), double(density_power), library) < 5e-16);
    assert!(largest(between(-0.25, 0.02), double(density_power), library) < 3e-12);
    let rounded = |x: f64| library(f64::from(x as f32));
    assert!(largest(between(-0.02, 0.02), single(density_power), rounded) < 3e-7);
    assert!(largest(between(-0.25, 0.02), single(density_power), rounded) < 5e-4);
}
