//! Changes to any field of a scenario or its airframe by its path.
//!
//! A path is names joined by dots: `motors.left.thrust_elevation_deg`. An element of a list is reached by its name, or, where elements have
//! none, by its number from 1; `*` is every element. A path that begins with `launch`, `air`, `pilot`, `site`, `end`, `summary`, `solver` or
//! `record` is one of the scenario's; every other is one of the airframe's, with or without `airframe.` in front. A value is set; `{"add": x}` and `{"multiply": x}` change the number that is there, or the default that stands for it.
//! A field that may be left out can be set although the file leaves it out.

mod numbers;
mod paths;

use crate::error::{FileError, Problem, Warning, nearest, quoted};
use crate::field::{FieldPath, Step};
use crate::read::Document;
use crate::schema::Kind;
use crate::shape::found;
pub(crate) use numbers::{Numbers, Section};
#[cfg(test)]
pub(crate) use paths::paths_of;
use paths::{at, named_by, nearest_path, put};
use serde_json::{Map, Value, json};

/// First names of the paths that lead into the scenario. No airframe has a field of such a name.
const OF_SCENARIO: [&str; 8] = [
    "launch", "air", "pilot", "site", "end", "summary", "solver", "record",
];
/// What may stand in front of a path of the airframe.
const OF_AIRFRAME: &str = "airframe.";

/// One override: what it changes and how, and where it was written.
#[derive(Clone, Debug, PartialEq)]
pub struct Override {
    /// Path of the field, with `*` for every element of a list.
    pub path: String,
    /// What happens to it.
    pub change: Change,
    /// The file it was written in as the user named it, or "command line".
    pub file: String,
    /// Its line in that file.
    pub line: Option<u32>,
}

/// What an override does.
#[derive(Clone, Debug, PartialEq)]
pub enum Change {
    /// Sets the field to a number, a text or a truth value.
    Set(Value),
    /// Adds to the number that is there.
    Add(f64),
    /// Multiplies the number that is there.
    Multiply(f64),
}

/// A field an override has changed.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Touched {
    /// Which field.
    pub path: FieldPath,
    /// Which override, counted from 0.
    pub by: usize,
}

impl Override {
    /// An override out of a program, with a value as a scenario file writes it.
    ///
    /// # Errors
    /// [`FileError`] where the value is neither a number, a text, a truth value, `{"add": x}` nor `{"multiply": x}`.
    pub fn new(path: &str, value: &Value) -> Result<Self, FileError> {
        Self::from_json("override", None, path, value)
    }

    /// An override as a command line gives it: `PATH=VALUE` sets, `PATH+=VALUE` adds, `PATH*=VALUE` multiplies. A value that is not JSON is taken as text, so that names need no quotes.
    ///
    /// # Errors
    /// [`FileError`] without an equals sign or with a value that cannot be one.
    pub fn parse(text: &str) -> Result<Self, FileError> {
        const FILE: &str = "command line";
        let Some((path, value)) = text.split_once('=') else {
            return Err(FileError {
                file: FILE.to_owned(),
                line: None,
                field: None,
                found: quoted(text),
                wanted: "PATH=VALUE, such as motors.left.thrust_elevation_deg=-3".to_owned(),
                nearest: None,
            });
        };
        let value = value.trim();
        let parsed: Value =
            serde_json::from_str(value).unwrap_or_else(|_| Value::String(value.to_owned()));
        let (path, parsed) = if let Some(path) = path.strip_suffix('+') {
            (path, json!({ "add": parsed }))
        } else if let Some(path) = path.strip_suffix('*').filter(|path| !path.ends_with('.')) {
            (path, json!({ "multiply": parsed }))
        } else {
            (path, parsed)
        };
        Self::from_json(FILE, None, path.trim(), &parsed)
    }

    /// The overrides of a scenario file, in order.
    pub(crate) fn of_scenario(
        document: &Document,
        overrides: &Map<String, Value>,
    ) -> Result<Vec<Self>, FileError> {
        let at = FieldPath::default().key("overrides");
        overrides
            .iter()
            .map(|(path, value)| {
                Self::from_json(&document.file, document.line_of(&at.key(path)), path, value)
            })
            .collect()
    }

    fn from_json(
        file: &str,
        line: Option<u32>,
        path: &str,
        value: &Value,
    ) -> Result<Self, FileError> {
        let mut this = Override {
            path: path.to_owned(),
            change: Change::Set(value.clone()),
            file: file.to_owned(),
            line,
        };
        let wanted = "a number, text, true, false, {\"add\": number} or {\"multiply\": number}";
        match value {
            Value::Number(_) | Value::String(_) | Value::Bool(_) => {}
            Value::Object(object) if object.len() == 1 => {
                let (word, amount) = object.iter().next().expect("one field");
                this.change = match (word.as_str(), amount.as_f64()) {
                    ("add", Some(x)) => Change::Add(x),
                    ("multiply", Some(x)) => Change::Multiply(x),
                    ("add" | "multiply", None) => {
                        return Err(this.error(None, found(amount), "a number", None));
                    }
                    _ => {
                        let near = nearest(word, ["add", "multiply"]);
                        return Err(this.error(
                            None,
                            quoted(word),
                            "\"add\" or \"multiply\"",
                            near,
                        ));
                    }
                };
            }
            other => return Err(this.error(None, found(other), wanted, None)),
        }
        Ok(this)
    }

