//! Products of vectors and matrices in one written order, for any number type.
//!
//! nalgebra's own operators give the same bits for `f64`; these are fused where the number type fuses, and compile into straight code in
//! lanes.

use crate::number::Number;
use nalgebra::{Matrix3, Vector3};

/// The vector of zeros.
#[inline(always)]
pub fn nothing<T: Number>() -> Vector3<T> {
    let zero = T::zero();
    Vector3::new(zero, zero, zero)
}

/// The matrix of zeros.
#[inline(always)]
pub fn no_matrix<T: Number>() -> Matrix3<T> {
    let zero = T::zero();
    Matrix3::new(zero, zero, zero, zero, zero, zero, zero, zero, zero)
}

/// −a.
#[inline(always)]
pub fn negative<T: Number>(a: &Vector3<T>) -> Vector3<T> {
    Vector3::new(-a.x, -a.y, -a.z)
}

/// a · b.
#[inline(always)]
pub fn dot<T: Number>(a: &Vector3<T>, b: &Vector3<T>) -> T {
    a.z.times_plus(b.z, a.y.times_plus(b.y, a.x * b.x))
}

/// a × b.
#[inline(always)]
pub fn cross<T: Number>(a: &Vector3<T>, b: &Vector3<T>) -> Vector3<T> {
    Vector3::new(
        a.y.times_plus(b.z, -(a.z * b.y)),
        a.z.times_plus(b.x, -(a.x * b.z)),
        a.x.times_plus(b.y, -(a.y * b.x)),
    )
}

/// a + b.
#[inline(always)]
pub fn plus<T: Number>(a: &Vector3<T>, b: &Vector3<T>) -> Vector3<T> {
    Vector3::new(a.x + b.x, a.y + b.y, a.z + b.z)
}

/// a − b.
#[inline(always)]
pub fn minus<T: Number>(a: &Vector3<T>, b: &Vector3<T>) -> Vector3<T> {
    Vector3::new(a.x - b.x, a.y - b.y, a.z - b.z)
}

/// a s.
#[inline(always)]
pub fn scaled<T: Number>(a: &Vector3<T>, by: T) -> Vector3<T> {
    Vector3::new(a.x * by, a.y * by, a.z * by)
}

/// a s + b.
#[inline(always)]
pub fn scaled_plus<T: Number>(a: &Vector3<T>, by: T, b: &Vector3<T>) -> Vector3<T> {
    Vector3::new(
        a.x.times_plus(by, b.x),
        a.y.times_plus(by, b.y),
        a.z.times_plus(by, b.z),
    )
}

/// M a.
#[inline(always)]
pub fn turned<T: Number>(m: &Matrix3<T>, a: &Vector3<T>) -> Vector3<T> {
    Vector3::new(dot(&row(m, 0), a), dot(&row(m, 1), a), dot(&row(m, 2), a))
}

/// A row of a matrix.
#[inline(always)]
fn row<T: Number>(m: &Matrix3<T>, i: usize) -> Vector3<T> {
    Vector3::new(m[(i, 0)], m[(i, 1)], m[(i, 2)])
}

/// A column of a matrix.
#[inline(always)]
pub fn column<T: Number>(m: &Matrix3<T>, j: usize) -> Vector3<T> {
    Vector3::new(m[(0, j)], m[(1, j)], m[(2, j)])
}

/// Mᵀ a.
#[inline(always)]
pub fn turned_back<T: Number>(m: &Matrix3<T>, a: &Vector3<T>) -> Vector3<T> {
    Vector3::new(
        dot(&column(m, 0), a),
        dot(&column(m, 1), a),
        dot(&column(m, 2), a),
    )
}

/// A B.
#[inline(always)]
pub fn product<T: Number>(a: &Matrix3<T>, b: &Matrix3<T>) -> Matrix3<T> {
    let x = turned(a, &column(b, 0));
    let y = turned(a, &column(b, 1));
    let z = turned(a, &column(b, 2));
    Matrix3::new(x.x, y.x, z.x, x.y, y.y, z.y, x.z, y.z, z.z)
}

/// A + B.
#[inline(always)]
pub fn sum<T: Number>(a: &Matrix3<T>, b: &Matrix3<T>) -> Matrix3<T> {
    Matrix3::new(
        a[(0, 0)] + b[(0, 0)],
        a[(0, 1)] + b[(0, 1)],
        a[(0, 2)] + b[(0, 2)],
        a[(1, 0)] + b[(1, 0)],
        a[(1, 1)] + b[(1, 1)],
        a[(1, 2)] + b[(1, 2)],
        a[(2, 0)] + b[(2, 0)],
        a[(2, 1)] + b[(2, 1)],
        a[(2, 2)] + b[(2, 2)],
    )
}

/// A − B.
#[inline(always)]
pub fn difference<T: Number>(a: &Matrix3<T>, b: &Matrix3<T>) -> Matrix3<T> {
    Matrix3::new(
        a[(0, 0)] - b[(0, 0)],
        a[(0, 1)] - b[(0, 1)],
        a[(0, 2)] - b[(0, 2)],
        a[(1, 0)] - b[(1, 0)],
        a[(1, 1)] - b[(1, 1)],
        a[(1, 2)] - b[(1, 2)],
        a[(2, 0)] - b[(2, 0)],
        a[(2, 1)] - b[(2, 1)],
        a[(2, 2)] - b[(2, 2)],
    )
}

/// Rᵀ M R.
#[inline(always)]
pub fn seen_from_body<T: Number>(to_earth: &Matrix3<T>, m: &Matrix3<T>) -> Matrix3<T> {
    let r = to_earth;
    let to_body = Matrix3::new(
        r[(0, 0)],
        r[(1, 0)],
        r[(2, 0)],
        r[(0, 1)],
        r[(1, 1)],
        r[(2, 1)],
        r[(0, 2)],
        r[(1, 2)],
        r[(2, 2)],
    );
    product(&product(&to_body, m), r)
}

#[cfg(test)]
mod tests {
    use super::*;

    // Reference: nalgebra's operators, whose bits the engine of `f64` has always had.
    #[test]
    fn bits_are_those_of_nalgebras_operators() {
        let mut seed = 1_u64;
        let mut draw = || {
            seed = seed
                .wrapping_mul(6_364_136_223_846_793_005)
                .wrapping_add(1_442_695_040_888_963_407);
            (seed >> 11) as f64 / (1_u64 << 52) as f64 - 1.0
        };
        for _ in 0..200 {
            let (a, b) = (
                Vector3::from_fn(|_, _| draw()),
                Vector3::from_fn(|_, _| draw()),
            );
            let (m, n) = (
                Matrix3::from_fn(|_, _| draw()),
                Matrix3::from_fn(|_, _| draw()),
            );
            assert_eq!(dot(&a, &b), a.dot(&b));
            assert_eq!(cross(&a, &b), a.cross(&b));
            assert_eq!(turned(&m, &a), m * a);
            assert_eq!(turned_back(&m, &a), m.transpose() * a);
            assert_eq!(product(&m, &n), m * n);
            assert_eq!(seen_from_body(&m, &n), m.transpose() * n * m);
            assert_eq!(scaled_plus(&a, b.x, &b), a * b.x + b);
        }
    }
}
