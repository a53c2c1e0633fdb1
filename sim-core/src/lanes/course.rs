//! One throw in its lane: from cut to cut, and what happens at each (MODEL.md § 28.5).
//!
//! The controls, the events and the end words are those of [`crate::flight::Throw::fly`]; here they are asked step by step. A course is
//! used again for one throw after another.

use crate::control::sequence::Sequence;
use crate::error::{LaunchError, NumericalFailure};
use crate::events::{self, Event, looks_at_step};
use crate::flight::{End, Flying, Instant, LegControls, LegEnd, Trajectory};
use crate::look::Moment;
use crate::pilot::{ControlSpan, ControlSpans};
use crate::segment::Segment;
use crate::solver::{Counts, DenseStep, Row};
use crate::state::State;

/// A throw on its way.
#[derive(Debug)]
pub struct Course {
    events: Vec<Event>,
    spans: ControlSpans,
    span: usize,
    sequence: Sequence,
    gusts_on: Vec<f64>,
    controls: ControlSpan,
    /// What holds until the next cut.
    pub segment: Segment<f64>,
    leg_start_s: f64,
    leg_counts: Counts,
    /// Whether the whole solution is written down.
    keeps: bool,
    /// Whether looks are too.
    looks: bool,
    trajectory: Trajectory,
    /// What all steps came to.
    pub counts: Counts,
    /// When the driver took the power, s.
    pub cut_off_time_s: Option<f64>,
}

/// How a lane goes on.
#[derive(Debug)]
pub enum Next {
    /// With its next step.
    On,
    /// From a cut, at a time (s) and state.
    From(f64, Row),
    /// Not: the flight is over, at a time (s) and state.
    Over(End, f64, Row),
}

impl Course {
    /// One that leads nowhere yet.
    pub fn nowhere() -> Self {
        Course {
            events: Vec::new(),
            spans: ControlSpans::default(),
            span: 0,
            sequence: Sequence::of_nobody(),
            gusts_on: Vec::new(),
            controls: ControlSpan::default(),
            segment: Segment::steady(&[], &[]),
            leg_start_s: 0.0,
            leg_counts: Counts::default(),
            keeps: false,
            looks: false,
            trajectory: Trajectory::default(),
            counts: Counts::default(),
            cut_off_time_s: None,
        }
    }

    /// Becomes that of a throw at its release, and gives the state there; `keeps` writes down the whole solution, `looks` the looks too.
    ///
    /// # Errors
    /// [`LaunchError`] where the throw cannot start.
    pub fn begin(
        &mut self,
        flying: &Flying<'_>,
        keeps: bool,
        looks: bool,
    ) -> Result<Row, LaunchError> {
        let throw = flying.throw;
        let watch = throw.watch();
        flying.put_spans(&mut self.spans);
        let placed = throw.launch.placed(&throw.vehicle);
        self.sequence.begin(&throw.pilot);
        self.gusts_on.clear();
        self.span = 0;
        self.next_segment(flying, 0.0, &placed, true);
        let row = throw.release(&watch, &placed, &mut self.gusts_on, &mut self.segment)?;
        self.events.clear();
        self.events.extend(watch.events());
        (self.counts, self.leg_counts) = (Counts::default(), Counts::default());
        self.cut_off_time_s = None;
        (self.keeps, self.looks) = (keeps, keeps && looks);
        self.trajectory.begin();
        self.mind_cut_off(flying, 0.0, &row);
        self.begin_leg(0.0, row);
        self.look_at_cut(flying, 0.0, &row);
        Ok(row)
    }

    /// When the next cut is, s.
    pub fn cut_s(&self) -> f64 {
        self.controls.end_s
    }

    /// Whether a step's solution is wanted that ends far from the ground and with charge left.
    pub fn wants_every_step(&self, flying: &Flying<'_>) -> bool {
        self.keeps || watches_every_step(flying)
    }

    /// Height of the balance point under which the ground may be touched, m.
    pub fn floor_m(flying: &Flying<'_>) -> f64 {
        flying.throw.site.ground_height_m + flying.throw.vehicle.farthest_reach_m()
    }

    /// The trajectory as far as it was kept, in exchange for storage of another.
    pub fn exchange_trajectory(
        &mut self,
        storage: Trajectory,
        end: End,
        end_time_s: f64,
    ) -> Trajectory {
        let mut trajectory = std::mem::replace(&mut self.trajectory, storage);
        trajectory.cut_off_time_s = self.cut_off_time_s;
        (trajectory.end, trajectory.end_time_s) = (end, end_time_s);
        trajectory
    }

