//! Citations: a source of this file or of one that it adopts, a place in it, and how it was seen.

use super::context::Context;
use crate::program::{Citation, Seen, Window};
use crate::syntax::ast::{self, Word};

impl Context {
    /// The citation, its source by place.
    pub(super) fn citation(&mut self, citation: &ast::Citation) -> Option<Citation> {
        if let Some(programs) = self.names.ambiguous_sources.get(&citation.source.node) {
            let message = format!("`{}` is another text in each of {programs}", citation.source.node);
            let help = "declare the one that is meant here, as a `source` of this file";
            self.error("check/source-ambiguous", citation.source.span, message, help);
            return None;
        }
        let Some(source) = self.names.sources.get(&citation.source.node).copied() else {
            let known: Vec<String> = self.names.sources.keys().cloned().collect();
            self.unknown("check/unknown-source", "source", &citation.source, known.iter().map(String::as_str));
            return None;
        };
        let own = self.program.sources.get(source).map_or(Seen::FromMemory, |source| source.seen);
        let seen = match &citation.seen {
            // What is concluded from a text is no firmer than the text: an inference from hearsay stays hearsay.
            Some(word) => match self.seen(word)? {
                concluded @ (Seen::ByAbsence | Seen::Inferred) => concluded.max(own),
                other => other,
            },
            None => own,
        };
        let locator = citation.locator.as_ref().map(|word| word.node.clone()).unwrap_or_default();
        let mut window = Window {
            from: citation.from.as_ref().and_then(|word| self.date(word)),
            through: citation.through.as_ref().and_then(|word| self.date(word)),
        };
        self.window_ends(&window, (citation.from.as_ref(), citation.through.as_ref()));
        if let Some(word) = &citation.period {
            window = self.period(word)?;
        }
        Some(Citation { source, locator, seen, window })
    }

    /// How a text was seen.
    pub(super) fn seen(&mut self, word: &Word) -> Option<Seen> {
        let seen = Seen::ALL.iter().find(|(_, words)| *words == word.node).map(|(seen, _)| *seen);
        if seen.is_none() {
            self.unknown("check/unknown-word", "way of seeing a text", word, Seen::ALL.iter().map(|(_, words)| *words));
        }
        seen
    }
}
