//! What every pass of the check shares: the program as far as it is built, the names in scope, the messages so far.

use super::names::Names;
use crate::diagnostic::{Diagnostic, nearest};
use crate::program::block::Standing;
use crate::program::{Block, Item, Origin, Program};
use crate::source::Span;
use crate::syntax::ast::Word;

/// State of one check.
pub(super) struct Context {
    pub(super) program: Program,
    pub(super) names: Names,
    pub(super) diagnostics: Vec<Diagnostic>,
    /// An adopted program could not be had: names that nothing has may be its names.
    pub(super) adoption_failed: bool,
    /// A name is in this file and in an adopted program: what refers to it cannot be judged.
    pub(super) names_clash: bool,
}

impl Context {
    pub(super) fn new() -> Context {
        let program = Program {
            id: String::new(),
            title: String::new(),
            authority: String::new(),
            standing: Standing::Draft,
            language: 1,
            reviewed: None,
            adopted_only: false,
            areas: std::sync::Arc::default(),
            sources: Vec::new(),
            outcomes: Vec::new(),
            facts: Vec::new(),
            questions: Vec::new(),
            options: Vec::new(),
            tables: Vec::new(),
            blocks: Vec::new(),
            ordinary: crate::model::Snapshot::default(),
            cases: Vec::new(),
            advice: Vec::new(),
            acknowledged: Vec::new(),
            adopted: Vec::new(),
        };
        Context {
            program,
            names: Names::default(),
            diagnostics: Vec::new(),
            adoption_failed: false,
            names_clash: false,
        }
    }

    /// Keeps a message.
    pub(super) fn report(&mut self, diagnostic: Diagnostic) {
        self.diagnostics.push(diagnostic);
    }

    /// Reports an error with what to do.
    pub(super) fn error(
        &mut self,
        code: &'static str,
        span: Span,
        message: impl Into<String>,
        help: impl Into<String>,
    ) {
        self.report(Diagnostic::error(code, span, message).help(help));
    }

    /// Reports a name that nothing has, with the nearest that something has.
    pub(super) fn unknown<'a>(
        &mut self,
        code: &'static str,
        what: &str,
        word: &Word,
        known: impl IntoIterator<Item = &'a str>,
    ) {
        let may_be_adopted = matches!(
            code,
            "check/unknown-fact"
                | "check/unknown-clause"
                | "check/unknown-finding"
                | "check/unknown-limit"
                | "check/unknown-code-group"
                | "check/unknown-question"
                | "check/unknown-table"
                | "check/unknown-change"
                | "check/unknown-outcome"
        );
        let diagnostic = unknown(code, what, word, known);
        let near = diagnostic.help.as_ref().is_some_and(|help| help.starts_with("did you mean"));
        if !(self.adoption_failed && may_be_adopted) || near {
            self.report(diagnostic);
        }
    }

    /// Adds a block of this file.
    pub(super) fn push(&mut self, item: Item, common: super::properties::Common, span: Span) {
        let origin = self.origin(span);
        self.program.blocks.push(Block {
            item,
            window: common.window,
            published: common.published,
            draft: common.draft,
            change: common.change,
            under: common.under,
            basis: common.basis,
            origin,
        });
    }

    /// A place in this file.
    pub(super) fn origin(&self, span: Span) -> Origin {
        Origin { program: self.program.id.clone(), span }
    }

    /// Whether the block was written in this file.
    pub(super) fn is_own(&self, origin: &Origin) -> bool {
        origin.program == self.program.id
    }
}

/// The message for a name that nothing has: the nearest name, or all of them where they are few.
pub(super) fn unknown<'a>(
    code: &'static str,
    what: &str,
    word: &Word,
    known: impl IntoIterator<Item = &'a str>,
) -> Diagnostic {
    let mut known: Vec<&str> = known.into_iter().collect();
    known.sort_unstable();
    known.dedup();
    let message = match what.strip_suffix(':') {
        Some(whose) => format!("`{}` is no {whose}", word.node),
        None => format!("there is no {what} `{}`", word.node),
    };
    let diagnostic = Diagnostic::error(code, word.span, message);
    match nearest(&word.node, known.iter().copied())
        .or_else(|| traded(&word.node, code, &known))
        .or_else(|| begun(&word.node, &known))
    {
        Some(near) => diagnostic.help(format!("did you mean `{near}`?")),
        None if code == "check/unknown-finding" && AFTER_A_YEAR.iter().any(|(said, _)| *said == word.node) => {
            let written = AFTER_A_YEAR.iter().find(|(said, _)| *said == word.node).map_or("", |(_, written)| written);
            diagnostic.help(format!("no `and` stands between a year and its bound: write `model year 1996 {written}`"))
        }
        None if known.is_empty() => diagnostic.help("there is none at all: declare it, or leave this out"),
        None if known.len() <= 16 => diagnostic.help(format!("known: {}", known.join(", "))),
        None => diagnostic.help("see the language reference for the names there are"),
    }
}

/// The one name that goes on where the word ends: `warm-ups since clearing` for `warm-ups`.
fn begun<'a>(word: &str, known: &[&'a str]) -> Option<&'a str> {
    let mut longer = known.iter().filter(|name| name.strip_prefix(word).is_some_and(|rest| rest.starts_with(' ')));
    longer.next().filter(|_| longer.next().is_none()).copied()
}

/// What people write behind a year, where it is taken for the name of a finding, and what is meant.
const AFTER_A_YEAR: [(&str, &str); 6] = [
    ("newer", "or later"),
    ("later", "or later"),
    ("up", "or later"),
    ("after", "or later"),
    ("older", "or earlier"),
    ("earlier", "or earlier"),
];

/// What a word of the trade is called here: one of the known names; in a test anything, for people write facts, states and
/// years in places where a finding could stand.
fn traded<'a>(name: &str, code: &str, known: &[&'a str]) -> Option<&'a str> {
    let is_test = ["check/unknown-finding", "check/unknown-fact"].contains(&code);
    let written =
        crate::syntax::words::trade(name).filter(|(length, _)| *length == name.len()).map(|(_, written)| written);
    match written? {
        written if is_test => Some(written),
        written => known.iter().copied().find(|one| *one == written),
    }
}
