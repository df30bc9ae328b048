//! The only place that prints. Data goes to standard output, everything else to standard error. A reader that has gone
//! away (a closed pipe) is no fault: the rest is not printed. Any other failure to write is: the command ends with 2.
//!
//! What is printed may hold whatever a file held, its name included. Characters that move the cursor, change colours or
//! turn the direction of writing never reach a terminal: they are written out, as `\u001b` (in JSON the same text).

use crate::report::brief::Emphasis;
use crate::report::harmless::harmless;
use crate::report::page;
use std::io::{self, IsTerminal, Write};
use std::sync::Mutex;
use std::sync::PoisonError;

/// What became of standard output.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Output {
    Open,
    /// The reader has gone away.
    Closed,
    /// It cannot be written; that was told.
    Broken,
}

static OUTPUT: Mutex<Output> = Mutex::new(Output::Open);

/// Prints data.
pub(super) fn data(text: &str) {
    put(&harmless(text));
}

/// Prints data in parts; on a terminal, and where `NO_COLOR` is not set, what is strong is bold and what is faint is dim
/// (ECMA-48, select graphic rendition 1, 2 and 0). No colour is used, and the text says the same without.
pub(super) fn parts(parts: &[(Emphasis, String)]) {
    let is_plain = !io::stdout().is_terminal() || std::env::var_os("NO_COLOR").is_some_and(|it| !it.is_empty());
    for (emphasis, text) in parts {
        let start = match emphasis {
            Emphasis::Strong if !is_plain => "\u{1b}[1m",
            Emphasis::Faint if !is_plain => "\u{1b}[2m",
            _ => {
                data(text);
                continue;
            }
        };
        put(&format!("{start}{}\u{1b}[0m\n", harmless(text.trim_end_matches('\n'))));
    }
}

/// Prints a text of eighty columns as a page; whether it could be drawn.
pub(super) fn page_of(title: &str, text: &str) -> bool {
    match page::of_text(title, text) {
        Ok(page) => data(&page),
        Err(fault) => {
            error(&format!("the page cannot be drawn: {fault}"));
            return false;
        }
    }
    true
}

/// Prints a text as it is, byte by byte, where a file or a program reads it; a terminal gets what [`data`] would print.
pub(super) fn exact(text: &str) {
    if io::stdout().is_terminal() { data(text) } else { put(text) }
}

fn put(text: &str) {
    let mut state = OUTPUT.lock().unwrap_or_else(PoisonError::into_inner);
    if *state != Output::Open {
        return;
    }
    let mut out = io::stdout().lock();
    let Err(error) = out.write_all(text.as_bytes()).and_then(|()| out.flush()) else {
        return;
    };
    if error.kind() == io::ErrorKind::BrokenPipe {
        *state = Output::Closed;
        return;
    }
    *state = Output::Broken;
    self::error(&format!("standard output cannot be written: {}", super::files::reason(&error)));
}

/// Whether something that was to be printed could not be written.
pub(super) fn has_failed() -> bool {
    *OUTPUT.lock().unwrap_or_else(PoisonError::into_inner) == Output::Broken
}

/// Whether another program reads standard output (a pipe).
pub(super) fn is_piped() -> bool {
    #[cfg(unix)]
    {
        use std::os::fd::AsFd;
        io::stdout().as_fd().try_clone_to_owned().is_ok_and(super::files::is_pipe)
    }
    #[cfg(not(unix))]
    false
}

/// Whether nobody reads standard output any more, or it cannot be written: more of it need not be made.
pub(super) fn is_over() -> bool {
    *OUTPUT.lock().unwrap_or_else(PoisonError::into_inner) != Output::Open
}

/// Prints a message for the person at the keyboard.
pub(super) fn message(text: &str) {
    let mut out = io::stderr().lock();
    let _ = out.write_all(harmless(text).as_bytes()).and_then(|()| out.write_all(b"\n"));
}

/// Prints what stands before an answer, without ending the line.
pub(super) fn prompt(text: &str) {
    let mut out = io::stderr().lock();
    let _ = out.write_all(harmless(text).as_bytes()).and_then(|()| out.flush());
}

/// Prints an error for the person at the keyboard.
pub(super) fn error(text: &str) {
    message(&format!("error: {text}"));
}
