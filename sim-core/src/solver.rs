//! The adaptive solver: the only file that calls the `ode_solvers` crate (MODEL.md § 9).

use crate::error::NumericalFailure;
use crate::state::STATE_LENGTH;
use ode_solvers::continuous_output_model::ContinuousOutputModel;
use ode_solvers::dop_shared::{IntegrationError, Stats};
use ode_solvers::{Dop853, Dopri5, OutputType, SVector, System};
use std::cell::Cell;

/// A state as a row of numbers.
pub type Row = [f64; STATE_LENGTH];
type Vector = SVector<f64, STATE_LENGTH>;
type Dense = ContinuousOutputModel<f64, Vector>;

/// Integration method.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Method {
    /// Dormand-Prince 5(4) with dense output of order 4.
    #[default]
    Dopri5,
    /// Dormand-Prince 8(5,3) with dense output of order 7.
    Dop853,
    /// Tsitouras 5(4) in the lanes of [`crate::lanes`], numbers of 53 bits.
    Lanes,
    /// The same in numbers of 24 bits, for screening.
    LanesSingle,
}

/// How exactly to integrate.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Tolerance {
    /// Method.
    pub method: Method,
    /// Relative tolerance of a step.
    pub relative: f64,
    /// Absolute tolerance of a step, in each state's SI unit.
    pub absolute: f64,
    /// Largest step, s.
    pub largest_step_s: f64,
    /// First step of each segment, s; 0 lets the solver choose.
    pub first_step_s: f64,
}

impl Default for Tolerance {
    /// Dopri5 at 1e-9, steps up to 0.05 s (no ready throw needs longer ones, and events are looked for in every step).
    fn default() -> Self {
        Tolerance {
            method: Method::Dopri5,
            relative: 1e-9,
            absolute: 1e-9,
            largest_step_s: 0.05,
            first_step_s: 0.0,
        }
    }
}

/// Steps and derivative calls.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Counts {
    /// Calls of the right-hand side.
    pub derivative_calls: u32,
    /// Accepted steps.
    pub accepted_steps: u32,
    /// Rejected steps.
    pub rejected_steps: u32,
}

/// A stretch of solution with dense output between its steps.
#[derive(Clone, Debug)]
pub struct Piece {
    dense: Solution,
    /// Ends of the steps, from the start of the piece, s.
    pub step_times_s: Vec<f64>,
    /// What it cost.
    pub counts: Counts,
    start: Row,
}

/// A solution between its steps.
#[derive(Clone, Debug)]
enum Solution {
    /// The solver crate's, up to a time each, in order.
    Crate(Vec<(f64, Dense)>),
    /// One polynomial a step, in order.
    Steps(Vec<DenseStep>),
}

/// A step with the polynomial of its state over the share of the step.
#[derive(Clone, Debug, PartialEq)]
pub struct DenseStep {
    /// Start, s.
    pub start_s: f64,
    /// Length, s.
    pub length_s: f64,
    /// Coefficients of the powers 0 to 4.
    pub powers: [Row; 5],
}

impl DenseStep {
    /// State at a time (s).
    pub fn at(&self, time_s: f64) -> Row {
        let theta = self.share(time_s);
        std::array::from_fn(|i| self.number(i, theta))
    }

    /// Numbers of it that follow one another, by the place of the first in the row.
    pub fn numbers_at<const N: usize>(&self, first: usize, time_s: f64) -> [f64; N] {
        let theta = self.share(time_s);
        std::array::from_fn(|i| self.number(first + i, theta))
    }

    fn share(&self, time_s: f64) -> f64 {
        (time_s - self.start_s) / self.length_s
    }

    #[inline(always)]
    fn number(&self, i: usize, theta: f64) -> f64 {
        let [p0, p1, p2, p3, p4] = &self.powers;
        p0[i] + theta * (p1[i] + theta * (p2[i] + theta * (p3[i] + theta * p4[i])))
    }
}

impl Default for Piece {
    /// Nothing yet.
    fn default() -> Self {
        Piece {
            dense: Solution::Steps(Vec::new()),
            step_times_s: Vec::new(),
            counts: Counts::default(),
            start: [0.0; STATE_LENGTH],
        }
    }
}

impl Piece {
    /// Becomes a solution from a time (s) and state on, without steps as yet, in its own storage.
    pub fn begin(&mut self, start_s: f64, start: Row) {
        match &mut self.dense {
            Solution::Steps(steps) => steps.clear(),
            Solution::Crate(_) => self.dense = Solution::Steps(Vec::new()),
        }
        self.step_times_s.clear();
        self.step_times_s.push(start_s);
        self.counts = Counts::default();
        self.start = start;
    }

