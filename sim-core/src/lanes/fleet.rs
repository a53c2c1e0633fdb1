//! Many throws through the lanes of one register: a lane whose flight is over takes the next throw (MODEL.md § 28.5).

use super::course::{Course, Next};
use super::register::Register;
use super::step::{Flown, Going, Interpolants, Step, Stepped, begin};
use super::{Landed, Shape};
use crate::air::Air;
use crate::error::{LaunchError, NumericalFailure};
use crate::flight::{End, Throw};
use crate::number::{Number, Widen};
use crate::parts::Constants;
use crate::segment::Segment;
use crate::solver::{DenseStep, Row};
use crate::state::{STATE_LENGTH, State};
use crate::vehicle::Vehicle;

/// Length of a flight's first step, s.
const FIRST_STEP_S: f64 = 0.02;

/// What flies in a lane.
struct Lane<'a> {
    number: usize,
    course: Course<'a>,
    /// Whether every step has to be looked at.
    every_step: bool,
}

/// Throws of one shape in the lanes of a register.
struct Fleet<'a, 't, R: Register> {
    throws: &'a [&'t Throw],
    /// Numbers of the throws that wait, in order.
    waiting: std::slice::Iter<'a, usize>,
    keep: bool,
    flown: Flown<R>,
    going: Going<R>,
    lanes: Vec<Option<Lane<'t>>>,
}

/// Flies throws of one shape, by their numbers, and hands over what became of each as it lands.
pub fn fly<R: Register>(
    throws: &[&Throw],
    numbers: &[usize],
    keep: bool,
    take: &mut dyn FnMut(usize, Result<Landed, LaunchError>),
) {
    let Some(&first) = numbers.first() else {
        return;
    };
    let first = throws[first];
    let spans = first.spans();
    let gusts_on = vec![0.0; first.air.gusts.len()];
    let segment = spans[0].segment_from(0.0, &gusts_on);
    let mut fleet = Fleet::<R> {
        throws,
        waiting: numbers.iter(),
        keep,
        flown: Flown {
            constants: Constants::widen(&[&Constants::of(&first.vehicle, &first.air)]),
            vehicle: Vehicle::widen(&[&first.vehicle]),
            air: Air::widen(&[&first.air]),
            segment: Segment::widen(&[&segment]),
            parts: Shape::of(first).parts,
        },
        going: Going::nowhere(),
        lanes: (0..R::WIDTH).map(|_| None).collect(),
    };
    fleet.fly(take);
}

impl<R: Register> Fleet<'_, '_, R> {
    fn fly(&mut self, take: &mut dyn FnMut(usize, Result<Landed, LaunchError>)) {
        let mut interpolants = Interpolants::none();
        for lane in 0..R::WIDTH {
            self.fill(lane, take);
        }
        begin(&self.flown, &mut self.going);
        while self.lanes.iter().any(Option::is_some) {
            let every = self.lanes.iter().flatten().any(|lane| lane.every_step);
            let stepped = R::run(Step {
                flown: &self.flown,
                going: &mut self.going,
                always_interpolants: every,
                interpolants: &mut interpolants,
            });
            if self.after(&stepped, &interpolants, take) {
                begin(&self.flown, &mut self.going);
            }
        }
    }

    /// What the step was in each lane; whether any lane goes on from a cut.
    fn after(
        &mut self,
        stepped: &Stepped,
        interpolants: &Interpolants,
        take: &mut dyn FnMut(usize, Result<Landed, LaunchError>),
    ) -> bool {
        let mut cut = false;
        for lane in 0..R::WIDTH {
            let has = |bits: u32| bits >> lane & 1 == 1;
            let Some(flying) = &mut self.lanes[lane] else {
                continue;
            };
            let next = if has(stepped.accepted) {
                let at_cut = has(stepped.at_cut);
                let dense =
                    (flying.every_step || has(stepped.near)).then(|| dense(interpolants, lane));
                if dense.is_none() && !at_cut {
                    flying.course.counted();
                    continue;
                }
                let (end_s, row) = (self.going.time.lane(lane), row(&self.going, lane));
                // The cut's own time, not as a shorter number has it.
                let end_s = if at_cut { flying.course.cut_s() } else { end_s };
                flying.course.stepped(dense, end_s, row, at_cut)
            } else {
                flying.course.rejected();
                let failure = if has(stepped.failed) {
                    Some(if has(stepped.not_finite) {
                        NumericalFailure::NotFinite
                    } else {
                        NumericalFailure::StepUnderflow
                    })
                } else {
                    flying
                        .course
                        .has_stuck()
                        .then_some(NumericalFailure::TooManySteps)
                };
                let Some(failure) = failure else { continue };
                let time_s = self.going.time.lane(lane);
                flying
                    .course
                    .failed(failure, time_s, row(&self.going, lane))
            };
            match next {
                Next::On => {}
                Next::From(time_s, row) => {
                    cut = true;
                    self.put(lane, time_s, &row);
                }
                Next::Over(end, time_s, row) => {
                    cut = true;
                    self.land(lane, end, time_s, &row, take);
                    self.fill(lane, take);
                }
            }
        }
        cut
    }

