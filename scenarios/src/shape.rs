//! Whether a JSON value has the form its kind of file asks for: fields, types and words, against the JSON Schema of the same types
//! that read it. It speaks before the typed read does, because it knows the path of every field and every name that would be right.

use crate::error::{Problem, number, one_of, quoted};
use crate::field::FieldPath;
use crate::schema::Kind;
use serde_json::{Map, Value};
use std::sync::OnceLock;

/// Largest size of a number in a file. Nothing foam is larger in any unit the files have, and its square stays finite.
pub(crate) const LARGEST: f64 = 1e9;

/// A place in a schema.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Shape {
    root: &'static Value,
    node: &'static Value,
}

impl Shape {
    /// The whole of a kind of file.
    pub fn of(kind: Kind) -> Self {
        static AIRFRAME: OnceLock<Value> = OnceLock::new();
        static SCENARIO: OnceLock<Value> = OnceLock::new();
        static STUDY: OnceLock<Value> = OnceLock::new();
        let cell = match kind {
            Kind::Airframe => &AIRFRAME,
            Kind::Scenario => &SCENARIO,
            Kind::Study => &STUDY,
        };
        let root = cell.get_or_init(|| kind.schema());
        Shape { root, node: root }
    }

    fn at(self, node: &'static Value) -> Self {
        let node = match node.get("$ref").and_then(Value::as_str) {
            Some(reference) => {
                let name = reference.trim_start_matches("#/$defs/");
                self.root
                    .get("$defs")
                    .and_then(|defs| defs.get(name))
                    .unwrap_or(node)
            }
            None => node,
        };
        Shape {
            root: self.root,
            node,
        }
    }

