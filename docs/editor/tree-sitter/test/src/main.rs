//! Every program file of the repository is parsed without an error node, and each query compiles and finds what it names;
//! files that are not written so have one. What this shows: the words, texts, lines and beginnings of lines of every file are
//! known to the grammar. It does not show that a condition is well formed: that is for the program's own grammar.

use std::path::{Path, PathBuf};
use tree_sitter::{Language, Node, Parser, Query, QueryCursor, StreamingIterator};
use tree_sitter_language::LanguageFn;

unsafe extern "C" {
    fn tree_sitter_wherefore() -> *const ();
}

/// Texts that the program refuses too, with what is wrong with each.
const WRONG: [(&str, &str); 5] = [
    ("a text without an end", "source r1 \"1 EX 2 law\n"),
    ("no such item", "klause lamp on lamp\n  fail where hybrid\n"),
    ("a character outside a text", "clause lamp on lamp\n  fail where hybrid & plug-in\n"),
    ("a bullet at the margin", "limit\n- every vehicle: none\n"),
    ("an upper-case name", "clause Lamp on lamp\n"),
];

fn files(folder: &Path, into: &mut Vec<PathBuf>) {
    for entry in std::fs::read_dir(folder).expect("a folder") {
        let path = entry.expect("an entry").path();
        if path.is_dir() {
            files(&path, into);
        } else if path.extension().is_some_and(|ending| ending == "wherefore") {
            into.push(path);
        }
    }
}

fn fault(node: Node<'_>) -> Option<usize> {
    if node.is_error() || node.is_missing() {
        return Some(node.start_position().row + 1);
    }
    node.children(&mut node.walk()).find_map(fault)
}

fn main() {
    // SAFETY: the symbol is the generated parser's, which build.rs compiles; it returns a static language.
    let language: Language = unsafe { LanguageFn::from_raw(tree_sitter_wherefore) }.into();
    let mut parser = Parser::new();
    parser.set_language(&language).expect("a language of this version");
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../../..");
    let mut all = Vec::new();
    for folder in ["policies", "examples", "tests/check/points", "tests/check/patterns", "tests/check/version-1", "tests/syntax/ok"] {
        files(&root.join(folder), &mut all);
    }
    assert!(all.len() > 100, "{} files", all.len());
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../queries");
    let query = |name: &str| {
        let text = std::fs::read_to_string(folder.join(name)).expect("a query");
        Query::new(&language, &text).unwrap_or_else(|error| panic!("{name}: {error}"))
    };
    let (highlights, folds) = (query("highlights.scm"), query("folds.scm"));
    let mut found = vec![0; highlights.capture_names().len()];
    let (mut faults, mut items) = (0, 0);
    for path in &all {
        let text = std::fs::read_to_string(path).expect("a file");
        let tree = parser.parse(&text, None).expect("a tree");
        if let Some(line) = fault(tree.root_node()) {
            println!("{}:{line}: not known to the grammar", path.display());
            faults += 1;
        }
        let mut cursor = QueryCursor::new();
        let mut captures = cursor.captures(&highlights, tree.root_node(), text.as_bytes());
        while let Some((one, at)) = captures.next() {
            found[one.captures[*at].index as usize] += 1;
        }
        let mut cursor = QueryCursor::new();
        let mut matches = cursor.matches(&folds, tree.root_node(), text.as_bytes());
        let mut folded = 0;
        while matches.next().is_some() {
            folded += 1;
        }
        // An item begins each line at the margin that is neither blank nor a comment.
        let begins = |line: &&str| line.starts_with(|first: char| first.is_ascii_lowercase());
        assert_eq!(folded, text.lines().filter(begins).count(), "items of {}", path.display());
        items += folded;
    }
    for (name, count) in highlights.capture_names().iter().zip(&found) {
        assert!(*count > 0, "{name} is found nowhere");
    }
    for (what, text) in WRONG {
        let tree = parser.parse(text, None).expect("a tree");
        assert!(fault(tree.root_node()).is_some(), "{what} is taken for right");
    }
    assert_eq!(faults, 0, "files with faults");
    println!("{} files, {items} items, no error node; {} wrong texts told", all.len(), WRONG.len());
}
