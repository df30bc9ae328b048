//! The only place that prints. Data goes to standard output, everything else to standard error. A reader that has gone
//! away (a closed pipe) is no fault: the rest is not printed. Any other failure to write is: the command ends with 2.
//!
//! What is printed may hold whatever a file held, its name included. Characters that move the cursor, change colours or
//! turn the direction of writing never reach a terminal: they are written out, as `\u001b` (in JSON the same text).

use std::borrow::Cow;
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

/// The text with every character that could steer a terminal written out. Line ends and tabs stay.
fn harmless(text: &str) -> Cow<'_, str> {
    if !text.chars().any(steers) {
        return Cow::Borrowed(text);
    }
    let mut out = String::with_capacity(text.len() + 16);
    for character in text.chars() {
        match character {
            character if steers(character) => out.push_str(&format!("\\u{:04x}", u32::from(character))),
            character => out.push(character),
        }
    }
    Cow::Owned(out)
}

/// Whether a character is a control character (C0, DEL, C1) or one that turns the direction of writing (Unicode
/// Standard Annex 9: marks, embeddings, overrides, isolates), or ends a line unseen.
fn steers(character: char) -> bool {
    match character {
        '\n' | '\t' => false,
        '\u{61C}' | '\u{200E}' | '\u{200F}' | '\u{2028}'..='\u{202E}' | '\u{2066}'..='\u{2069}' => true,
        character => character.is_control(),
    }
}

#[cfg(test)]
mod tests {
    use super::harmless;

    #[test]
    fn what_steers_a_terminal_is_written_out() {
        assert_eq!(harmless("a\tb\nc é ü 車 → …"), "a\tb\nc é ü 車 → …", "what does not stays");
        let steering = "\u{1b}[31m\u{7}\r\0\u{7f}\u{9b}2J\u{202e}x\u{2066}\u{200f}";
        let expected = r"\u001b[31m\u0007\u000d\u0000\u007f\u009b2J\u202ex\u2066\u200f";
        assert_eq!(harmless(steering), expected);
    }

    /// Written out in JSON, a character is the same text still (RFC 8259, section 7).
    #[test]
    fn json_stays_the_same_json() {
        let text = serde_json::to_string(&"\u{202e}\u{85}\u{1b}").unwrap_or_default();
        let read: Result<String, _> = serde_json::from_str(&harmless(&text));
        assert_eq!(read.ok().as_deref(), Some("\u{202e}\u{85}\u{1b}"));
    }
}
