//! At every angle: the force of the air over the whole sphere of flow directions is finite, continuous, smooth across
//! the blend, opposes the motion, and goes with the square of the speed down to nothing.

use nalgebra::{Matrix3, Vector3};
use sim_core::aero::flow::Flow;
use sim_core::air::{Air, WindSample};
use sim_core::forces::evaluate;
use sim_core::segment::Segment;
use sim_core::state::State;
use sim_core::vehicle::Vehicle;
use sim_core::wrench::Wrench;
use std::f64::consts::{PI, TAU};
use tossline_tests::known::aircraft::{stalling_glider, steady_air};
use tossline_tests::known::random::Random;

const SPEED_M_S: f64 = 6.0;

/// The glider with its table off the balance point, so that everything is exercised.
fn vehicle() -> Vehicle<f64> {
    let mut vehicle = stalling_glider();
    vehicle.coefficients.reference = Vector3::new(0.012, 0.0, 0.004);
    vehicle
}

/// Force and moment of the air on a body moving along a direction at a speed, with rates.
fn air_force(vehicle: &Vehicle<f64>, velocity: Vector3<f64>, rates: Vector3<f64>) -> Wrench<f64> {
    let still = WindSample::felt_in_full(Vector3::zeros(), Vector3::zeros(), Matrix3::zeros());
    let table = &vehicle.coefficients;
    let density = Air::calm().atmosphere.density(0.0);
    let flow = Flow::at(
        &table.reference,
        &velocity,
        &rates,
        &Matrix3::identity(),
        &still,
        density,
    );
    let attached = vehicle.post_stall.attached_weight(&flow);
    table.attached(&flow, std::iter::empty()) * attached
        + vehicle.post_stall.plates(&flow, table.area, table.drag_min) * (1.0 - attached)
        + Wrench::pure_moment(vehicle.post_stall.damping(&flow, 1.0 - attached))
}

/// Force and moment over the aircraft's chord, at a point of the sphere.
fn at(vehicle: &Vehicle<f64>, direction: Vector3<f64>) -> [f64; 6] {
    let w = air_force(vehicle, direction * SPEED_M_S, Vector3::zeros());
    let m = w.moment / vehicle.coefficients.chord;
    [w.force.x, w.force.y, w.force.z, m.x, m.y, m.z]
}

/// Points along a great circle through two directions square to one another.
fn circle(first: Vector3<f64>, second: Vector3<f64>) -> impl Fn(f64) -> Vector3<f64> {
    move |angle| first * angle.cos() + second * angle.sin()
}

/// Great circles: along, across, level, and many others at random.
fn circles() -> Vec<(Vector3<f64>, Vector3<f64>)> {
    let mut random = Random::new(5);
    let mut all = vec![
        (Vector3::x(), Vector3::z()),
        (Vector3::x(), Vector3::y()),
        (Vector3::y(), Vector3::z()),
    ];
    for _ in 0..12 {
        let first = random.direction();
        let second = first.cross(&random.direction()).normalize();
        all.push((first, second));
    }
    all
}

// The largest change over a thousandth of a turn, anywhere, is that of the attached lift slope (ΔF = ½ρV²S C_Lα Δα)
// times a few; a jump would show as a change that does not shrink with the step.
#[test]
fn the_force_is_continuous_over_the_whole_sphere() {
    let vehicle = vehicle();
    for (first, second) in circles() {
        let point = circle(first, second);
        let largest = |steps: i32| {
            (0..steps)
                .map(|i| {
                    let (a, b) = (
                        f64::from(i) / f64::from(steps),
                        f64::from(i + 1) / f64::from(steps),
                    );
                    let (a, b) = (at(&vehicle, point(a * TAU)), at(&vehicle, point(b * TAU)));
                    a.iter()
                        .zip(&b)
                        .map(|(a, b)| (a - b).abs())
                        .fold(0.0, f64::max)
                })
                .fold(0.0, f64::max)
        };
        let (coarse, fine) = (largest(2000), largest(16_000));
        assert!(coarse.is_finite() && coarse > 0.0);
        assert!(fine < coarse / 6.0, "{first} {second}: {coarse} {fine}");
    }
}

