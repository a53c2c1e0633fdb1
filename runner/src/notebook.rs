//! What the notebook package asks of commands that fly many throws: their work, their files and their words, without a terminal.
//!
//! Where nobody wants the files, they lie in a temporary folder until they are read.

pub use crate::args::WhoseHands;
use crate::args::{FlyingOption, Overrides, PageOption, SweepArguments, ThrustlineArguments};
use crate::commands::{sweep as sweeping, thrustline};
use crate::exit::{NotDone, Outcome};
use crate::output::parquet::{Value as CellValue, cells};
use crate::plan::StudyPlan;
use crate::resume::folder::Folder;
use crate::study_result::{Finished, each_row, page::page};
use scenarios::study::row::{ColumnKind, RowForm, TableColumn};
use scenarios::study::sensitivity::{FieldShare, WithInterval};
use scenarios::summary::{Holds, Summary};
use serde_json::Value;
use std::path::{Path, PathBuf};
use std::sync::atomic::AtomicBool;
use tempfile::TempDir;

/// A column of a table, absent cells None.
#[derive(Clone, Debug, PartialEq)]
pub enum Cells {
    /// Whole numbers.
    Counts(Vec<Option<u64>>),
    /// Numbers.
    Numbers(Vec<Option<f64>>),
    /// Texts.
    Texts(Vec<Option<String>>),
    /// True or false.
    Truths(Vec<Option<bool>>),
}

/// Named columns of one length.
pub type Table = Vec<(String, Cells)>;

impl Cells {
    fn of(kind: ColumnKind) -> Self {
        match kind {
            ColumnKind::Count => Cells::Counts(Vec::new()),
            ColumnKind::Number => Cells::Numbers(Vec::new()),
            ColumnKind::Text => Cells::Texts(Vec::new()),
            ColumnKind::Truth => Cells::Truths(Vec::new()),
        }
    }

    fn push(&mut self, value: CellValue<'_>) {
        match (self, value) {
            (Cells::Counts(list), CellValue::Count(value)) => list.push(Some(value)),
            (Cells::Numbers(list), CellValue::Number(value)) => list.push(Some(value)),
            (Cells::Texts(list), CellValue::Text(value)) => list.push(Some(value.to_owned())),
            (Cells::Truths(list), CellValue::Truth(value)) => list.push(Some(value)),
            (Cells::Counts(list), _) => list.push(None),
            (Cells::Numbers(list), _) => list.push(None),
            (Cells::Texts(list), _) => list.push(None),
            (Cells::Truths(list), _) => list.push(None),
        }
    }

    /// A cell as it stands in a CSV file.
    fn push_text(&mut self, text: &str) {
        match self {
            Cells::Counts(list) => list.push(text.parse().ok()),
            Cells::Numbers(list) => list.push(text.parse().ok()),
            Cells::Texts(list) => list.push((!text.is_empty()).then(|| text.to_owned())),
            Cells::Truths(list) => list.push(text.parse().ok()),
        }
    }
}

/// What a sweep comes to.
#[derive(Debug)]
pub struct Swept {
    /// What `summary.json` holds.
    pub report: Value,
    /// What the command prints.
    pub page: String,
    /// A row for each flight.
    pub flights: Table,
    /// `points.csv`; none without axes.
    pub points: Option<Table>,
    /// What decides each column: a row for each column and field. None where the study does not ask.
    pub sensitivities: Option<Table>,
    /// What is worth saying, a text each.
    pub warnings: Vec<String>,
}

/// Flies a study, or goes on with it in its folder; none where it was stopped.
///
/// # Errors
/// [`NotDone`], with the command's words.
pub fn sweep(
    study: &Path,
    overrides: &[String],
    out: Option<&Path>,
    threads: Option<u16>,
    stop: &AtomicBool,
) -> Result<Option<Swept>, NotDone> {
    let place = Place::of(out)?;
    let html = PageOption {
        no_page: out.is_none(),
    };
    let arguments = SweepArguments {
        study: study.to_owned(),
        out: place.path.clone(),
        part: None,
        plan_only: false,
        json: false,
        flying: FlyingOption { threads },
        page: html,
        overrides: set(overrides),
    };
    let plan = StudyPlan::new(study, &place.path, &arguments.overrides)?;
    let warnings = plan.study.base.warnings();
    let warnings = warnings.iter();
    let mut warnings: Vec<String> = warnings.map(ToString::to_string).collect();
    let Some(finished) = sweeping::in_silence(&arguments, &plan, stop, &mut warnings)? else {
        return Ok(None);
    };
    let form = RowForm::new(&plan.study.file, &plan.study.whole_plan());
    let unreadable = |error: &dyn std::fmt::Display| NotDone::new(&error, Outcome::CannotWrite);
    let flights = flown(&place.path, &form).map_err(|error| unreadable(&error))?;
    let points = plan.study.file.axes.first().map(|_| {
        read_csv(&place.path.join("points.csv"), |name| {
            match name == "point" || name.ends_with("flights") || name == "flights_without_result" {
                true => ColumnKind::Count,
                false => ColumnKind::Number,
            }
        })
    });
    let points = points.transpose()?;
    let report = serde_json::to_value(&finished.report).map_err(|error| unreadable(&error))?;
    let asked = plan.study.file.sensitivity.is_some();
    Ok(Some(Swept {
        report,
        page: page(&finished, out.map(|out| (out, html))),
        flights,
        points,
        sensitivities: asked.then(|| sensitivities(&finished)),
        warnings,
    }))
}

