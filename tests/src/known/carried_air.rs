//! Plates with the air they carry, and what handbooks say about them.

use super::aircraft::{DENSITY_KG_M3, body};
use super::random::Random;
use nalgebra::{Matrix3, Matrix6, Vector3, Vector6};
use sim_core::aero::apparent_mass::ApparentMass;
use sim_core::aero::coefficients::Coefficients;
use sim_core::estimate::apparent_mass::{matrix, plates_of};
use sim_core::estimate::geometry::{Section, Surface};
use sim_core::frames::BuilderPoint;
use sim_core::vehicle::Vehicle;
use std::f64::consts::PI;

/// Mass of [`plate`], kg.
pub const MASS_KG: f64 = 0.03;
/// Span and chord of [`plate`], m: aspect ratio 2.
pub const SIDES_M: [f64; 2] = [0.5, 0.25];
/// k of a rectangular plate of aspect ratio 2 moved along its normal: DNV-RP-C205, table of plates (from memory).
pub const NORMAL_FACTOR: f64 = 0.757;

/// Apparent mass of [`plate`] along its normal in the tests' air, kg: k (π/4) ρ c² b.
pub fn carried_kg() -> f64 {
    let [span, chord] = SIDES_M;
    NORMAL_FACTOR * PI / 4.0 * DENSITY_KG_M3 * chord * chord * span
}

/// Air carried by a flat level rectangle, balanced a distance behind its leading edge (m).
pub fn of_rectangle([span, chord]: [f64; 2], balance_m: f64) -> ApparentMass<f64> {
    let section = |right_m: f64| Section {
        leading_edge: BuilderPoint::new(0.0, right_m, 0.0),
        chord_m: chord,
        incidence_rad: 0.0,
    };
    let wing = Surface {
        name: "plate".to_owned(),
        sections: vec![section(0.0), section(span / 2.0)],
        mirrored: true,
        bends: Vec::new(),
    };
    let balance = BuilderPoint::new(balance_m, 0.0, 0.0);
    ApparentMass {
        per_density: matrix(&plates_of(&wing, &balance), 1.0),
    }
}

/// A flat plate balanced at its middle that feels no air but the one it carries.
pub fn plate() -> Vehicle<f64> {
    let [span, chord] = SIDES_M;
    let twelfth = MASS_KG / 12.0;
    let inertia = Matrix3::from_diagonal(&Vector3::new(
        twelfth * span * span,
        twelfth * chord * chord,
        twelfth * (span * span + chord * chord),
    ));
    Vehicle {
        apparent_mass: Some(of_rectangle(SIDES_M, chord / 2.0)),
        ..body(
            MASS_KG,
            inertia,
            Coefficients::none(span * chord, span, chord),
        )
    }
}

/// Air carried by something lopsided: six plates' worth, every entry coupled with every other.
pub fn lopsided(random: &mut Random) -> ApparentMass<f64> {
    let per_density: Matrix6<f64> = (0..6)
        .map(|_| {
            let (force, place) = (random.direction(), random.vector(0.1));
            let moment = place.cross(&force);
            let heave = Vector6::new(force.x, force.y, force.z, moment.x, moment.y, moment.z);
            heave * heave.transpose() * random.between(0.001, 0.02)
        })
        .sum();
    ApparentMass { per_density }
}
