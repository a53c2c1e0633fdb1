//! What must hold exactly of the lattice: symmetries, moved points, derivatives, and what it refuses.

use super::*;

// Rolling the aircraft by φ turns its forces by φ: a plate at 50°, and a fin that is a wing at 90°.
#[test]
fn a_rolled_wing_is_the_same_wing() {
    let whole = |roll: f64| {
        let (y, z) = (roll.cos(), -roll.sin());
        let plate = surface(
            false,
            vec![
                section(0.2, -1.5 * y, -1.5 * z, 0.8),
                section(0.0, 0.0, 0.0, 1.0),
                section(0.2, 1.5 * y, 1.5 * z, 0.8),
            ],
        );
        Lattice::new(
            &[plate],
            &reference(0.3, 2.7, 3.0, 1.0),
            &Panelling::default(),
        )
        .unwrap()
    };
    let (alpha, beta) = (0.04f64, 0.03f64);
    let velocity = Vector3::new(
        alpha.cos() * beta.cos(),
        beta.sin(),
        alpha.sin() * beta.cos(),
    );
    for roll in [50f64.to_radians(), 90f64.to_radians(), -100f64.to_radians()] {
        let turn = nalgebra::Rotation3::from_axis_angle(&Vector3::x_axis(), roll);
        let force = |lattice: &Lattice, velocity| {
            let onset = Onset {
                velocity,
                rates: Vector3::zeros(),
            };
            let flow = lattice.flow(onset);
            lattice.wrench(&flow, &flow)
        };
        let (f0, m0) = force(&whole(0.0), velocity);
        let (f1, m1) = force(&whole(roll), turn * velocity);
        assert!((turn * f0 - f1).norm() < 1e-10 * f0.norm(), "{f0} {f1}");
        assert!((turn * m0 - m1).norm() < 1e-10 * m0.norm());
    }
}

/// Everything at once: swept, twisted, dihedral, tail on the wing's plane, canted fins, bends; lopsided where asked.
fn aircraft(lopsided: bool) -> (Vec<Surface>, Reference) {
    let mut wing = surface(
        true,
        vec![
            section(0.1, 0.0, 0.0, 0.14),
            section(0.13, 0.2, 0.02, 0.1),
            section(0.17, 0.3, 0.05, 0.05),
        ],
    );
    wing.sections[2].incidence_rad = -0.03;
    let bend = |tab, from: f64, to: f64, angle, antisymmetric| Bend {
        tab: Some(tab),
        from_span_share: from,
        to_span_share: to,
        chord_share: 0.25,
        angle_rad: angle,
        antisymmetric,
    };
    wing.bends = vec![bend(1, 0.6, 0.9, if lopsided { 0.05 } else { 0.0 }, true)];
    let mut tail = surface(
        true,
        vec![
            section(0.45, 0.0, 0.0, 0.08),
            section(0.46, 0.11, 0.0, 0.06),
        ],
    );
    tail.bends = vec![bend(0, 0.0, 1.0, -0.04, false)];
    let mut fins = surface(
        true,
        vec![
            section(0.46, 0.11, 0.0, 0.07),
            section(0.48, 0.13, 0.08, 0.05),
        ],
    );
    // Toed: a mirrored pair's incidence is a mirror image, unlike its rudders' angle.
    fins.sections[0].incidence_rad = 0.03;
    fins.bends = vec![bend(2, 0.2, 1.0, 0.0, false)];
    let mut surfaces = vec![wing, tail, fins];
    if lopsided {
        surfaces.push(surface(
            false,
            vec![
                section(0.2, 0.05, 0.01, 0.1),
                section(0.2, 0.07, -0.06, 0.08),
            ],
        ));
    }
    (surfaces, reference(0.14, 0.06, 0.6, 0.11))
}

