//! Sources that an adopted program declares already: written again, or another text under the same name.

use super::super::sources::is_same_text;
use crate::diagnostic::Diagnostic;
use crate::program::Program;
use crate::source::Span;
use crate::syntax::ast::{File, Kind};

pub(super) fn lint(program: &Program, file: &File, found: &mut Vec<Diagnostic>) {
    if program.language < 2 {
        return;
    }
    let adopted = |name: &str| program.adopted.iter().any(|one| one.program == name);
    for (at, item) in file.items.iter().enumerate() {
        let Kind::Source { id, .. } = &item.kind else { continue };
        let own = program.sources.iter().find(|source| source.program == program.id && source.id == id.node);
        let others = program.sources.iter().filter(|source| adopted(&source.program) && source.id == id.node);
        let (Some(own), others) = (own, others.collect::<Vec<_>>()) else { continue };
        if let Some(other) = others.iter().find(|other| !is_same_text(own, other)) {
            let message = format!("source `{}` is another text here than in `{}`", id.node, other.program);
            let help = "give it another name, or take it out and cite that one";
            found.push(Diagnostic::warning("check/source-differs", id.span, message).about(&id.node).help(help));
        } else if let Some(other) = others.first() {
            let message =
                format!("source `{}` stands in `{}` already, and can be cited from there", id.node, other.program);
            // Up to the next item, so that no empty line stays.
            let end = file.items.get(at + 1).map_or(item.span.end, |next| next.span.start);
            let end = file
                .comments
                .iter()
                .map(|comment| comment.span.start)
                .filter(|start| *start >= item.span.end)
                .fold(end, u32::min);
            let diagnostic = Diagnostic::warning("check/source-again", id.span, message).about(&id.node);
            found.push(diagnostic.help("take it out").fix(Span { start: item.span.start, end }, ""));
        }
    }
}
