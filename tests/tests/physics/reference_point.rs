//! A coefficient table may be written about any point.
//!
//! Rewriting a linear table about a point shifted by d (body axes) moves the moment by d × F. F is linear in α only
//! in stability axes, so the rewritten C_m is exact in value and slope at one incidence and not between; and the flow
//! at the new point differs by ω × d, which rate derivatives take up to first order. Hence: in flight without rates
//! at that incidence the rewriting is exact; about it two flights part with the square of the disturbance. (No exact
//! rewriting exists within the linear form: d × F would need C_m ~ α sin α.)
//!
//! Drag has no rate part in the form, so ω × d must not change the force along the stability x axis: that fixes the
//! direction of d in the plane of symmetry. In any other direction a first-order rest of (2C_D, C_Dα − C_L)·d/c in
//! the x force with q is left.

use nalgebra::Vector3;
use sim_core::aero::coefficients::Coefficients;
use sim_core::flight::Flight;
use sim_core::launch::Launch;
use sim_core::segment::Segment;
use sim_core::vehicle::Vehicle;
use tossline_tests::known::aircraft::{glider, reference_solution, steady_air, throw};
use tossline_tests::known::linearise::DualModel;
use tossline_tests::known::steady_glide::trimmed_glider;

/// The glider without α̇ terms (their rewriting would need accelerations of the new point in the rates' place).
fn plain() -> Vehicle<f64> {
    let mut vehicle = glider();
    vehicle.coefficients.lift_alpha_rate = 0.0;
    vehicle.coefficients.pitch_alpha_rate = 0.0;
    vehicle
}

/// The table of `plain` rewritten by hand about `d` in front of (x) and below (z) the balance point, exact at the
/// incidence `a`.
///
/// At the new point V' = V + ω×d. With p, q, r small, at speed V and incidence a:
///   δα = −q (d_x cos a + d_z sin a)/V,   δV/V = q (d_z cos a − d_x sin a)/V,   δβ = (r d_x − p d_z)/V.
/// δα also turns lift and drag, so that the force square on the flow gains (C_Lα + C_D) δα + 2C_L δV/V and that along
/// it (C_Dα − C_L) δα + 2C_D δV/V. The rate derivatives take them back; moments change by −d × F.
fn rewritten(table: &Coefficients<f64>, d: Vector3<f64>, a: f64) -> Coefficients<f64> {
    let (sin, cos) = a.sin_cos();
    let (b, c) = (table.span, table.chord);
    // Per unit of q c/2V the angle and relative speed gained at the new point; per unit of p b/2V and r b/2V the
    // sideslip.
    let alpha_q = -2.0 / c * (d.x * cos + d.z * sin);
    let speed_q = 2.0 / c * (d.z * cos - d.x * sin);
    let (beta_p, beta_r) = (-2.0 / b * d.z, 2.0 / b * d.x);
    let lift = table.lift_zero + table.lift_alpha * a;
    let drag = table.drag_min + table.drag_factor * (lift - table.lift_at_min_drag).powi(2);
    let drag_alpha = 2.0 * table.drag_factor * (lift - table.lift_at_min_drag) * table.lift_alpha;
    let pitch = table.pitch_zero + table.pitch_alpha * a;
    let mut new = table.clone();
    new.reference = table.reference + d;
    new.lift_q = table.lift_q - (table.lift_alpha + drag) * alpha_q - 2.0 * lift * speed_q;
    new.side_p = table.side_p - table.side_beta * beta_p;
    new.side_r = table.side_r - table.side_beta * beta_r;
    // Moment about the new point M' = M − d × F. In pitch: (d × F)_y = d_z F_x − d_x F_z, F_x = L sin α − D cos α,
    // F_z = −D sin α − L cos α.
    let along = lift * sin - drag * cos;
    let down = -drag * sin - lift * cos;
    let along_alpha = table.lift_alpha * sin + lift * cos - drag_alpha * cos + drag * sin;
    let down_alpha = -drag_alpha * sin - drag * cos - table.lift_alpha * cos + lift * sin;
    let shift = (d.z * along - d.x * down) / c;
    let shift_alpha = (d.z * along_alpha - d.x * down_alpha) / c;
    new.pitch_alpha = table.pitch_alpha - shift_alpha;
    new.pitch_zero = pitch - shift - new.pitch_alpha * a;
    // Rates of pitch: the old moment less what the new α and V bring by themselves, less d × (lift through q).
    let lift_q_arm = (d.z * sin + d.x * cos) / c;
    new.pitch_q = table.pitch_q
        - table.lift_q * lift_q_arm
        - new.pitch_alpha * alpha_q
        - 2.0 * (pitch - shift) * speed_q;
    // Across: (d × F)_x = −d_z Y, (d × F)_z = d_x Y (d_y = 0).
    new.roll_beta = table.roll_beta + d.z / b * table.side_beta;
    new.yaw_beta = table.yaw_beta - d.x / b * table.side_beta;
    let across = |own: f64, own_new_beta: f64, side: f64, arm: f64, beta: f64| {
        own - arm * side - own_new_beta * beta
    };
    new.roll_p = across(table.roll_p, new.roll_beta, table.side_p, -d.z / b, beta_p);
    new.roll_r = across(table.roll_r, new.roll_beta, table.side_r, -d.z / b, beta_r);
    new.yaw_p = across(table.yaw_p, new.yaw_beta, table.side_p, d.x / b, beta_p);
    new.yaw_r = across(table.yaw_r, new.yaw_beta, table.side_r, d.x / b, beta_r);
    new
}

