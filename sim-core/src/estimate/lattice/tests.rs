//! The lattice against published lifting surfaces and closed forms. Flags: "checks": the worked value is printed in the source;
//! "recomputed": a finer lattice of another make, four digits; "derived": lifting-line or slender-body theory, steps beside it.
//! What must hold exactly, whatever the panels, is in `exact`; the plates and helpers here serve both.

mod exact;

use super::super::convergence::{Settings, analyse};
use super::super::derivatives::{Analysis, Derivatives, Input};
use super::super::geometry::{Bend, Section};
use super::super::panels::Spacing;
use super::*;

fn section(station: f64, right: f64, up: f64, chord: f64) -> Section {
    Section {
        leading_edge: BuilderPoint::new(station, right, up),
        chord_m: chord,
        incidence_rad: 0.0,
    }
}

fn surface(mirrored: bool, sections: Vec<Section>) -> Surface {
    Surface {
        name: "plate".into(),
        sections,
        mirrored,
        bends: vec![],
    }
}

fn reference(station: f64, area: f64, span: f64, chord: f64) -> Reference {
    Reference {
        point: BuilderPoint::new(station, 0.0, 0.0),
        area_m2: area,
        span_m: span,
        chord_m: chord,
    }
}

fn rectangle(aspect: f64) -> (Surface, Reference) {
    let wing = surface(
        true,
        vec![
            section(0.0, 0.0, 0.0, 1.0),
            section(0.0, 0.5 * aspect, 0.0, 1.0),
        ],
    );
    (wing, reference(0.0, aspect, aspect, 1.0))
}

/// Elliptic chord, straight quarter-chord line on the reference point, unit span, dihedral angle (rad).
fn ellipse(aspect: f64, dihedral: f64) -> (Surface, Reference) {
    let root = 4.0 / (PI * aspect);
    let sections = (0..=40)
        .map(|k| {
            let share = (0.5 * PI * f64::from(k) / 40.0).sin();
            let chord = root * (1.0 - share * share).max(0.0).sqrt();
            let (y, z) = (0.5 * share * dihedral.cos(), 0.5 * share * dihedral.sin());
            section(-0.25 * chord, y, z, chord)
        })
        .collect();
    (
        surface(true, sections),
        reference(0.0, 1.0 / aspect, 1.0, 1.0 / aspect),
    )
}

fn solve(
    surfaces: &[Surface],
    reference: &Reference,
    panelling: &Panelling,
    alpha: f64,
) -> Analysis {
    Lattice::new(surfaces, reference, panelling)
        .unwrap()
        .analyse(alpha)
}

#[track_caller]
fn near(what: &str, found: f64, wanted: f64, allowed: f64) {
    assert!(
        (found - wanted).abs() <= allowed,
        "{what}: found {found}, wanted {wanted} within {allowed}"
    );
}

fn two_percent(what: &str, found: f64, wanted: f64) {
    near(what, found, wanted, 0.02 * wanted.abs());
}

// Bertin & Smith, Aerodynamics for Engineers, vortex-lattice example (from memory, confirmed by recomputation): AR 5, sweep
// 45°, no taper, four panels a side, one along the chord, strips even up to the tip.
#[test]
fn swept_wing_of_the_textbook() {
    let wing = surface(
        true,
        vec![section(0.0, 0.0, 0.0, 0.2), section(0.5, 0.5, 0.0, 0.2)],
    );
    let mut plain = Panelling::fixed(4, 1);
    plain.spacing = Spacing::EvenToTip;
    let found = solve(&[wing], &reference(0.0, 0.2, 1.0, 0.2), &plain, 0.0);
    near("lift slope", found.derivatives.lift_alpha, 3.443, 0.0015);
    for (strip, printed) in found.strips.iter().zip([0.0273, 0.0287, 0.0286, 0.0250]) {
        near(
            "circulation",
            strip.circulation_alpha_m / (4.0 * PI),
            printed,
            0.0001,
        );
    }
}

