//! A body without moments turns by Euler's equations. NASA's brick (check-case 2) and the Jacobi elliptic closed form
//! of its motion are the references; energy and angular momentum stay.

use nalgebra::{Matrix3, Rotation3, Vector3};
use sim_core::aero::coefficients::Coefficients;
use sim_core::flight::Flight;
use sim_core::frames::{EulerAngles, rotation};
use sim_core::mass::inertia_tensor;
use tossline_tests::known::aircraft::{body, reference_solution, throw, tight, weightless_air};
use tossline_tests::known::spinning_box::{
    BRICK_MASS_KG, BRICK_MOMENTS_KG_M2, BRICK_RATES_DEG_S, FreeTumble, brick_tumble,
};
use tossline_tests::published::Table;

fn rates_deg_s(flight: &Flight, time_s: f64) -> Vector3<f64> {
    flight.state_at(time_s).rates.map(f64::to_degrees)
}

// NASA's end state. The participating data sets differ by 0.004 deg/s; an exact solution lies within 4e-5 of the
// published row.
#[test]
fn nasas_brick_ends_at_the_published_rates() {
    let flight = brick_tumble().fly().unwrap();
    let [end] = Table::read("brick_tumble").rows(["time_s", "p_deg_s", "q_deg_s", "r_deg_s"])[..]
    else {
        panic!("one row")
    };
    let miss = rates_deg_s(&flight, end[0]) - Vector3::new(end[1], end[2], end[3]);
    assert!(miss.amax() < 1e-4, "{miss}");
}

// The published attitude is against the turning earth. Over latitude 0 the local north-east-down axes turn about
// north by Ω t, Ω = 7.292115e-5 rad/s (WGS 84), so that R_published = R_x(Ω t)ᵀ R.
#[test]
fn nasas_brick_ends_at_the_published_attitude() {
    let mut throw = brick_tumble();
    throw.tolerance = tight();
    let flight = throw.fly().unwrap();
    let [end] =
        Table::read("brick_tumble").rows(["time_s", "roll_deg", "pitch_deg", "yaw_deg"])[..]
    else {
        panic!("one row")
    };
    let earth = Rotation3::from_axis_angle(&Vector3::x_axis(), 7.292_115e-5 * end[0]);
    let to_earth = earth.matrix().transpose() * rotation(&flight.state_at(end[0]).attitude);
    let angles = EulerAngles::of(&to_earth);
    let found = [angles.roll_rad, angles.pitch_rad, angles.yaw_rad].map(f64::to_degrees);
    for (found, published) in found.iter().zip(&end[1..]) {
        assert!((found - published).abs() < 2e-4, "{found} {published}");
    }
}

#[test]
fn the_brick_passes_the_recomputed_rates_and_attitudes() {
    let mut throw = brick_tumble();
    throw.tolerance = tight();
    let flight = throw.fly().unwrap();
    for [t, p, q, r] in
        Table::read("brick_rates_recomputed").rows(["time_s", "p_deg_s", "q_deg_s", "r_deg_s"])
    {
        let miss = rates_deg_s(&flight, t) - Vector3::new(p, q, r);
        assert!(miss.amax() < 1.5e-6, "{t} s: {miss}");
    }
    for [t, roll, pitch, yaw] in Table::read("brick_attitude_recomputed").rows([
        "time_s",
        "roll_deg",
        "pitch_deg",
        "yaw_deg",
    ]) {
        let angles = EulerAngles::of(&rotation(&flight.state_at(t).attitude));
        for (found, expected) in [
            (angles.roll_rad, roll),
            (angles.pitch_rad, pitch),
            (angles.yaw_rad, yaw),
        ] {
            assert!(
                (found.to_degrees() - expected).abs() < 1e-5,
                "{t} s: {angles:?}"
            );
        }
    }
}

// Landau & Lifshitz, Mechanics, § 37 (from memory), with elliptic functions by the arithmetic-geometric mean. The
// constants of the motion found by hand elsewhere: m = 0.335898037, λ = 0.399322296 rad/s, period 17.3844893 s.
#[test]
fn the_tumble_follows_jacobis_elliptic_functions() {
    let start = Vector3::from(BRICK_RATES_DEG_S.map(f64::to_radians));
    let closed = FreeTumble::from(BRICK_MOMENTS_KG_M2, start);
    assert!((closed.parameter - 0.335_898_037).abs() < 1e-8);
    assert!((closed.argument_rate - 0.399_322_296).abs() < 1e-8);
    assert!((closed.period_s() - 17.384_489_3).abs() < 1e-7);
    let mut throw = brick_tumble();
    throw.tolerance = tight();
    let flight = throw.fly().unwrap();
    for i in 0..=300 {
        let t = 0.1 * f64::from(i);
        let miss = flight.state_at(t).rates - closed.rates_at(t);
        assert!(miss.amax() < 1e-10, "{t} s: {miss}");
    }
}

