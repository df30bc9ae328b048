//! Any text that reads as a program file: checking ends, gives the same twice, and gives a program exactly where there is
//! no error.

use wherefore::check::check;
use wherefore::diagnostic::Severity;
use wherefore::source::Source;
use wherefore::syntax::parse;

/// Checks one input.
pub fn one(data: &[u8]) {
    let Ok(text) = std::str::from_utf8(data) else { return };
    let parsed = parse(&Source::new("fuzz", text));
    let (once, again) = (check(&parsed.file, &()), check(&parsed.file, &()));
    assert_eq!((&once.program, &once.diagnostics), (&again.program, &again.diagnostics), "checking is deterministic");
    let faulty = once.diagnostics.iter().any(|diagnostic| diagnostic.severity == Severity::Error);
    assert_eq!(once.program.is_none(), faulty);
}