// Recomputed with a 12 × 60 lattice, cosine spaced; AR 1: 1.460227 (Tuck 1993, from memory).
#[test]
fn rectangular_plates() {
    for (aspect, slope, centre, factor) in [
        (0.5, 0.7735, 0.1100, 1.0000),
        (1.0, 1.460_227, 0.1668, 1.0000),
        (1.5, 2.0217, 0.1943, 1.0002),
        (3.0, 3.1451, 0.2246, 1.0027),
        (4.0, 3.6120, 0.2319, 1.0062),
        (5.0, 3.9539, 0.2361, 1.0109),
    ] {
        let (wing, about) = rectangle(aspect);
        let found = solve(&[wing], &about, &Panelling::default(), 0.0);
        near("slope", found.derivatives.lift_alpha / slope, 1.0, 0.001);
        near(
            "aerodynamic centre",
            found.neutral_point_station_m,
            centre,
            0.003,
        );
        near("span factor", 1.0 / found.span_efficiency, factor, 0.0003);
    }
}

// Derived from slender-body theory (R. T. Jones, NACA TR 835, from memory): local lift −ρπV d(s²w)/dx, so C_Lα = πAR/2
// acting at 2/3 of the length, elliptic across; C_Lq about x0 is πAR (x_TE − x0)/c̄; C_lp = −πAR/32. In sideslip the load has
// also ρVβ ∂φ/∂y: C_lβ = −πα/3 (steps: φ = 2αV√(s²−y²), ∫ y²/√(s²−y²) dy = πs²/2). Lattice C_Lq is short by the last control point's
// distance from the trailing edge, 1/(4·24) of the length, so it is given 4 %.
#[test]
fn slender_delta_goes_to_jones() {
    let excess = |aspect: f64| {
        let half = 0.25 * aspect;
        let wing = surface(
            true,
            vec![section(0.0, 0.0, 0.0, 1.0), section(1.0, half, 0.0, 0.0)],
        );
        let found = solve(
            &[wing],
            &reference(0.4, half, 2.0 * half, 0.5),
            &Panelling::fixed(10, 24),
            0.05,
        );
        let table = &found.derivatives;
        [
            table.lift_alpha / (0.5 * PI * aspect) - 1.0,
            found.neutral_point_station_m * 1.5 - 1.0,
            table.lift_q / (PI * aspect * 0.6 / 0.5) - 1.0,
            table.roll_p / (-PI * aspect / 32.0) - 1.0,
            found.span_efficiency - 1.0,
            table.roll_beta / (-PI * 0.05 / 3.0) - 1.0,
        ]
    };
    let (thin, thinner) = (excess(0.2), excess(0.05));
    for (k, (name, allowed)) in [
        ("lift", 0.02),
        ("place", 0.02),
        ("pitch rate", 0.04),
        ("roll rate", 0.02),
        ("efficiency", 0.02),
        ("sideslip", 0.04),
    ]
    .into_iter()
    .enumerate()
    {
        near(name, thinner[k], 0.0, allowed);
    }
    assert!(
        thinner[0].abs() < thin[0].abs(),
        "lift nears the limit: {thin:?} {thinner:?}"
    );
}

// Derived from lifting-line theory for elliptic chord, 2π sections: Γ = 2bV Σ A_n sin nθ, A_n(2b + πc_0 n) = πc_0 · (2/π)∫ α sin²θ-
// projection; α = p̂ cos θ gives A_2 = p̂/(AR+4), a step of ±k at the centre gives A_2 = 16k/(3π(AR+4)); C_l = −πAR A_2/4.
#[test]
fn long_ellipse_goes_to_the_lifting_line() {
    let aspect = 80.0;
    let panelling = Panelling::fixed(40, 4);
    let alpha = 0.05;
    let (wing, about) = ellipse(aspect, 0.0);
    let found = solve(&[wing], &about, &panelling, alpha);
    let table = &found.derivatives;
    let slope = 2.0 * PI * aspect / (aspect + 2.0);
    two_percent("Prandtl's slope", table.lift_alpha, slope);
    near("efficiency", found.span_efficiency, 1.0, 0.002);
    two_percent("C_lp", table.roll_p, -PI * aspect / (4.0 * (aspect + 4.0)));
    // Yaw rate about body z: circulation unchanged, onset 1 − r y: C_lr = C_L <y²> 2/b² = C_L/8 for elliptic load.
    let lift = slope * alpha;
    two_percent("C_lr", table.roll_r, lift / 8.0);
    // F_x = ρΓ(w − w_i): 2b A_2 sin 2θ · A_1 AR/2 + 2b A_1 sin θ cos θ (p̂ − 4A_2), so C_np = −C_L AR/(4(AR + 4)) in body axes.
    two_percent("C_np", table.yaw_p, -lift * aspect / (4.0 * (aspect + 4.0)));

    let dihedral = 0.05;
    let (wing, about) = ellipse(aspect, dihedral);
    let found = solve(&[wing], &about, &panelling, 0.0);
    let strip = -4.0 * aspect * dihedral / (3.0 * (aspect + 4.0));
    two_percent("C_lβ of dihedral", found.derivatives.roll_beta, strip);
}

