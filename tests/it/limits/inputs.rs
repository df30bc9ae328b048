//! Limits of documents and captures: at each they are read, one beyond they are refused or told.

use wherefore::internals::decode::{LineProblem, Options, decode};
use wherefore::internals::document::{self, MAX_DECLARED_NAME, MAX_DEPTH, MAX_DOCUMENT_BYTES, MAX_ENTRIES, MAX_TEXT};

const START: &str = "{\"format\": \"wherefore-snapshot/1\"";

fn faults(text: &str) -> Vec<String> {
    document::read(text.as_bytes())
        .map_or_else(|faults| faults.iter().map(ToString::to_string).collect(), |_| Vec::new())
}

#[test]
fn a_document_is_read_at_its_limit_of_size() {
    let text = format!("{START}}}");
    let padded = |bytes: usize| format!("{text}{}", " ".repeat(bytes - text.len()));
    assert_eq!(faults(&padded(MAX_DOCUMENT_BYTES)), Vec::<String>::new());
    assert_eq!(faults(&padded(MAX_DOCUMENT_BYTES + 1)), ["the snapshot has 16777217 bytes; 16777216 are allowed"]);
}

#[test]
fn a_document_is_read_at_its_limit_of_nesting() {
    // The document itself is the first level, `from` the second.
    let nested =
        |levels: usize| format!("{START}, \"from\": {}1{}}}", "{\"a\":".repeat(levels - 1), "}".repeat(levels - 1));
    assert_eq!(faults(&nested(MAX_DEPTH)), Vec::<String>::new());
    let told = faults(&nested(MAX_DEPTH + 1));
    assert!(told.iter().any(|fault| fault.contains("nested deeper than 32 levels")), "{told:?}");
}

#[test]
fn a_list_is_read_at_its_limit_of_entries() {
    let list = |count: usize| {
        let codes: Vec<String> = (0..count).map(|at| format!("\"P{at:04X}\"")).collect();
        format!("{START}, \"codes\": {{\"stored\": [{}]}}}}", codes.join(","))
    };
    assert_eq!(faults(&list(MAX_ENTRIES)), Vec::<String>::new());
    assert_eq!(faults(&list(MAX_ENTRIES + 1)), ["codes.stored: 10001 entries; a list or object may have 10000"]);
}

#[test]
fn a_text_is_read_at_its_limit_of_characters() {
    let make = |count: usize| format!("{START}, \"vehicle\": {{\"make\": \"{}\"}}}}", "é".repeat(count));
    assert_eq!(faults(&make(MAX_TEXT)), Vec::<String>::new());
    assert_eq!(faults(&make(MAX_TEXT + 1)), ["vehicle.make: the text has 201 characters; 200 are allowed"]);
}

#[test]
fn a_declared_name_is_read_at_its_limit_of_characters() {
    let make = |count: usize| format!("{START}, \"declared\": {{\"{}\": true}}}}", "a".repeat(count));
    assert_eq!(faults(&make(MAX_DECLARED_NAME)), Vec::<String>::new());
    assert_eq!(faults(&make(MAX_DECLARED_NAME + 1)).len(), 1);
}

#[test]
fn a_message_is_read_at_its_limit_of_bytes() {
    let is_too_long = |bytes: usize| {
        let text = format!("7E8 43 00\n7E8 {}\n", vec!["00"; bytes].join(" "));
        let decoded = decode(text.as_bytes(), &Options::default()).unwrap();
        decoded.refused.iter().any(|refused| refused.problem == LineProblem::TooManyBytes)
    };
    assert!(!is_too_long(4095));
    assert!(is_too_long(4096));
}

/// A trace says what it is within its first lines; a text that says so later is read line by line, and none of its lines is one.
#[test]
fn a_trace_is_known_by_its_first_lines() {
    let trace = |before: usize| {
        let frame = "   0.100000 1  7E8             Rx   d 8 06 41 01 00 07 E5 00 00\n";
        format!("{}base hex  timestamps absolute\n{frame}", "// made by hand\n".repeat(before))
    };
    let form = |before| decode(trace(before).as_bytes(), &Options::default()).map(|it| it.document["from"].clone());
    let (within, beyond) = (form(59), form(60));
    assert!(within.is_ok(), "{within:?}");
    assert_ne!(within, beyond);
}