// Exact differentiation against central differences of the whole nonlinear evaluation, all six coefficients by every input.
#[test]
fn derivatives_are_the_limit_of_differences() {
    let (surfaces, about) = aircraft(true);
    let lattice = Lattice::new(&surfaces, &about, &Panelling::default().refined(0.5)).unwrap();
    let step = 1e-4;
    for alpha in [0.0, 0.12] {
        let base = lattice.flow(lattice.onset(&Motion {
            alpha_rad: alpha,
            ..Motion::default()
        }));
        for input in [
            Input::Alpha,
            Input::Beta,
            Input::RollRate,
            Input::PitchRate,
            Input::YawRate,
            Input::Tab(0),
            Input::Tab(1),
            Input::Tab(2),
        ] {
            let at = |amount: f64| {
                let mut motion = Motion {
                    alpha_rad: alpha,
                    ..Motion::default()
                };
                match input {
                    Input::Alpha => motion.alpha_rad += amount,
                    Input::Beta => motion.beta_rad = amount,
                    Input::RollRate => motion.roll_rate = amount,
                    Input::PitchRate => motion.pitch_rate = amount,
                    Input::YawRate => motion.yaw_rate = amount,
                    Input::Tab(tab) => {
                        motion.tabs_rad = vec![0.0; 3];
                        motion.tabs_rad[tab] = amount;
                    }
                }
                lattice.loads(&motion).unwrap()
            };
            let (more, less) = (at(step), at(-step));
            let exact =
                lattice.derivative(&base, &lattice.response(&base, alpha, input), alpha, input);
            for (name, of) in [
                ("C_L", (|l| l.lift) as fn(&Loads) -> f64),
                ("C_D", |l| l.drag),
                ("C_Y", |l| l.side),
                ("C_l", |l| l.roll),
                ("C_m", |l| l.pitch),
                ("C_n", |l| l.yaw),
            ] {
                let difference = (of(&more) - of(&less)) / (2.0 * step);
                near(
                    &format!("{name} by {input:?} at {alpha}"),
                    of(&exact),
                    difference,
                    2e-6,
                );
            }
        }
    }
}

// Symmetry: a mirrored pair has no side force, roll or yaw; the lopsided aircraft's mirror image has them the other way round.
#[test]
fn mirror_images() {
    let (surfaces, about) = aircraft(false);
    let even = solve(&surfaces, &about, &Panelling::default(), 0.1).derivatives;
    for (name, value) in [
        ("C_Y0", even.side_zero),
        ("C_l0", even.roll_zero),
        ("C_n0", even.yaw_zero),
        ("elevator's roll", even.tabs[0].roll),
        ("aileron's lift", even.tabs[1].lift),
        ("rudders' lift", even.tabs[2].lift),
    ] {
        near(name, value, 0.0, 1e-12);
    }
    // Aileron: positive is trailing edge down on the described, right side: rolls left. Rudders: trailing edges left.
    assert!(even.tabs[1].roll < -0.05 && even.tabs[0].lift > 0.1 && even.tabs[2].side > 0.01);

    // The image of the lopsided aircraft: each pair described from its other copy, the keel on the other side.
    let (surfaces, about) = aircraft(true);
    let image: Vec<Surface> = surfaces
        .iter()
        .enumerate()
        .map(|(k, s)| {
            let mut s = s.clone();
            for section in &mut s.sections {
                section.leading_edge = section.leading_edge.mirrored();
                // An upright surface's incidence is nose right, in the image nose left.
                if k == 2 {
                    section.incidence_rad = -section.incidence_rad;
                }
            }
            s
        })
        .collect();
    let one = solve(&surfaces, &about, &Panelling::default(), 0.1).derivatives;
    let other = solve(&image, &about, &Panelling::default(), 0.1).derivatives;
    assert!(one.roll_zero.abs() > 1e-3 && one.side_zero.abs() > 1e-4);
    for (name, a, b) in [
        ("C_l0", one.roll_zero, -other.roll_zero),
        ("C_Y0", one.side_zero, -other.side_zero),
        ("C_n0", one.yaw_zero, -other.yaw_zero),
        ("C_m0", one.pitch_zero, other.pitch_zero),
        ("C_Lα", one.lift_alpha, other.lift_alpha),
        ("C_lβ", one.roll_beta, other.roll_beta),
        ("C_np", one.yaw_p, other.yaw_p),
        ("aileron", one.tabs[1].roll, -other.tabs[1].roll),
        ("rudders", one.tabs[2].side, other.tabs[2].side),
    ] {
        near(name, a, b, 1e-10);
    }
}

