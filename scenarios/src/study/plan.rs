//! A study's flights, numbered: each a pure function of the study and its number.

use super::checks;
use super::file::{Axis, ChangeWord, Design, ScatteredField, StudyFile};
use super::keep::{SensitivityKind, Set};
use super::sampling::{Key, Sampler};
use super::scatter::{cholesky, correlated, quantile, rounded};
use crate::error::{FileError, Problem};
use crate::field::FieldPath;
use crate::load::{LoadedScenario, load_scenario_with, nearest_beside, without_detours};
use crate::overrides::{Change, Override};
use crate::read::Document;
use crate::schema::Kind;
use nalgebra::DMatrix;
use serde_json::Value;
use std::path::{Path, PathBuf};

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

/// A study file, checked, with the scenario it flies.
#[derive(Clone, Debug)]
pub struct LoadedStudy {
    /// Where the file is.
    pub path: PathBuf,
    /// The file's bytes as they were read, for hashing.
    pub bytes: Vec<u8>,
    /// The file, defaults filled.
    pub file: StudyFile,
    /// The scenario it flies, with the overrides of a command line, before axes and scatter.
    pub base: LoadedScenario,
    document: Document,
}

/// Reads a study and the scenario it flies, with overrides that come before its axes and scatter.
///
/// # Errors
/// [`FileError`] of the study, of the scenario or its airframe, or of an axis or a scattered field that leads nowhere.
pub fn load_study(path: impl AsRef<Path>, more: &[Override]) -> Result<LoadedStudy, FileError> {
    let path = path.as_ref();
    let document = Document::open(path)?;
    let file: StudyFile = document.typed(Kind::Study)?;
    checks::check(&file).map_err(|problem| document.error(problem))?;
    let scenario = path.parent().unwrap_or(Path::new("")).join(&file.base);
    if !scenario.is_file() {
        let found = format!("{:?}, which is no file", file.base);
        let wanted = "the path of a scenario file, from the folder this file is in";
        let mut problem = Problem::new(FieldPath::default().key("base"), found, wanted);
        problem.nearest = nearest_beside(&scenario, &file.base);
        return Err(document.error(problem));
    }
    let base = load_scenario_with(without_detours(&scenario), more)?;
    study_of(path, document, file, base)
}

/// A study's file out of its bytes, checked by itself: without its scenario, so that paths of fields are not followed. `name` is what errors
/// call it.
///
/// # Errors
/// [`FileError`] of the study.
pub fn study_file_from_bytes(name: &str, bytes: Vec<u8>) -> Result<StudyFile, FileError> {
    let document = Document::from_bytes(name, bytes)?;
    let file: StudyFile = document.typed(Kind::Study)?;
    checks::check(&file).map_err(|problem| document.error(problem))?;
    Ok(file)
}

/// A checked study of a scenario that is read already.
fn study_of(
    path: &Path,
    document: Document,
    file: StudyFile,
    base: LoadedScenario,
) -> Result<LoadedStudy, FileError> {
    let study = LoadedStudy {
        path: path.to_owned(),
        bytes: document.bytes.clone(),
        base,
        file,
        document,
    };
    // The first flight shows whether every path leads somewhere.
    let first = study.plan(Purpose::State).flight(0);
    study.scenario(&first).map(|_| study)
}

/// A study whose text is already read, of a scenario that is: its `base` is not looked for.
///
/// # Errors
/// [`FileError`] of the study, or of an axis or a scattered field that leads nowhere.
pub(crate) fn study_from(
    path: &Path,
    document: Document,
    base: LoadedScenario,
) -> Result<LoadedStudy, FileError> {
    let file: StudyFile = document.typed(Kind::Study)?;
    checks::check(&file).map_err(|problem| document.error(problem))?;
    study_of(path, document, file, base)
}

impl LoadedStudy {
    /// A problem of the file as an error.
    pub(crate) fn error(&self, problem: Problem) -> FileError {
        self.document.error(problem)
    }

