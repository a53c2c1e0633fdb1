//! What files are built to, against numbers worked by hand.

use super::{KNOT, STEP, airframe, close, scenario, with};
use crate::build::Side;
use crate::summary::throttle_step_times_s;
use nalgebra::{Matrix3, Vector3};
use sim_core::solver::Method;

/// Component by component.
fn near(found: &Vector3<f64>, expected: [f64; 3], tolerance: f64) {
    for (f, e) in found.iter().zip(expected) {
        assert!(
            (f - e).abs() <= tolerance,
            "found {found}, expected {expected:?}"
        );
    }
}

// By hand, in g and mm:
//   wing     2 × 100·200 mm² at 100 g/m² = 4.0    at 50
//   fin      40·50/2 mm² at 100 g/m²     = 0.1    at (60+100+100)/3, up 50/3
//   edge     400 mm at 2 g/m             = 0.8    at 0
//   spar                                   1.0    at 30
//   module                                 8.0    at 20, up 6
//   ballast                                2.0    at −10
//   sum 15.9; station (200 + 8.6667 + 0 + 30 + 160 − 20)/15.9 = 23.81551; up (1.66667 + 48)/15.9 = 3.123690.
#[test]
fn parts_add_up_to_mass_and_balance() {
    let built = airframe(KNOT, &[]).expect("an airframe").built;
    close(built.mass.mass_kg, 15.9e-3, 1e-15);
    close(built.mass.balance.station_m, 23.81551e-3, 1e-8);
    close(built.mass.balance.up_m, 3.123690e-3, 1e-9);
    close(built.mass.balance.right_m, 0.0, 1e-15);
    let grams: Vec<(&str, usize, f64)> = built
        .parts
        .iter()
        .map(|part| {
            (
                part.name.as_str(),
                part.copies,
                (part.properties.mass_kg * 1e9).round() * 1e-6,
            )
        })
        .collect();
    let expected = [
        ("wing", 2, 4.0),
        ("fin", 1, 0.1),
        ("edge", 1, 0.8),
        ("spar", 1, 1.0),
        ("module", 1, 8.0),
        ("ballast", 1, 2.0),
    ];
    for ((name, copies, mass), (expected_name, expected_copies, expected_mass)) in
        grams.into_iter().zip(expected)
    {
        assert_eq!((name, copies), (expected_name, expected_copies));
        close(mass, expected_mass, 1e-9);
    }
}

// Moment of inertia in roll by hand, in 1e-9 kg m²: wing 4·400²/12 = 53 333.3, edge 0.8·400²/12 = 10 666.7, spar 1·300²/12 = 7 500;
// thickness of the wing 4·3²/12 = 3; fin 0.1·50²/18 = 13.9 and 0.1·3²/12 = 0.1; heights over the balance point, m h²: wing
// 4·3.1237² = 39.0, edge 7.8, spar 9.8, ballast 19.5, module 8·2.8763² = 66.2, fin 0.1·13.5430² = 18.3. Sum 71 677.6.
#[test]
fn parts_add_up_to_the_roll_inertia() {
    let vehicle = airframe(KNOT, &[]).expect("an airframe").built.vehicle;
    close(vehicle.inertia[(0, 0)], 71_677.6e-9, 0.2e-9);
    assert!((vehicle.inertia * vehicle.inverse_inertia - Matrix3::identity()).norm() < 1e-12);
}

// Module at (20, 0, 6) mm; the left motor (90, −60, 14) mm from it: (110, −60, 20). From the balance point, forward, right, down:
// (23.8155 − 110, −60, 3.1237 − 20). Direction with e = 5°, toe 2°, left: (cos 5° cos 2°, −cos 5° sin 2°, −sin 5°) =
// (0.99558785, −0.03476669, −0.08715574) (table of sines and cosines).
#[test]
fn a_carried_motor_goes_with_its_carrier_and_pulls_outwards() {
    let built = airframe(KNOT, &[]).expect("an airframe").built;
    let [left, right] = built.vehicle.motors.as_slice() else {
        panic!("two motors");
    };
    near(&left.place, [-86.18449e-3, -60e-3, -16.87631e-3], 1e-8);
    near(&right.place, [-86.18449e-3, 60e-3, -16.87631e-3], 1e-8);
    near(&left.axis, [0.99558785, -0.03476669, -0.08715574], 1e-8);
    near(&right.axis, [0.99558785, 0.03476669, -0.08715574], 1e-8);
    assert_eq!((left.spin, right.spin), (1.0, -1.0));
    assert_eq!(built.steering_shares, [0.5, -0.5]);
    assert_eq!(
        (built.motors[0].side, built.motors[1].side),
        (Side::Left, Side::Right)
    );
    // 14000 rpm/V: k = 60/(2π·14000) = 6.8209e-4 N m/A.
    close(left.constant, 6.8209e-4, 1e-8);
    close(left.rotor_inertia, 7e-8, 1e-20);
    close(built.vehicle.cell.capacity, 540.0, 1e-12);

    // The module 10 mm lower and 5 mm further aft takes both motors along.
    let moved = with(
        KNOT,
        r#""station_mm": 20, "right_mm": 0, "up_mm": 6"#,
        r#""station_mm": 25, "right_mm": 0, "up_mm": -4"#,
    );
    let moved = airframe(&moved, &[]).expect("an airframe").built;
    close(moved.motors[0].place.station_m, 115e-3, 1e-12);
    close(moved.motors[0].place.up_m, 10e-3, 1e-12);
}

