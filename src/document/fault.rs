//! What is wrong with a snapshot document, as data: the place in the document, the value, and what is allowed there.

use std::fmt;

/// The kind of a fault; its slug is stable.
///
/// ```
/// assert_eq!(wherefore::FaultKind::OutOfRange.slug(), "snapshot/out-of-range");
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
#[non_exhaustive]
pub enum FaultKind {
    /// The text is not JSON, or not text at all.
    NotJson,
    /// Larger, deeper or longer than the limits.
    TooMuch,
    /// `format` is missing or another one.
    Format,
    /// A key that the document does not have.
    UnknownKey,
    /// The same key twice, or the same fact in two units.
    Duplicate,
    /// A value of another type.
    WrongType,
    /// A word, name or code that is none of those allowed.
    UnknownWord,
    /// A number or date outside its range.
    OutOfRange,
    /// `"not-on-vehicle"` for a fact that every vehicle has.
    NeverAbsent,
    /// Two values that cannot both be right.
    Inconsistent,
}

impl FaultKind {
    /// Stable slug, `snapshot/what-is-wrong`: hosts may compare it, and it stays.
    #[must_use]
    pub fn slug(self) -> &'static str {
        match self {
            FaultKind::NotJson => "snapshot/not-json",
            FaultKind::TooMuch => "snapshot/too-much",
            FaultKind::Format => "snapshot/format",
            FaultKind::UnknownKey => "snapshot/unknown-key",
            FaultKind::Duplicate => "snapshot/duplicate",
            FaultKind::WrongType => "snapshot/wrong-type",
            FaultKind::UnknownWord => "snapshot/unknown-word",
            FaultKind::OutOfRange => "snapshot/out-of-range",
            FaultKind::NeverAbsent => "snapshot/never-absent",
            FaultKind::Inconsistent => "snapshot/inconsistent",
        }
    }
}

/// One fault of a document.
///
/// ```
/// use wherefore::{Error, FaultKind, Snapshot};
/// let text = br#"{"format": "wherefore-snapshot/1", "vehicle": {"model_year": 3000}}"#;
/// let Err(Error::Snapshot { faults }) = Snapshot::from_json(text) else { unreachable!("no vehicle is of that year") };
/// assert_eq!((faults[0].path.as_str(), faults[0].kind), ("vehicle.model_year", FaultKind::OutOfRange));
/// ```
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[non_exhaustive]
pub struct Fault {
    /// What kind of fault it is, for hosts to switch on.
    pub kind: FaultKind,
    /// Line of the document among JSON Lines, from 1; `None` where the text is one document.
    pub line: Option<usize>,
    /// Path in the document, `monitors.catalyst`; empty for the document itself.
    pub path: String,
    /// What is wrong, the value included; lower case, no full stop.
    pub message: String,
    /// What is allowed or what to do.
    pub help: Option<String>,
}

impl Fault {
    pub(super) fn new(kind: FaultKind, path: &str, message: impl Into<String>) -> Fault {
        Fault { kind, line: None, path: path.to_owned(), message: message.into(), help: None }
    }

    pub(super) fn help(mut self, help: impl Into<String>) -> Fault {
        self.help = Some(help.into());
        self
    }
}

impl fmt::Display for Fault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if let Some(line) = self.line {
            write!(f, "line {line}: ")?;
        }
        if !self.path.is_empty() {
            write!(f, "{}: ", self.path)?;
        }
        f.write_str(&self.message)?;
        match &self.help {
            Some(help) => write!(f, "; {help}"),
            None => Ok(()),
        }
    }
}
