//! Published cases the estimate is held against: what is estimated for each, with its one-sigma band.
//!
//! `tests/published/estimate_cases.csv` keeps these numbers as they were before any was compared with a measurement (MODEL.md § 20.2).

use sim_core::estimate::assemble::{Design, Outside, Skin, assemble};
use sim_core::estimate::bands::{Doubt, DragParts, together};
use sim_core::estimate::bodies::{Body, BodyShape};
use sim_core::estimate::convergence::{Settings, analyse};
use sim_core::estimate::friction::{
    Edge, FlowCondition, PlateSkin, TRANSITION_REYNOLDS, friction, leading_edge_drag,
    trailing_edge_drag,
};
use sim_core::estimate::geometry::{Reference, Section, Surface};
use sim_core::estimate::plate_data::{StallInput, stall};
use sim_core::estimate::suction::{analogy_lift, drag_factor, suction_share, vortex_factor};
use sim_core::frames::BuilderPoint;
use std::f64::consts::PI;

/// A number and its band, as estimated.
#[derive(Clone, Copy, Debug)]
pub struct Case {
    /// Number of the case in the tables.
    pub case: u32,
    /// The estimate.
    pub estimate: f64,
    /// One standard deviation.
    pub one_sigma: f64,
}

/// All cases in the order of their numbers.
pub fn all() -> Vec<Case> {
    let mut cases = vec![thin_plate(), long_block()];
    cases.extend([1.0, 5.0, 10.0, 20.0].map(across_the_flow));
    cases.extend([
        equivalent_efficiency(),
        winged_seed(),
        stalled_glider(),
        delta(),
        toy_glider(),
    ]);
    cases
        .into_iter()
        .zip(1..)
        .map(|((estimate, one_sigma), case)| Case {
            case,
            estimate,
            one_sigma,
        })
        .collect()
}

fn flow(reynolds: f64, chord_m: f64) -> FlowCondition {
    FlowCondition {
        speed_m_s: reynolds * 1.5e-5 / chord_m,
        density_kg_m3: 1.2,
        viscosity_pa_s: 1.8e-5,
    }
}

fn doubt(reynolds: f64, thickness_ratio: f64, lift_alpha: f64) -> Doubt {
    Doubt {
        reynolds,
        thickness_ratio,
        vortex_share: 0.0,
        lift_alpha,
    }
}

/// C_L slope and span efficiency of half a planform mirrored.
fn planform(sections: [(f64, f64, f64); 2]) -> (f64, f64, f64) {
    let surface = Surface {
        name: "plate".into(),
        sections: sections
            .iter()
            .map(|&(station, right, chord)| Section {
                leading_edge: BuilderPoint::new(station, right, 0.0),
                chord_m: chord,
                incidence_rad: 0.0,
            })
            .collect(),
        mirrored: true,
        bends: vec![],
    };
    let reference = Reference {
        point: BuilderPoint::default(),
        area_m2: 2.0 * surface.area_m2(),
        span_m: 2.0 * surface.developed_span_m(),
        chord_m: sections[0].2,
    };
    let result = analyse(&[surface], &reference, &Settings::default()).expect("a fine planform");
    let aspect = reference.span_m * reference.span_m / reference.area_m2;
    (
        result.derivatives.lift_alpha,
        result.span_efficiency,
        aspect,
    )
}

fn rectangle(aspect: f64) -> (f64, f64) {
    let (slope, e, _) = planform([(0.0, 0.0, 1.0), (0.0, aspect / 2.0, 1.0)]);
    (slope, e)
}

/// Case 1: least drag of a plate of aspect ratio 3, 2.5 % thick, rounded front, tapered back, Re 1e5.
fn thin_plate() -> (f64, f64) {
    let plate = PlateSkin::rectangle(3.0, 3.0, 0.025, Edge::Rounded, Edge::Tapered);
    let drag = plate.drag(&flow(1e5, 1.0), TRANSITION_REYNOLDS);
    let parts = DragParts {
        friction: drag.friction_m2 / 3.0,
        edges: drag.edges_m2 / 3.0,
        bodies: 0.0,
    };
    let sigma = doubt(1e5, 0.025, 3.1).drag_min(&parts);
    (parts.friction + parts.edges, sigma)
}

/// Case 2: two-dimensional block ten times as long as thick, square at both ends, Re 1e5; drag over frontal area.
fn long_block() -> (f64, f64) {
    let both = 2.0 * friction(1e5, TRANSITION_REYNOLDS);
    let edges = leading_edge_drag(Edge::Square) + trailing_edge_drag(Edge::Square, both, 0.1);
    let skin = both * 10.0;
    (edges + skin, together(&[0.40 * edges, 0.10 * skin]))
}

/// Cases 3 to 6: plate across the flow.
fn across_the_flow(aspect_ratio: f64) -> (f64, f64) {
    let (angles, sigma) = stall(&StallInput {
        aspect_ratio,
        reynolds: 1e5,
        vortex_share: 0.0,
        lift_alpha: 3.0,
        thickness_ratio: 0.02,
        fin_aspect_ratio: None,
    });
    (angles.normal_at_90, sigma.normal_at_90)
}

