//! The page of flown scenarios.

use super::read::{Folder, ReportError, is_plain};
use super::{cautions, inputs};
use crate::commands::fly::words;
use crate::output::CAUTION;
use crate::output::chart::Look;
use crate::output::curves::{Curves, MOST_ROWS, QUANTITIES};
use crate::output::html::{
    Plots, link, page as whole, section, sentences, table, table_of_numbers,
};
use crate::output::picture::MOST_FLIGHTS;
use crate::output::summary_row::SummaryRow;
use crate::output::table::{Worst, number, worst};
use maud::{Markup, html};
use serde::Deserialize;

/// Flights up to which each is drawn with its twin; more curves would hide one another.
const MOST_WITH_TWINS: usize = 4;
/// Rows of the table of moments, about.
const MOMENTS: usize = 12;

/// What the page reads of `summary.json`.
#[derive(Deserialize)]
struct Record {
    #[serde(default)]
    note: String,
    inputs_sha256: String,
    #[serde(default)]
    warnings: Vec<String>,
    caution: String,
}

struct Flight {
    row: SummaryRow,
    record: Record,
    curves: Option<Curves>,
    twin: Option<Curves>,
}

pub(super) fn page(folder: &Folder) -> Result<String, ReportError> {
    let flights = read(folder)?;
    let rows: Vec<SummaryRow> = flights.iter().map(|flight| flight.row.clone()).collect();
    let title = match flights.as_slice() {
        [one] => format!("Flight: {}", one.row.name),
        more => format!("{} flights", more.len()),
    };
    let drawn: Vec<Curves> = drawn(&flights);
    let notes = flights
        .iter()
        .filter(|flight| !flight.record.note.is_empty())
        .map(|flight| format!("{}: {}", flight.row.name, flight.record.note));
    let said: Vec<String> = rows.iter().flat_map(words::about).collect();
    let mut warnings: Vec<String> = flights
        .iter()
        .flat_map(|f| f.record.warnings.clone())
        .collect();
    warnings.dedup();
    let caution = flights
        .first()
        .map_or(CAUTION, |f| f.record.caution.as_str());
    let body = html! {
        (section("The flights", &html! {
            (sentences(&notes.collect::<Vec<_>>()))
            @if flights.len() > MOST_FLIGHTS {
                p { "Drawn are the first " (MOST_FLIGHTS) " of " (flights.len()) "; the tables hold all." }
            }
            (Plots::of_flights("flights over one another", &drawn).draw())
            p.note { (about_drawing(&drawn)) }
        }))
        (section("In numbers", &html! {
            (table_of_numbers("Throws, and how they ended", "throw", &words::COLUMNS, &words::rows(&rows)))
            p.note { (words::MEANING.replace("* worst of the column; ", "")) }
            (sentences(&said))
            @for flight in flights.iter().take(MOST_FLIGHTS) { (moments(flight)) }
        }))
        (section("Worst cases", &worst_cases(&rows)))
        (section("What made this", &html! {
            @for flight in &flights { (made_by(flight)) }
        }))
        (section("Cautions", &cautions(&warnings, caution)))
    };
    Ok(whole(&title, &words::plain_words(&rows), &body))
}

fn read(folder: &Folder) -> Result<Vec<Flight>, ReportError> {
    let mut flights = Vec::new();
    let rows = folder.csv("summary.csv")?;
    if rows.is_empty() {
        return Err(folder.wrong_file("summary.csv", "no row", "one for each flight"));
    }
    let with_twins = rows.len() <= MOST_WITH_TWINS;
    for cells in rows {
        let cell = |name: &str| {
            let found = cells.iter().find(|(head, _)| head == name);
            found.map(|(_, text)| text.clone()).ok_or_else(|| {
                let wanted = "the table of tossline fly";
                folder.wrong_file("summary.csv", &format!("no column {name}"), wanted)
            })
        };
        let (name, hash) = (cell("scenario")?, cell("inputs_sha256")?);
        if !is_plain(&name) {
            let found = format!("a scenario named \"{name}\"");
            return Err(folder.wrong_file("summary.csv", &found, "letters, digits, - and _"));
        }
        let file = |file: &str| format!("{name}/{file}");
        let record: Record = folder.json(&file("summary.json"))?;
        if record.inputs_sha256 != hash {
            return Err(folder.wrong_file(
                &file("summary.json"),
                "other inputs than in summary.csv",
                "results of one run",
            ));
        }
        let look = Look::of(flights.len());
        let curves = folder.curves(&file("trajectory.csv"), &name, look)?;
        let twin = match folder.has(&file("twin.csv")) && with_twins {
            true => {
                let twin = format!("{name}, without the throttle step");
                folder.curves(&file("twin.csv"), &twin, look.twin())?
            }
            false => None,
        };
        flights.push(Flight {
            row: SummaryRow::from_cells(&name, cells),
            record,
            curves,
            twin,
        });
    }
    Ok(flights)
}

