//! A study's flights, numbered: each a pure function of the study and its number.

use super::file::{Axis, ChangeWord, Design, ScatteredField, StudyFile};
use super::keep::{SensitivityKind, Set};
use super::sampling::{Key, Sampler};
use super::scatter::{cholesky, correlated, quantile, rounded};
use crate::overrides::{Change, Override};
use nalgebra::DMatrix;
use serde_json::Value;

/// What flights are flown for. Draws for one purpose never meet those for another.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Purpose {
    /// To state how probable something is.
    State,
    /// To choose something: an angle, a moment, a limit. What is chosen is then stated with [`Purpose::State`].
    Choose,
    /// To see what setting it inexactly does.
    Set,
    /// To draw what is not known.
    Band,
}

/// A field a study moves.
#[derive(Clone, Debug, PartialEq)]
struct Moved {
    path: String,
    change: ChangeWord,
    file: String,
    line: Option<u32>,
}

impl Moved {
    fn set_to(&self, value: f64) -> Override {
        Override {
            path: self.path.clone(),
            change: match self.change {
                ChangeWord::Set => Change::Set(Value::from(value)),
                ChangeWord::Add => Change::Add(value),
                ChangeWord::Multiply => Change::Multiply(value),
            },
            file: self.file.clone(),
            line: self.line,
        }
    }
}

/// A study's flights.
#[derive(Clone, Debug)]
pub struct Plan {
    file: StudyFile,
    purpose: Purpose,
    axes: Vec<Vec<f64>>,
    /// Fields of the axes, then the scattered ones.
    moved: Vec<Moved>,
    /// What changes along with each axis, with its values.
    along: Vec<Vec<(Moved, Vec<f64>)>>,
    sampler: Sampler,
    /// Lower triangle of the correlations, where there are any.
    lower: Option<DMatrix<f64>>,
}

/// One flight of a study.
#[derive(Clone, Debug, PartialEq)]
pub struct PlannedFlight {
    /// Its number, from 0.
    pub index: u64,
    /// Point of the axes, from 0.
    pub axis_point: u64,
    /// Sample at that point, from 0.
    pub sample: u64,
    /// Which numbers of that sample it has, where sensitivities are asked for.
    pub set: Option<Set>,
    /// Names of the axis values, where they have names.
    pub names: Vec<String>,
    /// Value of every moved field, in the order of [`Plan::fields`].
    pub values: Vec<f64>,
    /// The same as overrides of the base scenario.
    pub overrides: Vec<Override>,
}

/// Values of an axis.
pub(super) fn axis_values(axis: &Axis) -> Vec<f64> {
    let (Some(from), Some(to), Some(count)) = (axis.from, axis.to, axis.count) else {
        return axis.values.clone();
    };
    let last = f64::from(count.max(2) - 1);
    (0..count)
        .map(|i| rounded(from + (to - from) * (f64::from(i) / last)))
        .collect()
}

/// Flights of a sample.
pub(super) fn group(file: &StudyFile) -> u64 {
    let fields = file.scatter.fields.len() as u64;
    let asked = file.sensitivity.as_ref();
    asked.map_or(1, |asked| asked.kind.group(fields))
}

/// The numbers of one flight of a group, out of a sample of twice as many as there are fields (MODEL.md § 27).
fn numbers_of(kind: SensitivityKind, set: Set, sample: &[f64]) -> Vec<f64> {
    let (a, b) = sample.split_at(sample.len() / 2);
    let mut numbers = a.to_vec();
    match set {
        Set::A => {}
        Set::B => numbers.copy_from_slice(b),
        Set::Exchanged(i) => numbers[i] = exchanged(kind, a[i], b[i]),
    }
    numbers
}

/// What takes a number's place: the other half's, or for an elementary effect a number at least a quarter off.
pub(super) fn exchanged(kind: SensitivityKind, a: f64, b: f64) -> f64 {
    match kind {
        SensitivityKind::SobolIndices => b,
        SensitivityKind::ElementaryEffects => (a + 0.25 + 0.5 * b).fract(),
    }
}

impl Plan {
    /// The flights of a checked study.
    pub fn new(file: &StudyFile, purpose: Purpose) -> Self {
        let moved = |path: &str, change| Moved {
            path: path.to_owned(),
            change,
            file: file.name.clone(),
            line: None,
        };
        let scattered = &file.scatter.fields;
        let of_axes = file.axes.iter().map(|axis| moved(&axis.field, axis.change));
        let of_chance = scattered.iter().map(|one| moved(one.field(), one.change()));
        let (sampling, flights) = (file.scatter.sampling, u64::from(file.flights));
        let halves = if file.sensitivity.is_some() { 2 } else { 1 };
        Plan {
            purpose,
            axes: file.axes.iter().map(axis_values).collect(),
            moved: of_axes.chain(of_chance).collect(),
            along: file
                .axes
                .iter()
                .map(|axis| {
                    let along = axis.along.iter();
                    along
                        .map(|one| (moved(&one.field, one.change), one.values.clone()))
                        .collect()
                })
                .collect(),
            sampler: Sampler::new(sampling, flights, scattered.len() * halves),
            lower: (!file.scatter.correlations.is_empty())
                .then(|| cholesky(&file.scatter.correlations, scattered))
                .flatten(),
            file: file.clone(),
        }
    }

