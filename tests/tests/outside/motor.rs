//! Brushed motors: U = kΩ + RI, M = k(I − I0) (textbook, from memory); a worked example, the spin-up, a measured set
//! of four.

use nalgebra::Vector3;
use sim_core::aero::coefficients::Coefficients;
use sim_core::interpolate::MonotoneCubic;
use sim_core::launch::Launch;
use sim_core::power::cell::Cell;
use sim_core::power::disc::DiscEffects;
use sim_core::power::motor::Motor;
use sim_core::power::propeller::{Propeller, PropellerRow, STOPPED_DEFAULT};
use std::f64::consts::TAU;
use tossline_tests::known::aircraft::{body, steady_pilot, throw, tight, weightless_air};
use tossline_tests::known::power::ideal_cell;
use tossline_tests::published::Table;

const VOLTS: f64 = 12.0;

/// A propeller that does nothing.
fn no_propeller() -> Propeller<f64> {
    let rows = [0.0, 1.0].map(|advance_ratio| PropellerRow {
        advance_ratio,
        thrust_coefficient: 0.0,
        power_coefficient: 0.0,
    });
    Propeller::from_table(0.05, &rows, (0.0, 0.0))
}

/// The worked example: 12 V, 25 Ω, 0.014 N m/A, 0.02 A without load.
fn example() -> Motor<f64> {
    Motor {
        constant: 0.014,
        resistance: 25.0,
        no_load_current: 0.02,
        rotor_inertia: 2e-7,
        spin: 1.0,
        axis: Vector3::x(),
        place: Vector3::zeros(),
        propeller: no_propeller(),
        disc: DiscEffects::none(),
    }
}

/// Shaft torque (N m) and current (A) at a speed (rad/s), full voltage.
fn run(motor: &Motor<f64>, rotor: f64) -> (f64, f64) {
    let current = motor.current(1.0, VOLTS, rotor);
    (motor.torque(current, rotor), current)
}

// Stall current 0.48 A, no-load speed 821.43 rad/s (7844.07 rpm), stall torque 6.44 mN m, best efficiency 0.63342 =
// (1 − √(I0/I_stall))², most power 1.3225 W. The model fades friction below 20 rad/s, so the stall torque is that of
// the straight line through two speeds.
#[test]
fn the_worked_example_comes_out() {
    let motor = example();
    assert!((run(&motor, 0.0).1 - 0.48).abs() < 1e-15);
    let (low, high) = (run(&motor, 300.0).0, run(&motor, 600.0).0);
    assert!((2.0 * low - high - 6.44e-3).abs() < 1e-12);
    let slope = (high - low) / 300.0;
    assert!((300.0 - low / slope - 821.43).abs() < 5e-3);
    assert!((slope + 0.014 * 0.014 / 25.0).abs() < 1e-15);
    let (mut efficiency, mut power) = (0.0_f64, 0.0_f64);
    for i in 1..=82_142 {
        let speed = 0.01 * f64::from(i);
        let (torque, current) = run(&motor, speed);
        efficiency = efficiency.max(torque * speed / (VOLTS * current));
        power = power.max(torque * speed);
    }
    assert!((efficiency - 0.633_42).abs() < 5e-6, "{efficiency}");
    assert!((power - 1.3225).abs() < 5e-5, "{power}");
}

// A motor without load starts as Ω = Ω_end + (Ω_0 − Ω_end) exp(−t/τ), τ = R J/k² (same source). Flown in the whole
// model, from 100 rad/s, where friction is whole to 1e-4 and the rest fades at once.
#[test]
fn the_rotor_starts_with_the_time_constant_of_the_textbook() {
    let motor = example();
    let tau = motor.resistance * motor.rotor_inertia / (motor.constant * motor.constant);
    let end = (VOLTS - motor.resistance * motor.no_load_current) / motor.constant;
    let mut vehicle = body(
        0.05,
        nalgebra::Matrix3::identity() * 1e-3,
        Coefficients::none(0.01, 0.1, 0.1),
    );
    vehicle.cell = ideal_cell(VOLTS);
    vehicle.motors.push(motor);
    let launch = Launch {
        rotor_speeds_rad_s: Some(vec![100.0]),
        ..Launch::level(20.0, 0.0)
    };
    let mut throw = throw(vehicle, weightless_air(), launch, 0.2);
    throw.pilot = steady_pilot(1.0, 0.0, &[]);
    throw.pilot.steering_shares = vec![0.0];
    throw.tolerance = tight();
    let flight = throw.fly().unwrap();
    for i in 0..=100 {
        let t = 0.002 * f64::from(i);
        let expected = end + (100.0 - end) * (-t / tau).exp();
        let found = flight.state_at(t).rotors[0];
        assert!(
            (found / expected - 1.0).abs() < 2e-6,
            "{t} s: {found} {expected}"
        );
    }
    // Charge is the integral of the current (k(Ω_end − Ω)/R + I0), by hand.
    let charge = 0.02 * 0.2 + motor_charge(end - 100.0, tau, 0.2);
    assert!((flight.state_at(0.2).charge / charge - 1.0).abs() < 2e-6);
}

