//! Right files: what is filled in, what comes back out, and the schema they follow.

use super::{FOLDER, KNOT, STEP, airframe, scenario, with};
use crate::airframe_file::AirframeFile;
use crate::build::{build_airframe, build_scenario};
use crate::load::load_scenario;
use crate::schema::{Kind, schema};
use serde_json::Value;

#[test]
fn a_file_is_read_whole_and_its_bytes_kept() {
    let loaded = load_scenario(format!("{FOLDER}/step.json")).expect("a scenario");
    assert_eq!(*loaded.bytes, *STEP.as_bytes());
    assert_eq!(*loaded.airframe.bytes, *KNOT.as_bytes());
    assert_eq!(
        (
            loaded.file.name.as_str(),
            loaded.airframe.file.name.as_str()
        ),
        ("step", "knot")
    );
    assert_eq!(loaded.warnings(), []);
}

#[test]
fn a_byte_order_mark_and_windows_line_ends_do_no_harm() {
    let windows = format!("\u{feff}{}", KNOT.replace('\n', "\r\n"));
    assert_eq!(
        airframe(&windows, &[]).expect("an airframe").file,
        airframe(KNOT, &[]).expect("an airframe").file
    );
    let wrong = with(&windows, "\"clockwise\"", "\"clokwise\"");
    assert_eq!(
        airframe(&wrong, &[]).expect_err("a wrong word").line,
        Some(104)
    );
}

#[test]
fn the_effective_file_lists_what_was_filled_and_reads_back_the_same() {
    let loaded = airframe(KNOT, &[]).expect("an airframe");
    let effective = loaded.effective();
    for path in [
        "coefficients.lift_q_per_rad",
        "cell.open_circuit_voltage",
        "stall.normal_force_coefficient_at_90_deg",
        "mass.parts.fin.mirrored",
        "tabs.elevon.drag_per_rad2",
        "propellers.two-blade-45.stopped_thrust_coefficient",
    ] {
        assert!(
            effective.defaulted.iter().any(|one| one == path),
            "{path} in {:?}",
            effective.defaulted
        );
    }
    assert!(
        !effective
            .defaulted
            .iter()
            .any(|one| one.starts_with("coefficients.drag_min"))
    );
    // 23 coefficients less the 11 given, all six parts' and two surfaces' flags less the two given, four effects of the tab, C_90, the
    // cell's table, the propeller's two, apparent mass, what propellers do beside thrust and torque.
    assert_eq!(effective.defaulted.len(), 12 + 6 + 4 + 1 + 1 + 2 + 1 + 1);

    let again = airframe(&effective.value.to_string(), &[]).expect("the effective file");
    assert_eq!(again.effective().value, effective.value);
    assert_eq!(again.effective().defaulted, Vec::<String>::new());
    assert_eq!(again.built.mass, loaded.built.mass);

    let throw = scenario(STEP).expect("a scenario");
    let effective = throw.effective();
    assert_eq!(
        effective.value["air"]["gusts"][0]["along_heading_deg"],
        90.0
    );
    assert_eq!(effective.value["solver"]["relative_tolerance"], 1e-9);
    assert!(
        effective.defaulted.contains(&"solver".to_owned())
            && effective.defaulted.contains(&"launch.bank_deg".to_owned())
    );
    let again = scenario(&effective.value.to_string()).expect("the effective file");
    assert_eq!(again.file, {
        let mut file = throw.file.clone();
        file.air.gusts[0].along_heading_deg = Some(90.0);
        file
    });
}

#[test]
fn typed_files_build_without_text_and_are_checked_too() {
    let mut file: AirframeFile = serde_json::from_str(KNOT).expect("the form");
    let built = build_airframe(&file).expect("an airframe");
    let throw = scenario(STEP).expect("a scenario").file;
    assert!(build_scenario(&throw, &built).is_ok());
    file.motors[1].propeller = "three-blade".to_owned();
    assert_eq!(
        build_airframe(&file)
            .expect_err("a wrong airframe")
            .to_string(),
        "knot: motors.right.propeller: found \"three-blade\", wanted \"two-blade-45\""
    );
}