    /// The controls and the segment from a time (s) and state in the present span; at the span's start gusts in time are set.
    fn next_segment(
        &mut self,
        flying: &Flying<'_>,
        start_s: f64,
        state: &State<f64>,
        span_begins: bool,
    ) {
        let (throw, span) = (flying.throw, &self.spans[self.span]);
        if span_begins {
            throw.put_gusts_in_time(span, &mut self.gusts_on);
        }
        let controls = &mut self.controls;
        self.sequence
            .next(&throw.pilot, span, start_s, state, controls);
        controls.put_segment_from(start_s, &self.gusts_on, &mut self.segment);
    }

    /// Where the voltage is too low as a leg begins, the motors lose their power.
    fn mind_cut_off(&mut self, flying: &Flying<'_>, start_s: f64, row: &Row) {
        let cut_off = flying.throw.cut_off(&self.controls, &self.segment);
        if cut_off.is_some_and(|cut_off| cut_off.margin_v(start_s, row) < 0.0) {
            self.cut_off_time_s = Some(start_s);
            self.sequence.cut_off();
            self.next_segment(flying, start_s, &State::from_array(row), false);
        }
    }

    fn begin_leg(&mut self, start_s: f64, row: Row) {
        self.leg_start_s = start_s;
        self.leg_counts = Counts::default();
        if self.keeps {
            self.trajectory.begin_leg().piece.begin(start_s, row);
        }
    }

    /// Looks at a cut, just after it.
    fn look_at_cut(&mut self, flying: &Flying<'_>, time_s: f64, row: &Row) {
        if self.looks {
            let at = Instant {
                time_s,
                state: State::from_array(row),
                segment: &self.segment,
            };
            self.trajectory.add_moment(Moment::of(flying.throw, &at));
        }
    }

    /// Writes down the looks at a step before a time (s): the numbers of each by how many came before it.
    fn look_at_step(
        &mut self,
        dense: &DenseStep,
        before_s: f64,
        moment: impl Fn(usize, f64) -> Moment,
    ) {
        let looks = looks_at_step(dense.start_s, dense.start_s + dense.length_s);
        for (i, (_, time_s)) in looks.enumerate() {
            if time_s < before_s {
                self.trajectory.add_moment(moment(i, time_s));
            }
        }
    }

    /// After a step that counts: its polynomials where they were wanted and the looks at it, whether it may have touched the ground or
    /// emptied the cell, the state at its end, and whether that is the cut.
    pub fn stepped(
        &mut self,
        flying: &Flying<'_>,
        (dense, moment): (Option<&DenseStep>, impl Fn(usize, f64) -> Moment),
        is_near: bool,
        (end_s, row): (f64, Row),
        at_cut: bool,
    ) -> Next {
        self.leg_counts.accepted_steps += 1;
        let looked_at = dense.filter(|_| is_near || watches_every_step(flying));
        let found = looked_at.and_then(|dense| {
            let (time_s, how) = self.found(flying, dense, is_near, end_s)?;
            Some((time_s, how, dense.at(time_s)))
        });
        if let (true, Some(dense), Some(leg)) = (self.keeps, dense, self.trajectory.leg()) {
            leg.piece.add(dense);
        }
        if let (true, Some(dense)) = (self.looks, dense) {
            let cut_s = if at_cut { end_s } else { f64::INFINITY };
            let before_s = found.as_ref().map_or(cut_s, |found| found.0);
            self.look_at_step(dense, before_s, moment);
        }
        match found {
            Some((time_s, how, row)) => self.cut(flying, Some(how), time_s, row),
            None if at_cut => self.cut(flying, None, end_s, row),
            None => Next::On,
        }
    }

    /// A step that counts and needs no look.
    pub fn counted(&mut self) {
        self.leg_counts.accepted_steps += 1;
    }

    /// A step that does not count.
    pub fn rejected(&mut self) {
        self.leg_counts.rejected_steps += 1;
    }

    /// Nothing after the last good step is known.
    pub fn failed(
        &mut self,
        flying: &Flying<'_>,
        failure: NumericalFailure,
        time_s: f64,
        row: Row,
    ) -> Next {
        self.cut(flying, Some(LegEnd::Failure(failure)), time_s, row)
    }

    /// Whether the steps of this leg are too many.
    pub fn has_stuck(&self) -> bool {
        let tried = self.leg_counts.accepted_steps + self.leg_counts.rejected_steps;
        let length_s = self.controls.end_s - self.leg_start_s;
        f64::from(tried) > 10_000.0 + 20_000.0 * length_s
    }

