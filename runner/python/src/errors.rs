//! Bad input as a Python exception with the command's own text.

use pyo3::exceptions::{PyOSError, PyValueError};
use pyo3::prelude::*;
use runner::{NotDone, Outcome};

pyo3::create_exception!(
    tossline,
    FileError,
    PyValueError,
    "Bad input: a file, or an override, that cannot be understood.\n\n\
The text is the command's: file, line, field, what was found, what was wanted, the nearest right name. The same stands apart in\n\
`file`, `line`, `field`, `found`, `wanted` and `nearest` (None where there is none)."
);

/// An error of the files' library, its pieces as attributes.
pub fn file_error(py: Python<'_>, error: &scenarios::FileError) -> PyErr {
    let made = FileError::new_err(error.to_string());
    let value = made.value(py);
    let set = || -> PyResult<()> {
        value.setattr("file", &error.file)?;
        value.setattr("line", error.line)?;
        value.setattr("field", error.field.as_deref())?;
        value.setattr("found", &error.found)?;
        value.setattr("wanted", &error.wanted)?;
        value.setattr("nearest", error.nearest.as_deref())
    };
    match set() {
        Ok(()) => made,
        Err(other) => other,
    }
}

/// A wrong argument, worded like the command's.
pub fn wrong(name: &str, text: &str) -> PyErr {
    PyValueError::new_err(format!("{name}: {text}"))
}

/// A command that did not do what it was asked, with its words.
pub fn not_done(py: Python<'_>, error: &NotDone) -> PyErr {
    match (error.outcome, error.files.as_slice()) {
        (Outcome::BadInput, [one]) => file_error(py, one),
        (Outcome::BadInput, _) => PyValueError::new_err(named_as_here(&error.text)),
        _ => PyOSError::new_err(error.text.clone()),
    }
}

/// A flag's complaint with the argument's name: `--share-fraction: …` is `share_fraction: …` here.
fn named_as_here(text: &str) -> String {
    let flag = text
        .strip_prefix("--")
        .and_then(|rest| rest.split_once(": "));
    match flag {
        Some(("height", rest)) => format!("height_mm: {rest}"),
        Some((flag, rest)) => format!("{}: {rest}", flag.replace('-', "_")),
        None => text.to_owned(),
    }
}
