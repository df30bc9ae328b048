//! `wherefore lsp`: the language server over standard input and output, until the editor says `exit`. What takes long runs
//! beside, in a thread of its own. Ends with 2 where the other side does not speak the protocol.

use crate::cli::args::Lsp;
use crate::cli::rules::Disk;
use crate::cli::{Exit, files, print};
use crate::lsp::{Job, Server, Study, capabilities, path_of};
use lsp_server::{Connection, Message};
use std::io::{BufRead, Read};
use std::path::{Path, PathBuf};
use std::sync::mpsc::{Receiver, Sender, channel};
use std::thread;

/// What the server waits for.
enum Event {
    Message(Message),
    Studied(Study),
    Closed,
}

/// Longest message of an editor, in bytes: far above any that holds a file of the most bytes, each written as an escape.
const MAX_MESSAGE_BYTES: u64 = 16 << 20;
/// Longest head of one.
const MAX_HEAD_BYTES: u64 = 4 << 10;

pub(crate) fn run(args: &Lsp) -> Exit {
    let (connection, editor) = Connection::memory();
    let Connection { sender, receiver } = editor;
    // What came of reading is told before the server sees that nothing more comes.
    let (tell, ended) = channel();
    thread::spawn(move || {
        let came = read(|message| sender.send(message).is_ok());
        let _ = tell.send(came);
        drop(sender);
    });
    let writer = thread::spawn(move || receiver.into_iter().all(|message| written(&message)));
    let exit = match serve(&connection, &args.rules) {
        Ok(()) => Exit::Good,
        Err(message) => {
            print::error(&message);
            Exit::Unusable
        }
    };
    // The threads end with the connection; waiting for one that reads would wait for the editor.
    drop(connection);
    let is_written = writer.join().is_ok_and(|done| done);
    if exit != Exit::Good {
        let _ = ended.try_recv().map(told);
        return exit;
    }
    if ended.recv().is_ok_and(told) && is_written { exit } else { Exit::Unusable }
}

/// Whether reading came to a good end; what went wrong is told.
fn told(read: Result<(), String>) -> bool {
    match read {
        Ok(()) => true,
        Err(message) => {
            print::error(&message);
            false
        }
    }
}

/// Whether the editor took a message.
fn written(message: &Message) -> bool {
    let mut text = Vec::new();
    message.write(&mut text).is_ok() && print::bytes(&text)
}

/// Reads the editor's messages to the last one.
fn read(send: impl Fn(Message) -> bool) -> Result<(), String> {
    let mut input = files::stream(Path::new("-"))?;
    while let Some(text) = next_message(&mut *input)? {
        let message =
            Message::read(&mut text.as_slice()).map_err(|error| format!("a message of the editor: {error}"))?;
        let Some(message) = message else { return Ok(()) };
        let is_last = matches!(&message, Message::Notification(told) if told.method == "exit");
        if !send(message) || is_last {
            return Ok(());
        }
    }
    Ok(())
}

/// The next message with its head. The head is looked at first: it alone says how much is to be read, and a wrong one must
/// not take memory for what never comes.
fn next_message(input: &mut dyn BufRead) -> Result<Option<Vec<u8>>, String> {
    let fail = |error: std::io::Error| format!("the editor cannot be read: {error}");
    let mut text = Vec::new();
    let mut length = None;
    loop {
        let begins = text.len();
        let room = MAX_HEAD_BYTES.saturating_sub(u64::try_from(begins).unwrap_or(u64::MAX));
        let read = input.take(room).read_until(b'\n', &mut text).map_err(fail)?;
        if read == 0 && begins == 0 {
            return Ok(None);
        }
        let line = text.get(begins..).unwrap_or_default();
        let Some(line) = line.strip_suffix(b"\r\n") else {
            return Err("a message of the editor has no head as the protocol wants it".to_owned());
        };
        if line.is_empty() {
            break;
        }
        let words = String::from_utf8_lossy(line).to_ascii_lowercase();
        if let Some(number) = words.strip_prefix("content-length:") {
            length = number.trim().parse::<u64>().ok();
        }
    }
    let length = length.ok_or("a message of the editor does not say how long it is")?;
    if length > MAX_MESSAGE_BYTES {
        return Err(format!("a message of the editor has {length} bytes; {MAX_MESSAGE_BYTES} are the most"));
    }
    let read = input.take(length).read_to_end(&mut text).map_err(fail)?;
    if u64::try_from(read).ok() != Some(length) {
        return Err("a message of the editor is cut off".to_owned());
    }
    Ok(Some(text))
}

