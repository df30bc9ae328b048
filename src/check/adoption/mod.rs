//! Adoption: the blocks of another program become blocks of this one, with what is struck, replaced, chosen and
//! renamed. Every block keeps its origin. Cases, the ordinary vehicle and acknowledgements are not adopted.

mod merge;
mod outcomes;
mod settle;
mod strike;

pub(super) use merge::merge;
pub(super) use settle::settle;
pub(super) use strike::strike;

use super::context::{Context, unknown};
use super::{Adopt, Adoption, limits};
use crate::diagnostic::Diagnostic;
use crate::model::Date;
use crate::program::{Block, Item, Program, Selection, Window, select::live};
use crate::source::Span;
use crate::syntax::ast::{File, Kind, Property, Word};
use std::collections::BTreeSet;
use std::sync::Arc;

/// An adopted program, as far as it is taken over.
pub(super) struct Loaded {
    /// The adopting item.
    pub(super) span: Span,
    pub(super) properties: Vec<Property>,
    pub(super) program: Arc<Program>,
    pub(super) as_it_stood_on: Option<Date>,
    /// Blocks that are left after freezing and striking, still in the adopted program's own terms.
    pub(super) blocks: Vec<Block>,
    pub(super) struck_questions: BTreeSet<String>,
    pub(super) struck: Vec<Struck>,
}

/// Something struck: when it was there.
pub(super) struct Struck {
    pub(super) span: Span,
    pub(super) shown: String,
    pub(super) windows: Vec<Window>,
}

/// Finds the programs that the file adopts.
pub(super) fn load(cx: &mut Context, file: &File, adopt: &dyn Adopt) -> Vec<Loaded> {
    let mut loaded: Vec<Loaded> = Vec::new();
    for item in &file.items {
        let Kind::Adopts { program: word, as_it_stood_on } = &item.kind else { continue };
        if let Some(before) = loaded.iter().find(|before| before.program.id == word.node) {
            let message = format!("program `{}` is adopted twice", word.node);
            let diagnostic = Diagnostic::error("check/name-twice", word.span, message);
            let diagnostic = diagnostic.also(before.span, "first adopted here").help("adopt it once");
            cx.report(diagnostic);
            continue;
        }
        let Some(program) = find(cx, word, adopt) else {
            cx.adoption_failed = true;
            continue;
        };
        let date = as_it_stood_on.as_ref().and_then(|word| cx.date(word));
        let blocks = match date {
            Some(date) => frozen(cx, &program, date, word),
            None => program.blocks.clone(),
        };
        loaded.push(Loaded {
            span: item.span,
            properties: item.properties.clone(),
            program,
            as_it_stood_on: date,
            blocks,
            struck_questions: BTreeSet::new(),
            struck: Vec::new(),
        });
    }
    // The order of items means nothing.
    loaded.sort_by(|a, b| a.program.id.cmp(&b.program.id));
    loaded
}

fn find(cx: &mut Context, word: &Word, adopt: &dyn Adopt) -> Option<Arc<Program>> {
    if word.node == cx.program.id {
        let message = format!("program `{}` adopts itself", word.node);
        cx.error("check/adoption-cycle", word.span, message, "adopt another program, or none");
        return None;
    }
    match adopt.program(&word.node) {
        Adoption::Found { program, depth } => {
            let levels = depth.saturating_add(1);
            if levels > limits::ADOPTION_DEPTH {
                let message = format!("{levels} levels of adoption: at most {} are allowed", limits::ADOPTION_DEPTH);
                cx.error("check/too-many", word.span, message, "adopt a program nearer to the first text");
                return None;
            }
            Some(program)
        }
        Adoption::Missing { known } => {
            let diagnostic = unknown("check/unknown-program", "program", word, known.iter().map(String::as_str));
            cx.report(diagnostic);
            None
        }
        Adoption::Faulty => {
            let message = format!("program `{}` has errors of its own", word.node);
            cx.error("check/adopted-faulty", word.span, message, "check that program first");
            None
        }
        Adoption::Cycle(way) => {
            let message = format!("adopting `{}` leads back to this program", word.node);
            let diagnostic = Diagnostic::error("check/adoption-cycle", word.span, message);
            let diagnostic = diagnostic.note(format!("by way of {}", way.join(", ")));
            cx.report(diagnostic.help("one of them must stand on its own"));
            None
        }
    }
}

/// The blocks in force on a date as known on it; their own dates no longer matter.
fn frozen(cx: &mut Context, program: &Program, date: Date, word: &Word) -> Vec<Block> {
    let selection = Selection { known_on: Some(date), ..Selection::on(date) };
    let live = live(program, &selection);
    if !program.adopted_only && !live.iter().any(|block| matches!(block.item, Item::InForce)) {
        let message = format!("program `{}` was not in force on {date}", program.id);
        cx.error("check/adopted-not-in-force", word.span, message, "give a date on which it was");
    }
    let kept = live.into_iter().filter(|block| !matches!(block.item, Item::InForce));
    kept.map(|block| Block { window: Window::default(), published: None, ..block.clone() }).collect()
}
