//! `wherefore new`: a program file to fill in, beside the writer's others.

use crate::cli::args::New;
use crate::cli::{Exit, files, print};
use crate::desk;
use std::path::Path;

pub(crate) fn run(args: &New) -> Exit {
    let text = match desk::begin(&args.id) {
        Ok(text) => text,
        Err(error) => {
            print::error(&error.to_string());
            return Exit::Unusable;
        }
    };
    let name = format!("{}.{}", args.id, files::ENDING);
    // What somebody wrote is never replaced by an empty form.
    match files::write_new(Path::new(&name), &text, None) {
        Ok(()) => {
            print::data(&format!("{name}\n"));
            Exit::Good
        }
        Err(message) => {
            print::error(&message);
            Exit::Unusable
        }
    }
}