    /// The study of the same file at other values of its first axis, with another number of flights at each.
    pub fn at_values(&self, values: Vec<f64>, flights: u32) -> Self {
        let mut study = self.clone();
        study.file.flights = flights;
        if let Some(axis) = study.file.axes.first_mut() {
            (axis.from, axis.to, axis.count) = (None, None, None);
            axis.values = values;
            axis.names.clear();
        }
        study
    }

    /// Draws of what is not known, each as changes of the scenario.
    pub fn band_draws(&self) -> Vec<Vec<Override>> {
        let Some(bands) = &self.file.bands else {
            return Vec::new();
        };
        let mut file = self.file.clone();
        file.axes.clear();
        file.scatter = super::file::Scatter {
            fields: bands.fields.clone(),
            ..Default::default()
        };
        file.flights = bands.draws;
        let plan = Plan::new(&file, Purpose::Band);
        (0..plan.flights())
            .map(|draw| plan.flight(draw).overrides)
            .collect()
    }

    /// The study of the same file with its scenario changed first.
    ///
    /// # Errors
    /// [`FileError`] of an override that cannot be.
    pub fn with_base_changed(&self, overrides: &[Override]) -> Result<Self, FileError> {
        Ok(LoadedStudy {
            base: self.base.changed_by(overrides)?,
            ..self.clone()
        })
    }

    /// Values of the first axis.
    pub fn first_axis_values(&self) -> Vec<f64> {
        self.file.axes.first().map_or_else(Vec::new, axis_values)
    }

    /// The flights that count: one a sample, whether or not sensitivities are asked for.
    pub fn plan(&self, purpose: Purpose) -> Plan {
        let file = StudyFile {
            sensitivity: None,
            ..self.file.clone()
        };
        self.plan_of(&file, purpose)
    }

    /// All flights, those that only sensitivities need included.
    pub fn whole_plan(&self) -> Plan {
        self.plan_of(&self.file, Purpose::State)
    }

    fn plan_of(&self, file: &StudyFile, purpose: Purpose) -> Plan {
        let at = |list: FieldPath, i: usize| self.document.line_of(&list.index(i));
        let top = FieldPath::default();
        let (axes, fields) = (top.key("axes"), top.key("scatter").key("fields"));
        let mut plan = Plan::new(file, purpose);
        let count = plan.axes.len();
        for (i, field) in plan.moved.iter_mut().enumerate() {
            field.file.clone_from(&self.document.file);
            field.line = match i.checked_sub(count) {
                None => at(axes.clone(), i),
                Some(scattered) => at(fields.clone(), scattered),
            };
        }
        for (i, fields) in plan.along.iter_mut().enumerate() {
            for (field, _) in fields {
                field.file.clone_from(&self.document.file);
                field.line = at(axes.clone(), i);
            }
        }
        plan
    }

    /// The scenario of a flight.
    ///
    /// # Errors
    /// [`FileError`] of an override that cannot be, named by the study's line.
    pub fn scenario(&self, flight: &PlannedFlight) -> Result<LoadedScenario, FileError> {
        self.base.changed_by(&flight.overrides)
    }
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
mod tests {
    use super::*;
    use serde_json::json;

    fn study(changes: &[(&str, Value)]) -> StudyFile {
        let mut value = json!({
            "tossline": 1, "kind": "study", "name": "s", "base": "b.json", "flights": 8, "seed": 5,
            "axes": [
                {"field": "air.wind.speed_m_s", "values": [0, 2, 4]},
                {"field": "motors.*.thrust_elevation_deg", "change": "add", "from": -4, "to": 4, "count": 5}
            ],
            "scatter": {"fields": [
                {"distribution": "normal", "field": "launch.release_speed_m_s", "mean": 5, "standard_deviation": 0.3},
                {"distribution": "uniform", "field": "launch.heading_deg", "least": -10, "most": 10}
            ]}
        });
        for (name, new) in changes {
            value[*name] = new.clone();
        }
        serde_json::from_value(value).unwrap()
    }