#[test]
fn a_fixed_mount_stays_and_a_centre_motor_turns_to_the_right() {
    let start = KNOT
        .find("    {\n      \"name\": \"left\"")
        .expect("the left motor");
    let end = KNOT
        .find("    {\n      \"name\": \"right\"")
        .expect("the right motor");
    let one = format!("{}{}", &KNOT[..start], &KNOT[end..]);
    let one = with(&one, r#""thrust_toe_deg": 2"#, r#""thrust_right_deg": 30"#);
    let one = with(
        &one,
        r#""thrust_elevation_deg": 5"#,
        r#""thrust_elevation_deg": 0"#,
    );
    let mount = one.find("\"mount\": {").expect("the mount");
    let one = format!(
        "{}\"mount\": {{ \"station_mm\": -20, \"right_mm\": 0, \"up_mm\": 3 }} }} ] }}",
        &one[..mount]
    );
    let built = airframe(&one, &[]).expect("an airframe").built;
    let motor = &built.vehicle.motors[0];
    // cos 30° = 0.8660254, sin 30° = ½; 23.81551 + 20 = 43.81551 mm ahead, 3.123690 − 3 mm below.
    near(&motor.axis, [0.8660254, 0.5, 0.0], 1e-8);
    near(&motor.place, [43.81551e-3, 0.0, 0.12369e-3], 1e-8);
    assert_eq!(built.motors[0].side, Side::Centre);
    assert_eq!(built.steering_shares, [0.0]);
}

#[test]
fn surfaces_and_reference_come_out_in_body_axes() {
    let vehicle = airframe(KNOT, &[]).expect("an airframe").built.vehicle;
    // Reference point 30 mm aft, balance point at 23.81551 mm aft and 3.123690 mm up.
    near(
        &vehicle.coefficients.reference,
        [-6.18449e-3, 0.0, 3.12369e-3],
        1e-8,
    );
    close(vehicle.coefficients.area, 0.04, 1e-15);
    // Wing 2 × 100 × 200 mm²; fin 40 × 50/2 mm² upright. Aspect ratio 400²/40 000 = 4: C_90 = 1.11 + 0.018·4.
    close(vehicle.post_stall.level.area, 0.04, 1e-15);
    close(vehicle.post_stall.upright.area, 0.001, 1e-12);
    close(vehicle.post_stall.normal_at_90, 1.182, 1e-12);
    close(vehicle.post_stall.alpha_stall, 0.244346, 1e-6);
    // Outermost: wing tips 200 mm out, fin's top 50 mm up, ballast 10 mm ahead of the nose datum.
    let reach = |x: f64, y: f64, z: f64| vehicle.reach(&Vector3::new(x, y, z));
    close(reach(0.0, -1.0, 0.0), 0.2, 1e-12);
    close(reach(0.0, 0.0, -1.0), 46.87631e-3, 1e-8);
    close(reach(1.0, 0.0, 0.0), 33.81551e-3, 1e-8);
}

#[test]
fn an_airframe_without_motors_gets_a_cell_that_never_drains() {
    let motors = KNOT.find("  \"cell\"").expect("the cell");
    let glider = format!("{} }}", KNOT[..motors].trim_end().trim_end_matches(','));
    let built = airframe(&glider, &[]).expect("a glider").built;
    assert!(built.vehicle.motors.is_empty() && built.steering_shares.is_empty());
    assert_eq!(
        (
            built.vehicle.cell.capacity,
            built.vehicle.cell.electronics_current
        ),
        (1.0, 0.0)
    );
}

#[test]
fn measured_mass_flies_as_given() {
    let parts = KNOT.find("\"parts\": [").expect("the parts");
    let end = KNOT.find("    ]\n  },\n  \"surfaces\"").expect("their end");
    let cell = KNOT.find("  \"cell\"").expect("the cell");
    let mass = r#""measured": { "mass_g": 20, "balance": { "station_mm": 24, "right_mm": 1, "up_mm": 3 },
      "inertia_xx_kg_m2": 7e-5, "inertia_yy_kg_m2": 3e-5, "inertia_zz_kg_m2": 1e-4, "product_xz_kg_m2": 2e-6 }"#;
    let text = format!(
        "{}{mass}{} }}",
        &KNOT[..parts],
        KNOT[end + 5..cell].trim_end().trim_end_matches(',')
    );
    let built = airframe(&text, &[]).expect("an airframe").built;
    close(built.vehicle.mass, 0.02, 1e-15);
    // A product of inertia +∫xz dm enters the tensor with a minus.
    let expected = Matrix3::new(7e-5, 0.0, -2e-6, 0.0, 3e-5, 0.0, -2e-6, 0.0, 1e-4);
    assert!((built.vehicle.inertia - expected).norm() < 1e-18);
    close(built.mass.balance.right_m, 1e-3, 1e-15);
    assert!(built.parts.is_empty());
}

