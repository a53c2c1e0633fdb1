//! The study file's form.
//!
//! The doc comments are the descriptions in the JSON Schema: they are what an editor shows while somebody writes a file.

use super::keep::{Keep, Sensitivity};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// One throw flown many times: fields changed along axes, fields scattered by chance, conditions counted.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[schemars(title = "Tossline study file")]
pub struct StudyFile {
    /// Where an editor finds the JSON Schema of this file; not looked at here.
    #[serde(rename = "$schema", default, skip_serializing_if = "Option::is_none")]
    pub json_schema: Option<String>,
    /// Version of the file format: 1.
    #[schemars(extend("const" = 1))]
    pub tossline: u32,
    /// What the file is: "study".
    pub kind: StudyKind,
    /// Name of the study: letters, digits, - and _.
    pub name: String,
    /// Free text: what the study is for.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub note: String,
    /// Path of the scenario that is flown, from the folder this file is in.
    pub base: String,
    /// Fields that take certain values. All axes are crossed into a grid: every value of the first with every value of the second and so on,
    /// the last changing fastest.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub axes: Vec<Axis>,
    /// Fields that chance decides.
    #[serde(default)]
    pub scatter: Scatter,
    /// Flights at each point of the axes.
    #[serde(default = "one_flight")]
    pub flights: u32,
    /// What all draws depend on.
    #[serde(default)]
    pub seed: u32,
    /// What is counted.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub conditions: Vec<Condition>,
    /// Confidence of the intervals around what is counted, over 0 and under 1.
    #[serde(default = "usual_confidence")]
    pub confidence_fraction: f64,
    /// What is kept of each flight.
    #[serde(default)]
    pub keep: Keep,
    /// Which of the scattered fields decide the result.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub sensitivity: Option<Sensitivity>,
    /// Of a thrust line: share of flights that must meet all conditions at every point of the axes after the first.
    #[serde(default, skip_serializing_if = "is_zero")]
    pub floor_fraction: f64,
    /// Of a thrust line: what the unscattered airframe's steady flight at full throttle must be. Left out: nothing is asked of it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub steady_at_full_throttle: Option<SteadyLimits>,
    /// Of a thrust line: what is not known of every airframe alike, apart from scatter. Left out: all is as the files say.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub bands: Option<Bands>,
}

fn is_zero(value: &f64) -> bool {
    *value == 0.0
}

/// What a steady flight must be.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct SteadyLimits {
    /// Least climb angle of the path, deg.
    pub least_path_angle_deg: f64,
    /// Least distance of the incidence from stall, deg.
    pub least_stall_margin_deg: f64,
}

/// What is not known: drawn some times, all flights of a draw alike.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Bands {
    /// How many times it is drawn.
    pub draws: u32,
    /// Flights of each draw at each point of the axes.
    pub flights: u32,
    /// The fields, as those of `scatter`; they change the base, before axes and scatter do.
    pub fields: Vec<ScatteredField>,
}

fn one_flight() -> u32 {
    1
}

fn usual_confidence() -> f64 {
    0.95
}

/// The word that marks a study file.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
#[schemars(inline)]
pub enum StudyKind {
    /// A study file.
    Study,
}

/// A field and the values it takes: a list, or an even range.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[schemars(extend("oneOf" = [{"required": ["values"]}, {"required": ["from", "to", "count"]}]))]
pub struct Axis {
    /// Path of the field, as in a scenario's `overrides`: `launch.release_speed_m_s`, `motors.*.thrust_elevation_deg`.
    pub field: String,
    /// What the values do to it.
    #[serde(default)]
    pub change: ChangeWord,
    /// The values, in the field's own unit (of `multiply`, factors).
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub values: Vec<f64>,
    /// A name for each value, for tables and for the conditions' `at`: letters, digits, - and _.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub names: Vec<String>,
    /// First value of a range.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub from: Option<f64>,
    /// Last value of it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub to: Option<f64>,
    /// How many values it has, both ends counted.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub count: Option<u32>,
    /// Fields that change along with it: each takes its first value where the axis has its first, and so on.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub along: Vec<Along>,
}

/// A field that changes along with an axis.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Along {
    /// Path of the field, as in a scenario's `overrides`.
    pub field: String,
    /// What the values do to it.
    #[serde(default)]
    pub change: ChangeWord,
    /// As many values as the axis has, in the field's own unit (of `multiply`, factors).
    pub values: Vec<f64>,
}

/// What a value does to a field.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
#[schemars(inline)]
pub enum ChangeWord {
    /// Sets it.
    #[default]
    Set,
    /// Adds to it.
    Add,
    /// Multiplies it.
    Multiply,
}

/// Fields that chance decides, and how they are drawn.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, default)]
pub struct Scatter {
    /// How samples are spread.
    pub sampling: Sampling,
    /// Whether points of the axes share their samples.
    pub design: Design,
    /// The fields.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub fields: Vec<ScatteredField>,
    /// Fields that go together.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub correlations: Vec<Correlation>,
}