/// Slope just after a point less slope just before it, per rad, at a distance h.
fn kink(vehicle: &Vehicle<f64>, point: &impl Fn(f64) -> Vector3<f64>, angle: f64, h: f64) -> f64 {
    let (before, here, after) = (
        at(vehicle, point(angle - h)),
        at(vehicle, point(angle)),
        at(vehicle, point(angle + h)),
    );
    (0..6)
        .map(|i| ((after[i] - 2.0 * here[i] + before[i]) / h).abs())
        .fold(0.0, f64::max)
}

// The slope is continuous across the blend and everywhere beyond: the difference of the slopes on both sides of a
// point shrinks with the distance. (Points within a degree of α = 0 or β = 0 are the next test's.)
#[test]
fn the_slope_is_continuous_across_the_blend() {
    let vehicle = vehicle();
    let mut looked = 0;
    for (first, second) in circles() {
        let point = circle(first, second);
        for i in 0..1440 {
            let angle = TAU * (f64::from(i) + 0.37) / 1440.0;
            let d = point(angle);
            let (alpha, beta) = (d.z.atan2(d.x), d.y.atan2(d.x.hypot(d.z)));
            let near_zero = |x: f64| x.abs() < PI / 180.0;
            // Near the y axis α turns over within less than the step, with no force left that depends on it.
            if near_zero(alpha) || near_zero(beta) || d.x.hypot(d.z) < 0.02 {
                continue;
            }
            looked += 1;
            let (wide, narrow) = (
                kink(&vehicle, &point, angle, 4e-4),
                kink(&vehicle, &point, angle, 1e-4),
            );
            assert!(
                narrow < 0.5 * wide + 1e-4,
                "α {alpha} β {beta}: {wide} {narrow}"
            );
        }
    }
    assert!(looked > 15_000);
}

// On α = 0 and β = 0 the blend's |α| and |β| leave a kink of slope, twice the tail of its weight, sech²(x_s/δ)/2δ
// (here 3.4e-3 and 7.7e-3 per rad), times the difference of attached and separated force: less than a five-hundredth
// of the lift slope. It must not be more than that.
#[test]
fn the_kink_at_zero_is_no_more_than_the_tail_of_the_blend() {
    let vehicle = vehicle();
    let pressure = 0.5 * 1.225 * SPEED_M_S * SPEED_M_S;
    let tail = |stall: f64, blend: f64| {
        let (stall, blend) = (stall.to_radians(), blend.to_radians());
        1.0 / (stall / blend).cosh().powi(2) / (2.0 * blend)
    };
    // A force coefficient of 0.4 is more than attached and plates differ by at the angles walked through.
    let bound = |tail: f64| 2.0 * tail * 0.4 * pressure * vehicle.coefficients.area;
    let rise = circle(Vector3::x(), Vector3::z());
    let found = kink(&vehicle, &rise, 0.0, 1e-6);
    assert!(
        found < bound(tail(14.0, 3.0)),
        "α: {found} {}",
        bound(tail(14.0, 3.0))
    );
    let ahead = Vector3::new(0.05_f64.cos(), 0.0, 0.05_f64.sin());
    let slip = circle(ahead, Vector3::y());
    let found = kink(&vehicle, &slip, 0.0, 1e-6);
    assert!(
        found < bound(tail(20.0, 5.0)),
        "β: {found} {}",
        bound(tail(20.0, 5.0))
    );
}

// The air never pushes a body along: moving without turning, F·V ≤ 0 in every direction; and the damping's moment
// opposes every rate.
#[test]
fn the_air_only_takes_energy() {
    let (vehicle, mut random) = (vehicle(), Random::new(8));
    for _ in 0..40_000 {
        let velocity = random.direction() * random.between(0.0, 15.0);
        let force = air_force(&vehicle, velocity, Vector3::zeros()).force;
        assert!(force.dot(&velocity) <= 1e-15, "{velocity}");
        if velocity.norm() > 0.1 {
            assert!(force.dot(&velocity) < 0.0, "{velocity}");
        }
        let rates = random.vector(20.0);
        let still = WindSample::felt_in_full(Vector3::zeros(), Vector3::zeros(), Matrix3::zeros());
        let flow = Flow::at(
            &Vector3::zeros(),
            &velocity,
            &rates,
            &Matrix3::identity(),
            &still,
            1.2,
        );
        let separated = 1.0 - vehicle.post_stall.attached_weight(&flow);
        let damping = vehicle.post_stall.damping(&flow, separated);
        for i in 0..3 {
            assert!(damping[i] * rates[i] < 0.0, "axis {i}: {rates} {damping}");
        }
    }
}

