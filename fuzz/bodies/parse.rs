//! Any text: reading ends, every message has a place in the text, and the canonical form is one: formatting it again
//! changes nothing.

use wherefore::internals::source::Source;
use wherefore::internals::syntax::{format, parse};

/// Reads one input.
pub fn one(data: &[u8]) {
    let Ok(text) = std::str::from_utf8(data) else { return };
    let source = Source::new("fuzz", text);
    let parsed = parse(&source);
    for diagnostic in &parsed.diagnostics {
        for label in &diagnostic.labels {
            let (start, end) = (label.span.start as usize, label.span.end as usize);
            assert!(
                start <= end && end <= text.len() && text.is_char_boundary(start) && text.is_char_boundary(end),
                "{diagnostic:?}"
            );
        }
    }
    if let Some(once) = format(&parsed, &source) {
        let source = Source::new("fuzz", &once);
        let again = format(&parse(&source), &source);
        assert_eq!(again.as_deref(), Some(once.as_str()), "formatting is idempotent");
    }
}
