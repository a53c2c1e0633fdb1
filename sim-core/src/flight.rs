//! A flight from release to its end: vehicle, launch, air, pilot and site in; dense solution and an end word out.

mod flown;

use crate::air::Air;
use crate::air::gust::Gust;
use crate::control::Feedback;
use crate::control::cut_off::CutOff;
use crate::control::sequence::Sequence;
use crate::error::{LaunchError, NumericalFailure};
use crate::events::{self, Event, Watch};
use crate::forces::evaluate;
use crate::launch::Launch;
use crate::pilot::{ControlSpan, Pilot};
use crate::root::bisect;
use crate::segment::Segment;
use crate::site::Site;
use crate::solver::{Counts, Method, Piece, Row, Tolerance, integrate};
use crate::state::State;
use crate::vehicle::Vehicle;

/// How a flight ended.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[non_exhaustive]
pub enum End {
    /// The airframe touched the ground.
    Ground,
    /// It touched a wall (counted from 0).
    Wall(usize),
    /// It touched a wall of the hall (counted from 0).
    HallWall(usize),
    /// It touched the hall's ceiling.
    Ceiling,
    /// The time limit was reached in the air.
    Time,
    /// The cell had no charge left.
    CellEmpty,
    /// The integration failed; nothing after the last good step is known.
    Failed(NumericalFailure),
}

/// Everything one flight needs.
#[derive(Clone, Debug)]
pub struct Throw {
    /// The vehicle.
    pub vehicle: Vehicle<f64>,
    /// The launch.
    pub launch: Launch,
    /// The air.
    pub air: Air<f64>,
    /// The pilot.
    pub pilot: Pilot,
    /// The site.
    pub site: Site,
    /// Longest flight, s.
    pub time_limit_s: f64,
    /// How exactly to integrate.
    pub tolerance: Tolerance,
}

/// A stretch of flight inside which the right-hand side is smooth.
#[derive(Clone, Debug)]
pub(crate) struct Leg {
    pub segment: Segment<f64>,
    pub controls: LegControls,
    pub piece: Piece,
    pub end_s: f64,
}

/// What controls a leg is flown with, beside its segment.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct LegControls {
    held_at_limit: bool,
    feedback: Feedback,
    powered: bool,
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

/// A flown throw.
#[derive(Clone, Debug)]
pub struct Flight {
    throw: Throw,
    legs: Vec<Leg>,
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

impl Throw {
    /// State at release, without flying: rotors, cell and gusts as the flight would begin.
    ///
    /// # Errors
    /// [`LaunchError`] where the throw cannot start.
    pub fn release_state(&self) -> Result<State<f64>, LaunchError> {
        let span = &self.spans()[0];
        let mut gusts_on = self.gusts_in_time(span);
        let placed = self.placed()?;
        let controls = Sequence::new(&self.pilot).from(span, span.start_s, &placed);
        let mut segment = controls.segment_from(span.start_s, &gusts_on);
        self.release(&self.watch(), &placed, &mut gusts_on, &mut segment)
            .map(|row| State::from_array(&row))
    }

    /// State at release but for the rotors, which need the controls.
    pub(crate) fn placed(&self) -> Result<State<f64>, LaunchError> {
        Launch {
            rotor_speeds_rad_s: Some(Vec::new()),
            ..self.launch.clone()
        }
        .state(&self.vehicle, &self.air, &Segment::steady(&[], &[]))
    }

    pub(crate) fn watch(&self) -> Watch<'_> {
        Watch {
            vehicle: &self.vehicle,
            air: &self.air,
            site: &self.site,
        }
    }

    /// The controls, cut also where a gust begins or ends in time.
    pub(crate) fn spans(&self) -> Vec<ControlSpan> {
        let in_time = self.air.gusts.iter().filter(|gust| gust.is_in_time());
        let edges = in_time.flat_map(|gust| [gust.start, gust.start + gust.length]);
        self.pilot.spans(self.time_limit_s, edges)
    }

    /// Which gusts in time are on in a span; those in place count as off.
    pub(crate) fn gusts_in_time(&self, span: &ControlSpan) -> Vec<f64> {
        let middle = 0.5 * (span.start_s + span.end_s);
        let on = |gust: &Gust<f64>| {
            gust.is_in_time() && (0.0..gust.length).contains(&(middle - gust.start))
        };
        self.air
            .gusts
            .iter()
            .map(|gust| f64::from(on(gust)))
            .collect()
    }

