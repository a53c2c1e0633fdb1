//! A box tumbling without moments: NASA's brick and the closed solution of Euler's equations.

use super::aircraft::{body, throw, weightless_air};
use super::elliptic::{jacobi, quarter_period};
use super::falling_ball::SLUG_FOOT2_KG_M2;
use nalgebra::{Matrix3, Vector3};
use sim_core::aero::coefficients::Coefficients;
use sim_core::flight::Throw;
use sim_core::launch::Launch;
use sim_core::vehicle::Vehicle;

/// Mass of NASA's brick, kg (0.155404754 slug).
pub const BRICK_MASS_KG: f64 = 2.267_962;
/// Its principal moments of inertia, kg m² (NASA/TM-2015-218675 tables 4-5).
pub const BRICK_MOMENTS_KG_M2: [f64; 3] = [
    0.001_894_220 * SLUG_FOOT2_KG_M2,
    0.006_211_019 * SLUG_FOOT2_KG_M2,
    0.007_194_665 * SLUG_FOOT2_KG_M2,
];
/// Its rates at release, deg/s.
pub const BRICK_RATES_DEG_S: [f64; 3] = [10.0, 20.0, 30.0];

/// NASA's brick, with nothing for the air to hold on to.
pub fn brick() -> Vehicle<f64> {
    body(
        BRICK_MASS_KG,
        Matrix3::from_diagonal(&Vector3::from(BRICK_MOMENTS_KG_M2)),
        Coefficients::none(1.0, 1.0, 1.0),
    )
}

/// The brick's tumble at 10, 20, 30 deg/s from a level attitude facing north, floating without gravity, for 30 s.
pub fn brick_tumble() -> Throw {
    let launch = Launch {
        rates_rad_s: Vector3::from(BRICK_RATES_DEG_S.map(f64::to_radians)),
        ..Launch::level(100.0, 0.0)
    };
    throw(brick(), weightless_air(), launch, 30.0)
}

/// Closed solution of Euler's equations without moments for I1 < I2 < I3 and H² > 2T·I2 (Landau & Lifshitz,
/// Mechanics, § 37, from memory).
#[derive(Clone, Copy, Debug)]
pub struct FreeTumble {
    /// Amplitudes of the three rates, rad/s.
    pub amplitudes: Vector3<f64>,
    /// Parameter m = k².
    pub parameter: f64,
    /// Argument's rate, 1/s.
    pub argument_rate: f64,
    phase: f64,
}

impl FreeTumble {
    /// Motion from rates (rad/s) with the first and second positive in the first quarter of the period.
    pub fn from(moments: [f64; 3], rates: Vector3<f64>) -> Self {
        let [i1, i2, i3] = moments;
        let twice_energy = i1 * rates.x.powi(2) + i2 * rates.y.powi(2) + i3 * rates.z.powi(2);
        let momentum_squared =
            (i1 * rates.x).powi(2) + (i2 * rates.y).powi(2) + (i3 * rates.z).powi(2);
        let below = twice_energy * i3 - momentum_squared;
        let above = momentum_squared - twice_energy * i1;
        let amplitudes = Vector3::new(
            (below / (i1 * (i3 - i1))).sqrt(),
            (below / (i2 * (i3 - i2))).sqrt(),
            (above / (i3 * (i3 - i1))).sqrt(),
        );
        let parameter = (i2 - i1) * below / ((i3 - i2) * above);
        // Where in the quarter period sn has the value of the second rate, by bisection.
        let wanted = rates.y / amplitudes.y;
        let (mut low, mut high) = (0.0, quarter_period(parameter));
        for _ in 0..200 {
            let middle = (low + high) / 2.0;
            if jacobi(middle, parameter).0 < wanted {
                low = middle;
            } else {
                high = middle;
            }
        }
        FreeTumble {
            amplitudes,
            parameter,
            argument_rate: ((i3 - i2) * above / (i1 * i2 * i3)).sqrt(),
            phase: (low + high) / 2.0,
        }
    }

    /// Period of the body rates, s.
    pub fn period_s(&self) -> f64 {
        4.0 * quarter_period(self.parameter) / self.argument_rate
    }

    /// Body rates (rad/s) at a time (s).
    pub fn rates_at(&self, time_s: f64) -> Vector3<f64> {
        let (sn, cn, dn) = jacobi(self.phase + self.argument_rate * time_s, self.parameter);
        self.amplitudes.component_mul(&Vector3::new(cn, sn, dn))
    }
}
