//! A root between two times of different sign.

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

/// Where `value` changes sign between `low` and `high` after a number of halvings; `value(high)` decides the sign.
pub fn halved(mut low: f64, mut high: f64, halvings: u32, value: impl Fn(f64) -> f64) -> f64 {
    let after = value(high) > 0.0;
    for _ in 0..halvings {
        let middle = 0.5 * (low + high);
        if (value(middle) > 0.0) == after {
            high = middle;
        } else {
            low = middle;
        }
    }
    0.5 * (low + high)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn finds_the_root_of_a_cosine() {
        let root = bisect(0.0, 3.0, f64::cos);
        assert!((root - std::f64::consts::FRAC_PI_2).abs() <= EVENT_RESOLUTION_S);
    }
}
