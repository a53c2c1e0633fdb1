//! What changed between two airframe files.

use crate::field::element_name;
use crate::load::LoadedAirframe;
use serde::{Deserialize, Serialize};
use serde_json::Value;

/// A field that is not the same in two files.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct FieldChange {
    /// Its path: names joined by dots, elements of lists by their name, else by their number from 1.
    pub path: String,
    /// Value before; absent where there is no such field.
    pub before: Option<Value>,
    /// Value after.
    pub after: Option<Value>,
    /// Whether neither file gives it: a default or an estimate fills it.
    pub worked_out: bool,
}

/// Fields that differ after defaults, overrides and estimates, those the files give first. Notes are left out.
pub fn changes(before: &LoadedAirframe, after: &LoadedAirframe) -> Vec<FieldChange> {
    let given = [before, after].map(given);
    let is_given = |path: &str| {
        given
            .iter()
            .any(|paths| paths.iter().any(|one| one == path))
    };
    let (before, after) = (before.effective(), after.effective());
    let (old, new) = (leaves(&before.value), leaves(&after.value));
    let find = |list: &[(String, Value)], path: &str| {
        let one = list.iter().find(|one| one.0 == path);
        one.map(|one| one.1.clone())
    };
    let only_after = new.iter().filter(|one| find(&old, &one.0).is_none());
    let mut changes: Vec<FieldChange> = old
        .iter()
        .chain(only_after)
        .filter(|one| one.0 != "note")
        .map(|(path, _)| FieldChange {
            before: find(&old, path),
            after: find(&new, path),
            worked_out: !is_given(path),
            path: path.clone(),
        })
        .filter(|change| change.before != change.after)
        .collect();
    changes.sort_by_key(|change| change.worked_out);
    changes
}

/// Paths that a file gives itself, or an override has set.
fn given(airframe: &LoadedAirframe) -> Vec<String> {
    // It has been read before: it is JSON.
    let written: Value = serde_json::from_slice(&airframe.bytes).unwrap_or_default();
    let written = leaves(&written).into_iter().map(|one| one.0);
    written.chain(airframe.effective().overridden).collect()
}

/// Every value that holds no other, with its path.
fn leaves(value: &Value) -> Vec<(String, Value)> {
    let mut list = Vec::new();
    collect(value, String::new(), &mut list);
    list
}

fn collect(value: &Value, path: String, list: &mut Vec<(String, Value)>) {
    let below = |name: &str| match path.as_str() {
        "" => name.to_owned(),
        path => format!("{path}.{name}"),
    };
    match value {
        Value::Object(fields) if !fields.is_empty() => {
            for (name, inner) in fields {
                collect(inner, below(name), list);
            }
        }
        Value::Array(elements) if !elements.is_empty() => {
            for (i, inner) in elements.iter().enumerate() {
                let place = match element_name(inner) {
                    Some(name) if !name.is_empty() => below(name),
                    _ => format!("{path}[{}]", i + 1),
                };
                collect(inner, place, list);
            }
        }
        _ => list.push((path, value.clone())),
    }
}