    // By hand: 3 × 5 points of 8 flights; flight 8·7 + 3 is sample 3 at wind 2 m/s (7 = 1·5 + 2) and elevation 0.
    #[test]
    fn flights_are_numbered_point_by_point() {
        let plan = Plan::new(&study(&[]), Purpose::State);
        assert_eq!((plan.axis_points(), plan.flights()), (15, 120));
        let flight = plan.flight(8 * 7 + 3);
        assert_eq!((flight.axis_point, flight.sample), (7, 3));
        assert_eq!(flight.values[..2], [2.0, 0.0]);
        assert_eq!(flight.overrides[0].change, Change::Set(Value::from(2.0)));
        assert_eq!(flight.overrides[1].change, Change::Add(0.0));
        assert_eq!(flight.overrides[2].path, "launch.release_speed_m_s");
        assert_eq!(plan.flight(119).values[..2], [4.0, 4.0]);
        let names: Vec<String> = plan.fields().collect();
        assert_eq!(names[1], "motors.*.thrust_elevation_deg (add)");
        assert_eq!(names[2], "launch.release_speed_m_s");
    }

    // By hand: the third wind has the third gust; a whole number stays one, and each end is drawn.
    #[test]
    fn fields_go_along_with_their_axis_and_seeds_are_whole() {
        let plan = Plan::new(
            &study(&[
                (
                    "axes",
                    json!([
                        {"field": "air.wind.speed_m_s", "values": [0, 2, 4],
                         "along": [{"field": "air.gusts.1.speed_m_s", "values": [0, 1, 2.5]}]},
                        {"field": "launch.heading_deg", "values": [0, 1]}
                    ]),
                ),
                (
                    "scatter",
                    json!({"fields": [
                        {"distribution": "whole_number", "field": "air.turbulence.seed", "least": 3, "most": 4}
                    ]}),
                ),
            ]),
            Purpose::State,
        );
        let flight = plan.flight(8 * 5);
        assert_eq!(flight.values[..2], [4.0, 1.0]);
        let along = &flight.overrides[2];
        assert_eq!(along.path, "air.gusts.1.speed_m_s");
        assert_eq!(along.change, Change::Set(Value::from(2.5)));
        let seeds: Vec<Change> = (0..8)
            .map(|i| plan.flight(i).overrides[3].change.clone())
            .collect();
        for seed in [3_u64, 4] {
            let of = Change::Set(Value::from(seed));
            assert_eq!(seeds.iter().filter(|s| **s == of).count(), 4, "{seeds:?}");
        }
    }

    #[test]
    fn crossed_points_share_their_samples_and_nested_ones_do_not() {
        let crossed = Plan::new(&study(&[]), Purpose::State);
        assert_eq!(
            crossed.flight(3).values[2..],
            crossed.flight(59).values[2..]
        );
        let mut file = study(&[]);
        file.scatter.design = Design::Nested;
        let nested = Plan::new(&file, Purpose::State);
        assert_ne!(nested.flight(3).values[2..], nested.flight(59).values[2..]);
        assert_eq!(nested.flight(3), nested.clone().flight(3));
    }

    // Sobol's samples do not know how many there will be; what is drawn to choose is not what is drawn to state.
    #[test]
    fn a_sample_depends_on_seed_number_and_purpose_alone() {
        let few = Plan::new(&study(&[("axes", json!([]))]), Purpose::State);
        let many = Plan::new(
            &study(&[("axes", json!([])), ("flights", json!(4096))]),
            Purpose::State,
        );
        for i in 0..8 {
            assert_eq!(few.flight(i).values, many.flight(i).values);
        }
        let choosing = Plan::new(&study(&[("axes", json!([]))]), Purpose::Choose);
        let other_seed = Plan::new(
            &study(&[("axes", json!([])), ("seed", json!(6))]),
            Purpose::State,
        );
        for i in 0..8 {
            for other in [&choosing, &other_seed] {
                let pairs = few.flight(i).values.into_iter().zip(other.flight(i).values);
                assert!(pairs.into_iter().all(|(a, b)| a != b));
            }
        }
    }
}