    fn list(self, key: &str) -> &'static [Value] {
        self.node
            .get(key)
            .and_then(Value::as_array)
            .map_or(&[], Vec::as_slice)
    }

    fn properties(self) -> Option<&'static Map<String, Value>> {
        self.node.get("properties")?.as_object()
    }

    /// The words allowed here, where only certain words are.
    fn words(self) -> Vec<&'static str> {
        let word = |node: &'static Value| node.get("const").and_then(Value::as_str);
        match word(self.node) {
            Some(only) => vec![only],
            None => self
                .list("oneOf")
                .iter()
                .map(word)
                .collect::<Option<_>>()
                .unwrap_or_default(),
        }
    }

    /// Forms told apart by a word in one field: that field's name.
    fn tag(self) -> Option<&'static str> {
        if self.properties().is_some() {
            return None;
        }
        let first = self.list("oneOf").first()?.get("properties")?.as_object()?;
        first
            .iter()
            .find(|(_, property)| property.get("const").is_some())
            .map(|(name, _)| name.as_str())
    }

    /// The form a value has by its tag; the shape itself where there is only one form.
    pub fn form_of(self, value: &Value) -> Option<Self> {
        let Some(tag) = self.tag() else {
            return Some(self);
        };
        let word = value.get(tag)?;
        let forms = self.list("oneOf");
        let form = forms
            .iter()
            .find(|form| &form["properties"][tag]["const"] == word)?;
        Some(self.at(form))
    }

    /// The fields an object here may have, with their shapes; of a form not yet known, none.
    pub fn fields(self) -> impl Iterator<Item = (&'static str, Shape)> {
        self.properties()
            .into_iter()
            .flatten()
            .map(move |(name, node)| (name.as_str(), self.at(node)))
    }

    /// A field's shape.
    pub fn field(self, name: &str) -> Option<Self> {
        Some(self.at(self.properties()?.get(name)?))
    }

    /// What a field is when it is left out, where that is a fixed value.
    pub fn default_of(self, name: &str) -> Option<&'static Value> {
        self.properties()?.get(name)?.get("default")
    }

    /// The shape of a list's elements.
    pub fn element(self) -> Option<Self> {
        Some(self.at(self.node.get("items")?))
    }

    /// Whether numbers here must be whole; none where no number may stand here.
    pub fn takes_whole_numbers(self) -> Option<bool> {
        match self.node.get("type").and_then(Value::as_str)? {
            "number" => Some(false),
            "integer" => Some(true),
            _ => None,
        }
    }

    /// What is wanted here, in words.
    fn wanted(self) -> String {
        let words = self.words();
        if !words.is_empty() {
            return one_of(words);
        }
        if let Some(only) = self.node.get("const") {
            return only.to_string();
        }
        match self.node.get("type").and_then(Value::as_str) {
            Some("number") => "a number",
            Some("integer") => "a whole number of 0 or more",
            Some("string") => "text in quotes",
            Some("boolean") => "true or false",
            Some("array") => "a list [...]",
            _ => "an object {...}",
        }
        .to_owned()
    }

    /// Checks a value and everything inside it.
    pub fn check(self, value: &Value, path: &FieldPath) -> Result<(), Problem> {
        let words = self.words();
        if !words.is_empty() {
            return match value.as_str() {
                Some(word) if words.contains(&word) => Ok(()),
                found => Err(self
                    .mismatch(value, path)
                    .with_nearest(found.unwrap_or_default(), words)),
            };
        }
        if let Some(tag) = self.tag() {
            return self.check_tagged(tag, value, path);
        }
        let fits = match self.node.get("type").and_then(Value::as_str) {
            Some("object") => return self.check_object(value, path),
            Some("array") => return self.check_list(value, path),
            Some("number") => {
                if let Some(size) = value.as_f64().filter(|size| size.abs() > LARGEST) {
                    let wanted = format!("a number of at most {} in size", number(LARGEST));
                    return Err(Problem::new(path.clone(), number(size), wanted));
                }
                value.is_number()
            }
            Some("integer") => {
                if let Some(large) = value.as_u64().filter(|&whole| whole > u64::from(u32::MAX)) {
                    let wanted = format!("a whole number of at most {}", u32::MAX);
                    return Err(Problem::new(path.clone(), large.to_string(), wanted));
                }
                value.is_u64()
            }
            Some("string") => value.is_string(),
            Some("boolean") => value.is_boolean(),
            // Overrides are read by their own module.
            _ => true,
        };
        if fits {
            Ok(())
        } else {
            Err(self.mismatch(value, path))
        }
    }

    fn mismatch(self, value: &Value, path: &FieldPath) -> Problem {
        Problem::new(path.clone(), found(value), self.wanted())
    }

    fn check_tagged(
        self,
        tag: &'static str,
        value: &Value,
        path: &FieldPath,
    ) -> Result<(), Problem> {
        if !value.is_object() {
            return Err(self.mismatch(value, path));
        }
        if let Some(form) = self.form_of(value) {
            return form.check_object(value, path);
        }
        let words: Vec<&str> = self
            .list("oneOf")
            .iter()
            .filter_map(|form| form["properties"][tag]["const"].as_str())
            .collect();
        let given = value.get(tag);
        let problem = Problem::new(
            path.key(tag),
            given.map_or("nothing".to_owned(), found),
            one_of(words.clone()),
        );
        Err(problem.with_nearest(given.and_then(Value::as_str).unwrap_or_default(), words))
    }

    fn check_object(self, value: &Value, path: &FieldPath) -> Result<(), Problem> {
        let Some(object) = value.as_object() else {
            return Err(self.mismatch(value, path));
        };
        let Some(known) = self.properties() else {
            return Ok(());
        };
        if let Some(unknown) = object.keys().find(|name| !known.contains_key(*name)) {
            // A name somebody meant is more likely one that is not there yet.
            let free = known
                .keys()
                .map(String::as_str)
                .filter(|name| !object.contains_key(*name));
            let mut problem =
                Problem::new(path.key(unknown), "an unknown field", "").with_nearest(unknown, free);
            if problem.nearest.is_none() {
                // Or a slip in one that is there already; then only one that is almost the same.
                let slip = |name: &&str| strsim::jaro_winkler(unknown, name) > 0.95;
                problem =
                    problem.with_nearest(unknown, known.keys().map(String::as_str).filter(slip));
            }
            problem.wanted = match problem.nearest {
                Some(_) => "a field that exists here".to_owned(),
                None => one_of(known.keys().map(String::as_str)),
            };
            return Err(problem);
        }
        for name in self.list("required").iter().filter_map(Value::as_str) {
            if let (None, Some(field)) = (object.get(name), self.field(name)) {
                return Err(Problem::new(path.key(name), "nothing", field.wanted()));
            }
        }
        object
            .iter()
            .try_for_each(|(name, inner)| match self.field(name) {
                Some(field) => field.check(inner, &path.key(name)),
                None => Ok(()),
            })
    }

    fn check_list(self, value: &Value, path: &FieldPath) -> Result<(), Problem> {
        let Some(list) = value.as_array() else {
            return Err(self.mismatch(value, path));
        };
        let limit = |key: &str| {
            self.node
                .get(key)
                .and_then(Value::as_u64)
                .map(|n| n as usize)
        };
        let count = list.len();
        let found = match count {
            0 => "an empty list".to_owned(),
            1 => "a list of one".to_owned(),
            _ => format!("a list of {count}"),
        };
        if let Some(least) = limit("minItems").filter(|&least| count < least) {
            return Err(Problem::new(
                path.clone(),
                found,
                format!("{least} entries at least"),
            ));
        }
        if let Some(most) = limit("maxItems").filter(|&most| count > most) {
            return Err(Problem::new(
                path.clone(),
                found,
                format!("{most} entries at most"),
            ));
        }
        let Some(element) = self.element() else {
            return Ok(());
        };
        list.iter()
            .enumerate()
            .try_for_each(|(i, inner)| element.check(inner, &path.index(i)))
    }
}

/// A value in words.
pub(crate) fn found(value: &Value) -> String {
    match value {
        Value::Null => "null".to_owned(),
        Value::Bool(truth) => truth.to_string(),
        Value::Number(given) => given.as_f64().map_or_else(|| given.to_string(), number),
        Value::String(text) => quoted(text),
        Value::Array(_) => "a list".to_owned(),
        Value::Object(_) => "an object".to_owned(),
    }
}
