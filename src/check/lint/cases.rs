//! Clauses that no worked case reaches. The cases are judged elsewhere; what they reached is told here.

use super::own;
use crate::diagnostic::Diagnostic;
use crate::program::{Item, Program};
use std::collections::BTreeSet;

/// The program's own clauses that are not among those that worked cases reached (by id).
#[must_use]
pub fn unreached(program: &Program, reached: &BTreeSet<String>) -> Vec<Diagnostic> {
    let mut told = BTreeSet::new();
    // What a part says is reached by the cases of those that adopt it.
    if program.adopted_only {
        return Vec::new();
    }
    let mut found = Vec::new();
    for block in own(program).filter(|block| !block.draft) {
        let Item::Clause(clause) = &block.item else { continue };
        if reached.contains(&clause.id) || !told.insert(&clause.id) {
            continue;
        }
        let message = format!("no worked case reaches clause `{}`", clause.id);
        let diagnostic = Diagnostic::warning("check/no-case-reaches", block.origin.span, message).about(&clause.id);
        found.push(diagnostic.help("add a `case` whose vehicle does not meet it"));
    }
    found
}
