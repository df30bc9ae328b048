//! `wherefore completions` and `wherefore man`: made from the arguments themselves by clap's own crates. End with 0, or with
//! 2 where a file cannot be written.

use crate::cli::args::{Completions, Man};
use crate::cli::{Exit, files, help, print};
use std::path::Path;

/// The name of the program.
const NAME: &str = "wherefore";

pub(crate) fn completions(args: &Completions) -> Exit {
    let mut text = Vec::new();
    clap_complete::generate(args.shell, &mut help::command(), NAME, &mut text);
    let text = String::from_utf8_lossy(&text);
    print::exact(&text);
    Exit::Good
}

/// The pages: the program's, and one a command.
fn pages() -> Result<Vec<(String, String)>, String> {
    let mut whole = help::command();
    whole.build();
    let mut pages = Vec::new();
    let page = |command: clap::Command, name: String| {
        let mut text = Vec::new();
        let man = clap_mangen::Man::new(command);
        man.render(&mut text).map_err(|error| error.to_string())?;
        Ok::<_, String>((format!("{name}.1"), String::from_utf8_lossy(&text).into_owned()))
    };
    let commands: Vec<clap::Command> =
        whole.get_subcommands().filter(|one| one.get_name() != "help").cloned().collect();
    pages.push(page(whole.clone(), NAME.to_owned())?);
    for command in commands {
        let name = format!("{NAME}-{}", command.get_name());
        pages.push(page(command, name)?);
    }
    Ok(pages)
}

pub(crate) fn man(args: &Man) -> Exit {
    match written(args) {
        Ok(many) => {
            print::message(&format!("{many} pages are in {}.", files::shown(&args.out)));
            Exit::Good
        }
        Err(fault) => {
            print::error(&fault);
            Exit::Unusable
        }
    }
}

fn written(args: &Man) -> Result<usize, String> {
    let folder: &Path = &args.out;
    if !folder.is_dir() {
        return Err(format!("{}: there is no such folder", files::shown(folder)));
    }
    let pages = pages()?;
    for (name, text) in &pages {
        files::write_new(&folder.join(name), text, Some(args.force))?;
    }
    Ok(pages.len())
}
