//! Wherefore for Python: a thin layer over the front door of the Rust library. No logic of its own: names, conversions,
//! exceptions.

mod batches;
mod errors;
mod ruling;

use errors::refused;
use pyo3::exceptions::PyTypeError;
use pyo3::prelude::*;
use pyo3::types::{PyBytes, PyDict, PyString};
use ruling::{Comparison, Plan, Questions, Ruling};
use std::collections::BTreeMap;
use wherefore::{Class, Date, Request, Vehicles};

/// What is known of one vehicle at one visit. What is not there is not known, never false or zero.
///
/// Made of a dict, of JSON text (``wherefore-snapshot/1``), or of what a vehicle sent.
#[pyclass(frozen, eq, module = "wherefore", from_py_object)]
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Snapshot {
    inner: wherefore::Snapshot,
}

#[pymethods]
impl Snapshot {
    #[new]
    #[pyo3(signature = (document, /))]
    fn new(document: &Bound<'_, PyAny>) -> PyResult<Snapshot> {
        snapshot(document)
    }

    /// Decodes what a vehicle sent: candump text, an identifier and its bytes a line, and the other forms that
    /// ``wherefore decode`` reads. What a person saw or knows beside them: ``model_year``, ``fuel``, ``class_``,
    /// ``gross_weight_lb``, ``visit_date``, ``visit``, ``area``, ``connector``, ``vin``.
    #[staticmethod]
    #[pyo3(signature = (messages, /, **seen))]
    fn from_messages(messages: &Bound<'_, PyAny>, seen: Option<&Bound<'_, PyDict>>) -> PyResult<Snapshot> {
        let bytes = bytes(messages)?;
        let seen = match seen {
            Some(dict) => {
                // `class` is a word of the language.
                if let Some(kind) = dict.get_item("class_")? {
                    dict.set_item("class", kind)?;
                    dict.del_item("class_")?;
                }
                wherefore::Seen::from_json(&dumps(dict)?).map_err(|error| refused(messages.py(), &error))?
            }
            None => wherefore::Seen::new(),
        };
        let read = wherefore::Snapshot::from_messages(&bytes, &seen);
        read.map(|inner| Snapshot { inner }).map_err(|error| refused(messages.py(), &error))
    }

    /// The document as JSON text.
    fn json(&self) -> String {
        self.inner.to_json()
    }

    /// The document as a dict.
    fn to_dict<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyAny>> {
        loads(py, &self.inner.to_json())
    }

    fn __repr__(&self) -> String {
        format!("Snapshot({})", self.inner.to_json())
    }
}

/// The bytes of a text, or bytes as they are.
fn bytes(given: &Bound<'_, PyAny>) -> PyResult<Vec<u8>> {
    if let Ok(text) = given.cast::<PyString>() {
        return Ok(text.to_str()?.as_bytes().to_vec());
    }
    if let Ok(bytes) = given.cast::<PyBytes>() {
        return Ok(bytes.as_bytes().to_vec());
    }
    given.extract::<Vec<u8>>()
}

/// A snapshot of a `Snapshot`, of JSON, or of whatever `json.dumps` writes as an object.
fn snapshot(given: &Bound<'_, PyAny>) -> PyResult<Snapshot> {
    let py = given.py();
    if let Ok(snapshot) = given.cast::<Snapshot>() {
        return Ok(snapshot.get().clone());
    }
    let text = match given.cast::<PyString>().is_ok() || given.cast::<PyBytes>().is_ok() {
        true => bytes(given)?,
        false => dumps(&with_format(given)?)?.into_bytes(),
    };
    wherefore::Snapshot::from_json(&text).map(|inner| Snapshot { inner }).map_err(|error| refused(py, &error))
}

/// A dict that names no format is one of the format there is; a text has to name it.
fn with_format<'py>(given: &Bound<'py, PyAny>) -> PyResult<Bound<'py, PyAny>> {
    match given.cast::<PyDict>() {
        Ok(dict) if !dict.contains("format")? => {
            let whole = dict.copy()?;
            whole.set_item("format", "wherefore-snapshot/1")?;
            Ok(whole.into_any())
        }
        _ => Ok(given.clone()),
    }
}

/// JSON text of a Python value; dates are written as they are read.
pub(crate) fn dumps(given: &Bound<'_, PyAny>) -> PyResult<String> {
    let py = given.py();
    let arguments = PyDict::new(py);
    arguments.set_item("default", py.get_type::<PyString>())?;
    py.import("json")?.call_method("dumps", (given,), Some(&arguments))?.extract()
}

/// The Python value of JSON text.
pub(crate) fn loads<'py>(py: Python<'py>, text: &str) -> PyResult<Bound<'py, PyAny>> {
    py.import("json")?.call_method1("loads", (text,))
}

/// A date of a `datetime.date` or of text.
fn date(given: &Bound<'_, PyAny>) -> PyResult<Date> {
    let text: String = given.str()?.extract()?;
    let read: Option<Date> = text.parse().ok();
    read.ok_or_else(|| pyo3::exceptions::PyValueError::new_err(format!("\"{text}\" is no date; write 2026-11-28")))
}