fn drawn(flights: &[Flight]) -> Vec<Curves> {
    let first = flights.iter().take(MOST_FLIGHTS);
    let each = first.flat_map(|flight| [flight.curves.clone(), flight.twin.clone()]);
    each.flatten().collect()
}

/// How curves were thinned.
pub(super) fn about_drawing(drawn: &[Curves]) -> String {
    let every = drawn.iter().map(|flight| flight.every).max().unwrap_or(1);
    let rows = match every {
        0 | 1 => "Every row of the trajectory files is drawn".to_owned(),
        more => format!(
            "Of flights with more than {MOST_ROWS} rows only some rows of the trajectory file are drawn (here one in {more} at the longest), and those with \
the least and greatest value of each quantity and the last"
        ),
    };
    format!(
        "{rows}; the readout says values of such rows. Distances are along and to the right of the heading of the release; power is the cell's voltage times its current."
    )
}

/// A flight's values at some moments, evenly over its rows.
fn moments(flight: &Flight) -> Markup {
    let Some(curves) = &flight.curves else {
        return html! {};
    };
    let heads: Vec<String> = QUANTITIES
        .iter()
        .map(|quantity| format!("{}, {}", quantity.name, quantity.unit))
        .collect();
    let step = curves.rows.len().div_ceil(MOMENTS).max(1);
    let last = curves.rows.len() - 1;
    let rows: Vec<Vec<Markup>> = curves
        .rows
        .iter()
        .enumerate()
        .filter(|(i, _)| i % step == 0 || *i == last)
        .map(|(_, row)| {
            let cells = row.iter().zip(&QUANTITIES);
            cells
                .map(|(value, quantity)| html! { (number(*value, quantity.decimals)) })
                .collect()
        })
        .collect();
    table(&format!("{}: some moments", flight.row.name), &heads, &rows)
}

/// The worst of each column, with its trajectory.
fn worst_cases(flights: &[SummaryRow]) -> Markup {
    let rows = words::rows(flights);
    let mut list: Vec<Vec<Markup>> = Vec::new();
    for (i, column) in words::COLUMNS.iter().enumerate() {
        let values = || rows.iter().map(|(_, values)| values[i]);
        let mark = match column.worst {
            Worst::None => None,
            which if flights.len() > 1 => worst(which, values().flatten()),
            _ => values().flatten().next(),
        };
        let at = values().position(|value| value.is_some() && value == mark);
        if let (Some(mark), Some(at)) = (mark, at) {
            let name = &flights[at].name;
            list.push(vec![
                html! { (column.name) },
                html! { (number(Some(mark), column.decimals)) " " (column.unit) },
                html! { (name) },
                link(&format!("{name}/trajectory.csv"), "trajectory"),
            ]);
        }
    }
    let heads = ["column", "worst", "throw", "its file"].map(str::to_owned);
    html! {
        @if list.is_empty() { p { "All throws are alike in every column." } }
        @else { (table("Worst of each column", &heads, &list)) }
    }
}

fn made_by(flight: &Flight) -> Markup {
    let (row, name) = (&flight.row, &flight.row.name);
    let of = |column: &str| row.text(column).unwrap_or_default();
    let files = html! {
        (link(&format!("{name}/trajectory.csv"), "trajectory.csv")) " "
        @if flight.twin.is_some() { (link(&format!("{name}/twin.csv"), "twin.csv")) " " }
        (link(&format!("{name}/summary.json"), "summary.json"))
    };
    html! {
        h3 { (name) }
        (inputs(
            &[
                ("airframe", of("airframe")),
                ("inputs, SHA-256", of("inputs_sha256")),
                ("version", &format!("Tossline {}", of("tossline_version"))),
                ("engine", of("engine")),
                ("seed", row.text("seed").unwrap_or("none: no chance in it")),
            ],
            &files,
        ))
    }
}
