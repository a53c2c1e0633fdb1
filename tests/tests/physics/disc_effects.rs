//! What propellers do beside thrust and torque: which way, nothing where it must be nothing, and left as right.
//!
//! Body axes x forward, y right, z down; moments r × F from the balance point.

use nalgebra::Vector3;
use sim_core::power::disc::{Around, Disc, DiscWrenches};
use sim_core::power::motor::{Motor, thrust_axis};
use sim_core::wrench::Wrench;
use tossline_tests::known::aircraft::glider_panels;
use tossline_tests::known::discs::{DENSITY, disc, flow, plate, wrenches};
use tossline_tests::known::power::near_surfaces;
use tossline_tests::known::random::Random;

const AXIS: Vector3<f64> = Vector3::new(1.0, 0.0, 0.0);
const DIAMETER: f64 = 0.045;
const SIDE_AREA: f64 = 5e-5;
/// 6 m/s, 5° nose up.
const GLIDE: Vector3<f64> = Vector3::new(5.977, 0.0, 0.523);

fn sum(all: &DiscWrenches<f64>) -> Wrench<f64> {
    all.normal_force + all.wash + all.suction
}

// Nose up, the air comes from below and pushes the disc up: a tractor raises the nose further, a pusher lowers it.
#[test]
fn a_disc_at_incidence_is_pushed_with_the_cross_flow() {
    for (x, nose) in [(0.1, 1.0), (-0.1, -1.0)] {
        let motor = disc(DIAMETER, Vector3::new(x, 0.0, 0.0), AXIS, &[], SIDE_AREA);
        let all = wrenches(&motor, 0.03, &flow(GLIDE));
        assert!(all.normal_force.force.z < 0.0);
        assert!(all.normal_force.moment.y * nose > 0.0);
        let slipping = wrenches(&motor, 0.03, &flow(Vector3::new(6.0, 0.5, 0.0)));
        assert!(slipping.normal_force.force.y < 0.0);
    }
}

// A tractor's jet along a tail that is set nose up lifts the tail: nose down. Set nose down it does the opposite. And the friction of the jet drags.
#[test]
fn a_tractors_wash_over_a_tail_set_nose_up_lowers_the_nose() {
    let around = flow(Vector3::new(6.0, 0.0, 0.0));
    let on = |incidence: f64| {
        let tail = plate(-0.2, 0.0, 0.05, 0.1, incidence);
        let motor = disc(DIAMETER, Vector3::new(0.05, 0.0, 0.0), AXIS, &tail, 0.0);
        wrenches(&motor, 0.03, &around).wash
    };
    let (up, flat, down) = (on(0.05), on(0.0), on(-0.05));
    assert!(up.force.z < 0.0 && up.moment.y < 0.0);
    assert!(down.force.z > 0.0 && down.moment.y > 0.0);
    assert!(flat.force.x < 0.0 && flat.force.z == 0.0);
}

// A jet tilted to blow down onto a plate pushes it down; one over the right half of the wing alone rolls to the left where it adds lift.
#[test]
fn wash_goes_with_the_jet_and_rolls_from_one_side() {
    let wing = plate(0.03, 0.0, 0.1, 0.3, 0.0);
    let blown_down = disc(
        DIAMETER,
        Vector3::new(0.06, 0.0, -0.02),
        thrust_axis(0.4, 0.0, 1.0),
        &wing,
        0.0,
    );
    assert!(wrenches(&blown_down, 0.05, &flow(AXIS * 2.0)).wash.force.z > 0.0);
    let right = disc(DIAMETER, Vector3::new(0.06, 0.1, 0.0), AXIS, &wing, 0.0);
    let all = wrenches(&right, 0.03, &flow(GLIDE));
    assert!(all.wash.force.z < 0.0 && all.wash.moment.x < 0.0);
}

