//! Counts the operations of one evaluation of the model as lanes work it out.
//!
//! `cargo run --release --example operations -- SCENARIO...`

use num_traits::{One, Zero};
use scenarios::load::load_scenario;
use sim_core::air::Air;
use sim_core::forces::evaluate_parts;
use sim_core::number::{Number, Widen};
use sim_core::parts::{Constants, Parts};
use sim_core::segment::{Line, Segment};
use sim_core::state::State;
use sim_core::vehicle::Vehicle;
use std::cell::RefCell;
use std::collections::BTreeMap;
use std::ops::{Add, AddAssign, Div, DivAssign, Mul, MulAssign, Neg, Sub, SubAssign};
use std::path::Path;

thread_local! {
    static COUNTS: RefCell<BTreeMap<&'static str, u32>> = const { RefCell::new(BTreeMap::new()) };
}

fn count(what: &'static str) {
    COUNTS.with_borrow_mut(|counts| *counts.entry(what).or_default() += 1);
}

/// A number that counts what is done with it.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Counted(f64);

macro_rules! operator {
    ($operator:ident, $method:ident, $assign:ident, $assign_method:ident, $what:literal) => {
        impl $operator for Counted {
            type Output = Self;
            fn $method(self, other: Self) -> Self {
                count($what);
                Counted(self.0.$method(other.0))
            }
        }
        impl $assign for Counted {
            fn $assign_method(&mut self, other: Self) {
                *self = $operator::$method(*self, other);
            }
        }
    };
}
operator!(Add, add, AddAssign, add_assign, "sum");
operator!(Sub, sub, SubAssign, sub_assign, "sum");
operator!(Mul, mul, MulAssign, mul_assign, "product");
operator!(Div, div, DivAssign, div_assign, "quotient");

impl Neg for Counted {
    type Output = Self;
    fn neg(self) -> Self {
        Counted(-self.0)
    }
}
impl Zero for Counted {
    fn zero() -> Self {
        Counted(0.0)
    }
    fn is_zero(&self) -> bool {
        self.0 == 0.0
    }
}
impl One for Counted {
    fn one() -> Self {
        Counted(1.0)
    }
}

impl Number for Counted {
    const LANES: usize = 1;
    const FUSED: bool = true;
    type Cell = usize;

    fn from_lanes(mut of: impl FnMut(usize) -> f64) -> Self {
        Counted(of(0))
    }
    fn lane(self, _lane: usize) -> f64 {
        self.0
    }
    fn sqrt(self) -> Self {
        count("square root");
        Counted(self.0.sqrt())
    }
    fn sin_cos(self) -> (Self, Self) {
        count("call of sine and cosine");
        let (s, c) = self.0.sin_cos();
        (Counted(s), Counted(c))
    }
    fn tanh(self) -> Self {
        if self.0.abs() < 20.0 {
            count("call of tanh");
        }
        Counted(self.0.tanh())
    }
    fn exp(self) -> Self {
        count("call of exp");
        Counted(self.0.exp())
    }
    fn ln(self) -> Self {
        count("call of ln");
        Counted(self.0.ln())
    }
    fn atan2(self, x: Self) -> Self {
        count("call of atan2");
        Counted(self.0.atan2(x.0))
    }
    fn abs(self) -> Self {
        Counted(self.0.abs())
    }
    fn select_less(self, other: Self, yes: Self, no: Self) -> Self {
        count("choice");
        if self.0 < other.0 { yes } else { no }
    }
    fn locate(self, knots: &[Self]) -> usize {
        let inner = &knots[1..knots.len() - 1];
        inner.iter().for_each(|_| count("knot compared"));
        inner.iter().filter(|knot| self.0 >= knot.0).count()
    }
    fn gather(values: &[Self], cell: usize) -> Self {
        count("table entry");
        values[cell]
    }
    fn times_plus(self, factor: Self, term: Self) -> Self {
        count("fused");
        Counted(self.0.mul_add(factor.0, term.0))
    }
    fn times_from(self, factor: Self, term: Self) -> Self {
        (-self).times_plus(factor, term)
    }
    fn over(self, _divisor: Self, reciprocal: Self) -> Self {
        self * reciprocal
    }
    fn direction(self, along: Self, _distance: Self, reciprocal: Self) -> (Self, (Self, Self)) {
        count("call of angle");
        let (sine, cosine) = (self * reciprocal, along * reciprocal);
        (Counted(sine.0.atan2(cosine.0)), (sine, cosine))
    }
    fn inside_both(a: Self, b: Self) -> Self {
        let outside = |x: Self| Self::one() + (x + x).exp();
        Self::one() / (outside(a) * outside(b))
    }
    fn density_power(self) -> Self {
        count("call of density power");
        Counted((1.0 + self.0).powf(sim_core::lanes::DENSITY_POWER))
    }
}

fn main() {
    for name in std::env::args().skip(1) {
        let scenario = load_scenario(Path::new(&name)).expect("it loads");
        let throw = &scenario.built.throw;
        let state = throw.release_state().expect("it starts");
        let constants = Constants::of(&throw.vehicle, &throw.air);
        let constants = Constants::<f64>::widen(&[&constants]);
        let vehicle = Vehicle::<f64>::widen(&[&throw.vehicle]);
        let air = Air::<f64>::widen(&[&throw.air]);
        let state = State::<Counted>::widen(&[state]);
        let parts = Parts::of(&throw.vehicle, &throw.air);
        for on in [0.0, 1.0] {
            let segment = Segment {
                start_time: Counted(0.0),
                throttles: vec![Line::constant(Counted(0.7)); throw.vehicle.motors.len()],
                tabs: vec![Line::constant(Counted(-0.05)); throw.vehicle.coefficients.tabs.len()],
                gusts_on: vec![Counted(on); throw.air.gusts.len()],
            };
            COUNTS.with_borrow_mut(BTreeMap::clear);
            let rate = evaluate_parts(
                &vehicle,
                &air,
                &segment,
                &parts,
                &constants,
                Counted(4.3),
                &state,
            )
            .rate;
            assert!(rate.to_array().iter().all(|x| x.0.is_finite()));
            println!("{name}, gusts {}:", if on > 0.0 { "on" } else { "off" });
            COUNTS.with_borrow(|counts| {
                for (what, count) in counts {
                    println!("  {count:5} {what}");
                }
            });
        }
    }
}
