//! Extremes, crossings and integrals between the looks of a flight.
//!
//! The looks are close enough together for a function of the flight to have at most one extreme between neighbours; where it lies is then
//! a matter of golden section or bisection on the dense solution.

use sim_core::root::{bisect, golden_section};

/// Width at which golden section stops, in the argument's unit (s, rad). A smooth extreme is flat over much more than that.
const EXTREME_RESOLUTION: f64 = 1e-8;

/// Difference up to which two intervals between looks count as equal, s: what rounding of the times leaves.
const EQUAL_INTERVALS_S: f64 = 1e-12;

/// Largest value of a function and where: `(time, value)`. `points` are its values at the looks, times rising; the earliest of equals wins.
///
/// None for no points. Every look that is higher than its neighbours and could hide the largest value is refined between them.
pub fn largest(points: &[(f64, f64)], f: impl Fn(f64) -> f64) -> Option<(f64, f64)> {
    largest_within(points, EXTREME_RESOLUTION, f)
}

/// The same to a resolution of the argument, for functions that are dear.
pub fn largest_within(
    points: &[(f64, f64)],
    resolution: f64,
    f: impl Fn(f64) -> f64,
) -> Option<(f64, f64)> {
    let mut best = *points.first()?;
    for &point in points {
        if point.1 > best.1 {
            best = point;
        }
    }
    let highest_look = best.1;
    for (i, &(_, value)) in points.iter().enumerate() {
        let (low, high) = (i.saturating_sub(1), (i + 1).min(points.len() - 1));
        let fall = (value - points[low].1).max(value - points[high].1);
        let is_top = points[low].1 <= value && points[high].1 <= value;
        // A level stretch hides no top between its looks.
        if is_top && fall > 0.0 && value + fall >= highest_look {
            let refined = golden_section((points[low].0, points[high].0), resolution, &f);
            if refined.1 > best.1 {
                best = refined;
            }
        }
    }
    Some(best)
}

/// Smallest value of a function and where, as [`largest`].
pub fn smallest(points: &[(f64, f64)], f: impl Fn(f64) -> f64) -> Option<(f64, f64)> {
    let turned: Vec<(f64, f64)> = points.iter().map(|&(t, v)| (t, -v)).collect();
    largest(&turned, |t| -f(t)).map(|(t, v)| (t, -v))
}

/// Stretches of time in which a function is above zero.
#[derive(Clone, Debug, PartialEq)]
pub struct Above {
    /// Starts and ends, s.
    pub stretches: Vec<(f64, f64)>,
}

impl Above {
    /// How long in all, s.
    pub fn total_s(&self) -> f64 {
        // From +0: an empty sum of floats is −0, which a table would show.
        self.stretches
            .iter()
            .fold(0.0, |sum, (start, end)| sum + (end - start))
    }
}

/// When a function is above zero. `points` are its values at the looks. Crossings are bisected; a top or a trough between looks that
/// reaches across zero counts.
pub fn above_zero(points: &[(f64, f64)], f: impl Fn(f64) -> f64) -> Above {
    let mut stretches = Vec::new();
    let mut open: Option<f64> = None;
    let mut before: Option<(f64, f64)> = None;
    for point in with_hidden_crossings(points, &f) {
        match (before, open) {
            (None, _) if point.1 > 0.0 => open = Some(point.0),
            (Some(last), None) if point.1 > 0.0 => open = Some(bisect(last.0, point.0, &f)),
            (Some(last), Some(start)) if point.1 <= 0.0 => {
                stretches.push((start, bisect(last.0, point.0, &f)));
                open = None;
            }
            _ => {}
        }
        before = Some(point);
    }
    if let (Some(start), Some(last)) = (open, before) {
        stretches.push((start, last.0));
    }
    Above { stretches }
}

/// The looks, and between them the tops above and the troughs below zero that no look shows.
fn with_hidden_crossings(points: &[(f64, f64)], f: impl Fn(f64) -> f64) -> Vec<(f64, f64)> {
    let mut all = points.to_vec();
    for near in points.windows(3) {
        let [a, b, c] = [near[0], near[1], near[2]];
        let sign = if b.1 > 0.0 { -1.0 } else { 1.0 };
        let same_side = [a, b, c].iter().all(|p| (p.1 > 0.0) == (b.1 > 0.0));
        let fall = (sign * (b.1 - a.1)).max(sign * (b.1 - c.1));
        let is_top = sign * a.1 <= sign * b.1 && sign * c.1 <= sign * b.1;
        if same_side && is_top && sign * b.1 + fall > 0.0 {
            let (time, turned) = golden_section((a.0, c.0), EXTREME_RESOLUTION, |t| sign * f(t));
            if turned > 0.0 {
                all.push((time, sign * turned));
            }
        }
    }
    all.sort_by(|a, b| a.0.total_cmp(&b.0));
    all
}

