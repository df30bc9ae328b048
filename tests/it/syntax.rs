//! The language reference and the grammar agree.

use wherefore::internals::diagnostic::Diagnostic;
use wherefore::internals::source::Source;
use wherefore::internals::syntax;

/// The fenced blocks of a page, each padded with empty lines so that places in it are places in the page.
pub(crate) fn fenced_blocks(page: &str) -> Vec<String> {
    let mut blocks = Vec::new();
    let mut open: Option<String> = None;
    for (number, line) in page.lines().enumerate() {
        match &mut open {
            None if line.starts_with("```") => open = Some("\n".repeat(number + 1)),
            Some(block) if line.starts_with("```") => {
                blocks.push(std::mem::take(block));
                open = None;
            }
            Some(block) => {
                block.push_str(line);
                block.push('\n');
            }
            None => {}
        }
    }
    blocks
}

/// grammar/language.md: every fenced block is text of the language.
#[test]
fn examples_of_the_reference_parse() {
    let page = std::fs::read_to_string(concat!(env!("CARGO_MANIFEST_DIR"), "/grammar/language.md")).unwrap();
    let blocks = fenced_blocks(&page);
    assert!(blocks.len() >= 7, "the reference has {} blocks", blocks.len());
    let mut wrong = Vec::new();
    for block in &blocks {
        let source = Source::new("language.md", block);
        for diagnostic in syntax::parse(&source).diagnostics {
            let span = diagnostic.labels[0].span;
            let (line, column) = source.place(span.start);
            wrong.push(format!("{line}:{column} `{}` {}", source.slice(span), diagnostic.message));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

/// One message as a line: code, place, words underlined, message, help.
fn told(source: &Source, diagnostic: &Diagnostic) -> String {
    let span = diagnostic.labels[0].span;
    let (line, column) = source.place(span.start);
    let underlined: String = source.slice(span).chars().take(60).flat_map(char::escape_debug).collect();
    let help = diagnostic.help.clone().unwrap_or_default();
    format!("{line}:{column} {}\n  `{underlined}`\n  {}\n  {help}", diagnostic.code, diagnostic.message)
}

/// Every file of tests/syntax/err: what is told of it, and which items are still in the tree.
#[test]
fn errors_are_told_at_their_places() {
    insta::glob!("../syntax/err", "*.wherefore", |path| {
        let text = syntax::decode_text(&std::fs::read(path).unwrap()).unwrap();
        let source = Source::new("file", &text);
        let parsed = syntax::parse(&source);
        let mut lines: Vec<String> = parsed.diagnostics.iter().map(|one| told(&source, one)).collect();
        let kept = parsed.file.items.iter().map(|item| source.slice(item.span).lines().next().unwrap_or("").trim_end());
        lines.push(format!("kept: {}", kept.collect::<Vec<_>>().join(" | ")));
        insta::assert_snapshot!(lines.join("\n"));
    });
}

/// grammar/language.md, table of tests: every example in backticks is a test, or the bounds or states of one.
#[test]
fn tests_of_the_reference_parse() {
    let page = std::fs::read_to_string(concat!(env!("CARGO_MANIFEST_DIR"), "/grammar/language.md")).unwrap();
    let table = page.split("## Conditions").nth(1).unwrap().split("\n## ").next().unwrap();
    let rows = table.lines().filter(|line| line.starts_with("| ") && line.contains('`'));
    let mut tests = 0;
    for row in rows {
        for example in row.split('`').skip(1).step_by(2) {
            let text = match example {
                "above 8500 lb" => format!("gross weight {example}"),
                "is supported" | "is unsupported" => format!("catalyst {example}"),
                "below" | "at least" => continue,
                whole => whole.to_owned(),
            };
            let parsed = syntax::parse(&Source::new("row", &format!("covers where {text}")));
            assert_eq!(parsed.diagnostics, [], "{example}");
            tests += 1;
        }
    }
    assert!(tests > 45, "the table has {tests} examples");
}

/// Words of the tables of a program are words of the grammar, and the other way round.
#[test]
fn words_of_programs_are_those_of_the_language() {
    use wherefore::internals::program::block::ConsequenceKind;
    use wherefore::internals::program::outcome::{Class, Topic, on_a_ladder};
    use wherefore::internals::program::{Kind, Seen};
    use wherefore::internals::syntax::words;
    assert_eq!(Topic::ALL.map(|(_, word)| word).as_slice(), words::TOPICS);
    assert_eq!(Kind::ALL.map(|(_, word)| word).as_slice(), words::SOURCE_KINDS);
    assert_eq!(Seen::ALL.map(|(_, words)| words).as_slice(), words::SEEN);
    assert_eq!(ConsequenceKind::ALL.map(|(_, word)| word).as_slice(), words::CONSEQUENCE_KINDS);
    let of_ladders: Vec<&str> =
        Class::ALL.iter().map(|class| class.word()).filter(|word| on_a_ladder(word).is_some()).collect();
    assert_eq!(of_ladders, words::CLASSES);
}
