//! The program that a set of texts makes: a program's file, those it adopts and its tables, by the names under which a
//! ruling records their digests. Reads no file.

use crate::check::{Adopt, Adoption, check};
use crate::program::Program;
use crate::source::Source;
use crate::syntax::parse;
use std::collections::BTreeMap;
use std::sync::Arc;

/// Deepest chain of adoptions that is followed.
const MOST_DEPTH: usize = 16;

/// Why the texts make no program.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[non_exhaustive]
pub enum TextsError {
    /// The text of a program is not among them.
    #[error("the text of `{0}` is not among the program's files")]
    Missing(String),
    /// A text has errors.
    #[error("the text of `{0}` has errors")]
    Faulty(String),
}

/// The program of an id, from texts alone: `ID.wherefore` and tables by their names.
///
/// # Errors
/// Where a text is missing or has errors.
pub fn program_of(id: &str, texts: &BTreeMap<String, String>) -> Result<Program, TextsError> {
    make(id, texts, 0).map(|(program, _)| program)
}

fn make(id: &str, texts: &BTreeMap<String, String>, depth: usize) -> Result<(Program, usize), TextsError> {
    let name = format!("{id}.wherefore");
    let text = texts.get(&name).filter(|_| depth <= MOST_DEPTH).ok_or_else(|| TextsError::Missing(id.to_owned()))?;
    let parsed = parse(&Source::new(&name, text));
    let beside = Beside { texts, depth };
    let program = check(&parsed.file, &beside).program.ok_or_else(|| TextsError::Faulty(id.to_owned()))?;
    let beneath = program.adopted.iter().filter_map(|adopted| make(&adopted.program, texts, depth + 1).ok());
    let levels = beneath.map(|(_, levels)| levels + 1).max().unwrap_or(0);
    Ok((program, levels))
}

struct Beside<'t> {
    texts: &'t BTreeMap<String, String>,
    depth: usize,
}

impl Adopt for Beside<'_> {
    fn program(&self, id: &str) -> Adoption {
        match make(id, self.texts, self.depth + 1) {
            Ok((program, depth)) => Adoption::Found { program: Arc::new(program), depth },
            Err(TextsError::Missing(_)) => Adoption::Missing { known: Vec::new() },
            Err(TextsError::Faulty(_)) => Adoption::Faulty,
        }
    }

    fn table(&self, name: &str) -> Option<String> {
        self.texts.get(name).cloned()
    }
}
