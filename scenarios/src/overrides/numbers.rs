//! Numbers of a file that flight after flight changes: where a path leads is found once, and only the sections around it come out changed.
//!
//! This is the quick way for what goes well: it gives up on anything else (a path that names nothing, a text, a number that does not fit), and
//! whoever asked then goes the whole way, which has the words for it.

use super::Override;
use super::paths::{at, named_by, put};
use crate::field::{FieldPath, Step};
use crate::schema::Kind;
use crate::shape::{LARGEST, Shape};
use serde_json::Value;
use std::collections::HashMap;
use std::sync::{Arc, RwLock};

/// A right file as JSON, and what is known of paths into it.
#[derive(Debug)]
pub(crate) struct Numbers {
    kind: Kind,
    known: RwLock<Known>,
}

#[derive(Debug)]
struct Known {
    /// The file; numbers that it leaves out are put in with their defaults once a path leads to one.
    value: Value,
    /// Parts of it that numbers lie in.
    sections: Vec<Arc<FieldPath>>,
    /// Numbers that a path names; none for one that is not for the quick way.
    of_path: HashMap<Arc<str>, Option<Vec<Place>>>,
}

/// A number of the file.
#[derive(Debug)]
struct Place {
    section: usize,
    /// From the section on.
    inside: Vec<Step>,
    whole_number: bool,
}

/// A part of the file that is read by itself, with numbers changed.
#[derive(Debug)]
pub(crate) struct Section {
    pub path: Arc<FieldPath>,
    pub value: Value,
}

/// Up to which step a path goes to be read by itself: an element of a list of parts, motors and so on, else a field of the file.
fn section_of(kind: Kind, path: &FieldPath) -> FieldPath {
    let steps = &path.0;
    let is_index = |i: usize| matches!(steps.get(i), Some(Step::Index(_)));
    let length = match (kind, steps.first()) {
        (Kind::Airframe, Some(Step::Key(first))) if first == "mass" => 2 + usize::from(is_index(2)),
        (Kind::Airframe, _) => 1 + usize::from(is_index(1)),
        _ => 1,
    };
    FieldPath(steps[..length.min(steps.len())].to_vec())
}

impl Numbers {
    /// Of a file that has been read and checked.
    pub fn new(value: Value, kind: Kind) -> Self {
        Numbers {
            kind,
            known: RwLock::new(Known {
                value,
                sections: Vec::new(),
                of_path: HashMap::new(),
            }),
        }
    }

    /// The sections that overrides change, with the numbers they come to, one override after the other. `reads_the_same` says whether a section
    /// with a default written down means what it meant. None where this is not for the quick way.
    pub fn changed<'o>(
        &self,
        overrides: impl Iterator<Item = &'o Override> + Clone,
        reads_the_same: impl Fn(&Section) -> bool,
    ) -> Option<Vec<Section>> {
        let is_new = |known: &Known, one: &Override| !known.of_path.contains_key(one.inner_path());
        let mut known = self.known.read().ok()?;
        if overrides.clone().any(|one| is_new(&known, one)) {
            drop(known);
            let mut writing = self.known.write().ok()?;
            for one in overrides.clone() {
                if is_new(&writing, one) {
                    let places = writing.numbers_at(one.inner_path(), self.kind, &reads_the_same);
                    writing.of_path.insert(one.inner_path().into(), places);
                }
            }
            drop(writing);
            known = self.known.read().ok()?;
        }
        let mut changed: Vec<(usize, Value)> = Vec::new();
        for one in overrides {
            for place in known.of_path.get(one.inner_path())?.as_ref()? {
                let number = match changed.iter().position(|(at, _)| *at == place.section) {
                    Some(number) => number,
                    None => {
                        let value = at(&known.value, &known.sections[place.section])?;
                        changed.push((place.section, value.clone()));
                        changed.len() - 1
                    }
                };
                let field = inside(&mut changed[number].1, &place.inside)?;
                let new = one.value_from(Some(field), "").ok()?;
                // What is told to be the same by comparing numbers would lose the sign of a zero.
                if is_negative_zero(field) || is_negative_zero(&new) {
                    return None;
                }
                let fits = if place.whole_number {
                    new.as_u64()
                        .is_some_and(|whole| whole <= u64::from(u32::MAX))
                } else {
                    new.as_f64().is_some_and(|size| size.abs() <= LARGEST)
                };
                *field = Some(new).filter(|_| fits)?;
            }
        }
        let section = |(at, value): (usize, Value)| Section {
            path: Arc::clone(&known.sections[at]),
            value,
        };
        Some(changed.into_iter().map(section).collect())
    }
}

fn is_negative_zero(value: &Value) -> bool {
    value
        .as_f64()
        .is_some_and(|x| x == 0.0 && x.is_sign_negative())
}

fn inside<'v>(value: &'v mut Value, steps: &[Step]) -> Option<&'v mut Value> {
    steps.iter().try_fold(value, |here, step| match step {
        Step::Key(name) => here.get_mut(name),
        Step::Index(index) => here.get_mut(index),
    })
}

impl Known {
    /// The numbers a path names.
    fn numbers_at(
        &mut self,
        path: &str,
        kind: Kind,
        reads_the_same: impl Fn(&Section) -> bool,
    ) -> Option<Vec<Place>> {
        let named = named_by(path, &self.value, kind);
        if named.is_empty() {
            return None;
        }
        let mut value = self.value.clone();
        let mut places = Vec::new();
        for (path, there) in named {
            put(&mut value, &path, there.filter(Value::is_number)?, kind);
            let section = section_of(kind, &path);
            let inside = path.0[section.0.len()..].to_vec();
            let section = Arc::new(section);
            let now = at(&value, &section)?.clone();
            if !reads_the_same(&Section {
                path: Arc::clone(&section),
                value: now,
            }) {
                return None;
            }
            let known = self.sections.iter().position(|one| *one == section);
            places.push(Place {
                section: known.unwrap_or_else(|| {
                    self.sections.push(section);
                    self.sections.len() - 1
                }),
                inside,
                whole_number: is_whole_number(&value, &path, kind)?,
            });
        }
        self.value = value;
        Some(places)
    }
}

/// Whether a number must be whole; none where it is no number by the schema.
fn is_whole_number(root: &Value, path: &FieldPath, kind: Kind) -> Option<bool> {
    let (mut shape, mut here) = (Shape::of(kind), root);
    for step in &path.0 {
        (shape, here) = match step {
            Step::Key(name) => (shape.form_of(here)?.field(name)?, here.get(name)?),
            Step::Index(index) => (shape.element()?, here.get(index)?),
        };
    }
    shape.takes_whole_numbers()
}
