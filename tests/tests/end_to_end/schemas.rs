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
fn ready_scenarios_and_demonstration_airframes_are_valid() {
    let scenario = schema("scenario");
    for file in all_ready() {
        assert_eq!(complaints(&scenario, &file), Vec::<String>::new(), "{file}");
    }
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
