//! A root between two times of different sign; a top between two places.

/// Time resolution of events, s.
pub const EVENT_RESOLUTION_S: f64 = 1e-9;

/// Where `value` changes sign between `low` and `high`, by bisection to [`EVENT_RESOLUTION_S`]; the later end is returned.
///
/// Bisection and not something quicker: the dense output is cheap, and a clearance has kinks. `value(high)` decides the sign;
/// `low` counts as being on the other side whatever its own value says, so that a root just left behind does no harm.
pub fn bisect(mut low: f64, mut high: f64, value: impl Fn(f64) -> f64) -> f64 {
    let after = value(high) > 0.0;
    while high - low > EVENT_RESOLUTION_S {
        let middle = 0.5 * (low + high);
        if middle <= low || middle >= high {
            break;
        }
        if (value(middle) > 0.0) == after {
            high = middle;
        } else {
            low = middle;
        }
    }
    high
}

/// Where `value` changes sign between `low` and `high`, to rounding: false position in the Illinois way, which keeps the root between
/// two ends and halves the weight of an end that stays (Dahlquist & Björck, Numerical Methods, from memory). One of the ends where the
/// sign is the same at both.
pub fn false_position(mut low: f64, mut high: f64, value: impl Fn(f64) -> f64) -> f64 {
    const MOST_STEPS: u32 = 100;
    let (mut at_low, mut at_high) = (value(low), value(high));
    let resolution = 1e-14 * low.abs().max(high.abs());
    let mut stayed = 0;
    for _ in 0..MOST_STEPS {
        let middle = high - at_high * (high - low) / (at_high - at_low);
        // Rounding at a flat end; also what is not a number.
        if !(middle > low && middle < high) {
            break;
        }
        let at_middle = value(middle);
        let step = if at_middle * at_high > 0.0 {
            let step = high - middle;
            (high, at_high) = (middle, at_middle);
            if stayed < 0 {
                at_low *= 0.5;
            }
            stayed = -1;
            step
        } else {
            let step = middle - low;
            (low, at_low) = (middle, at_middle);
            if stayed > 0 {
                at_high *= 0.5;
            }
            stayed = 1;
            step
        };
        if at_middle == 0.0 || step <= resolution {
            return middle;
        }
    }
    if at_low.abs() < at_high.abs() {
        low
    } else {
        high
    }
}

/// Where a function crosses 0 between two places (time and value each) of which one is above 0 and the other is not, to
/// [`EVENT_RESOLUTION_S`]; the later end is returned.
///
/// Source: R. P. Brent, Algorithms for Minimization without Derivatives, 1973, chapter 4 (from memory): inverse quadratic steps and secants
/// where they get on, else halves. For functions that are dear.
pub fn crossing(low: (f64, f64), high: (f64, f64), value: impl Fn(f64) -> f64) -> f64 {
    const HALF_RESOLUTION_S: f64 = 0.5 * EVENT_RESOLUTION_S;
    let ((mut before, mut at_before), (mut best, mut at_best)) = (low, high);
    // The other end of the bracket.
    let (mut other, mut at_other) = (before, at_before);
    let mut step = best - before;
    let mut step_before = step;
    loop {
        if at_other.abs() < at_best.abs() {
            (before, best, other) = (best, other, best);
            (at_before, at_best, at_other) = (at_best, at_other, at_best);
        }
        let least = 2.0 * f64::EPSILON * best.abs() + HALF_RESOLUTION_S;
        let half = 0.5 * (other - best);
        if half.abs() <= least {
            return best.max(other);
        }
        if at_best == 0.0 {
            return best;
        }
        let interpolated = (step_before.abs() >= least && at_before.abs() > at_best.abs())
            .then(|| {
                let s = at_best / at_before;
                let (p, q) = if before == other {
                    (2.0 * half * s, 1.0 - s)
                } else {
                    let (q, r) = (at_before / at_other, at_best / at_other);
                    let p = s * (2.0 * half * q * (q - r) - (best - before) * (r - 1.0));
                    (p, (q - 1.0) * (r - 1.0) * (s - 1.0))
                };
                if p > 0.0 { (p, -q) } else { (-p, q) }
            })
            .filter(|&(p, q)| {
                2.0 * p < 3.0 * half * q - (least * q).abs() && p < (0.5 * step_before * q).abs()
            });
        match interpolated {
            Some((p, q)) => (step_before, step) = (step, p / q),
            None => (step_before, step) = (half, half),
        }
        (before, at_before) = (best, at_best);
        best += if step.abs() > least {
            step
        } else {
            least.copysign(half)
        };
        at_best = value(best);
        if (at_best > 0.0) == (at_other > 0.0) {
            (other, at_other) = (before, at_before);
            step = best - before;
            step_before = step;
        }
    }
}

