//! One step of all lanes, each with a length of its own (MODEL.md § 28.4, 28.5).

// Sums over stages and states, as the formulas have them.
#![allow(clippy::needless_range_loop)]

use super::number::Lanes;
use super::pair::{ERROR, INTERPOLANT, STAGES, TIMES, WEIGHTS};
use super::register::{Job, Register};
use crate::air::Air;
use crate::forces::evaluate_parts;
use crate::number::Number;
use crate::parts::{Constants, Parts};
use crate::segment::Segment;
use crate::state::{STATE_LENGTH, State};
use crate::vehicle::Vehicle;
use num_traits::{One, Zero};

/// States in lanes as rows.
pub type Rows<R> = [Lanes<R>; STATE_LENGTH];

/// What an error of the tolerance is of each state: 1 m, 1, 3 m/s, 3 rad/s, 300 rad/s, 10 C.
pub const SCALES: [f64; STATE_LENGTH] = [
    1.0, 1.0, 1.0, 1.0, 1.0, 1.0, 1.0, 3.0, 3.0, 3.0, 3.0, 3.0, 3.0, 300.0, 300.0, 10.0,
];
/// Share of the length at which the estimated error would just be allowed that is taken next.
const SAFETY: f64 = 0.95;
/// A step is at most so many times as long as the one before, and at least the reciprocal.
const MOST_CHANGE: f64 = 5.0;
/// Powers of the last error and of the one before it in the next step's length.
const POWERS: (f64, f64) = (0.14, 0.1);
/// A step that would have to be shorter fails, s.
pub const SHORTEST_STEP_S: f64 = 1e-9;

/// What is flown in each lane, and in what.
#[derive(Debug)]
pub struct Flown<R: Register> {
    /// The vehicles.
    pub vehicle: Vehicle<Lanes<R>>,
    /// What of them is worked out once.
    pub constants: Constants<Lanes<R>>,
    /// The airs.
    pub air: Air<Lanes<R>>,
    /// What holds until the next cut.
    pub segment: Segment<Lanes<R>>,
    /// What all of them have.
    pub parts: Parts,
}

/// Where each lane is and how it goes on.
#[derive(Debug)]
pub struct Going<R: Register> {
    /// Time, s.
    pub time: Lanes<R>,
    /// State.
    pub rows: Rows<R>,
    /// Slopes of the last step tried; the first is that at the state.
    pub slopes: [Rows<R>; STAGES],
    /// Next cut, s.
    pub cut: Lanes<R>,
    /// Length of the next step, s.
    pub length: Lanes<R>,
    /// Logarithm of the last accepted step's squared error.
    pub last_error: Lanes<R>,
    /// 1/tolerance.
    pub over_tolerance: Lanes<R>,
    /// Longest step, s.
    pub longest: Lanes<R>,
    /// Height of the balance point under which the ground may be touched, m.
    pub floor: Lanes<R>,
    /// Charge at which the cell is empty, C.
    pub capacity: Lanes<R>,
}

impl<R: Register> Going<R> {
    /// Nowhere: lanes that stand still.
    pub fn nowhere() -> Self {
        let zero = Lanes::zero();
        let mut rows = [zero; STATE_LENGTH];
        rows[3] = Lanes::one();
        Going {
            time: zero,
            rows,
            slopes: [[zero; STATE_LENGTH]; STAGES],
            cut: Lanes::constant(1e6),
            length: zero,
            last_error: zero,
            over_tolerance: Lanes::one(),
            longest: zero,
            floor: Lanes::constant(-1e9),
            capacity: Lanes::constant(1e9),
        }
    }
}

/// What became of a step in each lane, as bits.
#[derive(Clone, Copy, Debug, Default)]
pub struct Stepped {
    /// Lanes whose step counts.
    pub accepted: u32,
    /// Of those, the ones that have reached their cut.
    pub at_cut: u32,
    /// Of those, the ones that may have touched the ground or emptied the cell.
    pub near: u32,
    /// Lanes that cannot go on; of those the ones with an error that is no number.
    pub failed: u32,
    /// Lanes with an error that is no number.
    pub not_finite: u32,
}

