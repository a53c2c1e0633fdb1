//! What became of a throw, written down leg by leg in storage that can be used again.

use super::End;
use crate::control::Feedback;
use crate::events;
use crate::look::Moment;
use crate::pilot::ControlSpan;
use crate::reused::Reused;
use crate::root::bisect;
use crate::segment::Segment;
use crate::solver::{Counts, Piece};
use crate::state::State;

/// A stretch of flight inside which the right-hand side is smooth.
#[derive(Clone, Debug)]
pub(crate) struct Leg {
    pub segment: Segment<f64>,
    pub controls: LegControls,
    pub piece: Piece,
    pub end_s: f64,
}

impl Default for Leg {
    /// Nothing yet.
    fn default() -> Self {
        Leg {
            segment: Segment::steady(&[], &[]),
            controls: LegControls::default(),
            piece: Piece::default(),
            end_s: 0.0,
        }
    }
}

/// What controls a leg is flown with, beside its segment.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(crate) struct LegControls {
    pub held_at_limit: bool,
    pub feedback: Feedback,
    pub powered: bool,
}

impl Leg {
    /// Times to look at after its start and before its end, s.
    pub fn looks_inside(&self) -> impl Iterator<Item = f64> + '_ {
        let looks = events::looks(&self.piece).map(|(_, after)| after);
        looks.filter(|&time_s| time_s < self.end_s)
    }
}

impl LegControls {
    /// Those of a stretch of controls.
    pub fn of(controls: &ControlSpan) -> Self {
        LegControls {
            held_at_limit: controls.held_at_limit,
            feedback: controls.feedback,
            powered: controls.powered,
        }
    }
}

/// What became of a throw: the dense solution and an end word.
#[derive(Clone, Debug)]
pub struct Trajectory {
    pub(super) legs: Reused<Leg>,
    moments: Vec<Moment>,
    /// How many of them there were when the last leg began.
    moments_before_leg: usize,
    /// How it ended.
    pub end: End,
    /// When it ended, s.
    pub end_time_s: f64,
    /// Steps and derivative calls.
    pub counts: Counts,
    /// When the driver took the power from the motors because the voltage was too low, s.
    pub cut_off_time_s: Option<f64>,
    /// Tops of the path: times at which the vertical speed turned from up to down, s.
    pub apex_times_s: Vec<f64>,
}

impl Default for Trajectory {
    /// Nothing is flown yet.
    fn default() -> Self {
        Trajectory {
            legs: Reused::default(),
            moments: Vec::new(),
            moments_before_leg: 0,
            end: End::Time,
            end_time_s: 0.0,
            counts: Counts::default(),
            cut_off_time_s: None,
            apex_times_s: Vec::new(),
        }
    }
}

impl Trajectory {
    /// Becomes one of which nothing is flown yet, in its own storage.
    pub(crate) fn begin(&mut self) {
        self.legs.clear();
        self.moments.clear();
        self.moments_before_leg = 0;
        self.end = End::Time;
        self.end_time_s = 0.0;
        self.counts = Counts::default();
        self.cut_off_time_s = None;
        self.apex_times_s.clear();
    }

    pub(super) fn add(&mut self, leg: Leg) {
        *self.legs.add() = leg;
        self.leg_is_flown();
    }

    /// The looks at the flight (MODEL.md § 28.7), times rising, where they were worked out on the way; else none.
    pub fn moments(&self) -> &[Moment] {
        &self.moments
    }

    /// Adds a look worked out on the way.
    pub(crate) fn add_moment(&mut self, moment: Moment) {
        self.moments.push(moment);
    }

    /// A leg to be flown: what was left of another one.
    pub(crate) fn begin_leg(&mut self) -> &mut Leg {
        self.moments_before_leg = self.moments.len();
        self.legs.add()
    }

    /// The last leg begun.
    pub(crate) fn leg(&mut self) -> Option<&mut Leg> {
        self.legs.last_mut()
    }

    /// The last leg begun is flown.
    pub(crate) fn leg_is_flown(&mut self) {
        let Some(leg) = self.legs.last() else {
            return;
        };
        let counts = leg.piece.counts;
        self.counts.derivative_calls += counts.derivative_calls;
        self.counts.accepted_steps += counts.accepted_steps;
        self.counts.rejected_steps += counts.rejected_steps;
        let climb = |t: f64| {
            let state = State::from_array(&leg.piece.at(t));
            -(crate::frames::rotation(&state.attitude) * state.velocity).z
        };
        let apexes = &mut self.apex_times_s;
        let mut before = (leg.piece.start_s(), climb(leg.piece.start_s()));
        let mut on = |after: (f64, f64)| {
            if before.1 > 0.0 && after.1 <= 0.0 {
                apexes.push(bisect(before.0, after.0, climb));
            }
            before = after;
        };
        match &self.moments[self.moments_before_leg..] {
            [] => leg.looks_inside().for_each(|t| on((t, climb(t)))),
            on_the_way => on_the_way
                .iter()
                .for_each(|moment| on((moment.time_s, -moment.ground_m_s.z))),
        }
        on((leg.end_s, climb(leg.end_s)));
    }
}
