//! Throttle, left-right difference and tabs over time, and what else acts on them (MODEL.md § 7).

use crate::control::hold::Hold;
use crate::control::slew::Slew;
use crate::control::{Feedback, Module};
use crate::reused::Reused;
use crate::segment::{Line, Segment};

/// A change of a programme: from the value at `time_s` evenly to a new one.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Change {
    /// When it begins, s after release.
    pub time_s: f64,
    /// New value, in the programme's unit.
    pub to: f64,
    /// How long the change takes, s; 0 for a step.
    pub ramp_s: f64,
}

/// A value at release and its changes, in order of time.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Programme {
    /// Value at release.
    pub at_release: f64,
    /// Changes, times rising.
    pub changes: Vec<Change>,
}

impl Programme {
    /// A value that never changes.
    pub fn constant(value: f64) -> Self {
        Programme {
            at_release: value,
            changes: Vec::new(),
        }
    }

    /// Value just after a time (`inclusive`) or just before it.
    fn value(&self, time_s: f64, inclusive: bool) -> f64 {
        let mut value = self.at_release;
        for (i, change) in self.changes.iter().enumerate() {
            let begun = change.time_s < time_s || (inclusive && change.time_s == time_s);
            if !begun {
                break;
            }
            let until = self
                .changes
                .get(i + 1)
                .map_or(time_s, |next| next.time_s.min(time_s));
            let share = if change.ramp_s > 0.0 {
                ((until - change.time_s) / change.ramp_s).min(1.0)
            } else {
                1.0
            };
            value += (change.to - value) * share;
        }
        value
    }

    /// Value just after a time (s).
    pub fn after(&self, time_s: f64) -> f64 {
        self.value(time_s, true)
    }

    /// Value just before a time (s).
    pub fn before(&self, time_s: f64) -> f64 {
        self.value(time_s, false)
    }

    /// The programme up to a time, then its value just before that time kept.
    pub fn held_from(&self, time_s: f64) -> Self {
        let mut held = Programme::default();
        held.hold_from(self, time_s);
        held
    }

    /// Becomes another programme held from a time (s), in its own storage.
    pub fn hold_from(&mut self, other: &Programme, time_s: f64) {
        self.at_release = other.at_release;
        self.changes.clear();
        let before = |change: &&Change| change.time_s < time_s;
        self.changes.extend(other.changes.iter().filter(before));
        self.changes.push(Change {
            time_s,
            to: other.before(time_s),
            ramp_s: 0.0,
        });
    }

    fn breaks(&self) -> impl Iterator<Item = f64> + '_ {
        self.changes
            .iter()
            .flat_map(|change| [change.time_s, change.time_s + change.ramp_s])
    }

    /// The straight line of the programme over an interval without breaks inside it.
    ///
    /// Taken from two points inside, so that a break a rounding error beside the interval's ends does no harm.
    fn line(&self, start_s: f64, end_s: f64) -> Line<f64> {
        let quarter = (end_s - start_s) / 4.0;
        let first = self.after(start_s + quarter);
        let slope = (self.after(end_s - quarter) - first) / (2.0 * quarter);
        Line {
            start: first - slope * quarter,
            slope,
        }
    }
}

/// Everything the pilot and the module do.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Pilot {
    /// Common throttle, 0 to 1.
    pub throttle: Programme,
    /// Throttle of the left motor minus that of the right one; positive turns right.
    pub left_minus_right: Programme,
    /// What share of the difference each motor gets: ½ left, −½ right, 0 for a centre motor.
    pub steering_shares: Vec<f64>,
    /// Angle of each tab, rad.
    pub tabs: Vec<Programme>,
    /// How fast throttles and tabs can follow.
    pub slew: Slew,
    /// What the pilot holds by looking at the aircraft.
    pub hold: Option<Hold>,
    /// What the module does by itself.
    pub module: Module,
    /// When the power goes from all motors for good, s after release.
    pub power_cut_s: Option<f64>,
}

/// Controls between two of their breaks.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct ControlSpan {
    /// Start, s.
    pub start_s: f64,
    /// End, s.
    pub end_s: f64,
    /// What the programmes ask of each motor from the start on; may lie outside 0 to 1.
    pub wanted: Vec<Line<f64>>,
    /// Duty of each motor from the start on.
    pub throttles: Vec<Line<f64>>,
    /// Angle of each tab from the start on, rad.
    pub tabs: Vec<Line<f64>>,
    /// Whether a motor's duty is held at 0 or 1 against what throttle and difference ask for.
    pub held_at_limit: bool,
    /// What holding pilot and damper add to the programmes.
    pub feedback: Feedback,
    /// Whether the motors have power.
    pub powered: bool,
}

impl ControlSpan {
    /// The segment that begins at a time in the span (s), with each gust on (1) or off (0).
    pub fn segment_from(&self, start_s: f64, gusts_on: &[f64]) -> Segment<f64> {
        let mut segment = Segment::steady(&[], &[]);
        self.put_segment_from(start_s, gusts_on, &mut segment);
        segment
    }