/// ∫ k(Ω_end − Ω)/R dt over a start lasting t.
fn motor_charge(gap_rad_s: f64, tau: f64, t: f64) -> f64 {
    0.014 / 25.0 * gap_rad_s * tau * (1.0 - (-t / tau).exp())
}

// Voltage and currents obey Ohm and Kirchhoff whatever the duties and speeds: U + R_c ΣI = U_0, each I = max(0, (dU −
// kΩ)/R).
#[test]
fn cell_and_motors_obey_ohm_and_kirchhoff() {
    let mut random = tossline_tests::known::random::Random::new(11);
    let motors = vec![
        example(),
        Motor {
            resistance: 1.3,
            constant: 0.002,
            ..example()
        },
    ];
    for _ in 0..2000 {
        let cell = Cell {
            capacity: 500.0,
            resistance: random.between(0.0, 2.0),
            electronics_current: random.between(0.0, 0.2),
            open_voltage: MonotoneCubic::through(&[(0.0, 3.0), (0.5, 3.7), (1.0, 4.2)]),
        };
        let duty = [random.between(0.0, 1.0), random.between(0.0, 1.0)];
        let rotors = [random.between(0.0, 400.0), random.between(0.0, 3000.0)];
        let charge = random.between(0.0, 1.0);
        let voltage = cell.terminal_voltage(charge, &motors, &duty, &rotors);
        let current: f64 = (0..2)
            .map(|i| {
                let motor = &motors[i];
                duty[i]
                    * ((duty[i] * voltage - motor.constant * rotors[i]) / motor.resistance).max(0.0)
            })
            .sum();
        let open = cell.open_voltage.at(charge);
        let residual = voltage + cell.resistance * (current + cell.electronics_current) - open;
        assert!(residual.abs() < 1e-12, "{residual:.2e}");
    }
}

/// Rows of the measured set of four: duty, supply V, battery A, thrust N each motor, rotor rad/s.
fn measured() -> Vec<[f64; 5]> {
    Table::read("coreless_motors")
        .rows([
            "duty_fraction",
            "supply_v",
            "supply_a",
            "thrust_g",
            "speed_rpm",
        ])
        .into_iter()
        .map(|[duty, volts, amperes, grams, rpm]| {
            [
                duty,
                volts,
                amperes,
                grams / 4.0 * 9.80665e-3,
                rpm * TAU / 60.0,
            ]
        })
        .collect()
}

/// Density of the room the set was measured in, kg/m³ (not published).
const ROOM: f64 = 1.2;
const DIAMETER_M: f64 = 0.045;

/// Mean C_T of rows, C_T = T/(ρ n² D⁴).
fn fitted_thrust_coefficient(rows: &[[f64; 5]]) -> f64 {
    let coefficient =
        |row: &[f64; 5]| row[3] / (ROOM * (row[4] / TAU).powi(2) * DIAMETER_M.powi(4));
    rows.iter().map(coefficient).sum::<f64>() / rows.len() as f64
}

fn set_propeller(thrust_coefficient: f64, power_coefficient: f64) -> Propeller<f64> {
    let rows = [0.0, 0.5].map(|advance_ratio| PropellerRow {
        advance_ratio,
        thrust_coefficient,
        power_coefficient,
    });
    Propeller::from_table(DIAMETER_M, &rows, STOPPED_DEFAULT)
}

