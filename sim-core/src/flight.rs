//! A flight from release to its end: vehicle, launch, air, pilot and site in; dense solution and an end word out.

use crate::air::Air;
use crate::air::gust::Gust;
use crate::error::{LaunchError, NumericalFailure};
use crate::events::{self, Event, Watch};
use crate::forces::{Evaluation, evaluate};
use crate::launch::Launch;
use crate::pilot::{ControlSpan, Pilot};
use crate::root::bisect;
use crate::segment::Segment;
use crate::site::Site;
use crate::solver::{Counts, Piece, Row, Tolerance, integrate};
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
struct Leg {
    segment: Segment<f64>,
    held_at_limit: bool,
    piece: Piece,
    end_s: f64,
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
        let mut segment = span.segment_from(span.start_s, &gusts_on);
        self.release(&self.watch(), &mut gusts_on, &mut segment)
            .map(|row| State::from_array(&row))
    }

    fn watch(&self) -> Watch<'_> {
        Watch {
            vehicle: &self.vehicle,
            air: &self.air,
            site: &self.site,
        }
    }

    /// The controls, cut also where a gust begins or ends in time.
    fn spans(&self) -> Vec<ControlSpan> {
        let in_time = self.air.gusts.iter().filter(|gust| gust.is_in_time());
        let edges = in_time.flat_map(|gust| [gust.start, gust.start + gust.length]);
        self.pilot.spans(self.time_limit_s, edges)
    }

    /// Which gusts in time are on in a span; those in place count as off.
    fn gusts_in_time(&self, span: &ControlSpan) -> Vec<f64> {
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
        let watch = self.watch();
        let events = watch.events();
        let mut flight = Flight {
            throw: self.clone(),
            legs: Vec::new(),
            end: End::Time,
            end_time_s: 0.0,
            counts: Counts::default(),
            apex_times_s: Vec::new(),
        };
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
                let mut segment = span.segment_from(start_s, &gusts_on);
                let start_row = match row {
                    Some(row) => row,
                    None => self.release(&watch, &mut gusts_on, &mut segment)?,
                };
                let (leg, event) =
                    self.fly_leg(&watch, &events, segment, start_s, span.end_s, start_row);
                let leg = Leg {
                    held_at_limit: span.held_at_limit,
                    ..leg
                };
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
                    Some(LegEnd::Failure(failure)) => return Ok(flight.ended(End::Failed(failure))),
                    None => break,
                }
                if start_s >= span.end_s {
                    break;
                }
            }
        }
        Ok(flight)
    }

    /// State at release, with the gusts it happens in switched on.
    fn release(
        &self,
        watch: &Watch<'_>,
        gusts_on: &mut [f64],
        segment: &mut Segment<f64>,
    ) -> Result<Row, LaunchError> {
        // The gusts' switches need the attitude only (for the reference point), which no gust changes.
        let placed = Launch {
            rotor_speeds_rad_s: Some(Vec::new()),
            ..self.launch.clone()
        }
        .state(&self.vehicle, &self.air, segment)?;
        for (i, gust) in self.air.gusts.iter().enumerate() {
            if !gust.is_in_time() {
                gusts_on[i] = f64::from(watch.depth_in_gust(i, 0.0, &placed) > 0.0);
            }
        }
        segment.gusts_on = gusts_on.to_vec();
        let clearance = events::clearance(&self.vehicle, &self.site, &placed);
        if clearance <= 0.0 {
            return Err(LaunchError::BelowGround {
                below_m: -clearance,
            });
        }
        for (i, wall) in self.site.walls.iter().enumerate() {
            if events::wall_distance(&self.vehicle, wall, &placed) <= 0.0 {
                return Err(LaunchError::BehindWall { wall: i + 1 });
            }
        }
        if let Some(hall) = &self.site.hall {
            let (clearance, wall) = events::hall_clearance(&self.vehicle, hall, &placed);
            if clearance <= 0.0 {
                return Err(LaunchError::OutsideHall { wall: wall + 1 });
            }
            let under_ceiling_m = events::ceiling_clearance(&self.vehicle, hall, &placed);
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
        segment: Segment<f64>,
        start_s: f64,
        end_s: f64,
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
        let stop = |time: f64, row: &Row| watch.beyond_any(events, &segment.gusts_on, time, row);
        let (piece, failure) = integrate(&self.tolerance, (start_s, end_s), start, rate, stop);
        let last = piece.step_times_s[piece.step_times_s.len() - 1];
        let (leg_end, how) = match watch.first(events, &segment.gusts_on, &piece) {
            Some((time, event)) => (time, Some(LegEnd::Event(event))),
            None => (last, failure.map(LegEnd::Failure)),
        };
        let leg = Leg {
            segment,
            held_at_limit: false,
            piece,
            end_s: leg_end,
        };
        (leg, how)
    }
}

