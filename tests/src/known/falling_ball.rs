//! A ball falling with quadratic drag, and NASA's falling sphere.

use super::aircraft::{body, throw};
use nalgebra::Matrix3;
use sim_core::aero::coefficients::Coefficients;
use sim_core::air::{Air, Gravity};
use sim_core::flight::Throw;
use sim_core::launch::Launch;
use sim_core::vehicle::Vehicle;

/// Metres in a foot, exact.
pub const FOOT_M: f64 = 0.3048;
/// Kilograms in a slug: the pound-force 4.4482216152605 N (exact) over the foot.
pub const SLUG_KG: f64 = 4.448_221_615_260_5 / FOOT_M;
/// kg m² in a slug ft².
pub const SLUG_FOOT2_KG_M2: f64 = SLUG_KG * FOOT_M * FOOT_M;

/// A ball of a mass (kg), inertia (kg m²), frontal area (m²) and drag coefficient. Drag lies along the relative wind
/// while that stays in the ball's x-z plane.
pub fn ball(mass_kg: f64, inertia_kg_m2: f64, area_m2: f64, drag_coefficient: f64) -> Vehicle<f64> {
    let table = Coefficients {
        drag_min: drag_coefficient,
        ..Coefficients::none(area_m2, 1.0, 1.0)
    };
    body(mass_kg, Matrix3::identity() * inertia_kg_m2, table)
}

/// Speed (m/s) and distance fallen (m) of a ball dropped from rest at a time (s): v = V_t tanh(g t/V_t), z = V_t²/g
/// ln cosh(g t/V_t).
pub fn fall_with_drag(terminal_speed_m_s: f64, gravity_m_s2: f64, time_s: f64) -> (f64, f64) {
    let x = gravity_m_s2 * time_s / terminal_speed_m_s;
    (
        terminal_speed_m_s * x.tanh(),
        terminal_speed_m_s.powi(2) / gravity_m_s2 * x.cosh().ln(),
    )
}

/// NASA's sphere dropped from 30 000 ft, facing east, at rest over the ground, for 30 s (NASA/TM-2015-218675,
/// check-case 4 and others).
pub fn nasa_sphere(air: Air<f64>) -> Throw {
    let sphere = ball(
        SLUG_KG,
        3.6 * SLUG_FOOT2_KG_M2,
        0.196_349_5 * FOOT_M * FOOT_M,
        0.1,
    );
    let launch = Launch {
        heading_rad: std::f64::consts::FRAC_PI_2,
        ..Launch::level(30_000.0 * FOOT_M, 0.0)
    };
    throw(sphere, air, launch, 30.0)
}

/// Gravity of case 4's sphere earth: μ = 3.986004418e14 m³/s², radius 20 902 254.5305 ft.
pub fn nasa_sphere_earth() -> Gravity<f64> {
    let radius_m = 20_902_254.530_5 * FOOT_M;
    Gravity {
        surface_m_s2: 3.986_004_418e14 / (radius_m * radius_m),
        curvature_1_m: 1.0 / radius_m,
    }
}
