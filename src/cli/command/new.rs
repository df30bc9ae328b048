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
    // What somebody wrote is never replaced by an empty form, so there is no option for it.
    if Path::new(&name).exists() {
        print::error(&format!("{name}: is there already; give another id, or move that file away first"));
        return Exit::Unusable;
    }
    match files::write_new(Path::new(&name), &text, false) {
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