enum LegEnd {
    Event(Event),
    Failure(NumericalFailure),
}

impl Flight {
    fn ended(mut self, end: End) -> Self {
        self.end = end;
        self
    }

    fn add(&mut self, leg: Leg) {
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

    /// What was flown.
    pub fn throw(&self) -> &Throw {
        &self.throw
    }

    fn leg_at(&self, time_s: f64) -> &Leg {
        let i = self.legs.partition_point(|leg| leg.end_s <= time_s);
        &self.legs[i.min(self.legs.len() - 1)]
    }

    /// State at a time (s) from release to the end; just after a cut where the time is one. Times outside give the nearest end.
    pub fn state_at(&self, time_s: f64) -> State<f64> {
        State::from_array(&self.leg_at(time_s).piece.at(time_s.min(self.end_time_s)))
    }

    /// Forces, flow and power at a time (s).
    pub fn evaluation_at(&self, time_s: f64) -> (State<f64>, Evaluation<f64>) {
        let leg = self.leg_at(time_s);
        let time_s = time_s.clamp(0.0, self.end_time_s);
        let state = State::from_array(&leg.piece.at(time_s));
        let evaluation = evaluate(
            &self.throw.vehicle,
            &self.throw.air,
            &leg.segment,
            time_s,
            &state,
        );
        (state, evaluation)
    }

    /// Whether throttle and left-right difference ask a motor for more than it has at a time (s).
    pub fn throttle_held_at(&self, time_s: f64) -> bool {
        self.leg_at(time_s).held_at_limit
    }

    /// Angle of each tab at a time (s), rad; just after a cut where the time is one.
    pub fn tab_angles_at(&self, time_s: f64) -> impl Iterator<Item = f64> + '_ {
        let leg = self.leg_at(time_s);
        leg.segment.tab_angles(time_s.clamp(0.0, self.end_time_s))
    }

    /// Height of the airframe's lowest point over the ground at a time (s), m.
    pub fn clearance_at(&self, time_s: f64) -> f64 {
        let throw = &self.throw;
        events::clearance(&throw.vehicle, &throw.site, &self.state_at(time_s))
    }

    /// Times at which the flight is cut: release, every discontinuity met, the end; s.
    pub fn cut_times_s(&self) -> Vec<f64> {
        std::iter::once(0.0)
            .chain(self.legs.iter().map(|leg| leg.end_s))
            .collect()
    }

    /// Times close enough together to look at everything that happens: each step in [`events::LOOKS_PER_STEP`] parts, from release to
    /// the end. They come from the solver's own steps, not from the record interval.
    pub fn look_times_s(&self) -> Vec<f64> {
        let mut times = vec![0.0];
        for leg in &self.legs {
            times.extend(
                events::looks(&leg.piece)
                    .map(|(_, after)| after)
                    .filter(|&t| t < leg.end_s),
            );
            times.push(leg.end_s);
        }
        times
    }
}
