//! What is wrong with a file, where, and how that is worded.

use crate::field::FieldPath;
use serde::Serialize;
use std::fmt;
use thiserror::Error;

/// Bad input: which file, which line, which field, what was found, what was wanted, and the nearest right name.
///
/// Shown as one line: `dunlin.json:12: motors.left.spin: found "clokwise", wanted "clockwise" or "counterclockwise"; did you mean
/// "clockwise"?` Line and field are left out where the file as a whole is meant.
#[derive(Clone, Debug, Error, PartialEq, Eq)]
#[error("{}{}: {}found {found}, wanted {wanted}{}",
    file, Line(*line), Field(field.as_deref()), Nearest(nearest.as_deref()))]
pub struct FileError {
    /// The file as the user named it, or "command line".
    pub file: String,
    /// Line, counted from 1.
    pub line: Option<u32>,
    /// Path of the field, list elements by their name where they have one, else by their number counted from 1.
    pub field: Option<String>,
    /// What was found.
    pub found: String,
    /// What was wanted.
    pub wanted: String,
    /// The nearest right name.
    pub nearest: Option<Box<str>>,
}

/// Something that is allowed and still worth saying before a flight.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Warning {
    /// The file as the user named it, or "command line".
    pub file: String,
    /// Line, counted from 1.
    pub line: Option<u32>,
    /// Path of the field.
    pub field: String,
    /// What is worth saying.
    pub text: String,
}

impl fmt::Display for Warning {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(
            f,
            "{}{}: {}: {}",
            self.file,
            Line(self.line),
            self.field,
            self.text
        )
    }
}

struct Line(Option<u32>);
impl fmt::Display for Line {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.0.map_or(Ok(()), |line| write!(f, ":{line}"))
    }
}

struct Field<'a>(Option<&'a str>);
impl fmt::Display for Field<'_> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.0.map_or(Ok(()), |field| write!(f, "{field}: "))
    }
}

struct Nearest<'a>(Option<&'a str>);
impl fmt::Display for Nearest<'_> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.0
            .map_or(Ok(()), |name| write!(f, "; did you mean \"{name}\"?"))
    }
}

/// What is wrong with a value, before it is known which file and line the value came from.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Problem {
    pub path: FieldPath,
    pub found: String,
    pub wanted: String,
    pub nearest: Option<String>,
    /// Where in another file it is, which the value at `path` speaks of.
    pub elsewhere: Option<Box<Elsewhere>>,
}

/// A place in a file an airframe file names.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Elsewhere {
    /// The file as the user would name it.
    pub file: String,
    /// Line, counted from 1.
    pub line: Option<u32>,
    /// What in it.
    pub field: String,
}

impl Problem {
    pub fn new(path: FieldPath, found: impl Into<String>, wanted: impl Into<String>) -> Self {
        Problem {
            path,
            found: found.into(),
            wanted: wanted.into(),
            nearest: None,
            elsewhere: None,
        }
    }

    /// The error, given the file, the line and the field of what `path` leads to; `field` is empty where the whole file is meant.
    pub fn at(self, file: &str, line: Option<u32>, field: String) -> FileError {
        let mut error = FileError {
            file: file.to_owned(),
            line,
            field: (!field.is_empty()).then_some(field),
            found: self.found,
            wanted: self.wanted,
            nearest: self.nearest.map(String::into_boxed_str),
        };
        if let Some(elsewhere) = self.elsewhere {
            let what_for = error
                .field
                .map_or_else(String::new, |field| format!(" (for {field})"));
            error.field = Some(format!("{}{what_for}", elsewhere.field));
            error.file = elsewhere.file;
            error.line = elsewhere.line;
        }
        error
    }

    /// The error of a value that did not come from a file; `name` stands for one.
    pub fn without_file<T: Serialize>(self, name: &str, value: &T) -> FileError {
        let field = self
            .path
            .shown(&serde_json::to_value(value).unwrap_or_default());
        self.at(name, None, field)
    }

    /// Adds the name most like `word` out of `candidates`, if one is like it.
    pub fn with_nearest<'a>(
        mut self,
        word: &str,
        candidates: impl IntoIterator<Item = &'a str>,
    ) -> Self {
        self.nearest = nearest(word, candidates);
        self
    }
}

/// How alike two names must be (Jaro-Winkler) for one to be offered for the other.
const ALIKE: f64 = 0.8;

/// The name most like `word`, if one is like it; the first of equals.
pub(crate) fn nearest<'a>(
    word: &str,
    candidates: impl IntoIterator<Item = &'a str>,
) -> Option<String> {
    let mut best: Option<(f64, &str)> = None;
    for candidate in candidates {
        let alike = strsim::jaro_winkler(word, candidate);
        if alike >= ALIKE && best.is_none_or(|(most, _)| alike > most) {
            best = Some((alike, candidate));
        }
    }
    best.map(|(_, name)| name.to_owned())
}

/// `"a"`, `"a" or "b"`, `"a", "b" or "c"`.
pub(crate) fn one_of<'a>(names: impl IntoIterator<Item = &'a str>) -> String {
    let quoted: Vec<String> = names
        .into_iter()
        .map(|name| format!("\"{name}\""))
        .collect();
    match quoted.as_slice() {
        [] => "nothing".to_owned(),
        [only] => only.clone(),
        [first @ .., last] => format!("{} or {last}", first.join(", ")),
    }
}

/// A number as people write it.
pub(crate) fn number(value: f64) -> String {
    if value == 0.0 || (1e-4..1e9).contains(&value.abs()) {
        format!("{value}")
    } else {
        format!("{value:e}")
    }
}

/// Text in quotes, escaped and cut short.
pub(crate) fn quoted(text: &str) -> String {
    const LONGEST: usize = 60;
    if text.chars().count() > LONGEST {
        let start: String = text.chars().take(LONGEST).collect();
        format!("{start:?}...")
    } else {
        format!("{text:?}")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn one_format_with_what_is_known() {
        let mut error = FileError {
            file: "dunlin.json".into(),
            line: Some(12),
            field: Some("motors.left.spin".into()),
            found: "\"clokwise\"".into(),
            wanted: one_of(["clockwise", "counterclockwise"]),
            nearest: Some("clockwise".into()),
        };
        assert_eq!(
            error.to_string(),
            "dunlin.json:12: motors.left.spin: found \"clokwise\", wanted \"clockwise\" or \"counterclockwise\"; \
             did you mean \"clockwise\"?"
        );
        error.line = None;
        error.field = None;
        error.nearest = None;
        assert_eq!(
            error.to_string(),
            "dunlin.json: found \"clokwise\", wanted \"clockwise\" or \"counterclockwise\""
        );
    }

    #[test]
    fn the_nearest_name_is_like_the_word_or_none() {
        let names = ["thrust_elevation_deg", "thrust_toe_deg", "spin"];
        assert_eq!(
            nearest("thrust_elevaton_deg", names).as_deref(),
            Some("thrust_elevation_deg")
        );
        assert_eq!(nearest("spinn", names).as_deref(), Some("spin"));
        assert_eq!(nearest("colour", names), None);
    }

    #[test]
    fn numbers_and_texts_stay_readable() {
        assert_eq!(number(-3.0), "-3");
        assert_eq!(number(1e-9), "1e-9");
        assert_eq!(quoted("a\nb"), "\"a\\nb\"");
        assert_eq!(
            quoted(&"x".repeat(61)),
            format!("\"{}\"...", "x".repeat(60))
        );
    }
}