fn serve(connection: &Connection, rules: &[PathBuf]) -> Result<(), String> {
    let own = serde_json::to_value(capabilities()).map_err(|error| error.to_string())?;
    let asked = connection
        .initialize(own)
        .map_err(|error| format!("the editor did not begin as the protocol says: {error}"))?;
    let mut paths = folders(&asked);
    paths.extend(rules.iter().cloned());
    let mut server = Server::new(Box::new(disk(&paths)));
    let (events, next) = channel();
    let (jobs, waiting) = channel::<Job>();
    thread::scope(|scope| {
        let (messages, studies) = (events.clone(), events);
        scope.spawn(move || studied(&waiting, &studies));
        scope.spawn(move || forward(connection, &messages));
        let served = answer(connection, &mut server, &next, &jobs, &paths);
        // Without a sender the thread of the jobs ends.
        drop(jobs);
        drop(next);
        served
    })
}

fn answer(
    connection: &Connection,
    server: &mut Server,
    next: &Receiver<Event>,
    jobs: &Sender<Job>,
    paths: &[PathBuf],
) -> Result<(), String> {
    while let Ok(event) = next.recv() {
        let sent = match event {
            Event::Closed => return Ok(()),
            Event::Studied(study) => server.studied(study),
            Event::Message(Message::Request(request)) if request.method == "shutdown" => {
                vec![lsp_server::Response::new_ok(request.id, ()).into()]
            }
            Event::Message(Message::Notification(told)) if told.method == "exit" => return Ok(()),
            Event::Message(Message::Notification(told))
                if ["textDocument/didSave", "workspace/didChangeWatchedFiles"].contains(&told.method.as_str()) =>
            {
                let sent = server.on_disk(Box::new(disk(paths)));
                server.jobs().into_iter().for_each(|job| drop(jobs.send(job)));
                sent
            }
            Event::Message(message) => {
                let may_change =
                    matches!(&message, Message::Notification(told) if told.method.starts_with("textDocument/did"));
                let sent = server.handle(message);
                if may_change {
                    server.jobs().into_iter().for_each(|job| drop(jobs.send(job)));
                }
                sent
            }
        };
        for message in sent {
            connection.sender.send(message).map_err(|_| "the editor no longer listens".to_owned())?;
        }
    }
    Ok(())
}

/// Hands on the editor's messages.
fn forward(connection: &Connection, events: &Sender<Event>) {
    for message in &connection.receiver {
        let is_last = matches!(&message, Message::Notification(told) if told.method == "exit");
        if events.send(Event::Message(message)).is_err() || is_last {
            return;
        }
    }
    drop(events.send(Event::Closed));
}

/// Does jobs one after the other; of several about one document, the last alone.
fn studied(waiting: &Receiver<Job>, events: &Sender<Event>) {
    while let Ok(first) = waiting.recv() {
        let mut open = vec![first];
        while let Ok(more) = waiting.try_recv() {
            open.retain(|job| !more.replaces(job));
            open.push(more);
        }
        for job in open {
            if events.send(Event::Studied(job.run())).is_err() {
                return;
            }
        }
    }
}

/// The folders that the editor works in.
fn folders(asked: &serde_json::Value) -> Vec<PathBuf> {
    let several = asked.get("workspaceFolders").and_then(serde_json::Value::as_array).into_iter().flatten();
    let named: Vec<&str> = several.filter_map(|folder| folder.get("uri")?.as_str()).collect();
    let one = asked.get("rootUri").and_then(serde_json::Value::as_str);
    let all = if named.is_empty() { one.into_iter().collect() } else { named };
    all.into_iter().filter(|uri| uri.starts_with("file:")).map(|uri| PathBuf::from(path_of(uri))).collect()
}

/// The program files of folders; a folder that cannot be read has none.
fn disk(paths: &[PathBuf]) -> Disk {
    let readable: Vec<&PathBuf> =
        paths.iter().filter(|path| files::program_files(path).is_ok_and(|found| !found.is_empty())).collect();
    Disk::named(readable).unwrap_or_default()
}