#[test]
fn things_worth_saying_are_said() {
    let says = |text: &str| {
        let loaded = airframe(text, &[]).expect("an airframe");
        loaded
            .warnings()
            .iter()
            .map(ToString::to_string)
            .collect::<Vec<_>>()
    };
    let ballast = with(
        KNOT,
        r#""name": "ballast", "#,
        r#""name": "ballast", "mirrored": true, "#,
    );
    assert_eq!(
        says(&ballast),
        [
            "knot.json:42: mass.parts.ballast.mirrored: its middle lies on the centre line, so that its mirror image lies on top of it \
          and its mass counts twice"
        ]
    );
    let late = with(STEP, r#""time_limit_s": 10"#, r#""time_limit_s": 2"#);
    let warnings = scenario(&late).expect("a scenario").warnings();
    assert_eq!(
        warnings[0].to_string(),
        "step.json:31: pilot.throttle.changes[2].time_s: this change comes after the time limit and never happens"
    );
}

/// Every object in a schema with its place.
fn objects<'a>(
    schema: &'a Value,
    place: &str,
    found: &mut Vec<(String, &'a serde_json::Map<String, Value>)>,
) {
    match schema {
        Value::Object(object) => {
            found.push((place.to_owned(), object));
            for (name, inner) in object.iter().filter(|(name, _)| *name != "default") {
                objects(inner, &format!("{place}/{name}"), found);
            }
        }
        Value::Array(list) => {
            for (i, inner) in list.iter().enumerate() {
                objects(inner, &format!("{place}/{i}"), found);
            }
        }
        _ => {}
    }
}

#[test]
fn the_schema_refuses_unknown_fields_describes_every_field_and_puts_units_in_names() {
    // Numbers without a unit: coefficients and counts, by design.
    const WITHOUT_UNIT: [&str; 16] = [
        "gyro_seed",
        "bank_per_heading",
        "one_sigma",
        "faced_sides",
        "layers",
        "value",
        "advance_ratio",
        "thrust_coefficient",
        "power_coefficient",
        "stopped_thrust_coefficient",
        "stopped_torque_coefficient",
        "blades",
        "relative_tolerance",
        "absolute_tolerance",
        "exponent",
        "seed",
    ];
    const UNITS: [&str; 27] = [
        "_mm",
        "_deg",
        "_g",
        "_g_m2",
        "_g_m",
        "_cm2",
        "_kg_m2",
        "_mAh",
        "_ohm",
        "_A",
        "_V",
        "_g_mm2",
        "_m",
        "_s",
        "_m_s",
        "_deg_s",
        "_rpm",
        "_C",
        "_hPa",
        "_mN",
        "_fraction",
        "_factor",
        "_rpm_V",
        "add",
        "multiply",
        "tossline",
        "_number",
    ];
    // Of a study: counts, and numbers in the unit at the end of the field, or of the column, they are for.
    const OF_STUDIES: [&str; 14] = [
        "flights",
        "draws",
        "step",
        "seed",
        "count",
        "from",
        "to",
        "mean",
        "standard_deviation",
        "least",
        "most",
        "most_likely",
        "coefficient",
        "limit",
    ];
    for kind in Kind::ALL {
        let schema = schema(kind);
        assert_eq!(
            schema["$schema"],
            "https://json-schema.org/draft/2020-12/schema"
        );
        let mut found = Vec::new();
        objects(&schema, "", &mut found);
        for (place, object) in found {
            let Some(properties) = object.get("properties").and_then(Value::as_object) else {
                continue;
            };
            // "properties" may also be the name of a field's list of fields: only schemas have a type beside it.
            assert_eq!(
                object.get("additionalProperties"),
                Some(&Value::Bool(false)),
                "{place}"
            );
            for (name, property) in properties {
                let is_tag = property.get("const").is_some();
                assert!(
                    is_tag || property.get("description").is_some(),
                    "{place}: {name} has no description"
                );
                if matches!(property["type"].as_str(), Some("number" | "integer")) {
                    let named = UNITS.iter().any(|unit| name.ends_with(unit))
                        || WITHOUT_UNIT.contains(&name.as_str())
                        || (kind == Kind::Study && OF_STUDIES.contains(&name.as_str()));
                    assert!(named, "{place}: {name} has no unit");
                }
            }
        }
        assert!(
            !schema.to_string().contains("null"),
            "optional fields are left out, never null"
        );
    }
    let airframe_schema = schema(Kind::Airframe);
    // An airframe may leave out what can be estimated; what a hand-made table cannot do without is checked (`wrong`).
    assert_eq!(
        airframe_schema["$defs"]["Coefficients"].get("required"),
        None
    );
    let required = airframe_schema["required"].as_array().expect("a list");
    for name in ["coefficients", "reference", "stall"] {
        assert!(!required.contains(&Value::from(name)), "{name}");
    }
}