/// The top of a function between two places, looked for from one inside, to a width: the place and the value there. All three come with
/// their values; a function with one top between the outer ones has it found.
///
/// Source: R. P. Brent, Algorithms for Minimization without Derivatives, 1973, chapter 5 (from memory): parabolas where they get on, else
/// golden sections.
pub fn top_between(
    low: (f64, f64),
    inside: (f64, f64),
    high: (f64, f64),
    resolution: f64,
    f: impl Fn(f64) -> f64,
) -> (f64, f64) {
    const GOLDEN: f64 = 0.381_966_011_250_105_1;
    let least = resolution / 3.0;
    let (mut a, mut b) = (low.0, high.0);
    let (mut best, mut at_best) = inside;
    let ((mut second, mut at_second), (mut third, mut at_third)) = if low.1 >= high.1 {
        (low, high)
    } else {
        (high, low)
    };
    let mut step = b - a;
    let mut step_before = step;
    loop {
        let middle = 0.5 * (a + b);
        if (best - middle).abs() <= 2.0 * least - 0.5 * (b - a) {
            return (best, at_best);
        }
        let mut parabola = None;
        if step_before.abs() > least {
            let r = (best - second) * (at_third - at_best);
            let q = (best - third) * (at_second - at_best);
            let p = (best - third) * q - (best - second) * r;
            let q = 2.0 * (q - r);
            let (p, q) = if q > 0.0 { (-p, q) } else { (p, -q) };
            let gets_on = p.abs() < (0.5 * q * step_before).abs();
            if gets_on && p > q * (a - best) && p < q * (b - best) {
                parabola = Some(p / q);
            }
        }
        match parabola {
            Some(by) => {
                (step_before, step) = (step, by);
                let next = best + by;
                if next - a < 2.0 * least || b - next < 2.0 * least {
                    step = if best < middle { least } else { -least };
                }
            }
            None => {
                step_before = if best < middle { b - best } else { a - best };
                step = GOLDEN * step_before;
            }
        }
        let next = best
            + if step.abs() >= least {
                step
            } else {
                least.copysign(step)
            };
        let at_next = f(next);
        // Not where they are equal: on a level stretch of rounding the bracket would stay open.
        if at_next > at_best {
            *(if next < best { &mut b } else { &mut a }) = best;
            (third, at_third) = (second, at_second);
            (second, at_second) = (best, at_best);
            (best, at_best) = (next, at_next);
        } else {
            *(if next < best { &mut a } else { &mut b }) = next;
            if at_next >= at_second || second == best {
                (third, at_third) = (second, at_second);
                (second, at_second) = (next, at_next);
            } else if at_next >= at_third || third == best || third == second {
                (third, at_third) = (next, at_next);
            }
        }
    }
}

