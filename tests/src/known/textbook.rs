//! Textbook aircraft with published modes, in the textbooks' own units and with their assumptions.

use super::aircraft::body;
use super::falling_ball::{FOOT_M, SLUG_FOOT2_KG_M2, SLUG_KG};
use nalgebra::{Matrix3, Vector3};
use sim_core::aero::coefficients::Coefficients;
use sim_core::air::Air;
use sim_core::air::atmosphere::Atmosphere;
use sim_core::mass::inertia_tensor;
use sim_core::vehicle::Vehicle;

/// The textbooks' gravity, ft/s².
pub const GRAVITY_FT_S2: f64 = 32.2;

/// Uniform air of a density (slug/ft³) and the textbooks' gravity.
pub fn textbook_air(density_slug_ft3: f64) -> Air<f64> {
    let mut air = Air::calm();
    air.atmosphere = Atmosphere::constant_density(density_slug_ft3 * SLUG_KG / FOOT_M.powi(3));
    air.gravity.surface_m_s2 = GRAVITY_FT_S2 * FOOT_M;
    air
}

/// Navion: Nelson, Flight Stability and Automatic Control, 2nd ed., appendix B (from memory). Z_α̇ = Z_q = 0 as in
/// the example.
pub fn navion() -> Vehicle<f64> {
    let (lift, drag, lift_alpha, drag_alpha) = (0.41, 0.05, 4.44, 0.33);
    // The polar through C_D with the slope C_Dα: dC_D/dα = 2 K C_L C_Lα.
    let drag_factor = drag_alpha / (2.0 * lift * lift_alpha);
    let table = Coefficients {
        lift_zero: lift,
        lift_alpha,
        drag_min: drag - drag_factor * lift * lift,
        drag_factor,
        pitch_alpha: -0.683,
        pitch_alpha_rate: -4.36,
        pitch_q: -9.96,
        ..Coefficients::none(184.0 * FOOT_M * FOOT_M, 33.4 * FOOT_M, 5.7 * FOOT_M)
    };
    let pitch_inertia = 3000.0 * SLUG_FOOT2_KG_M2;
    body(
        2750.0 / GRAVITY_FT_S2 * SLUG_KG,
        Matrix3::identity() * pitch_inertia,
        table,
    )
}

/// C_D 0.05 at 176 ft/s and sea level, N.
pub fn navion_drag() -> f64 {
    let pounds = 0.05 * 0.5 * 0.002378 * 176.0 * 176.0 * 184.0;
    pounds * SLUG_KG * FOOT_M
}

/// Boeing 747 at 40 000 ft and Mach 0.8: speed, m/s.
pub const BOEING_747_SPEED_M_S: f64 = 774.0 * FOOT_M;
/// S (ft²) and b (ft).
pub const BOEING_747_SIZE: [f64; 2] = [5500.0, 195.68];
/// Ixx, Izz, +∫xz dm, slug ft².
pub const BOEING_747_INERTIA: [f64; 3] = [0.183e8, 0.497e8, -0.156e7];
/// Density at 40 000 ft, slug/ft³.
pub const BOEING_747_DENSITY_SLUG_FT3: f64 = 0.000_590_9;
/// Weight, lb.
pub const BOEING_747_WEIGHT_LB: f64 = 636_600.0;

/// The 747's mass and inertia with a table.
pub fn boeing_747(table: Coefficients<f64>) -> Vehicle<f64> {
    let [ixx, izz, xz] = BOEING_747_INERTIA.map(|i| i * SLUG_FOOT2_KG_M2);
    let inertia = inertia_tensor(
        Vector3::new(ixx, 0.331e8 * SLUG_FOOT2_KG_M2, izz),
        0.0,
        xz,
        0.0,
    );
    body(
        BOEING_747_WEIGHT_LB / GRAVITY_FT_S2 * SLUG_KG,
        inertia,
        table,
    )
}

/// Its reference sizes, every coefficient zero.
pub fn boeing_747_table() -> Coefficients<f64> {
    let [area, span] = BOEING_747_SIZE;
    Coefficients::none(area * FOOT_M * FOOT_M, span * FOOT_M, 27.31 * FOOT_M)
}

/// Boeing 747 at 40 000 ft and Mach 0.8: nondimensional derivatives of Etkin & Reid, 3rd ed., table of the example
/// (from memory).
pub fn boeing_747_from_derivatives() -> Vehicle<f64> {
    boeing_747(Coefficients {
        side_beta: -0.8771,
        roll_beta: -0.2797,
        yaw_beta: 0.1946,
        roll_p: -0.3295,
        yaw_p: -0.04073,
        roll_r: 0.304,
        yaw_r: -0.2737,
        ..boeing_747_table()
    })
}
