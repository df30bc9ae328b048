//! The program itself: framing, the handshake, a document on the disk, and how it ends.

use serde_json::{Value, json};
use std::io::{BufRead, BufReader, Read, Write};
use std::process::{Child, ChildStdin, ChildStdout, Command, Stdio};

struct Editor {
    child: Child,
    input: ChildStdin,
    output: BufReader<ChildStdout>,
}

impl Editor {
    fn new() -> Editor {
        let mut child = Command::new(env!("CARGO_BIN_EXE_wherefore"))
            .args(["lsp", "--stdio"])
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .stderr(Stdio::piped())
            .spawn()
            .unwrap();
        let (input, output) = (child.stdin.take().unwrap(), BufReader::new(child.stdout.take().unwrap()));
        Editor { child, input, output }
    }

    fn send(&mut self, message: Value) {
        let text = message.to_string();
        write!(self.input, "Content-Length: {}\r\n\r\n{text}", text.len()).unwrap();
        self.input.flush().unwrap();
    }

    /// The next message for which something holds; others are passed over.
    fn next(&mut self, wanted: impl Fn(&Value) -> bool) -> Value {
        loop {
            let mut length = 0;
            loop {
                let mut line = String::new();
                assert!(self.output.read_line(&mut line).unwrap() > 0, "the server ended");
                if line == "\r\n" {
                    break;
                }
                if let Some(number) = line.strip_prefix("Content-Length: ") {
                    length = number.trim().parse().unwrap();
                }
            }
            let mut text = vec![0; length];
            self.output.read_exact(&mut text).unwrap();
            let message: Value = serde_json::from_slice(&text).unwrap();
            if wanted(&message) {
                return message;
            }
        }
    }
}

#[test]
fn the_program_serves_an_editor_until_it_exits() {
    let folder = std::env::temp_dir().join(format!("wherefore lsp {}", std::process::id()));
    std::fs::create_dir_all(&folder).unwrap();
    let adopted = "program zz-base \"Base\"\n  authority \"A\"\n  language 2\n  standing draft\n";
    std::fs::write(folder.join("zz-base.wherefore"), adopted).unwrap();
    let root = format!("file://{}", folder.display()).replace(' ', "%20");
    let mut editor = Editor::new();
    let folders = json!([{"uri": root, "name": "here"}]);
    let params = json!({"processId": null, "rootUri": root, "workspaceFolders": folders, "capabilities": {}});
    editor.send(json!({"jsonrpc": "2.0", "id": 1, "method": "initialize", "params": params}));
    let answer = editor.next(|message| message["id"] == 1);
    assert_eq!(answer["result"]["capabilities"]["hoverProvider"], true);
    editor.send(json!({"jsonrpc": "2.0", "method": "initialized", "params": {}}));
    let uri = format!("{root}/zz-county.wherefore");
    let text = "program zz-county \"County\"\n  authority \"A\"\n  language 2\n  standing draft\n\nadopts zz-base as amended\nadopts zz-bse as amended\n";
    let document = json!({"uri": uri, "languageId": "wherefore", "version": 1, "text": text});
    editor.send(json!({"jsonrpc": "2.0", "method": "textDocument/didOpen", "params": {"textDocument": document}}));
    let told = editor.next(|message| message["method"] == "textDocument/publishDiagnostics");
    let messages: Vec<&str> =
        told["params"]["diagnostics"].as_array().unwrap().iter().map(|one| one["code"].as_str().unwrap()).collect();
    // The program beside it on the disk is found; one with errors is told of as such, one that is not there with its name.
    assert!(messages.contains(&"check/unknown-program"), "{told}");
    assert!(messages.contains(&"check/adopted-faulty"), "{told}");
    editor.send(json!({"jsonrpc": "2.0", "id": 2, "method": "shutdown"}));
    assert!(editor.next(|message| message["id"] == 2).get("error").is_none());
    editor.send(json!({"jsonrpc": "2.0", "method": "exit"}));
    assert!(editor.child.wait().unwrap().success());
    std::fs::remove_dir_all(&folder).unwrap();
}

#[test]
fn a_side_that_does_not_speak_the_protocol_is_refused() {
    let mut editor = Editor::new();
    editor.send(json!({"jsonrpc": "2.0", "id": 1, "method": "textDocument/hover", "params": {}}));
    drop(editor.input);
    assert_eq!(editor.child.wait().unwrap().code(), Some(2));
}