/// What is asked beside the snapshot.
pub(crate) fn request(
    as_of: Option<&Bound<'_, PyAny>>,
    known_on: Option<&Bound<'_, PyAny>>,
    take: Option<BTreeMap<String, String>>,
    proof: bool,
) -> PyResult<Request> {
    further(Request::new(), as_of, known_on, take, proof)
}

/// The same on top of what is asked already.
fn further(
    mut request: Request,
    as_of: Option<&Bound<'_, PyAny>>,
    known_on: Option<&Bound<'_, PyAny>>,
    take: Option<BTreeMap<String, String>>,
    proof: bool,
) -> PyResult<Request> {
    if let Some(day) = as_of {
        request = request.as_of(date(day)?);
    }
    if let Some(day) = known_on {
        request = request.known_on(date(day)?);
    }
    for (name, value) in take.unwrap_or_default() {
        request = request.take(&name, &value);
    }
    Ok(if proof { request.with_proof() } else { request })
}

/// The programs at hand: those built in, and before them those of texts that a host gives.
#[pyclass(frozen, module = "wherefore")]
#[derive(Debug)]
pub struct Programs {
    pub(crate) inner: wherefore::Programs,
}

#[pymethods]
impl Programs {
    /// ``texts``: program files and the tables beside them, by file name; without, the built-in programs alone.
    #[new]
    #[pyo3(signature = (texts=None))]
    fn new(texts: Option<BTreeMap<String, String>>) -> Programs {
        Programs {
            inner: match texts {
                Some(texts) => wherefore::Programs::from_texts(texts),
                None => wherefore::Programs::built_in(),
            },
        }
    }

    /// Ids of all programs, sorted.
    fn ids(&self) -> Vec<String> {
        self.inner.ids()
    }

    /// The program of an id.
    fn get(&self, py: Python<'_>, id: &str) -> PyResult<Program> {
        let found = py.detach(|| self.inner.get(id));
        found.map(|inner| Program { inner }).map_err(|error| refused(py, &error))
    }

    fn __getitem__(&self, py: Python<'_>, id: &str) -> PyResult<Program> {
        self.get(py, id)
    }

    fn __contains__(&self, id: &str) -> bool {
        self.inner.ids().iter().any(|known| known == id)
    }

    fn __len__(&self) -> usize {
        self.inner.ids().len()
    }

    fn __iter__(&self, py: Python<'_>) -> PyResult<Py<PyAny>> {
        let ids = pyo3::types::PyList::new(py, self.inner.ids())?;
        Ok(ids.try_iter()?.into_any().unbind())
    }

    /// Vehicles of a program with the rulings expected of them, as dicts (``wherefore-conformance/1``): its worked cases,
    /// and with ``vectors`` those too that are calculated to tell it from each program that differs in one place.
    #[pyo3(signature = (id, *, vectors=false))]
    fn cases<'py>(&self, py: Python<'py>, id: &str, vectors: bool) -> PyResult<Vec<Bound<'py, PyAny>>> {
        let vehicles = if vectors { Vehicles::All } else { Vehicles::Worked };
        let lines = py.detach(|| self.inner.conformance(id, vehicles)).map_err(|error| refused(py, &error))?;
        lines.lines().map(|line| loads(py, line)).collect()
    }

    /// What a mapping and a program make of record batches; see ``Batches``.
    #[pyo3(signature = (mapping, program=None, *, known_on=None, take=None))]
    fn batches(
        &self,
        mapping: &Bound<'_, PyAny>,
        program: Option<&str>,
        known_on: Option<&Bound<'_, PyAny>>,
        take: Option<BTreeMap<String, String>>,
    ) -> PyResult<batches::Batches> {
        let request = request(None, known_on, take, false)?;
        batches::Batches::of(&self.inner, mapping, program, &request)
    }
}

/// One program, read and checked.
#[pyclass(frozen, module = "wherefore")]
#[derive(Debug)]
pub struct Program {
    inner: wherefore::Program,
}

#[pymethods]
impl Program {
    /// The program of one text. Raises ``ProgramTextError`` with every error of the text.
    #[staticmethod]
    fn from_text(py: Python<'_>, text: &str) -> PyResult<Program> {
        let made = wherefore::Programs::from_text(text);
        made.map(|inner| Program { inner }).map_err(|error| refused(py, &error))
    }

    /// Id, ``us-ca``.
    #[getter]
    fn id(&self) -> &str {
        self.inner.id()
    }

    /// Title.
    #[getter]
    fn title(&self) -> &str {
        self.inner.title()
    }

    /// Authority that runs it.
    #[getter]
    fn authority(&self) -> &str {
        self.inner.authority()
    }

