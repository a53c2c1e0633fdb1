//! One throw in its lane: from cut to cut, and what happens at each (MODEL.md § 28.5).
//!
//! The controls, the events and the end words are those of [`crate::flight::Throw::fly`]; here they are asked step by step.

use crate::control::sequence::Sequence;
use crate::error::{LaunchError, NumericalFailure};
use crate::events::{self, Event, Watch, looks_at_step};
use crate::flight::{End, Flight, Leg, LegControls, LegEnd, Throw};
use crate::pilot::ControlSpan;
use crate::segment::Segment;
use crate::solver::{Counts, DenseStep, Piece, Row};
use crate::state::State;

/// A throw on its way.
#[derive(Debug)]
pub struct Course<'a> {
    throw: &'a Throw,
    watch: Watch<'a>,
    events: Vec<Event>,
    spans: Vec<ControlSpan>,
    span: usize,
    sequence: Sequence<'a>,
    gusts_on: Vec<f64>,
    controls: ControlSpan,
    /// What holds until the next cut.
    pub segment: Segment<f64>,
    leg_start_s: f64,
    leg_start: Row,
    leg_counts: Counts,
    steps: Vec<DenseStep>,
    flight: Option<Flight>,
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

impl<'a> Course<'a> {
    /// A throw at its release, and its state there; `keep` writes down the whole solution.
    ///
    /// # Errors
    /// [`LaunchError`] where the throw cannot start.
    pub fn new(throw: &'a Throw, keep: bool) -> Result<(Self, Row), LaunchError> {
        let watch = throw.watch();
        let spans = throw.spans();
        let placed = throw.placed()?;
        let mut sequence = Sequence::new(&throw.pilot);
        let mut gusts_on = throw.gusts_in_time(&spans[0]);
        let controls = sequence.from(&spans[0], spans[0].start_s, &placed);
        let mut segment = controls.segment_from(spans[0].start_s, &gusts_on);
        let row = throw.release(&watch, &placed, &mut gusts_on, &mut segment)?;
        let mut course = Course {
            throw,
            events: watch.events(),
            watch,
            span: 0,
            sequence,
            gusts_on,
            leg_start_s: spans[0].start_s,
            spans,
            controls,
            segment,
            leg_start: row,
            leg_counts: Counts::default(),
            steps: Vec::new(),
            flight: keep.then(|| Flight::begun(throw.clone())),
            counts: Counts::default(),
            cut_off_time_s: None,
        };
        course.mind_cut_off(0.0, &row);
        Ok((course, row))
    }

    /// When the next cut is, s.
    pub fn cut_s(&self) -> f64 {
        self.controls.end_s
    }

    /// Whether every step has to be looked at, and not only those near the ground.
    pub fn wants_every_step(&self) -> bool {
        let in_place = self.throw.air.gusts.iter().any(|gust| !gust.is_in_time());
        let site = &self.throw.site;
        let cut_off = self.throw.pilot.module.cut_off_voltage_v.is_some();
        self.flight.is_some()
            || in_place
            || cut_off
            || !site.walls.is_empty()
            || site.hall.is_some()
    }

    /// Height of the balance point under which the ground may be touched, m.
    pub fn floor_m(&self) -> f64 {
        self.throw.site.ground_height_m + self.throw.vehicle.farthest_reach_m()
    }

    /// The flight as far as it was kept.
    pub fn into_flight(self, end: End, end_time_s: f64) -> Option<Flight> {
        let mut flight = self.flight?;
        flight.cut_off_time_s = self.cut_off_time_s;
        flight.end_time_s = end_time_s;
        Some(flight.ended(end))
    }

    /// Where the voltage is too low as a leg begins, the motors lose their power.
    fn mind_cut_off(&mut self, start_s: f64, row: &Row) {
        let throw = self.throw;
        let cut_off = throw.cut_off(&self.controls, &self.segment);
        if cut_off.is_some_and(|cut_off| cut_off.margin_v(start_s, row) < 0.0) {
            self.cut_off_time_s = Some(start_s);
            self.sequence.cut_off();
            let state = State::from_array(row);
            self.controls = self.sequence.from(&self.spans[self.span], start_s, &state);
            self.segment = self.controls.segment_from(start_s, &self.gusts_on);
        }
    }

