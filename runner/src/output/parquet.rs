//! A study's flights as Apache Parquet, and back. Columns have the names of the CSV table, and types.
//!
//! The bytes depend on the rows and this program's version alone. Pages are not compressed: dictionaries already fold what repeats, and no
//! compressor's version can change the bytes.

use parquet::basic::{LogicalType, Repetition, Type as Physical};
use parquet::column::reader::ColumnReader;
use parquet::column::writer::ColumnWriter;
use parquet::data_type::ByteArray;
use parquet::errors::ParquetError;
use parquet::file::properties::WriterProperties;
use parquet::file::reader::{FileReader, SerializedFileReader};
use parquet::file::writer::SerializedFileWriter;
use parquet::schema::types::{Type, TypePtr};
use scenarios::study::row::{ColumnKind, Row, RowForm};
use scenarios::summary::Cell;
use std::fs::File;
use std::sync::Arc;

/// One cell of any column.
#[derive(Clone, Copy, Debug)]
pub enum Value<'a> {
    /// A whole number.
    Count(u64),
    /// A number.
    Number(f64),
    /// A text.
    Text(&'a str),
    /// True or false.
    Truth(bool),
    /// Nothing.
    Empty,
}

/// The cells of a row, in the order of [`RowForm::columns`].
pub fn cells(row: &Row) -> Vec<Value<'_>> {
    let mut cells = vec![Value::Count(row.flight)];
    if let Some((sample, set)) = &row.sample {
        cells.extend([Value::Count(*sample), Value::Text(set)]);
    }
    let reason = row.could_not_start.as_deref();
    cells.push(reason.map_or(Value::Empty, Value::Text));
    cells.extend(row.inputs.iter().map(|&value| Value::Number(value)));
    cells.extend(row.outputs.iter().map(|cell| match cell {
        Cell::Number(value) => Value::Number(*value),
        Cell::Text(text) => Value::Text(text),
        Cell::Empty => Value::Empty,
    }));
    cells.extend(
        row.meets
            .iter()
            .map(|met| met.map_or(Value::Empty, Value::Truth)),
    );
    cells
}

fn schema(form: &RowForm) -> Result<TypePtr, ParquetError> {
    let column = |name: &str, kind: ColumnKind| {
        let (physical, logical) = match kind {
            ColumnKind::Count => (Physical::INT64, None),
            ColumnKind::Number => (Physical::DOUBLE, None),
            ColumnKind::Text => (Physical::BYTE_ARRAY, Some(LogicalType::String)),
            ColumnKind::Truth => (Physical::BOOLEAN, None),
        };
        let repetition = match kind {
            ColumnKind::Count => Repetition::REQUIRED,
            _ => Repetition::OPTIONAL,
        };
        Type::primitive_type_builder(name, physical)
            .with_repetition(repetition)
            .with_logical_type(logical)
            .build()
            .map(Arc::new)
    };
    let columns = form.columns();
    let fields = columns.iter().map(|c| column(&c.name, c.kind));
    Type::group_type_builder("flight")
        .with_fields(fields.collect::<Result<_, _>>()?)
        .build()
        .map(Arc::new)
}

/// A part of the table: one file's bytes, one row group.
///
/// # Errors
/// Only where the Parquet writer refuses.
pub fn encoded(form: &RowForm, rows: &[Row]) -> Result<Vec<u8>, ParquetError> {
    let properties = WriterProperties::builder()
        .set_created_by(format!("tossline {}", env!("CARGO_PKG_VERSION")))
        .build();
    let mut bytes = Vec::new();
    let mut writer = SerializedFileWriter::new(&mut bytes, schema(form)?, Arc::new(properties))?;
    let mut group = writer.next_row_group()?;
    let table: Vec<Vec<Value<'_>>> = rows.iter().map(cells).collect();
    let mut column = 0;
    while let Some(mut into) = group.next_column()? {
        write_column(into.untyped(), table.iter().map(|row| &row[column]))?;
        into.close()?;
        column += 1;
    }
    group.close()?;
    writer.close()?;
    Ok(bytes)
}

fn write_column<'a>(
    into: &mut ColumnWriter<'_>,
    cells: impl Iterator<Item = &'a Value<'a>> + Clone,
) -> Result<(), ParquetError> {
    let there = |cell: &Value<'_>| i16::from(!matches!(cell, Value::Empty));
    let levels: Vec<i16> = cells.clone().map(there).collect();
    let levels = Some(levels.as_slice());
    match into {
        ColumnWriter::Int64ColumnWriter(into) => {
            let values = cells.filter_map(|cell| match cell {
                Value::Count(count) => i64::try_from(*count).ok(),
                _ => None,
            });
            into.write_batch(&values.collect::<Vec<_>>(), None, None)?;
        }
        ColumnWriter::DoubleColumnWriter(into) => {
            let values = cells.filter_map(|cell| match cell {
                Value::Number(value) => Some(*value),
                _ => None,
            });
            into.write_batch(&values.collect::<Vec<_>>(), levels, None)?;
        }
        ColumnWriter::ByteArrayColumnWriter(into) => {
            let values = cells.filter_map(|cell| match cell {
                Value::Text(text) => Some(ByteArray::from(*text)),
                _ => None,
            });
            into.write_batch(&values.collect::<Vec<_>>(), levels, None)?;
        }
        ColumnWriter::BoolColumnWriter(into) => {
            let values = cells.filter_map(|cell| match cell {
                Value::Truth(truth) => Some(*truth),
                _ => None,
            });
            into.write_batch(&values.collect::<Vec<_>>(), levels, None)?;
        }
        _ => return Err(ParquetError::General("a column of no kind of ours".into())),
    }
    Ok(())
}