fn flown(folder: &Path, form: &RowForm) -> Result<Table, crate::resume::SweepError> {
    let columns = form.columns();
    let mut table: Table = columns
        .into_iter()
        .map(|TableColumn { name, kind }| (name, Cells::of(kind)))
        .collect();
    each_row(&Folder::begun(folder)?, form, &mut |row| {
        for ((_, column), value) in table.iter_mut().zip(cells(row)) {
            column.push(value);
        }
        Ok(())
    })?;
    Ok(table)
}

/// The sensitivities as a table, named as in `summary.json`.
fn sensitivities(finished: &Finished) -> Table {
    let mut columns = Vec::new();
    let mut fields = Vec::new();
    let mut numbers: Vec<(String, Vec<Option<f64>>)> = Vec::new();
    for decides in &finished.report.answer.sensitivities {
        for one in &decides.fields {
            columns.push(Some(decides.column.clone()));
            fields.push(Some(one.field.clone()));
            let mut cells: Vec<(String, f64)> = Vec::new();
            let mut with = |name: &str, value: WithInterval| {
                cells.push((name.to_owned(), value.estimate));
                cells.push((format!("{name}_plus_minus"), value.plus_minus));
            };
            match one.share {
                FieldShare::Sobol { first_order, total } => {
                    with("first_order", first_order);
                    with("total", total);
                }
                FieldShare::Elementary {
                    mean_size,
                    mean,
                    standard_deviation,
                } => {
                    with("mean_size", mean_size);
                    with("mean", mean);
                    cells.push(("standard_deviation".to_owned(), standard_deviation));
                }
            }
            for (i, (name, value)) in cells.into_iter().enumerate() {
                if numbers.len() == i {
                    numbers.push((name, Vec::new()));
                }
                numbers[i].1.push(Some(value));
            }
        }
    }
    let mut table = vec![
        ("column".to_owned(), Cells::Texts(columns)),
        ("field".to_owned(), Cells::Texts(fields)),
    ];
    let numbers = numbers.into_iter();
    table.extend(numbers.map(|(name, values)| (name, Cells::Numbers(values))));
    table
}

/// What is asked about a thrust line, as the command's flags say it.
#[derive(Clone, Debug, Default)]
pub struct ThrustLineAsked {
    /// Airframe file.
    pub airframe: PathBuf,
    /// Overrides as typed.
    pub overrides: Vec<String>,
    /// Study file in place of the built-in one.
    pub study: Option<PathBuf>,
    /// Who builds and throws in the built-in study.
    pub hands: WhoseHands,
    /// Flights of the built-in study.
    pub flights: Option<u32>,
    /// Heights of the motors to ask for as well, mm.
    pub height_mm: Vec<f64>,
    /// Share of throws that must meet all.
    pub share_fraction: f64,
    /// Without balancing and test glides.
    pub as_built: bool,
    /// Threads to fly with.
    pub threads: Option<u16>,
}

/// The answer about a thrust line.
#[derive(Debug)]
pub struct ThrustLine {
    /// What `thrustline.json` holds.
    pub report: Value,
    /// What the command prints.
    pub page: String,
    /// `thrustline.csv`: a row for each flight.
    pub flights: Table,
    /// A row for each angle counted.
    pub angles: Table,
    /// The picture of it, SVG.
    pub picture: String,
}

/// Finds the angle that cures what power does to the nose, or says that there is none; nothing where it was stopped.
///
/// # Errors
/// [`NotDone`], with the command's words.
pub fn thrust_line(
    asked: &ThrustLineAsked,
    out: Option<&Path>,
    stop: &AtomicBool,
) -> Result<Option<ThrustLine>, NotDone> {
    let place = Place::of(out)?;
    let arguments = ThrustlineArguments {
        airframe: asked.airframe.clone(),
        study: asked.study.clone(),
        out: place.path.clone(),
        height: asked.height_mm.clone(),
        share_fraction: asked.share_fraction,
        hands: asked.hands,
        flights: asked.flights,
        as_built: asked.as_built,
        level_throttle: None,
        ballast_station_mm: 0.0,
        json: false,
        flying: FlyingOption {
            threads: asked.threads,
        },
        page: PageOption {
            no_page: out.is_none(),
        },
        overrides: set(&asked.overrides),
    };
    let Some(page) = thrustline::in_silence(&arguments, stop, out.is_some())? else {
        return Ok(None);
    };
    let text = |name: &str| {
        let path = place.path.join(name);
        std::fs::read_to_string(&path).map_err(|error| unreadable(&path, &error))
    };
    let path = place.path.join("thrustline.json");
    let report: Value = serde_json::from_str(&text("thrustline.json")?)
        .map_err(|error| unreadable(&path, &error))?;
    Ok(Some(ThrustLine {
        angles: angles(&report),
        flights: read_csv(&place.path.join("thrustline.csv"), kind_of_flights)?,
        picture: text("thrustline.svg")?,
        page,
        report,
    }))
}

