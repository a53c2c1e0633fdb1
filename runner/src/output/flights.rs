//! A study's flights as rows of a CSV table, and back.

use scenarios::study::row::{ColumnKind, Row, RowForm, TableColumn};
use scenarios::summary::Cell;

/// A row that is not of the form it should have.
#[derive(Debug, thiserror::Error, PartialEq, Eq)]
#[error("a row of the table of flights is not of the study's form: {0}")]
pub struct WrongRow(String);

/// The header line.
///
/// # Errors
/// Only where the CSV writer refuses.
pub fn header(form: &RowForm) -> Result<Vec<u8>, csv::Error> {
    let columns = form.columns();
    line(columns.iter().map(|column| column.name.as_str()))
}

/// A row's line: numbers with the shortest digits that give them back, nothing where there is nothing.
///
/// # Errors
/// Only where the CSV writer refuses.
pub fn encoded(row: &Row) -> Result<Vec<u8>, csv::Error> {
    let number = |value: f64| Cell::Number(value).to_string();
    let mut cells = vec![row.flight.to_string()];
    if let Some((sample, set)) = &row.sample {
        cells.extend([sample.to_string(), set.clone()]);
    }
    cells.push(row.could_not_start.clone().unwrap_or_default());
    cells.extend(row.inputs.iter().map(|&value| number(value)));
    cells.extend(row.outputs.iter().map(Cell::to_string));
    cells.extend(
        row.meets
            .iter()
            .map(|met| met.map_or(String::new(), |met| met.to_string())),
    );
    line(cells.iter().map(String::as_str))
}

fn line<'a>(cells: impl Iterator<Item = &'a str>) -> Result<Vec<u8>, csv::Error> {
    let mut writer = csv::Writer::from_writer(Vec::with_capacity(1024));
    writer.write_record(cells)?;
    writer
        .into_inner()
        .map_err(|error| error.into_error().into())
}

/// The row of a record.
///
/// # Errors
/// [`WrongRow`] where the record is not of the study's form.
pub fn decoded(record: &csv::StringRecord, form: &RowForm) -> Result<Row, WrongRow> {
    let mut cells = record.iter();
    let mut next = |what: &str| {
        let missing = || WrongRow(format!("no cell for {what}"));
        cells.next().ok_or_else(missing)
    };
    let mut row = Row {
        flight: parsed(next("the flight")?)?,
        ..Row::default()
    };
    if form.has_samples() {
        row.sample = Some((parsed(next("the sample")?)?, next("the set")?.to_owned()));
    }
    let reason = next("why it could not start")?;
    row.could_not_start = (!reason.is_empty()).then(|| reason.to_owned());
    for name in form.inputs() {
        row.inputs.push(parsed(next(name)?)?);
    }
    for TableColumn { name, kind } in form.outputs() {
        let text = next(name)?;
        row.outputs.push(match kind {
            _ if text.is_empty() => Cell::Empty,
            ColumnKind::Text => Cell::Text(text.to_owned()),
            _ => Cell::Number(parsed(text)?),
        });
    }
    for _ in 0..form.conditions() {
        let text = next("a condition")?;
        row.meets.push(if text.is_empty() {
            None
        } else {
            Some(parsed(text)?)
        });
    }
    match cells.next() {
        Some(more) => Err(WrongRow(format!("{more:?} at its end"))),
        None => Ok(row),
    }
}

fn parsed<T: std::str::FromStr>(text: &str) -> Result<T, WrongRow> {
    text.parse()
        .map_err(|_| WrongRow(format!("{text:?} in a place for something else")))
}
