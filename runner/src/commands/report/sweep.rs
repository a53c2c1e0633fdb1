//! The page of a sweep: from its summary, its plan, a sample of its rows and the trajectories it keeps. No file that grows with the number
//! of flights is read.

mod pictures;
mod tables;

use super::fly::about_drawing;
use super::read::{Folder, ReportError};
use super::{cautions, inputs};
use crate::output::chart::Look;
use crate::output::curves::Curves;
use crate::output::html::{Plots, link, page as whole, section};
use crate::output::summary_row::SummaryRow;
use crate::resume::folder::{PLAN, trajectory_name};
use crate::resume::identity::Identity;
use crate::study_result::told_columns;
use maud::{Markup, html};
use scenarios::study::file::{Comparison, Condition};
use scenarios::study::tally::{Answer, ColumnAnswer};
use scenarios::study::{Plan, Purpose, StudyFile};
use serde::Deserialize;
use std::path::PathBuf;

/// Worst flights whose trajectories are drawn.
const MOST_DRAWN: usize = 4;

/// What the page reads of `summary.json`.
#[derive(Deserialize)]
struct Summary {
    paragraph: String,
    inputs_sha256: String,
    #[serde(flatten)]
    answer: Answer,
    table: String,
    points_table: Option<String>,
    sample_table: String,
    caution: String,
}

/// What the page reads of `plan.json`.
#[derive(Deserialize)]
struct Note {
    plan: Identity,
}

/// All that the page is made from.
struct Sweep<'a> {
    folder: &'a Folder,
    identity: Identity,
    file: StudyFile,
    plan: Plan,
    summary: Summary,
    sample: Vec<SummaryRow>,
    /// Rows of `points.csv`, the first ones, and their heads.
    points: (Vec<String>, Vec<Vec<String>>),
}

pub(super) fn page(folder: &Folder) -> Result<String, ReportError> {
    let sweep = Sweep::read(folder)?;
    let drawn = sweep.drawn()?;
    let identity = &sweep.identity;
    let note = &sweep.file.note;
    let body = html! {
        @if !note.is_empty() { p { (note) } }
        @if !sweep.file.conditions.is_empty() {
            (section("What was asked, and how often it held", &html! {
                (pictures::conditions(&sweep))
                (tables::conditions(&sweep))
            }))
        }
        (section("How the throws came out", &html! {
            (pictures::histograms(&sweep))
            (tables::columns(&sweep))
            (tables::ends(&sweep))
        }))
        @if !sweep.file.scatter.fields.is_empty() {
            (section("What decides it", &html! {
                (pictures::sensitivities(&sweep))
                (pictures::scatter(&sweep))
                (tables::in_common(&sweep))
            }))
        }
        @if !sweep.file.axes.is_empty() {
            (section("Along the axes", &html! {
                (pictures::along_the_axis(&sweep))
                (tables::points(&sweep))
            }))
        }
        (section("Worst cases", &html! {
            (tables::worst(&sweep))
            @if !drawn.is_empty() {
                (Plots::of_flights("worst flights", &drawn).draw())
                p.note { (about_drawing(&drawn)) }
            }
        }))
        (section("What made this", &inputs(
            &[
                ("study", &identity.study),
                ("scenario", &identity.scenario),
                ("airframe", &identity.airframe),
                ("overrides", &identity.overrides.join(" ")),
                ("inputs, SHA-256", &identity.inputs_sha256),
                ("version", &format!("Tossline {}", identity.tossline_version)),
                ("engine", &identity.engine),
                ("seed", &sweep.file.seed.to_string()),
            ],
            &sweep.files(),
        )))
        (section("Cautions", &cautions(&identity.warnings, &sweep.summary.caution)))
    };
    let title = format!("Sweep: {}", identity.study);
    Ok(whole(&title, &sweep.summary.paragraph, &body))
}

