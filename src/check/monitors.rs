//! Monitors by name, lists of them, their states in tests, and counts of them.

use super::context::Context;
use crate::diagnostic::Diagnostic;
use crate::model::{Monitor, MonitorSet, MonitorState};
use crate::source::{Span, Spanned};
use crate::syntax::ast::{HowMany, State, Word};

/// Bounds on how many monitors are in some states.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Count {
    pub(super) states: u64,
    pub(super) least: Option<i64>,
    pub(super) most: Option<i64>,
}

impl Context {
    /// The monitor.
    pub(super) fn monitor(&mut self, word: &Word) -> Option<Monitor> {
        let monitor = Monitor::named(&word.node);
        if monitor.is_none() {
            if super::names::fact_named(&word.node).is_some() {
                let message = format!("`{}` is a fact, and a monitor is wanted here", word.node);
                self.error("check/unknown-monitor", word.span, message, "name monitors, such as `catalyst`");
            } else {
                self.unknown("check/unknown-monitor", "monitor", word, Monitor::all().map(Monitor::name));
            }
        }
        monitor
    }

    /// The monitors of a list; one listed twice is reported.
    pub(super) fn monitors(&mut self, words: &[Word]) -> MonitorSet {
        let mut set = MonitorSet::EMPTY;
        for word in words {
            let Some(monitor) = self.monitor(word) else { continue };
            if set.contains(monitor) {
                let message = format!("`{}` is listed twice", word.node);
                self.error("check/listed-twice", word.span, message, "list it once");
            }
            set = set.with(monitor);
        }
        set
    }

    /// The states that a test of monitors accepts.
    pub(super) fn states(&mut self, state: &Spanned<State>) -> Option<u64> {
        let (unsupported, complete, incomplete) =
            (MonitorState::Unsupported.bit(), MonitorState::Complete.bit(), MonitorState::Incomplete.bit());
        Some(match state.node {
            State::Incomplete => incomplete,
            State::SupportedAndComplete => complete,
            State::CompleteWhereverSupported => complete | unsupported,
            State::Supported => complete | incomplete,
            State::Unsupported => unsupported,
            State::BareComplete => {
                let diagnostic = Diagnostic::error(
                    "check/bare-complete",
                    state.span,
                    "`complete` does not say what holds of a monitor that is not supported",
                );
                self.report(diagnostic.help(
                    "say `supported and complete` (an unsupported monitor does not do) or `complete wherever supported` \
                     (it does)",
                ));
                return None;
            }
        })
    }

    /// *How many are in the state*, as bounds on a count; `among` is how many there are at most.
    pub(super) fn count(&mut self, how_many: &HowMany, state: &Spanned<State>, among: i64) -> Option<Count> {
        let states = self.states(state)?;
        Some(match how_many {
            HowMany::AtLeast(count) => {
                self.count_within(count, 1, among)?;
                Count { states, least: Some(count.node), most: None }
            }
            HowMany::AtMost(count) => {
                self.count_within(count, 0, among.saturating_sub(1))?;
                Count { states, least: None, most: Some(count.node) }
            }
            HowMany::Exactly(count) => {
                self.count_within(count, 0, among)?;
                Count { states, least: Some(count.node), most: Some(count.node) }
            }
            HowMany::Every => Count { states: MonitorState::ANY & !states, least: None, most: Some(0) },
            HowMany::No => Count { states, least: None, most: Some(0) },
            HowMany::Any => Count { states, least: Some(1), most: None },
        })
    }

    /// A count of monitors within what there can be.
    pub(super) fn count_within(&mut self, count: &Spanned<i64>, least: i64, most: i64) -> Option<()> {
        if (least..=most).contains(&count.node) {
            return Some(());
        }
        let message = format!("{} monitors: the number is from {least} through {most} here", count.node);
        let help = "any other number would hold of every vehicle, or of none";
        self.error("check/count-out-of-range", count.span, message, help);
        None
    }

    /// Reports an empty list.
    pub(super) fn not_empty(&mut self, span: Span, words: &[Word]) {
        if words.is_empty() {
            self.error("check/nothing-listed", span, "nothing is listed here", "list at least one");
        }
    }
}
