//! Derivatives of the model by dual numbers, in the variables of textbooks.

use nalgebra::{SMatrix, Vector3, Vector4};
use num_dual::Dual64;
use sim_core::air::Air;
use sim_core::forces::evaluate;
use sim_core::number::Widen;
use sim_core::segment::Segment;
use sim_core::state::{STATE_LENGTH, State};
use sim_core::vehicle::Vehicle;

/// A vehicle, its air and its controls as dual numbers without derivatives.
#[derive(Clone, Debug)]
pub struct DualModel {
    vehicle: Vehicle<Dual64>,
    air: Air<Dual64>,
    segment: Segment<Dual64>,
}

impl DualModel {
    /// Widens the three.
    pub fn of(vehicle: &Vehicle<f64>, air: &Air<f64>, segment: &Segment<f64>) -> Self {
        DualModel {
            vehicle: Widen::widen(&[vehicle]),
            air: Widen::widen(&[air]),
            segment: Widen::widen(&[segment]),
        }
    }

    /// Rate of the state at time zero.
    pub fn rate(&self, state: &State<Dual64>) -> State<Dual64> {
        evaluate(
            &self.vehicle,
            &self.air,
            &self.segment,
            Dual64::from_re(0.0),
            state,
        )
        .rate
    }

    /// ∂(rate of state i)/∂(state j).
    pub fn jacobian(&self, state: &State<f64>) -> SMatrix<f64, STATE_LENGTH, STATE_LENGTH> {
        let row = state.to_array();
        let mut jacobian = SMatrix::zeros();
        for j in 0..STATE_LENGTH {
            let mut seeded = row.map(Dual64::from_re);
            seeded[j].eps = 1.0;
            let rate = self.rate(&State::from_array(&seeded)).to_array();
            for i in 0..STATE_LENGTH {
                jacobian[(i, j)] = rate[i].eps;
            }
        }
        jacobian
    }

    /// The 8 × 8 matrix of small motions in (u, v, w, p, q, r, φ, θ) about straight flight at a velocity (body axes,
    /// m/s) and a pitch angle (rad), wings level, without rates, with the rotors at their speeds (rad/s).
    ///
    /// The rates of φ and θ are those of any textbook: φ̇ = p + (q sin φ + r cos φ) tan θ, θ̇ = q cos φ − r sin φ.
    pub fn small_motions(
        &self,
        velocity: &Vector3<f64>,
        pitch_rad: f64,
        height_m: f64,
        rotors: [f64; 2],
    ) -> SMatrix<f64, 8, 8> {
        let mut matrix = SMatrix::zeros();
        for j in 0..8 {
            let mut x = [
                velocity.x, velocity.y, velocity.z, 0.0, 0.0, 0.0, 0.0, pitch_rad,
            ]
            .map(Dual64::from_re);
            x[j].eps = 1.0;
            let [u, v, w, p, q, r, roll, pitch] = x;
            let half = Dual64::from_re(0.5);
            let (roll_half, pitch_half) = (roll * half, pitch * half);
            let (sr, cr) = (roll_half.re.sin(), roll_half.re.cos());
            let (sp, cp) = (pitch_half.re.sin(), pitch_half.re.cos());
            let (sr, cr) = (
                Dual64::new(sr, cr * roll_half.eps),
                Dual64::new(cr, -sr * roll_half.eps),
            );
            let (sp, cp) = (
                Dual64::new(sp, cp * pitch_half.eps),
                Dual64::new(cp, -sp * pitch_half.eps),
            );
            let state = State {
                position: Vector3::new(0.0, 0.0, -height_m).map(Dual64::from_re),
                // Pitch then roll: (cos θ/2 + j sin θ/2)(cos φ/2 + i sin φ/2).
                attitude: Vector4::new(cp * cr, cp * sr, sp * cr, -(sp * sr)),
                velocity: Vector3::new(u, v, w),
                rates: Vector3::new(p, q, r),
                rotors: rotors.map(Dual64::from_re),
                charge: Dual64::from_re(0.0),
            };
            let rate = self.rate(&state);
            // Wings level: cos φ = 1 and sin φ = 0 about the state; with the rates zero there only p, q, r count to
            // first order.
            let rolling = p + r * Dual64::from_re(pitch_rad.tan());
            let column = [
                rate.velocity.x,
                rate.velocity.y,
                rate.velocity.z,
                rate.rates.x,
                rate.rates.y,
                rate.rates.z,
                rolling,
                q,
            ];
            for (i, value) in column.iter().enumerate() {
                matrix[(i, j)] = value.eps;
            }
        }
        matrix
    }
}
