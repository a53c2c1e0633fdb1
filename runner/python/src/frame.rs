//! Tables of named columns, handed on to NumPy, polars and pandas without copying.

use crate::errors::wrong;
use arrow_array::builder::StringBuilder;
use arrow_array::ffi_stream::FFI_ArrowArrayStream;
use arrow_array::{
    Array, ArrayRef, BooleanArray, Float64Array, Int64Array, RecordBatch, RecordBatchIterator,
    StringArray,
};
use arrow_buffer::{NullBuffer, ScalarBuffer};
use arrow_schema::{ArrowError, Field, Schema};
use pyo3::exceptions::PyKeyError;
use pyo3::prelude::*;
use pyo3::types::{PyCapsule, PyDict, PyList};
use runner::{Cells, Table};
use serde_json::{Map, Value};
use std::sync::Arc;

/// A column of numbers in memory that NumPy looks at without copying; read only.
///
/// `numpy.asarray(column)` gives the array of float64 or, of whole numbers, int64, shape (rows,). An absent value is NaN.
#[pyclass(frozen, module = "tossline")]
#[derive(Debug)]
pub struct Column {
    values: Numbers,
}

/// What a column of numbers is made of.
#[derive(Clone, Debug)]
enum Numbers {
    Floats(Float64Array),
    Counts(Int64Array),
}

impl Numbers {
    /// A column's memory; none of a column of something else.
    fn of(column: &dyn Array) -> Option<Self> {
        let any = column.as_any();
        let floats = any.downcast_ref().cloned().map(Numbers::Floats);
        floats.or_else(|| any.downcast_ref().cloned().map(Numbers::Counts))
    }
}

#[pymethods]
impl Column {
    /// NumPy's array interface, version 3: shape, type, place in memory (read only).
    #[getter]
    fn __array_interface__<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyDict>> {
        let (kind, place) = match &self.values {
            Numbers::Floats(values) => ("f8", values.values().as_ptr() as usize),
            Numbers::Counts(values) => ("i8", values.values().as_ptr() as usize),
        };
        let order = if cfg!(target_endian = "big") {
            ">"
        } else {
            "<"
        };
        let interface = PyDict::new(py);
        interface.set_item("version", 3)?;
        interface.set_item("shape", (self.__len__(),))?;
        interface.set_item("typestr", format!("{order}{kind}"))?;
        interface.set_item("data", (place, true))?;
        Ok(interface)
    }

    fn __len__(&self) -> usize {
        match &self.values {
            Numbers::Floats(values) => values.len(),
            Numbers::Counts(values) => values.len(),
        }
    }
}

/// A table: named columns of numbers (float64; int64 where they count), texts or truth values, units at the end of the names, as in
/// the command's CSV.
///
/// `frame["height_m"]` is a NumPy array of shape (rows,), read only, in the table's own memory; an absent number is NaN. polars and
/// other readers of Arrow's C interface take the whole table without copying (`polars.DataFrame(frame)`); there what is absent is
/// null.
#[pyclass(frozen, module = "tossline")]
#[derive(Debug)]
pub struct Frame {
    batch: RecordBatch,
}

impl Frame {
    /// A table out of columns of one length.
    pub fn new(columns: Table) -> PyResult<Self> {
        let (names, arrays): (Vec<String>, Vec<ArrayRef>) = columns
            .into_iter()
            .map(|(name, cells)| (name, array(cells)))
            .unzip();
        let fields: Vec<Field> = names
            .into_iter()
            .zip(&arrays)
            .map(|(name, array)| Field::new(name, array.data_type().clone(), true))
            .collect();
        let batch = RecordBatch::try_new(Arc::new(Schema::new(fields)), arrays)
            .map_err(|error| wrong("table", &error.to_string()))?;
        Ok(Frame { batch })
    }

    /// A table out of JSON objects of the same fields: texts where `texts` names the field, else numbers.
    pub fn of_records(records: &[Map<String, Value>], texts: &[&str]) -> PyResult<Self> {
        let mut names: Vec<&String> = Vec::new();
        for name in records.iter().flat_map(Map::keys) {
            if !names.contains(&name) {
                names.push(name);
            }
        }
        let column = |name: &String| {
            let cells = records.iter().map(|record| record.get(name));
            if texts.contains(&name.as_str()) {
                let text = |cell: Option<&Value>| cell?.as_str().map(str::to_owned);
                Cells::Texts(cells.map(text).collect())
            } else {
                Cells::Numbers(cells.map(|cell| cell?.as_f64()).collect())
            }
        };
        Self::new(
            names
                .into_iter()
                .map(|name| (name.clone(), column(name)))
                .collect(),
        )
    }
}

