//! Propellers and motors that were measured, as a builder with few numbers would describe them, and what the estimate says of them.

use crate::published::Table;
use sim_core::estimate::propulsion::{
    MotorMeasured, PropellerEstimate, PropellerMeasured, estimate,
};
use sim_core::power::propeller::{Propeller, STOPPED_DEFAULT};
use std::f64::consts::TAU;

/// One predicted quantity.
#[derive(Clone, Debug, PartialEq)]
pub struct Prediction {
    /// Which one: `set/quantity/condition`.
    pub name: String,
    /// Value predicted.
    pub value: f64,
    /// One standard deviation.
    pub one_sigma: f64,
}

/// The DA4002: 9 in across; 6.75 in of pitch and two blades from memory; its chord is taken as not known.
fn da4002() -> PropellerMeasured {
    PropellerMeasured {
        diameter_m: 0.2286,
        blades: 2,
        pitch_m: Some(6.75 * 0.0254),
        ..PropellerMeasured::default()
    }
}

fn rad_s(rpm: f64) -> f64 {
    rpm * TAU / 60.0
}

/// C_T and C_P with their bands at an advance ratio, between the rows of an estimate as in flight.
fn between(estimate: &PropellerEstimate, diameter_m: f64, ratio: f64) -> [f64; 4] {
    let flown = Propeller::from_table(diameter_m, &estimate.rows, STOPPED_DEFAULT);
    let (thrust, torque) = flown.thrust_and_torque(ratio * diameter_m, TAU, 1.0);
    let k = estimate
        .rows
        .windows(2)
        .position(|rows| ratio < rows[1].advance_ratio)
        .unwrap_or(estimate.rows.len() - 2);
    let step = estimate.rows[1].advance_ratio;
    let way = (ratio - estimate.rows[k].advance_ratio) / step;
    let mean = |list: &[f64]| list[k] + way * (list[k + 1] - list[k]);
    [
        thrust / diameter_m.powi(4),
        TAU * torque / diameter_m.powi(5),
        mean(&estimate.thrust_one_sigma),
        mean(&estimate.power_one_sigma),
    ]
}

/// Everything the estimate says of the measured propellers and motors, from conditions and few measurements alone.
///
/// # Panics
/// Where the estimate refuses one of them.
pub fn predictions() -> Vec<Prediction> {
    let mut list = Vec::new();
    let mut say = |name: String, value: f64, one_sigma: f64| {
        list.push(Prediction {
            name,
            value,
            one_sigma,
        });
    };

    // From geometry alone, at each speed it was run at rest.
    for [rpm] in Table::read("propeller_da4002_9in_static").rows(["speed_rpm"]) {
        let measured = PropellerMeasured {
            speed_rad_s: Some(rad_s(rpm)),
            ..da4002()
        };
        let found = estimate(Some(&measured), None)
            .expect("an estimate")
            .propeller
            .expect("a table");
        let row = found.rows[0];
        say(
            format!("da4002-geometry/thrust/{rpm}"),
            row.thrust_coefficient,
            found.thrust_one_sigma[0],
        );
        say(
            format!("da4002-geometry/power/{rpm}"),
            row.power_coefficient,
            found.power_one_sigma[0],
        );
    }
    // Moving, at 3030 rpm: from geometry alone, and with the thrust weighed at rest (the static row at 3280 rpm).
    let turns: f64 = 3280.0 / 60.0;
    let weighed = 0.130_863 * 1.2 * turns.powi(2) * 0.2286_f64.powi(4);
    let geometry = PropellerMeasured {
        speed_rad_s: Some(rad_s(3030.0)),
        ..da4002()
    };
    let scaled = PropellerMeasured {
        speed_rad_s: Some(rad_s(3280.0)),
        static_thrust_n: Some(weighed),
        ..da4002()
    };
    for (set, measured) in [("geometry", geometry), ("weighed", scaled)] {
        let found = estimate(Some(&measured), None)
            .expect("an estimate")
            .propeller
            .expect("a table");
        for [ratio] in Table::read("propeller_da4002_9in_3030rpm").rows(["advance_ratio"]) {
            let [thrust, power, thrust_sigma, power_sigma] = between(&found, 0.2286, ratio);
            say(
                format!("da4002-{set}/thrust/J{ratio}"),
                thrust,
                thrust_sigma,
            );
            say(format!("da4002-{set}/power/J{ratio}"), power, power_sigma);
        }
    }
    // Four 7 mm motors with 45 mm propellers of unknown pitch: rotor speed from thrust, mean voltage and mean current of each.
    let rows = Table::read("coreless_motors").rows([
        "duty_fraction",
        "supply_v",
        "supply_a",
        "thrust_g",
        "speed_rpm",
    ]);
    for [duty, volts, amperes, grams, rpm] in rows {
        let measured = PropellerMeasured {
            diameter_m: 0.045,
            blades: 2,
            static_thrust_n: Some(grams / 4.0 * 9.80665e-3),
            voltage_v: Some(duty * volts),
            current_a: Some((amperes - 0.24) / 4.0 / duty),
            ..PropellerMeasured::default()
        };
        let found = estimate(Some(&measured), None)
            .expect("an estimate")
            .propeller
            .expect("a table");
        let speed = found.static_speed_rad_s.expect("a run");
        say(
            format!("coreless/speed-rpm/{duty}"),
            speed.value * 60.0 / TAU,
            speed.one_sigma * 60.0 / TAU,
        );
        // The same with the speed measured: the motor.
        if duty > 0.8 {
            let motor = MotorMeasured {
                can_diameter_m: Some(7e-3),
                ..MotorMeasured::default()
            };
            let measured = PropellerMeasured {
                speed_rad_s: Some(rad_s(rpm)),
                ..measured
            };
            let found = estimate(Some(&measured), Some(&motor))
                .expect("an estimate")
                .motor
                .expect("a motor");
            let (constant, _) = found.constant;
            let speed_constant = 60.0 / (TAU * constant.value);
            say(
                "coreless/speed-constant-rpm-V".to_owned(),
                speed_constant,
                speed_constant * constant.one_sigma / constant.value,
            );
        }
    }
    list
}
