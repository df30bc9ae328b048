//! Tree to program: names, types, units, dates, sources, adoption. All problems are reported, never only the first.
//! This layer reads no file: adopted programs and the text of table files come through [`Adopt`].
//!
//! The passes, in order, one a file:
//! 1. `header`: the program item and what every file must have;
//! 2. `adoption`: adopted programs, and what is struck from them;
//! 3. `sources`, `ladder`, `declared`, `areas`: sources, outcomes, and everything that has a name;
//! 4. `adoption::merge`: adopted blocks, brought to this program's outcomes and sources;
//! 5. `items` and the files beside it: each item of this file, its conditions and properties;
//! 6. `cases`: worked cases and the ordinary vehicle;
//! 7. `whole`, `variants`, `reach`, `cycles`: what only the whole program shows.
//!
//! Lints of a checked program are in [`lint`].

mod adoption;
mod amounts;
mod announced;
mod areas;
mod assignments;
mod cases;
mod citations;
mod clauses;
mod codes;
mod conditions;
mod context;
mod cycles;
mod dates;
mod declared;
mod header;
mod items;
mod ladder;
pub mod limits;
pub mod lint;
mod monitors;
mod names;
mod properties;
mod questions;
mod reach;
mod rows;
mod sources;
mod tables;
mod tests_of_facts;
mod variants;
mod version;
mod whole;

use crate::diagnostic::{Diagnostic, Severity};
use crate::program::Program;
use crate::syntax::ast;
use context::Context;
use std::sync::Arc;

/// What a file's checking needs from outside: programs it adopts, and files beside it.
pub trait Adopt {
    /// The program of that id, already checked.
    fn program(&self, id: &str) -> Adoption;

    /// The text of a table's file.
    fn table(&self, name: &str) -> Option<String>;

    /// Names of table files there are, to suggest one.
    fn tables(&self) -> Vec<String> {
        Vec::new()
    }
}

/// What became of an adopted program.
#[derive(Debug, Clone)]
pub enum Adoption {
    /// Checked and usable.
    Found {
        /// The program.
        program: Arc<Program>,
        /// Levels of adoption beneath it; 0 where it adopts none.
        depth: usize,
    },
    /// There is none of that id.
    Missing {
        /// Ids there are.
        known: Vec<String>,
    },
    /// It has errors of its own.
    Faulty,
    /// It leads back to the program that adopts it: the ids on the way.
    Cycle(Vec<String>),
}

/// Nothing to adopt and no file beside.
impl Adopt for () {
    fn program(&self, _id: &str) -> Adoption {
        Adoption::Missing { known: Vec::new() }
    }

    fn table(&self, _name: &str) -> Option<String> {
        None
    }
}

/// What checking gives.
#[derive(Debug, Clone)]
pub struct Checked {
    /// The program; `None` where there are errors.
    pub program: Option<Program>,
    /// Every error and finding, by place.
    pub diagnostics: Vec<Diagnostic>,
}

/// Checks a file.
#[must_use]
pub fn check(file: &ast::File, adopt: &dyn Adopt) -> Checked {
    let mut cx = Context::new();
    header::check(&mut cx, file);
    version::check(&mut cx, file);
    announced::declare(&mut cx, file);
    let mut adoptions = adoption::load(&mut cx, file, adopt);
    sources::check(&mut cx, file, &adoptions);
    ladder::check(&mut cx, file, &adoptions);
    declared::check(&mut cx, file, &mut adoptions);
    areas::check(&mut cx, file, &adoptions);
    adoption::merge(&mut cx, file, &adoptions);
    items::check(&mut cx, file, adopt);
    adoption::settle(&mut cx, file, &adoptions);
    areas::finish(&mut cx);
    cases::check(&mut cx, file);
    whole::check(&mut cx, file);
    variants::check(&mut cx);
    reach::check(&mut cx);
    cycles::check(&mut cx);
    finish(cx)
}

fn finish(cx: Context) -> Checked {
    let Context { program, mut diagnostics, .. } = cx;
    diagnostics.sort_by_key(|diagnostic| {
        let span = diagnostic.labels.first().map(|label| label.span).unwrap_or_default();
        (span, diagnostic.code, diagnostic.message.clone())
    });
    diagnostics.dedup();
    let usable = diagnostics.iter().all(|diagnostic| diagnostic.severity != Severity::Error);
    Checked { program: usable.then_some(program), diagnostics }
}

#[cfg(test)]
mod tests;
