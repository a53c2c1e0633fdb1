//! Lanchester's phugoid: constant lift coefficient, no drag.

use super::aircraft::{DENSITY_KG_M3, body, steady_air, throw};
use nalgebra::Matrix3;
use sim_core::aero::coefficients::Coefficients;
use sim_core::flight::Throw;
use sim_core::launch::Launch;

const MASS_KG: f64 = 0.04;
const AREA_M2: f64 = 0.06;
const GRAVITY_M_S2: f64 = 9.80665;

/// A lifting body without drag whose lift coefficient is the same at every incidence, so that lift carries the weight
/// in level flight at `level_speed_m_s`. Lift stands square on the path whatever the attitude: exactly what
/// Lanchester assumes, with no moment to balance.
pub fn lanchester(level_speed_m_s: f64, launch: Launch, time_limit_s: f64) -> Throw {
    let weight = MASS_KG * GRAVITY_M_S2;
    let table = Coefficients {
        lift_zero: weight / (0.5 * DENSITY_KG_M3 * level_speed_m_s.powi(2) * AREA_M2),
        ..Coefficients::none(AREA_M2, 0.5, 0.12)
    };
    let vehicle = body(MASS_KG, Matrix3::identity() * 4e-4, table);
    throw(vehicle, steady_air(), launch, time_limit_s)
}

/// Lanchester's period of small oscillations about level flight, π√2 V/g, s.
pub fn phugoid_period_s(level_speed_m_s: f64) -> f64 {
    std::f64::consts::PI * 2.0_f64.sqrt() * level_speed_m_s / GRAVITY_M_S2
}

/// The constant C of the frictionless phugoid, from cos γ = z/(3 z1) + C √(z1/z), z = V²/2g, z1 = V1²/2g.
pub fn first_integral(level_speed_m_s: f64, speed_m_s: f64, path_angle_rad: f64) -> f64 {
    let ratio = (speed_m_s / level_speed_m_s).powi(2);
    (path_angle_rad.cos() - ratio / 3.0) * ratio.sqrt()
}
