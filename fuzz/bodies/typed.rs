//! A file that is typed and cut at random in an editor: after each change of the text messages come, and every question about
//! any place, within the text or behind its end, is answered once. Four bytes a keystroke: where (two), how many characters go,
//! what comes.

use lsp_server::{Message, Notification, Request};
use serde_json::{Value, json};
use wherefore::internals::catalog::Files;
use wherefore::internals::lsp::Server;

const URI: &str = "file:///typed/us-typed.wherefore";
const START: &str = include_str!("../../examples/exact/heath.wherefore");
/// What is typed besides single letters.
const PIECES: [&str; 16] = [
    "\n",
    "  ",
    "\"",
    "#",
    "- ",
    ": ",
    "clause x on lamp\n",
    "  fail where ",
    "lamp commanded on",
    "over the limit",
    " per ",
    "𝄞",
    "é\r\n",
    "case \"",
    "adopts us-model as amended\n",
    "not all of\n",
];

struct Nothing;

impl Files for Nothing {
    fn names(&self) -> Vec<String> {
        Vec::new()
    }
    fn text(&self, name: &str) -> Result<String, String> {
        Err(name.to_owned())
    }
    fn beside(&self, _: &str, _: &str) -> Option<String> {
        None
    }
    fn tables(&self, _: &str) -> Vec<String> {
        Vec::new()
    }
}

fn ask(server: &mut Server, id: i32, method: &str, params: Value) {
    let sent = server.handle(Request::new(id.into(), method.to_owned(), params).into());
    let answers = sent.iter().filter(|one| matches!(one, Message::Response(_))).count();
    assert_eq!(answers, 1, "{method}");
}

/// Types one input.
pub fn one(data: &[u8]) {
    let mut server = Server::new(Box::new(Nothing));
    let document = json!({"uri": URI, "languageId": "wherefore", "version": 1, "text": START});
    let open = json!({"textDocument": document});
    server.handle(Notification::new("textDocument/didOpen".to_owned(), open).into());
    for (at, key) in data.chunks_exact(4).take(48).enumerate() {
        let (line, column, gone, what) = (key[0] % 64, key[1] % 96, key[2] % 24, key[3]);
        let letter = char::from(what % 128).to_string();
        let text = if what >= 128 { PIECES[usize::from(what) % PIECES.len()] } else { letter.as_str() };
        let start = json!({"line": line, "character": column});
        let end = json!({"line": line + gone / 16, "character": column + gone % 16});
        let version = at + 2;
        let change = json!({
            "textDocument": {"uri": URI, "version": version},
            "contentChanges": [{"range": {"start": start, "end": end}, "text": text}],
        });
        let told = server.handle(Notification::new("textDocument/didChange".to_owned(), change).into());
        assert!(!told.is_empty(), "messages follow a change");
        let here = json!({"textDocument": {"uri": URI}, "position": start});
        let id = i32::try_from(at).unwrap_or(0) * 8;
        for (step, method) in ["hover", "completion", "signatureHelp", "definition"].into_iter().enumerate() {
            ask(&mut server, id + i32::try_from(step).unwrap_or(0), &format!("textDocument/{method}"), here.clone());
        }
    }
    for (step, method) in ["documentSymbol", "foldingRange", "semanticTokens/full", "codeLens"].into_iter().enumerate()
    {
        let id = 10_000 + i32::try_from(step).unwrap_or(0);
        ask(&mut server, id, &format!("textDocument/{method}"), json!({"textDocument": {"uri": URI}}));
    }
}
