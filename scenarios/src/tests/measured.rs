//! Propellers and motors that were weighed instead of tabulated.

use super::{KNOT, airframe, close, with};
use crate::overrides::Override;

const TABLE: &str = r#""table": [
        { "advance_ratio": 0, "thrust_coefficient": 0.12, "power_coefficient": 0.06 },
        { "advance_ratio": 0.4, "thrust_coefficient": 0.07, "power_coefficient": 0.05 },
        { "advance_ratio": 0.9, "thrust_coefficient": -0.02, "power_coefficient": 0.01 }
      ]"#;
const CONSTANTS: &str = r#""speed_constant_rpm_V": 14000,
      "resistance_ohm": 0.9,
      "no_load_current_A": 0.08,"#;

/// The knot with its propeller measured, both motors as given.
fn weighed(propeller: &str) -> String {
    with(KNOT, TABLE, &format!(r#""measured": {{ {propeller} }}"#))
}

/// The same with both motors measured as well.
fn both(propeller: &str, motor: &str) -> String {
    let text = weighed(propeller);
    let motor = format!(r#""measured": {{ {motor} }},"#);
    with(&with(&text, CONSTANTS, &motor), CONSTANTS, &motor)
}

fn says(text: &str, expected: &str) {
    let error = airframe(text, &[]).expect_err(expected).to_string();
    assert_eq!(error, expected);
}

// C_T0 = T/(ρ n² D⁴): 10 g are 98.0665 mN; at 20 000 rpm and ρ 1.20: 0.0980665/(1.2 · 333.3333² · 0.045⁴) = 0.0980665/0.54675 = 0.179363 (by hand).
#[test]
fn grams_and_millinewtons_weigh_the_same() {
    let flown = |text: &str| {
        let built = airframe(text, &[]).expect("an airframe").built;
        let propeller = &built.vehicle.motors[0].propeller;
        propeller
            .thrust_and_torque(0.0, 20_000.0 * std::f64::consts::TAU / 60.0, 1.2)
            .0
    };
    let grams = flown(&weighed(r#""static_thrust_g": 10, "at_rpm": 20000"#));
    close(grams, 0.0980665, 1e-12);
    close(
        flown(&weighed(r#""static_thrust_mN": 98.0665, "at_rpm": 20000"#)),
        grams,
        1e-12,
    );
    let built = airframe(&weighed(r#""static_thrust_g": 10, "at_rpm": 20000"#), &[])
        .expect("an airframe")
        .built;
    let first = &built.worked_out[0];
    assert_eq!(
        first.path,
        "propellers.two-blade-45.thrust_coefficient at advance ratio 0.000"
    );
    close(first.value, 0.179_363, 1e-6);
    assert!(first.one_sigma > 0.03 * first.value && first.one_sigma < 0.2 * first.value);
    assert!(
        first.method.contains("pitch assumed 31.5 mm"),
        "{}",
        first.method
    );
}

// A motor measured without load and held fast: R = 1/1.25 = 0.8 Ω, k = (3 − 0.8·0.1)/ω0, KV = 40 000/(3 − 0.08) = 13 698.6 rpm/V.
#[test]
fn a_motor_is_filled_in_from_two_runs() {
    let motor = r#""no_load_rpm": 40000, "no_load_voltage_V": 3, "stall_current_A": 1.25, "stall_voltage_V": 1"#;
    let text = with(
        KNOT,
        CONSTANTS,
        &format!(r#""no_load_current_A": 0.1, "measured": {{ {motor} }},"#),
    );
    let built = airframe(&text, &[]).expect("an airframe").built;
    let [left, right] = built.vehicle.motors.as_slice() else {
        panic!("two motors")
    };
    close(left.resistance, 0.8, 1e-12);
    close(
        60.0 / std::f64::consts::TAU / left.constant,
        13_698.63,
        0.01,
    );
    assert_eq!(left.no_load_current, 0.1);
    assert_eq!(right.resistance, 0.9);
    let paths: Vec<&str> = built
        .worked_out
        .iter()
        .map(|one| one.path.as_str())
        .collect();
    assert_eq!(
        paths,
        [
            "motors.left.speed_constant_rpm_V",
            "motors.left.resistance_ohm"
        ]
    );
    assert_eq!(
        airframe(KNOT, &[]).expect("an airframe").built.worked_out,
        []
    );
}

#[test]
fn a_weighing_with_current_fills_in_both_and_reads_back_the_same() {
    let text = both(
        r#""static_thrust_g": 12, "at_current_A": 1, "at_voltage_V": 3"#,
        r#""can_diameter_mm": 7"#,
    );
    let loaded = airframe(&text, &[]).expect("an airframe");
    let motors = &loaded.built.vehicle.motors;
    assert_eq!(motors[0].constant, motors[1].constant);
    // Sane for a motor of that kind: some 0.5 to 2 Ω, 8000 to 20 000 rpm/V.
    let speed_constant = 60.0 / std::f64::consts::TAU / motors[0].constant;
    assert!(
        (0.5..2.0).contains(&motors[0].resistance),
        "{}",
        motors[0].resistance
    );
    assert!((8e3..2e4).contains(&speed_constant), "{speed_constant}");
    let again = airframe(&loaded.effective().value.to_string(), &[]).expect("the effective file");
    assert_eq!(again.built.worked_out, loaded.built.worked_out);
    // Known better by an override: then only the others are worked out.
    let known = Override::parse("motors.*.resistance_ohm=1.1").unwrap();
    let loaded = airframe(&text, &[known]).expect("an airframe");
    assert_eq!(loaded.built.vehicle.motors[1].resistance, 1.1);
    let heavier =
        Override::parse(r#"propellers.*.measured.static_thrust_g={"multiply": 1.1}"#).unwrap();
    let more = airframe(&text, &[heavier]).expect("an airframe");
    assert_eq!(
        more.file.propellers[0]
            .measured
            .as_ref()
            .unwrap()
            .static_thrust_g,
        Some(12.0 * 1.1)
    );
}

#[test]
fn measurements_that_cannot_be_are_refused_with_numbers() {
    says(
        &with(KNOT, TABLE, r#""stopped_torque_coefficient": 0.006"#),
        "knot.json:86: propellers.two-blade-45: found neither \"table\" nor \"measured\", wanted \"table\" or \"measured\"",
    );
    says(
        &with(KNOT, TABLE, &format!(r#"{TABLE}, "measured": {{}}"#)),
        "knot.json:86: propellers.two-blade-45: found \"table\" and \"measured\", wanted \"table\" or \"measured\", not both",
    );
    says(
        &with(KNOT, r#""resistance_ohm": 0.9,"#, ""),
        "knot.json:97: motors.left.resistance_ohm: found nothing, wanted a number, or \"measured\" with what was measured on the motor",
    );
    says(
        &with(
            KNOT,
            CONSTANTS,
            &format!(r#"{CONSTANTS} "measured": {{}},"#),
        ),
        "knot.json:102: motors.left.measured: found measurements beside all three of \"speed_constant_rpm_V\", \"resistance_ohm\" and \
         \"no_load_current_A\", wanted one or the other",
    );
    says(
        &weighed(r#""static_thrust_g": 10"#),
        "knot.json:89: propellers.two-blade-45.measured: found a weighed thrust alone, wanted \"at_rpm\", or \"at_current_A\" and \
         \"at_voltage_V\", beside the weighed thrust",
    );
    says(
        &weighed(r#""static_thrust_g": 10, "static_thrust_mN": 98, "at_rpm": 20000"#),
        "knot.json:89: propellers.two-blade-45.measured.static_thrust_g: found \"static_thrust_mN\" as well, wanted the weighed thrust once",
    );
    says(
        &weighed(r#""static_thrust_g": 10, "at_current_A": 0.5"#),
        "knot.json:89: propellers.two-blade-45.measured.at_voltage_V: found nothing, wanted a number beside \"at_current_A\"",
    );
    says(
        &weighed(r#""blades": 0"#),
        "knot.json:89: propellers.two-blade-45.measured.blades: found 0, wanted a whole number from 1 to 8",
    );
    // 20 g on 45 mm: 0.1961^1.5/√(2·1.2·0.0015904) = 1.41 W (by hand), from 3 V × 0.3 A.
    says(
        &both(
            r#""static_thrust_g": 20, "at_current_A": 0.3, "at_voltage_V": 3"#,
            "",
        ),
        "knot.json:89: propellers.two-blade-45.measured.static_thrust_g: found a static thrust of 196.1 mN, for which even an ideal \
         propeller of this diameter needs 1.41 W, from 0.90 W of voltage times current (figure of merit 1.56), wanted measurements that \
         agree with one another",
    );
    // 3.3 V over 0.9 Ω is 3.667 A.
    says(
        &weighed(r#""static_thrust_g": 10, "at_current_A": 4, "at_voltage_V": 3.3"#),
        "knot.json:89: propellers.two-blade-45.measured.at_current_A: found a current of 4.000 A, and a stall current (voltage over \
         resistance) of only 3.667 A, wanted measurements that agree with one another",
    );
    says(
        &with(KNOT, CONSTANTS, r#""measured": {},"#),
        "knot.json:100: motors.left.measured: found too little to go by; still needed: the resistance: measured, or voltage and current held \
         fast, or voltage and current with the propeller on, wanted measurements that fix the motor's constants",
    );
}
