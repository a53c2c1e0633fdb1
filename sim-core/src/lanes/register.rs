//! What a register of numbers side by side can do, and the register of width one (MODEL.md § 28.1).
//!
//! Every operation here is exact to the last bit by IEEE 754 (sums, products, quotients, roots, fused multiply-add, rounding to an
//! integer) or moves bits about. So registers of every width give the same bytes, lane by lane.

use super::number::Lanes;
use std::fmt::Debug;

/// Work to be compiled for the registers' instructions: [`Register::run`] compiles it with them, once for each kind of work.
pub trait Job {
    /// What comes out.
    type Output;
    /// The work. Every implementation is `#[inline(always)]`, and so is all that it calls for each number.
    fn run(self) -> Self::Output;
}

/// Numbers side by side.
pub trait Register: Copy + Debug + Send + Sync + Sized + 'static {
    /// How many.
    const WIDTH: usize;
    /// Whether they have 24 bits (`f32`) instead of 53.
    const SINGLE: bool;
    /// Yes or no in every lane.
    type Mask: Copy;
    /// How many knots of a table each lane has reached.
    type Reached: Copy + Debug;

    /// One value in every lane.
    fn splat(value: f64) -> Self;
    /// A value for each lane.
    fn build(of: impl FnMut(usize) -> f64) -> Self;
    /// The value in one lane.
    fn lane(self, lane: usize) -> f64;
    /// Puts a value into one lane.
    fn put(&mut self, lane: usize, value: f64);

    /// a + b.
    fn add(self, other: Self) -> Self;
    /// a − b.
    fn sub(self, other: Self) -> Self;
    /// a b.
    fn mul(self, other: Self) -> Self;
    /// a/b.
    fn div(self, other: Self) -> Self;
    /// −a.
    fn neg(self) -> Self;
    /// a b + c, rounded once.
    fn fused(self, factor: Self, term: Self) -> Self;
    /// √a.
    fn sqrt(self) -> Self;
    /// |a|.
    fn abs(self) -> Self;
    /// `other` where it is larger, else `self`, also where either is not a number.
    fn larger(self, other: Self) -> Self;
    /// `other` where it is smaller, else `self`, also where either is not a number.
    fn smaller(self, other: Self) -> Self;
    /// The nearest whole number, the even one where two are.
    fn nearest(self) -> Self;
    /// a 2^k for whole k that leave normal numbers.
    fn times_power_of_two(self, k: Self) -> Self;
    /// (m, e) with a = m 2^e and 1 ≤ m < 2, for positive normal numbers.
    fn mantissa_and_exponent(self) -> (Self, Self);

    /// a < b; not where either is not a number.
    fn less(self, other: Self) -> Self::Mask;
    /// `yes` where the mask says so, else `no`.
    fn select(mask: Self::Mask, yes: Self, no: Self) -> Self;
    /// The mask as bits, lane 0 the lowest.
    fn bits(mask: Self::Mask) -> u32;

    /// How many of rising knots each lane's value has reached (is not under).
    fn reached(self, knots: &[Lanes<Self>]) -> Self::Reached;
    /// Each lane's entry at what it has reached, of as many values as could have been reached and one more.
    fn pick(values: &[Lanes<Self>], reached: Self::Reached) -> Self;

    /// Does work compiled for these registers.
    fn run<J: Job>(job: J) -> J::Output;
}

/// One number of 53 bits. Where the machine has no fused multiply-add this is the slow exact way.
#[derive(Clone, Copy, Debug)]
pub struct One(pub f64);

/// One number of 24 bits.
#[derive(Clone, Copy, Debug)]
pub struct OneSingle(pub f32);

macro_rules! one {
    ($name:ident, $float:ty, $bits:ty, $single:expr, $fraction_bits:expr, $bias:expr) => {
        impl Register for $name {
            const WIDTH: usize = 1;
            const SINGLE: bool = $single;
            type Mask = bool;
            type Reached = usize;

            fn splat(value: f64) -> Self {
                $name(value as $float)
            }
            fn build(mut of: impl FnMut(usize) -> f64) -> Self {
                $name(of(0) as $float)
            }
            #[allow(clippy::unnecessary_cast)]
            fn lane(self, _lane: usize) -> f64 {
                self.0 as f64
            }
            fn put(&mut self, _lane: usize, value: f64) {
                self.0 = value as $float;
            }
            fn add(self, other: Self) -> Self {
                $name(self.0 + other.0)
            }
            fn sub(self, other: Self) -> Self {
                $name(self.0 - other.0)
            }
            fn mul(self, other: Self) -> Self {
                $name(self.0 * other.0)
            }
            fn div(self, other: Self) -> Self {
                $name(self.0 / other.0)
            }
            fn neg(self) -> Self {
                $name(-self.0)
            }
            fn fused(self, factor: Self, term: Self) -> Self {
                $name(self.0.mul_add(factor.0, term.0))
            }
            fn sqrt(self) -> Self {
                $name(self.0.sqrt())
            }
            fn abs(self) -> Self {
                $name(self.0.abs())
            }
            fn larger(self, other: Self) -> Self {
                if other.0 > self.0 { other } else { self }
            }
            fn smaller(self, other: Self) -> Self {
                if other.0 < self.0 { other } else { self }
            }
            fn nearest(self) -> Self {
                $name(self.0.round_ties_even())
            }
            fn times_power_of_two(self, k: Self) -> Self {
                // What is not a number has no power; the product is not a number all the same.
                let power = (k.0 as i64).wrapping_add($bias) as $bits;
                $name(self.0 * <$float>::from_bits(power << $fraction_bits))
            }
            fn mantissa_and_exponent(self) -> (Self, Self) {
                let bits = self.0.to_bits();
                let fraction = bits & ((1 << $fraction_bits) - 1);
                let one: $bits = ($bias as $bits) << $fraction_bits;
                let exponent = (bits >> $fraction_bits) as i64 - $bias;
                (
                    $name(<$float>::from_bits(fraction | one)),
                    $name(exponent as $float),
                )
            }
            fn less(self, other: Self) -> bool {
                self.0 < other.0
            }
            fn select(mask: bool, yes: Self, no: Self) -> Self {
                if mask { yes } else { no }
            }
            fn bits(mask: bool) -> u32 {
                u32::from(mask)
            }
            #[allow(clippy::neg_cmp_op_on_partial_ord)]
            fn reached(self, knots: &[Lanes<Self>]) -> usize {
                // What is not a number is under no knot.
                let reached = knots.iter().map(|knot| usize::from(!(self.0 < knot.0.0)));
                reached.sum()
            }
            fn pick(values: &[Lanes<Self>], reached: usize) -> Self {
                values[reached].0
            }
            fn run<J: Job>(job: J) -> J::Output {
                job.run()
            }
        }
    };
}
one!(One, f64, u64, false, 52, 1023);
one!(OneSingle, f32, u32, true, 23, 127);
