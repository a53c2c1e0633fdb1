//! How much leading-edge suction a plate keeps, and what becomes of the rest (MODEL.md § 18.4, 18.5).

use super::friction::Edge;
use std::f64::consts::PI;

/// A number with one standard deviation of doubt.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Banded {
    /// The value.
    pub value: f64,
    /// One standard deviation.
    pub one_sigma: f64,
}

/// Share of the leading-edge suction a real edge keeps, at a Reynolds number of the chord. Source: ours, MODEL.md § 18.4.
pub fn suction_share(edge: Edge, reynolds: f64) -> Banded {
    match edge {
        Edge::Square => Banded {
            value: 0.25,
            one_sigma: 0.20,
        },
        Edge::Rounded => Banded {
            value: 0.30 + 0.20 * (libm::log10(reynolds) - 4.0).clamp(0.0, 1.0),
            one_sigma: 0.20,
        },
        Edge::Tapered => Banded {
            value: 0.15,
            one_sigma: 0.15,
        },
    }
}

/// K of the drag polar from lift slope (1/rad), aspect ratio, span efficiency and suction share.
///
/// Equation: MODEL.md § 18.4.
pub fn drag_factor(
    lift_alpha: f64,
    aspect_ratio: f64,
    span_efficiency: f64,
    suction_share: f64,
) -> f64 {
    (1.0 - suction_share) / lift_alpha + suction_share / (PI * aspect_ratio * span_efficiency)
}

/// Lift coefficient at which leading-edge suction vanishes, from a plate with its trailing `chord_share` bent by `angle_rad` over
/// `area_share` of the area.
///
/// Equation: MODEL.md § 18.4, thin-aerofoil theory.
pub fn suction_free_lift(
    lift_alpha: f64,
    chord_share: f64,
    angle_rad: f64,
    area_share: f64,
) -> f64 {
    let cos = 2.0 * chord_share - 1.0;
    let sin = (1.0 - cos * cos).max(0.0).sqrt();
    lift_alpha / (2.0 * PI) * 2.0 * angle_rad * sin * area_share
}

/// C_Dδ of a bent trailing edge, 1/rad². Source: plain flap, Young (RAE), from memory.
pub fn bend_drag(chord_share: f64, area_share: f64) -> f64 {
    1.7 * libm::pow(chord_share, 1.38) * area_share
}

/// Share of the lost suction that comes back as vortex lift, by the sweep of the leading edge, rad. Source: ours, MODEL.md § 18.5.
pub fn vortex_share(leading_sweep_rad: f64) -> f64 {
    ((leading_sweep_rad.to_degrees() - 45.0) / 15.0).clamp(0.0, 1.0)
}

/// Vortex-lift factor K_v of a leading edge swept by `sweep_rad`, from the potential factor K_p.
///
/// Source: Polhamus, NASA TN D-3767, from memory.
pub fn vortex_factor(
    potential_factor: f64,
    aspect_ratio: f64,
    span_efficiency: f64,
    sweep_rad: f64,
) -> f64 {
    (potential_factor - potential_factor * potential_factor / (PI * aspect_ratio * span_efficiency))
        / libm::cos(sweep_rad)
}

/// Lift coefficient by the leading-edge suction analogy at an incidence, rad.
///
/// Source: Polhamus, NASA TN D-3767, from memory.
pub fn analogy_lift(potential_factor: f64, vortex_factor: f64, alpha_rad: f64) -> f64 {
    let (sin, cos) = libm::sincos(alpha_rad);
    potential_factor * sin * cos * cos + vortex_factor * cos * sin * sin
}

/// Lift slope the table holds, 1/rad: the lattice's, or, in the share `vortex_share`, the secant of the analogy at `alpha_rad`.
///
/// Equation: MODEL.md § 18.5.
pub fn table_slope(lift_alpha: f64, vortex_factor: f64, vortex_share: f64, alpha_rad: f64) -> f64 {
    let secant = analogy_lift(lift_alpha, vortex_factor, alpha_rad) / alpha_rad;
    (1.0 - vortex_share) * lift_alpha + vortex_share * secant
}

#[cfg(test)]
mod tests {
    use super::*;