fn array(cells: Cells) -> ArrayRef {
    match cells {
        Cells::Numbers(numbers) => {
            let absent = numbers.iter().any(Option::is_none);
            let nulls = absent.then(|| numbers.iter().map(Option::is_some).collect::<NullBuffer>());
            // NumPy knows no null: it sees NaN there.
            let values: Vec<f64> = numbers.into_iter().map(|x| x.unwrap_or(f64::NAN)).collect();
            Arc::new(Float64Array::new(ScalarBuffer::from(values), nulls))
        }
        Cells::Counts(counts) => {
            let whole = |count: Option<u64>| count.and_then(|count| i64::try_from(count).ok());
            match counts
                .iter()
                .copied()
                .map(whole)
                .collect::<Option<Vec<i64>>>()
            {
                Some(values) => Arc::new(Int64Array::new(ScalarBuffer::from(values), None)),
                // One is absent, and whole numbers know no NaN.
                None => array(Cells::Numbers(
                    counts
                        .into_iter()
                        .map(|count| count.map(|x| x as f64))
                        .collect(),
                )),
            }
        }
        Cells::Texts(texts) => {
            let mut builder = StringBuilder::new();
            texts
                .iter()
                .for_each(|text| builder.append_option(text.as_deref()));
            Arc::new(builder.finish())
        }
        Cells::Truths(truths) => Arc::new(BooleanArray::from(truths)),
    }
}

#[pymethods]
impl Frame {
    /// Names of the columns, in the order of the command's CSV.
    #[getter]
    fn columns(&self) -> Vec<String> {
        let schema = self.batch.schema();
        schema
            .fields()
            .iter()
            .map(|field| field.name().clone())
            .collect()
    }

    fn __len__(&self) -> usize {
        self.batch.num_rows()
    }

    fn __contains__(&self, name: &str) -> bool {
        self.batch.column_by_name(name).is_some()
    }

    fn __iter__<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyAny>> {
        PyList::new(py, self.columns())?.call_method0("__iter__")
    }

    /// A column as a NumPy array, shape (rows,): float64 or int64 in the table's own memory, read only, NaN where there is no number.
    /// Truth values and texts are copied: the former bool, or objects where one is absent; the latter objects, None where there is none.
    pub fn __getitem__<'py>(&self, py: Python<'py>, name: &str) -> PyResult<Bound<'py, PyAny>> {
        let numpy = py.import("numpy")?;
        let column = self.batch.column_by_name(name).ok_or_else(|| {
            PyKeyError::new_err(format!(
                "no column \"{name}\"; the columns are in `columns`"
            ))
        })?;
        if let Some(values) = Numbers::of(column) {
            return numpy.call_method1("asarray", (Column { values },));
        }
        let any = column.as_any();
        if let Some(truths) = any.downcast_ref::<BooleanArray>() {
            let kind = if truths.null_count() == 0 {
                "bool"
            } else {
                "object"
            };
            let truths: Vec<Option<bool>> = truths.iter().collect();
            return numpy.call_method1("array", (truths, kind));
        }
        let texts: Vec<Option<&str>> = any
            .downcast_ref::<StringArray>()
            .map(|texts| texts.iter().collect())
            .unwrap_or_default();
        numpy.call_method1("array", (texts, "object"))
    }

    /// The table by Arrow's C stream interface, for polars, pyarrow, DuckDB and others; called by them.
    #[pyo3(signature = (requested_schema = None))]
    pub fn __arrow_c_stream__<'py>(
        &self,
        py: Python<'py>,
        requested_schema: Option<Bound<'py, PyAny>>,
    ) -> PyResult<Bound<'py, PyCapsule>> {
        // By the interface a producer may leave out what it cannot do: another schema is none of our business.
        drop(requested_schema);
        let one: [Result<RecordBatch, ArrowError>; 1] = [Ok(self.batch.clone())];
        let reader = RecordBatchIterator::new(one, self.batch.schema());
        let stream = FFI_ArrowArrayStream::new(Box::new(reader));
        PyCapsule::new_with_value(py, stream, c"arrow_array_stream")
    }

    /// A pandas DataFrame whose columns of numbers are the table's own memory (read only), NaN where there is no number.
    pub fn to_pandas<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyAny>> {
        let columns = PyDict::new(py);
        for name in self.columns() {
            columns.set_item(&name, self.__getitem__(py, &name)?)?;
        }
        let options = PyDict::new(py);
        options.set_item("copy", false)?;
        py.import("pandas")?
            .call_method("DataFrame", (columns,), Some(&options))
    }

    /// A polars DataFrame, by Arrow, null where there is no number.
    pub fn to_polars<'py>(slf: Bound<'py, Self>, py: Python<'py>) -> PyResult<Bound<'py, PyAny>> {
        py.import("polars")?.call_method1("DataFrame", (slf,))
    }

    fn __repr__(&self) -> String {
        let columns = self.columns();
        let shown: Vec<&str> = columns.iter().take(6).map(String::as_str).collect();
        let more = columns.len().saturating_sub(shown.len());
        let more = if more > 0 {
            format!(", … {more} more")
        } else {
            String::new()
        };
        format!(
            "<tossline.Frame: {} rows; {}{more}>",
            self.__len__(),
            shown.join(", ")
        )
    }
}
