//! The arguments as they are typed. What they mean is worked out by the commands; nothing is read or opened here.

use clap::{Args, Parser, Subcommand, ValueEnum};
use std::path::PathBuf;

pub(super) use super::more::{
    CheckFormat, Completions, ExerciseLevel, Explain, Fmt, Man, New, Page, Recorded, Written, no_date_of_visit, pounds,
    some_text,
};

/// Vehicle inspection programs (their on-board-diagnostic part) as data: rulings with the reasons and the law.
///
/// A ruling is advice. The official inspection decides; local rules and licensed practice come first.
#[derive(Debug, Parser)]
#[command(name = "wherefore", version, max_term_width = 100, subcommand_required = true, arg_required_else_help = true)]
pub(super) struct Cli {
    #[command(subcommand)]
    pub(super) command: Command,
}

#[derive(Debug, Subcommand)]
pub(super) enum Command {
    /// List the programs.
    Programs(Programs),
    /// Rule on a snapshot under one or more programs.
    Judge(Box<Judge>),
    /// Make test vectors of a program, or a worksheet.
    Cases(Cases),
    /// Verify recorded rulings: judge them again and compare every field.
    Replay(Replay),
    /// The least that leads to a pass.
    Next(Box<Vehicle>),
    /// The questions that settle a ruling, put one by one; or the whole tree of them.
    Ask(Box<Ask>),
    /// Make a snapshot of diagnostic messages.
    Decode(Box<Decode>),
    /// Check program files: errors, warnings, worked cases.
    Check(Check),
    /// Compare two programs, or two versions of one: proof that they rule alike, or what differs.
    Compare(Compare),
    /// Judge files of many records, compare with the recorded results, and sum up.
    #[cfg(feature = "audit")]
    Audit(Box<super::command::audit::args::Audit>),
    /// Begin a program file, with comments on what to fill in.
    New(New),
    /// Bring program files into canonical form.
    Fmt(Fmt),
    /// Serve an editor: the Language Server Protocol over standard input and output.
    #[cfg(feature = "lsp")]
    Lsp(Lsp),
    /// Print the vocabulary of facts.
    Facts(Facts),
    /// Tell in plain words what a monitor, a topic or a fact is.
    Explain(Explain),
    /// Write the page for a browser: everything in one HTML file, with no network.
    Page(Page),
    /// Completions for a shell.
    Completions(Completions),
    /// Manual pages, one a command.
    Man(Man),
}

/// Text for people, or JSON.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(super) enum Format {
    /// For people, eighty columns.
    Text,
    /// For software.
    Json,
}

/// Text for people, JSON Lines, or a page.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(super) enum RulingFormat {
    /// For people, eighty columns.
    Text,
    /// For software: one document a line.
    Json,
    /// A page to print, with nothing from outside.
    Html,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(super) enum FactsFormat {
    /// For people, eighty columns.
    Text,
    /// For software.
    Json,
    /// The JSON Schema of a snapshot.
    Schema,
    /// The JSON Schema of a ruling.
    RulingSchema,
    /// The JSON Schema of what `next` answers.
    PlansSchema,
    /// The JSON Schema of a quiz of `cases --exercise`.
    QuizSchema,
}

#[derive(Debug, Args)]
pub(super) struct Programs {
    /// Program file or folder, listed before the built-in programs.
    #[arg(long, value_name = "PATH")]
    pub(super) rules: Option<PathBuf>,
    /// List the sources read before this day instead, those first on which the most parts rest.
    #[arg(long, value_name = "DATE")]
    pub(super) read_before: Option<String>,
    /// Form of the output.
    #[arg(long, value_enum, default_value = "text")]
    pub(super) format: RulingFormat,
    #[command(flatten)]
    pub(super) written: Written,
}

/// Where programs are looked for, and which law of theirs.
#[derive(Debug, Clone, Args)]
pub(super) struct Law {
    /// Program file or folder, searched before the built-in programs.
    #[arg(long, value_name = "PATH")]
    pub(super) rules: Option<PathBuf>,
    /// Date whose law applies; the date of the visit where not given. The date of the visit is the snapshot's.
    #[arg(long, value_name = "DATE")]
    pub(super) as_of: Option<String>,
    /// Only to say what it is called here: the date of a visit is the snapshot's.
    #[arg(long, value_name = "DATE", hide = true, value_parser = no_date_of_visit)]
    pub(super) date: Option<String>,
    /// Law as it had been published by this date.
    #[arg(long, value_name = "DATE")]
    pub(super) known_on: Option<String>,
    /// Reading of a question, or value of an option, to take (repeatable).
    #[arg(long, value_name = "NAME=VALUE")]
    pub(super) take: Vec<String>,
}

