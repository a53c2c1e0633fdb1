//! Single propeller discs among flat plates, with a thrust that is given and not worked out.

use super::power::small_motor;
use nalgebra::Vector3;
use sim_core::aero::post_stall::Panel;
use sim_core::frames::BuilderPoint;
use sim_core::power::disc::near::{NearSurface, Site, helmbold};
use sim_core::power::disc::{Around, DiscEffects, DiscFactors, DiscWrenches};
use sim_core::power::motor::Motor;

/// Density of all of this, kg/m³.
pub const DENSITY: f64 = 1.225;

/// All effects as the model has them.
pub const AS_RECKONED: DiscFactors = DiscFactors {
    normal_force: 1.0,
    wash: 1.0,
    suction: 1.0,
};

/// A disc of a diameter (m) with its centre at a place (body axes from the balance point, m), pulling along an axis, among surfaces whose
/// stations count from the balance point; side area of the blades in m².
pub fn disc(
    diameter_m: f64,
    place: Vector3<f64>,
    axis: Vector3<f64>,
    surfaces: &[NearSurface],
    side_area_m2: f64,
) -> Motor<f64> {
    let mut motor = small_motor(place, 0.0, 0.0, 1.0, 1.0);
    motor.axis = axis;
    motor.propeller.diameter = diameter_m;
    let site = Site {
        place: BuilderPoint::new(-place.x, place.y, -place.z),
        axis,
        diameter_m,
    };
    motor.disc = DiscEffects::of(&site, surfaces, side_area_m2, &AS_RECKONED);
    motor
}

/// A rectangular level plate, both halves, its leading edge `ahead_m` ahead of the balance point and `up_m` above it, at an incidence (rad).
pub fn plate(
    ahead_m: f64,
    up_m: f64,
    chord_m: f64,
    half_span_m: f64,
    incidence_rad: f64,
) -> Vec<NearSurface> {
    let panel = Panel {
        root_leading_edge: BuilderPoint::new(-ahead_m, 0.0, up_m),
        root_chord_m: chord_m,
        tip_chord_m: chord_m,
        half_span_m,
        sweep_rad: 0.0,
        dihedral_rad: 0.0,
        side: 1.0,
    };
    let right = NearSurface {
        panel,
        incidence_rad: [incidence_rad; 2],
        lift_slope: helmbold(2.0 * half_span_m / chord_m),
    };
    let left = NearSurface {
        panel: panel.mirrored(),
        ..right
    };
    vec![right, left]
}

/// Attached flow of a velocity of the body through the air (m/s), not turning.
pub fn flow(velocity: Vector3<f64>) -> Around<f64> {
    Around {
        velocity,
        rates: Vector3::zeros(),
        density: DENSITY,
        attached_weight: 1.0,
        normal_at_90: 1.2,
    }
}

/// What a disc with a thrust (N) does.
pub fn wrenches(motor: &Motor<f64>, thrust_n: f64, around: &Around<f64>) -> DiscWrenches<f64> {
    motor.disc.wrenches(motor, thrust_n, around)
}
