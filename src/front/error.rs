//! One error for everything that the front door refuses.

use crate::decode::DecodeError;
use crate::diagnostic::{Diagnostic, Severity};
use crate::document::Fault;

/// Why something was refused. Prints as whole sentences; program text that is wrong carries its diagnostics.
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
        /// The faults.
        faults: Vec<Fault>,
    },
    /// Messages of a vehicle that cannot be used at all.
    #[error(transparent)]
    Messages(#[from] DecodeError),
    /// A snapshot that the program cannot rule on: no date, readings that contradict each other, a reading or an option
    /// that the program does not have.
    #[error("{reason}")]
    Ruling {
        /// Why, in a sentence.
        reason: String,
    },
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
