//! Any text that reads as a program file: checking ends, gives the same twice, points into the text, and gives a program
//! exactly where there is no error. A program that there is selects, dumps and lints.

use wherefore::internals::check::{check, lint};
use wherefore::internals::diagnostic::Severity;
use wherefore::internals::program::{Selection, dump, epochs, select};
use wherefore::internals::source::Source;
use wherefore::internals::syntax::parse;

/// Checks one input.
pub fn one(data: &[u8]) {
    let Ok(text) = std::str::from_utf8(data) else { return };
    let parsed = parse(&Source::new("fuzz", text));
    let (once, again) = (check(&parsed.file, &()), check(&parsed.file, &()));
    assert_eq!((&once.program, &once.diagnostics), (&again.program, &again.diagnostics), "checking is deterministic");
    let faulty = once.diagnostics.iter().any(|diagnostic| diagnostic.severity == Severity::Error);
    assert_eq!(once.program.is_none(), faulty);
    for found in &once.diagnostics {
        let place = found.labels.first().map(|label| label.span).unwrap_or_default();
        let within = usize::try_from(place.end).is_ok_and(|end| place.start <= place.end && end <= text.len());
        assert!(within, "{}", found.message);
    }
    let Some(program) = once.program else { return };
    for epoch in epochs(&program).into_iter().take(3) {
        let flat = select(&program, &Selection::on(epoch.from)).expect("the file's own readings");
        assert!(dump(&flat).starts_with("program "));
    }
    let found = lint::silence(&program, lint::lint(&program, &parsed.file), &["check"]);
    assert!(found.iter().all(|one| one.help.is_some()), "every finding says what to do");
}
