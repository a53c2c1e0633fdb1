//! Paths of a file's fields: what one names, and which one was meant.

use crate::field::{FieldPath, Step, element_name};
use crate::schema::Kind;
use crate::shape::Shape;
use serde_json::{Map, Value};

/// Every field a path names: where it is, and what it is, by default where it is left out.
pub(super) fn named_by(path: &str, file: &Value, kind: Kind) -> Vec<(FieldPath, Option<Value>)> {
    let steps: Vec<&str> = path.split('.').collect();
    let mut matches = Vec::new();
    let shape = Shape::of(kind);
    resolve(shape, file, &steps, &FieldPath::default(), &mut matches);
    matches
}

fn resolve(
    shape: Shape,
    value: &Value,
    steps: &[&str],
    here: &FieldPath,
    matches: &mut Vec<(FieldPath, Option<Value>)>,
) {
    // What an object that is left out, and has no default, holds.
    static NO_FIELDS: Value = Value::Null;
    let [step, rest @ ..] = steps else {
        return;
    };
    if let Some(list) = value.as_array() {
        let Some(element) = shape.element() else {
            return;
        };
        for (i, inner) in list.iter().enumerate() {
            let named = match element_name(inner) {
                Some(name) => name == *step,
                None => *step == (i + 1).to_string(),
            };
            if (*step == "*" || named) && !rest.is_empty() {
                resolve(element, inner, rest, &here.index(i), matches);
            }
        }
        return;
    }
    let Some((object, field)) = shape
        .form_of(value)
        .and_then(|object| Some((object, object.field(step)?)))
    else {
        return;
    };
    let here = here.key(step);
    let there = value.get(step).or(object.default_of(step));
    if rest.is_empty() {
        matches.push((here, there.cloned()));
    } else {
        let inner = there.unwrap_or(&NO_FIELDS);
        resolve(field, inner, rest, &here, matches);
    }
}

/// The value at a path.
pub(super) fn at<'a>(value: &'a Value, path: &FieldPath) -> Option<&'a Value> {
    path.0.iter().try_fold(value, |here, step| match step {
        Step::Key(name) => here.get(name),
        Step::Index(index) => here.get(index),
    })
}

/// Puts a value at a path that exists but for fields left out; those come in with their defaults.
pub(super) fn put(root: &mut Value, path: &FieldPath, new: Value, kind: Kind) {
    let mut shape = Some(Shape::of(kind));
    let mut here = root;
    for step in &path.0 {
        match step {
            Step::Key(name) => {
                let object_shape = shape.and_then(|shape| shape.form_of(here));
                let default = object_shape
                    .and_then(|object| object.default_of(name))
                    .cloned();
                shape = object_shape.and_then(|object| object.field(name));
                let Some(object) = here.as_object_mut() else {
                    return;
                };
                here = object
                    .entry(name.as_str())
                    .or_insert_with(|| default.unwrap_or_else(|| Value::Object(Map::new())));
            }
            Step::Index(index) => {
                shape = shape.and_then(Shape::element);
                let Some(element) = here.get_mut(index) else {
                    return;
                };
                here = element;
            }
        }
    }
    *here = new;
}

/// The path of a file most like one that names nothing.
pub(super) fn nearest_path(file: &Value, wrong: &str, kind: Kind) -> Option<String> {
    /// How alike (normalised Damerau-Levenshtein) two paths must be.
    const ALIKE: f64 = 0.5;
    let mut paths = Vec::new();
    list_paths(
        Shape::of(kind),
        file,
        String::new(),
        wrong.contains('*'),
        &mut paths,
    );
    let mut best: Option<(f64, String)> = None;
    for path in paths {
        let alike = strsim::normalized_damerau_levenshtein(wrong, &path);
        if alike >= ALIKE && best.as_ref().is_none_or(|(most, _)| alike > *most) {
            best = Some((alike, path));
        }
    }
    best.map(|(_, path)| path)
}

/// Paths of all fields that hold a number, a text or a truth value, with `*` for list elements as well where `wild`. Elements that are no
/// objects are no fields: none is changed alone.
fn list_paths(shape: Shape, value: &Value, here: String, wild: bool, paths: &mut Vec<String>) {
    if let (Some(element), Some(list)) = (shape.element(), value.as_array()) {
        for (i, inner) in list
            .iter()
            .enumerate()
            .filter(|(_, inner)| inner.is_object())
        {
            let number = || (i + 1).to_string();
            let name = element_name(inner).map_or_else(number, str::to_owned);
            for step in std::iter::once(name).chain(wild.then(|| "*".to_owned())) {
                list_paths(element, inner, format!("{here}.{step}"), wild, paths);
            }
        }
        return;
    }
    let Some(object) = shape.form_of(value) else {
        return;
    };
    let mut is_leaf = true;
    for (name, field) in object.fields() {
        is_leaf = false;
        let path = if here.is_empty() {
            name.to_owned()
        } else {
            format!("{here}.{name}")
        };
        let inner = value
            .get(name)
            .or(object.default_of(name))
            .cloned()
            .unwrap_or_default();
        list_paths(field, &inner, path, wild, paths);
    }
    if is_leaf && shape.element().is_none() && !paths.contains(&here) {
        paths.push(here);
    }
}

/// Paths of all fields of a file that hold a number, a text or a truth value.
#[cfg(test)]
pub(crate) fn paths_of(file: &Value, kind: Kind) -> Vec<String> {
    let mut paths = Vec::new();
    list_paths(Shape::of(kind), file, String::new(), false, &mut paths);
    paths
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::path::Path;

    fn files(folder: &str) -> Vec<Value> {
        let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join(folder);
        let entries = std::fs::read_dir(folder).unwrap().flatten();
        let paths = entries.map(|entry| entry.path());
        let json = paths.filter(|path| path.extension().is_some_and(|end| end == "json"));
        json.map(|path| serde_json::from_slice(&std::fs::read(path).unwrap()).unwrap())
            .collect()
    }

    #[test]
    fn every_path_that_is_proposed_names_a_field() {
        let of_kinds = [
            ("../demo-airframes", Kind::Airframe),
            ("ready", Kind::Scenario),
        ];
        for (folder, kind) in of_kinds {
            let files = files(folder);
            assert!(files.len() > 2, "{folder}");
            for file in files {
                let mut paths = Vec::new();
                list_paths(Shape::of(kind), &file, String::new(), true, &mut paths);
                assert!(paths.len() > 20, "{folder}");
                for path in paths {
                    assert!(
                        !named_by(&path, &file, kind).is_empty(),
                        "{}: {path}",
                        file["name"]
                    );
                }
            }
        }
    }
}
