//! The whole estimate where something outside it says what must come out.

use super::blade::disc_power_coefficient;
use super::*;
use std::f64::consts::TAU;

fn weighed() -> PropellerMeasured {
    PropellerMeasured {
        diameter_m: 0.045,
        blades: 2,
        static_thrust_n: Some(0.1),
        speed_rad_s: Some(20_000.0 * TAU / 60.0),
        ..PropellerMeasured::default()
    }
}

// C_T0 = T/(ρ n² D⁴) by definition: 0.1/(1.2 · 333.333² · 0.045⁴) = 0.182899 (by hand).
#[test]
fn the_table_at_rest_is_what_was_weighed() {
    let found = estimate(Some(&weighed()), None).unwrap().propeller.unwrap();
    let at_rest = found.rows[0];
    assert!(
        (at_rest.thrust_coefficient - 0.182_899).abs() < 1e-6,
        "{at_rest:?}"
    );
    assert!(at_rest.advance_ratio == 0.0 && found.rows.last().unwrap().thrust_coefficient < 0.0);
    assert!(
        found
            .rows
            .windows(2)
            .all(|w| w[0].thrust_coefficient > w[1].thrust_coefficient)
    );
    // The scale (3 %), the speed (1 %, squared), the density (2 %) and the method (6 %) and the ruler (0.5 %, to the fourth).
    let by_hand = (0.03_f64.powi(2)
        + 0.02_f64.powi(2)
        + 0.02_f64.powi(2)
        + 0.06_f64.powi(2)
        + 0.02_f64.powi(2))
    .sqrt();
    assert!((found.thrust_one_sigma[0] / 0.182_899 - by_hand).abs() < 0.002);
}

// A known motor gives the speed: k = 0.0006 V s/rad, R 1 Ω, 3 V, 1 A: 2/0.0006 = 3333 rad/s; and the power (3 − 1)(1 − 0.1) = 1.8 W.
#[test]
fn a_known_motor_gives_speed_and_power() {
    let propeller = PropellerMeasured {
        speed_rad_s: None,
        static_thrust_n: Some(0.16),
        voltage_v: Some(3.0),
        current_a: Some(1.0),
        ..weighed()
    };
    let motor = MotorMeasured {
        constant: Some(6e-4),
        resistance_ohm: Some(1.0),
        no_load_current_a: Some(0.1),
        ..MotorMeasured::default()
    };
    let found = estimate(Some(&propeller), Some(&motor))
        .unwrap()
        .propeller
        .unwrap();
    let speed = found.static_speed_rad_s.unwrap().value;
    assert!((speed - 3333.333).abs() < 1e-3);
    let power = found.rows[0].power_coefficient * 1.2 * (speed / TAU).powi(3) * 0.045_f64.powi(5);
    assert!((power - 1.8).abs() < 1e-9, "{power}");
}

// D 0.045 m, T 0.1 N needs 0.5066 W at ρ 1.225 (worked by hand), so 0.512 W at 1.20: 3 V and 0.16 A are 0.48 W.
#[test]
fn more_thrust_than_the_disc_gives_is_refused() {
    let propeller = PropellerMeasured {
        voltage_v: Some(3.0),
        current_a: Some(0.16),
        ..weighed()
    };
    let Err(PropulsionError::ThrustBeyondDisc {
        needed_w,
        found_w,
        electrical: true,
        ..
    }) = estimate(Some(&propeller), None)
    else {
        panic!("refused")
    };
    assert!((needed_w - 0.506_59 * (1.225_f64 / 1.2).sqrt()).abs() < 1e-5);
    assert!((found_w - 0.48).abs() < 1e-12);
    let error = estimate(Some(&propeller), None).unwrap_err().to_string();
    assert_eq!(
        error,
        "a static thrust of 100.0 mN, for which even an ideal propeller of this diameter needs 0.51 W, from 0.48 W of voltage times current \
         (figure of merit 1.07)"
    );
    // At the shaft: R 2 Ω takes half of 3 V, I0 0.1 A a third of 0.3 A: 2.4 V × 0.2 A = 0.48 W.
    let propeller = PropellerMeasured {
        voltage_v: Some(3.0),
        current_a: Some(0.3),
        ..weighed()
    };
    let motor = MotorMeasured {
        resistance_ohm: Some(2.0),
        no_load_current_a: Some(0.1),
        ..MotorMeasured::default()
    };
    assert!(matches!(
        estimate(Some(&propeller), Some(&motor)),
        Err(PropulsionError::ThrustBeyondDisc {
            electrical: false,
            ..
        })
    ));
}

// Grams written as millinewtons are 9.8 times too small, and stand out.
#[test]
fn grams_taken_for_millinewtons_are_noticed() {
    let propeller = PropellerMeasured {
        static_thrust_n: Some(0.1 / 9.80665),
        ..weighed()
    };
    assert!(matches!(
        estimate(Some(&propeller), None),
        Err(PropulsionError::ThrustUnlikely { .. })
    ));
    let propeller = PropellerMeasured {
        diameter_m: f64::NAN,
        ..weighed()
    };
    assert!(matches!(
        estimate(Some(&propeller), None),
        Err(PropulsionError::NotPositive { .. })
    ));
}

// What is flown must not make energy: shaft power at least the disc's with thrust, at least the thrust power without, also
// between the rows of the table and for scaled ones.
#[test]
fn no_estimate_beats_the_disc() {
    for thrust in [0.05, 0.1, 0.16] {
        for pitch_m in [0.02, 0.03, 0.05] {
            let measured = PropellerMeasured {
                static_thrust_n: Some(thrust),
                pitch_m: Some(pitch_m),
                ..weighed()
            };
            let found = estimate(Some(&measured), None).unwrap().propeller.unwrap();
            let flown =
                crate::power::propeller::Propeller::from_table(0.045, &found.rows, (0.04, 0.006));
            for i in 0..=200 {
                let ratio = found.rows[10].advance_ratio * f64::from(i) / 200.0;
                let (thrust, torque) = flown.thrust_and_torque(ratio * 0.045, TAU, 1.0);
                let (thrust, power) =
                    (thrust / 0.045_f64.powi(4), TAU * torque / 0.045_f64.powi(5));
                assert!(
                    power > disc_power_coefficient(thrust, ratio),
                    "{thrust} {power} at {ratio}"
                );
            }
        }
    }
}

// A wider input gives a wider output: assuming pitch and chord cannot be surer than measuring them to the same values.
#[test]
fn measuring_narrows_the_band() {
    let measured = PropellerMeasured {
        pitch_m: Some(0.7 * 0.045),
        mean_chord_m: Some(0.125 * 0.045),
        ..weighed()
    };
    let sure = estimate(Some(&measured), None).unwrap().propeller.unwrap();
    let unsure = estimate(Some(&weighed()), None).unwrap().propeller.unwrap();
    assert_eq!(sure.rows, unsure.rows);
    for k in 1..sure.rows.len() {
        assert!(sure.thrust_one_sigma[k] < unsure.thrust_one_sigma[k]);
        assert!(sure.power_one_sigma[k] < unsure.power_one_sigma[k]);
    }
}