    /// Rules on a vehicle: a ``Snapshot``, a dict, or JSON text. ``as_of``: the law of this date instead of that of the
    /// visit; ``known_on``: the law as published by this date; ``take``: readings of open questions and values of options;
    /// ``proof``: with a proof that ``wherefore replay`` checks; ``recorded``: the result that a station recorded (``pass``,
    /// ``fail``, ``reject``, …), held against the ruling.
    #[pyo3(signature = (vehicle, /, *, as_of=None, known_on=None, take=None, proof=false, recorded=None))]
    fn judge(
        &self,
        vehicle: &Bound<'_, PyAny>,
        as_of: Option<&Bound<'_, PyAny>>,
        known_on: Option<&Bound<'_, PyAny>>,
        take: Option<BTreeMap<String, String>>,
        proof: bool,
        recorded: Option<&str>,
    ) -> PyResult<Ruling> {
        let py = vehicle.py();
        let base = match recorded {
            // The library's own reader knows the words of a result, and refuses any other.
            Some(word) => Request::from_json(&serde_json::json!({"recorded": word}).to_string()),
            None => Ok(Request::new()),
        };
        let base = base.map_err(|error| refused(py, &error))?;
        let (snapshot, request) = (snapshot(vehicle)?, further(base, as_of, known_on, take, proof)?);
        let ruled = py.detach(|| self.inner.judge_with(&snapshot.inner, &request));
        ruled.map(Ruling::of).map_err(|error| refused(py, &error))
    }

    /// The least that leads to a pass; ``goal`` is ``pass``, ``conditional`` or ``other-test``. ``by``: the day of a visit to
    /// plan backwards from, by the law of that day: when to begin and when to look again.
    #[pyo3(signature = (vehicle, /, goal="pass", *, as_of=None, known_on=None, take=None, by=None))]
    fn next(
        &self,
        vehicle: &Bound<'_, PyAny>,
        goal: &str,
        as_of: Option<&Bound<'_, PyAny>>,
        known_on: Option<&Bound<'_, PyAny>>,
        take: Option<BTreeMap<String, String>>,
        by: Option<&Bound<'_, PyAny>>,
    ) -> PyResult<Plan> {
        let py = vehicle.py();
        let goals = [Class::Pass, Class::Conditional, Class::OtherTest];
        let Some(goal) = goals.into_iter().find(|class| class.word() == goal) else {
            let words: Vec<&str> = goals.into_iter().map(Class::word).collect();
            return Err(pyo3::exceptions::PyValueError::new_err(format!("goal is one of {}", words.join(", "))));
        };
        let (snapshot, request) = (snapshot(vehicle)?, request(as_of, known_on, take, false)?);
        let found = match by.map(date).transpose()? {
            Some(by) => py.detach(|| self.inner.next_by(&snapshot.inner, &request, goal, by)),
            None => py.detach(|| self.inner.next(&snapshot.inner, &request, goal)),
        };
        found.map(Plan::of).map_err(|error| refused(py, &error))
    }

    /// The questions that can still matter, one by one: an iterator. Answer each with ``answer`` before the next; a
    /// question that was not answered counts as one that nobody can answer.
    #[pyo3(signature = (vehicle, /, *, as_of=None, known_on=None, take=None))]
    fn ask(
        &self,
        vehicle: &Bound<'_, PyAny>,
        as_of: Option<&Bound<'_, PyAny>>,
        known_on: Option<&Bound<'_, PyAny>>,
        take: Option<BTreeMap<String, String>>,
    ) -> PyResult<Questions> {
        let (snapshot, request) = (snapshot(vehicle)?, request(as_of, known_on, take, false)?);
        let begun = self.inner.ask(&snapshot.inner, &request);
        begun.map(Questions::of).map_err(|error| refused(vehicle.py(), &error))
    }

    /// Compares with another program, on every run of days or on one.
    #[pyo3(signature = (other, /, on=None))]
    fn compare(&self, py: Python<'_>, other: &Program, on: Option<&Bound<'_, PyAny>>) -> PyResult<Comparison> {
        let on = on.map(date).transpose()?;
        let compared = py.detach(|| self.inner.compare(&other.inner, on));
        compared.map(Comparison::of).map_err(|error| refused(py, &error))
    }

    fn __repr__(&self) -> String {
        format!("<wherefore.Program {}: {}>", self.inner.id(), self.inner.title())
    }
}

/// Refuses what is no program.
pub(crate) fn wrong_type(what: &str) -> PyErr {
    PyTypeError::new_err(what.to_owned())
}

#[pymodule]
mod _wherefore {
    #[pymodule_export]
    use super::batches::Batches;
    #[pymodule_export]
    use super::errors::{
        MappingError, MessagesError, NoSuchProgramError, ProgramTextError, RulingError, SnapshotError, WhereforeError,
    };
    #[pymodule_export]
    use super::ruling::{Comparison, Plan, Question, Questions, Reason, Ruling, Verdict};
    #[pymodule_export]
    use super::{Program, Programs, Snapshot};
    use pyo3::prelude::*;

    #[pymodule_init]
    fn init(module: &Bound<'_, PyModule>) -> PyResult<()> {
        module.add("__version__", env!("CARGO_PKG_VERSION"))
    }
}
