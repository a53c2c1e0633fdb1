//! The air an airframe carries with it when its velocity through the air changes (MODEL.md § 5.4).

// Sums over rows and columns, as the formulas have them.
#![allow(clippy::needless_range_loop)]

use crate::number::{Number, lane_data};
use crate::vector::{nothing, scaled_plus};
use crate::wrench::{Motion, Wrench};
use nalgebra::{Matrix3, Matrix6, Vector3};

lane_data! {
    /// Apparent-mass matrix of an airframe, for any density.
    ///
    /// Source of its values: MODEL.md § 19 ([`crate::estimate::apparent_mass`]).
    pub struct ApparentMass<T> {
        /// A = M_A/ρ about the balance point in body axes: rows and columns u, v, w, p, q, r; m³, m⁴ and m⁵. Symmetric, never negative.
        pub per_density: Matrix6<T>,
    }
}

impl ApparentMass<f64> {
    /// The same air about another origin that lies at `origin` (m) in the axes of this one.
    pub fn about(&self, origin: &Vector3<f64>) -> Self {
        // The old origin's velocity is v − ω × origin of the new one's, and forces follow by the transpose.
        let mut shift = [[0.0; 6]; 6];
        for (i, row) in shift.iter_mut().enumerate() {
            row[i] = 1.0;
        }
        let cross = origin.cross_matrix();
        for i in 0..3 {
            for j in 0..3 {
                shift[3 + i][j] = -cross[(i, j)];
            }
        }
        ApparentMass {
            per_density: congruent(&Matrix6::from_fn(|i, j| shift[i][j]), &self.per_density),
        }
    }
}

/// L M Lᵀ, summed in one order on every machine: a matrix product of this size is handed to code that picks fused instructions by processor.
pub fn congruent(left: &Matrix6<f64>, middle: &Matrix6<f64>) -> Matrix6<f64> {
    let product = |a: &dyn Fn(usize, usize) -> f64, b: &dyn Fn(usize, usize) -> f64| {
        Matrix6::from_fn(|i, j| (0..6).fold(0.0, |sum, k| sum + a(i, k) * b(k, j)))
    };
    let half = product(&|i, k| left[(i, k)], &|k, j| middle[(k, j)]);
    product(&|i, k| half[(i, k)], &|k, j| left[(j, k)])
}

impl<T: Number> ApparentMass<T> {
    /// Force and moment of the air carried, −ρA dν_r/dt, where velocity and rates relative to the air change by `motion`.
    ///
    /// `density` in kg/m³. Equation: MODEL.md § 5.4.
    #[inline(always)]
    pub fn reaction(&self, density: T, motion: &Motion<T>) -> Wrench<T> {
        let x = motion.to_array();
        let mut row = [T::zero(); 6];
        for i in 0..6 {
            let mut sum = T::zero();
            for j in 0..6 {
                sum = self.per_density[(i, j)].times_plus(x[j], sum);
            }
            row[i] = -(sum * density);
        }
        Wrench {
            force: Vector3::new(row[0], row[1], row[2]),
            moment: Vector3::new(row[3], row[4], row[5]),
        }
    }

    /// The body's mass (kg) and inertia (kg m²) and the air it carries, ready to be solved for accelerations; for number types that divide.
    #[inline(always)]
    pub fn joined(&self, density: T, mass: T, inertia: &Matrix3<T>) -> Joined<T> {
        Joined::of(|i, j| {
            let carried = self.per_density[(i, j)] * density;
            match (i < 3, j < 3) {
                (true, true) if i == j => carried + mass,
                (false, false) => carried + inertia[(i - 3, j - 3)],
                _ => carried,
            }
        })
    }
}

/// S = diag(m, m, m, I) + ρA as L D Lᵀ: exact at every density, without pivoting since S is positive.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Joined<T> {
    /// L under its diagonal of ones.
    lower: [[T; 6]; 6],
    /// 1/D.
    inverse: [T; 6],
}

impl<T: Number> Joined<T> {
    /// Factors a symmetric positive matrix given by its lower triangle.
    #[inline(always)]
    fn of(entry: impl Fn(usize, usize) -> T) -> Self {
        let mut lower = [[T::zero(); 6]; 6];
        let mut inverse = [T::zero(); 6];
        let mut pivot = [T::zero(); 6];
        for j in 0..6 {
            let mut diagonal = entry(j, j);
            for k in 0..j {
                diagonal = (lower[j][k] * lower[j][k]).times_from(pivot[k], diagonal);
            }
            pivot[j] = diagonal;
            inverse[j] = T::one() / diagonal;
            for i in j + 1..6 {
                let mut rest = entry(i, j);
                for k in 0..j {
                    rest = (lower[i][k] * lower[j][k]).times_from(pivot[k], rest);
                }
                lower[i][j] = rest * inverse[j];
            }
        }
        Joined { lower, inverse }
    }

