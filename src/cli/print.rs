//! The only place that prints. Data goes to standard output, everything else to standard error. A reader that has gone
//! away (a closed pipe) is no fault: the rest is not printed.

use std::io::{self, Write};

/// Prints data.
pub(super) fn data(text: &str) {
    let mut out = io::stdout().lock();
    // A closed pipe and a full disk are alike to us: nobody is left to tell.
    let _ = out.write_all(text.as_bytes()).and_then(|()| out.flush());
}

/// Prints a message for the person at the keyboard.
pub(super) fn message(text: &str) {
    let mut out = io::stderr().lock();
    let _ = out.write_all(text.as_bytes()).and_then(|()| out.write_all(b"\n"));
}

/// Prints what stands before an answer, without ending the line.
pub(super) fn prompt(text: &str) {
    let mut out = io::stderr().lock();
    let _ = out.write_all(text.as_bytes()).and_then(|()| out.flush());
}

/// Prints an error for the person at the keyboard.
pub(super) fn error(text: &str) {
    message(&format!("error: {text}"));
}
