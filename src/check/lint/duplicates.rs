//! Clauses that say the same: two lines of different clauses with the same condition and outcome.

use super::own;
use crate::check::dates::overlap;
use crate::check::variants::compatible;
use crate::diagnostic::Diagnostic;
use crate::program::block::{Clause, ClauseLine};
use crate::program::{Block, Item, Program, Under};

pub(super) fn lint(program: &Program, found: &mut Vec<Diagnostic>) {
    let lines: Vec<(&Block, &Clause, &ClauseLine)> = own(program)
        .filter(|block| !block.draft)
        .filter_map(|block| match &block.item {
            Item::Clause(clause) => Some((block, clause)),
            _ => None,
        })
        .flat_map(|(block, clause)| clause.lines.iter().map(move |line| (block, clause, line)))
        .collect();
    for (place, (block, clause, line)) in lines.iter().enumerate() {
        for (other, earlier, same) in lines.iter().take(place) {
            let alike = clause.id != earlier.id
                && line.unmet_where == same.unmet_where
                && line.outcome == same.outcome
                && line.concerns == same.concerns
                && clause.concerns == earlier.concerns
                && overlap(block.window, other.window)
                && compatible(&under(block, line), &under(other, same));
            if alike {
                let message = format!("clauses `{}` and `{}` say the same", earlier.id, clause.id);
                let diagnostic = Diagnostic::warning("check/duplicate-clause", line.span, message).about(&clause.id);
                found.push(diagnostic.also(same.span, "said here").help("keep one of them"));
            }
        }
    }
}

fn under(block: &Block, line: &ClauseLine) -> Vec<Under> {
    block.under.iter().chain(&line.under).cloned().collect()
}