    /// Accelerations under a force and moment.
    #[inline(always)]
    pub fn accelerations(&self, wrench: &Wrench<T>) -> Motion<T> {
        let mut x = [
            wrench.force.x,
            wrench.force.y,
            wrench.force.z,
            wrench.moment.x,
            wrench.moment.y,
            wrench.moment.z,
        ];
        for i in 1..6 {
            for k in 0..i {
                x[i] = self.lower[i][k].times_from(x[k], x[i]);
            }
        }
        for (value, inverse) in x.iter_mut().zip(self.inverse) {
            *value *= inverse;
        }
        for i in (0..5).rev() {
            for k in i + 1..6 {
                x[i] = self.lower[k][i].times_from(x[k], x[i]);
            }
        }
        Motion {
            velocity: Vector3::new(x[0], x[1], x[2]),
            rates: Vector3::new(x[3], x[4], x[5]),
        }
    }
}

lane_data! {
    /// X and λ with S⁻¹ = X diag(1/(1 + ρλ)) Xᵀ at every density ρ: the generalised eigenvectors of A against diag(m, m, m, I)
    /// (MODEL.md § 28.3).
    pub struct CarriedModes<T> {
        /// X, column by column.
        pub shapes: [[T; 6]; 6],
        /// λ, m³/kg: each mode's air per mass and density.
        pub shares: [T; 6],
    }
}

impl CarriedModes<f64> {
    /// Those of carried air with a body's mass (kg) and inertia (kg m²).
    pub fn of(air: &ApparentMass<f64>, mass: f64, inertia: &Matrix3<f64>) -> Self {
        let unit = inverse_root(mass, inertia);
        let middle = |i: usize, j: usize| air.per_density[(i, j)];
        let half = product(&|i, k| unit[i][k], &middle);
        let mut whole = product(&|i, k| half[i][k], &|k, j| unit[j][k]);
        let mut turned = unit;
        diagonalise(&mut whole, &mut turned);
        CarriedModes {
            shapes: turned,
            shares: std::array::from_fn(|k| whole[k][k]),
        }
    }
}

type Square = [[f64; 6]; 6];

fn product(a: &dyn Fn(usize, usize) -> f64, b: &dyn Fn(usize, usize) -> f64) -> Square {
    std::array::from_fn(|i| {
        std::array::from_fn(|j| (0..6).fold(0.0, |sum, k| sum + a(i, k) * b(k, j)))
    })
}

/// L⁻¹ of diag(m, m, m, I) = L Lᵀ.
fn inverse_root(mass: f64, inertia: &Matrix3<f64>) -> Square {
    let mut inverse = [[0.0; 6]; 6];
    for (i, row) in inverse.iter_mut().enumerate().take(3) {
        row[i] = 1.0 / mass.sqrt();
    }
    // Cholesky's factor and its inverse, row by row.
    let mut root = [[0.0; 3]; 3];
    for i in 0..3 {
        for j in 0..=i {
            let rest = (0..j).fold(inertia[(i, j)], |rest, k| rest - root[i][k] * root[j][k]);
            root[i][j] = if i == j {
                rest.sqrt()
            } else {
                rest / root[j][j]
            };
        }
    }
    for j in 0..3 {
        inverse[3 + j][3 + j] = 1.0 / root[j][j];
        for i in j + 1..3 {
            let sum = (j..i).fold(0.0, |sum, k| sum + root[i][k] * inverse[3 + k][3 + j]);
            inverse[3 + i][3 + j] = -sum / root[i][i];
        }
    }
    inverse
}

/// Jacobi's rotations: makes a symmetric matrix diagonal, and turns the rows of another matrix along.
fn diagonalise(matrix: &mut Square, rows: &mut Square) {
    /// More than any symmetric matrix of this size needs.
    const SWEEPS: usize = 40;
    let trace: f64 = (0..6).map(|i| matrix[i][i].abs()).sum();
    for _ in 0..SWEEPS {
        let mut changed = false;
        for p in 0..5 {
            for q in p + 1..6 {
                let across = matrix[p][q];
                // None where it is no number, so that there is an end.
                let counts = across.abs() > 1e-18 * trace;
                if !counts {
                    continue;
                }
                changed = true;
                let apart = (matrix[q][q] - matrix[p][p]) / (2.0 * across);
                let tangent = 1.0f64.copysign(apart) / (apart.abs() + (apart * apart + 1.0).sqrt());
                let cosine = 1.0 / (tangent * tangent + 1.0).sqrt();
                let sine = tangent * cosine;
                for row in matrix.iter_mut() {
                    (row[p], row[q]) = turn(row[p], row[q], sine, cosine);
                }
                for k in 0..6 {
                    (matrix[p][k], matrix[q][k]) = turn(matrix[p][k], matrix[q][k], sine, cosine);
                    (rows[p][k], rows[q][k]) = turn(rows[p][k], rows[q][k], sine, cosine);
                }
                (matrix[p][q], matrix[q][p]) = (0.0, 0.0);
            }
        }
        if !changed {
            break;
        }
    }
}

fn turn(a: f64, b: f64, sine: f64, cosine: f64) -> (f64, f64) {
    (cosine * a - sine * b, sine * a + cosine * b)
}