// Without moments 2T = ω·Iω and the angular momentum R I ω over the earth are constant. 2T = 0.00377860136 J and H =
// 0.00591001901 N m s by hand from NASA's table.
#[test]
fn energy_and_angular_momentum_stay() {
    let mut throw = brick_tumble();
    throw.tolerance = tight();
    let flight = throw.fly().unwrap();
    let inertia = Matrix3::from_diagonal(&Vector3::from(BRICK_MOMENTS_KG_M2));
    let measure = |t: f64| {
        let state = flight.state_at(t);
        let momentum = inertia * state.rates;
        (
            state.rates.dot(&momentum),
            rotation(&state.attitude) * momentum,
        )
    };
    let (energy, momentum) = measure(0.0);
    assert!((energy / 0.003_778_601_36 - 1.0).abs() < 1e-8, "{energy}");
    assert!((momentum.norm() / 0.005_910_019_01 - 1.0).abs() < 1e-8);
    for i in 0..=300 {
        let (e, h) = measure(0.1 * f64::from(i));
        assert!((e / energy - 1.0).abs() < 1e-9, "{e}");
        assert!((h - momentum).norm() / momentum.norm() < 1e-9, "{h}");
    }
}

// The attitude is formed from q/|q|, so |q| itself may drift: below 1e-6 at the default tolerance, 1e-9 at 1e-12. A
// tumble ten times as fast as NASA's and five minutes long is harder than any throw.
#[test]
fn the_quaternions_length_drifts_little() {
    for (tolerance, limit) in [
        (sim_core::solver::Tolerance::default(), 1e-6),
        (tight(), 1e-9),
    ] {
        let mut throw = brick_tumble();
        throw.tolerance = tolerance;
        throw.time_limit_s = 300.0;
        throw.launch.rates_rad_s *= 10.0;
        let flight = throw.fly().unwrap();
        let worst = (0..=3000)
            .map(|i| (flight.state_at(0.1 * f64::from(i)).attitude.norm() - 1.0).abs())
            .fold(0.0, f64::max);
        assert!(worst < limit, "{worst:.2e} at {tolerance:?}");
    }
}

// The same body described in other body axes moves the same: with B the turn of axes, I' = B I Bᵀ, whose off-diagonal
// terms are products of inertia entering with a minus (ISO 1151, from memory). Products +∫xy dm are taken here from
// point masses, not from the tensor.
#[test]
fn products_of_inertia_only_turn_the_axes() {
    // Six points on the principal axes of the brick's ellipsoid of inertia, m/6 each: Σ m x² = (Iy + Iz − Ix)/2 and
    // so on.
    let [ix, iy, iz] = BRICK_MOMENTS_KG_M2;
    let sums = [
        (iy + iz - ix) / 2.0,
        (iz + ix - iy) / 2.0,
        (ix + iy - iz) / 2.0,
    ];
    let turn = Rotation3::from_euler_angles(0.7, -0.4, 1.1);
    let share = BRICK_MASS_KG / 6.0;
    let points: Vec<Vector3<f64>> = (0..3)
        .flat_map(|axis| {
            let mut place = Vector3::zeros();
            place[axis] = (sums[axis] / (2.0 * share)).sqrt();
            [turn * place, turn * -place]
        })
        .collect();
    let sum = |f: fn(&Vector3<f64>) -> f64| points.iter().map(f).sum::<f64>() * share;
    let moments = Vector3::new(
        sum(|r| r.y * r.y + r.z * r.z),
        sum(|r| r.z * r.z + r.x * r.x),
        sum(|r| r.x * r.x + r.y * r.y),
    );
    let inertia = inertia_tensor(
        moments,
        sum(|r| r.x * r.y),
        sum(|r| r.x * r.z),
        sum(|r| r.y * r.z),
    );
    let vehicle = body(BRICK_MASS_KG, inertia, Coefficients::none(1.0, 1.0, 1.0));

    let mut plain = brick_tumble();
    plain.tolerance = reference_solution();
    let mut turned = throw(
        vehicle,
        weightless_air(),
        plain.launch.clone(),
        plain.time_limit_s,
    );
    turned.launch.rates_rad_s = turn * plain.launch.rates_rad_s;
    turned.tolerance = reference_solution();
    let (plain, turned) = (plain.fly().unwrap(), turned.fly().unwrap());
    for i in 0..=30 {
        let t = f64::from(i);
        let miss = turn.inverse() * turned.state_at(t).rates - plain.state_at(t).rates;
        assert!(miss.amax() < 1e-10, "{t} s: {miss}");
    }
}
