//! Propellers at incidence, their jets and their inflow against handbook values and momentum.
//!
//! Ribner, NACA TR 819/820 (propellers in yaw): a fin of the blades' side area, aspect ratio about 8, q-factor f(a). Actuator disc
//! (Rankine, Froude): v = √(T/2ρA) at rest, 2v and R/√2 far behind, v(1 + x/√(x² + R²)) on the axis. Smelt & Davies, R&M 1788: lift in a
//! slipstream grows by 1 + λ ΔV/V, λ between 1 and 2. All from memory.

use nalgebra::Vector3;
use sim_core::power::disc::suction::inflow;
use sim_core::power::disc::wash::Jet;
use sim_core::power::disc::{Disc, blade_side_area};
use std::f64::consts::{PI, TAU};
use tossline_tests::known::discs::{DENSITY, disc, flow, plate, wrenches};

const AXIS: Vector3<f64> = Vector3::new(1.0, 0.0, 0.0);
const RADIUS: f64 = 0.0225;
const AREA: f64 = PI * RADIUS * RADIUS;

/// Thrust of a disc with an inflow factor a = v/V at a speed: T = 2ρA V²(1 + a)a.
fn thrust(speed: f64, a: f64) -> f64 {
    2.0 * DENSITY * AREA * speed * speed * (1.0 + a) * a
}

// f(a) = (1+a)[(1+a)+(1+2a)²]/[1+(1+2a)²] worked by hand: 0: 1; 0.25: 1.25 (1.25 + 2.25)/3.25 = 35/26; 0.5: 1.5 · 5.5/5 = 1.65; 1: 2 · 11/10
// = 2.2. Lift slope of aspect ratio 8 by lifting-line theory: 2π 8/10 = 5.0265 per rad.
#[test]
fn the_side_force_is_a_fins_with_ribners_factor() {
    let (speed, side_area, angle) = (6.0, 5e-5, 1e-4_f64);
    let motor = disc(2.0 * RADIUS, Vector3::zeros(), AXIS, &[], side_area);
    for (a, factor) in [(0.0, 1.0), (0.25, 35.0 / 26.0), (0.5, 1.65), (1.0, 2.2)] {
        let around = flow(Vector3::new(speed * angle.cos(), 0.0, speed * angle.sin()));
        let force = wrenches(&motor, thrust(speed, a), &around)
            .normal_force
            .force;
        let fin = 0.5 * DENSITY * speed * speed * side_area * 5.0265 * angle;
        assert!(
            (-force.z / fin - factor).abs() < 2e-4 * factor,
            "{a}: {}",
            -force.z / fin
        );
        assert_eq!(force.x, 0.0);
    }
}

// Side area of blades of even chord and pitch against the sum over thin slices of c sin β, half of it for each blade.
#[test]
fn the_side_area_is_the_sum_over_the_blades() {
    let (chord, pitch, diameter) = (0.006, 0.0315, 0.045);
    let slices = 20_000;
    let sum: f64 = (0..slices)
        .map(|i| {
            let r = 0.5 * diameter * (0.15 + 0.85 * (f64::from(i) + 0.5) / f64::from(slices));
            chord * (pitch / (TAU * r)).atan().sin() * 0.5 * diameter * 0.85 / f64::from(slices)
        })
        .sum();
    for blades in [2, 3] {
        let area = blade_side_area(blades, chord, pitch, diameter);
        assert!((area - 0.5 * f64::from(blades) * sum).abs() < 1e-8 * area);
    }
}

// A second way to the side force, which knows no side area (after Harris 1917 and Glauert, from memory): a blade that goes against the
// cross flow meets air as if it turned faster, so Y = ½ (∂Q/∂Ω) V_⊥/r², with the torque at r = 0.7 R. For the measured 9 in propeller at 3030
// rpm (rows J 0.418, 0.518, 0.636; Deters, Ananda & Selig) with a chord of 0.085 D and its pitch of 6.75 in (from memory) the two agree within a
// factor of 1.7: one says nothing of the inflow's answer, the other nothing of drag.
#[test]
fn the_fin_and_the_torque_agree_on_the_side_force() {
    let (diameter, turns) = (0.2286_f64, 3030.0 / 60.0);
    let (j, c_p, slope) = (
        0.518_25,
        0.060_397,
        (0.051_087 - 0.067_753) / (0.635_838 - 0.417_834),
    );
    let torque_slope = DENSITY * diameter.powi(5) / (TAU * TAU) * turns * (2.0 * c_p - j * slope);
    let by_torque = 0.5 * torque_slope / (0.35 * diameter).powi(2);
    let side_area = blade_side_area(2, 0.085 * diameter, 6.75 * 0.0254, diameter);
    let motor = disc(diameter, Vector3::zeros(), AXIS, &[], side_area);
    let around = flow(Vector3::new(5.983, 0.0, 0.01));
    let by_fin = -wrenches(&motor, 0.6270, &around).normal_force.force.z / 0.01;
    let ratio = by_fin / by_torque;
    assert!((1.0 / 1.7..1.7).contains(&ratio), "{ratio}");
}