    /// Flies the throw.
    ///
    /// # Errors
    /// [`LaunchError`] where the throw cannot start. A failure on the way is an [`End`], not an error.
    pub fn fly(&self) -> Result<Flight, LaunchError> {
        if matches!(self.tolerance.method, Method::Lanes | Method::LanesSingle) {
            return crate::lanes::fly_one(self);
        }
        let watch = self.watch();
        let events = watch.events();
        let mut flight = Flight::begun(self.clone());
        let placed = self.placed()?;
        let mut sequence = Sequence::new(&self.pilot);
        let mut gusts_on = vec![0.0; self.air.gusts.len()];
        let mut row: Option<Row> = None;
        for span in self.spans() {
            let in_time = self.gusts_in_time(&span);
            for (i, gust) in self.air.gusts.iter().enumerate() {
                if gust.is_in_time() {
                    gusts_on[i] = in_time[i];
                }
            }
            let mut start_s = span.start_s;
            loop {
                let state = row.map_or(placed, |row| State::from_array(&row));
                let mut controls = sequence.from(&span, start_s, &state);
                let mut segment = controls.segment_from(start_s, &gusts_on);
                let start_row = match row {
                    Some(row) => row,
                    None => self.release(&watch, &placed, &mut gusts_on, &mut segment)?,
                };
                if self
                    .cut_off(&controls, &segment)
                    .is_some_and(|cut_off| cut_off.margin_v(start_s, &start_row) < 0.0)
                {
                    flight.cut_off_time_s = Some(start_s);
                    sequence.cut_off();
                    controls = sequence.from(&span, start_s, &state);
                    segment = controls.segment_from(start_s, &gusts_on);
                }
                let (leg, event) =
                    self.fly_leg(&watch, &events, &controls, segment, start_s, start_row);
                row = Some(leg.piece.at(leg.end_s));
                start_s = leg.end_s;
                flight.end_time_s = leg.end_s;
                flight.add(leg);
                match event {
                    Some(LegEnd::Event(Event::GustEdge(i))) => gusts_on[i] = 1.0 - gusts_on[i],
                    Some(LegEnd::Event(Event::Ground)) => return Ok(flight.ended(End::Ground)),
                    Some(LegEnd::Event(Event::Wall(i))) => return Ok(flight.ended(End::Wall(i))),
                    Some(LegEnd::Event(Event::Hall)) => {
                        let wall = flight.hall_wall_at_end();
                        return Ok(flight.ended(End::HallWall(wall)));
                    }
                    Some(LegEnd::Event(Event::Ceiling)) => return Ok(flight.ended(End::Ceiling)),
                    Some(LegEnd::Event(Event::CellEmpty)) => {
                        return Ok(flight.ended(End::CellEmpty));
                    }
                    Some(LegEnd::CutOff) => {
                        flight.cut_off_time_s = Some(start_s);
                        sequence.cut_off();
                    }
                    Some(LegEnd::Failure(failure)) => return Ok(flight.ended(End::Failed(failure))),
                    None => start_s = controls.end_s,
                }
                if start_s >= span.end_s {
                    break;
                }
            }
        }
        Ok(flight)
    }

