//! Any text at all: the parser answers, points into the text, and what it accepts can be formatted.

use proptest::prelude::*;
use std::path::{Path, PathBuf};
use wherefore::internals::source::Source;
use wherefore::internals::syntax;

/// What must hold whatever the text is.
fn check(text: &str) {
    let source = Source::new("file", text);
    let parsed = syntax::parse(&source);
    for diagnostic in &parsed.diagnostics {
        for label in &diagnostic.labels {
            let (start, end) = (label.span.start as usize, label.span.end as usize);
            assert!(start <= end && text.get(start..end).is_some(), "{diagnostic:?} in {text:?}");
            assert!(!source.slice(label.span).contains('\n'), "{diagnostic:?} underlines lines of {text:?}");
        }
        assert!(diagnostic.help.is_some(), "{diagnostic:?}");
        assert!(!diagnostic.message.contains('\n') && !diagnostic.message.ends_with('.'), "{diagnostic:?}");
    }
    if let Some(once) = syntax::format(&parsed, &source) {
        let again = Source::new("file", &once);
        let parsed_again = syntax::parse(&again);
        assert_eq!(parsed_again.diagnostics, [], "{text:?} formatted as {once:?}");
        assert_eq!(syntax::format(&parsed_again, &again).as_deref(), Some(once.as_str()), "{text:?}");
    }
}

fn files() -> Vec<PathBuf> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/syntax");
    let kinds = ["ok", "err", "format"].iter().flat_map(|kind| std::fs::read_dir(folder.join(kind)).unwrap());
    let mut files: Vec<PathBuf> = kinds.map(|entry| entry.unwrap().path()).collect();
    files.sort();
    files
}

/// The text of the reference's blocks and of the test files, cut small enough to be quick.
fn good_texts() -> Vec<String> {
    let page = std::fs::read_to_string(concat!(env!("CARGO_MANIFEST_DIR"), "/grammar/language.md")).unwrap();
    let blocks = crate::syntax::fenced_blocks(&page).into_iter().map(|block| block.trim_start().to_owned());
    blocks.filter(|block| block.len() < 1500).collect()
}

/// Words and marks of the language, to be thrown together.
fn scraps() -> impl Strategy<Value = String> {
    let words: Vec<String> = good_texts().join(" ").split_whitespace().map(str::to_owned).collect();
    let marks = [
        "\n", "\n  ", "\n  - ", "\n    - ", "\n\t", "\r\n", " # c\n", "\"", ";", ":", ",", "(", "\u{1}", "é",
        "\u{2028}",
    ];
    let scrap = prop_oneof![
        4 => proptest::sample::select(words).prop_map(|word| format!("{word} ")),
        1 => proptest::sample::select(marks.map(str::to_owned).to_vec()),
    ];
    proptest::collection::vec(scrap, 0..40).prop_map(|scraps| scraps.concat())
}

#[test]
fn files_of_every_kind_hold() {
    for path in files() {
        check(&syntax::decode_text(&std::fs::read(&path).unwrap()).unwrap());
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 128, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn any_string_holds(text in any::<String>()) {
        check(&text);
    }

    #[test]
    fn scraps_of_the_language_hold(text in scraps()) {
        check(&text);
    }

    #[test]
    fn changed_examples_hold(
        text in proptest::sample::select(good_texts()),
        cut in any::<proptest::sample::Index>(),
        length in 0usize..12,
        put in prop_oneof![Just(String::new()), Just("\n".to_owned()), Just("#c\n".to_owned()), "[ -~\n]{0,4}", scraps()],
    ) {
        let starts: Vec<usize> = text.char_indices().map(|(at, _)| at).collect();
        let start = starts[cut.index(starts.len())];
        let end = text[start..].char_indices().nth(length).map_or(text.len(), |(at, _)| start + at);
        check(&format!("{}{put}{}", &text[..start], &text[end..]));
    }
}