fn jet_at_rest(thrust_n: f64, radius: f64) -> (f64, Jet<f64>) {
    let motor = disc(2.0 * radius, Vector3::zeros(), AXIS, &[], 0.0);
    let disc = Disc::of(&motor, thrust_n, &flow(Vector3::zeros()));
    (disc.induced, Jet::of(&disc, &motor.axis))
}

// Numbers by hand: D 0.045 m, T 0.1 N → v 5.0659 m/s; D 0.0635 m, T 0.2 N → 5.0771 m/s (density 1.225). Moving: T = 2ρA(V + v)v. Edgewise: T = 2ρAVv
// (Glauert), at V ≫ v.
#[test]
fn the_disc_moves_the_air_as_momentum_says() {
    for (thrust_n, radius, induced) in [(0.1, 0.0225, 5.0659), (0.2, 0.03175, 5.0771)] {
        let (found, _) = jet_at_rest(thrust_n, radius);
        assert!((found - induced).abs() < 2e-4 * induced, "{found}");
    }
    let motor = disc(2.0 * RADIUS, Vector3::zeros(), AXIS, &[], 0.0);
    let along = Disc::of(&motor, thrust(4.0, 0.4), &flow(AXIS * 4.0));
    assert!((along.induced - 1.6).abs() < 1e-5);
    let edgewise = Disc::of(&motor, 0.01, &flow(Vector3::new(0.0, 0.0, 12.0)));
    let glauert = 0.01 / (2.0 * DENSITY * AREA * 12.0);
    assert!((edgewise.induced - glauert).abs() < 0.02 * glauert);
}

// Development of the speed on the axis, in shares of v: ahead at 2R, R, ½R: 1 − x/√(x² + R²) = 0.10557, 0.29289, 0.55279; behind at 2R, 3R: 1.89443, 1.94868,
// where the mixing of a free jet at rest has taken less than 4 % yet. Far behind half of the excess lies at R/√2.
#[test]
fn the_air_speeds_up_along_the_axis_and_the_jet_contracts() {
    for (x, share) in [(2.0, 0.105_57), (1.0, 0.292_89), (0.5, 0.552_79)] {
        let g = inflow(&AXIS, RADIUS, &(AXIS * (x * RADIUS)));
        assert!((-g.x - share).abs() < 3e-3 && g.y == 0.0, "{x}: {g}");
    }
    let (v, jet) = jet_at_rest(0.1, RADIUS);
    for (x, share) in [(2.0, 1.894_43), (3.0, 1.948_68)] {
        let e = jet.excess(&(AXIS * (-x * RADIUS))).0 / v;
        assert!((e - share).abs() < 0.04 * share, "{x}: {e}");
    }
    let at = |off: f64| jet.excess(&Vector3::new(-4.0 * RADIUS, 0.0, off)).0;
    let (mut inside, mut outside) = (0.0, RADIUS);
    for _ in 0..40 {
        let middle = 0.5 * (inside + outside);
        if at(middle) > 0.5 * at(0.0) {
            inside = middle;
        } else {
            outside = middle;
        }
    }
    let half_radius = inside * 2.0_f64.sqrt() / RADIUS;
    assert!((half_radius - 1.0).abs() < 0.03, "{half_radius}");
}

// A round jet at rest far from its mouth: centreline speed 6 d/x of the speed at the mouth and half-width 0.09 x (from memory), d the contracted jet's
// diameter and 2v its speed; momentum, which nothing takes away, is the thrust within a fifth everywhere.
#[test]
fn a_jet_at_rest_decays_as_round_jets_do_and_keeps_its_momentum() {
    let thrust_n = 0.1;
    let (v, jet) = jet_at_rest(thrust_n, RADIUS);
    let d = 2.0 * RADIUS / 2.0_f64.sqrt();
    for x in [15.0 * d, 30.0 * d] {
        let (e, half_width) = jet.excess(&(AXIS * -x));
        assert!(
            (e / (2.0 * v) - 6.0 * d / x).abs() < 0.03 * 6.0 * d / x,
            "{x}: {e}"
        );
        assert!(
            (half_width - 0.09 * x).abs() < 0.08 * 0.09 * x,
            "{half_width}"
        );
    }
    for x in [1.5, 3.0, 6.0, 9.0].map(|n| n * d) {
        let steps = 4000;
        let widest = 0.2;
        let momentum: f64 = (0..steps)
            .map(|i| {
                let r = widest * (f64::from(i) + 0.5) / f64::from(steps);
                let e = jet.excess(&Vector3::new(-x, r, 0.0)).0;
                DENSITY * e * e * TAU * r * widest / f64::from(steps)
            })
            .sum();
        assert!(
            (momentum / thrust_n - 1.0).abs() < 0.2,
            "{x}: {}",
            momentum / thrust_n
        );
    }
}