#[test]
fn a_throw_comes_out_in_si() {
    let loaded = scenario(STEP).expect("a scenario");
    let throw = &loaded.built.throw;
    let launch = &throw.launch;
    assert_eq!(
        (launch.speed_m_s, launch.height_m, launch.charge_fraction),
        (6.0, 1.7, 1.0)
    );
    close(launch.heading_rad, std::f64::consts::FRAC_PI_2, 1e-15);
    // 18°/s = 0.3141593 rad/s.
    near(&launch.rates_rad_s, [0.0, 0.3141593, 0.0], 1e-7);
    assert_eq!(launch.rotor_speeds_rad_s, None);
    assert_eq!(throw.air.atmosphere.ground_temperature_k, 293.15);
    assert_eq!(throw.air.atmosphere.ground_pressure_pa, 101_325.0);
    // An east wind blows to the west; the first gust comes from the north and is laid out along the launch heading, east.
    near(&throw.air.mean_wind, [0.0, -2.0, 0.0], 1e-15);
    near(&throw.air.gusts[0].peak, [-3.0, 0.0, 0.0], 1e-15);
    near(&throw.air.gusts[0].along, [0.0, 1.0, 0.0], 1e-15);
    assert_eq!(
        (throw.air.gusts[0].start, throw.air.gusts[0].length),
        (5.0, 8.0)
    );
    near(&throw.air.gusts[1].peak, [0.0, 0.0, -1.0], 1e-15);
    assert!(throw.air.gusts[1].is_in_time() && throw.air.gusts[1].length == 0.5);
    // Throttle 0.3, from 1 s 0.6, from 2 s in half a second to 0.9: 0.75 half way. Tab −4°, from 1.5 s in 0.1 s to −6°.
    close(throw.pilot.throttle.after(0.5), 0.3, 1e-15);
    close(throw.pilot.throttle.after(1.0), 0.6, 1e-15);
    close(throw.pilot.throttle.after(2.25), 0.75, 1e-15);
    close(throw.pilot.tabs[0].after(0.0), -0.0698132, 1e-7);
    close(throw.pilot.tabs[0].after(9.0), -0.1047198, 1e-7);
    assert_eq!(throw.time_limit_s, 10.0);
    assert_eq!(
        (throw.tolerance.method, throw.tolerance.relative),
        (Method::Dopri5, 1e-9)
    );
    assert_eq!(loaded.built.record_interval_s, 0.01);
    let settings = loaded.built.summary;
    let steps = throttle_step_times_s(&loaded.built.throw.pilot);
    assert_eq!(steps[settings.throttle_step_number - 1], 2.0);
    assert_eq!((settings.power_window_s, settings.dip_window_s), (2.0, 5.0));
}

#[test]
fn a_scenario_without_steps_has_no_power_step() {
    let start = STEP.find("\"pilot\"").expect("the pilot");
    let end = STEP.find("\"end\"").expect("the end");
    let glide = with(
        &format!("{}{}", &STEP[..start], &STEP[end..]),
        "\"power_step_number\": 2",
        "\"power_step_number\": 1",
    );
    let built = scenario(&glide).expect("a scenario").built;
    assert!(throttle_step_times_s(&built.throw.pilot).is_empty());
}
