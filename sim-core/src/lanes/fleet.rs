//! Many throws through the lanes of one register: a lane whose flight is over takes the next throw (MODEL.md § 28.5).

use super::course::{Course, Next};
use super::looks::{LookAtStep, StepLooks};
use super::register::Register;
use super::step::{Flown, Going, Interpolants, Step, Stepped, begin};
use super::{Landed, Spare};
use crate::air::Air;
use crate::error::{LaunchError, NumericalFailure};
use crate::flight::{End, Flying};
use crate::number::{Number, Widen};
use crate::parts::{Constants, Parts};
use crate::pilot::ControlSpans;
use crate::segment::Segment;
use crate::solver::{DenseStep, Row};
use crate::state::{STATE_LENGTH, State};
use crate::vehicle::Vehicle;

/// Length of a flight's first step, s.
const FIRST_STEP_S: f64 = 0.02;

/// What flies in a lane.
struct Lane<'t> {
    number: usize,
    flying: Flying<'t>,
    course: Course,
    /// Whether every step's solution is wanted.
    every_step: bool,
}

/// Throws of one shape, some of many.
pub struct Batch<'b, 't> {
    /// A throw by its number.
    pub flying: &'b dyn Fn(usize) -> Flying<'t>,
    /// Numbers of those to be flown, in order.
    pub numbers: &'b [usize],
    /// Whether whole trajectories are written down.
    pub keep: bool,
}

/// What is told of each throw that is over: its number, what became of it, and where storage of trajectories goes that is done with.
pub type Take<'a> = dyn FnMut(usize, Result<Landed, LaunchError>, &mut Spare) + 'a;

/// Lanes of a register for throws of one shape, that stay from one batch to the next.
#[derive(Debug)]
pub struct Hangar<R: Register> {
    flown: Flown<R>,
    /// Of the throw put into a lane last.
    constants: Constants<f64>,
    /// Courses that lead nowhere.
    idle: Vec<Course>,
    interpolants: Box<Interpolants>,
    looks: Box<StepLooks>,
}

/// Flies batches of throws of one shape.
pub trait Flies: std::fmt::Debug + Send {
    /// Flies one and hands over what became of each throw as it lands.
    fn fly(&mut self, batch: &Batch<'_, '_>, spare: &mut Spare, take: &mut Take<'_>);
}

impl<R: Register> Hangar<R> {
    /// One for throws shaped like this one.
    pub fn new(flying: &Flying<'_>) -> Self {
        let mut spans = ControlSpans::default();
        flying.put_spans(&mut spans);
        let first = flying.throw;
        let vehicle = Vehicle::widen(&[&first.vehicle]);
        let segment = spans[0].segment_from(0.0, &vec![0.0; first.air.gusts.len()]);
        let constants = Constants::of(&first.vehicle, &first.air);
        Hangar {
            flown: Flown {
                constants: Constants::widen(&[&constants]),
                vehicle,
                air: Air::widen(&[&first.air]),
                segment: Segment::widen(&[&segment]),
                parts: Parts::of(&first.vehicle, &first.air),
            },
            constants,
            idle: (0..R::WIDTH).map(|_| Course::nowhere()).collect(),
            interpolants: Interpolants::none(),
            looks: StepLooks::none(),
        }
    }
}

impl<R: Register> Flies for Hangar<R> {
    fn fly(&mut self, batch: &Batch<'_, '_>, spare: &mut Spare, take: &mut Take<'_>) {
        let mut sortie = Sortie::<R> {
            batch,
            waiting: batch.numbers.iter(),
            flown: &mut self.flown,
            constants: &mut self.constants,
            idle: &mut self.idle,
            interpolants: &mut self.interpolants,
            looks: &mut self.looks,
            spare,
            going: Going::nowhere(),
            lanes: std::array::from_fn(|_| None),
        };
        sortie.fly(take);
    }
}

/// Most lanes of any register.
const MOST_LANES: usize = 16;

/// A batch in the lanes.
struct Sortie<'b, 't, R: Register> {
    batch: &'b Batch<'b, 't>,
    waiting: std::slice::Iter<'b, usize>,
    flown: &'b mut Flown<R>,
    constants: &'b mut Constants<f64>,
    idle: &'b mut Vec<Course>,
    interpolants: &'b mut Interpolants,
    looks: &'b mut StepLooks,
    spare: &'b mut Spare,
    going: Going<R>,
    lanes: [Option<Lane<'t>>; MOST_LANES],
}

impl<R: Register> Sortie<'_, '_, R> {
    fn fly(&mut self, take: &mut Take<'_>) {
        // Numbers of 24 bits are too coarse to look with.
        let looks = self.batch.keep && !R::SINGLE;
        for lane in 0..R::WIDTH {
            self.fill(lane, take);
        }
        begin(self.flown, &mut self.going);
        while self.lanes.iter().any(Option::is_some) {
            let every = self.lanes.iter().flatten().any(|lane| lane.every_step);
            let stepped = R::run(Step {
                flown: self.flown,
                going: &mut self.going,
                always_interpolants: every,
                interpolants: self.interpolants,
            });
            if looks {
                R::run(LookAtStep {
                    flown: self.flown,
                    step: self.interpolants,
                    to: self.looks,
                });
            }
            if self.after(&stepped, take) {
                begin(self.flown, &mut self.going);
            }
        }
    }

