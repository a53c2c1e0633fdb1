//! Every file in the repository against the JSON Schema the command prints, by a general-purpose validator.

use crate::command::{all_ready, out, run, workspace};
use serde_json::Value;
use std::fs;

fn schema(kind: &str) -> Value {
    let output = run(&["schema", kind]);
    assert_eq!(output.status.code(), Some(0));
    serde_json::from_str(&out(&output)).unwrap()
}

fn complaints(schema: &Value, file: &str) -> Vec<String> {
    let validator = jsonschema::validator_for(schema).unwrap();
    let value: Value = serde_json::from_str(&fs::read_to_string(file).unwrap()).unwrap();
    validator
        .iter_errors(&value)
        .map(|e| e.to_string())
        .collect()
}

#[test]
fn an_editor_can_name_the_schema_in_the_file_and_is_told_of_ranges() {
    let schema = schema("scenario");
    let validator = jsonschema::validator_for(&schema).unwrap();
    let text = fs::read_to_string(crate::command::ready("step-in-calm")).unwrap();
    let mut value: Value = serde_json::from_str(&text).unwrap();
    value["$schema"] = "scenario.schema.json".into();
    assert!(validator.is_valid(&value));
    value["airframe"] = workspace()
        .join("demo-airframes/dunlin.json")
        .display()
        .to_string()
        .into();
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("throw.json");
    fs::write(&file, value.to_string()).unwrap();
    assert_eq!(
        run(&["inspect", &file.display().to_string()]).status.code(),
        Some(0)
    );
    value["launch"]["release_speed_m_s"] = (-1.0).into();
    assert!(!validator.is_valid(&value));
}

#[test]
fn ready_scenarios_and_demonstration_airframes_are_valid() {
    let scenario = schema("scenario");
    for file in all_ready() {
        assert_eq!(complaints(&scenario, &file), Vec::<String>::new(), "{file}");
    }
    let study = schema("study");
    let file = workspace().join("scenarios/studies/footprint-from-the-dyke.json");
    assert_eq!(
        complaints(&study, &file.display().to_string()),
        Vec::<String>::new()
    );
    let airframe = schema("airframe");
    for name in ["dunlin", "avocet", "godwit"] {
        let file = workspace()
            .join(format!("demo-airframes/{name}.json"))
            .display()
            .to_string();
        assert_eq!(complaints(&airframe, &file), Vec::<String>::new(), "{file}");
        assert!(
            !complaints(&scenario, &file).is_empty(),
            "an airframe is no scenario"
        );
    }
}

// Exactly one form of a propeller, and of a motor's constants, also to a validator that knows nothing but the schema.
#[test]
fn a_propeller_has_a_table_or_measurements() {
    let validator = jsonschema::validator_for(&schema("airframe")).unwrap();
    let text =
        fs::read_to_string(workspace().join("scenarios/test-data/hand-made/dunlin.json")).unwrap();
    let mut value: Value = serde_json::from_str(&text).unwrap();
    let measured =
        serde_json::json!({ "static_thrust_g": 11, "at_current_A": 0.9, "at_voltage_V": 3.4 });
    value["propellers"][0]["measured"] = measured;
    assert!(!validator.is_valid(&value), "both forms");
    value["propellers"][0]
        .as_object_mut()
        .unwrap()
        .remove("table");
    assert!(validator.is_valid(&value));
    let motor = value["motors"][0].as_object_mut().unwrap();
    motor.remove("resistance_ohm");
    assert!(!validator.is_valid(&value), "a constant missing");
    value["motors"][0]["measured"] = serde_json::json!({ "can_diameter_mm": 7 });
    assert!(validator.is_valid(&value));
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("weighed.json").display().to_string();
    fs::write(&file, value.to_string()).unwrap();
    let output = run(&["inspect", &file]);
    assert_eq!(output.status.code(), Some(0));
    let said = out(&output);
    for piece in [
        "worked out from measurements",
        "motors.left.resistance_ohm = ",
        "thrust_coefficient at advance ratio 0.000 = ",
    ] {
        assert!(said.contains(piece), "{piece}: {said}");
    }
}
