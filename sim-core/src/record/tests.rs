//! Rows of a flight that is known in closed form. Sources: textbook mechanics of a thrown body, by hand; g from ISO 80000-3.

use super::*;
use crate::aero::coefficients::{Coefficients, TabEffect};
use crate::aero::post_stall::{PostStall, StallAngles};
use crate::air::{Air, wind_from};
use crate::flight::Throw;
use crate::frames::BuilderPoint;
use crate::interpolate::MonotoneCubic;
use crate::launch::Launch;
use crate::pilot::{Pilot, Programme};
use crate::power::cell::Cell;
use crate::power::disc::DiscEffects;
use crate::power::propeller::{Propeller, PropellerRow};
use crate::site::Site;
use crate::solver::Tolerance;
use crate::vehicle::Vehicle;
use nalgebra::Matrix3;
use std::collections::HashMap;
use std::f64::consts::PI;

/// Mass, kg; thrust of the one motor, N; its rotor's speed, rad/s.
const MASS_KG: f64 = 0.05;
const THRUST_N: f64 = 0.3;
const ROTOR_RAD_S: f64 = 1e5;
const DIAMETER_M: f64 = 0.6;

/// A body without air forces, pushed forward by a rotor that coasts without friction, so fast that its advance ratio stays near 0.
fn pushed() -> Throw {
    let inertia = Matrix3::identity() * 1e-4;
    let mut air = Air::calm();
    air.atmosphere = crate::air::atmosphere::Atmosphere::constant_density(1.2);
    air.mean_wind = wind_from(3.0, PI, 0.5);
    let thrust_coefficient = THRUST_N / (1.2 * (ROTOR_RAD_S / TAU).powi(2) * DIAMETER_M.powi(4));
    let row = |advance_ratio| PropellerRow {
        advance_ratio,
        thrust_coefficient,
        power_coefficient: 0.0,
    };
    Throw {
        vehicle: Vehicle {
            mass: MASS_KG,
            inertia,
            inverse_inertia: Matrix3::identity() * 1e4,
            coefficients: Coefficients {
                tabs: vec![TabEffect {
                    lift: 0.0,
                    drag: 0.0,
                    pitch: 0.0,
                    side: 0.0,
                    roll: 0.0,
                    yaw: 0.0,
                }],
                ..Coefficients::none(0.0, 0.5, 0.1)
            },
            post_stall: PostStall::of(&StallAngles::never(), &[], &BuilderPoint::default()),
            apparent_mass: None,
            cell: Cell {
                capacity: 360.0,
                resistance: 0.0,
                electronics_current: 0.5,
                open_voltage: MonotoneCubic::through(&[(0.0, 4.0), (1.0, 4.0)]),
            },
            motors: vec![Motor {
                constant: 4e-4,
                resistance: 1.0,
                no_load_current: 0.0,
                rotor_inertia: 1e-30,
                spin: 1.0,
                axis: Vector3::x(),
                place: Vector3::new(0.0, 0.0, -0.02),
                propeller: Propeller::from_table(DIAMETER_M, &[row(0.0), row(1.0)], (0.0, 0.0)),
                disc: DiscEffects::none(),
            }],
            outline: vec![Vector3::new(0.0, 0.0, 0.04)],
        },
        launch: Launch {
            heading_rad: PI / 2.0,
            nose_right_of_path_rad: PI / 2.0,
            rotor_speeds_rad_s: Some(vec![ROTOR_RAD_S]),
            charge_fraction: 0.75,
            ..Launch::level(40.0, 5.0)
        },
        air,
        pilot: Pilot {
            steering_shares: vec![0.0],
            tabs: vec![Programme::constant(0.1)],
            ..Pilot::default()
        },
        site: Site::default(),
        time_limit_s: 0.25,
        tolerance: Tolerance::default(),
    }
}

fn named_row(flight: &Flight, time_s: f64) -> HashMap<String, Option<f64>> {
    let names = column_names(&["tail"], &["elevator"]);
    let values = row(flight, time_s);
    assert_eq!(names.len(), values.len());
    let rows: HashMap<_, _> = names.iter().cloned().zip(values).collect();
    assert_eq!(rows.len(), names.len(), "no name twice");
    rows
}