// The mean C_T of rows 1, 3, 5, 7 of the measured set of four must give the thrust of rows 2, 4, 6 at their speeds
// within 6 %. (The measured C_T itself rises by 7 % with speed from row 2 to row 6, a Reynolds effect that one table
// leaves out.)
#[test]
fn thrust_of_the_measured_set_follows_the_square_of_its_speed() {
    let rows = measured();
    let half: Vec<_> = rows.iter().copied().step_by(2).collect();
    let propeller = set_propeller(fitted_thrust_coefficient(&half), 0.1);
    for row in rows.iter().skip(1).step_by(2) {
        let (thrust, _) = propeller.thrust_and_torque(0.0, row[4], ROOM);
        assert!((thrust / row[3] - 1.0).abs() < 0.06, "{row:?}: {thrust}");
    }
}

// The supply's voltage falls along a line with the current: U_0 and R by least squares over rows 1, 3, 5, 7 as a
// cell's open voltage and resistance, with the current drawn as electronics, must give the voltage of rows 2, 4, 6
// within 0.03 V.
#[test]
fn the_supply_of_the_measured_set_is_a_cell_with_resistance() {
    let rows = measured();
    let half: Vec<_> = rows.iter().step_by(2).collect();
    let count = half.len() as f64;
    let (mean_u, mean_i) = (
        half.iter().map(|r| r[1]).sum::<f64>() / count,
        half.iter().map(|r| r[2]).sum::<f64>() / count,
    );
    let slope = half
        .iter()
        .map(|r| (r[1] - mean_u) * (r[2] - mean_i))
        .sum::<f64>()
        / half.iter().map(|r| (r[2] - mean_i).powi(2)).sum::<f64>();
    for row in rows.iter().skip(1).step_by(2) {
        let cell = Cell {
            capacity: 1.0,
            resistance: -slope,
            electronics_current: row[2],
            open_voltage: ideal_cell(mean_u - slope * mean_i).open_voltage,
        };
        let voltage = cell.terminal_voltage(1.0, &[], &[], &[]);
        assert!((voltage - row[1]).abs() < 0.03, "{row:?}: {voltage}");
    }
}

// Throttle to rotor speed and current: k, R, I0 and C_P fitted to rows 1, 3, 5, 7 (SciPy 1.17.1 least_squares on
// relative errors of speed and current, all four positive), rows 2, 4, 6 predicted. The battery currents come back
// within 5 %, the speeds only within 25 %: this driver and its small motors do not follow the law of a continuous
// current (MODEL.md 6.1), they run faster than d·U lets them at small duties, and the fitted k, R, I0 are nothing
// physical. The band says what that law is worth for throttle at part load; it is no proof of it.
#[test]
fn part_throttle_of_the_measured_set_is_met_within_a_wide_band() {
    const FITTED: [f64; 4] = [1.072_371e-3, 0.02, 0.636_139_9, 5.711_991e-11];
    let [constant, resistance, no_load_current, torque_per_square] = FITTED;
    let power_coefficient = torque_per_square * TAU.powi(3) / (ROOM * DIAMETER_M.powi(5));
    let motor = Motor {
        constant,
        resistance,
        no_load_current,
        propeller: set_propeller(0.17, power_coefficient),
        disc: DiscEffects::none(),
        ..example()
    };
    for [duty, volts, amperes, _, speed] in measured().into_iter().skip(1).step_by(2) {
        let balance = |rotor: f64| {
            let current = motor.current(duty, volts, rotor);
            let (_, torque) = motor.propeller.thrust_and_torque(0.0, rotor, ROOM);
            motor.torque(current, rotor) - torque
        };
        let (mut low, mut high) = (100.0, 10_000.0);
        for _ in 0..80 {
            let middle = (low + high) / 2.0;
            if balance(middle) > 0.0 {
                low = middle;
            } else {
                high = middle;
            }
        }
        let battery = 0.24 + 4.0 * duty * motor.current(duty, volts, low);
        assert!(
            (low / speed - 1.0).abs() < 0.25,
            "duty {duty}: {low} {speed}"
        );
        assert!(
            (battery / amperes - 1.0).abs() < 0.05,
            "duty {duty}: {battery} {amperes}"
        );
    }
}