// A table rewritten by hand to another reference point (rigid-body kinematics: what is a rate about one point is a rate and
// incidence or sideslip at another).
#[test]
fn moving_the_reference_point() {
    let (mut surfaces, about) = aircraft(false);
    for surface in &mut surfaces {
        for section in &mut surface.sections {
            section.incidence_rad = 0.0;
        }
        surface.bends.clear();
    }
    let back = 0.07;
    let mut moved = about;
    moved.point.station_m += back;
    let old = solve(&surfaces, &about, &Panelling::default(), 0.0).derivatives;
    let new = solve(&surfaces, &moved, &Panelling::default(), 0.0).derivatives;
    let (d, e) = (back / about.chord_m, back / about.span_m);
    near(
        "C_mα",
        new.pitch_alpha,
        old.pitch_alpha + d * old.lift_alpha,
        1e-9,
    );
    near(
        "C_Lq",
        new.lift_q,
        old.lift_q - 2.0 * d * old.lift_alpha,
        1e-9,
    );
    let moment = old.pitch_q + d * old.lift_q - 2.0 * d * (old.pitch_alpha + d * old.lift_alpha);
    near("C_mq", new.pitch_q, moment, 1e-9);
    near("C_nβ", new.yaw_beta, old.yaw_beta + e * old.side_beta, 1e-9);
    near(
        "C_Yr",
        new.side_r,
        old.side_r + 2.0 * e * old.side_beta,
        1e-9,
    );
    let moment = old.yaw_r + e * old.side_r + 2.0 * e * (old.yaw_beta + e * old.side_beta);
    near("C_nr", new.yaw_r, moment, 1e-9);
    near("C_np", new.yaw_p, old.yaw_p + e * old.side_p, 1e-9);
}

// Simple sweep theory (from memory): a long wing feels the flow across it only. Yawed by β it lifts as the same wing swept by β
// in flow along x does, 2π V_n w.
#[test]
fn a_yawed_wing_is_a_swept_wing() {
    let sweep = 30f64.to_radians();
    let long = |sweep: f64| {
        let (y, x) = (30.0 * sweep.cos(), 30.0 * sweep.sin());
        let chord = 1.0 / sweep.cos();
        let wing = surface(
            false,
            vec![section(-x, -y, 0.0, chord), section(x, y, 0.0, chord)],
        );
        Lattice::new(
            &[wing],
            &reference(0.0, 60.0, 60.0, 1.0),
            &Panelling::fixed(40, 4),
        )
        .unwrap()
    };
    let alpha = 0.02;
    let swept = long(sweep).loads(&Motion {
        alpha_rad: alpha,
        ..Motion::default()
    });
    // The same upward flow past the wing: sin α' cos β = sin α.
    let yawed = long(0.0).loads(&Motion {
        alpha_rad: alpha / sweep.cos(),
        beta_rad: sweep,
        ..Motion::default()
    });
    let (swept, yawed) = (swept.unwrap().lift, yawed.unwrap().lift);
    near("yawed/swept", yawed / swept, 1.0, 0.02);
}

// Neutral point by hand (textbook form): x_NP = x_acw + V_H (a_t/a_w)(1 − dε/dα), tail far enough not to act on the wing.
#[test]
fn neutral_point_of_wing_and_tail() {
    let wing = surface(
        true,
        vec![section(0.0, 0.0, 0.0, 1.0), section(0.0, 2.5, 0.0, 1.0)],
    );
    let tail = surface(
        true,
        vec![section(6.0, 0.0, 0.4, 0.6), section(6.0, 0.9, 0.4, 0.6)],
    );
    let about = reference(0.0, 5.0, 5.0, 1.0);
    let both = solve(&[wing, tail], &about, &Panelling::default(), 0.0);
    // Published slopes and centres of plates of aspect ratio 5 and 3 (above).
    let (lift_w, lift_t) = (3.9539, 3.1451 * 1.8 * 0.6 / 5.0 * (1.0 - both.downwash[1]));
    let (place_w, place_t) = (0.2361, 6.0 + 0.2246 * 0.6);
    let by_hand = (lift_w * place_w + lift_t * place_t) / (lift_w + lift_t);
    near(
        "slope",
        both.derivatives.lift_alpha / (lift_w + lift_t),
        1.0,
        0.01,
    );
    near("neutral point", both.neutral_point_station_m, by_hand, 0.02);
    near(
        "static margin",
        both.static_margin(0.5, &about),
        by_hand - 0.5,
        0.02,
    );
    assert!(both.downwash[1] > 0.3 && both.downwash[1] < 0.6);
}