#[derive(Debug, Args)]
pub(super) struct Judge {
    /// Snapshot: a JSON document, or several, one a line; `-` is standard input.
    #[arg(value_name = "SNAPSHOT")]
    pub(super) snapshot: PathBuf,
    /// Program to judge by (repeatable): its id, a name (texas, pa), an area, or a program file; `all` for all.
    #[arg(long, value_name = "PROGRAM")]
    pub(super) program: Vec<String>,
    #[command(flatten)]
    pub(super) law: Law,
    /// Form of the output.
    #[arg(long, value_enum, default_value = "text")]
    pub(super) format: RulingFormat,
    /// Tell all: every reason, source, presumption and proviso, and the exact set of outcomes.
    #[arg(long)]
    pub(super) full: bool,
    /// Tell besides every clause, also those that are met or do not concern the vehicle.
    #[arg(long)]
    pub(super) trace: bool,
    /// Let the ruling carry a proof that `replay` checks (JSON only).
    #[arg(long)]
    pub(super) certificate: bool,
    /// The result that a station recorded: whether it follows from the facts, or what to ask there.
    #[arg(long, value_enum, value_name = "RESULT")]
    pub(super) recorded: Option<Recorded>,
    #[command(flatten)]
    pub(super) written: Written,
}

/// One vehicle and one program.
#[derive(Debug, Args)]
pub(super) struct Vehicle {
    /// Snapshot: a JSON document; `-` is standard input.
    #[arg(value_name = "SNAPSHOT")]
    pub(super) snapshot: PathBuf,
    /// Program to judge by: its id, a name (texas, pa), an area, or a program file.
    #[arg(long, value_name = "PROGRAM")]
    pub(super) program: Option<String>,
    #[command(flatten)]
    pub(super) law: Law,
    /// Class to lead to; a less grave one will do.
    #[arg(long, value_enum, default_value = "pass")]
    pub(super) class: Goal,
    /// The day of the visit: plan backwards from it, under the law of that day.
    #[arg(long, value_name = "DATE")]
    pub(super) by: Option<String>,
    /// Tell all: every proviso, what must hold before each step, every plan that is as quick, special care.
    #[arg(long)]
    pub(super) full: bool,
    /// Form of the output.
    #[arg(long, value_enum, default_value = "text")]
    pub(super) format: RulingFormat,
    #[command(flatten)]
    pub(super) written: Written,
}

/// What a plan may lead to. Worse outcomes are no goal.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(super) enum Goal {
    /// Passes.
    Pass,
    /// Passes for now, on conditions.
    Conditional,
    /// Goes to another test.
    OtherTest,
}

/// Text for people, JSON, or a picture.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(super) enum TreeFormat {
    /// For people, eighty columns.
    Text,
    /// For software.
    Json,
    /// A page to print, with nothing from outside: of the ruling at the end, or of the tree.
    Html,
    /// A picture of the tree to print, with nothing from outside.
    Svg,
}

#[derive(Debug, Args)]
pub(super) struct Ask {
    /// Snapshot with what is known already: a JSON document. Without it, everything is asked.
    #[arg(value_name = "SNAPSHOT")]
    pub(super) snapshot: Option<PathBuf>,
    /// Program to judge by: its id, a name (texas, pa), an area, or a program file.
    #[arg(long, value_name = "PROGRAM")]
    pub(super) program: Option<String>,
    #[command(flatten)]
    pub(super) law: Law,
    /// Print the whole tree of questions instead of asking.
    #[arg(long)]
    pub(super) tree: bool,
    /// Form of the ruling at the end, or of the tree; a picture is of the tree.
    #[arg(long, value_enum, default_value = "text")]
    pub(super) format: TreeFormat,
    /// Write the snapshot that the answers make to a new file, also where asking is stopped; with --tree, the tree.
    #[arg(long, value_name = "FILE")]
    pub(super) out: Option<PathBuf>,
    /// Let --out replace a file that is there.
    #[arg(long, requires = "out")]
    pub(super) force: bool,
}

impl Ask {
    /// Whether the tree is printed; a picture is of the tree.
    pub(super) fn is_tree(&self) -> bool {
        self.tree || self.format == TreeFormat::Svg
    }

    /// The same, as a ruling would be asked for.
    pub(super) fn as_judge(&self) -> Judge {
        Judge::of(self.snapshot.clone().unwrap_or_default(), &self.program, &self.law)
    }
}

impl Vehicle {
    /// The same, as a ruling would be asked for.
    pub(super) fn as_judge(&self) -> Judge {
        Judge::of(self.snapshot.clone(), &self.program, &self.law)
    }
}