/// The interpolants of the last step, and from when to when it went, as plain numbers.
#[derive(Debug)]
pub struct Interpolants {
    /// Powers of the share of the step, of each state, of each lane.
    pub powers: [[[f64; 16]; STATE_LENGTH]; 5],
    /// Start of each lane's step, s.
    pub start_s: [f64; 16],
    /// Its length, s.
    pub length_s: [f64; 16],
}

impl Interpolants {
    /// Of no step.
    pub fn none() -> Box<Self> {
        Box::new(Interpolants {
            powers: [[[0.0; 16]; STATE_LENGTH]; 5],
            start_s: [0.0; 16],
            length_s: [0.0; 16],
        })
    }
}

/// The right-hand side in all lanes. Compiled once; the stages call it.
struct Derivative<'a, R: Register> {
    flown: &'a Flown<R>,
    time: Lanes<R>,
    rows: &'a Rows<R>,
    slope: &'a mut Rows<R>,
}

impl<R: Register> Job for Derivative<'_, R> {
    type Output = ();
    #[inline(always)]
    fn run(self) {
        let flown = self.flown;
        *self.slope = evaluate_parts(
            &flown.vehicle,
            &flown.air,
            &flown.segment,
            &flown.parts,
            &flown.constants,
            self.time,
            &State::from_array(self.rows),
        )
        .rate
        .to_array();
    }
}

/// Rates of states at times.
pub fn rates_at<R: Register>(
    flown: &Flown<R>,
    time: Lanes<R>,
    rows: &Rows<R>,
    slope: &mut Rows<R>,
) {
    R::run(Derivative {
        flown,
        time,
        rows,
        slope,
    });
}

/// Slopes at where every lane is, after a cut in some.
pub fn begin<R: Register>(flown: &Flown<R>, going: &mut Going<R>) {
    rates_at(flown, going.time, &going.rows, &mut going.slopes[0]);
}

/// A step of all lanes.
pub struct Step<'a, R: Register> {
    /// What is flown.
    pub flown: &'a Flown<R>,
    /// Where each lane is.
    pub going: &'a mut Going<R>,
    /// Whether interpolants are wanted of every step; they always are of one that may touch something.
    pub always_interpolants: bool,
    /// Where they go.
    pub interpolants: &'a mut Interpolants,
}

