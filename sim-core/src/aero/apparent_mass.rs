//! The air an airframe carries with it when its velocity through the air changes (MODEL.md § 5.4).

use crate::number::{Number, lane_data};
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
        for (i, row) in row.iter_mut().enumerate() {
            let mut sum = T::zero();
            for (j, x) in x.iter().enumerate() {
                sum = self.per_density[(i, j)].times_plus(*x, sum);
            }
            *row = -(sum * density);
        }
        Wrench {
            force: Vector3::new(row[0], row[1], row[2]),
            moment: Vector3::new(row[3], row[4], row[5]),
        }
    }

    /// The body's mass (kg) and inertia (kg m²) and the air it carries, ready to be solved for accelerations.
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

    // Reference: nalgebra's own LU decomposition, a general-purpose linear-algebra library.
    #[test]
    fn solves_as_a_linear_algebra_library_does() {
        let apparent = ApparentMass {
            per_density: matrix(),
        };
        let inertia = Matrix3::new(4e-4, 1e-5, -2e-5, 1e-5, 3e-4, 0.0, -2e-5, 0.0, 7e-4);
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
            let found = apparent
                .joined(density, 0.02, &inertia)
                .accelerations(&wrench);
            for (found, expected) in found.to_array().iter().zip(expected.iter()) {
                assert!(
                    (found - expected).abs() < 1e-11 * expected.abs().max(1.0),
                    "{found} {expected}"
                );
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