impl Judge {
    fn of(snapshot: PathBuf, program: &Option<String>, law: &Law) -> Judge {
        Judge {
            snapshot,
            program: program.iter().cloned().collect(),
            law: law.clone(),
            format: RulingFormat::Text,
            trace: false,
            full: false,
            certificate: false,
            recorded: None,
            written: Written::default(),
        }
    }
}

#[derive(Debug, Args)]
pub(super) struct Cases {
    /// The same as --program.
    #[arg(value_name = "PROGRAM", required_unless_present_any = ["all", "program"], conflicts_with = "program")]
    pub(super) named: Option<String>,
    /// Program: its id, a name (texas, pa), an area, or a program file.
    #[arg(long, value_name = "PROGRAM")]
    pub(super) program: Option<String>,
    /// Vehicles of all built-in programs with the rulings expected of them, for other hosts and implementations: worked
    /// cases and vectors, or worked cases alone. Form `json` only.
    #[arg(long, value_enum, value_name = "WHICH", num_args = 0..=1, default_missing_value = "vectors",
          conflicts_with_all = ["named", "program", "rules", "as_of", "exercise"])]
    pub(super) all: Option<AllCases>,
    /// Program file or folder, searched before the built-in programs.
    #[arg(long, value_name = "PATH")]
    pub(super) rules: Option<PathBuf>,
    /// Date whose law applies; every epoch where not given (a worksheet needs one).
    #[arg(long, value_name = "DATE")]
    pub(super) as_of: Option<String>,
    /// Form of the output.
    #[arg(long, value_enum, default_value = "text")]
    pub(super) format: RulingFormat,
    /// The worked cases that the file lacks, as text to paste; what follows is for the writer to take from the law.
    #[arg(long, conflicts_with_all = ["as_of", "exercise", "format"])]
    pub(super) missing: bool,
    /// Of the missing cases so many, those that catch most slips first.
    #[arg(long, value_name = "N", requires = "missing", value_parser = clap::value_parser!(u64).range(1..))]
    pub(super) most: Option<u64>,
    /// A worksheet of so many vehicles with an answer key; with `--format json` a quiz.
    #[arg(long, value_name = "N")]
    pub(super) exercise: Option<usize>,
    /// Which vehicles the worksheet draws: the same seed, the same sheet.
    #[arg(long, value_name = "S", default_value_t = 1, requires = "exercise")]
    pub(super) seed: u64,
    /// What the worksheet is about; all levels where not given.
    #[arg(long, value_enum, value_name = "LEVEL", requires = "exercise")]
    pub(super) level: Option<ExerciseLevel>,
    #[command(flatten)]
    pub(super) written: Written,
}

/// Vehicles of `cases --all`.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(super) enum AllCases {
    /// Worked cases and vectors.
    Vectors,
    /// Worked cases alone.
    Worked,
}

#[derive(Debug, Args)]
pub(super) struct Replay {
    /// Rulings as `judge --format json` writes them, one a line; `-` is standard input.
    #[arg(value_name = "RECORD")]
    pub(super) record: PathBuf,
    /// Program file or folder, searched before the built-in programs.
    #[arg(long, value_name = "PATH")]
    pub(super) rules: Option<PathBuf>,
    /// Form of the output.
    #[arg(long, value_enum, default_value = "text")]
    pub(super) format: RulingFormat,
    #[command(flatten)]
    pub(super) written: Written,
}