// Munk (NACA TR 121, from memory): far behind an elliptic wing the downwash is twice that at the wing, 2C_L/πAR; ahead it fades.
#[test]
fn downwash_far_behind() {
    let aspect = 30.0;
    let (wing, about) = ellipse(aspect, 0.0);
    let lattice = Lattice::new(&[wing], &about, &Panelling::fixed(30, 4)).unwrap();
    let slope = lattice.analyse(0.0).derivatives.lift_alpha;
    let at = |station| lattice.downwash_at(&BuilderPoint::new(station, 0.0, 0.0), None);
    let far = 2.0 * slope / (PI * aspect);
    near("far behind", at(40.0) / far, 1.0, 0.01);
    assert!(at(-0.5) < 0.0 && at(-0.5) > at(-0.3) && at(-30.0).abs() < 1e-4);
    assert!(
        at(0.5) > at(40.0),
        "close behind, the bound vortex adds its own"
    );
}

// Munk's stagger theorem: what the panels feel and what is left far behind agree for the whole, however surfaces stand. Kutta-Joukowski
// forces against the Trefftz plane, two independent evaluations.
#[test]
fn induced_drag_near_and_far_agree() {
    let alpha = 0.05;
    for (station, up) in [(0.0, 0.3), (0.6, 0.3), (2.0, 0.1), (3.0, 0.0)] {
        let surfaces = [
            surface(
                true,
                vec![section(0.0, 0.0, 0.0, 0.3), section(0.3, 1.0, 0.1, 0.2)],
            ),
            surface(
                true,
                vec![
                    section(station, 0.0, up, 0.3),
                    section(station, 0.6, up, 0.3),
                ],
            ),
        ];
        let lattice = Lattice::new(
            &surfaces,
            &reference(0.0, 1.0, 2.0, 0.25),
            &Panelling::default(),
        )
        .unwrap();
        let motion = Motion {
            alpha_rad: alpha,
            ..Motion::default()
        };
        let felt = lattice.loads(&motion).unwrap().drag;
        let left = lattice.analyse(0.0).induced_drag;
        let left = left.zero + left.alpha * alpha + left.alpha_squared * alpha * alpha;
        near("felt/left", felt / left, 1.0, 0.03);
    }
}

// Glauert (from memory, confirmed by recomputation): τ = 1 − (θ − sin θ)/π, cos θ = 2E − 1.
#[test]
fn bent_edges_go_to_glauert() {
    for (share, effect) in [
        (0.1, 0.3958),
        (0.2, 0.5498),
        (0.25, 0.6090),
        (0.3, 0.6607),
        (0.4, 0.7478),
        (0.5, 0.8183),
    ] {
        let (mut wing, about) = rectangle(200.0);
        wing.bends = vec![full_span(share, 0.0)];
        let found = solve(&[wing], &about, &Panelling::fixed(20, 5), 0.0);
        let table = &found.derivatives;
        near("τ", table.tabs[0].lift / table.lift_alpha, effect, 0.003);
        // Moment about the quarter chord, from the same theory (Glauert): −½ sin θ_h (1 − cos θ_h), θ_h the hinge's angle from the nose.
        let hinge = (2.0 * share - 1.0).acos();
        let about_quarter = table.tabs[0].pitch + 0.25 * table.tabs[0].lift;
        near(
            "C_m",
            about_quarter,
            -0.5 * hinge.sin() * (1.0 - hinge.cos()),
            0.012,
        );
    }
}

