//! `wherefore audit`: files of many records, each judged by the law of its own test date, compared with the recorded
//! results and summed up. Ends with 2 where something could not be used, else 1 where records differ or are set aside, else
//! 0. A record that cannot be judged is set aside with its reason; the run goes on. Files that are written take their
//! places at the end, complete, or not at all.

pub(crate) mod args;
mod ids;
mod input;
mod invent;
mod lines;
mod out;
#[cfg(feature = "parquet")]
mod parquet;
#[cfg(not(feature = "parquet"))]
#[path = "no_parquet.rs"]
mod parquet;
mod request;
mod run;
mod source;
mod work;

use crate::audit::mapping::draft;
use crate::audit::{Counted, Example, Summary};
use crate::cli::args::RulingFormat;
use crate::cli::beside::{self, Beside};
use crate::cli::files;
use crate::cli::{Exit, interrupt, print};
use crate::report::audit as report;
use args::Audit;
use ids::Marks;
use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};
use out::Out;
use run::Sink;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::sync::atomic::{AtomicU64, Ordering};
use work::{Piece, Plan};

pub(crate) fn run(args: &Audit) -> Exit {
    let done = if args.invent.is_some() {
        invent::run(args)
    } else if args.draft_mapping {
        drafted(args)
    } else {
        audited(args)
    };
    done.unwrap_or_else(|messages| {
        for message in messages {
            print::error(&message);
        }
        Exit::Unusable
    })
}

fn one(message: String) -> Vec<String> {
    vec![message]
}

fn drafted(args: &Audit) -> Result<Exit, Vec<String>> {
    let (inputs, _) = input::inputs(&args.files)?;
    let Some(first) = inputs.first() else { return Err(one("give a file of records".to_owned())) };
    let (columns, delimiter) = source::sample(first).map_err(one)?;
    print::data(&draft(&columns, delimiter));
    Ok(Exit::Good)
}

/// The program files and tables that a run reads, or may read.
fn program_files(args: &Audit) -> Vec<PathBuf> {
    let against = args.against.as_ref().map(PathBuf::from).filter(|path| path.exists());
    let named = args.rules.iter().cloned().chain(against);
    let programs: Vec<PathBuf> = named.filter_map(|path| files::program_files(&path).ok()).flatten().collect();
    let tables = |path: &PathBuf| -> Vec<PathBuf> {
        files::tables_beside(path).into_iter().map(|table| path.with_file_name(table)).collect()
    };
    let tables: Vec<PathBuf> = programs.iter().flat_map(tables).collect();
    programs.into_iter().chain(tables).collect()
}

/// Nothing that is read is written over, by whatever path, and nothing is written twice.
fn apart(args: &Audit, read: &[PathBuf]) -> Result<(), Vec<String>> {
    let written = [("--out", &args.out), ("--set-aside", &args.set_aside)];
    let mut faults = Vec::new();
    for (name, path) in written.iter().filter_map(|(name, path)| Some((name, path.as_ref()?))) {
        if read.iter().any(|other| files::is_same(path, other)) {
            faults.push(format!("{name} {}: this file is read; give the name of another", files::shown(path)));
        }
    }
    if let [(_, Some(out)), (_, Some(aside))] = written
        && files::is_same(out, aside)
    {
        faults.push("--out and --set-aside name one file; give each its own".to_owned());
    }
    if faults.is_empty() { Ok(()) } else { Err(faults) }
}

/// Tells of files that an earlier run left beside those to be written.
fn told_left(args: &Audit) {
    for path in [&args.out, &args.set_aside].into_iter().flatten() {
        beside::left_beside(path).iter().for_each(|line| print::message(line));
    }
}

fn audited(args: &Audit) -> Result<Exit, Vec<String>> {
    let Some(path) = &args.mapping else {
        return Err(one(
            "what do the columns mean? give --mapping FILE; --draft-mapping prints a first draft of one".to_owned()
        ));
    };
    let mapping = request::mapping(path)?;
    if !mapping.gives_date() {
        return Err(one(format!(
            "{}: no column and no constant gives visit.date, and each record is judged by the law of its own test date; map \
             the column that holds it, or give a constant",
            files::shown(path)
        )));
    }
    let (inputs, given_twice) = input::inputs(&args.files)?;
    for file in &given_twice {
        print::message(&format!("{file}: is given more than once, and is read once"));
    }
    let mut read: Vec<PathBuf> = inputs.iter().map(|input| input.path.clone()).chain([path.clone()]).collect();
    read.extend(program_files(args));
    apart(args, &read)?;
    told_left(args);
    let programs = request::programs(args, Some(&mapping), !args.skip_questions)?;
    let names: Vec<String> = programs.iter().map(|it| it.id.clone()).collect();
    interrupt::discard();
    let asides = args.set_aside.as_deref().map(|path| Asides::create(path, args.force)).transpose().map_err(one)?;
    let out = match &args.out {
        Some(path) => {
            let form = out::form(path, args.out_format).map_err(one)?;
            Some(Out::create(path, form, args.force).map_err(one)?)
        }
        None => None,
    };
    let read = Arc::new(AtomicU64::new(0));
    let mut taker = Taker {
        inputs: inputs.iter().map(|input| files::shown(&input.path)).collect(),
        first: 1,
        file: 0,
        programs: names,
        out,
        asides,
        counted: Counted { given_twice, ..Counted::default() },
        lines: 0,
        marks: Marks::default(),
        bar: bar(inputs.iter().map(|input| input.size).sum()),
        read: Arc::clone(&read),
    };
    let plan = Plan { mapping, programs, each: args.out.is_some() };
    let threads = args
        .threads
        .map_or_else(|| std::thread::available_parallelism().map_or(1, std::num::NonZero::get), usize::from);
    let tallies = run::run(&plan, &inputs, threads, &read, &mut taker);
    taker.bar.finish_and_clear();
    let tallies = tallies.map_err(one)?;
    let Taker { out, asides, counted, programs, inputs, marks, .. } = taker;
    let counted = Counted { repeated: marks.repeated(threads, &inputs), ..counted };
    let summary = Summary::of(&plan.programs, &programs, &inputs, counted, &tallies, args.against.as_deref());
    summary.adds_up().map_err(one)?;
    let drawn = match args.format {
        RulingFormat::Text => report::text(&summary),
        RulingFormat::Json => report::json(&summary),
        RulingFormat::Html => crate::report::audit_page::page(&summary)
            .map_err(|error| one(format!("the page cannot be drawn: {error}")))?,
    };
    let written: Result<Vec<Beside>, String> =
        out.into_iter().map(Out::written).chain(asides.into_iter().map(Asides::written)).collect();
    written.and_then(beside::place).map_err(one)?;
    print::data(&drawn);
    let clean = summary.set_aside == 0 && summary.differing == 0 && summary.no_law == 0;
    Ok(if clean { Exit::Good } else { Exit::Negative })
}