    /// After a step that counts: its polynomials where they were wanted, the state at its end, and whether that is the cut.
    pub fn stepped(
        &mut self,
        dense: Option<DenseStep>,
        end_s: f64,
        row: Row,
        at_cut: bool,
    ) -> Next {
        self.leg_counts.accepted_steps += 1;
        let found = dense.as_ref().and_then(|dense| self.found(dense, end_s));
        if self.flight.is_some() {
            self.steps.extend(dense.clone());
        }
        match (found, dense) {
            (Some((time_s, how)), Some(dense)) => self.cut(Some(how), time_s, dense.at(time_s)),
            _ if at_cut => self.cut(None, end_s, row),
            _ => Next::On,
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
    pub fn failed(&mut self, failure: NumericalFailure, time_s: f64, row: Row) -> Next {
        self.cut(Some(LegEnd::Failure(failure)), time_s, row)
    }

    /// Whether the steps of this leg are too many.
    pub fn has_stuck(&self) -> bool {
        let tried = self.leg_counts.accepted_steps + self.leg_counts.rejected_steps;
        let length_s = self.controls.end_s - self.leg_start_s;
        f64::from(tried) > 10_000.0 + 20_000.0 * length_s
    }

    /// The first thing that happens in a step, with its time (s).
    fn found(&self, dense: &DenseStep, end_s: f64) -> Option<(f64, LegEnd)> {
        let looks = || looks_at_step(dense.start_s, end_s);
        let event = self
            .watch
            .first_between(&self.events, &self.gusts_on, looks(), |t| dense.at(t))
            .map(|(time, event)| (time, LegEnd::Event(event)));
        let cut = self
            .throw
            .cut_off(&self.controls, &self.segment)
            .and_then(|cut_off| cut_off.first_between_s(looks(), |t| dense.at(t)))
            .map(|time| (time, LegEnd::CutOff));
        match (event, cut) {
            (Some(event), Some(cut)) if cut.0 < event.0 => Some(cut),
            (event, cut) => event.or(cut),
        }
    }

    /// The leg is over at a time (s) and state, by what happened or by its time.
    fn cut(&mut self, how: Option<LegEnd>, time_s: f64, row: Row) -> Next {
        self.leg_counts.derivative_calls =
            1 + 6 * (self.leg_counts.accepted_steps + self.leg_counts.rejected_steps);
        self.counts.derivative_calls += self.leg_counts.derivative_calls;
        self.counts.accepted_steps += self.leg_counts.accepted_steps;
        self.counts.rejected_steps += self.leg_counts.rejected_steps;
        if let Some(flight) = &mut self.flight {
            let steps = std::mem::take(&mut self.steps);
            flight.add(Leg {
                segment: self.segment.clone(),
                controls: LegControls::of(&self.controls),
                piece: Piece::of_steps(self.leg_start_s, self.leg_start, steps, self.leg_counts),
                end_s: time_s,
            });
        }
        let mut start_s = time_s;
        match how {
            Some(LegEnd::Event(Event::GustEdge(i))) => self.gusts_on[i] = 1.0 - self.gusts_on[i],
            Some(LegEnd::Event(event)) => return Next::Over(self.end(event, &row), time_s, row),
            Some(LegEnd::CutOff) => {
                self.cut_off_time_s = Some(start_s);
                self.sequence.cut_off();
            }
            Some(LegEnd::Failure(failure)) => return Next::Over(End::Failed(failure), time_s, row),
            None => start_s = self.controls.end_s,
        }
        if start_s >= self.spans[self.span].end_s {
            self.span += 1;
            let Some(span) = self.spans.get(self.span) else {
                return Next::Over(End::Time, time_s, row);
            };
            start_s = span.start_s;
            for (gust, (on, now)) in self
                .throw
                .air
                .gusts
                .iter()
                .zip(self.gusts_on.iter_mut().zip(self.throw.gusts_in_time(span)))
            {
                if gust.is_in_time() {
                    *on = now;
                }
            }
        }
        let state = State::from_array(&row);
        self.controls = self.sequence.from(&self.spans[self.span], start_s, &state);
        self.segment = self.controls.segment_from(start_s, &self.gusts_on);
        self.mind_cut_off(start_s, &row);
        self.leg_start_s = start_s;
        self.leg_start = row;
        self.leg_counts = Counts::default();
        Next::From(start_s, row)
    }

    /// The end word of an event that ends a flight.
    fn end(&self, event: Event, row: &Row) -> End {
        match event {
            Event::Ground => End::Ground,
            Event::Wall(i) => End::Wall(i),
            Event::Ceiling => End::Ceiling,
            Event::CellEmpty => End::CellEmpty,
            Event::Hall => {
                let hall = self.throw.site.hall.as_ref();
                let state = State::from_array(row);
                End::HallWall(hall.map_or(0, |hall| {
                    events::hall_clearance(&self.throw.vehicle, hall, &state).1
                }))
            }
            Event::GustEdge(_) => unreachable!("an edge of a gust ends no flight"),
        }
    }
}
