//! Steady gliding flight worked out from a coefficient table by hand.

use super::aircraft::{DENSITY_KG_M3, glider, steady_air, throw};
use sim_core::flight::Throw;
use sim_core::launch::Launch;
use sim_core::vehicle::Vehicle;

/// A steady glide with the wings level.
#[derive(Clone, Copy, Debug)]
pub struct Glide {
    /// Angle of attack, rad.
    pub alpha_rad: f64,
    /// Lift coefficient.
    pub lift: f64,
    /// Drag coefficient.
    pub drag: f64,
    /// Airspeed, m/s.
    pub airspeed_m_s: f64,
    /// Path angle, rad, negative downwards: tan γ = −C_D/C_L.
    pub path_angle_rad: f64,
}

impl Glide {
    /// Glide of a vehicle whose table is about its balance point, at a density (kg/m³) and gravity (m/s²): C_m = 0
    /// gives α, the polar C_L and C_D, and weight = ½ρV²S√(C_L² + C_D²) the speed.
    pub fn of(vehicle: &Vehicle<f64>, density: f64, gravity: f64) -> Self {
        let table = &vehicle.coefficients;
        assert!(
            table.reference.norm() == 0.0,
            "the table is about the balance point"
        );
        let alpha_rad = -table.pitch_zero / table.pitch_alpha;
        let lift = table.lift_zero + table.lift_alpha * alpha_rad;
        let drag = table.drag_min + table.drag_factor * (lift - table.lift_at_min_drag).powi(2);
        Glide {
            alpha_rad,
            lift,
            drag,
            airspeed_m_s: (2.0 * vehicle.mass * gravity
                / (density * table.area * lift.hypot(drag)))
            .sqrt(),
            path_angle_rad: -(drag / lift).atan(),
        }
    }

    /// A throw straight into this glide.
    pub fn launch(&self, height_m: f64) -> Launch {
        Launch {
            path_angle_rad: self.path_angle_rad,
            nose_above_path_rad: self.alpha_rad,
            ..Launch::level(height_m, self.airspeed_m_s)
        }
    }
}

/// The invented glider thrown straight into its steady glide, with the glide it must keep.
pub fn trimmed_glider(height_m: f64, time_limit_s: f64) -> (Throw, Glide) {
    let glide = Glide::of(&glider(), DENSITY_KG_M3, 9.80665);
    let launch = glide.launch(height_m);
    (throw(glider(), steady_air(), launch, time_limit_s), glide)
}