/// A bar for a person at a terminal: bytes, rate, time left; nothing where standard error is no terminal.
pub(super) fn bar(size: Option<u64>) -> ProgressBar {
    let bar = ProgressBar::with_draw_target(size, ProgressDrawTarget::stderr_with_hz(4));
    let template = if size.is_some() {
        "{bytes} of {total_bytes}, {msg}, {bytes_per_sec}, {eta} left"
    } else {
        "{bytes}, {msg}, {bytes_per_sec}"
    };
    if let Ok(style) = ProgressStyle::with_template(template) {
        bar.set_style(style);
    }
    bar.set_message("0 records");
    bar
}

/// Takes pieces: numbers their records, writes what is asked for, keeps what the summary names.
struct Taker {
    inputs: Vec<String>,
    /// The number of the next record of the present file.
    first: u64,
    /// Lines of the present file's blocks before the next one.
    lines: u64,
    file: usize,
    marks: Marks,
    programs: Vec<String>,
    out: Option<Out>,
    asides: Option<Asides>,
    counted: Counted,
    bar: ProgressBar,
    read: Arc<AtomicU64>,
}

impl Sink for Taker {
    fn take(&mut self, piece: Piece) -> Result<(), String> {
        if piece.file != self.file {
            (self.file, self.first, self.lines) = (piece.file, 1, 0);
        }
        let first = self.first;
        let before = self.lines + piece.lines.as_ref().map_or(0, |lines| lines.before);
        self.lines += piece.lines.as_ref().map_or(0, |lines| lines.count);
        let line = |row: usize| piece.lines.as_ref().and_then(|lines| lines.line(row, before));
        let rows = u64::try_from(piece.rows).unwrap_or(0);
        self.first += rows;
        self.counted.read += rows;
        self.counted.set_aside += piece.done.set_aside;
        let file = self.inputs.get(piece.file).map_or("", String::as_str);
        for aside in &piece.done.aside {
            self.counted.reasons.entry(aside.reason_kind()).or_default().add(&aside.value);
        }
        if let Some(asides) = &mut self.asides {
            asides.write(&piece, file, first, &line)?;
        }
        if let Some(out) = &mut self.out {
            out.write(&piece, file, first, &self.programs)?;
        }
        for ((at, outcome), record) in piece.done.examples.iter().zip(&piece.named) {
            if self.counted.wants(&outcome.standing) {
                let row = first + u64::try_from(*at).unwrap_or(0);
                let (said, record) = (&outcome.said, record.clone());
                let (deciding, reasons) = (said.deciding.clone(), said.reasons.clone());
                let example = Example { file: file.to_owned(), row, line: line(*at), record, deciding, reasons };
                self.counted.name(&outcome.standing, example);
            }
        }
        self.marks.take(piece.file, first, &piece.marks);
        self.bar.set_position(self.read.load(Ordering::Relaxed));
        self.bar.set_message(format!("{} records", self.counted.read));
        Ok(())
    }
}

/// The side file: what could not be judged, with the reasons.
struct Asides {
    name: String,
    writer: csv::Writer<Beside>,
}

impl Asides {
    fn create(path: &Path, force: bool) -> Result<Asides, String> {
        let file = Beside::create(path, force)?;
        let mut asides = Asides { name: file.name(), writer: csv::Writer::from_writer(file) };
        asides.record(&["file", "row", "line", "column", "value", "reason"])?;
        Ok(asides)
    }

    fn record(&mut self, fields: &[&str]) -> Result<(), String> {
        let plain: Vec<_> = fields.iter().map(|field| out::plain(field)).collect();
        self.writer
            .write_record(plain.iter().map(|field| field.as_bytes()))
            .map_err(|error| format!("{}: cannot be written: {error}", self.name))
    }

    fn write(
        &mut self,
        piece: &Piece,
        file: &str,
        first: u64,
        line: &dyn Fn(usize) -> Option<u64>,
    ) -> Result<(), String> {
        for aside in &piece.done.aside {
            let row = (first + u64::try_from(aside.row).unwrap_or(0)).to_string();
            let line = line(aside.row).map_or_else(String::new, |line| line.to_string());
            self.record(&[file, &row, &line, &aside.column, &aside.value, &aside.reason])?;
        }
        Ok(())
    }

    fn written(self) -> Result<Beside, String> {
        let Asides { name, writer } = self;
        writer.into_inner().map_err(|error| format!("{name}: cannot be written: {}", error.error()))
    }
}
