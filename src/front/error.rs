//! One error for everything that the front door refuses.

use crate::diagnostic::{Diagnostic, Severity};
use crate::document::Fault;
use serde_json::{Value, json};

/// Why something was refused. Prints as whole sentences; program text that is wrong carries its diagnostics.
///
/// ```
/// use wherefore::{Error, Programs};
/// let error = Programs::from_text("program us-zz").unwrap_err();
/// assert!(matches!(&error, Error::ProgramText { diagnostics } if !diagnostics.is_empty()));
/// assert_eq!(error.kind(), "program-text");
/// ```
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[non_exhaustive]
pub enum Error {
    /// There is no program of that id.
    #[error("there is no program `{id}`{}", nearest(.known, .id))]
    NoSuchProgram {
        /// The id asked for.
        id: String,
        /// The ids there are, sorted.
        known: Vec<String>,
    },
    /// A text of a program file has errors: all of them, by place.
    #[error("{}", in_lines(.diagnostics))]
    ProgramText {
        /// Every error and warning of the file.
        diagnostics: Vec<Diagnostic>,
    },
    /// A snapshot document is wrong: every fault, each with its path.
    #[error("{}", .faults.iter().map(ToString::to_string).collect::<Vec<_>>().join("\n"))]
    Snapshot {
        /// Every fault, each with its path in the document.
        faults: Vec<Fault>,
    },
    /// A mapping of columns is wrong, or does not go with the programs or with the columns there are: every fault.
    #[error("{}", .faults.join("\n"))]
    Mapping {
        /// The faults, with their places where they have some.
        faults: Vec<String>,
    },
    /// Messages of a vehicle that cannot be used at all.
    #[error("{reason}")]
    Messages {
        /// Why, and what to record instead, in a sentence.
        reason: String,
    },
    /// A snapshot that the program cannot rule on: no date, readings that contradict each other, a reading or an option
    /// that the program does not have.
    #[error("{reason}")]
    Ruling {
        /// Why, in a sentence.
        reason: String,
    },
}

impl Error {
    /// What kind of refusal it is, in a word: `no-such-program`, `program-text`, `snapshot`, `mapping`, `messages` or
    /// `ruling`.
    #[must_use]
    pub fn kind(&self) -> &'static str {
        match self {
            Error::NoSuchProgram { .. } => "no-such-program",
            Error::ProgramText { .. } => "program-text",
            Error::Snapshot { .. } => "snapshot",
            Error::Mapping { .. } => "mapping",
            Error::Messages { .. } => "messages",
            Error::Ruling { .. } => "ruling",
        }
    }

    /// For hosts in other languages: `kind`, `message`, and under `faults` each fault by itself, with the path in the
    /// document, or the code and the place in the text (bytes from 0, the end excluded), and what to do, where it has
    /// them.
    #[must_use]
    pub fn to_json(&self) -> String {
        let faults: Vec<Value> = match self {
            Error::ProgramText { diagnostics } => diagnostics.iter().map(of_text).collect(),
            Error::Snapshot { faults } => faults
                .iter()
                .map(|it| json!({"path": it.path, "line": it.line, "message": it.message, "help": it.help}))
                .collect(),
            Error::Mapping { faults } => faults.iter().map(|message| json!({"message": message})).collect(),
            Error::NoSuchProgram { .. } | Error::Messages { .. } | Error::Ruling { .. } => Vec::new(),
        };
        json!({"kind": self.kind(), "message": self.to_string(), "faults": faults}).to_string()
    }
}

fn of_text(diagnostic: &Diagnostic) -> Value {
    let places = diagnostic
        .labels
        .iter()
        .map(|label| json!({"start": label.span.start, "end": label.span.end, "text": label.text}));
    json!({
        "code": diagnostic.code,
        "severity": crate::report::diagnostic::severity(diagnostic.severity),
        "message": diagnostic.message,
        "places": places.collect::<Vec<_>>(),
        "help": diagnostic.help,
        "notes": diagnostic.notes,
    })
}

fn nearest(known: &[String], id: &str) -> String {
    let tail = format!("-{}", id.to_lowercase());
    match known.iter().find(|known| known.ends_with(&tail)) {
        Some(known) => format!("; did you mean `{known}`?"),
        None => format!("; there are: {}", known.join(", ")),
    }
}

fn in_lines(diagnostics: &[Diagnostic]) -> String {
    let errors = diagnostics.iter().filter(|diagnostic| diagnostic.severity == Severity::Error);
    errors.map(|error| format!("{}: {}", error.code, error.message)).collect::<Vec<_>>().join("\n")
}