// Forces without rotation go with V²; at rest there is none; nothing is ever undefined, in any direction, forwards,
// sideways or at no speed at all.
#[test]
fn forces_vanish_with_the_square_of_the_speed() {
    let (vehicle, mut random) = (vehicle(), Random::new(9));
    for _ in 0..2000 {
        let direction = random.direction();
        let fast = air_force(&vehicle, direction * 8.0, Vector3::zeros());
        let slow = air_force(&vehicle, direction * 8e-5, Vector3::zeros());
        assert!((fast.force - slow.force * 1e10).norm() < 1e-9 * fast.force.norm());
    }
    let mut corners = vec![Vector3::zeros()];
    for axis in [Vector3::x(), Vector3::y(), Vector3::z()] {
        corners.extend([axis, -axis, axis * -0.0, axis * 1e-300]);
    }
    for velocity in corners {
        for rates in [Vector3::zeros(), Vector3::new(0.0, 3.0, -0.0)] {
            let state = State {
                position: Vector3::new(0.0, 0.0, -5.0),
                attitude: nalgebra::Vector4::new(1.0, 0.0, 0.0, 0.0),
                velocity,
                rates,
                rotors: [0.0; 2],
                charge: 0.0,
            };
            let mut centred = vehicle.clone();
            centred.coefficients.reference = Vector3::zeros();
            let all = evaluate(
                &centred,
                &steady_air(),
                &Segment::steady(&[], &[]),
                0.0,
                &state,
            );
            assert!(
                all.rate.to_array().iter().all(|x| x.is_finite()),
                "{velocity}: {all:?}"
            );
            if velocity.norm() < 1e-200 && rates.norm() == 0.0 {
                // The α̇ term acts as a mass of air and is there whenever the body accelerates.
                let f = &all.forces;
                let still = f.attached.force + f.plates.force + f.damping.force;
                assert!(still.norm() < 1e-300, "no force at rest: {still}");
            }
        }
    }
}

// Flat across the stream the plates' force is ½ρV²S C_90; flying backwards the centre of pressure sits at three
// quarters of the chord: the wing's area ahead of the balance point that is then behind it turns the nose round. By
// hand for one wing: moment = F · distance.
#[test]
fn across_and_backwards_the_plates_act_where_they_should() {
    let vehicle = tossline_tests::known::spinning_plate::plate();
    let [span, chord] = tossline_tests::known::spinning_plate::SIDES_M;
    let density = Air::calm().atmosphere.density(0.0);
    let normal_at_90 = tossline_tests::known::aircraft::usual_stall().normal_at_90;
    let pressure = 0.5 * density * SPEED_M_S * SPEED_M_S * span * chord;
    let broadside = air_force(
        &vehicle,
        Vector3::new(0.0, 0.0, SPEED_M_S),
        Vector3::zeros(),
    );
    assert!((broadside.force.z / (-pressure * normal_at_90) - 1.0).abs() < 1e-7);
    assert!(
        broadside.moment.norm() < 1e-7,
        "centre of pressure at the middle: {broadside:?}"
    );
    for (degrees, share) in [(170.0_f64, 0.75), (-170.0, 0.75), (40.0, 0.25)] {
        let (sin, cos) = degrees.to_radians().sin_cos();
        let w = air_force(
            &vehicle,
            Vector3::new(cos, 0.0, sin) * SPEED_M_S,
            Vector3::zeros(),
        );
        let normal = -pressure * normal_at_90 * sin / (0.56 + 0.44 * sin.abs());
        assert!((w.force.z / normal - 1.0).abs() < 1e-6, "{degrees}");
        // From c/4 ahead at cos = 1 to c/2 at cos = 0 and 3c/4 at cos = −1, evenly in the cosine.
        let behind = chord * (0.5 - 0.25 * cos) - 0.5 * chord;
        assert!(
            (w.moment.y / (behind * normal) - 1.0).abs() < 1e-6,
            "{degrees}: {}",
            w.moment.y
        );
        let far_end = chord * (share - 0.5);
        assert!(behind * far_end > 0.0 && behind.abs() <= far_end.abs());
    }
}
