//! Several throws side by side as one [`Number`].

use super::functions;
use super::register::Register;
use crate::number::Number;
use num_traits::{One, Zero};
use std::ops::{Add, AddAssign, Div, DivAssign, Mul, MulAssign, Neg, Sub, SubAssign};

/// The numbers of one register as the model's number.
#[derive(Clone, Copy, Debug)]
#[repr(transparent)]
pub struct Lanes<R>(pub R);

macro_rules! operator {
    ($operator:ident, $method:ident, $assign:ident, $assign_method:ident) => {
        impl<R: Register> $operator for Lanes<R> {
            type Output = Self;
            #[inline(always)]
            fn $method(self, other: Self) -> Self {
                Lanes(self.0.$method(other.0))
            }
        }
        impl<R: Register> $assign for Lanes<R> {
            #[inline(always)]
            fn $assign_method(&mut self, other: Self) {
                self.0 = self.0.$method(other.0);
            }
        }
    };
}
operator!(Add, add, AddAssign, add_assign);
operator!(Sub, sub, SubAssign, sub_assign);
operator!(Mul, mul, MulAssign, mul_assign);
operator!(Div, div, DivAssign, div_assign);

impl<R: Register> Neg for Lanes<R> {
    type Output = Self;
    #[inline(always)]
    fn neg(self) -> Self {
        Lanes(self.0.neg())
    }
}

impl<R: Register> PartialEq for Lanes<R> {
    fn eq(&self, other: &Self) -> bool {
        (0..R::WIDTH).all(|lane| self.0.lane(lane) == other.0.lane(lane))
    }
}

impl<R: Register> Zero for Lanes<R> {
    #[inline(always)]
    fn zero() -> Self {
        Lanes(R::splat(0.0))
    }
    fn is_zero(&self) -> bool {
        *self == Self::zero()
    }
}

impl<R: Register> One for Lanes<R> {
    #[inline(always)]
    fn one() -> Self {
        Lanes(R::splat(1.0))
    }
}

/// Beyond this size of its argument tanh is ±1 to the last bit, also as [`functions::tanh`] works it out.
const TANH_IS_ONE: f64 = 20.0;

/// 1 + e^2x.
#[inline(always)]
fn outside<R: Register>(x: Lanes<R>) -> Lanes<R> {
    Lanes::<R>::one() + (x + x).exp()
}

impl<R: Register> Number for Lanes<R> {
    const LANES: usize = R::WIDTH;
    const FUSED: bool = true;
    type Cell = R::Reached;

    #[inline(always)]
    fn from_lanes(of: impl FnMut(usize) -> f64) -> Self {
        Lanes(R::build(of))
    }
    #[inline(always)]
    fn constant(value: f64) -> Self {
        Lanes(R::splat(value))
    }
    #[inline(always)]
    fn lane(self, lane: usize) -> f64 {
        self.0.lane(lane)
    }
    #[inline(always)]
    fn put_lane(&mut self, lane: usize, value: f64) {
        self.0.put(lane, value);
    }
    #[inline(always)]
    fn sqrt(self) -> Self {
        Lanes(self.0.sqrt())
    }
    #[inline(always)]
    fn sin_cos(self) -> (Self, Self) {
        let (sine, cosine) = functions::sin_cos(self.0);
        (Lanes(sine), Lanes(cosine))
    }
    #[inline(always)]
    fn tanh(self) -> Self {
        if !self.abs().any_less(Self::constant(TANH_IS_ONE)) {
            // What is not a number is not less either, and stays so.
            let sign = self.select_less(Self::zero(), -Self::one(), Self::one());
            return self.times_plus(Self::zero(), sign);
        }
        Lanes(functions::tanh(self.0))
    }
    #[inline(always)]
    fn exp(self) -> Self {
        Lanes(functions::exp(self.0))
    }
    #[inline(always)]
    fn ln(self) -> Self {
        Lanes(functions::ln(self.0))
    }
    #[inline(always)]
    fn atan2(self, x: Self) -> Self {
        Lanes(functions::atan2(self.0, x.0))
    }
    #[inline(always)]
    fn abs(self) -> Self {
        Lanes(self.0.abs())
    }
    #[inline(always)]
    fn larger(self, other: Self) -> Self {
        Lanes(self.0.larger(other.0))
    }
    #[inline(always)]
    fn select_less(self, other: Self, yes: Self, no: Self) -> Self {
        Lanes(R::select(self.0.less(other.0), yes.0, no.0))
    }
    #[inline(always)]
    fn any_less(self, other: Self) -> bool {
        R::bits(self.0.less(other.0)) != 0
    }
    #[inline(always)]
    fn locate(self, knots: &[Self]) -> Self::Cell {
        self.0.reached(&knots[1..knots.len() - 1])
    }
    #[inline(always)]
    fn gather(values: &[Self], cell: Self::Cell) -> Self {
        Lanes(R::pick(values, cell))
    }
    #[inline(always)]
    fn times_plus(self, factor: Self, term: Self) -> Self {
        Lanes(self.0.fused(factor.0, term.0))
    }
    #[inline(always)]
    fn times_from(self, factor: Self, term: Self) -> Self {
        Lanes(self.0.neg().fused(factor.0, term.0))
    }
    #[inline(always)]
    fn over(self, _divisor: Self, reciprocal: Self) -> Self {
        self * reciprocal
    }
    #[inline(always)]
    fn direction(self, along: Self, distance: Self, reciprocal: Self) -> (Self, (Self, Self)) {
        // At the origin the angle is 0.
        let zero = Self::zero();
        let cosine = zero.select_less(distance, along * reciprocal, Self::one());
        let sine = zero.select_less(distance, self * reciprocal, distance);
        (Lanes(functions::angle(sine.0, cosine.0)), (sine, cosine))
    }
    #[inline(always)]
    fn density_power(self) -> Self {
        Lanes(functions::density_power(self.0))
    }
    #[inline(always)]
    fn inside_both(a: Self, b: Self) -> Self {
        Self::one() / (outside(a) * outside(b))
    }
}