    /// The same put into another one's storage.
    pub fn put_segment_from(&self, start_s: f64, gusts_on: &[f64], segment: &mut Segment<f64>) {
        let from_here = |lines: &[Line<f64>], to: &mut Vec<Line<f64>>| {
            to.clear();
            to.extend(lines.iter().map(|line| Line {
                start: line.after(start_s - self.start_s),
                slope: line.slope,
            }));
        };
        segment.start_time = start_s;
        from_here(&self.throttles, &mut segment.throttles);
        from_here(&self.tabs, &mut segment.tabs);
        segment.gusts_on.clear();
        segment.gusts_on.extend_from_slice(gusts_on);
    }

    /// Becomes another one, in its own storage.
    pub fn become_like(&mut self, other: &ControlSpan) {
        self.start_s = other.start_s;
        self.end_s = other.end_s;
        self.wanted.clone_from(&other.wanted);
        self.throttles.clone_from(&other.throttles);
        self.tabs.clone_from(&other.tabs);
        self.held_at_limit = other.held_at_limit;
        self.feedback = other.feedback;
        self.powered = other.powered;
    }
}

/// Stretches of controls, and what making them takes, in storage that is used again.
#[derive(Clone, Debug, Default)]
pub struct ControlSpans {
    spans: Reused<ControlSpan>,
    cuts_s: Vec<f64>,
}

impl std::ops::Deref for ControlSpans {
    type Target = [ControlSpan];
    fn deref(&self) -> &[ControlSpan] {
        &self.spans
    }
}

impl ControlSpans {
    /// Makes them those of a pilot who follows a throttle programme, from release to `end_s`, cut wherever a straight line ends.
    /// `more_breaks` are further times to cut at, s.
    pub fn fill(
        &mut self,
        pilot: &Pilot,
        throttle: &Programme,
        end_s: f64,
        more_breaks: impl Iterator<Item = f64>,
    ) {
        let cuts = &mut self.cuts_s;
        cuts.clear();
        cuts.extend(
            throttle
                .breaks()
                .chain(pilot.left_minus_right.breaks())
                .chain(pilot.tabs.iter().flat_map(Programme::breaks))
                .chain(pilot.power_cut_s)
                .chain(more_breaks),
        );
        tidy(cuts, end_s);
        for i in 1..cuts.len() {
            let (from_s, to_s) = (cuts[i - 1], cuts[i]);
            for line in pilot.wanted(throttle, from_s, to_s) {
                let inside = |t: &f64| *t > from_s && *t < to_s;
                cuts.extend(limit_crossings(&line, from_s).filter(inside));
            }
        }
        tidy(cuts, end_s);
        self.spans.clear();
        for ends in cuts.windows(2) {
            pilot.span(throttle, ends[0], ends[1], self.spans.add());
        }
    }
}

impl Pilot {
    /// Same steering and tabs, throttle kept from a time (s) on as it was just before it.
    pub fn with_throttle_held_from(&self, time_s: f64) -> Self {
        Pilot {
            throttle: self.throttle.held_from(time_s),
            ..self.clone()
        }
    }

    /// The controls from release to `end_s`, cut wherever a straight line ends. `more_breaks` are further times to cut at, s.
    pub fn spans(&self, end_s: f64, more_breaks: impl Iterator<Item = f64>) -> ControlSpans {
        let mut spans = ControlSpans::default();
        spans.fill(self, &self.throttle, end_s, more_breaks);
        spans
    }

    /// Duty each motor would have without limits.
    fn wanted(
        &self,
        throttle: &Programme,
        start_s: f64,
        end_s: f64,
    ) -> impl Iterator<Item = Line<f64>> + use<'_> {
        let common = throttle.line(start_s, end_s);
        let difference = self.left_minus_right.line(start_s, end_s);
        self.steering_shares.iter().map(move |share| Line {
            start: common.start + share * difference.start,
            slope: common.slope + share * difference.slope,
        })
    }

    fn span(&self, throttle: &Programme, start_s: f64, end_s: f64, span: &mut ControlSpan) {
        let middle_s = (end_s - start_s) / 2.0;
        (span.start_s, span.end_s) = (start_s, end_s);
        span.wanted.clear();
        span.wanted.extend(self.wanted(throttle, start_s, end_s));
        span.powered = self
            .power_cut_s
            .is_none_or(|cut_s| start_s + middle_s < cut_s);
        span.throttles.clone_from(&span.wanted);
        span.held_at_limit = if span.powered {
            hold_to_limits(&mut span.throttles, middle_s)
        } else {
            span.throttles.fill(Line::constant(0.0));
            false
        };
        span.tabs.clear();
        span.tabs
            .extend(self.tabs.iter().map(|tab| tab.line(start_s, end_s)));
        span.feedback = Feedback::default();
    }
}

