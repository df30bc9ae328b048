//! `wherefore lsp`: the language server over standard input and output, until the editor says `exit`. What takes long runs
//! beside, in a thread of its own. Ends with 2 where the other side does not speak the protocol.

use crate::cli::args::Lsp;
use crate::cli::rules::Disk;
use crate::cli::{Exit, files, print};
use crate::lsp::{Job, Server, Study, capabilities, path_of};
use lsp_server::{Connection, Message};
use std::path::PathBuf;
use std::sync::mpsc::{Receiver, Sender, channel};
use std::thread;

/// What the server waits for.
enum Event {
    Message(Message),
    Studied(Study),
    Closed,
}

pub(crate) fn run(args: &Lsp) -> Exit {
    let (connection, threads) = Connection::stdio();
    let exit = match serve(&connection, &args.rules) {
        Ok(()) => Exit::Good,
        Err(message) => {
            print::error(&message);
            Exit::Unusable
        }
    };
    // The threads end with the connection; waiting for one that reads would wait for the editor.
    drop(connection);
    if exit == Exit::Good && threads.join().is_err() {
        return Exit::Unusable;
    }
    exit
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