#[derive(Debug, Args)]
pub(super) struct Decode {
    /// Messages: candump text, lines `ECU-id hex bytes`, CSV, ASC, TRC, pcap or pcapng; `-` is standard input.
    #[arg(value_name = "FILE")]
    pub(super) file: PathBuf,
    /// Model year, from the label or the papers.
    #[arg(long, value_name = "YEAR")]
    pub(super) model_year: Option<u16>,
    /// Fuel, a word of the vocabulary or a short form (gas).
    #[arg(long, value_name = "WORD")]
    pub(super) fuel: Option<String>,
    /// Class of the vehicle, a word of the vocabulary.
    #[arg(long, value_name = "WORD")]
    pub(super) class: Option<String>,
    /// Gross vehicle weight rating (GVWR) in pounds.
    #[arg(long, value_name = "LB", value_parser = pounds)]
    pub(super) weight_lb: Option<u32>,
    /// VIN as read on the vehicle.
    #[arg(long, value_name = "VIN", value_parser = some_text)]
    pub(super) vin: Option<String>,
    /// Date of the visit.
    #[arg(long, value_name = "DATE")]
    pub(super) date: Option<String>,
    /// Kind of visit.
    #[arg(long, value_name = "KIND", value_parser = ["initial", "retest"])]
    pub(super) visit: Option<String>,
    /// County or district.
    #[arg(long, value_name = "TEXT")]
    pub(super) area: Option<String>,
    /// Odometer in kilometres.
    #[arg(long, value_name = "KM")]
    pub(super) odometer_km: Option<u32>,
    /// The malfunction lamp (MIL) with the key on and the engine off (KOEO).
    #[arg(long, value_enum, value_name = "STATE")]
    pub(super) lamp_bulb: Option<Bulb>,
    /// The malfunction lamp (MIL) with the engine running.
    #[arg(long, value_enum, value_name = "STATE")]
    pub(super) lamp_running: Option<Running>,
    /// State of the diagnostic connector (DLC), a word of the vocabulary.
    #[arg(long, value_name = "WORD")]
    pub(super) connector: Option<String>,
    /// Whether the vehicle answers.
    #[arg(long, value_enum, value_name = "STATE")]
    pub(super) communication: Option<Answers>,
    #[command(flatten)]
    pub(super) written: Written,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(super) enum Bulb {
    /// It lit.
    #[value(alias = "ok")]
    Lit,
    /// It stayed dark.
    Dark,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(super) enum Running {
    /// It was lit.
    Lit,
    /// It was dark.
    Dark,
    /// It flashed.
    Flashing,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(super) enum Answers {
    /// It does.
    Yes,
    /// It does not.
    No,
    /// It speaks a protocol that the program's equipment does not know.
    UnsupportedProtocol,
}

#[derive(Debug, Args)]
pub(super) struct Check {
    /// Program files or folders of them.
    #[arg(value_name = "PATH", required = true)]
    pub(super) paths: Vec<PathBuf>,
    /// Program file or folder, searched before the built-in programs for what is adopted.
    #[arg(long, value_name = "PATH")]
    pub(super) rules: Option<PathBuf>,
    /// Only the exact analysis of this day; every epoch where not given.
    #[arg(long, value_name = "DATE")]
    pub(super) as_of: Option<String>,
    /// Draw every warning with its place, an example vehicle and what to do.
    #[arg(long)]
    pub(super) verbose: bool,
    /// What is still open in a file that is being written, in the order of the guide, and nothing else.
    #[arg(long)]
    pub(super) todo: bool,
    /// Form of the output.
    #[arg(long, value_enum, default_value = "text")]
    pub(super) format: CheckFormat,
    #[command(flatten)]
    pub(super) written: Written,
}

#[derive(Debug, Args)]
pub(super) struct Compare {
    /// The two programs, as with --program.
    #[arg(value_name = "PROGRAM", num_args = 2, required_unless_present = "program", conflicts_with = "program")]
    pub(super) named: Vec<String>,
    /// Program, given twice: its id, a name (texas, pa), an area, or a program file; with @DATE behind it the law of that day.
    #[arg(long, value_name = "PROGRAM")]
    pub(super) program: Vec<String>,
    /// Program file or folder, searched before the built-in programs.
    #[arg(long, value_name = "PATH")]
    pub(super) rules: Option<PathBuf>,
    /// Only the law of this day, for a visit on it; every epoch where neither this nor ID@DATE is given.
    #[arg(long, value_name = "DATE")]
    pub(super) as_of: Option<String>,
    /// Let drafts in the second program count as in force.
    #[arg(long)]
    pub(super) drafts: bool,
    /// Let what the second program keeps as `draft of CHANGE` count as in force, and no other draft.
    #[arg(long, value_name = "CHANGE", conflicts_with = "drafts")]
    pub(super) with: Option<String>,
    /// The two texts beside each other, with what differs in outcome; text or a page. The law of the day of `--as-of`, of
    /// ID@DATE, or of the last reading.
    #[arg(long, conflicts_with = "expect_only")]
    pub(super) side_by_side: bool,
    /// Changes that were meant, as `--format json` printed them; ends with 1 only if anything else changes.
    #[arg(long, value_name = "FILE")]
    pub(super) expect_only: Option<PathBuf>,
    /// Form of the output.
    #[arg(long, value_enum, default_value = "text")]
    pub(super) format: RulingFormat,
    #[command(flatten)]
    pub(super) written: Written,
}

#[derive(Debug, Args)]
pub(super) struct Facts {
    /// Form of the output.
    #[arg(long, value_enum, default_value = "text")]
    pub(super) format: FactsFormat,
    #[command(flatten)]
    pub(super) written: Written,
}

#[cfg(feature = "lsp")]
#[derive(Debug, Args)]
pub(super) struct Lsp {
    /// Program files or folders of them besides those of the editor's folders, for what a file adopts.
    #[arg(long, value_name = "PATH")]
    pub(super) rules: Vec<PathBuf>,
    /// Speak over standard input and output, as editors ask; there is no other way.
    #[arg(long)]
    pub(super) stdio: bool,
}
