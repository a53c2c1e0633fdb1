//! The JSON Schema (draft 2020-12) of each kind of file, out of the same types that read it.

use crate::airframe_file::AirframeFile;
use crate::scenario_file::ScenarioFile;
use crate::study::StudyFile;
use schemars::{JsonSchema, SchemaGenerator};
use serde_json::{Map, Value};

/// The kinds of file.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    /// An [`AirframeFile`].
    Airframe,
    /// A [`ScenarioFile`].
    Scenario,
    /// A [`StudyFile`].
    Study,
}

impl Kind {
    /// All kinds.
    pub const ALL: [Kind; 3] = [Kind::Airframe, Kind::Scenario, Kind::Study];

    /// The word in the file's `kind`.
    pub fn word(self) -> &'static str {
        match self {
            Kind::Airframe => "airframe",
            Kind::Scenario => "scenario",
            Kind::Study => "study",
        }
    }

    /// JSON Schema (draft 2020-12) of the kind.
    pub fn schema(self) -> Value {
        match self {
            Kind::Airframe => of::<AirframeFile>(),
            Kind::Scenario => of::<ScenarioFile>(),
            Kind::Study => of::<StudyFile>(),
        }
    }
}

/// JSON Schema (draft 2020-12) of a kind of file.
pub fn schema(kind: Kind) -> Value {
    kind.schema()
}

fn of<T: JsonSchema>() -> Value {
    let mut schema = SchemaGenerator::default()
        .into_root_schema_for::<T>()
        .to_value();
    refuse_null(&mut schema);
    join_lines(&mut schema);
    schema
}

/// Optional fields are left out, never null: takes the null that stands for "left out" from the schema.
fn refuse_null(schema: &mut Value) {
    match schema {
        Value::Object(object) => {
            if let Some(Value::Array(types)) = object.get_mut("type") {
                types.retain(|t| t != "null");
                if let [only] = types.as_slice() {
                    let only = only.clone();
                    object.insert("type".to_owned(), only);
                }
            }
            let choices = match object.get("anyOf") {
                Some(Value::Array(choices)) => choices.clone(),
                _ => Vec::new(),
            };
            let kept: Vec<Value> = choices
                .iter()
                .filter(|choice| choice.get("type").is_none_or(|t| t != "null"))
                .cloned()
                .collect();
            if let ([Value::Object(only)], true) = (kept.as_slice(), kept.len() < choices.len()) {
                object.remove("anyOf");
                let only: Map<String, Value> = only.clone();
                object.extend(only);
            }
            object.values_mut().for_each(refuse_null);
        }
        Value::Array(list) => list.iter_mut().for_each(refuse_null),
        _ => {}
    }
}

/// Descriptions are wrapped in the source; an editor wraps them by itself. Empty lines stay: they part paragraphs.
fn join_lines(schema: &mut Value) {
    match schema {
        Value::Object(object) => {
            for (name, inner) in object {
                match inner {
                    Value::String(text) if name == "description" => {
                        let paragraphs = text.split("\n\n").map(|lines| lines.replace('\n', " "));
                        *text = paragraphs.collect::<Vec<_>>().join("\n\n");
                    }
                    inner => join_lines(inner),
                }
            }
        }
        Value::Array(list) => list.iter_mut().for_each(join_lines),
        _ => {}
    }
}