// A tail in the plane of the wing's wake must not meet a wake leg, whatever its span and height.
#[test]
fn nothing_jumps_as_the_tail_moves_through_the_wake() {
    let slope = |half_span: f64, up: f64| {
        let wing = surface(
            true,
            vec![section(0.0, 0.0, 0.0, 1.0), section(0.0, 2.5, 0.0, 1.0)],
        );
        let tail = surface(
            true,
            vec![section(3.0, 0.0, up, 0.6), section(3.0, half_span, up, 0.6)],
        );
        let about = reference(0.0, 5.0, 5.0, 1.0);
        let found = solve(&[wing, tail], &about, &Panelling::default(), 0.1);
        [
            found.derivatives.lift_alpha,
            found.derivatives.pitch_alpha,
            found.downwash[1],
            found.derivatives.roll_p,
            found.span_efficiency,
        ]
    };
    let (mut last, mut low) = (slope(0.7, 0.0), slope(1.3, 0.0));
    for step in 1..30 {
        let (next, higher) = (
            slope(0.7 + 0.02 * f64::from(step), 0.0),
            slope(1.3, 0.02 * f64::from(step)),
        );
        for (k, allowed) in [0.02, 0.07, 0.02, 0.005, 0.03].into_iter().enumerate() {
            near("span", next[k], last[k], allowed);
            near("height", higher[k], low[k], allowed);
        }
        (last, low) = (next, higher);
    }
}

#[test]
fn convergence_is_found_and_missed() {
    let (surfaces, about) = aircraft(false);
    let found = analyse(&surfaces, &about, &Settings::default()).unwrap();
    assert!(
        found.converged && found.change_on_refinement < 0.02,
        "{}",
        found.change_on_refinement
    );
    let coarse = Settings {
        panelling: Panelling::fixed(2, 1),
        most_panels: 10,
        ..Settings::default()
    };
    let coarse = analyse(&surfaces, &about, &coarse).unwrap();
    assert!(!coarse.converged);
    // Four times as many panels change an entry by no more than twice what it announces and a hundredth (MODEL.md § 17).
    let settings = Panelling::default().refined(4.0);
    let finest = solve(&surfaces, &about, &settings, 0.0).derivatives;
    let (fine, announced) = (&found.derivatives, &found.still_to_come);
    for (name, of) in [
        ("C_Lα", (|d| d.lift_alpha) as fn(&Derivatives) -> f64),
        ("C_lp", |d| d.roll_p),
        ("C_nβ", |d| d.yaw_beta),
        ("elevator", |d| d.tabs[0].lift),
        ("aileron", |d| d.tabs[1].roll),
    ] {
        let allowed = 2.0 * of(announced).abs() + 0.01 * of(fine).abs();
        near(name, of(&finest), of(fine), allowed);
    }
}

#[test]
fn what_cannot_be_cut_is_refused() {
    let (wing, about) = rectangle(3.0);
    let refused = |surfaces: &[Surface], about: &Reference| {
        Lattice::new(surfaces, about, &Panelling::default())
            .unwrap_err()
            .to_string()
    };
    assert!(refused(&[], &about).contains("at least one"));
    assert!(refused(&[wing.clone(), wing.clone()], &about).contains("on top of each other"));
    let mut short = wing.clone();
    short.sections.pop();
    assert!(refused(&[short], &about).contains("'plate' has 1 section"));
    let mut flat = wing.clone();
    flat.sections[1].leading_edge.right_m = 0.0;
    assert!(refused(&[flat], &about).contains("sections 1 and 2"));
    let mut pointed = wing.clone();
    pointed.sections[0].chord_m = 0.0;
    pointed.sections[1].chord_m = 0.0;
    assert!(refused(&[pointed], &about).contains("no chord"));
    let mut lost = wing.clone();
    lost.sections[1].leading_edge.station_m = f64::NAN;
    assert!(refused(&[lost], &about).contains("station of section 2"));
    let mut bent = wing.clone();
    bent.bends = vec![full_span(0.0, 0.0)];
    assert!(refused(&[bent], &about).contains("chord share of bend 1"));
    let nothing = Reference {
        area_m2: 0.0,
        ..about
    };
    assert!(refused(std::slice::from_ref(&wing), &nothing).contains("area"));
    let many = Lattice::new(&[wing], &about, &Panelling::fixed(100, 100)).unwrap_err();
    assert!(many.to_string().contains("20000 panels"));
}
