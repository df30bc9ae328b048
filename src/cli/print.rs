//! The only place that prints. Data goes to standard output or to the file of `--out`, everything else to standard error. A reader that has gone
//! away (a closed pipe) is no fault: the rest is not printed. Any other failure to write is: the command ends with 2.
//!
//! What is printed may hold whatever a file held, its name included. Characters that move the cursor, change colours or
//! turn the direction of writing never reach a terminal: they are written out, as `\u001b` (in JSON the same text).

use super::beside::{self, Beside};
use super::interrupt;
use crate::report::brief::Emphasis;
use crate::report::harmless::harmless;
use crate::report::page;
use std::io::{self, IsTerminal, Write};
use std::path::Path;
use std::sync::{Mutex, MutexGuard, PoisonError};

/// What became of the output.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Output {
    Open,
    /// The reader has gone away.
    Closed,
    /// It cannot be written; that was told.
    Broken,
}

static OUTPUT: Mutex<Output> = Mutex::new(Output::Open);

/// The file that takes the data instead of standard output, and whether anything is in it.
static INSTEAD: Mutex<Option<(Beside, bool)>> = Mutex::new(None);

fn instead() -> MutexGuard<'static, Option<(Beside, bool)>> {
    INSTEAD.lock().unwrap_or_else(PoisonError::into_inner)
}

/// From here on data goes to a new file, which takes its place with [`placed`].
pub(super) fn into_file(path: &Path, force: bool) -> Result<(), String> {
    interrupt::discard();
    *instead() = Some((Beside::create(path, force)?, false));
    Ok(())
}

/// Puts the file that took the data, if any, in its place. Where there were no data, or they could not be written, there
/// is no file.
pub(super) fn placed() -> Result<(), String> {
    match instead().take() {
        Some((file, true)) => {
            let name = file.name();
            beside::place(vec![file])?;
            message(&format!("The results are in {name}."));
            Ok(())
        }
        _ => Ok(()),
    }
}

/// Whether data go to a terminal.
fn is_terminal() -> bool {
    instead().is_none() && io::stdout().is_terminal()
}

/// Prints data.
pub(super) fn data(text: &str) {
    put(&harmless(text));
}

/// Prints data in parts; on a terminal, and where `NO_COLOR` is not set, what is strong is bold and what is faint is dim
/// (ECMA-48, select graphic rendition 1, 2 and 0). No colour is used, and the text says the same without.
pub(super) fn parts(parts: &[(Emphasis, String)]) {
    let is_plain = !is_terminal() || std::env::var_os("NO_COLOR").is_some_and(|it| !it.is_empty());
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
    if is_terminal() { data(text) } else { put(text) }
}

fn put(text: &str) {
    let mut state = OUTPUT.lock().unwrap_or_else(PoisonError::into_inner);
    if *state != Output::Open {
        return;
    }
    let mut instead = instead();
    if let Some((file, is_filled)) = instead.as_mut() {
        *is_filled = true;
        if let Err(error) = file.write_all(text.as_bytes()) {
            *state = Output::Broken;
            self::error(&file.failed(&error));
            *instead = None;
        }
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

/// Writes a message to the program on the other side, as it is; whether it was taken.
#[cfg(feature = "lsp")]
pub(super) fn bytes(bytes: &[u8]) -> bool {
    let mut out = io::stdout().lock();
    out.write_all(bytes).and_then(|()| out.flush()).is_ok()
}

/// Whether something that was to be printed could not be written.
pub(super) fn has_failed() -> bool {
    *OUTPUT.lock().unwrap_or_else(PoisonError::into_inner) == Output::Broken
}

/// Whether another program reads standard output (a pipe).
pub(super) fn is_piped() -> bool {
    if instead().is_some() {
        return false;
    }
    #[cfg(unix)]
    {
        use std::os::fd::AsFd;
        io::stdout().as_fd().try_clone_to_owned().is_ok_and(super::files::is_pipe)
    }
    #[cfg(not(unix))]
    false
}

/// Whether the reader of standard output has gone, or it cannot be written: no more output is needed.
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
