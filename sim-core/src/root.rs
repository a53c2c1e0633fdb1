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

    #[test]
    fn finds_the_root_of_a_cosine() {
        let root = bisect(0.0, 3.0, f64::cos);
        assert!((root - std::f64::consts::FRAC_PI_2).abs() <= EVENT_RESOLUTION_S);
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
