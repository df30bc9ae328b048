//! The `program` item: exactly one, with its authority, language and standing.

use super::context::Context;
use super::limits::ITEMS;
use crate::diagnostic::Diagnostic;
use crate::program::block::{Reviewed, Standing};
use crate::source::Span;
use crate::syntax::ast::{File, Kind, PropertyKind};

/// The versions of the language that this crate reads.
const LANGUAGES: [u32; 2] = [1, 2];

pub(super) fn check(cx: &mut Context, file: &File) {
    let start = Span::default();
    cx.at_most(file.items.get(ITEMS).map_or(start, |item| item.span), file.items.len(), ITEMS, "items");
    let mut programs = file.items.iter().filter_map(|item| match &item.kind {
        Kind::Program { id, title } => Some((item, id, title)),
        _ => None,
    });
    let Some((item, id, title)) = programs.next() else {
        let help = "begin the file with `program ID \"title\"` and its authority";
        cx.error("check/part-missing", start, "the file has no `program`", help);
        return;
    };
    for (another, _, _) in programs {
        let diagnostic = Diagnostic::error("check/program-twice", another.span, "a file holds one program");
        cx.report(diagnostic.also(item.span, "the first one").help("put the other in a file of its own"));
    }
    cx.program.id = id.node.clone();
    cx.program.title = title.node.clone();
    if title.node.trim().is_empty() {
        let help = "say between the quotes what a person calls the program";
        cx.error("check/part-missing", title.span, "the title of the program is empty", help);
    }
    let allowed = ["authority", "language", "standing", "reviewed", "adopted only"];
    let (_, properties) = cx.properties("the `program` item", &item.properties, &[&allowed]);
    let mut authority = false;
    for property in properties {
        match &property.kind {
            PropertyKind::Authority(word) => {
                authority = true;
                if word.node.trim().is_empty() {
                    let help = "say who made the program between the quotes";
                    cx.error("check/part-missing", word.span, "the authority is empty", help);
                }
                cx.program.authority = word.node.clone();
            }
            PropertyKind::Language(version) => match u32::try_from(version.node) {
                Ok(number) if LANGUAGES.contains(&number) => cx.program.language = number,
                _ => {
                    let message = format!("version {} of the language is not known here", version.node);
                    cx.error("check/language", version.span, message, "this release reads versions 1 and 2");
                }
            },
            PropertyKind::AdoptedOnly => cx.program.adopted_only = true,
            PropertyKind::Standing(word) => match Standing::ALL.iter().find(|(_, known)| *known == word.node) {
                Some((standing, _)) => cx.program.standing = *standing,
                None => {
                    cx.unknown("check/unknown-word", "standing", word, Standing::ALL.iter().map(|(_, known)| *known));
                }
            },
            PropertyKind::Reviewed { on, against } => {
                cx.program.reviewed = cx.date(on).map(|on| Reviewed { on, against: against.node.clone() });
            }
            _ => {}
        }
    }
    if !authority {
        let help = "add `authority \"…\"` under it: who made the program";
        cx.error("check/part-missing", id.span, "the program has no authority", help);
    }
}