impl<R: Register> Job for Step<'_, R> {
    type Output = Stepped;

    #[inline(always)]
    fn run(self) -> Stepped {
        let (zero, one) = (Lanes::<R>::zero(), Lanes::<R>::one());
        let going = self.going;
        let remaining = going.cut - going.time;
        // The way to the cut in one step where it is short enough, in two even ones where it nearly is.
        let twice = going.length + going.length;
        let half = remaining * Lanes::constant(0.5);
        let short = remaining.select_less(twice, half, going.length);
        let length = going.length.select_less(remaining, short, remaining);
        let mut tried = [zero; STATE_LENGTH];
        self::stage::<R, 1>(self.flown, going, length, &mut tried);
        self::stage::<R, 2>(self.flown, going, length, &mut tried);
        self::stage::<R, 3>(self.flown, going, length, &mut tried);
        self::stage::<R, 4>(self.flown, going, length, &mut tried);
        self::stage::<R, 5>(self.flown, going, length, &mut tried);
        self::stage::<R, 6>(self.flown, going, length, &mut tried);
        let scale = length * going.over_tolerance;
        let mut square = zero;
        for i in 0..STATE_LENGTH {
            let mut error = going.slopes[0][i] * Lanes::constant(ERROR[0]);
            for j in 1..STAGES {
                error = going.slopes[j][i].times_plus(Lanes::constant(ERROR[j]), error);
            }
            let share = error * scale * Lanes::constant(1.0 / SCALES[i]);
            square = share.times_plus(share, square);
        }
        square *= Lanes::constant(1.0 / STATE_LENGTH as f64);
        let accepted = square.0.less(one.0);
        let yes = |mask: R::Mask, a: Lanes<R>, b: Lanes<R>| Lanes(R::select(mask, a.0, b.0));

        let least = Lanes::constant(1e-20);
        let log = square.larger(least).ln();
        let (now, before) = POWERS;
        let power = going.last_error.times_plus(
            Lanes::constant(0.5 * before),
            log * Lanes::constant(-0.5 * now),
        );
        let after_rejection = log * Lanes::constant(-0.1);
        let factor = Lanes::constant(SAFETY) * yes(accepted, power, after_rejection).exp();
        // What is no number is not over the least either.
        let least_factor = Lanes::constant(1.0 / MOST_CHANGE);
        let factor = least_factor.select_less(factor, factor, least_factor);
        let most = Lanes::constant(MOST_CHANGE);
        let factor = most.select_less(factor, most, factor);
        let next = length * factor;
        // A step cut short says nothing against the length it would have had.
        let next_after_cut = next.larger(going.length);
        let kept = length.select_less(going.length, next_after_cut, next);
        let next = yes(accepted, kept, next);
        let next = going.longest.select_less(next, going.longest, next);

        let lowest = tried[2].select_less(going.rows[2], -going.rows[2], -tried[2]);
        let speed =
            tried[9].times_plus(tried[9], tried[8].times_plus(tried[8], tried[7] * tried[7]));
        let margin = length.times_plus(speed.sqrt(), going.floor);
        let at_ground = R::bits(lowest.0.less(margin.0));
        let emptied = R::bits(going.capacity.0.less(tried[STATE_LENGTH - 1].0));
        let at_cut = !R::bits(length.0.less(remaining.0));
        let accepted_bits = R::bits(accepted);
        let too_short = R::bits(next.0.less(Lanes::<R>::constant(SHORTEST_STEP_S).0));
        let finite = R::bits(square.0.less(Lanes::<R>::constant(1e30).0));
        let all = ((1_u64 << R::WIDTH) - 1) as u32;
        let stepped = Stepped {
            accepted: accepted_bits,
            at_cut: at_cut & accepted_bits,
            near: (at_ground | emptied) & accepted_bits,
            failed: too_short & !accepted_bits & all,
            not_finite: !finite & all,
        };
        if self.always_interpolants || stepped.near != 0 {
            interpolate(going, length, self.interpolants);
        }

        for i in 0..STATE_LENGTH {
            going.rows[i] = yes(accepted, tried[i], going.rows[i]);
            going.slopes[0][i] = yes(accepted, going.slopes[STAGES - 1][i], going.slopes[0][i]);
        }
        let reached = yes(length.0.less(remaining.0), going.time + length, going.cut);
        going.time = yes(accepted, reached, going.time);
        going.last_error = yes(accepted, log, going.last_error);
        going.length = next;
        stepped
    }
}

/// State and slope of a stage. Its number is known when this is compiled, so that the sums are straight code.
#[inline(always)]
fn stage<R: Register, const STAGE: usize>(
    flown: &Flown<R>,
    going: &mut Going<R>,
    length: Lanes<R>,
    tried: &mut Rows<R>,
) {
    for i in 0..STATE_LENGTH {
        let mut sum = going.slopes[0][i] * Lanes::constant(WEIGHTS[STAGE][0]);
        for j in 1..STAGE {
            let weight = Lanes::constant(WEIGHTS[STAGE][j]);
            sum = going.slopes[j][i].times_plus(weight, sum);
        }
        tried[i] = length.times_plus(sum, going.rows[i]);
    }
    R::run(Derivative {
        flown,
        time: length.times_plus(Lanes::constant(TIMES[STAGE]), going.time),
        rows: tried,
        slope: &mut going.slopes[STAGE],
    });
}

/// Writes down the interpolants of the step just tried.
#[inline(always)]
fn interpolate<R: Register>(going: &Going<R>, length: Lanes<R>, to: &mut Interpolants) {
    for i in 0..STATE_LENGTH {
        write(going.rows[i], &mut to.powers[0][i]);
        for power in 0..4 {
            let mut sum = going.slopes[0][i] * Lanes::constant(INTERPOLANT[0][power]);
            for j in 1..STAGES {
                sum = going.slopes[j][i].times_plus(Lanes::constant(INTERPOLANT[j][power]), sum);
            }
            write(sum * length, &mut to.powers[power + 1][i]);
        }
    }
    write(going.time, &mut to.start_s);
    write(length, &mut to.length_s);
}

/// Writes down each lane's value.
#[inline(always)]
fn write<R: Register>(value: Lanes<R>, to: &mut [f64; 16]) {
    for (lane, to) in to.iter_mut().enumerate().take(R::WIDTH) {
        *to = value.lane(lane);
    }
}
