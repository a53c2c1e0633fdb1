//! A flat plate spinning in still air without moving along.

use super::aircraft::{DENSITY_KG_M3, body, throw, weightless_air};
use nalgebra::{Matrix3, Vector3};
use sim_core::aero::coefficients::Coefficients;
use sim_core::aero::post_stall::{Panel, PostStall};
use sim_core::flight::Throw;
use sim_core::frames::BuilderPoint;
use sim_core::launch::Launch;
use sim_core::vehicle::Vehicle;

/// Mass of the plate, kg.
pub const MASS_KG: f64 = 0.02;
/// Span b and chord c, m.
pub const SIDES_M: [f64; 2] = [0.6, 0.25];

/// A flat rectangular plate balanced at its middle, with the stall of [`super::aircraft::usual_stall`] and no linear
/// coefficients.
pub fn plate() -> Vehicle<f64> {
    let [span, chord] = SIDES_M;
    let half = Panel {
        root_leading_edge: BuilderPoint::default(),
        root_chord_m: chord,
        tip_chord_m: chord,
        half_span_m: span / 2.0,
        sweep_rad: 0.0,
        dihedral_rad: 0.0,
        side: 1.0,
    };
    let balance = BuilderPoint::new(chord / 2.0, 0.0, 0.0);
    let panels = [half, half.mirrored()];
    let twelfth = MASS_KG / 12.0;
    let inertia = Matrix3::from_diagonal(&Vector3::new(
        twelfth * span * span,
        twelfth * chord * chord,
        twelfth * (span * span + chord * chord),
    ));
    Vehicle {
        post_stall: PostStall::of(&super::aircraft::usual_stall(), &panels, &balance),
        outline: panels
            .iter()
            .flat_map(Panel::corners)
            .map(|corner| corner.in_body(&balance))
            .collect(),
        ..body(
            MASS_KG,
            inertia,
            Coefficients::none(span * chord, span, chord),
        )
    }
}

/// The plate rolling at a rate (rad/s), floating without gravity.
pub fn rolling_plate(roll_rate_rad_s: f64, time_limit_s: f64) -> Throw {
    let launch = Launch {
        rates_rad_s: Vector3::new(roll_rate_rad_s, 0.0, 0.0),
        ..Launch::level(10.0, 0.0)
    };
    throw(plate(), weightless_air(), launch, time_limit_s)
}

/// k of ṗ = −k p|p|, 1/rad.
///
/// By hand: the strip c dy at y meets the air square on at p y, so its force is ½ρ C_90 (p y)² c dy and its moment y
/// times that: I_x ṗ = −½ρ C_90 p|p| · 2∫₀^{b/2} y³ c dy = −½ρ C_90 p|p| · c b⁴/32.
pub fn roll_slowing_1_rad() -> f64 {
    let [span, chord] = SIDES_M;
    let normal_at_90 = super::aircraft::usual_stall().normal_at_90;
    let inertia = MASS_KG / 12.0 * span * span;
    0.5 * DENSITY_KG_M3 * normal_at_90 * chord * span.powi(4) / 32.0 / inertia
}

/// Roll rate (rad/s) at a time (s): p = p0/(1 + k |p0| t).
pub fn roll_rate_at(start_rad_s: f64, time_s: f64) -> f64 {
    start_rad_s / (1.0 + roll_slowing_1_rad() * start_rad_s.abs() * time_s)
}
