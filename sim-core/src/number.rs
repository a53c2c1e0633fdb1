//! The number type the model is written in: `f64`, a dual number, or several throws side by side in SIMD lanes.
//!
//! The whole right-hand side is generic over [`Number`]. No code of the model branches on a value of this type: choices go
//! through [`Number::select_less`], and tables through [`Number::locate`] and [`Number::gather`], so that each lane chooses
//! for itself and a lane's bits are those of the scalar computation.
//!
//! Elementary functions come from the `libm` crate and not from the platform, so that the model gives the same bytes on every
//! machine (the solver crate's step control still takes the platform's power function). Nothing is fused for `f64`; the lanes of
//! [`crate::lanes`] fuse what is written [`Number::times_plus`], and have elementary functions of their own (MODEL.md § 28).

use nalgebra::{Matrix3, Matrix6, Vector3};
use num_dual::Dual64;
use num_traits::{One, Zero};
use std::fmt::Debug;
use std::ops::{
    Add, AddAssign, Div, DivAssign, Index, IndexMut, Mul, MulAssign, Neg, Sub, SubAssign,
};

/// Arithmetic the model needs, on one value or on one value per lane.
pub trait Number:
    Copy
    + Debug
    + PartialEq
    + Send
    + Sync
    + 'static
    + Zero
    + One
    + Add<Output = Self>
    + Sub<Output = Self>
    + Mul<Output = Self>
    + Div<Output = Self>
    + Neg<Output = Self>
    + AddAssign
    + SubAssign
    + MulAssign
    + DivAssign
{
    /// Throws carried side by side.
    const LANES: usize;
    /// One table cell per lane.
    type Cell: Copy + Debug;

    /// The value `of(lane)` in every lane.
    fn from_lanes(of: impl FnMut(usize) -> f64) -> Self;
    /// The real value in one lane (a dual number's real part).
    fn lane(self, lane: usize) -> f64;
    /// Square root.
    fn sqrt(self) -> Self;
    /// Sine and cosine.
    fn sin_cos(self) -> (Self, Self);
    /// Hyperbolic tangent.
    fn tanh(self) -> Self;
    /// Natural exponential.
    fn exp(self) -> Self;
    /// Natural logarithm.
    fn ln(self) -> Self;
    /// Angle of the point `(x, self)`, in (−π, π]; 0 at the origin.
    fn atan2(self, x: Self) -> Self;
    /// Magnitude.
    fn abs(self) -> Self;
    /// `yes` where `self < other`, else `no`, lane by lane.
    fn select_less(self, other: Self, yes: Self, no: Self) -> Self;
    /// In which of the intervals between rising knots each lane's value lies; the first or last where it lies outside.
    fn locate(self, knots: &[Self]) -> Self::Cell;
    /// Each lane's own entry of its own table.
    fn gather(values: &[Self], cell: Self::Cell) -> Self;

    /// The same value in every lane.
    fn constant(value: f64) -> Self {
        Self::from_lanes(|_| value)
    }
    /// The larger, lane by lane; `self` where either is not a number.
    #[inline(always)]
    fn larger(self, other: Self) -> Self {
        self.select_less(other, other, self)
    }

    /// Whether this is the arithmetic of MODEL.md § 28: fused, with functions of its own and reciprocals of what does not change.
    const FUSED: bool = false;
    /// `self · factor + term`.
    #[inline(always)]
    fn times_plus(self, factor: Self, term: Self) -> Self {
        self * factor + term
    }
    /// `term − self · factor`.
    #[inline(always)]
    fn times_from(self, factor: Self, term: Self) -> Self {
        term - self * factor
    }
    /// `self/divisor`, where the reciprocal of a divisor that does not change in flight is at hand.
    #[inline(always)]
    fn over(self, divisor: Self, _reciprocal: Self) -> Self {
        self / divisor
    }
    /// The angle of the point `(along, self)` at a distance from the origin, with its sine and cosine.
    #[inline(always)]
    fn direction(self, along: Self, _distance: Self, _reciprocal: Self) -> (Self, (Self, Self)) {
        let angle = self.atan2(along);
        (angle, angle.sin_cos())
    }
    /// (1 − ½(1 + tanh a))(1 − ½(1 + tanh b)): what is inside two smooth limits passed by `a` and `b`.
    #[inline(always)]
    fn inside_both(a: Self, b: Self) -> Self {
        let half = Self::constant(0.5);
        let (a, b) = (
            half * (Self::one() + a.tanh()),
            half * (Self::one() + b.tanh()),
        );
        (Self::one() - a) * (Self::one() - b)
    }
    /// (1 + self)^p with p of air density over height, [`crate::lanes::DENSITY_POWER`].
    #[inline(always)]
    fn density_power(self) -> Self {
        ((Self::one() + self).ln() * Self::constant(crate::lanes::DENSITY_POWER)).exp()
    }
    /// Whether `self < other` in any lane. Only for leaving out what would change no bit of any lane.
    #[inline(always)]
    fn any_less(self, other: Self) -> bool {
        (0..Self::LANES).any(|lane| self.lane(lane) < other.lane(lane))
    }
    /// Puts a value into one lane.
    fn put_lane(&mut self, lane: usize, value: f64) {
        let before = *self;
        *self = Self::from_lanes(|i| if i == lane { value } else { before.lane(i) });
    }
}

