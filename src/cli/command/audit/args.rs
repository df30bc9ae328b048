//! The arguments of `wherefore audit` as they are typed.

use crate::cli::args::RulingFormat;
use clap::{Args, ValueEnum};
use std::path::PathBuf;

/// Forms of files of records.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(crate) enum RecordFormat {
    /// Fields parted by commas, with a header.
    Csv,
    /// JSON objects, one a line.
    Jsonl,
    /// Columns.
    Parquet,
}

#[derive(Debug, Args)]
pub(crate) struct Audit {
    /// Files of records: CSV, JSON Lines (either also packed with gzip or Zstandard) or Parquet; patterns such as
    /// `2025-*.csv`; `-` is standard input.
    #[arg(value_name = "FILE", required_unless_present = "invent")]
    pub(crate) files: Vec<PathBuf>,
    /// Mapping file: what the columns mean.
    #[arg(long, value_name = "FILE")]
    pub(crate) mapping: Option<PathBuf>,
    /// Print a first draft of a mapping file for the first FILE, and do nothing else.
    #[arg(long, conflicts_with_all = ["mapping", "invent"])]
    pub(crate) draft_mapping: bool,
    /// Program to judge by; repeatable where a column says which.
    #[arg(long, value_name = "ID")]
    pub(crate) program: Vec<String>,
    /// Program file or folder, searched before the built-in programs.
    #[arg(long, value_name = "PATH")]
    pub(crate) rules: Option<PathBuf>,
    /// Law as it had been published by this date; each record is judged by the law of its own test date.
    #[arg(long, value_name = "DATE")]
    pub(crate) known_on: Option<String>,
    /// Reading of a question, or value of an option, to take (repeatable).
    #[arg(long, value_name = "NAME=VALUE")]
    pub(crate) take: Vec<String>,
    /// Another program, or a program file with a proposed amendment: count what would change.
    #[arg(long, value_name = "PROGRAM")]
    pub(crate) against: Option<String>,
    /// Do not count the records whose outcome depends on how an open question is read: it takes a second judgement of each.
    #[arg(long)]
    pub(crate) skip_questions: bool,
    /// Write the result of each record to a file. In CSV a text that a spreadsheet would take for a formula begins with an
    /// apostrophe.
    #[arg(long, value_name = "FILE")]
    pub(crate) out: Option<PathBuf>,
    /// Form of that file; by its ending where not given.
    #[arg(long, value_enum, value_name = "FORMAT")]
    pub(crate) out_format: Option<RecordFormat>,
    /// Write the records that cannot be judged to a CSV file, with the reasons.
    #[arg(long, value_name = "FILE")]
    pub(crate) set_aside: Option<PathBuf>,
    /// Replace the files of `--out` and `--set-aside` where they are there already.
    #[arg(long)]
    pub(crate) force: bool,
    /// Threads that read and judge; all the machine has where not given. The result is the same.
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u16).range(1..=1024))]
    pub(crate) threads: Option<u16>,
    /// Form of the summary.
    #[arg(long, value_enum, default_value = "text")]
    pub(crate) format: RulingFormat,
    /// Write so many invented records instead of judging any: to `--out`, or to standard output.
    #[arg(long, value_name = "N", conflicts_with_all = ["files", "mapping", "set_aside", "against"])]
    pub(crate) invent: Option<u64>,
    /// Which records are invented: the same seed, the same records.
    #[arg(long, value_name = "S", default_value_t = 1, requires = "invent")]
    pub(crate) seed: u64,
    /// Of ten thousand invented records whose result is certain, so many are given a wrong one.
    #[arg(long, value_name = "N", default_value_t = 100, requires = "invent", value_parser = clap::value_parser!(u32).range(0..=10_000))]
    pub(crate) planted: u32,
}
