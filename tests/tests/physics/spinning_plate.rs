//! A plate spinning in still air is slowed by its own drag, and in an air stream by strip theory.

use nalgebra::{Matrix3, Vector3};
use sim_core::aero::flow::Flow;
use sim_core::air::{Air, WindSample};
use sim_core::launch::Launch;
use tossline_tests::known::aircraft::{
    DENSITY_KG_M3, steady_air, throw, tight, usual_stall, weightless_air,
};
use tossline_tests::known::spinning_plate::{SIDES_M, plate, roll_rate_at, rolling_plate};

// By hand: ṗ = −k p|p| gives p = p0/(1 + k|p0|t), k from the strips' square-on drag (see known::spinning_plate).
#[test]
fn a_rolling_plate_slows_as_one_over_time() {
    for start in [30.0, -12.0] {
        let mut throw = rolling_plate(start, 4.0);
        throw.tolerance = tight();
        let flight = throw.fly().unwrap();
        for i in 0..=40 {
            let t = 0.1 * f64::from(i);
            let state = flight.state_at(t);
            let expected = roll_rate_at(start, t);
            assert!(
                (state.rates.x / expected - 1.0).abs() < 1e-9,
                "{t} s: {}",
                state.rates.x
            );
            assert_eq!((state.rates.y, state.rates.z), (0.0, 0.0));
            assert_eq!(state.velocity, Vector3::zeros());
        }
        assert!(
            flight.state_at(4.0).rates.x.abs() < 0.5 * start.abs(),
            "it slows"
        );
    }
}

// Tumbling in pitch: the same by hand with the chord's halves, ∫|x|³ dS = b c⁴/32, and I_y = m c²/12. The model
// integrates the kink at the middle by 16 Gauss points, hence 2e-4. About its own normal a flat plate meets no air: r
// stays.
#[test]
fn a_tumbling_plate_slows_and_a_twirling_one_does_not() {
    let [span, chord] = SIDES_M;
    let inertia = tossline_tests::known::spinning_plate::MASS_KG / 12.0 * chord * chord;
    let k =
        0.5 * DENSITY_KG_M3 * usual_stall().normal_at_90 * span * chord.powi(4) / 32.0 / inertia;
    let mut throw = rolling_plate(0.0, 3.0);
    throw.launch.rates_rad_s = Vector3::new(0.0, 25.0, 0.0);
    let flight = throw.fly().unwrap();
    for i in 1..=30 {
        let t = 0.1 * f64::from(i);
        let slowed = 25.0 / flight.state_at(t).rates.y - 1.0;
        assert!((slowed / (k * 25.0 * t) - 1.0).abs() < 3e-4, "{t} s");
    }
    throw.launch.rates_rad_s = Vector3::new(0.0, 0.0, 25.0);
    assert_eq!(
        throw.fly().unwrap().state_at(3.0).rates,
        Vector3::new(0.0, 0.0, 25.0)
    );
}

// Any spin at zero airspeed only ever loses energy; what is left is the twirl in the plate's own plane that no air
// opposes.
#[test]
fn every_spin_slows() {
    let vehicle = plate();
    for rates in [
        Vector3::new(10.0, 20.0, 5.0),
        Vector3::new(-15.0, 2.0, -20.0),
    ] {
        let launch = Launch {
            rates_rad_s: rates,
            ..Launch::level(50.0, 0.0)
        };
        let flight = throw(plate(), weightless_air(), launch, 20.0)
            .fly()
            .unwrap();
        let energy = |t: f64| {
            let state = flight.state_at(t);
            0.5 * state.rates.dot(&(vehicle.inertia * state.rates))
        };
        let mut last = energy(0.0);
        for i in 1..=200 {
            let now = energy(0.1 * f64::from(i));
            assert!(now < last, "{i}");
            last = now;
        }
        assert!(last < 0.9 * energy(0.0));
        let (start, end) = (flight.state_at(0.0).rates, flight.state_at(20.0).rates);
        assert!(end.x.hypot(end.y) < 0.1 * start.x.hypot(start.y), "{end}");
    }
}

