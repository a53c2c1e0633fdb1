//! Extremes, crossings and integrals between the looks of a flight (MODEL.md § 28.7).
//!
//! The looks are close enough together for a function of the flight to have at most one extreme between neighbours; where it lies is then
//! a matter of a few calls on the dense solution. Nothing here allocates.

use sim_core::root::{crossing, top_between};

/// Width to which an extreme is found, in the argument's unit (s, rad). A smooth extreme is flat over much more than that.
const EXTREME_RESOLUTION: f64 = 1e-8;

/// How far inside the first and the last look it is tried whether a function rises from there, as a share of the way to the next look; it
/// is tried at [`EXTREME_RESOLUTION`] too.
const INWARDS: f64 = 1e-3;

/// Difference up to which two intervals between looks count as equal, s: what rounding of the times leaves.
const EQUAL_INTERVALS_S: f64 = 1e-12;

/// A function at looks, times rising.
pub trait Points {
    /// How many.
    fn count(&self) -> usize;
    /// Time and value at a look.
    fn point(&self, i: usize) -> (f64, f64);
}

impl Points for [(f64, f64)] {
    fn count(&self) -> usize {
        self.len()
    }
    fn point(&self, i: usize) -> (f64, f64) {
        self[i]
    }
}

/// The same with the values' signs changed.
struct Turned<'p, P: ?Sized>(&'p P);

impl<P: Points + ?Sized> Points for Turned<'_, P> {
    fn count(&self) -> usize {
        self.0.count()
    }
    fn point(&self, i: usize) -> (f64, f64) {
        let (time, value) = self.0.point(i);
        (time, -value)
    }
}

/// Largest value of a function and where: `(time, value)`. `points` are its values at the looks; the earliest of equals wins.
///
/// None for no points. Every look that is higher than its neighbours and could hide the largest value is refined between them.
pub fn largest(points: &(impl Points + ?Sized), f: impl Fn(f64) -> f64) -> Option<(f64, f64)> {
    largest_within(points, EXTREME_RESOLUTION, f)
}

/// The same to a resolution of the argument, for functions that are dear.
pub fn largest_within(
    points: &(impl Points + ?Sized),
    resolution: f64,
    f: impl Fn(f64) -> f64,
) -> Option<(f64, f64)> {
    let last = points.count().checked_sub(1)?;
    let mut best = points.point(0);
    for i in 1..=last {
        let point = points.point(i);
        if point.1 > best.1 {
            best = point;
        }
    }
    let highest_look = best.1;
    let (mut low, mut here) = (points.point(0), points.point(0));
    for i in 0..=last {
        let high = if i < last { points.point(i + 1) } else { here };
        let fall = (here.1 - low.1).max(here.1 - high.1);
        let is_top = low.1 <= here.1 && high.1 <= here.1;
        // A level stretch hides no top between its looks.
        if is_top && fall > 0.0 && here.1 + fall >= highest_look {
            let refined = if i == 0 {
                top_inside(here, high, resolution, &f)
            } else if i == last {
                top_inside(here, low, resolution, &f)
            } else {
                Some(top_between(low, here, high, resolution, &f))
            };
            best = refined.filter(|top| top.1 > best.1).unwrap_or(best);
        }
        (low, here) = (here, high);
    }
    Some(best)
}

/// The top between the first or last look, which is the higher, and its neighbour; none where the function does not rise inwards.
fn top_inside(
    end: (f64, f64),
    next: (f64, f64),
    resolution: f64,
    f: impl Fn(f64) -> f64,
) -> Option<(f64, f64)> {
    let way = next.0 - end.0;
    [resolution.copysign(way), INWARDS * way]
        .into_iter()
        .filter(|by| by.abs() < way.abs())
        .map(|by| (end.0 + by, f(end.0 + by)))
        .find(|inside| inside.1 > end.1)
        .map(|inside| {
            let (low, high) = if way > 0.0 { (end, next) } else { (next, end) };
            top_between(low, inside, high, resolution, &f)
        })
}

/// Smallest value of a function and where, as [`largest`].
pub fn smallest(points: &(impl Points + ?Sized), f: impl Fn(f64) -> f64) -> Option<(f64, f64)> {
    largest(&Turned(points), |t| -f(t)).map(|(t, v)| (t, -v))
}

