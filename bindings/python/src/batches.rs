//! Record batches in and out over the Arrow C data interface. The interpreter is let go while records are judged.

use crate::errors::refused;
use crate::{dumps, wrong_type};
use arrow_array::ffi_stream::RecordBatchStreamReader;
use arrow_array::{RecordBatch, RecordBatchReader};
use arrow_pyarrow::{FromPyArrow, ToPyArrow};
use pyo3::prelude::*;
use pyo3::types::{PyDict, PyString};
use serde_json::Value;
use std::fmt::Write as _;
use std::path::PathBuf;

/// What a mapping and a program make of record batches. One row comes back for each that went in, in the same order:
/// ``verdict``, ``class``, ``possible``, ``deciding``, ``reason`` and the columns of ``wherefore audit --out``; a row that
/// cannot be judged has ``set_aside``, which says why, and no verdict.
///
/// Threads may share it.
#[pyclass(frozen, module = "wherefore")]
#[derive(Debug)]
pub struct Batches {
    inner: wherefore::Batches,
}

impl Batches {
    pub(crate) fn of(
        programs: &wherefore::Programs,
        mapping: &Bound<'_, PyAny>,
        program: Option<&str>,
        request: &wherefore::Request,
    ) -> PyResult<Batches> {
        let py = mapping.py();
        let text = text_of(mapping)?;
        let made = py.detach(|| programs.batches(&text, program, request));
        made.map(|inner| Batches { inner }).map_err(|error| refused(py, &error))
    }

    fn one(&self, py: Python<'_>, batch: &RecordBatch) -> PyResult<RecordBatch> {
        let judged = py.detach(|| self.inner.judge(batch));
        judged.map_err(|error| refused(py, &error))
    }
}

#[pymethods]
impl Batches {
    /// Names of the columns that are read.
    #[getter]
    fn columns(&self) -> Vec<String> {
        self.inner.columns().map(str::to_owned).collect()
    }

    /// Judges one record batch: anything with ``__arrow_c_array__``. Gives a ``pyarrow.RecordBatch``.
    #[pyo3(signature = (batch, /))]
    fn batch<'py>(&self, batch: &Bound<'py, PyAny>) -> PyResult<Bound<'py, PyAny>> {
        let py = batch.py();
        let batch = RecordBatch::from_pyarrow_bound(batch)?;
        self.one(py, &batch)?.to_pyarrow(py)
    }

    /// Judges every batch of a table or a stream, one by one as they come: anything with ``__arrow_c_stream__`` (pyarrow,
    /// pandas, polars, DuckDB). An iterator of ``pyarrow.RecordBatch``.
    #[pyo3(signature = (records, /))]
    fn stream(slf: Py<Self>, records: &Bound<'_, PyAny>) -> PyResult<Stream> {
        let reader = RecordBatchStreamReader::from_pyarrow_bound(records)?;
        Ok(Stream { batches: slf, reader })
    }

    /// Judges a whole table or stream. Gives a ``pyarrow.Table``.
    #[pyo3(signature = (records, /))]
    fn table<'py>(slf: Py<Self>, records: &Bound<'py, PyAny>) -> PyResult<Bound<'py, PyAny>> {
        let py = records.py();
        let mut reader = RecordBatchStreamReader::from_pyarrow_bound(records)?;
        let mut judged: Vec<Bound<'py, PyAny>> = Vec::new();
        while let Some(batch) = next(py, &mut reader)? {
            judged.push(slf.get().one(py, &batch)?.to_pyarrow(py)?);
        }
        let schema = wherefore::batches_schema().to_pyarrow(py)?;
        let table = py.import("pyarrow")?.getattr("Table")?;
        // Batches of one table may bring words in another order: one list of words for all of them.
        table.call_method1("from_batches", (judged, schema))?.call_method0("unify_dictionaries")
    }

    fn __call__<'py>(slf: Py<Self>, records: &Bound<'py, PyAny>) -> PyResult<Bound<'py, PyAny>> {
        Batches::table(slf, records)
    }
}

/// Judged batches as they come.
#[pyclass(unsendable, module = "wherefore")]
pub struct Stream {
    batches: Py<Batches>,
    reader: RecordBatchStreamReader,
}

impl std::fmt::Debug for Stream {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "Stream({} columns)", self.reader.schema().fields().len())
    }
}

#[pymethods]
impl Stream {
    fn __iter__(slf: PyRef<'_, Self>) -> PyRef<'_, Self> {
        slf
    }

    fn __next__<'py>(&mut self, py: Python<'py>) -> PyResult<Option<Bound<'py, PyAny>>> {
        let Some(batch) = next(py, &mut self.reader)? else { return Ok(None) };
        self.batches.get().one(py, &batch)?.to_pyarrow(py).map(Some)
    }
}

/// The next batch of a stream. The interpreter is let go meanwhile: what makes the batches may need it in another thread.
fn next(py: Python<'_>, reader: &mut RecordBatchStreamReader) -> PyResult<Option<RecordBatch>> {
    py.detach(|| reader.next()).transpose().map_err(|error| wrong_type(&error.to_string()))
}

/// The text of a mapping: TOML text, a path (`os.PathLike`) or a dict of the same form.
fn text_of(mapping: &Bound<'_, PyAny>) -> PyResult<String> {
    if let Ok(text) = mapping.cast::<PyString>() {
        return Ok(text.to_str()?.to_owned());
    }
    if mapping.cast::<PyDict>().is_ok() {
        let value: Value = serde_json::from_str(&dumps(mapping)?)
            .map_err(|error| wrong_type(&format!("the mapping cannot be written as JSON: {error}")))?;
        let Value::Object(top) = value else { return Err(wrong_type("a mapping is a dict with str keys")) };
        let mut text = String::new();
        if !top.contains_key("format") {
            text.push_str("format = \"wherefore-mapping/1\"\n");
        }
        for (key, value) in &top {
            text.push_str(&basic(key));
            text.push_str(" = ");
            toml(value, &mut text)?;
            text.push('\n');
        }
        return Ok(text);
    }
    let path: PathBuf = mapping
        .extract()
        .map_err(|_| wrong_type("a mapping is a dict, the text of a mapping file, or a pathlib.Path to one"))?;
    Ok(std::fs::read_to_string(path)?)
}

/// A text as TOML's basic string.
fn basic(text: &str) -> String {
    let mut out = String::from("\"");
    for sign in text.chars() {
        match sign {
            '"' => out.push_str("\\\""),
            '\\' => out.push_str("\\\\"),
            sign if sign.is_control() => {
                let _ = write!(out, "\\u{:04X}", u32::from(sign));
            }
            sign => out.push(sign),
        }
    }
    out.push('"');
    out
}

/// A value as TOML on one line.
fn toml(value: &Value, out: &mut String) -> PyResult<()> {
    match value {
        Value::String(text) => out.push_str(&basic(text)),
        Value::Bool(_) | Value::Number(_) => {
            let _ = write!(out, "{value}");
        }
        Value::Array(list) => {
            out.push('[');
            for (place, value) in list.iter().enumerate() {
                out.push_str(if place > 0 { ", " } else { "" });
                toml(value, out)?;
            }
            out.push(']');
        }
        Value::Object(table) => {
            out.push('{');
            for (place, (key, value)) in table.iter().enumerate() {
                out.push_str(if place > 0 { ", " } else { "" });
                out.push_str(&basic(key));
                out.push_str(" = ");
                toml(value, out)?;
            }
            out.push('}');
        }
        Value::Null => return Err(wrong_type("a mapping holds no None; leave the key out")),
    }
    Ok(())
}