// A disc over the rear of a plate draws the air over it up: lift; behind the balance point that lowers the nose. A disc under it draws down. A disc behind
// the trailing edge in the plate's own plane speeds the air up along it: more of the lift that is there, and friction.
#[test]
fn a_pusher_draws_on_the_plate_ahead_of_it() {
    let wing = plate(0.03, 0.0, 0.15, 0.25, 0.0);
    let at = |x: f64, up: f64| {
        let motor = disc(DIAMETER, Vector3::new(x, 0.0, -up), AXIS, &wing, 0.0);
        move |velocity| wrenches(&motor, 0.03, &flow(velocity)).suction
    };
    let level = Vector3::new(6.0, 0.0, 0.0);
    let (above, below, behind) = (at(-0.1, 0.04), at(-0.1, -0.04), at(-0.14, 0.0));
    assert!(above(level).force.z < 0.0 && above(level).moment.y < 0.0);
    assert!(below(level).force.z > 0.0 && below(level).moment.y > 0.0);
    assert!(behind(level).force.z.abs() < 1e-18 && behind(level).force.x < 0.0);
    assert!(behind(GLIDE).force.z < 0.0);
}

// The share falls with the distance of the axis from the surface; wash goes to nothing, suction as the point sink that a disc is from afar, v R²/(2d²).
#[test]
fn wash_and_suction_fade_with_distance() {
    let tail = plate(-0.1, 0.0, 0.05, 0.1, 0.05);
    let mut last = [f64::MAX; 2];
    for up in [0.0, 0.01, 0.02, 0.03, 0.05, 0.08, 0.3] {
        let motor = disc(DIAMETER, Vector3::new(0.0, 0.0, -up), AXIS, &tail, 0.0);
        let all = wrenches(&motor, 0.03, &flow(AXIS * 6.0));
        let now = [all.wash.force.norm(), all.suction.force.norm()];
        assert!(now[0] <= last[0], "{up}: {now:?}");
        last = now;
    }
    let away = Vector3::new(0.0, 0.0, -0.3);
    let motor = disc(DIAMETER, away, AXIS, &tail, 0.0);
    let induced = Disc::of(&motor, 0.03, &flow(AXIS * 6.0)).induced;
    let drawn_up =
        induced * (0.5 * DIAMETER).powi(2) / (2.0 * (0.3_f64.powi(2) + 0.125_f64.powi(2)));
    let lift = 0.5 * DENSITY * 6.0 * drawn_up * tail[0].lift_slope * 0.05 * 0.2;
    assert!(
        last[0] == 0.0 && (last[1] / lift - 1.0).abs() < 0.2,
        "{last:?} {lift}"
    );
}

// Without thrust no jet and no inflow, to the last bit; without cross flow no force across; at rest in still air nothing moves.
#[test]
fn nothing_where_there_is_nothing() {
    let wing = plate(0.05, 0.0, 0.2, 0.25, 0.05);
    let motor = disc(
        DIAMETER,
        Vector3::new(-0.05, 0.0, -0.02),
        AXIS,
        &wing,
        SIDE_AREA,
    );
    for velocity in [GLIDE, Vector3::zeros(), -GLIDE, Vector3::new(0.0, 3.0, 0.0)] {
        let all = wrenches(&motor, 0.0, &flow(velocity));
        assert_eq!(all.wash.force.norm() + all.wash.moment.norm(), 0.0);
        assert_eq!(all.suction.force.norm() + all.suction.moment.norm(), 0.0);
    }
    let along = wrenches(&motor, 0.03, &flow(AXIS * 5.0));
    assert_eq!(along.normal_force.force.norm(), 0.0);
    let still = wrenches(&motor, 0.0, &flow(Vector3::zeros()));
    assert_eq!(sum(&still).force.norm(), 0.0);
}

