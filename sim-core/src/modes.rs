//! Small motions about a steady flight: linearisation and named modes (MODEL.md § 10).

use crate::air::Air;
use crate::forces::evaluate;
use crate::frames::{EulerAngles, quaternion_of_euler, rotation};
use crate::number::Widen;
use crate::segment::Segment;
use crate::state::State;
use crate::vehicle::Vehicle;
use nalgebra::{Complex, DMatrix, DVector, Vector3};
use num_dual::Dual64;
use std::f64::consts::{LN_2, TAU};

/// Rates of (u, v, w, p, q, r, θ, φ, Ω_i) linearised; SI units, rows and columns in this order.
#[derive(Clone, Debug, PartialEq)]
pub struct Linearisation {
    /// Jacobian, 8 + motors square.
    pub matrix: DMatrix<f64>,
}

/// Places of the states in the matrix.
const LONGITUDINAL: [usize; 4] = [0, 2, 4, 6];
const LATERAL: [usize; 4] = [1, 3, 5, 7];

/// Exact Jacobian about a state and its controls; position, heading and charge held.
///
/// Valid for: pitch angles short of ±90°.
pub fn linearise(
    vehicle: &Vehicle<f64>,
    air: &Air<f64>,
    segment: &Segment<f64>,
    state: &State<f64>,
) -> Linearisation {
    let motors = vehicle.motors.len();
    let size = 8 + motors;
    let (wide_vehicle, wide_air) = (Vehicle::<f64>::widen(&[vehicle]), Air::<f64>::widen(&[air]));
    let wide_segment = segment.spread::<Dual64>();
    let angles = EulerAngles::of(&rotation(&state.attitude));
    let mut values: Vec<f64> = state
        .velocity
        .iter()
        .chain(state.rates.iter())
        .copied()
        .collect();
    values.extend([angles.pitch_rad, angles.roll_rad]);
    values.extend(&state.rotors[..motors]);

    let column = |k: usize| {
        let x: Vec<Dual64> = (0..size)
            .map(|i| Dual64::new(values[i], f64::from(i == k)))
            .collect();
        let (pitch, roll) = (x[6], x[7]);
        let wide = State {
            position: state.position.map(Dual64::from_re),
            attitude: quaternion_of_euler(roll, pitch, Dual64::from_re(angles.yaw_rad)),
            velocity: Vector3::new(x[0], x[1], x[2]),
            rates: Vector3::new(x[3], x[4], x[5]),
            rotors: std::array::from_fn(|i| {
                if i < motors {
                    x[8 + i]
                } else {
                    Dual64::from_re(0.0)
                }
            }),
            charge: Dual64::from_re(state.charge),
        };
        let time = wide_segment.start_time;
        let rate = evaluate(&wide_vehicle, &wide_air, &wide_segment, time, &wide).rate;
        let (sin_roll, cos_roll) = crate::number::Number::sin_cos(roll);
        let (sin_pitch, cos_pitch) = crate::number::Number::sin_cos(pitch);
        let (p, q, r) = (wide.rates.x, wide.rates.y, wide.rates.z);
        let pitch_rate = q * cos_roll - r * sin_roll;
        let roll_rate = p + (q * sin_roll + r * cos_roll) * sin_pitch / cos_pitch;
        let rates: [[Dual64; 3]; 2] = [rate.velocity.into(), rate.rates.into()];
        let mut out: Vec<f64> = rates.iter().flatten().map(|d| d.eps).collect();
        out.extend([pitch_rate.eps, roll_rate.eps]);
        out.extend(rate.rotors[..motors].iter().map(|d| d.eps));
        DVector::from_vec(out)
    };
    Linearisation {
        matrix: DMatrix::from_columns(&(0..size).map(column).collect::<Vec<_>>()),
    }
}

/// One mode of small motion.
#[derive(Clone, Debug, PartialEq)]
pub struct Mode {
    /// Name by its motion.
    pub name: &'static str,
    /// Real part of the eigenvalue, 1/s; negative dies away.
    pub growth_1_s: f64,
    /// Imaginary part, rad/s; not negative.
    pub damped_frequency_rad_s: f64,
    /// How much each of (u, v, w, p, q, r, θ, φ, Ω_i) takes part; sums to 1.
    pub participation: Vec<f64>,
}

impl Mode {
    /// Undamped natural frequency, rad/s; none for a mode that does not swing.
    pub fn natural_frequency_rad_s(&self) -> Option<f64> {
        self.swings()
            .then(|| libm::hypot(self.growth_1_s, self.damped_frequency_rad_s))
    }

    /// Damping ratio; none for a mode that does not swing.
    pub fn damping_ratio(&self) -> Option<f64> {
        self.natural_frequency_rad_s()
            .map(|natural| -self.growth_1_s / natural)
    }

    /// Period, s; none for a mode that does not swing.
    pub fn period_s(&self) -> Option<f64> {
        self.swings().then(|| TAU / self.damped_frequency_rad_s)
    }

    /// Time to half the size, s; none where it grows.
    pub fn time_to_half_s(&self) -> Option<f64> {
        (self.growth_1_s < 0.0).then(|| -LN_2 / self.growth_1_s)
    }

    /// Time to double the size, s; none where it dies away.
    pub fn time_to_double_s(&self) -> Option<f64> {
        (self.growth_1_s > 0.0).then(|| LN_2 / self.growth_1_s)
    }

    fn swings(&self) -> bool {
        self.damped_frequency_rad_s > 0.0
    }
}