/// Interval of `knots` that holds `x`.
fn interval(x: f64, knot: impl Fn(usize) -> f64, knots: usize) -> usize {
    let (mut low, mut high) = (0, knots - 1);
    while high - low > 1 {
        let middle = (low + high) / 2;
        if x < knot(middle) {
            high = middle;
        } else {
            low = middle;
        }
    }
    low
}

impl Number for f64 {
    const LANES: usize = 1;
    type Cell = usize;

    fn from_lanes(mut of: impl FnMut(usize) -> f64) -> Self {
        of(0)
    }
    fn lane(self, _lane: usize) -> f64 {
        self
    }
    fn sqrt(self) -> Self {
        f64::sqrt(self)
    }
    fn sin_cos(self) -> (Self, Self) {
        libm::sincos(self)
    }
    fn tanh(self) -> Self {
        libm::tanh(self)
    }
    fn exp(self) -> Self {
        libm::exp(self)
    }
    fn ln(self) -> Self {
        libm::log(self)
    }
    fn atan2(self, x: Self) -> Self {
        // atan2(0, −0) is π by IEEE 754; at rest the model wants 0.
        libm::atan2(self, x + 0.0)
    }
    fn abs(self) -> Self {
        f64::abs(self)
    }
    fn select_less(self, other: Self, yes: Self, no: Self) -> Self {
        if self < other { yes } else { no }
    }
    fn locate(self, knots: &[Self]) -> usize {
        interval(self, |i| knots[i], knots.len())
    }
    fn gather(values: &[Self], cell: usize) -> Self {
        values[cell]
    }
}

impl Number for Dual64 {
    const LANES: usize = 1;
    type Cell = usize;

    fn from_lanes(mut of: impl FnMut(usize) -> f64) -> Self {
        Dual64::from_re(of(0))
    }
    fn lane(self, _lane: usize) -> f64 {
        self.re
    }
    fn sqrt(self) -> Self {
        let root = self.re.sqrt();
        Dual64::new(root, self.eps / (2.0 * root))
    }
    fn sin_cos(self) -> (Self, Self) {
        let (s, c) = libm::sincos(self.re);
        (Dual64::new(s, c * self.eps), Dual64::new(c, -s * self.eps))
    }
    fn tanh(self) -> Self {
        let t = libm::tanh(self.re);
        Dual64::new(t, (1.0 - t * t) * self.eps)
    }
    fn exp(self) -> Self {
        let e = libm::exp(self.re);
        Dual64::new(e, e * self.eps)
    }
    fn ln(self) -> Self {
        Dual64::new(libm::log(self.re), self.eps / self.re)
    }
    fn atan2(self, x: Self) -> Self {
        let square = self.re * self.re + x.re * x.re;
        let rate = if square > 0.0 {
            (x.re * self.eps - self.re * x.eps) / square
        } else {
            0.0
        };
        Dual64::new(Number::atan2(self.re, x.re), rate)
    }
    fn abs(self) -> Self {
        if self.re < 0.0 { -self } else { self }
    }
    fn select_less(self, other: Self, yes: Self, no: Self) -> Self {
        if self.re < other.re { yes } else { no }
    }
    fn locate(self, knots: &[Self]) -> usize {
        interval(self.re, |i| knots[i].re, knots.len())
    }
    fn gather(values: &[Self], cell: usize) -> Self {
        values[cell]
    }
}

/// Plain `f64` data that can be given one lane each, so that neighbouring lanes may fly different airframes in different air.
pub trait Widen<T: Number> {
    /// The same data in the wider number.
    type Wide;
    /// Puts `lanes[i % lanes.len()]` into lane i.
    ///
    /// # Panics
    /// Where the lanes differ in shape (table lengths, counts of gusts, whether apparent mass is flown).
    fn widen(lanes: &[&Self]) -> Self::Wide;
    /// Puts other data into one lane.
    ///
    /// # Panics
    /// Where it differs from that in the others in shape.
    fn put(&self, wide: &mut Self::Wide, lane: usize);
}

impl<T: Number> Widen<T> for f64 {
    type Wide = T;
    fn widen(lanes: &[&f64]) -> T {
        T::from_lanes(|i| *lanes[i % lanes.len()])
    }
    fn put(&self, wide: &mut T, lane: usize) {
        wide.put_lane(lane, *self);
    }
}

fn elementwise<T: Number, C, W>(lanes: &[&C], wide: &mut W, keys: &[usize])
where
    C: Index<usize, Output = f64>,
    W: IndexMut<usize, Output = T>,
{
    for &k in keys {
        wide[k] = T::from_lanes(|i| lanes[i % lanes.len()][k]);
    }
}

fn put_elements<T: Number>(one: &[f64], wide: &mut [T], lane: usize) {
    for (one, wide) in one.iter().zip(wide) {
        wide.put_lane(lane, *one);
    }
}