/// Case 7: 1/(π AR K) of a rounded plate of aspect ratio 4 at Re 1e5.
fn equivalent_efficiency() -> (f64, f64) {
    let (slope, e) = rectangle(4.0);
    let suction = suction_share(Edge::Rounded, 1e5);
    let factor = drag_factor(slope, 4.0, e, suction.value);
    let per_suction = drag_factor(slope, 4.0, e, 0.0) - drag_factor(slope, 4.0, e, 1.0);
    let sigma = doubt(1e5, 0.02, slope).drag_factor(factor, per_suction, suction.one_sigma);
    let efficiency = 1.0 / (PI * 4.0 * factor);
    (efficiency, efficiency * sigma / factor)
}

/// Case 8: best lift over drag of a thin winged seed, aspect ratio 3.5, chord 43 mm, 1.97 m/s, sharp edges, no body.
fn winged_seed() -> (f64, f64) {
    let (slope, e) = rectangle(3.5);
    let reynolds = 1.97 * 0.043 / 1.5e-5;
    let plate = PlateSkin::rectangle(0.043 * 0.15, 0.15, 0.0002, Edge::Tapered, Edge::Tapered);
    let drag = plate.drag(&flow(reynolds, 0.043), TRANSITION_REYNOLDS);
    let parts = DragParts {
        friction: drag.friction_m2 / plate.area_m2(),
        edges: drag.edges_m2 / plate.area_m2(),
        bodies: 0.0,
    };
    let least = parts.friction + parts.edges;
    let suction = suction_share(Edge::Tapered, reynolds);
    let factor = drag_factor(slope, 3.5, e, suction.value);
    let per_suction = drag_factor(slope, 3.5, e, 0.0) - drag_factor(slope, 3.5, e, 1.0);
    let doubt = doubt(reynolds, 0.005, slope);
    let best = 0.5 / (least * factor).sqrt();
    let share = together(&[
        0.5 * doubt.drag_min(&parts) / least,
        0.5 * doubt.drag_factor(factor, per_suction, suction.one_sigma) / factor,
    ]);
    (best, best * share)
}

/// Case 9: normal-force coefficient of a stalled foam-plate glider of aspect ratio 4 at 45°.
fn stalled_glider() -> (f64, f64) {
    let (across, sigma) = across_the_flow(4.0);
    let sine = 0.5_f64.sqrt();
    let shape = sine / (0.56 + 0.44 * sine);
    (across * shape, sigma * shape)
}

/// Case 10: lift coefficient of a sharp delta with 70° of leading-edge sweep at 20°.
fn delta() -> (f64, f64) {
    let sweep = 70_f64.to_radians();
    let (slope, e, aspect) = planform([(0.0, 0.0, 1.0), (1.0, 1.0 / sweep.tan(), 0.0)]);
    let factor = vortex_factor(slope, aspect, e, sweep);
    let lift = analogy_lift(slope, factor, 20_f64.to_radians());
    let share = Doubt {
        vortex_share: 1.0,
        ..doubt(1e6, 0.02, slope)
    }
    .lift_alpha()
        / slope;
    (lift, lift * share)
}

/// Case 11: best lift over drag of a toy glider of sheet balsa at 5 m/s. Its table of dimensions was not at hand; those of a common toy of a foot
/// of span are taken (from memory): wing 300 × 45 mm and tail 110 × 32 mm of 1.2 mm, fin 40 × 35 mm, all cut square, a stick 230 × 12 × 3 mm.
fn toy_glider() -> (f64, f64) {
    let section = |station, right, up, chord| Section {
        leading_edge: BuilderPoint::new(station, right, up),
        chord_m: chord,
        incidence_rad: 0.0,
    };
    let surface = |name: &str, sections: [Section; 2], mirrored| Surface {
        name: name.into(),
        sections: sections.to_vec(),
        mirrored,
        bends: vec![],
    };
    let surfaces = vec![
        surface(
            "wing",
            [
                section(0.06, 0.0, 0.0, 0.045),
                section(0.06, 0.15, 0.012, 0.045),
            ],
            true,
        ),
        surface(
            "tail",
            [
                section(0.195, 0.0, -0.004, 0.032),
                section(0.195, 0.055, -0.004, 0.032),
            ],
            true,
        ),
        surface(
            "fin",
            [
                section(0.19, 0.0, 0.0, 0.035),
                section(0.19, 0.0, 0.04, 0.035),
            ],
            false,
        ),
    ];
    let reference = Reference {
        point: BuilderPoint::new(0.075, 0.0, 0.0),
        area_m2: 0.3 * 0.045,
        span_m: 0.3,
        chord_m: 0.045,
    };
    let lattice = analyse(&surfaces, &reference, &Settings::default()).expect("a plain glider");
    let skin = Skin {
        thickness_m: 0.0012,
        leading: Edge::Square,
        trailing: Edge::Square,
        doublers: vec![],
    };
    let outside = Outside {
        surfaces: surfaces.into_iter().map(|s| (s, skin.clone())).collect(),
        bodies: vec![Body {
            shape: BodyShape::Block,
            size_m: [0.23, 0.003, 0.012],
            middle: BuilderPoint::new(0.115, 0.0, -0.006),
        }],
        main: 0,
        tail: Some(1),
        fin: Some(2),
    };
    let design = Design::new(flow(5.0 * 0.045 / 1.5e-5, 0.045));
    let found = assemble(&outside, &reference, &lattice, &design, &reference.point);
    let (table, sigma) = (&found.coefficients, &found.one_sigma);
    let best = 0.5 / (table.drag_min * table.drag_factor).sqrt();
    let share = together(&[
        0.5 * sigma.drag_min / table.drag_min,
        0.5 * sigma.drag_factor / table.drag_factor,
    ]);
    (best, best * share)
}
