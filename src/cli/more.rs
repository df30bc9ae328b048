//! More of the arguments as they are typed.

use super::args::RulingFormat;
use clap::{Args, ValueEnum};
use std::path::PathBuf;

/// A result as a station records it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(super) enum Recorded {
    /// Passed.
    Pass,
    /// Failed.
    Fail,
    /// Turned away, not tested.
    Reject,
    /// Passed for now, on conditions.
    Conditional,
    /// Sent to another test.
    OtherTest,
    /// No test was asked.
    NotSubject,
}

/// Where the results go.
#[derive(Debug, Clone, Default, Args)]
pub(super) struct Written {
    /// Write the results to a new file instead of standard output; whole, or not at all.
    #[arg(long, value_name = "FILE")]
    pub(super) out: Option<PathBuf>,
    /// Let --out replace a file that is there.
    #[arg(long, requires = "out")]
    pub(super) force: bool,
}

#[derive(Debug, Args)]
pub(super) struct Explain {
    /// Names of monitors, topics or facts, the trade's short forms, or codes of messages of `check`; without one, names are listed.
    #[arg(value_name = "NAME")]
    pub(super) names: Vec<String>,
    /// Form of the output.
    #[arg(long, value_enum, default_value = "text")]
    pub(super) format: RulingFormat,
    #[command(flatten)]
    pub(super) written: Written,
}

#[derive(Debug, Args)]
pub(super) struct Completions {
    /// The shell.
    #[arg(value_enum, value_name = "SHELL")]
    pub(super) shell: clap_complete::Shell,
    #[command(flatten)]
    pub(super) written: Written,
}

#[derive(Debug, Args)]
pub(super) struct Man {
    /// Folder to write the pages to.
    #[arg(long, value_name = "FOLDER")]
    pub(super) out: PathBuf,
    /// Replace pages that are there.
    #[arg(long)]
    pub(super) force: bool,
}

#[derive(Debug, Args)]
pub(super) struct Page {
    /// The HTML file to write.
    #[arg(long, value_name = "FILE")]
    pub(super) out: PathBuf,
    /// Let --out replace a file that is there.
    #[arg(long)]
    pub(super) force: bool,
}

#[derive(Debug, Args)]
pub(super) struct New {
    /// Id of the program, `us-tx`; the file is written beside the others, as `ID.wherefore`.
    #[arg(value_name = "ID")]
    pub(super) id: String,
}

#[derive(Debug, Args)]
pub(super) struct Fmt {
    /// Program files, or folders of them, whose changed files are named; `-` is standard input, to standard output.
    #[arg(value_name = "FILE", required = true)]
    pub(super) files: Vec<PathBuf>,
    /// Only list the files that are not in canonical form.
    #[arg(long)]
    pub(super) check: bool,
    /// Rewrite files of version 1 of the language in version 2, and long forms in short ones, as far as that is mechanical.
    #[arg(long)]
    pub(super) upgrade: bool,
}

/// What a worksheet is about.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(super) enum ExerciseLevel {
    /// One rule decides.
    OneRule,
    /// Limits and counts.
    Limits,
    /// Earlier visits, exemptions, excuses, rules that give way.
    History,
    /// Something that would decide is not known.
    Unknowns,
}

/// Forms of what `check` tells.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(super) enum CheckFormat {
    /// For people, eighty columns.
    Text,
    /// For software: one document.
    Json,
    /// Each program as a document to print and sign, with nothing from outside.
    Html,
    /// The same document in Markdown.
    Markdown,
}

/// Refuses a date where none is taken, and says where it belongs.
pub(super) fn no_date_of_visit(_: &str) -> Result<String, String> {
    Err("the date of the visit stands in the snapshot (`decode --date` and `ask` write it); --as-of is the date of the law, \
         `next --by` plans for another visit"
        .to_owned())
}

/// A weight: whole pounds.
pub(super) fn pounds(text: &str) -> Result<u32, String> {
    text.parse().map_err(|_| "give whole pounds in digits, such as 6200".to_owned())
}

/// A text that says something.
pub(super) fn some_text(text: &str) -> Result<String, String> {
    if text.trim().is_empty() {
        Err("is empty; leave the option out where it was not read".to_owned())
    } else {
        Ok(text.to_owned())
    }
}
