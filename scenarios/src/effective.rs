//! What a file means once defaults and overrides are in.

use crate::field::FieldPath;
use serde_json::Value;

/// A file after defaults and overrides.
#[derive(Clone, Debug, PartialEq)]
pub struct Effective {
    /// The whole file as a JSON value; it can be written and read again.
    pub value: Value,
    /// Paths of the fields the file leaves out and a default fills.
    pub defaulted: Vec<String>,
    /// Paths of the fields an override has changed.
    pub overridden: Vec<String>,
}

/// Paths of what `full` has and `given` has not; of an object that is missing as a whole, the object.
pub(crate) fn filled(given: &Value, full: &Value) -> Vec<String> {
    let mut paths = Vec::new();
    compare(given, full, &FieldPath::default(), &mut paths);
    paths.iter().map(|path| path.shown(full)).collect()
}

fn compare(given: &Value, full: &Value, here: &FieldPath, paths: &mut Vec<FieldPath>) {
    match (given, full) {
        (Value::Object(given), Value::Object(full)) => {
            for (name, inner) in full {
                let path = here.key(name);
                match given.get(name) {
                    Some(value) => compare(value, inner, &path, paths),
                    None => paths.push(path),
                }
            }
        }
        (Value::Array(given), Value::Array(full)) => {
            for (i, (value, inner)) in given.iter().zip(full).enumerate() {
                compare(value, inner, &here.index(i), paths);
            }
        }
        _ => {}
    }
}