fn flow(velocity: Vector3<f64>, rates: Vector3<f64>) -> Flow<f64> {
    let still = WindSample::felt_in_full(Vector3::zeros(), Vector3::zeros(), Matrix3::zeros());
    let air = Air::calm();
    let density = air.atmosphere.density(0.0);
    Flow::at(
        &Vector3::zeros(),
        &velocity,
        &rates,
        &Matrix3::identity(),
        &still,
        density,
    )
}

// Strip theory by sums: each strip of the plate has the normal force ½ρW²C_N(s)·dS of its own flow, whose normal part
// is V_z + p y − q x; for small rates the moment beyond that at rest is −(linear) p or q. C_N(s) = C_90 s/(0.56 +
// 0.44|s|).
#[test]
fn damping_in_a_stream_is_that_of_strips() {
    let vehicle = plate();
    let [span, chord] = SIDES_M;
    let normal_at_90 = usual_stall().normal_at_90;
    let strips = 400;
    let moment = |velocity: &Vector3<f64>, p: f64, q: f64, density: f64| {
        let mut sum = Vector3::zeros();
        for i in 0..strips {
            for j in 0..strips / 4 {
                let y = span * ((f64::from(i) + 0.5) / f64::from(strips) - 0.5);
                let x = chord * ((f64::from(j) + 0.5) / f64::from(strips / 4) - 0.5);
                let area = span * chord / f64::from(strips * (strips / 4));
                let local = Vector3::new(velocity.x, 0.0, velocity.z + p * y - q * x);
                let s = local.z / local.norm();
                let coefficient = normal_at_90 * s / (0.56 + 0.44 * s.abs());
                let force = -0.5 * density * local.norm_squared() * coefficient * area;
                sum += Vector3::new(x, y, 0.0).cross(&Vector3::new(0.0, 0.0, force));
            }
        }
        sum
    };
    for degrees in [20.0_f64, 50.0, 90.0, 130.0, -70.0] {
        let (sin, cos) = degrees.to_radians().sin_cos();
        let velocity = Vector3::new(7.0 * cos, 0.0, 7.0 * sin);
        let small = 1e-4;
        for (axis, p, q) in [(0, small, 0.0), (1, 0.0, small)] {
            let here = flow(velocity, Vector3::new(p, q, 0.0));
            let found = vehicle.post_stall.damping(&here, 1.0)[axis] / small;
            let strips = (moment(&velocity, p, q, here.density)[axis]
                - moment(&velocity, -p, -q, here.density)[axis])
                / (2.0 * small);
            assert!(strips < 0.0);
            // Sums in cells: 1/n² of the extent, and the part in |p|p that is left at a small rate.
            assert!(
                (found / strips - 1.0).abs() < 3e-4,
                "{degrees} deg, axis {axis}: {found} {strips}"
            );
        }
    }
}

// Falling flat the plate reaches the terminal speed of its square-on drag, V² = 2mg/(ρ S C_90), and a roll then dies
// away with it.
#[test]
fn a_plate_falls_flat_at_its_terminal_speed() {
    let vehicle = plate();
    let [span, chord] = SIDES_M;
    let mut launch = Launch::level(60.0, 0.0);
    launch.rates_rad_s.x = 0.0;
    let mut fall = throw(vehicle, steady_air(), launch, 8.0);
    // The centre of pressure lies at c/2 only at exactly 90°: balanced there, it keeps falling flat.
    fall.tolerance = tight();
    let flight = fall.fly().unwrap();
    let terminal =
        (2.0 * 0.02 * 9.80665 / (DENSITY_KG_M3 * span * chord * usual_stall().normal_at_90)).sqrt();
    let state = flight.state_at(8.0);
    assert!(
        (state.velocity.z / terminal - 1.0).abs() < 1e-6,
        "{} {terminal}",
        state.velocity
    );
}
