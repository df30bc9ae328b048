//! The command-line program: the only part that touches files, the terminal and the arguments. Each command is a file of
//! `command`; what they decide is decided in the library. A command whose output could not be written ends with 2.

mod args;
mod beside;
mod command;
mod draw;
mod files;
mod help;
mod interrupt;
mod more;
mod print;
mod progress;
mod rules;
mod threads;

use args::{Cli, Command};
use clap::FromArgMatches;
use std::ffi::OsString;
use std::path::Path;
use std::process::ExitCode;

/// How a command ended. What 1 and 3 mean is said by each command.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Exit {
    /// All well.
    Good,
    /// A negative answer: no pass, a finding, a difference.
    Negative,
    /// Facts are missing for an answer.
    Undecided,
    /// Something could not be used.
    Unusable,
}

impl From<Exit> for ExitCode {
    fn from(exit: Exit) -> ExitCode {
        ExitCode::from(match exit {
            Exit::Good => 0,
            Exit::Negative => 1,
            Exit::Unusable => 2,
            Exit::Undecided => 3,
        })
    }
}

/// Runs the program with its arguments, the first of which is its own name. `page`: the page for a browser, where the program
/// was built with it.
#[must_use]
pub fn run(arguments: impl IntoIterator<Item = OsString>, page: Option<&str>) -> ExitCode {
    let cli = match help::command().try_get_matches_from(arguments).and_then(|it| Cli::from_arg_matches(&it)) {
        Ok(cli) => cli,
        Err(error) => {
            let text = error.render().to_string();
            if error.use_stderr() {
                print::message(text.trim_end());
                return Exit::Unusable.into();
            }
            print::data(&text);
            return ended(Exit::Good).into();
        }
    };
    if let Err(fault) = written(&cli.command) {
        print::error(&fault);
        return Exit::Unusable.into();
    }
    let exit = match cli.command {
        Command::Programs(args) => command::programs::run(&args),
        Command::Judge(args) => command::judge::run(&args),
        Command::Cases(args) => command::cases::run(&args),
        Command::Replay(args) => command::replay::run(&args),
        Command::Next(args) => command::next::run(&args),
        Command::Ask(args) => command::ask::run(&args),
        Command::Decode(args) => command::decode::run(&args),
        Command::Check(args) => command::check::run(&args),
        Command::Compare(args) => command::compare::run(&args),
        #[cfg(feature = "audit")]
        Command::Audit(args) => command::audit::run(&args),
        Command::New(args) => command::new::run(&args),
        Command::Fmt(args) => command::fmt::run(&args),
        #[cfg(feature = "lsp")]
        Command::Lsp(args) => command::lsp::run(&args),
        Command::Facts(args) => command::facts::run(&args),
        Command::Explain(args) => command::explain::run(&args),
        Command::Page(args) => command::page::run(&args, page),
        Command::Completions(args) => command::shell::completions(&args),
        Command::Man(args) => command::shell::man(&args),
    };
    ended(exit).into()
}

/// Lets the results of a command go to the file of its `--out`, which is none of the files that it reads.
fn written(command: &Command) -> Result<(), String> {
    let is_other = |path: &Path, out: &Path| match files::is_same(path, out) {
        true => Err(format!("{}: is read by this command; give --out the name of another file", files::shown(path))),
        false => Ok(()),
    };
    let (written, read): (_, &[&Path]) = match command {
        Command::Ask(args) if args.is_tree() => {
            let Some(out) = &args.out else { return Ok(()) };
            args.snapshot.as_deref().map_or(Ok(()), |path| is_other(path, out))?;
            return print::into_file(out, args.force);
        }
        Command::Programs(args) => (&args.written, &[]),
        Command::Judge(args) => (&args.written, &[&args.snapshot]),
        Command::Next(args) => (&args.written, &[&args.snapshot]),
        Command::Cases(args) => (&args.written, &[]),
        Command::Replay(args) => (&args.written, &[&args.record]),
        Command::Decode(args) => (&args.written, &[&args.file]),
        Command::Check(args) => (&args.written, &args.paths.iter().map(AsRef::as_ref).collect::<Vec<_>>()),
        Command::Compare(args) => (&args.written, &[]),
        Command::Facts(args) => (&args.written, &[]),
        Command::Explain(args) => (&args.written, &[]),
        Command::Completions(args) => (&args.written, &[]),
        _ => return Ok(()),
    };
    let Some(out) = &written.out else { return Ok(()) };
    read.iter().try_for_each(|path| is_other(path, out))?;
    print::into_file(out, written.force)
}

/// How a command ended, its output included.
fn ended(exit: Exit) -> Exit {
    if let Err(fault) = print::placed() {
        print::error(&fault);
        return Exit::Unusable;
    }
    if print::has_failed() { Exit::Unusable } else { exit }
}