    fn close(found: f64, expected: f64, relative: f64) {
        assert!(
            (found / expected - 1.0).abs() < relative,
            "{found} for {expected}"
        );
    }

    // Polhamus, NASA TN D-3767: K_v of a slender delta goes to π as the aspect ratio goes to 0 (K_p by Jones, πAR/2; tan Λ = 4/AR).
    #[test]
    fn vortex_factor_of_a_slender_delta_is_pi() {
        let aspect: f64 = 0.02;
        let sweep = (4.0 / aspect).atan();
        close(
            vortex_factor(PI * aspect / 2.0, aspect, 1.0, sweep),
            PI,
            1e-3,
        );
    }

    // Rectangular wings, leading-edge part K_p − K_p²/(πAR e): AR 0.5 0.393, 1 0.782, 4 2.567, from lattice slopes 0.7735, 1.4602,
    // 3.6120 and 1/e 1, 1, 1.0062 (Lamb NASA TR R-428's definition; recomputed with a general lattice, not published numbers).
    #[test]
    fn unswept_leading_edge_part_of_rectangular_wings() {
        for (aspect, slope, inverse_e, expected) in [
            (0.5, 0.7735, 1.0, 0.393),
            (1.0, 1.4602, 1.0, 0.782),
            (4.0, 3.6120, 1.0062, 2.567),
        ] {
            close(
                vortex_factor(slope, aspect, 1.0 / inverse_e, 0.0),
                expected,
                3e-3,
            );
        }
    }

    // Bounds of theory: full suction leaves the induced drag, none leaves C_L tan α; and for AR 2 to 5 at Re 1e5 the equivalent
    // span efficiency of measured wings is 0.3 to 0.8 (Ananda, Sukumar & Selig 2015, abstract).
    #[test]
    fn drag_due_to_lift_lies_between_full_and_no_suction() {
        close(drag_factor(3.612, 4.0, 1.0, 1.0), 1.0 / (4.0 * PI), 1e-12);
        let lift: f64 = 3.612 * 0.05;
        close(
            drag_factor(3.612, 4.0, 1.0, 0.0) * lift * lift,
            lift * 0.05_f64.tan(),
            1e-3,
        );
        for (aspect, slope) in [(2.0, 2.49), (3.0, 3.1451), (4.0, 3.6120), (5.0, 3.9539)] {
            for edge in [Edge::Square, Edge::Rounded] {
                let factor = drag_factor(slope, aspect, 0.995, suction_share(edge, 1e5).value);
                let efficiency = 1.0 / (PI * aspect * factor);
                assert!((0.3..0.8).contains(&efficiency), "{aspect}: {efficiency}");
            }
        }
    }

    // Glauert's plate with a flap: leading-edge singularity A_0 = α + δ(1 − θ_h/π) and C_l = 2π(A_0 + A_1/2), A_1 = 2δ sin θ_h/π.
    // At the incidence with A_0 = 0 the lift must be what the function gives. Checked through the flap effectiveness
    // τ = 1 − (θ − sin θ)/π, 0.6090 at a quarter chord (from memory): C_l = 2π(α + τδ).
    #[test]
    fn suction_free_lift_is_glauerts() {
        let hinge = (2.0_f64 * 0.25 - 1.0).acos();
        let alpha = -(1.0 - hinge / PI);
        close(
            suction_free_lift(2.0 * PI, 0.25, 1.0, 1.0),
            2.0 * PI * (alpha + 0.6090),
            1e-3,
        );
    }

    // The secant of a slender delta lies above its slope near 0; of an unswept plate it is not touched.
    #[test]
    fn vortex_lift_only_on_swept_edges() {
        assert_eq!(vortex_share(0.0), 0.0);
        assert_eq!(vortex_share(63.4_f64.to_radians()), 1.0);
        let ten = 10_f64.to_radians();
        assert_eq!(table_slope(3.1, 2.0, 0.0, ten), 3.1);
        // By hand: K_p 2.37, K_v π: 2.37 × 0.17365 × 0.96985 + π × 0.98481 × 0.030154 = 0.49243; over 0.174533: 2.8214.
        close(table_slope(2.37, PI, 1.0, ten), 2.8214, 1e-4);
    }
}
