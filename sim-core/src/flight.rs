//! A flight from release to its end: vehicle, launch, air, pilot and site in; dense solution and an end word out.

mod flown;
mod trajectory;

use crate::air::Air;
use crate::control::cut_off::CutOff;
use crate::control::sequence::Sequence;
use crate::error::{LaunchError, NumericalFailure};
use crate::events::{self, Event, Watch};
use crate::forces::evaluate;
use crate::launch::Launch;
use crate::pilot::{ControlSpan, ControlSpans, Pilot, Programme};
use crate::segment::Segment;
use crate::site::Site;
use crate::solver::{Method, Row, Tolerance, integrate};
use crate::state::State;
use crate::vehicle::Vehicle;
pub use flown::Instant;
pub use trajectory::Trajectory;
pub(crate) use trajectory::{Leg, LegControls};

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

/// A throw as it is flown: with its own throttle programme and time limit, or those of a twin.
#[derive(Clone, Copy, Debug)]
pub struct Flying<'a> {
    /// The throw.
    pub throw: &'a Throw,
    /// The throttle programme.
    pub throttle: &'a Programme,
    /// Longest flight, s.
    pub time_limit_s: f64,
}

impl<'a> From<&'a Throw> for Flying<'a> {
    fn from(throw: &'a Throw) -> Self {
        Flying {
            throw,
            throttle: &throw.pilot.throttle,
            time_limit_s: throw.time_limit_s,
        }
    }
}

/// A flown throw; it can be asked for all that its trajectory can.
#[derive(Clone, Debug)]
pub struct Flight {
    throw: Throw,
    trajectory: Trajectory,
}

impl Throw {
    /// State at release, without flying: rotors, cell and gusts as the flight would begin.
    ///
    /// # Errors
    /// [`LaunchError`] where the throw cannot start.
    pub fn release_state(&self) -> Result<State<f64>, LaunchError> {
        let spans = self.spans();
        let span = &spans[0];
        let mut gusts_on = Vec::new();
        self.put_gusts_in_time(span, &mut gusts_on);
        let placed = self.launch.placed(&self.vehicle);
        let mut controls = ControlSpan::default();
        Sequence::new(&self.pilot).next(&self.pilot, span, span.start_s, &placed, &mut controls);
        let mut segment = controls.segment_from(span.start_s, &gusts_on);
        self.release(&self.watch(), &placed, &mut gusts_on, &mut segment)
            .map(|row| State::from_array(&row))
    }

    pub(crate) fn watch(&self) -> Watch<'_> {
        Watch {
            vehicle: &self.vehicle,
            air: &self.air,
            site: &self.site,
        }
    }

    /// The controls, cut also where a gust begins or ends in time.
    fn spans(&self) -> ControlSpans {
        let mut spans = ControlSpans::default();
        Flying::from(self).put_spans(&mut spans);
        spans
    }

    /// Puts down which gusts in time are on in a span, 1 or 0, and leaves the others as they are; as many as there are gusts.
    pub(crate) fn put_gusts_in_time(&self, span: &ControlSpan, gusts_on: &mut Vec<f64>) {
        let middle = 0.5 * (span.start_s + span.end_s);
        gusts_on.resize(self.air.gusts.len(), 0.0);
        for (on, gust) in gusts_on.iter_mut().zip(&self.air.gusts) {
            if gust.is_in_time() {
                *on = f64::from((0.0..gust.length).contains(&(middle - gust.start)));
            }
        }
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
        let events: Vec<Event> = watch.events().collect();
        let mut flight = Trajectory::default();
        let placed = self.launch.placed(&self.vehicle);
        let pilot = &self.pilot;
        let mut sequence = Sequence::new(pilot);
        let mut controls = ControlSpan::default();
        let mut gusts_on = vec![0.0; self.air.gusts.len()];
        let mut row: Option<Row> = None;
        for span in self.spans().iter() {
            self.put_gusts_in_time(span, &mut gusts_on);
            let mut start_s = span.start_s;
            loop {
                let state = row.map_or(placed, |row| State::from_array(&row));
                sequence.next(pilot, span, start_s, &state, &mut controls);
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
                    sequence.next(pilot, span, start_s, &state, &mut controls);
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
                    Some(LegEnd::Event(Event::Ground)) => {
                        return Ok(self.flown(flight, End::Ground));
                    }
                    Some(LegEnd::Event(Event::Wall(i))) => {
                        return Ok(self.flown(flight, End::Wall(i)));
                    }
                    Some(LegEnd::Event(Event::Hall)) => {
                        let wall = self.hall_wall_at_end(&flight);
                        return Ok(self.flown(flight, End::HallWall(wall)));
                    }
                    Some(LegEnd::Event(Event::Ceiling)) => {
                        return Ok(self.flown(flight, End::Ceiling));
                    }
                    Some(LegEnd::Event(Event::CellEmpty)) => {
                        return Ok(self.flown(flight, End::CellEmpty));
                    }
                    Some(LegEnd::CutOff) => {
                        flight.cut_off_time_s = Some(start_s);
                        sequence.cut_off();
                    }
                    Some(LegEnd::Failure(failure)) => {
                        return Ok(self.flown(flight, End::Failed(failure)));
                    }
                    None => start_s = controls.end_s,
                }
                if start_s >= span.end_s {
                    break;
                }
            }
        }
        Ok(self.flown(flight, End::Time))
    }

    fn flown(&self, mut trajectory: Trajectory, end: End) -> Flight {
        trajectory.end = end;
        Flight::new(self.clone(), trajectory)
    }

    /// The wall of the hall that is nearest at the end.
    fn hall_wall_at_end(&self, trajectory: &Trajectory) -> usize {
        let state = trajectory.state_at(trajectory.end_time_s);
        let hall = self.site.hall.as_ref();
        hall.map_or(0, |hall| {
            events::hall_clearance(&self.vehicle, hall, &state).1
        })
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
        segment.gusts_on.clear();
        segment.gusts_on.extend_from_slice(gusts_on);
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
        let last = piece.end_s();
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

impl Flying<'_> {
    /// Puts down the controls, cut also where a gust begins or ends in time.
    pub(crate) fn put_spans(&self, spans: &mut ControlSpans) {
        let in_time = self.throw.air.gusts.iter().filter(|gust| gust.is_in_time());
        let edges = in_time.flat_map(|gust| [gust.start, gust.start + gust.length]);
        spans.fill(&self.throw.pilot, self.throttle, self.time_limit_s, edges);
    }
}