/// Hands over the stretches of time in which a function is above zero, start and end each, in order. `points` are its values at the
/// looks; a top or a trough between looks that reaches across zero counts.
pub fn above_zero(
    points: &(impl Points + ?Sized),
    f: impl Fn(f64) -> f64,
    stretch: impl FnMut(f64, f64),
) {
    let Some(range) = Range::of(points) else {
        return;
    };
    if range.is_clear_below() {
        return;
    }
    let mut walk = Walk {
        f: &f,
        stretch,
        open: None,
        before: None,
    };
    let count = points.count();
    // The top or trough round the look before, where it lies after that look.
    let mut waiting: Option<(f64, f64)> = None;
    let mut near: [Option<(f64, f64)>; 3] = [None; 3];
    for i in 0..=count {
        let next = (i < count).then(|| points.point(i));
        near = [near[1], near[2], next];
        let Some(here) = near[1] else { continue };
        let hidden = match (near[0], near[2]) {
            (Some(low), Some(high)) => hidden_crossing(low, here, high, &f),
            _ => None,
        };
        let (early, late) = match hidden {
            Some(one) if one.0 < here.0 => (Some(one), None),
            other => (None, other),
        };
        match (waiting, early) {
            (Some(a), Some(b)) if b.0 < a.0 => [b, a].map(|point| walk.on(point)),
            (a, b) => [a, b].map(|point| point.map_or((), |point| walk.on(point))),
        };
        walk.on(here);
        waiting = late;
    }
    walk.end();
}

/// How long a function is above zero in all, s.
pub fn time_above_zero_s(points: &(impl Points + ?Sized), f: impl Fn(f64) -> f64) -> f64 {
    // From +0: an empty sum of floats is −0, which a table would show.
    let mut total_s = 0.0;
    above_zero(points, f, |start, end| total_s += end - start);
    total_s
}

/// How far a function's values at the looks reach, and how far it goes between two of them.
struct Range {
    most: f64,
    step: f64,
}

impl Range {
    fn of(points: &(impl Points + ?Sized)) -> Option<Self> {
        let last = points.count().checked_sub(1)?;
        let mut before = points.point(0).1;
        let (mut most, mut step) = (before, 0.0_f64);
        for i in 1..=last {
            let here = points.point(i).1;
            most = most.max(here);
            step = step.max((here - before).abs());
            before = here;
        }
        Some(Range { most, step })
    }

    /// Whether the function is below zero everywhere: no top rises over its look by more than the look stands over its neighbours.
    fn is_clear_below(&self) -> bool {
        self.most + self.step <= 0.0
    }
}

/// From point to point, looking for changes of sign.
struct Walk<'f, F, S> {
    f: &'f F,
    stretch: S,
    /// Since when the function has been above zero.
    open: Option<f64>,
    before: Option<(f64, f64)>,
}

impl<F: Fn(f64) -> f64, S: FnMut(f64, f64)> Walk<'_, F, S> {
    fn on(&mut self, point: (f64, f64)) {
        match (self.before, self.open) {
            (None, _) if point.1 > 0.0 => self.open = Some(point.0),
            (Some(last), None) if point.1 > 0.0 => {
                self.open = Some(crossing(last, point, self.f));
            }
            (Some(last), Some(start)) if point.1 <= 0.0 => {
                (self.stretch)(start, crossing(last, point, self.f));
                self.open = None;
            }
            _ => {}
        }
        self.before = Some(point);
    }

    fn end(&mut self) {
        if let (Some(start), Some(last)) = (self.open, self.before) {
            (self.stretch)(start, last.0);
        }
    }
}

/// A top above or a trough below zero round a look that no look shows.
fn hidden_crossing(
    a: (f64, f64),
    b: (f64, f64),
    c: (f64, f64),
    f: impl Fn(f64) -> f64,
) -> Option<(f64, f64)> {
    let sign = if b.1 > 0.0 { -1.0 } else { 1.0 };
    let same_side = [a, c].iter().all(|p| (p.1 > 0.0) == (b.1 > 0.0));
    let fall = (sign * (b.1 - a.1)).max(sign * (b.1 - c.1));
    let is_top = sign * a.1 <= sign * b.1 && sign * c.1 <= sign * b.1;
    if !(same_side && is_top && sign * b.1 + fall > 0.0) {
        return None;
    }
    let turned = |p: (f64, f64)| (p.0, sign * p.1);
    let (time, top) = top_between(turned(a), turned(b), turned(c), EXTREME_RESOLUTION, |t| {
        sign * f(t)
    });
    (top > 0.0).then_some((time, sign * top))
}

