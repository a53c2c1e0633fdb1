//! Least drag, and the lift it is least at, of surfaces with their bends (MODEL.md § 18, 20).

use super::super::bands::DragParts;
use super::super::friction::PlateSkin;
use super::super::geometry::{Bend, Reference, Surface};
use super::super::suction::{bend_drag, suction_free_lift};
use super::{Design, Outside};

/// Area of the part of one copy between two shares of its span, full chord, m².
fn area_between(surface: &Surface, from: f64, to: f64) -> f64 {
    let whole = surface.developed_span_m();
    let mut start = 0.0;
    let mut area = 0.0;
    for pair in surface.sections.windows(2) {
        let length = libm::hypot(
            pair[1].leading_edge.right_m - pair[0].leading_edge.right_m,
            pair[1].leading_edge.up_m - pair[0].leading_edge.up_m,
        );
        let (low, high) = (
            ((from * whole - start) / length).clamp(0.0, 1.0),
            ((to * whole - start) / length).clamp(0.0, 1.0),
        );
        let chord = |share: f64| pair[0].chord_m + share * (pair[1].chord_m - pair[0].chord_m);
        area += 0.5 * (chord(low) + chord(high)) * (high - low) * length;
        start += length;
    }
    area
}

/// Share of the reference area that has a bend, both copies.
fn bent_share(surface: &Surface, bend: &Bend, reference: &Reference) -> f64 {
    let copies = if surface.mirrored { 2.0 } else { 1.0 };
    copies * area_between(surface, bend.from_span_share, bend.to_span_share) / reference.area_m2
}

/// C_Dmin in parts, and each bend's tab and C_Dδ.
pub(super) fn least_drag(
    outside: &Outside,
    skins: &[PlateSkin],
    bodies: f64,
    reference: &Reference,
    design: &Design,
) -> (DragParts, Vec<(Option<usize>, f64)>) {
    let mut parts = DragParts {
        friction: 0.0,
        edges: 0.0,
        bodies,
    };
    let mut bends = Vec::new();
    for ((surface, made), skin) in outside.surfaces.iter().zip(skins) {
        let drag = skin.drag(&design.flow, design.transition_reynolds);
        parts.friction += drag.friction_m2 / reference.area_m2;
        parts.edges += drag.edges_m2 / reference.area_m2;
        for doubler in &made.doublers {
            let more = doubler.edges_m2(surface, &design.flow, design.transition_reynolds);
            parts.edges += more / reference.area_m2;
        }
        for bend in &surface.bends {
            let each = bend_drag(bend.chord_share, bent_share(surface, bend, reference));
            parts.edges += each * bend.angle_rad * bend.angle_rad;
            bends.push((bend.tab, each));
        }
    }
    (parts, bends)
}

/// C_L of least drag: what the bends of level surfaces have at the incidence without leading-edge suction.
pub(super) fn suction_free(outside: &Outside, reference: &Reference, lift_alpha: f64) -> f64 {
    outside
        .surfaces
        .iter()
        .flat_map(|(surface, _)| surface.bends.iter().map(move |bend| (surface, bend)))
        .filter(|(surface, bend)| !bend.antisymmetric && is_level(surface))
        .map(|(surface, bend)| {
            let share = bent_share(surface, bend, reference);
            suction_free_lift(lift_alpha, bend.chord_share, bend.angle_rad, share)
        })
        .sum()
}

fn is_level(surface: &Surface) -> bool {
    let (first, last) = (
        surface.sections[0].leading_edge,
        surface.sections[surface.sections.len() - 1].leading_edge,
    );
    (last.up_m - first.up_m).abs() <= (last.right_m - first.right_m).abs()
}