    /// Goes on by a step, which follows on the one before.
    pub fn add(&mut self, step: &DenseStep) {
        self.step_times_s.push(step.start_s + step.length_s);
        if let Solution::Steps(steps) = &mut self.dense {
            steps.push(step.clone());
        }
    }

    /// Where it begins, s.
    pub fn start_s(&self) -> f64 {
        self.step_times_s[0]
    }

    /// Where its last step ends, s.
    pub fn end_s(&self) -> f64 {
        self.step_times_s[self.step_times_s.len() - 1]
    }

    /// Solution at a time inside the piece (s); times outside give the nearest end. A piece without steps is its start.
    pub fn at(&self, time_s: f64) -> Row {
        if time_s <= self.start_s() {
            return self.start;
        }
        let time_s = time_s.min(self.end_s());
        match &self.dense {
            Solution::Crate(dense) => {
                let i = dense.partition_point(|(end, _)| *end < time_s);
                let found = dense.get(i).and_then(|(_, dense)| dense.evaluate(time_s));
                found.map_or(self.start, Into::into)
            }
            Solution::Steps(steps) => self
                .step(steps, time_s)
                .map_or(self.start, |step| step.at(time_s)),
        }
    }

    /// Numbers of the state that follow one another, by the place of the first in the row, as in [`Piece::at`].
    pub fn numbers_at<const N: usize>(&self, first: usize, time_s: f64) -> [f64; N] {
        let steps = match &self.dense {
            Solution::Steps(steps) if time_s > self.start_s() => steps,
            _ => {
                let row = self.at(time_s);
                return std::array::from_fn(|i| row[first + i]);
            }
        };
        let time_s = time_s.min(self.end_s());
        match self.step(steps, time_s) {
            Some(step) => step.numbers_at(first, time_s),
            None => std::array::from_fn(|i| self.start[first + i]),
        }
    }

    /// The step that a time (s) after the start lies in.
    fn step<'s>(&self, steps: &'s [DenseStep], time_s: f64) -> Option<&'s DenseStep> {
        steps.get(self.step_times_s[1..].partition_point(|end| *end < time_s))
    }
}

/// Runs from `start_s` to `end_s`, or to the first step end at which `stop` says so.
///
/// A failure comes with the piece up to the last good step. The 8(5,3) method of the solver crate gives no dense output for
/// later use; each of its steps gets that of a Dopri5 run over the step at the same tolerance.
pub fn integrate(
    tolerance: &Tolerance,
    (start_s, end_s): (f64, f64),
    start: Row,
    rate: impl Fn(f64, &Row) -> Row,
    stop: impl FnMut(f64, &Row) -> bool,
) -> (Piece, Option<NumericalFailure>) {
    if start.iter().any(|x| !x.is_finite()) {
        let nothing = Piece {
            dense: Solution::Crate(Vec::new()),
            step_times_s: vec![start_s],
            counts: Counts::default(),
            start,
        };
        return (nothing, Some(NumericalFailure::NotFinite));
    }
    // The crate forgets its count when it fails.
    let calls = Cell::new(0_u32);
    let rate = |time: f64, row: &Row| {
        calls.set(calls.get() + 1);
        rate(time, row)
    };
    let problem = Problem { rate: &rate, stop };
    match tolerance.method {
        Method::Dopri5 => {
            let (mut piece, failure) = dopri5(tolerance, (start_s, end_s), start, problem);
            piece.counts.derivative_calls = calls.get();
            (piece, failure)
        }
        // Throws of the lanes are not integrated one by one ([`crate::flight::Throw::fly`]).
        Method::Dop853 | Method::Lanes | Method::LanesSingle => {
            // Largest growth and shrinkage of a step, safety and damping: the crate's defaults for this method.
            let mut solver = Dop853::from_param(
                problem,
                start_s,
                end_s,
                end_s - start_s,
                Vector::from(start),
                tolerance.relative,
                tolerance.absolute,
                0.9,
                0.0,
                0.333,
                6.0,
                tolerance.largest_step_s.min(end_s - start_s),
                tolerance.first_step_s.min(end_s - start_s),
                most_steps(end_s - start_s),
                NEVER_STIFF,
                OutputType::Sparse,
            );
            let outcome = solver.integrate();
            let (mut piece, mut failure) =
                conclude(outcome, start_s, start, solver.x_out(), solver.y_out());
            let rows = solver.y_out();
            // Sparse output holds the start as its first row.
            let mut dense = Vec::new();
            for (i, step) in solver.x_out().windows(2).enumerate() {
                let inner = Problem {
                    rate: &rate,
                    stop: |_: f64, _: &Row| false,
                };
                let (within, inner_failure) =
                    dopri5(tolerance, (step[0], step[1]), rows[i].into(), inner);
                if inner_failure.is_some() {
                    piece.step_times_s.truncate(i + 1);
                    failure = inner_failure;
                    break;
                }
                if let Solution::Crate(within) = within.dense {
                    dense.extend(within);
                }
            }
            piece.dense = Solution::Crate(dense);
            piece.counts.derivative_calls = calls.get();
            (piece, failure)
        }
    }
}

