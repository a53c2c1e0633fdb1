//! Lanchester's phugoid (Aerodonetics, 1908; period and first integral from memory).
//!
//! Without drag and at constant lift coefficient: small oscillations about level flight at V have the period π√2 V/g,
//! and cos γ = z/(3 z1) + C√(z1/z) with z = V²/2g, z1 that of level flight, C constant along every path.

use nalgebra::Vector3;
use sim_core::aero::coefficients::Coefficients;
use sim_core::frames::rotation;
use sim_core::launch::Launch;
use sim_core::mass::inertia_tensor;
use tossline_tests::known::aircraft::{DENSITY_KG_M3, body, steady_air, throw, tight};
use tossline_tests::known::frictionless::{first_integral, lanchester, phugoid_period_s};

/// Mean time between tops of the path.
fn period(apexes: &[f64]) -> f64 {
    (apexes[apexes.len() - 1] - apexes[0]) / (apexes.len() - 1) as f64
}

// Numbers by hand: V 5 m/s 2.26524 s, 8 m/s 3.62438 s. A swing of 0.2 % of the speed changes the period by the order
// of its square.
#[test]
fn small_swings_have_lanchesters_period() {
    for (speed, seconds) in [(5.0, 2.26524), (8.0, 3.62438)] {
        let mut throw = lanchester(speed, Launch::level(50.0, 1.002 * speed), 30.0);
        throw.tolerance = tight();
        let found = period(&throw.fly().unwrap().apex_times_s);
        assert!((found / seconds - 1.0).abs() < 1e-5, "{found}");
        assert!(
            (found / phugoid_period_s(speed) - 1.0).abs() < 1e-5,
            "{found}"
        );
    }
}

// From gentle swings (C near 2/3) over cusps (C = 0) to loops (C < 0): speed at level and path angle at release, and
// the constant they give.
#[test]
fn the_first_integral_stays_on_waves_and_loops() {
    let mut loops = 0;
    for (speed_share, path_angle) in [(1.1, 0.0), (0.5, 0.2), (1.5, -0.3), (2.2, 0.0), (3.0, 0.3)] {
        let level = 6.0;
        let launch = Launch {
            path_angle_rad: path_angle,
            ..Launch::level(60.0, speed_share * level)
        };
        let mut throw = lanchester(level, launch, 12.0);
        throw.tolerance = tight();
        let flight = throw.fly().unwrap();
        let measure = |t: f64| {
            let state = flight.state_at(t);
            let velocity = rotation(&state.attitude) * state.velocity;
            // Along the path upside down γ runs on past 90°: its cosine is the forward speed over the speed.
            let gamma = (-velocity.z).atan2(velocity.x);
            (
                first_integral(level, velocity.norm(), gamma),
                0.5 * velocity.norm_squared() + 9.80665 * state.height(),
            )
        };
        let (constant, energy) = measure(0.0);
        loops += i32::from(constant < 0.0);
        for i in 0..=240 {
            let (c, e) = measure(0.05 * f64::from(i));
            assert!((c - constant).abs() < 1e-9, "{speed_share}: {c} {constant}");
            assert!((e / energy - 1.0).abs() < 1e-10, "{speed_share}: {e}");
        }
    }
    assert!(loops >= 2, "some paths loop");
}

// The same for an aircraft that has to hold its incidence by its tail: lift slope 4, a strong C_mα and little inertia
// keep α at its trim value. What the theory leaves out: turning with the path at q takes −C_mq q c/2V of moment,
// hence an incidence of C_mq/C_mα · q c/2V beside trim, a lift that leads the path. With C_mq/C_mα = 1 and c/2V ·
// ω_ph = 0.0004 the period may differ by a few 1e-3.
#[test]
fn an_aircraft_held_by_its_tail_has_the_period_too() {
    let (speed, mass, area) = (8.0, 0.04, 0.06);
    let lift = mass * 9.80665 / (0.5 * DENSITY_KG_M3 * f64::powi(speed, 2) * area);
    let table = Coefficients {
        lift_zero: lift,
        lift_alpha: 4.0,
        pitch_alpha: -8.0,
        pitch_q: -8.0,
        ..Coefficients::none(area, 0.5, 0.002)
    };
    let vehicle = body(
        mass,
        inertia_tensor(Vector3::new(4e-4, 2e-7, 4e-4), 0.0, 0.0, 0.0),
        table,
    );
    let flight = throw(
        vehicle,
        steady_air(),
        Launch::level(60.0, 1.01 * speed),
        24.0,
    )
    .fly()
    .unwrap();
    let found = period(&flight.apex_times_s);
    assert!(
        (found / phugoid_period_s(speed) - 1.0).abs() < 3e-3,
        "{found}"
    );
}

// With drag, gliding at γ0 = −1/E (E the glide ratio), small motions along the path by hand, at constant C_L and C_D:
//   V̇ = −(2g/VE) δV − g δγ,   γ̇ = (2g/V²) δV − (g/VE) δγ,
// so the swing fades with 3g/2VE and turns at ω² = 2g²/V² (1 + 1/E²) − (3g/2VE)². (The textbook's ζ = 1/(√2 E) is for
// level flight under thrust; the slope of the glide adds half as much.) V, γ0 of the glide, first order in 1/E².
#[test]
fn drag_damps_the_phugoid_by_the_glide_ratio() {
    let level = 6.0;
    let mut throw = lanchester(level, Launch::level(60.0, 1.02 * level), 20.0);
    let glide_ratio = 25.0;
    throw.vehicle.coefficients.drag_min = throw.vehicle.coefficients.lift_zero / glide_ratio;
    let path_angle = (1.0_f64 / glide_ratio).atan();
    throw.launch.path_angle_rad = -path_angle;
    throw.launch.speed_m_s *= path_angle.cos().sqrt();
    throw.tolerance = tight();
    let flight = throw.fly().unwrap();
    // Swings of the path angle about the glide, where they turn.
    let swing = |t: f64| {
        let state = flight.state_at(t);
        let velocity = rotation(&state.attitude) * state.velocity;
        (-velocity.z).atan2(velocity.x) + path_angle
    };
    let step = 0.001;
    let peaks: Vec<f64> = (1..19_999)
        .map(|i| f64::from(i) * step)
        .filter(|&t| swing(t) > swing(t - step) && swing(t) > swing(t + step))
        .map(swing)
        .collect();
    assert!(peaks.len() >= 5, "{peaks:?}");
    let decrement = (peaks[0] / peaks[4]).ln() / 4.0;
    let fading = 1.5 / glide_ratio;
    let turning = (2.0 * (1.0 + 1.0 / (glide_ratio * glide_ratio)) - fading * fading).sqrt();
    let expected = std::f64::consts::TAU * fading / turning;
    assert!(
        (decrement / expected - 1.0).abs() < 0.005,
        "{decrement} {expected}"
    );
}
