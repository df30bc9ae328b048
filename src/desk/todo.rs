//! What is still open in a file that is being written, in the order in which the guide writes it.

use super::Told;
use crate::diagnostic::{Diagnostic, Severity};
use crate::wording::wrap::wrapped;

/// The steps of the guide (`policies/README.md`), each with the beginnings of the codes of messages that belong to it.
const STEPS: [(&str, &[&str]); 8] = [
    ("Mend what cannot be read", &["syntax/"]),
    (
        "Start the file: program, sources, dates in force, outcomes",
        &[
            "check/part-missing",
            "check/program",
            "check/language",
            "check/unknown-source",
            "check/seen-missing",
            "check/uncited",
            "check/unused-source",
            "check/source",
            "check/class",
            "check/first-not-pass",
            "check/outcome",
            "check/ends",
            "check/bad-date",
            "check/read-before",
        ],
    ),
    (
        "Say who is tested",
        &["check/area", "check/no-areas", "check/unknown-area", "check/left-out", "analysis/left-out"],
    ),
    (
        "Say which monitors count, and how many may be incomplete",
        &[
            "check/limit",
            "analysis/limit",
            "analysis/row",
            "check/unknown-limit",
            "check/unused-limit",
            "check/unknown-monitor",
        ],
    ),
    (
        "Write a clause for every other thing that the text decides on",
        &["check/clause", "check/unknown", "check/unused", "check/duplicate", "check/absence", "analysis/version"],
    ),
    (
        "Say of every other topic whether the text is silent on it or was not seen",
        &["check/topic-open", "analysis/gap"],
    ),
    (
        "Describe an ordinary vehicle, and write worked cases",
        &["check/ordinary", "check/case", "check/no-case", "check/cases", "case/"],
    ),
    ("Look at each warning: mend it, or acknowledge it with its reason", &["analysis/", "check/"]),
];

/// What is open, by the steps of the guide; a sentence where nothing is.
#[must_use]
pub fn todo(told: &Told) -> String {
    let name = told.entry.source.name();
    let mut by_step: Vec<Vec<&Diagnostic>> = STEPS.iter().map(|_| Vec::new()).collect();
    for message in &told.messages {
        let at = STEPS.iter().position(|(_, codes)| codes.iter().any(|code| message.code.starts_with(code)));
        // An error that no step names keeps the file from being read further: it comes before the warnings.
        let at = at.filter(|at| message.severity == Severity::Warning || at + 1 < STEPS.len()).unwrap_or(0);
        if let Some(step) = by_step.get_mut(at) {
            step.push(message);
        }
    }
    let mut out = format!("{name}\n");
    for ((step, _), messages) in STEPS.iter().zip(&by_step).filter(|(_, messages)| !messages.is_empty()) {
        out.push_str(&format!("\n{step}: {} open\n", messages.len()));
        for message in messages {
            let line = message.labels.first().map_or(1, |label| told.entry.source.place(label.span.start).0);
            let help = message.help.as_ref().map(|help| format!(" ({help})")).unwrap_or_default();
            out.push_str(&wrapped("  - ", None, &format!("line {line}: {}{help}", message.message)));
        }
    }
    if told.messages.is_empty() {
        out.push_str(match told.entry.program.as_deref().map(|program| program.standing) {
            Some(crate::program::block::Standing::Draft) => {
                "\nNothing is open. Hold every line against its text, then write `standing checked` and `reviewed`.\n"
            }
            _ => "\nNothing is open.\n",
        });
    }
    out
}