fn dopri5<R, S>(
    tolerance: &Tolerance,
    (start_s, end_s): (f64, f64),
    start: Row,
    problem: Problem<&R, S>,
) -> (Piece, Option<NumericalFailure>)
where
    R: Fn(f64, &Row) -> Row,
    S: FnMut(f64, &Row) -> bool,
{
    let mut dense = Dense::default();
    let mut solver = Dopri5::from_param(
        problem,
        start_s,
        end_s,
        end_s - start_s,
        Vector::from(start),
        tolerance.relative,
        tolerance.absolute,
        0.9,
        0.04,
        0.2,
        10.0,
        tolerance.largest_step_s.min(end_s - start_s),
        tolerance.first_step_s.min(end_s - start_s),
        most_steps(end_s - start_s),
        NEVER_STIFF,
        OutputType::Continuous,
    );
    let outcome = solver.integrate_with_continuous_output_model(&mut dense);
    let (mut piece, failure) = conclude(outcome, start_s, start, solver.x_out(), solver.y_out());
    piece.dense = Solution::Crate(vec![(end_s, dense)]);
    (piece, failure)
}

/// What the solver crate reports, in our words.
fn conclude(
    outcome: Result<Stats, IntegrationError>,
    start_s: f64,
    start: Row,
    times: &[f64],
    rows: &[Vector],
) -> (Piece, Option<NumericalFailure>) {
    let step_times_s: Vec<f64> = std::iter::once(start_s)
        .chain(times.iter().copied().filter(|&t| t > start_s))
        .collect();
    let failure = match &outcome {
        Ok(_) if rows.iter().any(|row| row.iter().any(|x| !x.is_finite())) => {
            Some(NumericalFailure::NotFinite)
        }
        Ok(_) => None,
        Err(IntegrationError::MaxNumStepReached { .. }) => Some(NumericalFailure::TooManySteps),
        Err(_) => Some(NumericalFailure::StepUnderflow),
    };
    let counts = match outcome {
        Ok(stats) => Counts {
            derivative_calls: stats.num_eval,
            accepted_steps: stats.accepted_steps,
            rejected_steps: stats.rejected_steps,
        },
        Err(_) => Counts {
            accepted_steps: step_times_s.len() as u32 - 1,
            ..Counts::default()
        },
    };
    let piece = Piece {
        dense: Solution::Crate(Vec::new()),
        step_times_s,
        counts,
        start,
    };
    (piece, failure)
}

/// The solver's stiffness test runs every so many steps: never. Slow progress is bounded by the number of steps instead.
const NEVER_STIFF: u32 = u32::MAX;
/// Steps allowed in a piece of a length (s): more than a hundred times what a ready throw takes at 1e-9. A flight that needs steps of under
/// 50 µs all along is too stiff for an explicit method, and says so instead of going on for hours.
fn most_steps(length_s: f64) -> u32 {
    10_000 + (20_000.0 * length_s).min(1e9) as u32
}

struct Problem<R, S> {
    rate: R,
    stop: S,
}

impl<R, S> System<f64, Vector> for Problem<&R, S>
where
    R: Fn(f64, &Row) -> Row,
    S: FnMut(f64, &Row) -> bool,
{
    fn system(&self, time: f64, y: &Vector, rate: &mut Vector) {
        *rate = Vector::from((self.rate)(time, y.as_ref_row()));
    }
    fn solout(&mut self, time: f64, y: &Vector, _rate: &Vector) -> bool {
        (self.stop)(time, y.as_ref_row())
    }
}

trait AsRow {
    fn as_ref_row(&self) -> &Row;
}
impl AsRow for Vector {
    fn as_ref_row(&self) -> &Row {
        self.as_slice().try_into().expect("a vector is a row long")
    }
}
