//! The program that a set of texts makes: a program's file, those it adopts and its tables, by the names under which a
//! ruling records their digests. Reads no file.

use crate::check::{Adopt, Adoption, check};
use crate::program::Program;
use crate::source::Source;
use crate::syntax::parse;
use std::cell::RefCell;
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
    let made = make(id, texts, &RefCell::default(), 0);
    made.map(|(program, _)| Arc::unwrap_or_clone(program))
}

/// A program with how many levels it adopts, or why there is none.
type Made = Result<(Arc<Program>, usize), TextsError>;

/// What was made so far. Each text is read once, however often it is adopted: a few files that adopt each other many times
/// would else take for ever. A text that was met too deep makes its adopter faulty by either way.
type All = RefCell<BTreeMap<String, Made>>;

fn make(id: &str, texts: &BTreeMap<String, String>, all: &All, depth: usize) -> Made {
    if let Some(made) = all.borrow().get(id) {
        return made.clone();
    }
    let made = made(id, texts, all, depth);
    all.borrow_mut().insert(id.to_owned(), made.clone());
    made
}

fn made(id: &str, texts: &BTreeMap<String, String>, all: &All, depth: usize) -> Made {
    let name = format!("{id}.wherefore");
    let text = texts.get(&name).filter(|_| depth <= MOST_DEPTH).ok_or_else(|| TextsError::Missing(id.to_owned()))?;
    let parsed = parse(&Source::new(&name, text));
    let beside = Beside { texts, all, depth };
    let program = check(&parsed.file, &beside).program.ok_or_else(|| TextsError::Faulty(id.to_owned()))?;
    // What it adopts was made when it was asked for.
    let done = all.borrow();
    let beneath = program.adopted.iter().filter_map(|adopted| done.get(&adopted.program)?.as_ref().ok());
    let levels = beneath.map(|(_, levels)| levels + 1).max().unwrap_or(0);
    Ok((Arc::new(program), levels))
}

struct Beside<'t> {
    texts: &'t BTreeMap<String, String>,
    all: &'t All,
    depth: usize,
}

impl Adopt for Beside<'_> {
    fn program(&self, id: &str) -> Adoption {
        match make(id, self.texts, self.all, self.depth + 1) {
            Ok((program, depth)) => Adoption::Found { program, depth },
            Err(TextsError::Missing(_)) => Adoption::Missing { known: Vec::new() },
            Err(TextsError::Faulty(_)) => Adoption::Faulty,
        }
    }

    fn table(&self, name: &str) -> Option<String> {
        self.texts.get(name).cloned()
    }
}
