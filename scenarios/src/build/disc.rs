//! What each propeller does beside thrust and torque (MODEL.md § 6.5 to 6.7).

use super::propulsion::propeller_measured;
use super::surfaces::panels_with_incidence;
use crate::airframe_file::{AirframeFile, Propeller};
use crate::units::{m_from_mm, m2_from_cm2};
use sim_core::estimate::propulsion::PropellerMeasured;
use sim_core::power::disc::near::{NearSurface, Site, helmbold};
use sim_core::power::disc::{DiscEffects, DiscFactors};
use std::f64::consts::FRAC_PI_4;

/// Surfaces as propellers meet them.
pub(super) fn near_surfaces(file: &AirframeFile) -> Vec<NearSurface> {
    let mut all = Vec::new();
    for surface in &file.surfaces {
        let panels = panels_with_incidence(surface);
        let (mut length, mut area) = (0.0, 0.0);
        for (panel, _) in &panels {
            length += panel.half_span_m;
            area += 0.5 * (panel.root_chord_m + panel.tip_chord_m) * panel.half_span_m;
        }
        // Halves of a level surface are one wing, a pair of fins is two.
        let level = panels
            .iter()
            .all(|(panel, _)| panel.dihedral_rad.abs() < FRAC_PI_4);
        let halves = if surface.mirrored && level { 2.0 } else { 1.0 };
        let lift_slope = helmbold(halves * length * length / area);
        for (panel, incidence_rad) in panels {
            let one = NearSurface {
                panel,
                incidence_rad,
                lift_slope,
            };
            all.push(one);
            all.extend(surface.mirrored.then(|| NearSurface {
                panel: panel.mirrored(),
                ..one
            }));
        }
    }
    all
}

/// The effects of one propeller at its place.
pub(super) fn disc_effects(
    file: &AirframeFile,
    propeller: &Propeller,
    site: &Site,
    surfaces: &[NearSurface],
) -> DiscEffects<f64> {
    let given = &file.propeller_effects;
    let factor = |on: bool, factor: f64| if on { factor } else { 0.0 };
    let factors = DiscFactors {
        normal_force: factor(given.disc_normal_force, given.disc_normal_force_factor),
        wash: factor(given.wash, given.wash_factor),
        suction: factor(given.suction, given.suction_factor),
    };
    DiscEffects::of(site, surfaces, side_area_m2(propeller), &factors)
}

/// Side area of a propeller's blades: given, or of what was measured, or the usual.
pub fn side_area_m2(propeller: &Propeller) -> f64 {
    let usual = || {
        propeller_measured(propeller)
            .unwrap_or(PropellerMeasured {
                diameter_m: m_from_mm(propeller.diameter_mm),
                blades: 2,
                ..PropellerMeasured::default()
            })
            .side_area_m2()
    };
    propeller
        .blade_side_area_cm2
        .map_or_else(usual, m2_from_cm2)
}