/// Top of a function with one top between two places, to a width: the place and the value there.
pub fn golden_section(
    (mut low, mut high): (f64, f64),
    resolution: f64,
    f: impl Fn(f64) -> f64,
) -> (f64, f64) {
    let share = (5.0_f64.sqrt() - 1.0) / 2.0;
    let (mut left, mut right) = (high - share * (high - low), low + share * (high - low));
    let (mut f_left, mut f_right) = (f(left), f(right));
    while high - low > resolution {
        if f_left >= f_right {
            (high, right, f_right) = (right, left, f_left);
            left = high - share * (high - low);
            f_left = f(left);
        } else {
            (low, left, f_left) = (left, right, f_right);
            right = low + share * (high - low);
            f_right = f(right);
        }
    }
    if f_left >= f_right {
        (left, f_left)
    } else {
        (right, f_right)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::f64::consts::FRAC_PI_2;

    #[test]
    fn finds_the_root_of_a_cosine() {
        let root = bisect(0.0, 3.0, f64::cos);
        assert!((root - std::f64::consts::FRAC_PI_2).abs() <= EVENT_RESOLUTION_S);
    }

    /// How often a function is called.
    fn counted<T>(f: impl Fn(f64) -> f64, find: impl FnOnce(&dyn Fn(f64) -> f64) -> T) -> (T, u32) {
        let calls = std::cell::Cell::new(0);
        let found = find(&|x| {
            calls.set(calls.get() + 1);
            f(x)
        });
        (found, calls.get())
    }

    // Roots in closed form, falling and rising, at a bend and at a jump: found as by halving, which takes 30 calls a unit, in fewer.
    #[test]
    fn crossings_known_in_closed_form() {
        let bend = |x: f64| {
            if x < 0.25 {
                x - 0.25
            } else {
                50.0 * (x - 0.25)
            }
        };
        let jump = |x: f64| if x < 0.7 { -1.0 } else { 2.0 };
        let flat = |x: f64| (x - 0.3).powi(9);
        type F<'a> = &'a dyn Fn(f64) -> f64;
        for (f, root, most) in [
            (&f64::cos as F<'_>, std::f64::consts::FRAC_PI_2, 12),
            (&|x: f64| x.exp() - 2.0, std::f64::consts::LN_2, 12),
            (&bend, 0.25, 14),
            (&jump, 0.7, 70),
            (&flat, 0.3, 120),
        ] {
            let (low, high) = ((0.0, f(0.0)), (2.0, f(2.0)));
            let (found, calls) = counted(f, |f| crossing(low, high, f));
            assert!((found - root).abs() <= EVENT_RESOLUTION_S, "{found} {root}");
            assert!(calls <= most, "{calls} calls for {root}");
        }
        // The end after the root, as bisection gives it.
        let late = crossing((0.0, -1.0), (2.0, 2.0), jump);
        assert!(late >= 0.7, "{late}");
    }

    // Tops in closed form (calculus), one at a bend; the places to what rounding leaves of the values, the values to rounding. Golden section
    // takes ln(2.2e8)/ln(1.618) = 40 calls for each; smooth tops take at most a third of that, others not more.
    #[test]
    fn tops_known_in_closed_form() {
        let bend = |x: f64| -(x - 0.4).abs();
        let quartic = |x: f64| 1.0 - (x - 0.6).powi(4);
        type F<'a> = &'a dyn Fn(f64) -> f64;
        let sine: F<'_> = &f64::sin;
        let hump = |x: f64| x * (-x).exp();
        let parabola = |x: f64| 3.0 - (x - 1.1) * (x - 1.1);
        for (f, (top, within), (value, value_within), most) in [
            (sine, (FRAC_PI_2, 3e-8), (1.0, 2e-15), 14),
            (&hump, (1.0, 3e-8), ((-1.0_f64).exp(), 2e-15), 14),
            (&parabola, (1.1, 3e-8), (3.0, 2e-15), 14),
            (&bend, (0.4, 1e-8), (0.0, 1e-8), 40),
            (&quartic, (0.6, 2e-4), (1.0, 2e-15), 40),
        ] {
            let at = |x: f64| (x, f(x));
            let ends = (at(0.0), at(2.2));
            let (found, calls) = counted(f, |f| top_between(ends.0, at(0.9), ends.1, 1e-8, f));
            assert!((found.0 - top).abs() <= within, "{found:?} {top}");
            assert!((found.1 - value).abs() <= value_within, "{found:?} {value}");
            assert!(calls <= most, "{calls} calls for {top}");
        }
    }

    // Roots known in closed form: π/2 of the cosine, ln 2, the cube root of 2, and one at a bend.
    #[test]
    fn false_position_meets_roots_known_in_closed_form() {
        let close = |found: f64, expected: f64| {
            assert!((found - expected).abs() < 1e-12, "{found} {expected}");
        };
        close(
            false_position(0.0, 3.0, f64::cos),
            std::f64::consts::FRAC_PI_2,
        );
        close(
            false_position(-5.0, 9.0, |x| x.exp() - 2.0),
            std::f64::consts::LN_2,
        );
        close(
            false_position(0.0, 40.0, |x| x.powi(3) - 2.0),
            2.0_f64.cbrt(),
        );
        close(
            false_position(0.0, 1.0, |x| {
                if x < 0.25 {
                    x - 0.25
                } else {
                    50.0 * (x - 0.25)
                }
            }),
            0.25,
        );
    }
}