impl<'a> Sweep<'a> {
    fn read(folder: &'a Folder) -> Result<Self, ReportError> {
        let identity = folder.json::<Note>(PLAN)?.plan;
        if let Some(part) = identity.part {
            let found = format!("part {part} of a sweep");
            let wanted = "the whole: tossline gather DIR... --out DIR joins the parts";
            return Err(folder.wrong(&found, wanted));
        }
        if !folder.has("summary.json") {
            let wanted = "a finished one: the same tossline sweep command goes on with it";
            return Err(folder.wrong("a sweep that is not finished", wanted));
        }
        let summary: Summary = folder.json("summary.json")?;
        if summary.inputs_sha256 != identity.inputs_sha256 {
            let found = "other inputs than in plan.json";
            return Err(folder.wrong_file("summary.json", found, "results of one run"));
        }
        let file = identity
            .study_file()
            .map_err(|error| folder.wrong_file(PLAN, &error.to_string(), "a study"))?;
        let rows = folder.csv(&summary.sample_table)?;
        let points = match &summary.points_table {
            Some(name) => folder.csv_begin(name, tables::POINTS_SHOWN)?,
            None => Default::default(),
        };
        Ok(Sweep {
            plan: Plan::new(&file, Purpose::State),
            sample: rows
                .into_iter()
                .map(|cells| SummaryRow::from_cells("", cells))
                .collect(),
            folder,
            identity,
            file,
            summary,
            points,
        })
    }

    fn answer(&self) -> &Answer {
        &self.summary.answer
    }

    /// Columns worth a look, the most telling first.
    fn columns(&self) -> Vec<&ColumnAnswer> {
        told_columns(&self.file, self.answer())
    }

    /// The condition about a column, where it has a limit.
    fn condition_of(&self, column: &str) -> Option<(&Condition, f64)> {
        let conditions = self.file.conditions.iter();
        let mut with_limit = conditions.filter_map(|one| Some((one, one.limit?)));
        with_limit.find(|(condition, _)| condition.column == column)
    }

    /// Names of the scattered fields.
    fn scattered(&self) -> Vec<String> {
        self.plan.fields().skip(self.file.axes.len()).collect()
    }

    /// A flight's trajectory, from the folder, where it is kept.
    fn trajectory(&self, flight: u64) -> Option<String> {
        let name: PathBuf = trajectory_name(flight);
        let name = name.to_string_lossy().replace('\\', "/");
        self.folder.has(&name).then_some(name)
    }

    /// Flights to look at: those kept as worst, else the worst of each condition; each once.
    fn worst_flights(&self) -> Vec<u64> {
        let kept = &self.answer().worst_flights;
        let mut flights: Vec<u64> = kept.iter().map(|one| one.flight).collect();
        for column in self.columns() {
            let Some((condition, _)) = self.condition_of(&column.column) else {
                continue;
            };
            let worst = match condition.comparison {
                Comparison::AtLeast | Comparison::Above => column.least,
                _ => column.most,
            };
            flights.extend(worst.map(|worst| worst.flight));
        }
        let mut seen = Vec::new();
        flights.retain(|flight| !seen.contains(flight) && (seen.push(*flight), true).1);
        flights
    }

    fn drawn(&self) -> Result<Vec<Curves>, ReportError> {
        let mut drawn = Vec::new();
        let with_file = self.worst_flights().into_iter();
        let with_file = with_file.filter_map(|flight| Some((flight, self.trajectory(flight)?)));
        for (i, (flight, file)) in with_file.take(MOST_DRAWN).enumerate() {
            let name = format!("flight {flight}");
            drawn.extend(self.folder.curves(&file, &name, Look::of(i))?);
        }
        Ok(drawn)
    }

    fn files(&self) -> Markup {
        let table = match self.summary.table.as_str() {
            "flights.csv" => "flights.csv",
            _ => "flights/part-000000.parquet",
        };
        html! {
            (link("summary.json", "summary.json")) " " (link(PLAN, PLAN)) " "
            @if self.folder.has(table) { (link(table, &self.summary.table)) " " }
            @if self.summary.points_table.is_some() { (link("points.csv", "points.csv")) " " }
            (link("sample.csv", "sample.csv"))
        }
    }
}