/// Integral of a function over the looks by Simpson's rule: over pairs of equal intervals with the looks alone, as nearly all are, over
/// others with the value in the middle.
pub fn integral(points: &[(f64, f64)], f: impl Fn(f64) -> f64) -> f64 {
    let simpson =
        |a: (f64, f64), middle: f64, b: (f64, f64)| (b.0 - a.0) / 6.0 * (a.1 + 4.0 * middle + b.1);
    let mut sum = 0.0;
    let mut rest = points;
    while let [a, b, ..] = *rest {
        match rest.get(2) {
            Some(&c) if ((c.0 - b.0) - (b.0 - a.0)).abs() < EQUAL_INTERVALS_S => {
                sum += simpson(a, b.1, c);
                rest = &rest[2..];
            }
            _ => {
                sum += simpson(a, f(0.5 * (a.0 + b.0)), b);
                rest = &rest[1..];
            }
        }
    }
    sum
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::f64::consts::{FRAC_PI_2, PI};

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
        let (time, value) = largest(&points, f64::sin).unwrap();
        assert!((time - FRAC_PI_2).abs() < 1e-6 && (value - 1.0).abs() < 1e-14);
        let (time, value) = smallest(&points, f64::sin).unwrap();
        assert!((time - 1.5 * PI).abs() < 1e-6 && (value + 1.0).abs() < 1e-14);
        assert!((integral(&looks(PI, 64, f64::sin), f64::sin) - 2.0).abs() < 1e-6);
        let unequal = [0.0, 0.4, 0.9, 1.2, 1.5, 2.2, 2.7, PI].map(|t: f64| (t, t.sin()));
        assert!((integral(&unequal, f64::sin) - 2.0).abs() < 2e-4);
        let over_half = |t: f64| t.sin() - 0.5;
        let above = above_zero(&looks(6.2, 23, over_half), over_half);
        assert_eq!(above.stretches.len(), 1);
        assert!((above.stretches[0].0 - PI / 6.0).abs() < 1e-8);
        assert!((above.total_s() - 2.0 * PI / 3.0).abs() < 1e-8);
    }

    // The top of 1e-4 − (t − 0.55)² lies between looks 0.1 apart that are all below zero; it is above zero for 2e-2 s (by hand).
    #[test]
    fn a_top_that_no_look_shows_counts() {
        let hill = |t: f64| 1e-4 - (t - 0.55) * (t - 0.55);
        let points = looks(1.0, 10, hill);
        assert!(points.iter().all(|p| p.1 < 0.0));
        let above = above_zero(&points, hill);
        assert!((above.total_s() - 0.02).abs() < 1e-8, "{above:?}");
        let trough = |t: f64| -hill(t);
        let above = above_zero(&looks(1.0, 10, trough), trough);
        assert_eq!(above.stretches.len(), 2);
        assert!((above.total_s() - 0.98).abs() < 1e-8);
    }

    #[test]
    fn extremes_at_the_ends_and_the_second_of_two_tops() {
        let f = |t: f64| t.cos();
        assert_eq!(largest(&looks(3.0, 10, f), f), Some((0.0, 1.0)));
        // Tops of sin(2πt)(1 + 0.01 t) rise with time; the looks meet the first top exactly and miss the second by 0.04.
        let g = |t: f64| (2.0 * PI * t).sin() * (1.0 + 0.01 * t);
        let times = [0.0, 0.25, 0.5, 0.75, 1.0, 1.21, 1.29, 1.5, 2.0];
        let points: Vec<(f64, f64)> = times.iter().map(|&t| (t, g(t))).collect();
        let (time, value) = largest(&points, g).unwrap();
        assert!(
            (time - 1.25).abs() < 1e-3 && value > 1.0125,
            "{time} {value}"
        );
        assert_eq!(largest(&[], f), None);
    }
}