fn kind_of_flights(name: &str) -> ColumnKind {
    let columns = Summary::columns();
    let is_text = |name: &str| {
        let column = columns.iter().find(|column| column.name == name);
        column.is_some_and(|column| matches!(column.holds, Holds::Text))
    };
    match name {
        "flight" | "sample" => ColumnKind::Count,
        "pass" | "changed" | "circumstance" | "could_not_start" => ColumnKind::Text,
        name if name.starts_with("meets ") => ColumnKind::Truth,
        name if is_text(name) => ColumnKind::Text,
        _ => ColumnKind::Number,
    }
}

/// An answer, the pass, and one of its angles.
type Counted<'a> = (&'a Value, &'static str, &'a Value);

/// The angles counted, at every height asked for: those chosen by, then those stated by.
fn angles(report: &Value) -> Table {
    let rows: Vec<Counted<'_>> = report["answers"]
        .as_array()
        .into_iter()
        .flatten()
        .flat_map(|answer| {
            let chosen = answer["chosen"].as_array().into_iter().flatten();
            let stated = answer["stated"].as_array().into_iter().flatten();
            let chosen = chosen.map(move |at| (answer, "choose", at));
            chosen.chain(stated.map(move |at| (answer, "state", at)))
        })
        .collect();
    let numbers =
        |of: &dyn Fn(&Counted<'_>) -> Option<f64>| Cells::Numbers(rows.iter().map(of).collect());
    let counts = |name: &str| {
        Cells::Counts(
            rows.iter()
                .map(|(_, _, at)| at["meets"][name].as_u64())
                .collect(),
        )
    };
    let share = |name: &'static str| numbers(&move |(_, _, at)| at["meets"][name].as_f64());
    let texts =
        |of: &dyn Fn(&Counted<'_>) -> Option<String>| Cells::Texts(rows.iter().map(of).collect());
    let column = |name: &str, cells| (name.to_owned(), cells);
    vec![
        column(
            "height_change_mm",
            numbers(&|(answer, _, _)| answer["height_change_mm"].as_f64()),
        ),
        column("pass", texts(&|(_, pass, _)| Some((*pass).to_owned()))),
        column("angle_deg", numbers(&|(_, _, at)| at["angle_deg"].as_f64())),
        column("flights", counts("of")),
        column("meet_all", counts("count")),
        column("share_fraction", share("share_fraction")),
        column("low_fraction", share("low_fraction")),
        column("high_fraction", share("high_fraction")),
        column(
            "refused",
            texts(&|(_, _, at)| at["refused"].as_str().map(str::to_owned)),
        ),
    ]
}

/// Where files go: where they are wanted, else where they are gone afterwards.
struct Place {
    path: PathBuf,
    _temporary: Option<TempDir>,
}

impl Place {
    fn of(out: Option<&Path>) -> Result<Self, NotDone> {
        if let Some(out) = out {
            return Ok(Place {
                path: out.to_owned(),
                _temporary: None,
            });
        }
        let temporary =
            tempfile::tempdir().map_err(|error| NotDone::new(&error, Outcome::CannotWrite))?;
        Ok(Place {
            path: temporary.path().to_owned(),
            _temporary: Some(temporary),
        })
    }
}

fn set(overrides: &[String]) -> Overrides {
    Overrides {
        set: overrides.to_vec(),
    }
}

fn unreadable(path: &Path, error: &dyn std::fmt::Display) -> NotDone {
    let text = format!("cannot use {}: {error}", path.display());
    NotDone::new(&text, Outcome::CannotWrite)
}

/// A CSV file of ours, its columns of these kinds.
fn read_csv(path: &Path, kind: impl Fn(&str) -> ColumnKind) -> Result<Table, NotDone> {
    let wrong = |error: csv::Error| unreadable(path, &error);
    let mut reader = csv::Reader::from_path(path).map_err(wrong)?;
    let heads = reader.headers().map_err(wrong)?.clone();
    let mut table: Table = heads
        .iter()
        .map(|name| (name.to_owned(), Cells::of(kind(name))))
        .collect();
    for record in reader.records() {
        for ((_, column), text) in table.iter_mut().zip(&record.map_err(wrong)?) {
            column.push_text(text);
        }
    }
    Ok(table)
}
