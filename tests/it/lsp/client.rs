//! A client of the server in the same process: messages as JSON, so that the protocol itself is what is tested.

use lsp_server::{Message, Notification, Request, Response};
use serde_json::{Value, json};
use std::collections::BTreeMap;
use wherefore::internals::catalog::Files;
use wherefore::internals::lsp::Server;

/// Files of a disk that is none.
#[derive(Clone, Default)]
pub struct Texts(pub BTreeMap<String, String>);

impl Files for Texts {
    fn names(&self) -> Vec<String> {
        self.0.keys().cloned().collect()
    }

    fn text(&self, name: &str) -> Result<String, String> {
        self.0.get(name).cloned().ok_or_else(|| format!("{name}: there is no such file"))
    }

    fn beside(&self, _name: &str, _table: &str) -> Option<String> {
        None
    }

    fn tables(&self, _name: &str) -> Vec<String> {
        Vec::new()
    }
}

pub struct Client {
    pub server: Server,
    last: i32,
    /// Messages about each document, the newest alone.
    pub diagnostics: BTreeMap<String, Vec<Value>>,
}

impl Client {
    pub fn new(disk: Texts) -> Client {
        Client { server: Server::new(Box::new(disk)), last: 0, diagnostics: BTreeMap::new() }
    }

    pub fn ask(&mut self, method: &str, params: Value) -> Result<Value, String> {
        self.last += 1;
        let id = lsp_server::RequestId::from(self.last);
        let sent = self.server.handle(Request::new(id.clone(), method.to_owned(), params).into());
        let mut answer = None;
        for message in sent {
            match message {
                Message::Response(response) => {
                    assert!(answer.is_none(), "{method}: two answers");
                    assert_eq!(response.id, id);
                    answer = Some(read(&response));
                }
                other => self.take(other),
            }
        }
        answer.expect("every request is answered")
    }

    pub fn tell(&mut self, method: &str, params: Value) {
        for message in self.server.handle(Notification::new(method.to_owned(), params).into()) {
            self.take(message);
        }
    }

    fn take(&mut self, message: Message) {
        let Message::Notification(told) = message else { panic!("the server asks nothing: {message:?}") };
        if told.method == "textDocument/publishDiagnostics" {
            let uri = told.params["uri"].as_str().unwrap().to_owned();
            self.diagnostics.insert(uri, told.params["diagnostics"].as_array().unwrap().clone());
        }
    }

    pub fn open(&mut self, uri: &str, text: &str) {
        let document = json!({"uri": uri, "languageId": "wherefore", "version": 1, "text": text});
        self.tell("textDocument/didOpen", json!({"textDocument": document}));
    }

    /// Replaces the text of a range.
    pub fn change(&mut self, uri: &str, version: i32, range: Value, text: &str) {
        let params = json!({
            "textDocument": {"uri": uri, "version": version},
            "contentChanges": [{"range": range, "text": text}],
        });
        self.tell("textDocument/didChange", params);
    }

    /// Does what takes longer.
    pub fn study(&mut self) {
        for job in self.server.jobs() {
            for message in self.server.studied(job.run()) {
                self.take(message);
            }
        }
    }

    pub fn codes(&self, uri: &str) -> Vec<String> {
        self.diagnostics[uri].iter().map(|one| one["code"].as_str().unwrap().to_owned()).collect()
    }
}

/// The result of a response, or the words of its error; as JSON, for that is what goes over the wire.
fn read(response: &Response) -> Result<Value, String> {
    let value = serde_json::to_value(response).unwrap();
    match value.get("error") {
        Some(error) => Err(error["message"].as_str().unwrap().to_owned()),
        None => Ok(value["result"].clone()),
    }
}

/// The place of the first occurrence of words in a text, so many characters into them; columns in UTF-16.
pub fn at(text: &str, words: &str, into: usize) -> Value {
    let byte = text.find(words).unwrap_or_else(|| panic!("{words}")) + into;
    let line = text[..byte].matches('\n').count();
    let start = text[..byte].rfind('\n').map_or(0, |at| at + 1);
    json!({"line": line, "character": text[start..byte].encode_utf16().count()})
}

/// The text of a range, by the protocol's own rules, written apart from the server's.
pub fn cut(text: &str, range: &Value) -> String {
    let byte = |place: &Value| {
        let line = text.split('\n').nth(place["line"].as_u64().unwrap() as usize).unwrap_or("");
        let before: usize =
            text.split('\n').take(place["line"].as_u64().unwrap() as usize).map(|line| line.len() + 1).sum();
        let units: Vec<u16> = line.encode_utf16().take(place["character"].as_u64().unwrap() as usize).collect();
        before + String::from_utf16(&units).unwrap().len()
    };
    text.get(byte(&range["start"])..byte(&range["end"]).min(text.len())).unwrap_or("").to_owned()
}

/// A text with edits, applied from the last to the first.
pub fn edited(text: &str, edits: &Value) -> String {
    let mut edits = edits.as_array().unwrap().clone();
    edits.sort_by_key(|edit| {
        let start = &edit["range"]["start"];
        (start["line"].as_u64(), start["character"].as_u64())
    });
    let mut text = text.to_owned();
    for edit in edits.iter().rev() {
        let before = cut(&text, &json!({"start": {"line": 0, "character": 0}, "end": edit["range"]["start"]}));
        let old = cut(&text, &edit["range"]);
        text.replace_range(before.len()..before.len() + old.len(), edit["newText"].as_str().unwrap());
    }
    text
}