/// Holds duties to 0 and 1, lines that do not cross them on the way, and says whether one is; looked at `middle_s` after their start.
pub(crate) fn hold_to_limits(duties: &mut [Line<f64>], middle_s: f64) -> bool {
    let mut held_at_limit = false;
    for line in duties {
        let value = line.after(middle_s);
        if !(0.0..=1.0).contains(&value) {
            held_at_limit |= !(-1e-12..=1.0 + 1e-12).contains(&value);
            *line = Line::constant(value.clamp(0.0, 1.0));
        }
    }
    held_at_limit
}

/// When a line meets 0 and 1, s.
pub(crate) fn limit_crossings(line: &Line<f64>, start_s: f64) -> impl Iterator<Item = f64> + use<> {
    let Line { start, slope } = line.clone();
    [0.0, 1.0]
        .into_iter()
        .filter(move |_| slope != 0.0)
        .map(move |limit| start_s + (limit - start) / slope)
}

/// Cuts closer together than this are one, s: sums of times meet only up to rounding, and no solver can step between them.
pub(crate) const ONE_CUT_S: f64 = 1e-9;

/// Cuts in order from 0 to the end, doubles and those outside left out.
fn tidy(cuts: &mut Vec<f64>, end_s: f64) {
    cuts.retain(|&t| t > ONE_CUT_S && t < end_s - ONE_CUT_S);
    cuts.push(0.0);
    cuts.sort_unstable_by(f64::total_cmp);
    cuts.dedup_by(|later, earlier| *later - *earlier < ONE_CUT_S);
    cuts.push(end_s);
}

#[cfg(test)]
mod tests {
    use super::*;

    fn programme(at_release: f64, changes: &[(f64, f64, f64)]) -> Programme {
        Programme {
            at_release,
            changes: changes
                .iter()
                .map(|&(time_s, to, ramp_s)| Change { time_s, to, ramp_s })
                .collect(),
        }
    }

    #[test]
    fn steps_and_ramps_follow_each_other() {
        let p = programme(0.2, &[(1.0, 0.6, 0.0), (2.0, 1.0, 0.4), (2.2, 0.0, 0.2)]);
        for (time, before, after) in [
            (0.0, 0.2, 0.2),
            (1.0, 0.2, 0.6),
            (2.1, 0.7, 0.7),
            (2.2, 0.8, 0.8),
            (2.3, 0.4, 0.4),
            (9.0, 0.0, 0.0),
        ] {
            assert!(
                (p.before(time) - before).abs() < 1e-12,
                "before {time}: {}",
                p.before(time)
            );
            assert!(
                (p.after(time) - after).abs() < 1e-12,
                "after {time}: {}",
                p.after(time)
            );
        }
        let held = p.held_from(2.1);
        assert!((held.after(5.0) - 0.7).abs() < 1e-12);
    }

    #[test]
    fn a_motor_at_its_limit_is_cut_there_and_said() {
        let pilot = Pilot {
            throttle: programme(0.5, &[(0.0, 1.0, 1.0)]),
            left_minus_right: Programme::constant(0.5),
            steering_shares: vec![0.5, -0.5],
            tabs: vec![programme(0.0, &[(0.8, -0.1, 0.0)])],
            ..Pilot::default()
        };
        let spans = pilot.spans(2.0, std::iter::empty());
        let starts: Vec<f64> = spans.iter().map(|s| s.start_s).collect();
        for (start, expected) in starts.iter().zip([0.0, 0.5, 0.8, 1.0]) {
            assert!((start - expected).abs() < 1e-12, "{starts:?}");
        }
        assert_eq!(starts.len(), 4);
        assert!((spans[0].throttles[0].after(0.5) - 1.0).abs() < 1e-15);
        assert!(!spans[0].held_at_limit && spans[1].held_at_limit);
        assert_eq!(
            spans[3].throttles,
            [Line::constant(1.0), Line::constant(0.75)]
        );
        assert_eq!(spans[2].tabs[0], Line::constant(-0.1));
    }

    // 0.1 + 0.2 is not 0.3 in binary: a ramp's end and a tab's step a rounding error apart are one cut, and the step stays a step.
    #[test]
    fn cuts_a_rounding_error_apart_are_one() {
        let pilot = Pilot {
            throttle: programme(0.2, &[(0.1, 0.8, 0.2)]),
            steering_shares: vec![0.0],
            tabs: vec![programme(0.0, &[(0.3, -0.1, 0.0)])],
            ..Pilot::default()
        };
        let spans = pilot.spans(1.0, std::iter::empty());
        assert_eq!(spans.len(), 3, "{spans:?}");
        assert_eq!(spans[2].tabs[0], Line::constant(-0.1));
        assert_eq!(spans[1].tabs[0], Line::constant(0.0));
        assert!((spans[2].throttles[0].start - 0.8).abs() < 1e-12);
        assert!(spans[2].throttles[0].slope.abs() < 1e-12);
    }
}