/// Two motors, mirror images of one another, among a whole aircraft's surfaces.
fn pair() -> [Motor<f64>; 2] {
    let mut surfaces = near_surfaces(&glider_panels(0.0));
    for surface in surfaces
        .iter_mut()
        .filter(|one| one.panel.dihedral_rad > 1.0)
    {
        // A fin turned to one side has no mirror image here.
        surface.incidence_rad = [0.0; 2];
    }
    [-1.0, 1.0].map(|side| {
        disc(
            DIAMETER,
            Vector3::new(-0.04, 0.05 * side, -0.015),
            thrust_axis(0.1, 0.05, side),
            &surfaces,
            SIDE_AREA,
        )
    })
}

// What the left propeller does in a flow, the right one does in the flow's mirror image, mirrored.
#[test]
fn left_is_right_in_a_mirror() {
    let [left, right] = pair();
    let mut random = Random::new(61);
    for _ in 0..200 {
        let (velocity, rates) = (random.vector(8.0), random.vector(5.0));
        let thrust = random.between(-0.01, 0.06);
        let around = Around {
            rates,
            attached_weight: random.between(0.0, 1.0),
            ..flow(velocity)
        };
        let flip = Vector3::new(1.0, -1.0, 1.0);
        let mirrored = Around {
            velocity: velocity.component_mul(&flip),
            rates: -rates.component_mul(&flip),
            ..around
        };
        let a = wrenches(&left, thrust, &around);
        let b = wrenches(&right, thrust, &mirrored);
        for (a, b) in [
            (a.normal_force, b.normal_force),
            (a.wash, b.wash),
            (a.suction, b.suction),
        ] {
            assert!((a.force.component_mul(&flip) - b.force).norm() < 1e-15);
            assert!((a.moment.component_mul(&flip) + b.moment).norm() < 1e-16);
        }
    }
}

// Forces stay where they are when the balance point moves: M changes by d × F. Rates left out, so that the flow stays the same.
#[test]
fn moments_are_arms_times_forces() {
    let [motor, _] = pair();
    let mut moved = motor.clone();
    let shift = Vector3::new(0.03, -0.01, 0.02);
    moved.place += shift;
    let around = flow(Vector3::new(5.0, 0.4, 0.8));
    let (a, b) = (
        wrenches(&motor, 0.04, &around),
        wrenches(&moved, 0.04, &around),
    );
    for (a, b) in [
        (a.normal_force, b.normal_force),
        (a.wash, b.wash),
        (a.suction, b.suction),
    ] {
        assert!((a.force - b.force).norm() < 1e-16 && a.force.norm() > 1e-6);
        assert!((b.moment - a.moment - shift.cross(&a.force)).norm() < 1e-16);
    }
}

// Defined and bounded at every attitude, speed, thrust and rotor, at rest as well: never more than a few times what speed and jet can give, ½ρ(|V| + 3v)² over
// all surfaces and the blades. And without a jump: a hundred thousandth of the way on it differs by no more than as much of that bound times 1e3.
#[test]
fn bounded_and_without_jumps_at_every_angle() {
    let [motor, _] = pair();
    let mut random = Random::new(62);
    let mut worst: f64 = 0.0;
    for _ in 0..2000 {
        let velocity = random.direction() * random.between(0.0, 10.0);
        let thrust = random.between(-0.02, 0.06);
        let around = Around {
            attached_weight: random.between(0.0, 1.0),
            ..flow(velocity)
        };
        let force = sum(&wrenches(&motor, thrust, &around)).force;
        assert!(force.iter().all(|x| x.is_finite()));
        let jet = (2.0 * thrust.abs() / (1.225 * 0.00159)).sqrt();
        let bound = 0.6 * (velocity.norm() + 3.0 * jet).powi(2) * 0.08 + 1e-9;
        worst = worst.max(force.norm() / bound);
        let on = velocity + random.direction() * 1e-5 * velocity.norm();
        let next = sum(&wrenches(
            &motor,
            thrust,
            &Around {
                velocity: on,
                ..around
            },
        ))
        .force;
        assert!((next - force).norm() < 1e-2 * bound, "{velocity} {thrust}");
    }
    assert!(worst > 1e-3 && worst < 2.0, "{worst}");
}
