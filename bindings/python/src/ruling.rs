//! What comes back: rulings, plans, questions, comparisons. Each prints as the command line's text and gives its JSON.

use crate::errors::refused;
use crate::{Snapshot, loads};
use pyo3::prelude::*;
use std::sync::{Arc, Mutex, PoisonError};

/// A verdict by its name in the program and its class, which does not depend on the program.
#[pyclass(frozen, eq, get_all, module = "wherefore", skip_from_py_object)]
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Verdict {
    /// Name in the program, ``not-subject`` or ``undecided``.
    name: String,
    /// Class: ``pass``, ``fail``, ``reject`` and the others.
    r#class: &'static str,
}

impl Verdict {
    fn of(verdict: wherefore::Verdict<'_>) -> Verdict {
        Verdict { name: verdict.name().to_owned(), r#class: verdict.class().word() }
    }
}

#[pymethods]
impl Verdict {
    fn __repr__(&self) -> String {
        format!("Verdict(name={:?}, class_={:?})", self.name, self.r#class)
    }

    /// The class, under a name that Python takes without ``getattr``.
    #[getter]
    fn class_(&self) -> &'static str {
        self.r#class
    }
}

/// One thing that stands against the vehicle, or that takes it out of the program.
#[pyclass(frozen, get_all, module = "wherefore", skip_from_py_object)]
#[derive(Debug, Clone)]
pub struct Reason {
    /// Id of the clause.
    clause: String,
    /// What a person is told.
    message: String,
    /// Name of the outcome it leads to.
    outcome: String,
    /// The law and the other sources that it rests on.
    citations: Vec<String>,
}

#[pymethods]
impl Reason {
    fn __repr__(&self) -> String {
        format!("Reason(clause={:?}, message={:?})", self.clause, self.message)
    }
}

/// A ruling: advice with its reasons. The official inspection decides. ``print`` shows the command line's short text;
/// a notebook shows a page.
#[pyclass(frozen, eq, module = "wherefore")]
#[derive(Debug, PartialEq, Eq)]
pub struct Ruling {
    inner: wherefore::Ruling,
}

impl Ruling {
    pub(crate) fn of(inner: wherefore::Ruling) -> Ruling {
        Ruling { inner }
    }
}

#[pymethods]
impl Ruling {
    /// Id of the program.
    #[getter]
    fn program(&self) -> &str {
        self.inner.program()
    }

    /// The one possible verdict; ``undecided`` where several are.
    #[getter]
    fn verdict(&self) -> Verdict {
        Verdict::of(self.inner.verdict())
    }

    /// Every verdict that some existing vehicle with these facts gets.
    #[getter]
    fn possible(&self) -> Vec<Verdict> {
        self.inner.possible().map(Verdict::of).collect()
    }

    /// What stands against the vehicle, the gravest first.
    #[getter]
    fn reasons(&self) -> Vec<Reason> {
        let reason = |it: wherefore::Reason<'_>| Reason {
            clause: it.clause().to_owned(),
            message: it.message().to_owned(),
            outcome: it.outcome().to_owned(),
            citations: it.citations().collect(),
        };
        self.inner.reasons().map(reason).collect()
    }

    /// The ruling as one line of JSON (``wherefore-ruling/1``), byte for byte what ``wherefore judge --format json``
    /// prints.
    fn json(&self) -> String {
        self.inner.to_json()
    }

    /// The ruling as a dict.
    fn to_dict<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyAny>> {
        loads(py, &self.inner.to_json())
    }

    /// The text with every clause and why it is met, unmet or set aside.
    fn trace(&self) -> String {
        self.inner.to_text_with_trace()
    }

    /// A self-contained page to print.
    fn html(&self, py: Python<'_>) -> PyResult<String> {
        self.inner.to_html().map_err(|error| refused(py, &error))
    }

    /// The page in a frame of its own, so that its style stays its own.
    fn _repr_html_(&self, py: Python<'_>) -> PyResult<String> {
        let page = self.html(py)?.replace('&', "&amp;").replace('"', "&quot;");
        let program = self.inner.program();
        Ok(format!(
            "<iframe title=\"Ruling under {program}\" sandbox=\"\" style=\"width:100%;height:32em;border:0\" srcdoc=\"{page}\"></iframe>"
        ))
    }

    fn __str__(&self) -> String {
        self.inner.to_string()
    }

    fn __repr__(&self) -> String {
        format!("<wherefore.Ruling {}: {}>", self.inner.program(), self.inner.verdict().name())
    }
}

/// The least that leads to a class of outcome. ``print`` shows the text of ``wherefore next``.
#[pyclass(frozen, module = "wherefore")]
#[derive(Debug)]
pub struct Plan {
    inner: wherefore::Plan,
}

impl Plan {
    pub(crate) fn of(inner: wherefore::Plan) -> Plan {
        Plan { inner }
    }
}