// Thrown east at 5 m/s with the nose to the south (right of the path), pushed south, falling; air moving north at 3 and up at 0.5 m/s.
#[test]
fn a_row_carries_what_mechanics_say() {
    let mut throw = pushed();
    // The rotor's arm would pitch the body; this flight keeps its attitude.
    throw.vehicle.motors[0].place = Vector3::zeros();
    let flight = throw.fly().unwrap();
    let row = named_row(&flight, 0.2);
    let (g, t) = (9.80665, 0.2);
    let push = THRUST_N / MASS_KG;
    let south = push * t;
    for (name, wanted) in [
        ("time_s", t),
        ("north_m", -0.5 * push * t * t),
        ("east_m", 5.0 * t),
        ("height_m", 40.0 - 0.5 * g * t * t),
        // The disc stands upright, its rim 0.3 m below: lower than the outline.
        ("clearance_m", 40.0 - 0.5 * g * t * t - 0.3),
        ("roll_deg", 0.0),
        ("pitch_deg", 0.0),
        ("body_u_m_s", south),
        ("body_v_m_s", -5.0),
        ("body_w_m_s", g * t),
        ("velocity_north_m_s", -south),
        ("velocity_east_m_s", 5.0),
        ("velocity_up_m_s", -g * t),
        ("yaw_rate_deg_s", 0.0),
        (
            "airspeed_m_s",
            ((south + 3.0).powi(2) + 25.0 + (g * t + 0.5).powi(2)).sqrt(),
        ),
        ("alpha_deg", (g * t + 0.5).atan2(south + 3.0).to_degrees()),
        (
            "beta_deg",
            -5.0_f64.atan2((south + 3.0).hypot(g * t + 0.5)).to_degrees(),
        ),
        (
            "path_angle_deg",
            (-g * t).atan2(south.hypot(5.0)).to_degrees(),
        ),
        (
            "air_path_angle_deg",
            (-g * t - 0.5).atan2((south + 3.0).hypot(5.0)).to_degrees(),
        ),
        ("load_factor_normal", 0.0),
        ("load_factor_forward", THRUST_N / (MASS_KG * g)),
        ("load_factor_side", 0.0),
        ("attached_fraction", 1.0),
        ("density_kg_m3", 1.2),
        ("wind_north_m_s", 3.0),
        ("wind_east_m_s", 0.0),
        ("wind_up_m_s", 0.5),
        ("cell_voltage_V", 4.0),
        ("cell_current_A", 0.5),
        // A quarter of 100 mAh was gone; 0.5 A for 0.2 s are 0.1 C.
        ("charge_used_mAh", 25.0 + 0.1 / 3.6),
        ("charge_left_fraction", 0.75 - 0.1 / 360.0),
        ("motor_tail_throttle_fraction", 0.0),
        ("motor_tail_rotor_speed_rpm", 1e5 * 60.0 / TAU),
        ("motor_tail_thrust_N", THRUST_N),
        ("motor_tail_torque_N_m", 0.0),
        ("motor_tail_current_A", 0.0),
        (
            "motor_tail_advance_ratio",
            (south + 3.0) * TAU / (1e5 * DIAMETER_M),
        ),
        ("tab_elevator_deg", 0.1_f64.to_degrees()),
        ("force_weight_z_N", MASS_KG * g),
        ("force_motor_tail_x_N", THRUST_N),
        ("force_total_x_N", THRUST_N),
        ("moment_total_y_N_m", 0.0),
    ] {
        let found = row[name].unwrap_or_else(|| panic!("{name} is empty"));
        assert!(
            (found - wanted).abs() < 1e-6 * (1.0 + wanted.abs()),
            "{name}: {found}, wanted {wanted}"
        );
    }
    // The nose points south: at the jump of the yaw.
    assert!((row["yaw_deg"].unwrap().abs() - 180.0).abs() < 1e-6);
    let length: f64 = ["w", "x", "y", "z"]
        .iter()
        .map(|i| row[&format!("quaternion_{i}")].unwrap().powi(2))
        .sum();
    assert!((length - 1.0).abs() < 1e-15);
}