    /// The watch over the voltage, where the driver has one and the motors have power.
    pub(crate) fn cut_off<'a>(
        &'a self,
        controls: &ControlSpan,
        segment: &'a Segment<f64>,
    ) -> Option<CutOff<'a>> {
        let voltage_v = self.pilot.module.cut_off_voltage_v?;
        (controls.powered && !self.vehicle.motors.is_empty()).then_some(CutOff {
            vehicle: &self.vehicle,
            segment,
            voltage_v,
        })
    }

    /// State at release, with the gusts it happens in switched on.
    pub(crate) fn release(
        &self,
        watch: &Watch<'_>,
        placed: &State<f64>,
        gusts_on: &mut [f64],
        segment: &mut Segment<f64>,
    ) -> Result<Row, LaunchError> {
        // The gusts' switches need the attitude only (for the reference point), which no gust changes.
        for (i, gust) in self.air.gusts.iter().enumerate() {
            if !gust.is_in_time() {
                gusts_on[i] = f64::from(watch.depth_in_gust(i, 0.0, placed) > 0.0);
            }
        }
        segment.gusts_on = gusts_on.to_vec();
        let clearance = events::clearance(&self.vehicle, &self.site, placed);
        if clearance <= 0.0 {
            return Err(LaunchError::BelowGround {
                below_m: -clearance,
            });
        }
        for (i, wall) in self.site.walls.iter().enumerate() {
            if events::wall_distance(&self.vehicle, wall, placed) <= 0.0 {
                return Err(LaunchError::BehindWall { wall: i + 1 });
            }
        }
        if let Some(hall) = &self.site.hall {
            let (clearance, wall) = events::hall_clearance(&self.vehicle, hall, placed);
            if clearance <= 0.0 {
                return Err(LaunchError::OutsideHall { wall: wall + 1 });
            }
            let under_ceiling_m = events::ceiling_clearance(&self.vehicle, hall, placed);
            if under_ceiling_m <= 0.0 {
                return Err(LaunchError::ThroughCeiling {
                    above_m: -under_ceiling_m,
                });
            }
        }
        Ok(self
            .launch
            .state(&self.vehicle, &self.air, segment)?
            .to_array())
    }

    fn fly_leg(
        &self,
        watch: &Watch<'_>,
        events: &[Event],
        controls: &ControlSpan,
        segment: Segment<f64>,
        start_s: f64,
        start: Row,
    ) -> (Leg, Option<LegEnd>) {
        let rate = |time: f64, row: &Row| {
            evaluate(
                &self.vehicle,
                &self.air,
                &segment,
                time,
                &State::from_array(row),
            )
            .rate
            .to_array()
        };
        let cut_off = self.cut_off(controls, &segment);
        let stop = |time: f64, row: &Row| {
            watch.beyond_any(events, &segment.gusts_on, time, row)
                || cut_off.is_some_and(|cut_off| cut_off.margin_v(time, row) < 0.0)
        };
        let span = (start_s, controls.end_s);
        let (piece, failure) = integrate(&self.tolerance, span, start, rate, stop);
        let last = piece.step_times_s[piece.step_times_s.len() - 1];
        let event = watch
            .first(events, &segment.gusts_on, &piece)
            .map(|(time, event)| (time, LegEnd::Event(event)));
        let cut = cut_off
            .and_then(|cut_off| cut_off.first_s(&piece))
            .map(|time| (time, LegEnd::CutOff));
        let first = match (event, cut) {
            (Some(event), Some(cut)) if cut.0 < event.0 => Some(cut),
            (event, cut) => event.or(cut),
        };
        let (leg_end, how) = match first {
            Some((time, how)) => (time, Some(how)),
            None => (last, failure.map(LegEnd::Failure)),
        };
        let leg = Leg {
            segment,
            controls: LegControls::of(controls),
            piece,
            end_s: leg_end,
        };
        (leg, how)
    }
}

pub(crate) enum LegEnd {
    Event(Event),
    CutOff,
    Failure(NumericalFailure),
}

impl Flight {
    /// A flight of which nothing is flown yet.
    pub(crate) fn begun(throw: Throw) -> Self {
        Flight {
            throw,
            legs: Vec::new(),
            end: End::Time,
            end_time_s: 0.0,
            counts: Counts::default(),
            cut_off_time_s: None,
            apex_times_s: Vec::new(),
        }
    }

    pub(crate) fn ended(mut self, end: End) -> Self {
        self.end = end;
        self
    }

    pub(crate) fn add(&mut self, leg: Leg) {
        let counts = leg.piece.counts;
        self.counts.derivative_calls += counts.derivative_calls;
        self.counts.accepted_steps += counts.accepted_steps;
        self.counts.rejected_steps += counts.rejected_steps;
        let climb = |t: f64| {
            let state = State::from_array(&leg.piece.at(t));
            -(crate::frames::rotation(&state.attitude) * state.velocity).z
        };
        for (before, after) in events::looks(&leg.piece) {
            if before >= leg.end_s {
                break;
            }
            let after = after.min(leg.end_s);
            if climb(before) > 0.0 && climb(after) <= 0.0 {
                self.apex_times_s.push(bisect(before, after, climb));
            }
        }
        self.legs.push(leg);
    }

    /// The wall of the hall that is nearest at the end.
    fn hall_wall_at_end(&self) -> usize {
        let state = self.state_at(self.end_time_s);
        let hall = self.throw.site.hall.as_ref();
        hall.map_or(0, |hall| {
            events::hall_clearance(&self.throw.vehicle, hall, &state).1
        })
    }
}