#[pymethods]
impl Plan {
    /// ``passes-already``, ``plans``, ``none``, ``other-test``, ``not-asked``, ``by-case`` or ``facts-missing``.
    #[getter]
    fn state(&self) -> &'static str {
        self.inner.state()
    }

    /// As one line of JSON (``wherefore-plans/2``).
    fn json(&self) -> String {
        self.inner.to_json()
    }

    /// As a dict.
    fn to_dict<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyAny>> {
        loads(py, &self.inner.to_json())
    }

    fn __str__(&self) -> String {
        self.inner.to_string()
    }

    fn __repr__(&self) -> String {
        format!("<wherefore.Plan {}>", self.inner.state())
    }
}

/// Two programs compared. ``print`` shows the text of ``wherefore compare``.
#[pyclass(frozen, module = "wherefore")]
#[derive(Debug)]
pub struct Comparison {
    inner: wherefore::Comparison,
}

impl Comparison {
    pub(crate) fn of(inner: wherefore::Comparison) -> Comparison {
        Comparison { inner }
    }
}

#[pymethods]
impl Comparison {
    /// Whether the two are proven to rule alike on every day looked at.
    #[getter]
    fn equal(&self) -> bool {
        self.inner.is_equal()
    }

    /// As JSON (``wherefore-compare/1``).
    fn json(&self) -> String {
        self.inner.to_json()
    }

    /// As a dict.
    fn to_dict<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyAny>> {
        loads(py, &self.inner.to_json())
    }

    fn __str__(&self) -> String {
        self.inner.to_string()
    }
}

type Shared = Arc<Mutex<Asking>>;

#[derive(Debug)]
struct Asking {
    questions: wherefore::Questions,
    /// The key of the question that was put and not answered yet.
    put: Option<String>,
}

fn locked(shared: &Shared) -> std::sync::MutexGuard<'_, Asking> {
    shared.lock().unwrap_or_else(PoisonError::into_inner)
}

/// Questions about one vehicle, one by one: an iterator of ``Question``.
#[pyclass(frozen, module = "wherefore")]
#[derive(Debug)]
pub struct Questions {
    shared: Shared,
}

impl Questions {
    pub(crate) fn of(questions: wherefore::Questions) -> Questions {
        Questions { shared: Arc::new(Mutex::new(Asking { questions, put: None })) }
    }
}

#[pymethods]
impl Questions {
    fn __iter__(slf: PyRef<'_, Self>) -> PyRef<'_, Self> {
        slf
    }

    fn __next__(&self, py: Python<'_>) -> PyResult<Option<Question>> {
        let next = py.detach(|| {
            let mut asking = locked(&self.shared);
            if asking.put.take().is_some() {
                asking.questions.not_known()?;
            }
            let question = asking.questions.question()?;
            asking.put = question.as_ref().map(|it| it.key.clone());
            Ok(question)
        });
        let next = next.map_err(|error: wherefore::Error| refused(py, &error))?;
        Ok(next.map(|it| Question {
            shared: Arc::clone(&self.shared),
            key: it.key,
            text: it.text,
            told_by: it.told_by,
            answers: it.answers,
            at_most: it.at_most,
        }))
    }

    /// What is known by now.
    #[getter]
    fn snapshot(&self) -> Snapshot {
        Snapshot { inner: locked(&self.shared).questions.snapshot() }
    }
}

/// One question.
#[pyclass(frozen, module = "wherefore")]
#[derive(Debug)]
pub struct Question {
    shared: Shared,
    /// Key of the fact in a snapshot document, ``monitors.catalyst``.
    #[pyo3(get)]
    key: String,
    /// The question as a person is asked it.
    #[pyo3(get)]
    text: String,
    /// Who can tell.
    #[pyo3(get)]
    told_by: String,
    /// What may be answered, in words.
    #[pyo3(get)]
    answers: String,
    /// How many questions there are at most from here on.
    #[pyo3(get)]
    at_most: usize,
}

#[pymethods]
impl Question {
    /// Answers it: a word or the beginning of one, a number, a date, ``True`` or ``False``. ``None``: nobody knows.
    /// Raises ``RulingError`` where it is no answer; the question then stands.
    #[pyo3(signature = (answer, /))]
    fn answer(&self, answer: &Bound<'_, PyAny>) -> PyResult<()> {
        let py = answer.py();
        let mut asking = locked(&self.shared);
        if asking.put.as_deref() != Some(self.key.as_str()) {
            return Err(crate::errors::RulingError::new_err("this question was answered, or passed over, before"));
        }
        let done = if answer.is_none() {
            asking.questions.not_known()
        } else if let Ok(yes) = answer.cast::<pyo3::types::PyBool>() {
            asking.questions.answer(if yes.is_true() { "yes" } else { "no" })
        } else {
            let text: String = answer.str()?.extract()?;
            asking.questions.answer(&text)
        };
        done.map_err(|error| refused(py, &error))?;
        asking.put = None;
        Ok(())
    }

    fn __repr__(&self) -> String {
        format!("<wherefore.Question {}: {}>", self.key, self.text)
    }
}
