//! Every file in the repository against the JSON Schema the command prints, by a general-purpose validator.

use crate::command::{all_ready, out, run, workspace};
use serde_json::Value;
use std::fs;
use std::path::Path;

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
    for entry in fs::read_dir(workspace().join("scenarios/studies")).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            continue;
        }
        let file = path.display().to_string();
        assert_eq!(complaints(&study, &file), Vec::<String>::new(), "{file}");
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

/// Every JSON file of the repository that says what kind it is.
fn files_with_a_kind(folder: &Path, found: &mut Vec<(String, String)>) {
    for entry in fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        let name = path.file_name().unwrap().to_string_lossy().into_owned();
        if path.is_dir() && name != "target" && !name.starts_with('.') {
            files_with_a_kind(&path, found);
        } else if name.ends_with(".json") {
            let text = fs::read_to_string(&path).unwrap();
            let value: Option<Value> = serde_json::from_str(&text).ok();
            let kind = value.as_ref().and_then(|value| value.get("kind")?.as_str());
            if let Some(kind) = kind {
                found.push((kind.to_owned(), path.display().to_string()));
            }
        }
    }
}

// The reader may know more than a schema can say (ranges that hang on one another), never less.
#[test]
fn every_file_of_the_repository_is_valid() {
    let mut files = Vec::new();
    files_with_a_kind(workspace(), &mut files);
    for kind in ["airframe", "scenario", "study"] {
        let schema = schema(kind);
        let of_kind: Vec<&String> = files
            .iter()
            .filter(|(k, _)| k == kind)
            .map(|(_, f)| f)
            .collect();
        assert!(of_kind.len() > 2, "{kind}: {of_kind:?}");
        for file in of_kind {
            assert_eq!(complaints(&schema, file), Vec::<String>::new(), "{file}");
        }
    }
}

/// Goes through the fields of a schema: name, what an editor shows of it.
fn fields<'a>(schema: &'a Value, of: &str, found: &mut Vec<(String, &'a Value)>) {
    match schema {
        Value::Object(object) => {
            for (name, inner) in object {
                if let ("properties", Value::Object(properties)) = (name.as_str(), inner) {
                    found.extend(
                        properties
                            .iter()
                            .map(|(field, about)| (format!("{of}.{field}"), about)),
                    );
                }
                fields(inner, name, found);
            }
        }
        Value::Array(list) => list.iter().for_each(|inner| fields(inner, of, found)),
        _ => {}
    }
}

// What an editor shows when the mouse rests on a field. The unit at the end of a name stands in the description as people write it.
#[test]
fn every_field_says_what_it_is_and_in_which_unit() {
    let units: [(&str, &[&str]); 16] = [
        ("_mm", &["mm"]),
        ("_cm2", &["cm²"]),
        ("_deg", &["deg"]),
        ("_deg_s", &["deg/s"]),
        ("_g", &["g"]),
        ("_g_m2", &["g/m²"]),
        ("_g_m", &["g/m"]),
        ("_m_s", &["m/s"]),
        ("_m", &["m", "metres", "Metres"]),
        ("_s", &["s"]),
        ("_ohm", &["ohm"]),
        ("_mAh", &["mAh"]),
        ("_A", &["A"]),
        ("_V", &["V"]),
        ("_rpm", &["rpm"]),
        ("_kg_m2", &["kg m²"]),
    ];
    // Of these the description says in words what over what.
    let ratios = ["gain", "coefficient", "constant", "fraction", "_per_"];
    let mut seen = 0;
    for kind in ["airframe", "scenario", "study"] {
        let schema = schema(kind);
        let mut all = Vec::new();
        fields(&schema, kind, &mut all);
        for (name, about) in all {
            // A field that is a form of its own has the form's description behind the reference.
            let described = about
                .get("description")
                .and_then(Value::as_str)
                .unwrap_or_default();
            // The tag that says which form it is has its word as a constant.
            let is_tag = about.get("const").is_some();
            assert!(
                is_tag || described.len() > 3,
                "{kind}: {name} says nothing: {about}"
            );
            let number = about.get("type").and_then(Value::as_str) == Some("number");
            let plain = number && !ratios.iter().any(|ratio| name.contains(ratio));
            let fitting = units.iter().filter(|(end, _)| plain && name.ends_with(end));
            let Some((_, spellings)) = fitting.max_by_key(|(end, _)| end.len()) else {
                continue;
            };
            let parts = |c: char| c.is_whitespace() || ",.;:()".contains(c);
            let words: Vec<&str> = described.split(parts).collect();
            let text = format!(" {} ", words.join(" "));
            let says = spellings
                .iter()
                .any(|unit| text.contains(&format!(" {unit} ")));
            assert!(
                says,
                "{kind}: {name} says none of {spellings:?}: {described}"
            );
            seen += 1;
        }
    }
    assert!(seen > 60, "{seen} fields with a unit");
}

// Completion in an editor begins with the file's first line: every kind takes `$schema`, a text.
#[test]
fn every_kind_takes_the_place_of_its_schema() {
    for kind in ["airframe", "scenario", "study"] {
        assert_eq!(
            schema(kind)["properties"]["$schema"]["type"],
            "string",
            "{kind}"
        );
    }
}