    /// Says where the fields come from, for errors: the file, and the line of each of the lists `axes` and `scatter.fields`.
    pub(super) fn name_places(&mut self, file: &str, line: impl Fn(&[&str], usize) -> Option<u32>) {
        let count = self.axes.len();
        for (i, field) in self.moved.iter_mut().enumerate() {
            file.clone_into(&mut field.file);
            field.line = match i.checked_sub(count) {
                None => line(&["axes"], i),
                Some(scattered) => line(&["scatter", "fields"], scattered),
            };
        }
        for (i, fields) in self.along.iter_mut().enumerate() {
            for (field, _) in fields {
                file.clone_into(&mut field.file);
                field.line = line(&["axes"], i);
            }
        }
    }

    /// How many points the axes have.
    pub fn axis_points(&self) -> u64 {
        self.axes.iter().map(|values| values.len() as u64).product()
    }

    /// How many flights there are.
    pub fn flights(&self) -> u64 {
        self.axis_points() * self.flights_at_a_point()
    }

    /// How many flights each point of the axes has.
    pub fn flights_at_a_point(&self) -> u64 {
        u64::from(self.file.flights) * self.group()
    }

    /// How many flights a sample has: more than one where sensitivities are asked for.
    pub fn group(&self) -> u64 {
        group(&self.file)
    }

    /// Names of the fields that are moved, for columns: those of the axes, then the scattered ones. A path stands for values that are set;
    /// ` (add)` or ` (multiply)` follows it where the values are added to the field or multiply it.
    pub fn fields(&self) -> impl Iterator<Item = String> {
        self.moved.iter().map(|field| match field.change {
            ChangeWord::Set => field.path.clone(),
            ChangeWord::Add => format!("{} (add)", field.path),
            ChangeWord::Multiply => format!("{} (multiply)", field.path),
        })
    }

    /// Value of every axis at a point of the axes, in their order.
    pub fn axis_values(&self, axis_point: u64) -> Vec<f64> {
        let places = self.places(axis_point);
        let axes = self.axes.iter().zip(places);
        axes.map(|(axis, place)| axis[place]).collect()
    }

    /// How far each field's number between 0 and 1 moves in the exchanged flights of a sample; for elementary effects.
    pub fn steps(&self, sample: u64) -> Vec<f64> {
        let numbers = self.sampler.sample(self.key(0), sample);
        let (a, b) = numbers.split_at(numbers.len() / 2);
        let kind = SensitivityKind::ElementaryEffects;
        let steps = a.iter().zip(b);
        steps.map(|(&a, &b)| exchanged(kind, a, b) - a).collect()
    }

    fn key(&self, axis_point: u64) -> Key {
        Key {
            seed: self.file.seed,
            purpose: match self.purpose {
                Purpose::State => 1,
                Purpose::Choose => 2,
                Purpose::Set => 3,
                Purpose::Band => 4,
            },
            block: match self.file.scatter.design {
                Design::Crossed => 0,
                Design::Nested => axis_point,
            },
        }
    }

    /// Which value of every axis a point has; the last axis changes fastest.
    fn places(&self, axis_point: u64) -> Vec<usize> {
        let mut rest = axis_point;
        let mut places: Vec<usize> = Vec::new();
        for axis in self.axes.iter().rev() {
            let count = axis.len() as u64;
            places.push((rest % count) as usize);
            rest /= count;
        }
        places.reverse();
        places
    }

    /// A flight by its number: all samples of the first point of the axes, then those of the next; the last axis changes fastest.
    ///
    /// # Panics
    /// Where there is no flight of that number.
    pub fn flight(&self, index: u64) -> PlannedFlight {
        assert!(index < self.flights(), "a flight of the plan");
        let flights = self.flights_at_a_point();
        let (axis_point, within) = (index / flights, index % flights);
        let (sample, place) = (within / self.group(), within % self.group());
        let places = self.places(axis_point);
        let mut values = self.axis_values(axis_point);
        let mut numbers = self.sampler.sample(self.key(axis_point), sample);
        let set = self.file.sensitivity.as_ref().map(|asked| {
            let set = Set::at(asked.kind, place);
            numbers = numbers_of(asked.kind, set, &numbers);
            set
        });
        if let Some(lower) = &self.lower {
            numbers = correlated(&numbers, lower);
        }
        let scattered = self.file.scatter.fields.iter().zip(numbers);
        values.extend(scattered.map(|(field, u)| quantile(field, u)));
        let with_values = |(field, &value): (&Moved, &f64)| field.set_to(value);
        let (of_axes, of_chance) = self.moved.split_at(self.axes.len());
        let (axis_values, scattered_values) = values.split_at(self.axes.len());
        let along = self
            .along
            .iter()
            .zip(&places)
            .flat_map(|(fields, &place)| fields.iter().map(move |(f, v)| f.set_to(v[place])));
        let scattered = self.file.scatter.fields.iter();
        let drawn = of_chance.iter().zip(scattered_values).zip(scattered);
        let overrides = of_axes
            .iter()
            .zip(axis_values)
            .map(with_values)
            .chain(along)
            .chain(drawn.map(|((field, &value), scattered)| {
                let mut one = field.set_to(value);
                // A seed is a count: 7, not 7.0, which no whole-number field takes.
                if let (ScatteredField::WholeNumber(_), Change::Set(_)) = (scattered, &one.change) {
                    one.change = Change::Set(Value::from(value as u64));
                }
                one
            }));
        let names = self.file.axes.iter().zip(&places);
        let names = names.filter_map(|(axis, &place)| axis.names.get(place).cloned());
        PlannedFlight {
            index,
            axis_point,
            sample,
            set,
            names: names.collect(),
            overrides: overrides.collect(),
            values,
        }
    }
}

#[cfg(test)]
mod tests;
