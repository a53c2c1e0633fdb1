//! Python values to overrides, JSON to Python.

use crate::errors::{file_error, wrong};
use pyo3::prelude::*;
use pyo3::types::{PyBool, PyDict, PyFloat, PyInt, PyMapping, PyString};
use scenarios::overrides::{Change, Override};
use serde_json::{Map, Value};

/// Overrides out of a dictionary and keyword arguments, in order; the dictionary comes first.
pub fn overrides(
    py: Python<'_>,
    by_path: Option<&Bound<'_, PyAny>>,
    fields: Option<&Bound<'_, PyDict>>,
) -> PyResult<Vec<Override>> {
    let mut found = Vec::new();
    if let Some(by_path) = by_path {
        let by_path = by_path.cast::<PyMapping>().map_err(|_| {
            let kind = by_path.get_type();
            wrong(
                "overrides",
                &format!("found {kind}, wanted a dictionary of paths and values"),
            )
        })?;
        for pair in by_path.items()?.iter() {
            let (path, value): (String, Bound<'_, PyAny>) = pair.extract()?;
            found.push(one(py, &path, &value)?);
        }
    }
    for (name, value) in fields.into_iter().flatten() {
        let path = name.extract::<String>()?.replace("__", ".");
        found.push(one(py, &path, &value)?);
    }
    Ok(found)
}

fn one(py: Python<'_>, path: &str, value: &Bound<'_, PyAny>) -> PyResult<Override> {
    Override::new(path, &json_of(path, value)?).map_err(|error| file_error(py, &error))
}

/// A Python value as JSON: numbers (NumPy's too), texts, truth values, and dictionaries of them.
fn json_of(path: &str, value: &Bound<'_, PyAny>) -> PyResult<Value> {
    if value.is_instance_of::<PyBool>() {
        return Ok(Value::from(value.extract::<bool>()?));
    }
    if value.is_instance_of::<PyString>() {
        return Ok(Value::from(value.extract::<String>()?));
    }
    if value.is_instance_of::<PyInt>() {
        return Ok(Value::from(value.extract::<i64>()?));
    }
    if value.is_instance_of::<PyFloat>() {
        let number = value.extract::<f64>()?;
        return serde_json::Number::from_f64(number)
            .map(Value::Number)
            .ok_or_else(|| wrong(path, &format!("found {number}, wanted a finite number")));
    }
    if let Ok(mapping) = value.cast::<PyMapping>() {
        let mut object = Map::new();
        for pair in mapping.items()?.iter() {
            let (name, inner): (String, Bound<'_, PyAny>) = pair.extract()?;
            object.insert(name, json_of(path, &inner)?);
        }
        return Ok(Value::Object(object));
    }
    // NumPy's scalars know the Python value they stand for.
    match value.call_method0("item") {
        Ok(item) if !item.get_type().is(value.get_type()) => json_of(path, &item),
        _ => {
            let kind = value.get_type();
            let text =
                "wanted a number, text, True, False, {'add': number} or {'multiply': number}";
            Err(wrong(path, &format!("found {kind}, {text}")))
        }
    }
}

/// Overrides as the command line would have them: part of a result's hash.
pub fn typed(overrides: &[Override]) -> Vec<String> {
    let value = |value: &Value| match value {
        Value::String(text) => text.clone(),
        other => other.to_string(),
    };
    overrides
        .iter()
        .map(|one| match &one.change {
            Change::Set(set) => format!("{}={}", one.path, value(set)),
            Change::Add(x) => format!("{}+={x}", one.path),
            Change::Multiply(x) => format!("{}*={x}", one.path),
        })
        .collect()
}

/// Anything that can be written as JSON, as Python's dictionaries, lists, texts and numbers.
pub fn to_python<'py>(
    py: Python<'py>,
    value: &impl serde::Serialize,
) -> PyResult<Bound<'py, PyAny>> {
    let text = serde_json::to_string(value).map_err(|error| wrong("result", &error.to_string()))?;
    py.import("json")?.call_method1("loads", (text,))
}

/// Text as HTML.
pub fn escaped(text: &str) -> String {
    let text = text.replace('&', "&amp;");
    text.replace('<', "&lt;").replace('>', "&gt;")
}