/// 30 mm ahead of the balance point and as far above it as leaves no drag with q: 2C_D (d_z cos a − d_x sin a) =
/// (C_Dα − C_L)(d_x cos a + d_z sin a).
fn shift() -> Vector3<f64> {
    let (_, glide) = trimmed_glider(30.0, 1.0);
    let (sin, cos) = glide.alpha_rad.sin_cos();
    let table = plain().coefficients;
    let drag_alpha =
        2.0 * table.drag_factor * (glide.lift - table.lift_at_min_drag) * table.lift_alpha;
    let (twice, slope) = (2.0 * glide.drag, drag_alpha - glide.lift);
    let ahead = 0.03;
    let down = ahead * (twice * sin + slope * cos) / (twice * cos - slope * sin);
    Vector3::new(ahead, 0.0, down)
}

fn moved() -> Vehicle<f64> {
    let vehicle = plain();
    let alpha = trimmed_glider(30.0, 1.0).1.alpha_rad;
    Vehicle {
        coefficients: rewritten(&vehicle.coefficients, shift(), alpha),
        ..vehicle
    }
}

/// A throw into the trimmed glide, disturbed in everything by a share.
fn fly(vehicle: Vehicle<f64>, disturbance: f64) -> Flight {
    let (_, glide) = trimmed_glider(40.0, 1.0);
    let mut launch: Launch = glide.launch(40.0);
    launch.speed_m_s *= 1.0 + 0.05 * disturbance;
    launch.nose_above_path_rad += 0.03 * disturbance;
    launch.nose_right_of_path_rad += 0.04 * disturbance;
    launch.bank_rad += 0.08 * disturbance;
    launch.rates_rad_s = Vector3::new(0.5, 0.3, -0.2) * disturbance;
    let mut throw = throw(vehicle, steady_air(), launch, 3.0);
    throw.tolerance = reference_solution();
    throw.fly().unwrap()
}

/// Largest distance between two flights, m.
fn apart(disturbance: f64) -> f64 {
    let (a, b) = (fly(plain(), disturbance), fly(moved(), disturbance));
    (0..=60)
        .map(|i| {
            let t = 0.05 * f64::from(i);
            (a.state_at(t).position - b.state_at(t).position).norm()
        })
        .fold(0.0, f64::max)
}

// Where all rates vanish and the incidence is the trimmed one: the same flight to 1e-9 m.
#[test]
fn in_a_trimmed_glide_the_rewritten_table_is_exact() {
    let apart = apart(0.0);
    assert!(apart < 1e-9, "{apart:.2e}");
    // Not because the shift does nothing: the table moved without rewriting flies elsewhere.
    let mut careless = plain();
    careless.coefficients.reference = shift();
    let miss = fly(careless, 0.0).state_at(3.0).position - fly(plain(), 0.0).state_at(3.0).position;
    assert!(miss.norm() > 0.1, "{miss}");
}

// The rewritten table has all the same derivatives about the glide.
#[test]
fn the_rewritten_table_has_the_same_small_motions() {
    let (_, glide) = trimmed_glider(40.0, 1.0);
    let velocity =
        Vector3::new(glide.alpha_rad.cos(), 0.0, glide.alpha_rad.sin()) * glide.airspeed_m_s;
    let matrix = |vehicle: &Vehicle<f64>| {
        DualModel::of(vehicle, &steady_air(), &Segment::steady(&[], &[])).small_motions(
            &velocity,
            glide.alpha_rad + glide.path_angle_rad,
            40.0,
            [0.0; 2],
        )
    };
    let (old, new) = (matrix(&plain()), matrix(&moved()));
    for i in 0..8 {
        for j in 0..8 {
            let scale = old.row(i).amax().max(1e-3);
            let limit = 1e-12;
            let miss = (old[(i, j)] - new[(i, j)]).abs() / scale;
            assert!(miss < limit, "{i} {j}: {} {}", old[(i, j)], new[(i, j)]);
        }
    }
    assert!(old.norm() > 1.0);
}

// Halve the disturbance and the flights lie a quarter as far apart.
#[test]
fn disturbed_flights_part_with_the_square_of_the_disturbance() {
    let distances = [1.0, 0.5, 0.25].map(apart);
    for pair in distances.windows(2) {
        let ratio = pair[0] / pair[1];
        assert!((3.0..5.0).contains(&ratio), "{distances:?}");
    }
    assert!(distances[0] > 1e-6 && distances[0] < 0.1, "{distances:?}");
}
