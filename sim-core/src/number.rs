//! The number type the model is written in: `f64`, a dual number, or several throws side by side in SIMD lanes.
//!
//! The whole right-hand side is generic over [`Number`]. No code of the model branches on a value of this type: choices go
//! through [`Number::select_less`], and tables through [`Number::locate`] and [`Number::gather`], so that each lane chooses
//! for itself and a lane's bits are those of the scalar computation.
//!
//! Elementary functions come from the `libm` crate and not from the platform, so that the model gives the same bytes on every
//! machine (the solver crate's step control still takes the platform's power function). No fused multiply-add is used.

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
    /// The larger, lane by lane.
    fn larger(self, other: Self) -> Self {
        self.select_less(other, other, self)
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

/// Four values side by side, for four throws at once.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Lanes4(wide::f64x4);

impl Lanes4 {
    fn each(self, f: impl Fn(f64) -> f64) -> Self {
        Lanes4(wide::f64x4::from(self.0.to_array().map(f)))
    }
    fn pairs(self, other: Self, f: impl Fn(f64, f64) -> f64) -> Self {
        let (a, b) = (self.0.to_array(), other.0.to_array());
        Self::from_lanes(|i| f(a[i], b[i]))
    }
}

macro_rules! lane_operator {
    ($operator:ident, $method:ident, $assign:ident, $assign_method:ident) => {
        impl $operator for Lanes4 {
            type Output = Self;
            fn $method(self, other: Self) -> Self {
                Lanes4(self.0.$method(other.0))
            }
        }
        impl $assign for Lanes4 {
            fn $assign_method(&mut self, other: Self) {
                *self = $operator::$method(*self, other);
            }
        }
    };
}
lane_operator!(Add, add, AddAssign, add_assign);
lane_operator!(Sub, sub, SubAssign, sub_assign);
lane_operator!(Mul, mul, MulAssign, mul_assign);
lane_operator!(Div, div, DivAssign, div_assign);

impl Neg for Lanes4 {
    type Output = Self;
    fn neg(self) -> Self {
        Lanes4(-self.0)
    }
}
impl Zero for Lanes4 {
    fn zero() -> Self {
        Self::constant(0.0)
    }
    fn is_zero(&self) -> bool {
        *self == Self::zero()
    }
}
impl One for Lanes4 {
    fn one() -> Self {
        Self::constant(1.0)
    }
}

impl Number for Lanes4 {
    const LANES: usize = 4;
    type Cell = [usize; 4];

    fn from_lanes(of: impl FnMut(usize) -> f64) -> Self {
        Lanes4(wide::f64x4::from(std::array::from_fn::<f64, 4, _>(of)))
    }
    fn lane(self, lane: usize) -> f64 {
        self.0.to_array()[lane]
    }
    fn sqrt(self) -> Self {
        Lanes4(self.0.sqrt())
    }
    fn sin_cos(self) -> (Self, Self) {
        (
            self.each(|x| libm::sincos(x).0),
            self.each(|x| libm::sincos(x).1),
        )
    }
    fn tanh(self) -> Self {
        self.each(libm::tanh)
    }
    fn exp(self) -> Self {
        self.each(libm::exp)
    }
    fn ln(self) -> Self {
        self.each(libm::log)
    }
    fn atan2(self, x: Self) -> Self {
        self.pairs(x, Number::atan2)
    }
    fn abs(self) -> Self {
        self.each(f64::abs)
    }
    fn select_less(self, other: Self, yes: Self, no: Self) -> Self {
        Self::from_lanes(|i| {
            self.lane(i)
                .select_less(other.lane(i), yes.lane(i), no.lane(i))
        })
    }
    fn locate(self, knots: &[Self]) -> [usize; 4] {
        std::array::from_fn(|lane| interval(self.lane(lane), |i| knots[i].lane(lane), knots.len()))
    }
    fn gather(values: &[Self], cell: [usize; 4]) -> Self {
        Self::from_lanes(|lane| values[cell[lane]].lane(lane))
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
}

impl<T: Number> Widen<T> for f64 {
    type Wide = T;
    fn widen(lanes: &[&f64]) -> T {
        T::from_lanes(|i| *lanes[i % lanes.len()])
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

impl<T: Number> Widen<T> for Vector3<f64> {
    type Wide = Vector3<T>;
    fn widen(lanes: &[&Self]) -> Vector3<T> {
        let mut wide = Vector3::repeat(T::zero());
        elementwise(lanes, &mut wide, &[0, 1, 2]);
        wide
    }
}

impl<T: Number> Widen<T> for Matrix3<f64> {
    type Wide = Matrix3<T>;
    fn widen(lanes: &[&Self]) -> Matrix3<T> {
        let mut wide = Matrix3::repeat(T::zero());
        elementwise(lanes, &mut wide, &[0, 1, 2, 3, 4, 5, 6, 7, 8]);
        wide
    }
}

impl<T: Number> Widen<T> for Matrix6<f64> {
    type Wide = Matrix6<T>;
    fn widen(lanes: &[&Self]) -> Matrix6<T> {
        let mut wide = Matrix6::repeat(T::zero());
        elementwise(lanes, &mut wide, &std::array::from_fn::<_, 36, _>(|k| k));
        wide
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
        }
    };
}
pub(crate) use lane_data;

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lanes_give_the_scalar_bits() {
        let values = [0.3, -1.7, 2.9, 1e-300];
        let lanes = Lanes4::from_lanes(|i| values[i]);
        let other = Lanes4::from_lanes(|i| 1.1 - values[i]);
        let wide = (lanes.tanh() * other + lanes.atan2(other)) / (lanes.abs().sqrt() + other.exp());
        for (i, &x) in values.iter().enumerate() {
            let y = 1.1 - x;
            let scalar = (Number::tanh(x) * y + Number::atan2(x, y))
                / (Number::sqrt(x.abs()) + Number::exp(y));
            assert_eq!(wide.lane(i).to_bits(), scalar.to_bits());
        }
    }

    #[test]
    fn selection_does_not_spread_a_failed_lane() {
        let lanes = Lanes4::from_lanes(|i| if i == 2 { f64::NAN } else { i as f64 });
        let chosen = lanes.select_less(
            Lanes4::constant(1.5),
            Lanes4::constant(-1.0),
            Lanes4::constant(1.0),
        );
        assert_eq!([0, 1, 2, 3].map(|i| chosen.lane(i)), [-1.0, -1.0, 1.0, 1.0]);
    }

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