    /// The first thing that happens in a step, with its time (s). Far from the ground and with charge left neither is asked for.
    fn found(
        &self,
        flying: &Flying<'_>,
        dense: &DenseStep,
        is_near: bool,
        end_s: f64,
    ) -> Option<(f64, LegEnd)> {
        let throw = flying.throw;
        let asked = |event: &Event| is_near || !matches!(event, Event::Ground | Event::CellEmpty);
        let events = self.events.iter().copied().filter(asked);
        let looks = || looks_at_step(dense.start_s, end_s);
        let event = throw
            .watch()
            .first_between(events, &self.gusts_on, looks(), |t| dense.at(t))
            .map(|(time, event)| (time, LegEnd::Event(event)));
        let cut = throw
            .cut_off(&self.controls, &self.segment)
            .and_then(|cut_off| cut_off.first_between_s(looks(), |t| dense.at(t)))
            .map(|time| (time, LegEnd::CutOff));
        match (event, cut) {
            (Some(event), Some(cut)) if cut.0 < event.0 => Some(cut),
            (event, cut) => event.or(cut),
        }
    }

    /// The leg is over at a time (s) and state, by what happened or by its time.
    fn cut(&mut self, flying: &Flying<'_>, how: Option<LegEnd>, time_s: f64, row: Row) -> Next {
        self.leg_counts.derivative_calls =
            1 + 6 * (self.leg_counts.accepted_steps + self.leg_counts.rejected_steps);
        self.counts.derivative_calls += self.leg_counts.derivative_calls;
        self.counts.accepted_steps += self.leg_counts.accepted_steps;
        self.counts.rejected_steps += self.leg_counts.rejected_steps;
        if let (true, Some(leg)) = (self.keeps, self.trajectory.leg()) {
            leg.segment.become_like(&self.segment);
            leg.controls = LegControls::of(&self.controls);
            leg.piece.counts = self.leg_counts;
            leg.end_s = time_s;
            self.trajectory.leg_is_flown();
        }
        let next = self.after_cut(flying, how, time_s, row);
        let start_s = match &next {
            Next::From(start_s, _) => *start_s,
            _ => time_s,
        };
        self.look_at_cut(flying, start_s, &row);
        next
    }

    /// What holds after a cut, if the flight goes on.
    fn after_cut(
        &mut self,
        flying: &Flying<'_>,
        how: Option<LegEnd>,
        time_s: f64,
        row: Row,
    ) -> Next {
        let mut start_s = time_s;
        match how {
            Some(LegEnd::Event(Event::GustEdge(i))) => self.gusts_on[i] = 1.0 - self.gusts_on[i],
            Some(LegEnd::Event(event)) => {
                return Next::Over(end_word(flying, event, &row), time_s, row);
            }
            Some(LegEnd::CutOff) => {
                self.cut_off_time_s = Some(start_s);
                self.sequence.cut_off();
            }
            Some(LegEnd::Failure(failure)) => return Next::Over(End::Failed(failure), time_s, row),
            None => start_s = self.controls.end_s,
        }
        let span_is_over = start_s >= self.spans[self.span].end_s;
        if span_is_over {
            self.span += 1;
            let Some(span) = self.spans.get(self.span) else {
                return Next::Over(End::Time, time_s, row);
            };
            start_s = span.start_s;
        }
        self.next_segment(flying, start_s, &State::from_array(&row), span_is_over);
        self.mind_cut_off(flying, start_s, &row);
        self.begin_leg(start_s, row);
        Next::From(start_s, row)
    }
}

/// Whether something may happen in any step of a throw, and not only near the ground or with the cell empty.
fn watches_every_step(flying: &Flying<'_>) -> bool {
    let throw = flying.throw;
    throw.air.gusts.iter().any(|gust| !gust.is_in_time())
        || throw.pilot.module.cut_off_voltage_v.is_some()
        || !throw.site.walls.is_empty()
        || throw.site.hall.is_some()
}

/// The end word of an event that ends a flight.
fn end_word(flying: &Flying<'_>, event: Event, row: &Row) -> End {
    match event {
        Event::Ground => End::Ground,
        Event::Wall(i) => End::Wall(i),
        Event::Ceiling => End::Ceiling,
        Event::CellEmpty => End::CellEmpty,
        Event::Hall => {
            let hall = flying.throw.site.hall.as_ref();
            let state = State::from_array(row);
            End::HallWall(hall.map_or(0, |hall| {
                events::hall_clearance(&flying.throw.vehicle, hall, &state).1
            }))
        }
        Event::GustEdge(_) => unreachable!("an edge of a gust ends no flight"),
    }
}
