//! Any bytes as a program file: decoding, parsing and formatting answer and never panic; what can be formatted parses
//! again and formats to itself.

#![no_main]

use libfuzzer_sys::fuzz_target;
use wherefore::source::Source;
use wherefore::syntax::{decode_text, format, parse};

fuzz_target!(|bytes: &[u8]| {
    let Ok(text) = decode_text(bytes) else { return };
    let source = Source::new("fuzz", &text);
    let parsed = parse(&source);
    for label in parsed.diagnostics.iter().flat_map(|one| &one.labels) {
        assert!(label.span.start <= label.span.end);
        assert!(usize::try_from(label.span.end).is_ok_and(|end| text.is_char_boundary(end)));
    }
    let Some(once) = format(&parsed, &source) else { return };
    let again = Source::new("fuzz", &once);
    let parsed_again = parse(&again);
    assert!(parsed_again.diagnostics.is_empty());
    assert_eq!(format(&parsed_again, &again).as_deref(), Some(once.as_str()));
});