/// A column read back: as many cells as rows.
enum Column {
    Counts(Vec<u64>),
    Numbers(Vec<Option<f64>>),
    Texts(Vec<Option<String>>),
    Truths(Vec<Option<bool>>),
}

/// The rows of a part.
///
/// # Errors
/// [`ParquetError`] of a file that cannot be read or is not of the study's form.
pub fn decoded(file: File, form: &RowForm) -> Result<Vec<Row>, ParquetError> {
    let reader = SerializedFileReader::new(file)?;
    if reader.num_row_groups() != 1 {
        return Err(ParquetError::General("a part has one group of rows".into()));
    }
    let group = reader.get_row_group(0)?;
    let count = usize::try_from(group.metadata().num_rows()).unwrap_or(0);
    let wanted = form.columns();
    let mut columns = Vec::new();
    for place in 0..group.num_columns().max(wanted.len()) {
        let name = group
            .metadata()
            .columns()
            .get(place)
            .map(|c| c.column_path().string());
        if name.as_deref() != wanted.get(place).map(|column| column.name.as_str()) {
            return Err(ParquetError::General(format!(
                "column {} is not that of the study",
                place + 1
            )));
        }
        columns.push(read_column(group.get_column_reader(place)?, count)?);
    }
    (0..count).map(|i| row(form, &mut columns, i)).collect()
}

fn read_column(reader: ColumnReader, count: usize) -> Result<Column, ParquetError> {
    let mut levels: Vec<i16> = Vec::new();
    fn spread<T, U>(values: Vec<T>, levels: &[i16], of: impl Fn(T) -> U) -> Vec<Option<U>> {
        let mut values = values.into_iter();
        let levels = levels.iter();
        levels
            .map(|&level| (level > 0).then(|| values.next().map(&of)).flatten())
            .collect()
    }
    Ok(match reader {
        ColumnReader::Int64ColumnReader(mut from) => {
            let mut values = Vec::new();
            from.read_records(count, None, None, &mut values)?;
            Column::Counts(values.into_iter().map(|v| v.unsigned_abs()).collect())
        }
        ColumnReader::DoubleColumnReader(mut from) => {
            let mut values = Vec::new();
            from.read_records(count, Some(&mut levels), None, &mut values)?;
            Column::Numbers(spread(values, &levels, |v| v))
        }
        ColumnReader::ByteArrayColumnReader(mut from) => {
            let mut values = Vec::new();
            from.read_records(count, Some(&mut levels), None, &mut values)?;
            let text = |bytes: ByteArray| String::from_utf8_lossy(bytes.data()).into_owned();
            Column::Texts(spread(values, &levels, text))
        }
        ColumnReader::BoolColumnReader(mut from) => {
            let mut values = Vec::new();
            from.read_records(count, Some(&mut levels), None, &mut values)?;
            Column::Truths(spread(values, &levels, |v| v))
        }
        _ => return Err(ParquetError::General("a column of no kind of ours".into())),
    })
}

/// Takes row i out of the columns.
fn row(form: &RowForm, columns: &mut [Column], i: usize) -> Result<Row, ParquetError> {
    let wrong = || ParquetError::General("a column of the wrong type".into());
    let mut place = 0;
    let mut next = || {
        let cell = match columns.get_mut(place).ok_or_else(wrong)? {
            Column::Counts(list) => Read::Count(*list.get(i).ok_or_else(wrong)?),
            Column::Numbers(list) => Read::Number(*list.get(i).ok_or_else(wrong)?),
            Column::Texts(list) => Read::Text(list.get_mut(i).ok_or_else(wrong)?.take()),
            Column::Truths(list) => Read::Truth(*list.get(i).ok_or_else(wrong)?),
        };
        place += 1;
        Ok::<Read, ParquetError>(cell)
    };
    let mut row = Row {
        flight: next()?.count().ok_or_else(wrong)?,
        ..Row::default()
    };
    if form.has_samples() {
        let sample = next()?.count().ok_or_else(wrong)?;
        let Read::Text(set) = next()? else {
            return Err(wrong());
        };
        row.sample = Some((sample, set.unwrap_or_default()));
    }
    let Read::Text(reason) = next()? else {
        return Err(wrong());
    };
    row.could_not_start = reason;
    for _ in form.inputs() {
        let Read::Number(Some(value)) = next()? else {
            return Err(wrong());
        };
        row.inputs.push(value);
    }
    for _ in form.outputs() {
        row.outputs.push(match next()? {
            Read::Number(value) => value.map_or(Cell::Empty, Cell::Number),
            Read::Text(text) => text.map_or(Cell::Empty, Cell::Text),
            _ => return Err(wrong()),
        });
    }
    for _ in 0..form.conditions() {
        let Read::Truth(met) = next()? else {
            return Err(wrong());
        };
        row.meets.push(met);
    }
    Ok(row)
}

/// A cell read back.
enum Read {
    Count(u64),
    Number(Option<f64>),
    Text(Option<String>),
    Truth(Option<bool>),
}

impl Read {
    fn count(self) -> Option<u64> {
        match self {
            Read::Count(count) => Some(count),
            _ => None,
        }
    }
}

#[cfg(test)]
mod tests;