    /// An error of this override. `field` is the field of the airframe, where that is not just the path.
    fn error(
        &self,
        field: Option<&str>,
        found: impl Into<String>,
        wanted: &str,
        near: Option<String>,
    ) -> FileError {
        let leads_to = field
            .filter(|&field| field != self.inner_path())
            .map_or_else(String::new, |field| format!(" ({field})"));
        FileError {
            file: self.file.clone(),
            line: self.line,
            field: Some(format!("overrides \"{}\"{leads_to}", self.path)),
            found: found.into(),
            wanted: wanted.to_owned(),
            nearest: near.map(String::into_boxed_str),
        }
    }
}

/// When an override is applied to an airframe that is estimated: what it changes must be there by then.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Stage {
    /// Before anything is worked out: geometry, masses, motors; and everything of a scenario.
    Build,
    /// After the reference has been taken from the surfaces, before the estimate that refers to it.
    Reference,
    /// After the estimate: coefficients, tabs' effects, stall.
    Table,
}

impl Stage {
    pub fn of(path: &str) -> Self {
        let mut steps = path.split('.');
        match steps.next() {
            Some("reference") => Stage::Reference,
            Some("coefficients" | "stall") => Stage::Table,
            Some("tabs") if steps.any(|step| step.contains("_per_rad")) => Stage::Table,
            _ => Stage::Build,
        }
    }
}

/// Changes the JSON value of a file of one kind by those overrides that are meant for it and for a stage, in order.
///
/// # Errors
/// [`FileError`] of the override where a path names nothing or there is no number to change.
pub(crate) fn apply(
    file: &mut Value,
    kind: Kind,
    overrides: &[Override],
    stage: Stage,
) -> Result<Vec<Touched>, FileError> {
    let mut touched = Vec::new();
    let meant =
        |change: &Override| change.kind() == kind && Stage::of(change.inner_path()) == stage;
    for (by, change) in overrides.iter().enumerate().filter(|(_, c)| meant(c)) {
        let matches = named_by(change.inner_path(), file, kind);
        if matches.is_empty() {
            let near = nearest_path(file, change.inner_path(), kind);
            return Err(change.error(
                None,
                "a path that names nothing",
                &format!("the path of a field of the {}", kind.word()),
                near.or_else(|| change.nearest_of_scenario()),
            ));
        }
        for (path, there) in matches {
            let shown = path.shown(file);
            let value = change.value_from(there.as_ref(), &shown)?;
            put(file, &path, value, kind);
            touched.push(Touched { path, by });
        }
    }
    Ok(touched)
}

/// Whether a path leads into the scenario file itself and not into its airframe.
pub(crate) fn is_of_scenario(path: &str) -> bool {
    OF_SCENARIO.contains(&path.split('.').next().unwrap_or_default())
}

impl Override {
    /// Which file the path leads into.
    pub(crate) fn kind(&self) -> Kind {
        if is_of_scenario(&self.path) {
            Kind::Scenario
        } else {
            Kind::Airframe
        }
    }

    /// Whether the path leads into the scenario file itself and not into its airframe.
    pub fn is_of_scenario(&self) -> bool {
        self.kind() == Kind::Scenario
    }

    /// The path inside that file.
    pub(crate) fn inner_path(&self) -> &str {
        self.path.strip_prefix(OF_AIRFRAME).unwrap_or(&self.path)
    }

    /// The path with its first name put right, where that is like one of the scenario's and is none.
    fn nearest_of_scenario(&self) -> Option<String> {
        if self.is_of_scenario() || self.path.starts_with(OF_AIRFRAME) {
            return None;
        }
        let (first, rest) = self.path.split_once('.')?;
        nearest(first, OF_SCENARIO).map(|first| format!("{first}.{rest}"))
    }

    /// Whether it moves the place of a motor's mount.
    fn moves_mount(&self) -> bool {
        let path = self.inner_path();
        path.starts_with("motors.") && path.contains(".mount.") && path.ends_with("_mm")
    }

    /// The error of an override of a scenario where there is only an airframe; none where it is not one.
    pub(crate) fn without_scenario(&self) -> Option<FileError> {
        (self.kind() == Kind::Scenario).then(|| {
            let wanted = "the path of a field of the airframe, since no scenario is read here";
            self.error(None, "a path of a scenario", wanted, None)
        })
    }

