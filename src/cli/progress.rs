//! Progress on a terminal for what may take more than two seconds. Nothing is shown where standard error is no terminal.

use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};
use std::time::Duration;

/// How often the time that has passed is drawn anew.
const TICK: Duration = Duration::from_millis(250);

/// A piece of work under way; it leaves no trace when it is dropped.
#[derive(Debug)]
pub(super) struct Progress(ProgressBar);

impl Progress {
    /// Work of so many steps; of a number that is not known where `None`.
    pub(super) fn of(what: &'static str, steps: Option<usize>) -> Progress {
        let length = steps.and_then(|steps| u64::try_from(steps).ok());
        let bar = ProgressBar::with_draw_target(length, ProgressDrawTarget::stderr_with_hz(4));
        let template = if length.is_some() { "{msg}: {pos} of {len}, {eta} left" } else { "{msg}: {elapsed}" };
        if let Ok(style) = ProgressStyle::with_template(template) {
            bar.set_style(style);
        }
        bar.set_message(what);
        if length.is_none() && !bar.is_hidden() {
            bar.enable_steady_tick(TICK);
        }
        Progress(bar)
    }

    /// One step is done.
    pub(super) fn step(&self) {
        self.0.inc(1);
    }
}

impl Drop for Progress {
    fn drop(&mut self) {
        self.0.finish_and_clear();
    }
}
