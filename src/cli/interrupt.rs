//! What is kept where a person stops a command from the keyboard, or the system does: a text for a file.

use super::{beside, files, print};
use std::path::PathBuf;
use std::sync::{Mutex, Once, PoisonError};

/// A text to be written where the command is stopped.
#[derive(Debug, Clone)]
pub(super) struct Kept {
    pub(super) path: PathBuf,
    pub(super) text: String,
    /// Whether a file that is there is replaced.
    pub(super) force: bool,
}

static KEPT: Mutex<Option<Kept>> = Mutex::new(None);
static BEGUN: Once = Once::new();

/// Keeps a text in the place of the one before; `None`: nothing is to be kept any more.
pub(super) fn keep(text: Option<Kept>) {
    *KEPT.lock().unwrap_or_else(PoisonError::into_inner) = text;
    // Where the system gives no way to hear of it, stopping ends the process as ever.
    BEGUN.call_once(|| drop(ctrlc::set_handler(stopped)));
}

/// Lets a command that is stopped leave no file behind that is not complete.
pub(super) fn discard() {
    // Where the system gives no way to hear of it, stopping ends the process as ever.
    let _ = ctrlc::set_handler(|| {
        let _kept = beside::discard();
        print::error("stopped; no file was written");
        std::process::exit(2);
    });
}

fn stopped() {
    // The lock is held until the process ends, so that nothing is written twice.
    let kept = KEPT.lock().unwrap_or_else(PoisonError::into_inner);
    match &*kept {
        Some(Kept { path, text, force }) => match files::write_new(path, text, Some(*force)) {
            Ok(()) => print::message(&format!("\nStopped; the answers so far are in {}.", files::shown(path))),
            Err(fault) => print::error(&fault),
        },
        None => print::message("\nStopped; --out FILE keeps the answers."),
    }
    std::process::exit(2);
}