impl<T: Number> Widen<T> for Vector3<f64> {
    type Wide = Vector3<T>;
    fn widen(lanes: &[&Self]) -> Vector3<T> {
        let mut wide = Vector3::repeat(T::zero());
        elementwise(lanes, &mut wide, &[0, 1, 2]);
        wide
    }
    fn put(&self, wide: &mut Self::Wide, lane: usize) {
        put_elements(self.as_slice(), wide.as_mut_slice(), lane);
    }
}

impl<T: Number> Widen<T> for Matrix3<f64> {
    type Wide = Matrix3<T>;
    fn widen(lanes: &[&Self]) -> Matrix3<T> {
        let mut wide = Matrix3::repeat(T::zero());
        elementwise(lanes, &mut wide, &[0, 1, 2, 3, 4, 5, 6, 7, 8]);
        wide
    }
    fn put(&self, wide: &mut Self::Wide, lane: usize) {
        put_elements(self.as_slice(), wide.as_mut_slice(), lane);
    }
}

impl<T: Number> Widen<T> for Matrix6<f64> {
    type Wide = Matrix6<T>;
    fn widen(lanes: &[&Self]) -> Matrix6<T> {
        let mut wide = Matrix6::repeat(T::zero());
        elementwise(lanes, &mut wide, &std::array::from_fn::<_, 36, _>(|k| k));
        wide
    }
    fn put(&self, wide: &mut Self::Wide, lane: usize) {
        put_elements(self.as_slice(), wide.as_mut_slice(), lane);
    }
}

impl<T: Number, D: Widen<T>, const N: usize> Widen<T> for [D; N] {
    type Wide = [D::Wide; N];
    fn widen(lanes: &[&Self]) -> Self::Wide {
        std::array::from_fn(|k| D::widen(&lanes.iter().map(|lane| &lane[k]).collect::<Vec<_>>()))
    }
    fn put(&self, wide: &mut Self::Wide, lane: usize) {
        for (one, wide) in self.iter().zip(wide) {
            one.put(wide, lane);
        }
    }
}

/// All lanes have it or none.
impl<T: Number, D: Widen<T>> Widen<T> for Option<D> {
    type Wide = Option<D::Wide>;
    fn widen(lanes: &[&Self]) -> Self::Wide {
        let present: Vec<&D> = lanes.iter().filter_map(|lane| lane.as_ref()).collect();
        assert!(
            present.is_empty() || present.len() == lanes.len(),
            "lanes differ in shape"
        );
        (!present.is_empty()).then(|| D::widen(&present))
    }
    fn put(&self, wide: &mut Self::Wide, lane: usize) {
        match (self, wide) {
            (Some(one), Some(wide)) => one.put(wide, lane),
            (None, None) => {}
            _ => panic!("lanes differ in shape"),
        }
    }
}

impl<T: Number, D: Widen<T>> Widen<T> for Vec<D> {
    type Wide = Vec<D::Wide>;
    fn widen(lanes: &[&Self]) -> Self::Wide {
        let length = lanes[0].len();
        assert!(
            lanes.iter().all(|lane| lane.len() == length),
            "lanes differ in shape"
        );
        (0..length)
            .map(|i| D::widen(&lanes.iter().map(|lane| &lane[i]).collect::<Vec<_>>()))
            .collect()
    }
    fn put(&self, wide: &mut Self::Wide, lane: usize) {
        assert!(self.len() == wide.len(), "lanes differ in shape");
        for (one, wide) in self.iter().zip(wide) {
            one.put(wide, lane);
        }
    }
}

/// Declares a struct of plain data over the number type together with its [`Widen`].
macro_rules! lane_data {
    ($(#[$meta:meta])* pub struct $name:ident<T> { $($(#[$field_meta:meta])* pub $field:ident : $type:ty,)* }) => {
        $(#[$meta])*
        #[derive(Clone, Debug, PartialEq)]
        pub struct $name<T> { $($(#[$field_meta])* pub $field: $type,)* }

        impl<T: $crate::number::Number> $crate::number::Widen<T> for $name<f64> {
            type Wide = $name<T>;
            fn widen(lanes: &[&Self]) -> $name<T> {
                $name { $($field: $crate::number::Widen::<T>::widen(
                    &lanes.iter().map(|lane| &lane.$field).collect::<Vec<_>>()),)* }
            }
            fn put(&self, wide: &mut $name<T>, lane: usize) {
                $($crate::number::Widen::<T>::put(&self.$field, &mut wide.$field, lane);)*
            }
        }
    };
}
pub(crate) use lane_data;

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn dual_derivatives_match_differences() {
        let f = |x: Dual64| {
            Number::tanh(x) * Number::sin_cos(x).0
                + Number::atan2(x, Dual64::from_re(0.4)) / Number::sqrt(Number::exp(x))
                + Number::ln(Number::abs(x))
        };
        let exact = f(Dual64::new(-0.7, 1.0)).eps;
        let h = 1e-6;
        let difference =
            (f(Dual64::from_re(-0.7 + h)).re - f(Dual64::from_re(-0.7 - h)).re) / (2.0 * h);
        assert!((exact - difference).abs() < 1e-8, "{exact} {difference}");
    }
}
