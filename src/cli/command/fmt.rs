//! `wherefore fmt`: program files in canonical form, comments kept. Files with errors are left as they are. Ends with 2
//! where a file cannot be used, with `--check` 1 where one is not in canonical form, else 0.

use crate::catalog::Files;
use crate::cli::args::Fmt;
use crate::cli::rules::Disk;
use crate::cli::{Exit, draw, files, print};
use crate::desk;
use crate::source::Source;
use crate::syntax::{format, parse};
use std::path::{Path, PathBuf};

pub(crate) fn run(args: &Fmt) -> Exit {
    let mut exit = Exit::Good;
    for path in &args.files {
        let found = if path == Path::new("-") { Ok(vec![path.clone()]) } else { files::program_files(path) };
        let done = match found {
            Ok(found) => {
                // Of a folder the files that were changed are named; a file that is named needs no word.
                let is_folder = found.as_slice() != std::slice::from_ref(path);
                let disk = if args.upgrade { beside(path) } else { Disk::default() };
                found.iter().map(|path| one(path, args, &disk, is_folder)).max().unwrap_or(Exit::Good)
            }
            Err(message) => unusable(&message),
        };
        exit = exit.max(done);
    }
    exit
}

fn unusable(message: &str) -> Exit {
    print::error(message);
    Exit::Unusable
}

/// The files among which one finds what it adopts: those of its folder, of the folder that was named.
fn beside(path: &Path) -> Disk {
    let folder = match path.parent() {
        _ if path.is_dir() => path,
        Some(parent) if parent != Path::new("") => parent,
        _ => Path::new("."),
    };
    // Where the folder cannot be looked through there are the built-in programs.
    Disk::named([&folder.to_path_buf()]).unwrap_or_default()
}

fn one(path: &PathBuf, args: &Fmt, beside: &dyn Files, is_told: bool) -> Exit {
    let (only_list, upgraded) = (args.check, args.upgrade);
    let text = match files::read_text(path) {
        Ok(text) => text,
        Err(message) => return unusable(&message),
    };
    let name = files::shown(path);
    let mut source = Source::new(&name, &text);
    let mut parsed = parse(&source);
    if upgraded && let Some(newer) = desk::upgraded(&name, &text, beside) {
        source = Source::new(&name, &newer.text);
        parsed = parse(&source);
        for left in &newer.left {
            print::message(&draw::draw(left, &source));
        }
    }
    let Some(canonical) = format(&parsed, &source) else {
        for diagnostic in &parsed.diagnostics {
            print::message(&draw::draw(diagnostic, &source));
        }
        return unusable(&format!("{name}: has errors and is left as it is"));
    };
    let is_standard_input = path == Path::new("-");
    match (only_list, is_standard_input) {
        (true, _) if canonical == text => Exit::Good,
        (true, _) => {
            print::data(&format!("{name}\n"));
            Exit::Negative
        }
        (false, true) => {
            print::exact(&canonical);
            Exit::Good
        }
        (false, false) if canonical == text => Exit::Good,
        (false, false) => match files::write(path, &canonical) {
            Ok(()) => {
                if is_told {
                    print::data(&format!("{name}\n"));
                }
                Exit::Good
            }
            Err(message) => unusable(&message),
        },
    }
}
