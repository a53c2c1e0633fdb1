//! Values that follow their targets no faster than a limit (MODEL.md § 7.2).

use crate::pilot::ONE_CUT_S;
use crate::segment::Line;

/// How fast throttles and tabs can change; no limit where none is given.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Slew {
    /// Largest change of a motor's duty, 1/s.
    pub throttle_1_s: Option<f64>,
    /// Largest change of a tab, rad/s.
    pub tabs_rad_s: Option<f64>,
}

impl Slew {
    /// Whether anything is limited.
    pub fn is_on(&self) -> bool {
        self.throttle_1_s.is_some() || self.tabs_rad_s.is_some()
    }
}

/// A gap to the target this small is none: rounding of the cut at which they met.
const MET: f64 = 1e-12;

/// How a value goes on from `from` towards a target, and how long until they meet (s; infinite where they have met or never do).
///
/// A gap that would close within 1e-9 s is closed at once: no solver can step between two cuts that close.
pub fn follow(from: f64, target: &Line<f64>, largest_rate: Option<f64>) -> (Line<f64>, f64) {
    let Some(rate) = largest_rate else {
        return (target.clone(), f64::INFINITY);
    };
    let gap = target.start - from;
    let towards = rate.copysign(gap);
    let closing = (towards - target.slope) * gap.signum();
    let meets_after_s = if closing > 0.0 {
        gap.abs() / closing
    } else {
        f64::INFINITY
    };
    let met = gap.abs() <= MET || meets_after_s <= ONE_CUT_S;
    if !met {
        let slope = towards;
        return (Line { start: from, slope }, meets_after_s);
    }
    let slope = target.slope.clamp(-rate, rate);
    let start = target.start;
    (Line { start, slope }, f64::INFINITY)
}

#[cfg(test)]
mod tests {
    use super::*;

    // Closed forms by hand: a step of 0.6 at 2/s takes 0.3 s; a target that runs away at 1/s is met at 2/s after 0.6/(2 − 1), one that
    // comes closer at 1/s after 0.6/(2 + 1); a ramp of 3/s leaves a value limited to 2/s behind at once.
    #[test]
    fn meets_its_target_when_the_gap_is_closed() {
        for (from, start, slope, expected_slope, meets_s) in [
            (0.2, 0.8, 0.0, 2.0, 0.3),
            (0.2, 0.8, 1.0, 2.0, 0.6),
            (0.2, 0.8, -1.0, 2.0, 0.2),
            (0.8, 0.2, 0.0, -2.0, 0.3),
            (0.8, 0.2, 1.0, -2.0, 0.2),
            (0.2, 0.2, 3.0, 2.0, f64::INFINITY),
            (0.2, 0.2, -3.0, -2.0, f64::INFINITY),
            (0.2, 0.2, 1.5, 1.5, f64::INFINITY),
            (0.2, 0.8, 2.5, 2.0, f64::INFINITY),
        ] {
            let (line, after_s) = follow(from, &Line { start, slope }, Some(2.0));
            assert_eq!((line.start, line.slope), (from, expected_slope));
            assert!(
                after_s == meets_s || (after_s - meets_s).abs() < 1e-12,
                "{from} {start} {slope}: {after_s}"
            );
        }
        let free = Line {
            start: 0.8,
            slope: 9.0,
        };
        assert_eq!(follow(0.2, &free, None), (free.clone(), f64::INFINITY));
    }
}