/// How samples are spread.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
#[schemars(inline)]
pub enum Sampling {
    /// Scrambled Sobol points; best where `flights` is a power of two.
    #[default]
    ScrambledSobol,
    /// A Latin hypercube: each of as many equal parts of a field's range as there are flights holds one.
    LatinHypercube,
}

/// Whether points of the axes share their samples.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
#[schemars(inline)]
pub enum Design {
    /// The same samples at every point: points differ by their axes alone.
    #[default]
    Crossed,
    /// Samples of its own at each point.
    Nested,
}

/// A field and how it scatters; `distribution` says in what way. All numbers are in the field's own unit (of `multiply`, factors).
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(tag = "distribution", rename_all = "snake_case", deny_unknown_fields)]
pub enum ScatteredField {
    /// Gauss's bell, without ends.
    Normal(Normal),
    /// The same between two ends, the rest left out.
    TruncatedNormal(TruncatedNormal),
    /// Evenly between two ends.
    Uniform(Uniform),
    /// One of the whole numbers from one end to the other, both counted, all alike: for seeds.
    WholeNumber(Uniform),
    /// Rising evenly from one end to the most likely value and falling evenly to the other.
    Triangular(Triangular),
}

/// Gauss's bell.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Normal {
    /// Path of the field, as in a scenario's `overrides`.
    pub field: String,
    /// What the values do to it.
    #[serde(default)]
    pub change: ChangeWord,
    /// Mean.
    pub mean: f64,
    /// Standard deviation.
    pub standard_deviation: f64,
}

/// Gauss's bell between two ends.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct TruncatedNormal {
    /// Path of the field, as in a scenario's `overrides`.
    pub field: String,
    /// What the values do to it.
    #[serde(default)]
    pub change: ChangeWord,
    /// Mean of the whole bell.
    pub mean: f64,
    /// Standard deviation of the whole bell.
    pub standard_deviation: f64,
    /// Least value.
    pub least: f64,
    /// Largest value.
    pub most: f64,
}

/// Evenly between two ends.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Uniform {
    /// Path of the field, as in a scenario's `overrides`.
    pub field: String,
    /// What the values do to it.
    #[serde(default)]
    pub change: ChangeWord,
    /// Least value.
    pub least: f64,
    /// Largest value.
    pub most: f64,
}

/// A triangle over two ends and a most likely value.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Triangular {
    /// Path of the field, as in a scenario's `overrides`.
    pub field: String,
    /// What the values do to it.
    #[serde(default)]
    pub change: ChangeWord,
    /// Least value.
    pub least: f64,
    /// Most likely value.
    pub most_likely: f64,
    /// Largest value.
    pub most: f64,
}

impl ScatteredField {
    /// Path of the field.
    pub fn field(&self) -> &str {
        match self {
            ScatteredField::Normal(one) => &one.field,
            ScatteredField::TruncatedNormal(one) => &one.field,
            ScatteredField::Uniform(one) | ScatteredField::WholeNumber(one) => &one.field,
            ScatteredField::Triangular(one) => &one.field,
        }
    }

    /// What its values do to it.
    pub fn change(&self) -> ChangeWord {
        match self {
            ScatteredField::Normal(one) => one.change,
            ScatteredField::TruncatedNormal(one) => one.change,
            ScatteredField::Uniform(one) | ScatteredField::WholeNumber(one) => one.change,
            ScatteredField::Triangular(one) => one.change,
        }
    }
}

/// Two scattered fields that go together.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Correlation {
    /// Path of one, as it stands in `fields`.
    pub first: String,
    /// Path of the other.
    pub second: String,
    /// Correlation of their normal scores, over −1 and under 1.
    pub coefficient: f64,
}

/// Something a flight meets or not: a column of the summary against a limit.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[schemars(extend("oneOf" = [{"required": ["limit"]}, {"required": ["word"]}]))]
pub struct Condition {
    /// What it is called: letters, digits, - and _.
    pub name: String,
    /// Column of the summary, the unit at its end.
    pub column: String,
    /// How it is compared.
    pub comparison: Comparison,
    /// The limit, in the column's unit. A flight without that number does not meet the condition.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub limit: Option<f64>,
    /// The word, with `is` and `is_not`. A flight without a word there is not that word.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub word: Option<String>,
    /// Whether the command ends with exit code 1 where too few flights meet it.
    #[serde(default)]
    pub must_hold: bool,
    /// Share of the flights that must meet it, as counted.
    #[serde(default = "all")]
    pub least_share_fraction: f64,
    /// Names of axis values where it is asked; elsewhere it counts as met. Left out: it is asked everywhere.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub at: Vec<String>,
    /// Whether a flight must meet it to be one that meets all conditions; false: it is shown beside them. Of a thrust line only.
    #[serde(default = "yes", skip_serializing_if = "is_yes")]
    pub counts: bool,
}

fn all() -> f64 {
    1.0
}

fn yes() -> bool {
    true
}

fn is_yes(value: &bool) -> bool {
    *value
}

/// How a column is compared.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
#[schemars(inline)]
pub enum Comparison {
    /// The limit or more.
    AtLeast,
    /// The limit or less.
    AtMost,
    /// More than the limit.
    Above,
    /// Less than the limit.
    Below,
    /// That word.
    Is,
    /// Another word, or none.
    IsNot,
}