    /// Puts the state at a cut, and what holds from there on, into a lane.
    fn put(&mut self, lane: usize, time_s: f64, row: &Row) {
        let Some(flying) = &self.lanes[lane] else {
            return;
        };
        for (wide, value) in self.going.rows.iter_mut().zip(row) {
            wide.put_lane(lane, *value);
        }
        self.going.time.put_lane(lane, time_s);
        self.going.cut.put_lane(lane, flying.course.cut_s());
        flying.course.segment.put(&mut self.flown.segment, lane);
    }

    fn land(
        &mut self,
        lane: usize,
        end: End,
        end_time_s: f64,
        row: &Row,
        take: &mut dyn FnMut(usize, Result<Landed, LaunchError>),
    ) {
        let Some(flying) = self.lanes[lane].take() else {
            return;
        };
        let (counts, cut_off_time_s) = (flying.course.counts, flying.course.cut_off_time_s);
        let landed = Landed {
            end,
            end_time_s,
            state: State::from_array(row),
            counts,
            cut_off_time_s,
            flight: flying.course.into_flight(end, end_time_s),
        };
        take(flying.number, Ok(landed));
    }

    /// Puts the next throw that can start into a lane; without one the lane stands still.
    fn fill(&mut self, lane: usize, take: &mut dyn FnMut(usize, Result<Landed, LaunchError>)) {
        for &number in self.waiting.by_ref() {
            let throw = self.throws[number];
            match Course::new(throw, self.keep) {
                Err(error) => take(number, Err(error)),
                Ok((course, row)) => {
                    let going = &mut self.going;
                    throw.vehicle.put(&mut self.flown.vehicle, lane);
                    throw.air.put(&mut self.flown.air, lane);
                    let constants = Constants::of(&throw.vehicle, &throw.air);
                    constants.put(&mut self.flown.constants, lane);
                    let tolerance = &throw.tolerance;
                    going
                        .over_tolerance
                        .put_lane(lane, 1.0 / tolerance.relative);
                    going.longest.put_lane(lane, tolerance.largest_step_s);
                    going
                        .length
                        .put_lane(lane, FIRST_STEP_S.min(tolerance.largest_step_s));
                    going.last_error.put_lane(lane, 0.0);
                    going.floor.put_lane(lane, course.floor_m());
                    going.capacity.put_lane(lane, throw.vehicle.cell.capacity);
                    let every_step = course.wants_every_step();
                    self.lanes[lane] = Some(Lane {
                        number,
                        course,
                        every_step,
                    });
                    self.put(lane, 0.0, &row);
                    return;
                }
            }
        }
        self.stand_still(lane);
    }

    fn stand_still(&mut self, lane: usize) {
        let nowhere = Going::<R>::nowhere();
        for i in 0..STATE_LENGTH {
            self.going.rows[i].put_lane(lane, nowhere.rows[i].lane(lane));
        }
        for (wide, still) in [
            (&mut self.going.time, nowhere.time),
            (&mut self.going.cut, nowhere.cut),
            (&mut self.going.length, nowhere.length),
            (&mut self.going.longest, nowhere.longest),
            (&mut self.going.last_error, nowhere.last_error),
            (&mut self.going.floor, nowhere.floor),
        ] {
            wide.put_lane(lane, still.lane(lane));
        }
    }
}

fn row<R: Register>(going: &Going<R>, lane: usize) -> Row {
    std::array::from_fn(|i| going.rows[i].lane(lane))
}

fn dense(interpolants: &Interpolants, lane: usize) -> DenseStep {
    DenseStep {
        start_s: interpolants.start_s[lane],
        length_s: interpolants.length_s[lane],
        powers: std::array::from_fn(|power| {
            std::array::from_fn(|i| interpolants.powers[power][i][lane])
        }),
    }
}
