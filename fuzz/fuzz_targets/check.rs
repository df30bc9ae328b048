//! Fuzzes `check` and what follows it: any text, twice. The messages must be the same and lie within the text, and a
//! program that is usable must select, dump and lint without stopping.
#![no_main]

use libfuzzer_sys::fuzz_target;
use wherefore::check::{check, lint};
use wherefore::program::{Selection, dump, epochs, select};
use wherefore::source::Source;
use wherefore::syntax;

fuzz_target!(|text: &str| {
    let parsed = syntax::parse(&Source::new("fuzz", text));
    let checked = check(&parsed.file, &());
    assert_eq!(checked.diagnostics, check(&parsed.file, &()).diagnostics, "the same text, the same messages");
    for found in &checked.diagnostics {
        let place = found.labels.first().map(|label| label.span).unwrap_or_default();
        assert!(place.start <= place.end && place.end as usize <= text.len(), "{}", found.message);
    }
    let Some(program) = checked.program else { return };
    for epoch in epochs(&program).into_iter().take(3) {
        let flat = select(&program, &Selection::on(epoch.from)).expect("the file's own readings");
        assert_eq!(dump(&flat), dump(&flat));
    }
    let found = lint::lint(&program, &parsed.file);
    assert!(lint::silence(&program, found, &["check"]).iter().all(|one| one.help.is_some()));
});
