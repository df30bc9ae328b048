//! The formatter: formatting twice changes nothing, the tree stays the same, comments stay where they were.

use std::fmt::Debug;
use wherefore::internals::source::Source;
use wherefore::internals::syntax::{self, Parsed};

fn parse(text: &str) -> (Source, Parsed) {
    let source = Source::new("file", text);
    let parsed = syntax::parse(&source);
    (source, parsed)
}

/// A tree written out without the places of its parts.
pub(crate) fn without_places(tree: &impl Debug) -> String {
    let shown = format!("{tree:?}");
    let mut parts = shown.split("Span { start: ");
    let mut kept = parts.next().unwrap_or("").to_owned();
    for part in parts {
        kept.push_str("Span");
        kept.push_str(part.split_once('}').map_or("", |(_, rest)| rest));
    }
    kept
}

/// Formats a text that has no errors, and checks what must hold of every formatted text.
fn formatted(name: &str, text: &str) -> String {
    let (source, parsed) = parse(text);
    assert_eq!(parsed.diagnostics, [], "{name}");
    let once = syntax::format(&parsed, &source).unwrap();
    let (source_again, parsed_again) = parse(&once);
    assert_eq!(parsed_again.diagnostics, [], "{name} formatted:\n{once}");
    assert_eq!(without_places(&parsed.file.items), without_places(&parsed_again.file.items), "{name}:\n{once}");
    let comments = |parsed: &Parsed| parsed.file.comments.iter().map(|word| word.node.clone()).collect::<Vec<_>>();
    assert_eq!(comments(&parsed), comments(&parsed_again), "{name}:\n{once}");
    assert_eq!(syntax::format(&parsed_again, &source_again).unwrap(), once, "{name}, formatted twice");
    for line in once.lines() {
        let one_long_word = line.contains('"') || line.contains('#');
        assert!(line.chars().count() <= syntax::WIDTH || one_long_word, "{name}: {line}");
        assert_eq!(line.trim_end(), line, "{name}");
    }
    once
}

/// Every file of tests/syntax/ok and tests/syntax/format in its canonical layout.
#[test]
fn files_without_errors_have_one_layout() {
    insta::glob!("../syntax", "{ok,format}/*.wherefore", |path| {
        let text = syntax::decode_text(&std::fs::read(path).unwrap()).unwrap();
        insta::assert_snapshot!(formatted(&path.to_string_lossy(), &text));
    });
}

/// The fenced blocks of grammar/language.md.
#[test]
fn examples_of_the_reference_keep_their_meaning() {
    let page = std::fs::read_to_string(concat!(env!("CARGO_MANIFEST_DIR"), "/grammar/language.md")).unwrap();
    let blocks = crate::syntax::fenced_blocks(&page);
    assert!(!blocks.is_empty());
    for block in blocks {
        formatted("language.md", &block);
    }
}

#[test]
fn a_file_with_errors_is_not_formatted() {
    let (source, parsed) = parse("covers where hybrid\nclasue lamp on lamp\n");
    assert_eq!(parsed.file.items.len(), 1);
    assert_eq!(syntax::format(&parsed, &source), None);
}

/// Every program of the policies folder can be formatted and keeps its meaning.
#[test]
fn programs_keep_their_meaning() {
    let mut open = vec![std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("policies")];
    let mut programs = 0;
    while let Some(folder) = open.pop() {
        for entry in std::fs::read_dir(folder).unwrap() {
            let path = entry.unwrap().path();
            if path.is_dir() {
                open.push(path);
            } else if path.extension().is_some_and(|ending| ending == "wherefore") {
                formatted(&path.to_string_lossy(), &std::fs::read_to_string(&path).unwrap());
                programs += 1;
            }
        }
    }
    assert!(programs > 20, "the folder has {programs} programs");
}

/// `or else` ends a list of words, whatever stands before it: `, or` of a list is no longer taken for part of it.
#[test]
fn a_list_of_words_ends_before_or_else() {
    for words in
        ["gasoline", "gasoline or diesel", "gasoline, diesel or propane", "gasoline, or diesel", "not gasoline"]
    {
        for comma in [",", ""] {
            let text = format!("clause fuel on other\n  requires fuel is {words}{comma} or else reject\n  per r\n");
            let once = formatted(words, &text);
            assert!(once.contains(", or else reject"), "{once}");
        }
    }
}