/// Integral of a function over the looks by Simpson's rule: over pairs of equal intervals with the looks alone, as nearly all are, over
/// others with the value in the middle.
pub fn integral(points: &(impl Points + ?Sized), f: impl Fn(f64) -> f64) -> f64 {
    let simpson =
        |a: (f64, f64), middle: f64, b: (f64, f64)| (b.0 - a.0) / 6.0 * (a.1 + 4.0 * middle + b.1);
    let mut sum = 0.0;
    let mut i = 0;
    while i + 1 < points.count() {
        let (a, b) = (points.point(i), points.point(i + 1));
        let c = (i + 2 < points.count()).then(|| points.point(i + 2));
        match c {
            Some(c) if ((c.0 - b.0) - (b.0 - a.0)).abs() < EQUAL_INTERVALS_S => {
                sum += simpson(a, b.1, c);
                i += 2;
            }
            _ => {
                sum += simpson(a, f(0.5 * (a.0 + b.0)), b);
                i += 1;
            }
        }
    }
    sum
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::f64::consts::{FRAC_PI_2, PI};

    /// When a function is above zero.
    fn stretches(points: &[(f64, f64)], f: impl Fn(f64) -> f64) -> Vec<(f64, f64)> {
        let mut all = Vec::new();
        above_zero(points, f, |start, end| all.push((start, end)));
        all
    }

    fn looks(end: f64, n: usize, f: impl Fn(f64) -> f64) -> Vec<(f64, f64)> {
        (0..=n)
            .map(|i| end * i as f64 / n as f64)
            .map(|t| (t, f(t)))
            .collect()
    }

    // Calculus: sin has its top 1 at π/2 and its trough −1 at 3π/2, ∫₀^π sin = 2; it is above ½ from π/6 to 5π/6.
    #[test]
    fn a_sine_between_coarse_looks() {
        let points = looks(6.2, 23, f64::sin);
        let (time, value) = largest(&points[..], f64::sin).unwrap();
        assert!((time - FRAC_PI_2).abs() < 1e-6 && (value - 1.0).abs() < 1e-14);
        let (time, value) = smallest(&points[..], f64::sin).unwrap();
        assert!((time - 1.5 * PI).abs() < 1e-6 && (value + 1.0).abs() < 1e-14);
        assert!((integral(&looks(PI, 64, f64::sin)[..], f64::sin) - 2.0).abs() < 1e-6);
        let unequal = [0.0, 0.4, 0.9, 1.2, 1.5, 2.2, 2.7, PI].map(|t: f64| (t, t.sin()));
        assert!((integral(&unequal[..], f64::sin) - 2.0).abs() < 2e-4);
        let over_half = |t: f64| t.sin() - 0.5;
        let points = looks(6.2, 23, over_half);
        let above = stretches(&points, over_half);
        assert_eq!(above.len(), 1);
        assert!((above[0].0 - PI / 6.0).abs() < 1e-8);
        let total_s = time_above_zero_s(&points[..], over_half);
        assert!((total_s - 2.0 * PI / 3.0).abs() < 1e-8);
    }

    // The top of 1e-4 − (t − 0.55)² lies between looks 0.1 apart that are all below zero; it is above zero for 2e-2 s (by hand).
    #[test]
    fn a_top_that_no_look_shows_counts() {
        let hill = |t: f64| 1e-4 - (t - 0.55) * (t - 0.55);
        let points = looks(1.0, 10, hill);
        assert!(points.iter().all(|p| p.1 < 0.0));
        let total_s = time_above_zero_s(&points[..], hill);
        assert!((total_s - 0.02).abs() < 1e-8, "{total_s}");
        let trough = |t: f64| -hill(t);
        let points = looks(1.0, 10, trough);
        assert_eq!(stretches(&points, trough).len(), 2);
        assert!((time_above_zero_s(&points[..], trough) - 0.98).abs() < 1e-8);
    }

    #[test]
    fn extremes_at_the_ends_and_the_second_of_two_tops() {
        let f = |t: f64| t.cos();
        assert_eq!(largest(&looks(3.0, 10, f)[..], f), Some((0.0, 1.0)));
        // Tops of sin(2πt)(1 + 0.01 t) rise with time; the looks meet the first top exactly and miss the second by 0.04.
        let g = |t: f64| (2.0 * PI * t).sin() * (1.0 + 0.01 * t);
        let times = [0.0, 0.25, 0.5, 0.75, 1.0, 1.21, 1.29, 1.5, 2.0];
        let points: Vec<(f64, f64)> = times.iter().map(|&t| (t, g(t))).collect();
        let (time, value) = largest(&points[..], g).unwrap();
        assert!(
            (time - 1.25).abs() < 1e-3 && value > 1.0125,
            "{time} {value}"
        );
        assert_eq!(largest(&[][..], f), None);
    }

    // Two troughs, one after its look and one before, of (t − 0.45)² − 1e-4 and (t − 0.57)² − 1e-4 (by hand): each is below zero for 0.02 s, though no look is.
    #[test]
    fn troughs_before_and_after_their_looks_are_met_in_order() {
        let f = |t: f64| ((t - 0.45) * (t - 0.45)).min((t - 0.57) * (t - 0.57)) - 1e-4;
        let points: Vec<(f64, f64)> = [0.0, 0.3, 0.43, 0.48, 0.53, 0.59, 0.8]
            .map(|t| (t, f(t)))
            .to_vec();
        assert!(points.iter().all(|p| p.1 > 0.0));
        let above = stretches(&points, f);
        let ends = [(0.0, 0.44), (0.46, 0.56), (0.58, 0.8)];
        assert_eq!(above.len(), 3, "{above:?}");
        for (found, wanted) in above.iter().zip(ends) {
            assert!((found.0 - wanted.0).abs() < 1e-8 && (found.1 - wanted.1).abs() < 1e-8);
        }
    }
}