    /// What the step was in each lane; whether any lane goes on from a cut.
    fn after(&mut self, stepped: &Stepped, take: &mut Take<'_>) -> bool {
        let mut cut = false;
        for lane in 0..R::WIDTH {
            let has = |bits: u32| bits >> lane & 1 == 1;
            let Some(Lane {
                flying,
                course,
                every_step,
                ..
            }) = &mut self.lanes[lane]
            else {
                continue;
            };
            let next = if has(stepped.accepted) {
                let (at_cut, near) = (has(stepped.at_cut), has(stepped.near));
                let dense = (*every_step || near).then(|| dense(self.interpolants, lane));
                if dense.is_none() && !at_cut {
                    course.counted();
                    continue;
                }
                let (end_s, row) = (self.going.time.lane(lane), row(&self.going, lane));
                // The cut's own time, not as a shorter number has it.
                let end_s = if at_cut { course.cut_s() } else { end_s };
                let looks = &*self.looks;
                let moment = |look: usize, time_s: f64| looks.moment(look, lane, time_s);
                course.stepped(flying, (dense.as_ref(), moment), near, (end_s, row), at_cut)
            } else {
                course.rejected();
                let failure = if has(stepped.failed) {
                    Some(if has(stepped.not_finite) {
                        NumericalFailure::NotFinite
                    } else {
                        NumericalFailure::StepUnderflow
                    })
                } else {
                    course.has_stuck().then_some(NumericalFailure::TooManySteps)
                };
                let Some(failure) = failure else { continue };
                let time_s = self.going.time.lane(lane);
                course.failed(flying, failure, time_s, row(&self.going, lane))
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

    fn land(&mut self, lane: usize, end: End, end_time_s: f64, row: &Row, take: &mut Take<'_>) {
        let Some(Lane {
            number, mut course, ..
        }) = self.lanes[lane].take()
        else {
            return;
        };
        let trajectory = self.batch.keep.then(|| {
            let storage = self.spare.take();
            course.exchange_trajectory(storage, end, end_time_s)
        });
        let landed = Landed {
            end,
            end_time_s,
            state: State::from_array(row),
            counts: course.counts,
            cut_off_time_s: course.cut_off_time_s,
            trajectory,
        };
        self.idle.push(course);
        take(number, Ok(landed), self.spare);
    }

    /// Puts the next throw that can start into a lane; without one the lane stands still.
    fn fill(&mut self, lane: usize, take: &mut Take<'_>) {
        while let Some(&number) = self.waiting.next() {
            let flying = (self.batch.flying)(number);
            // A batch cut short by a panic may have left too few.
            let mut course = self.idle.pop().unwrap_or_else(Course::nowhere);
            let row = match course.begin(&flying, self.batch.keep, !R::SINGLE) {
                Ok(row) => row,
                Err(error) => {
                    self.idle.push(course);
                    take(number, Err(error), self.spare);
                    continue;
                }
            };
            let throw = flying.throw;
            let going = &mut self.going;
            throw.vehicle.put(&mut self.flown.vehicle, lane);
            throw.air.put(&mut self.flown.air, lane);
            self.constants.work_out(&throw.vehicle, &throw.air);
            self.constants.put(&mut self.flown.constants, lane);
            let tolerance = &throw.tolerance;
            going
                .over_tolerance
                .put_lane(lane, 1.0 / tolerance.relative);
            going.longest.put_lane(lane, tolerance.largest_step_s);
            going
                .length
                .put_lane(lane, FIRST_STEP_S.min(tolerance.largest_step_s));
            going.last_error.put_lane(lane, 0.0);
            going.floor.put_lane(lane, Course::floor_m(&flying));
            going.capacity.put_lane(lane, throw.vehicle.cell.capacity);
            let every_step = course.wants_every_step(&flying);
            self.lanes[lane] = Some(Lane {
                number,
                flying,
                course,
                every_step,
            });
            self.put(lane, 0.0, &row);
            return;
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