impl Linearisation {
    /// Modes, fastest first; a conjugate pair counts once.
    pub fn modes(&self) -> Vec<Mode> {
        let mut modes: Vec<Mode> = self
            .matrix
            .complex_eigenvalues()
            .iter()
            .filter(|eigenvalue| eigenvalue.im >= 0.0)
            .map(|&eigenvalue| {
                let participation = participation(&self.matrix, eigenvalue);
                Mode {
                    name: name(eigenvalue, &participation),
                    growth_1_s: eigenvalue.re,
                    damped_frequency_rad_s: eigenvalue.im,
                    participation,
                }
            })
            .collect();
        modes.sort_by(|a, b| {
            let size = |m: &Mode| libm::hypot(m.growth_1_s, m.damped_frequency_rad_s);
            size(b).total_cmp(&size(a))
        });
        modes
    }
}

/// |left·right| eigenvector products, scaled to sum 1: free of the states' units.
fn participation(matrix: &DMatrix<f64>, eigenvalue: Complex<f64>) -> Vec<f64> {
    let right = eigenvector(matrix, eigenvalue);
    let left = eigenvector(&matrix.transpose(), eigenvalue);
    let products: Vec<f64> = right
        .iter()
        .zip(left.iter())
        .map(|(r, l)| (r * l).norm())
        .collect();
    let sum: f64 = products.iter().sum();
    products
        .iter()
        .map(|p| if sum > 0.0 { p / sum } else { 0.0 })
        .collect()
}

/// Inverse iteration from beside the eigenvalue.
fn eigenvector(matrix: &DMatrix<f64>, eigenvalue: Complex<f64>) -> DVector<Complex<f64>> {
    let size = matrix.nrows();
    let beside = eigenvalue + Complex::new(1e-9, 1e-9) * (1.0 + eigenvalue.norm());
    let shifted = matrix.map(|x| Complex::new(x, 0.0)) - DMatrix::identity(size, size) * beside;
    let lu = shifted.lu();
    let mut vector = DVector::from_fn(size, |i, _| Complex::new(1.0, 0.1 * i as f64));
    for _ in 0..4 {
        match lu.solve(&vector) {
            Some(next) => vector = &next / Complex::from(next.norm()),
            None => break,
        }
    }
    vector
}

fn name(eigenvalue: Complex<f64>, participation: &[f64]) -> &'static str {
    let sum = |states: &[usize]| states.iter().map(|&i| participation[i]).sum::<f64>();
    let (longitudinal, lateral) = (sum(&LONGITUDINAL), sum(&LATERAL));
    let rotors: f64 = participation[8..].iter().sum();
    let (swings, grows) = (eigenvalue.im > 0.0, eigenvalue.re > 0.0);
    if rotors > longitudinal.max(lateral) {
        return "rotor";
    }
    if longitudinal >= lateral {
        let by_speed = sum(&[0, 6]) > sum(&[2, 4]);
        return match (swings, by_speed, grows) {
            (true, true, _) => "phugoid",
            (true, false, _) => "short period",
            (false, true, true) => "speed divergence",
            (false, true, false) => "speed subsidence",
            (false, false, true) => "pitch divergence",
            (false, false, false) => "pitch subsidence",
        };
    }
    match (swings, sum(&[1, 5]) >= sum(&[3, 7])) {
        (true, true) => "Dutch roll",
        (true, false) => "roll-spiral oscillation",
        (false, _)
            if participation[3] >= participation[1].max(participation[5]).max(participation[7]) =>
        {
            "roll subsidence"
        }
        (false, _) => "spiral",
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    // Boeing 747, cruise at 40 000 ft, Etkin & Reid, Dynamics of Flight, 3rd ed., § 6.7
    // (matrix and roots from memory, confirmed by recomputation), feet and seconds, placed in our order of states.
    #[test]
    #[allow(
        clippy::approx_constant,
        reason = "-0.4342 is a textbook's roll damping, not a logarithm"
    )]
    fn names_the_roots_of_the_textbook_lateral_matrix() {
        let a = [
            [-0.0558, 0.0, -774.0, 32.2],
            [-0.003865, -0.4342, 0.4136, 0.0],
            [0.001086, -0.006112, -0.1458, 0.0],
            [0.0, 1.0, 0.0, 0.0],
        ];
        let mut matrix = DMatrix::zeros(8, 8);
        for (i, &row) in LATERAL.iter().enumerate() {
            for (j, &column) in LATERAL.iter().enumerate() {
                matrix[(row, column)] = a[i][j];
            }
        }
        // The longitudinal half: Navion, printed matrix of Nelson, Example 4.3 (from memory).
        let b = [
            [-0.045, 0.036, 0.0, -32.2],
            [-0.369, -2.02, 176.0, 0.0],
            [0.0019, -0.0396, -2.948, 0.0],
            [0.0, 0.0, 1.0, 0.0],
        ];
        for (i, &row) in LONGITUDINAL.iter().enumerate() {
            for (j, &column) in LONGITUDINAL.iter().enumerate() {
                matrix[(row, column)] = b[i][j];
            }
        }
        let modes = Linearisation { matrix }.modes();
        let expected = [
            ("short period", -2.48945, 2.59776),
            ("Dutch roll", -0.033011, 0.94655),
            ("roll subsidence", -0.56248, 0.0),
            ("phugoid", -0.01705, 0.21354),
            ("spiral", -0.0072973, 0.0),
        ];
        assert_eq!(modes.len(), expected.len());
        for (mode, (name, growth, frequency)) in modes.iter().zip(expected) {
            assert_eq!(mode.name, name);
            assert!((mode.growth_1_s - growth).abs() < 1e-5, "{mode:?}");
            assert!(
                (mode.damped_frequency_rad_s - frequency).abs() < 1e-5,
                "{mode:?}"
            );
        }
    }
}
