//! What decides and cites nothing; and what is cited from a text seen before it was published.

use super::own;
use crate::diagnostic::Diagnostic;
use crate::program::{Block, Citation, Item, Program, Seen, variant_of};
use crate::source::Span;

pub(super) fn lint(program: &Program, found: &mut Vec<Diagnostic>) {
    for block in own(program) {
        uncited(block, found);
        too_early(program, block, found);
    }
}

fn uncited(block: &Block, found: &mut Vec<Diagnostic>) {
    if !block.basis.is_empty() {
        return;
    }
    let mut tell = |span: Span, subject: &str, what: &str| {
        let diagnostic = Diagnostic::warning("check/uncited", span, format!("{what} cites nothing")).about(subject);
        found.push(diagnostic.help("add `per SOURCE \"…\"`: what it rests on, be it memory"));
    };
    match &block.item {
        Item::Clause(clause) => {
            for line in clause.lines.iter().filter(|line| line.basis.is_empty()) {
                tell(line.span, &clause.id, &format!("a line of clause `{}`", clause.id));
            }
        }
        Item::Limit { id, rows } => {
            for row in rows.iter().filter(|row| row.basis.is_empty()) {
                tell(row.span, id, "a row of a limit");
            }
        }
        Item::InForce => tell(block.origin.span, "in force", "`in force`"),
        Item::Covers(_) => tell(block.origin.span, "covers", "`covers`"),
        Item::LeavesOut { word, .. } => tell(block.origin.span, word.words(), &format!("`{}`", word.words())),
        Item::Change { id, .. } => tell(block.origin.span, id, "`change`"),
        Item::Counts { .. } => tell(block.origin.span, "counts", "`counts`"),
        Item::Excuses { .. } => tell(block.origin.span, "excuses", "`excuses`"),
        Item::Becomes { .. } => tell(block.origin.span, "becomes", "`outcome … becomes`"),
        Item::Presumes { .. } => tell(block.origin.span, "presumes", "`presumes`"),
        _ => {}
    }
}

/// A text cannot have been read before the day on which it was published.
fn too_early(program: &Program, block: &Block, found: &mut Vec<Diagnostic>) {
    let Some(published) = block.published else { return };
    for Citation { source, seen, .. } in cited(block) {
        let Some(source) = program.sources.get(*source) else { continue };
        let read = matches!(seen, Seen::Read | Seen::InPart | Seen::OnACopy);
        let Some(on) = source.on.filter(|on| read && *on < published) else { continue };
        let message = format!("source `{}` was seen on {on}, before this was published on {published}", source.id);
        let subject = variant_of(&block.item).map_or(source.id.clone(), |variant| variant.shown());
        let diagnostic = Diagnostic::warning("check/read-before-published", block.origin.span, message).about(subject);
        found.push(diagnostic.help("read the text as it now is, or mend one of the dates"));
    }
}

/// Every citation of a block, those of its lines and rows included.
pub(super) fn cited(block: &Block) -> impl Iterator<Item = &Citation> {
    let within: Vec<&Citation> = match &block.item {
        Item::Clause(clause) => clause.lines.iter().flat_map(|line| &line.basis).collect(),
        Item::Limit { rows, .. } => rows.iter().flat_map(|row| &row.basis).collect(),
        _ => Vec::new(),
    };
    block.basis.iter().chain(within)
}