impl<T: Number> CarriedModes<T> {
    /// 1/(1 + ρλ) of every mode at a density (kg/m³), by one division.
    #[inline(always)]
    pub fn softness(&self, density: T) -> [T; 6] {
        let one = T::one();
        let [a, b, c, d, e, f] = &self.shares;
        let (a, b) = (a.times_plus(density, one), b.times_plus(density, one));
        let (c, d) = (c.times_plus(density, one), d.times_plus(density, one));
        let (e, f) = (e.times_plus(density, one), f.times_plus(density, one));
        let (ab, cd, ef) = (a * b, c * d, e * f);
        let (abcd, cdef, abef) = (ab * cd, cd * ef, ab * ef);
        let over = one / (abcd * ef);
        let (over_ab, over_cd, over_ef) = (over * cdef, over * abef, over * abcd);
        [
            over_ab * b,
            over_ab * a,
            over_cd * d,
            over_cd * c,
            over_ef * f,
            over_ef * e,
        ]
    }

    /// Accelerations under a force and moment, with [`CarriedModes::softness`].
    #[inline(always)]
    pub fn accelerations(&self, softness: &[T; 6], wrench: &Wrench<T>) -> Motion<T> {
        let (f, m) = (&wrench.force, &wrench.moment);
        let mut velocity = nothing();
        let mut rates = nothing();
        for k in 0..6 {
            let [x, y, z, p, q, r] = self.shapes[k];
            let of_force = z.times_plus(f.z, y.times_plus(f.y, x * f.x));
            let of_moment = r.times_plus(m.z, q.times_plus(m.y, p * m.x));
            let amount = (of_force + of_moment) * softness[k];
            velocity = scaled_plus(&Vector3::new(x, y, z), amount, &velocity);
            rates = scaled_plus(&Vector3::new(p, q, r), amount, &rates);
        }
        Motion { velocity, rates }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use nalgebra::Vector6;

    /// A wing's kind of matrix: heavy in heave and roll, coupled between heave and pitch, with something everywhere.
    fn matrix() -> Matrix6<f64> {
        let rows = [
            [0.0, 0.0, 1.0, 0.02, -0.03, 0.0],
            [0.1, 0.4, 0.3, 0.01, 0.0, 0.05],
            [0.0, -0.2, 0.7, 0.15, 0.02, 0.0],
        ];
        rows.iter()
            .map(|row| {
                let v = Vector6::from_row_slice(row);
                v * v.transpose() * 0.012
            })
            .sum()
    }

    // Reference: nalgebra's own LU decomposition, a general-purpose linear-algebra library. By modes the accelerations are the same.
    #[test]
    fn solves_as_a_linear_algebra_library_does() {
        let apparent = ApparentMass {
            per_density: matrix(),
        };
        let inertia = Matrix3::new(4e-4, 1e-5, -2e-5, 1e-5, 3e-4, 0.0, -2e-5, 0.0, 7e-4);
        let modes = CarriedModes::of(&apparent, 0.02, &inertia);
        for density in [0.0, 0.4, 1.225, 1000.0] {
            let mut whole = matrix() * density;
            for i in 0..3 {
                whole[(i, i)] += 0.02;
                for j in 0..3 {
                    whole[(3 + i, 3 + j)] += inertia[(i, j)];
                }
            }
            let wrench = Wrench {
                force: Vector3::new(0.1, -0.2, 0.3),
                moment: Vector3::new(1e-3, 2e-3, -4e-3),
            };
            let load = Vector6::new(0.1, -0.2, 0.3, 1e-3, 2e-3, -4e-3);
            let expected = whole.lu().solve(&load).unwrap();
            let joined = apparent.joined(density, 0.02, &inertia);
            let by_modes = modes.accelerations(&modes.softness(density), &wrench);
            for found in [joined.accelerations(&wrench), by_modes] {
                for (found, expected) in found.to_array().iter().zip(expected.iter()) {
                    assert!(
                        (found - expected).abs() < 1e-11 * expected.abs().max(1.0),
                        "{found} {expected}"
                    );
                }
            }
        }
    }

    // Kinetic energy of the air, ½νᵀAν, is the same seen from any point of the body: v_new = v_old + ω × d.
    #[test]
    fn another_origin_sees_the_same_energy() {
        let apparent = ApparentMass {
            per_density: matrix(),
        };
        let d = Vector3::new(0.03, -0.01, 0.02);
        let moved = apparent.about(&d).per_density;
        let (v, w) = (Vector3::new(3.0, -1.0, 2.0), Vector3::new(0.5, -4.0, 2.0));
        let joined = |v: Vector3<f64>, w: Vector3<f64>| Vector6::new(v.x, v.y, v.z, w.x, w.y, w.z);
        let (old, new) = (joined(v, w), joined(v + w.cross(&d), w));
        let (a, b) = (old.dot(&(matrix() * old)), new.dot(&(moved * new)));
        assert!((a / b - 1.0).abs() < 1e-13, "{a} {b}");
        assert!((moved - moved.transpose()).amax() < 1e-18);
    }
}
