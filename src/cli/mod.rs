//! The command-line program: the only part that touches files, the terminal and the arguments. Each command is a file of
//! `command`; what they decide is decided in the library. A command whose output could not be written ends with 2.

mod args;
#[cfg(feature = "audit")]
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

/// How a command ended, its output included.
fn ended(exit: Exit) -> Exit {
    if print::has_failed() { Exit::Unusable } else { exit }
}