    /// The new value of a field that has the value `there`.
    fn value_from(&self, there: Option<&Value>, field: &str) -> Result<Value, FileError> {
        let x = match &self.change {
            Change::Set(value) => return Ok(value.clone()),
            Change::Add(x) | Change::Multiply(x) => *x,
        };
        let Some(old) = there.and_then(Value::as_f64) else {
            let found = there.map_or("nothing".to_owned(), found);
            return Err(self.error(
                Some(field),
                found,
                "a number to change; set it instead",
                None,
            ));
        };
        let new = if matches!(self.change, Change::Add(_)) {
            old + x
        } else {
            old * x
        };
        // A count stays a count: 2 twice is 4, not 4.0, which no whole-number field takes.
        let stays_whole = there.is_some_and(Value::is_u64)
            && new.fract() == 0.0
            && new.is_sign_positive()
            && new <= f64::from(u32::MAX);
        if stays_whole {
            return Ok(Value::from(new as u64));
        }
        serde_json::Number::from_f64(new)
            .map(Value::Number)
            .ok_or_else(|| self.error(Some(field), new.to_string(), "a finite number", None))
    }
}

/// The error of a file that overrides have spoilt: of the override that touched the field, else of the last one without which
/// the file would be right (`is_right` says so), else of the one that touched the field nearest to it.
pub(crate) fn blame(
    problem: &Problem,
    file: &Value,
    overrides: &[Override],
    touched: &[Touched],
    is_right: impl Fn(&[Override]) -> bool,
) -> Option<FileError> {
    let shared = |one: &Touched| one.path.shared(&problem.path);
    let direct = direct(problem, touched);
    let needed = || {
        (0..overrides.len()).rev().find(|&left_out| {
            let mut others = overrides.to_vec();
            others.remove(left_out);
            is_right(&others)
        })
    };
    let near = || {
        touched
            .iter()
            .max_by_key(|one| (shared(one), one.by))
            .map(|one| one.by)
    };
    let culprit = overrides.get(direct.or_else(needed).or_else(near)?)?;
    Some(culprit.error_of(problem, file))
}

/// The override that touched the very field a problem is about, or one inside or around it: the last of them.
fn direct(problem: &Problem, touched: &[Touched]) -> Option<usize> {
    let shared = |one: &Touched| one.path.shared(&problem.path);
    touched
        .iter()
        .rfind(|one| shared(one) == one.path.0.len().min(problem.path.0.len()))
        .map(|one| one.by)
}

/// The error of an override that touched the very field a problem is about, if one did.
pub(crate) fn blame_direct(
    problem: &Problem,
    file: &Value,
    overrides: &[Override],
    touched: &[Touched],
) -> Option<FileError> {
    let culprit = overrides.get(direct(problem, touched)?)?;
    Some(culprit.error_of(problem, file))
}

impl Override {
    /// A problem of a file as an error of this override.
    fn error_of(&self, problem: &Problem, file: &Value) -> FileError {
        let field = problem.path.shown(file);
        self.error(
            Some(&field),
            problem.found.clone(),
            &problem.wanted,
            problem.nearest.clone(),
        )
    }
}

/// Notes in each coefficient's `source` that its number is no longer the one the source speaks of.
pub(crate) fn note_in_sources(airframe: &mut Value, overrides: &[Override], touched: &[Touched]) {
    for one in touched {
        let Some((Step::Key(last), before)) = one.path.0.split_last() else {
            continue;
        };
        let source = FieldPath(before.to_vec()).key("source");
        if let ("value", Some(Value::String(text))) = (last.as_str(), at(airframe, &source)) {
            let note = note(&overrides[one.by]);
            if !text.ends_with(&note) {
                let text = format!("{text}; {note}");
                put(airframe, &source, Value::String(text), Kind::Airframe);
            }
        }
    }
}

/// What is noted in the source of a coefficient that an override has changed.
pub(crate) fn note(one: &Override) -> String {
    format!("changed by an override ({})", one.file)
}

/// Mounts moved without the part that carries them. `carriers` are the names of the parts that carry motors.
pub(crate) fn warnings(overrides: &[Override], carriers: &[&str]) -> Vec<Warning> {
    let moves_carrier = |path: &str| {
        let mut steps = path.split('.').skip(2);
        path.starts_with("mass.parts.")
            && path.ends_with("_mm")
            && steps
                .next()
                .is_some_and(|part| part == "*" || carriers.contains(&part))
    };
    if overrides
        .iter()
        .any(|change| moves_carrier(change.inner_path()))
    {
        return Vec::new();
    }
    overrides
        .iter()
        .filter(|change| change.moves_mount())
        .map(|change| Warning {
            file: change.file.clone(),
            line: change.line,
            field: format!("overrides \"{}\"", change.path),
            text: "moves the thrust line but no mass; move the part that carries the motor to move both".to_owned(),
        })
        .collect()
}