// A rotor that pushes to the right, to the left, and up, through the balance point: the load factor is the push over the weight, with its
// sign; along y right, along −z up. 0.3 N over 0.05 kg · 9.80665 m/s² is 0.6118 (by hand).
#[test]
fn load_factors_have_the_sign_of_the_push() {
    for (axis, forward, side, normal) in [
        (Vector3::y(), 0.0, 0.6118, 0.0),
        (-Vector3::y(), 0.0, -0.6118, 0.0),
        (-Vector3::z(), 0.0, 0.0, 0.6118),
        (-Vector3::x(), -0.6118, 0.0, 0.0),
    ] {
        let mut throw = pushed();
        throw.vehicle.motors[0].place = Vector3::zeros();
        throw.vehicle.motors[0].axis = axis;
        let row = named_row(&throw.fly().unwrap(), 0.1);
        for (name, wanted) in [
            ("load_factor_forward", forward),
            ("load_factor_side", side),
            ("load_factor_normal", normal),
        ] {
            let found = row[name].unwrap();
            assert!((found - wanted).abs() < 5e-5, "{name}: {found}, {axis}");
        }
    }
}

// Thrust 20 mm above the balance point: a moment of −0.3 · 0.02 = −6 mN m about y.
#[test]
fn sources_add_up_to_the_total() {
    let flight = pushed().fly().unwrap();
    let row = named_row(&flight, 0.1);
    assert!((row["moment_motor_tail_y_N_m"].unwrap() + 6e-3).abs() < 1e-8);
    let sources = [
        "attached",
        "alpha_rate",
        "plates",
        "damping",
        "motor_tail",
        "gyroscopic",
        "spin_up",
        "weight",
    ];
    for (kind, unit) in [("force", "N"), ("moment", "N_m")] {
        for axis in ["x", "y", "z"] {
            let value = |source: &str| row[&format!("{kind}_{source}_{axis}_{unit}")].unwrap();
            let sum: f64 = sources.iter().map(|source| value(source)).sum();
            assert!((sum - value("total")).abs() < 1e-15);
        }
    }
}

#[test]
fn rows_are_uniform_and_end_with_the_end() {
    let flight = pushed().fly().unwrap();
    assert_eq!(row_times_s(&flight, 0.1), [0.0, 0.1, 0.2, 0.25]);
    assert_eq!(
        row_times_s(&flight, 0.05).len(),
        6,
        "a multiple at the end stands once"
    );
    assert_eq!(row_times_s(&flight, 0.05)[5], 0.25);
    assert_eq!(row_times_s(&flight, 9.0), [0.0, 0.25]);
    assert_eq!(
        row(&flight, 0.2),
        row(&flight, row_times_s(&flight, 0.1)[2])
    );
}

// The same flight in other inner steps has the same row times and, to the tolerance, the same rows.
#[test]
fn rows_do_not_depend_on_inner_steps() {
    let mut fine = pushed();
    fine.tolerance.largest_step_s = 0.007;
    let flights = [pushed(), fine].map(|throw| throw.fly().unwrap());
    assert_ne!(
        flights[0].counts.accepted_steps,
        flights[1].counts.accepted_steps
    );
    let times = flights.each_ref().map(|flight| row_times_s(flight, 0.03));
    assert_eq!(times[0], times[1]);
    for &time_s in &times[0] {
        let [a, b] = flights.each_ref().map(|flight| row(flight, time_s));
        for ((name, a), b) in column_names(&["tail"], &["elevator"]).iter().zip(a).zip(b) {
            let (a, b) = (a.unwrap(), b.unwrap());
            assert!(
                (a - b).abs() < 1e-6 * (1.0 + a.abs()),
                "{name} at {time_s} s: {a}, {b}"
            );
        }
    }
}

#[test]
fn what_does_not_exist_is_empty() {
    let mut still = pushed();
    still.launch.rotor_speeds_rad_s = Some(vec![0.0]);
    assert_eq!(
        named_row(&still.fly().unwrap(), 0.0)["motor_tail_advance_ratio"],
        None
    );
    still.vehicle.motors.clear();
    still.pilot.steering_shares.clear();
    let flight = still.fly().unwrap();
    let names = column_names(&[] as &[&str], &["elevator"]);
    let row = row(&flight, 0.1);
    assert_eq!(names.len(), row.len());
    let empty: Vec<&String> = names
        .iter()
        .zip(&row)
        .filter(|(_, x)| x.is_none())
        .map(|(name, _)| name)
        .collect();
    assert_eq!(
        empty,
        [
            "cell_voltage_V",
            "cell_current_A",
            "charge_used_mAh",
            "charge_left_fraction"
        ]
    );
}
