//! A file that is typed and cut at random: whatever stands there, every request is answered, no message leaves the text,
//! and the text is what the editor has.

use super::client::{Client, Texts, cut, edited};
use proptest::prelude::*;
use serde_json::{Value, json};

const URI: &str = "file:///typed/us-typed.wherefore";

/// Pieces that stress places and words: other scripts, marks of two UTF-16 units, all ends of lines, broken texts.
const PIECES: [&str; 32] = [
    "\n",
    "\r\n",
    "\r",
    " ",
    "  ",
    "\"",
    "#",
    "é",
    "𝄞",
    "\u{1}",
    "-",
    ":",
    "clause x on lamp\n",
    "  fail where ",
    "lamp commanded on",
    "limit\n  - every vehicle: ",
    "case \"𝄞\"\n  on ",
    " is ",
    "per ",
    "under ",
    "only if ",
    "is read as ",
    "in force from ",
    "left open ",
    "and ",
    "area is \"",
    "over the limit",
    "too many monitors are incomplete",
    "text not seen",
    "number not seen",
    "no rule applied on lamp, ",
    "\0",
];

fn shipped() -> String {
    let root = concat!(env!("CARGO_MANIFEST_DIR"), "/examples/exact/heath.wherefore");
    std::fs::read_to_string(root).unwrap()
}

fn ends(text: &str) -> Value {
    let lines: Vec<&str> = text.split(['\n']).collect();
    json!({"line": lines.len() - 1, "character": lines.last().unwrap().encode_utf16().count()})
}

/// A place in a text, by thousandths of its bytes, at the beginning of a character.
fn place(text: &str, thousandths: usize) -> (usize, Value) {
    let mut byte = text.len() * thousandths / 1000;
    while !text.is_char_boundary(byte) {
        byte -= 1;
    }
    let line = text[..byte].matches('\n').count();
    let start = text[..byte].rfind('\n').map_or(0, |at| at + 1);
    // Within a line end of two marks an editor has no place.
    let column = text[start..byte].trim_end_matches('\r').encode_utf16().count();
    let byte = byte - (text[start..byte].len() - text[start..byte].trim_end_matches('\r').len());
    (byte, json!({"line": line, "character": column}))
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 24, ..ProptestConfig::default() })]
    #[test]
    fn a_half_typed_file_never_stops_the_server(
        edits in prop::collection::vec((0usize..=1000, 0usize..40, prop::sample::select(&PIECES[..])), 1..12),
        asked in 0usize..=1000,
    ) {
        let mut client = Client::new(Texts::default());
        // A carriage return alone ends a line for an editor and not for this test's own rules: it is left out here.
        let mut text = shipped();
        client.open(URI, &text);
        for (version, (at, length, piece)) in edits.into_iter().enumerate() {
            let piece = if piece == "\r" || piece == "\r\n" { "\n" } else { piece };
            let (start, from) = place(&text, at);
            let mut end = (start + length).min(text.len());
            while !text.is_char_boundary(end) {
                end -= 1;
            }
            let line = text[..end].matches('\n').count();
            let begins = text[..end].rfind('\n').map_or(0, |at| at + 1);
            let to = json!({"line": line, "character": text[begins..end].encode_utf16().count()});
            client.change(URI, version as i32 + 2, json!({"start": from, "end": to}), piece);
            text.replace_range(start..end, piece);
        }
        for message in &client.diagnostics[URI] {
            let end = &message["range"]["end"];
            let last = ends(&text);
            prop_assert!(
                (end["line"].as_u64(), end["character"].as_u64()) <= (last["line"].as_u64(), last["character"].as_u64())
                    || end["line"].as_u64() < last["line"].as_u64(),
                "{message}"
            );
        }
        client.study();
        let (_, position) = place(&text, asked);
        let document = json!({"uri": URI});
        let here = json!({"textDocument": document, "position": position});
        let whole = json!({"start": {"line": 0, "character": 0}, "end": ends(&text)});
        for method in ["hover", "completion", "signatureHelp", "definition"] {
            client.ask(&format!("textDocument/{method}"), here.clone()).unwrap();
        }
        let with = |more: Value| {
            let mut params = here.clone();
            params.as_object_mut().unwrap().extend(more.as_object().unwrap().clone());
            params
        };
        client.ask("textDocument/references", with(json!({"context": {"includeDeclaration": true}}))).unwrap();
        let _ = client.ask("textDocument/prepareRename", here.clone());
        let _ = client.ask("textDocument/rename", with(json!({"newName": "another-name"})));
        for method in ["documentSymbol", "foldingRange", "semanticTokens/full", "codeLens"] {
            client.ask(&format!("textDocument/{method}"), json!({"textDocument": document})).unwrap();
        }
        let ranged = json!({"textDocument": document, "range": whole, "context": {"diagnostics": []}});
        client.ask("textDocument/codeAction", ranged.clone()).unwrap();
        client.ask("textDocument/inlayHint", ranged).unwrap();
        // Formatting is refused, or gives what the formatter itself gives for the text that the editor has: the server
        // has followed every change.
        let options = json!({"tabSize": 2, "insertSpaces": true});
        let answer = client.ask("textDocument/formatting", json!({"textDocument": document, "options": options})).unwrap();
        let source = wherefore::internals::source::Source::new("typed", &text);
        let wanted = wherefore::internals::syntax::format(&wherefore::internals::syntax::parse(&source), &source);
        let found = (!answer.is_null()).then(|| edited(&text, &answer));
        prop_assert_eq!(found, wanted);
    }
}

/// What the helper of these tests itself says of columns.
#[test]
fn columns_are_units_of_utf_16() {
    let text = "a𝄞b\nécd\n";
    assert_eq!(cut(text, &json!({"start": {"line": 0, "character": 1}, "end": {"line": 0, "character": 3}})), "𝄞");
    assert_eq!(cut(text, &json!({"start": {"line": 1, "character": 1}, "end": {"line": 1, "character": 2}})), "c");
}