fn full_span(chord_share: f64, angle: f64) -> Bend {
    Bend {
        tab: Some(0),
        from_span_share: 0.0,
        to_span_share: 1.0,
        chord_share,
        angle_rad: angle,
        antisymmetric: false,
    }
}

// The shares a bend spreads over the panels come from plane flow; on a short wing they must leave what ever more panels, for which
// they fade, would give.
#[test]
fn bent_edges_on_a_short_wing_need_few_panels() {
    let of = |along| {
        let (mut wing, about) = rectangle(2.0);
        wing.bends = vec![full_span(0.25, 0.0)];
        solve(&[wing], &about, &Panelling::fixed(8, along), 0.0)
            .derivatives
            .tabs[0]
            .clone()
    };
    let (few, many) = (of(4), of(48));
    near("lift", few.lift / many.lift, 1.0, 0.02);
    near("pitch", few.pitch / many.pitch, 1.0, 0.02);
}

// A bend of the whole chord is incidence, and incidence of everything is incidence of the flow, to first order.
#[test]
fn bend_incidence_and_alpha_agree() {
    let (mut wing, about) = rectangle(4.0);
    wing.bends = vec![full_span(1.0, 0.0)];
    let found = solve(&[wing], &about, &Panelling::default(), 0.0).derivatives;
    near("bend", found.tabs[0].lift, found.lift_alpha, 1e-9);
    // Load as by α: nothing beyond K C_L².
    near("drag beyond", found.tabs[0].drag, 0.0, 1e-9);
    let (mut wing, about) = rectangle(4.0);
    for section in &mut wing.sections {
        section.incidence_rad = 0.01;
    }
    let twisted = solve(&[wing], &about, &Panelling::default(), 0.0).derivatives;
    near(
        "incidence",
        twisted.lift_zero / 0.01,
        found.lift_alpha,
        1e-3,
    );
}

// Thin-section theory (from memory): quasi-steady lift is that of the incidence at three quarters of the chord, C_Lq = 2(3/4 − x0/c)C_Lα;
// rotation acts as parabolic camber, C_mq about c/4 = −π/4.
#[test]
fn pitch_rate_is_camber() {
    let (wing, _) = rectangle(300.0);
    for place in [0.25, 0.6] {
        let about = reference(place, 300.0, 300.0, 1.0);
        let found = solve(
            std::slice::from_ref(&wing),
            &about,
            &Panelling::fixed(16, 12),
            0.0,
        )
        .derivatives;
        two_percent(
            "C_Lq",
            found.lift_q,
            2.0 * (0.75 - place) * found.lift_alpha,
        );
        if place == 0.25 {
            two_percent("C_mq", found.pitch_q, -PI / 4.0);
        }
    }
}

// By hand from the published plate of aspect ratio 3 above: a free fin of area 3, a.c. at 0.2246 of its chord, 5 behind.
#[test]
fn a_fin_alone_by_hand() {
    let mut fin = surface(
        false,
        vec![section(5.0, 0.0, -1.5, 1.0), section(5.0, 0.0, 1.5, 1.0)],
    );
    fin.bends = vec![full_span(0.25, 0.0)];
    let found = solve(
        &[fin],
        &reference(0.0, 10.0, 6.0, 1.0),
        &Panelling::default(),
        0.0,
    )
    .derivatives;
    let side = -3.1451 * 3.0 / 10.0;
    near("C_Yβ", found.side_beta / side, 1.0, 0.002);
    near("C_nβ", found.yaw_beta / (-side * 5.2246 / 6.0), 1.0, 0.002);
    // r b/2V = 1 is a sideslip −5.2246·2/6 at the fin, felt at three quarters of its chord: 5.75.
    near(
        "C_nr",
        found.yaw_r / (side * 5.2246 * 5.75 * 2.0 / 36.0),
        1.0,
        0.01,
    );
    // Trailing edge left pushes the fin right and the nose left.
    assert!(found.tabs[0].side > 0.0 && found.tabs[0].yaw < 0.0);
}