// Continuity: through any plane ahead of it a disc of sinks of strength 2v draws half of all it swallows, πR²v; far away it is a point sink,
// v R²/(2 d²) towards it from every side.
#[test]
fn the_inflow_swallows_what_goes_through_the_disc() {
    let steps = 20_000;
    for ahead in [0.3, 1.0, 3.0].map(|n| n * RADIUS) {
        // Substituted r = R tan(u) reaches to infinity.
        let flux: f64 = (0..steps)
            .map(|i| {
                let u = 0.5 * PI * (f64::from(i) + 0.5) / f64::from(steps);
                let r = RADIUS * u.tan();
                let g = inflow(&AXIS, RADIUS, &Vector3::new(ahead, r, 0.0));
                -g.x * TAU * r * RADIUS / (u.cos() * u.cos()) * 0.5 * PI / f64::from(steps)
            })
            .sum();
        assert!((flux / AREA - 1.0).abs() < 4e-3, "{ahead}: {}", flux / AREA);
    }
    for direction in [
        Vector3::new(1.0, 0.0, 0.0),
        Vector3::new(0.6, 0.8, 0.0),
        Vector3::new(-0.6, 0.0, 0.8),
    ] {
        let d = 12.0 * RADIUS;
        let g = inflow(&AXIS, RADIUS, &(direction * d)) * (2.0 * 144.0);
        assert!((g + direction).norm() < 0.02, "{g}");
    }
}

// Momentum: a long plate through the middle of a jet at rest, as narrow as that is, turns all of it by its incidence: F = T sin ε, and the jet's momentum
// is the thrust once its pressure is that of the air around, from some 3 R behind the disc. Twice the incidence, twice the force.
#[test]
fn a_long_plate_in_a_jet_at_rest_turns_all_of_it() {
    let thrust_n = 0.1;
    let lift = |incidence: f64| {
        let surfaces = plate(-3.0 * RADIUS, 0.0, 0.12, 0.2, incidence);
        let motor = disc(2.0 * RADIUS, Vector3::zeros(), AXIS, &surfaces, 0.0);
        -wrenches(&motor, thrust_n, &flow(Vector3::zeros()))
            .wash
            .force
            .z
    };
    let turned = thrust_n * 0.1_f64.sin();
    assert!(
        (lift(0.1) / turned - 1.0).abs() < 0.15,
        "{}",
        lift(0.1) / turned
    );
    assert!((lift(0.1) / lift(0.05) - 2.0).abs() < 0.01);
}

// Smelt & Davies: ΔL = ½ρV² C_L · area washed · λ s with s = ΔV/V small: λ tends to 1 where the washed piece is much longer than wide, and to 2
// where it is much wider than long. The jet along the stream, the plate far enough behind for the development to be over.
#[test]
fn lift_in_a_slipstream_grows_between_once_and_twice_its_speed() {
    let (speed, radius, incidence) = (20.0, 0.2, 0.05);
    let lambda = |chord: f64, half_span: f64| {
        let surfaces = plate(-4.0 * radius, 0.0, chord, half_span, incidence);
        let motor = disc(2.0 * radius, Vector3::zeros(), AXIS, &surfaces, 0.0);
        let area = PI * radius * radius;
        let thrust_n = 2.0 * DENSITY * area * speed * speed * 1.005 * 0.005;
        let around = flow(AXIS * speed);
        let added = -wrenches(&motor, thrust_n, &around).wash.force.z;
        // The width of the jet, with its speed on the axis: contraction is by ¼ %.
        let s = 0.01;
        let slope = surfaces[0].lift_slope;
        let before = 0.5 * DENSITY * speed * speed * slope * incidence * 2.0 * radius * chord;
        added / (before * s)
    };
    let (wide, long) = (lambda(0.02, 2.0), lambda(2.0, 2.0));
    assert!((wide - 2.0).abs() < 0.2, "{wide}");
    assert!(long > 1.0 && long < 1.4, "{long}");
}
