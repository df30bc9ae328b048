//! `wherefore audit`: files of many records, each judged by the law of its own test date, compared with the recorded
//! results and summed up. Ends with 2 where something could not be used, else 1 where records differ or are set aside, else
//! 0. A record that cannot be judged is set aside with its reason; the run goes on. Files that are written take their
//! places at the end, complete, or not at all.

pub(in crate::cli) mod args;
mod input;
mod invent;
mod json;
mod lines;
mod out;
mod parquet;
mod request;
mod run;
mod source;
mod split;
mod work;

use crate::audit::mapping::draft;
use crate::audit::{Counted, Example, Summary};
use crate::cli::args::RulingFormat;
use crate::cli::files::{self, Beside};
use crate::cli::{Exit, print};
use crate::report::audit as report;
use args::Audit;
use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};
use out::Out;
use run::Sink;
use std::path::Path;
use std::sync::Arc;
use std::sync::atomic::{AtomicU64, Ordering};
use work::{Piece, Plan};

/// The most examples of a kind of difference that the summary names.
const EXAMPLES: usize = 3;

pub(in crate::cli) fn run(args: &Audit) -> Exit {
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
    let inputs = input::inputs(&args.files)?;
    let Some(first) = inputs.first() else { return Err(one("give a file of records".to_owned())) };
    let (columns, delimiter) = source::sample(first).map_err(one)?;
    print::data(&draft(&columns, delimiter));
    Ok(Exit::Good)
}

/// Nothing that is read is written over, and nothing is written twice.
fn apart(args: &Audit, mapping: &Path, inputs: &[input::Input]) -> Result<(), Vec<String>> {
    let written = [("--out", &args.out), ("--set-aside", &args.set_aside)];
    let read = || inputs.iter().map(|input| input.path.as_path()).chain([mapping]);
    let mut faults = Vec::new();
    for (name, path) in written.iter().filter_map(|(name, path)| Some((name, path.as_ref()?))) {
        if read().any(|other| files::is_same(path, other)) {
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

/// Lets a person stop the run: what is not complete is removed, and the process ends, whatever it waits for.
fn may_be_stopped() {
    // Where there is no such signal the process just ends, and a file beside is left.
    let _ = ctrlc::set_handler(|| {
        let _kept = files::discard();
        print::error("stopped; no file was written");
        std::process::exit(2);
    });
}

fn audited(args: &Audit) -> Result<Exit, Vec<String>> {
    let Some(path) = &args.mapping else {
        return Err(one(
            "what do the columns mean? give --mapping FILE; --draft-mapping prints a first draft of one".to_owned()
        ));
    };
    let mapping = request::mapping(path)?;
    let inputs = input::inputs(&args.files)?;
    apart(args, path, &inputs)?;
    let programs = request::programs(args, Some(&mapping), !args.skip_questions)?;
    let names: Vec<String> = programs.iter().map(|it| it.id.clone()).collect();
    may_be_stopped();
    let asides = args.set_aside.as_deref().map(Asides::create).transpose().map_err(one)?;
    let out = match &args.out {
        Some(path) => Some(Out::create(path, out::form(path, args.out_format).map_err(one)?).map_err(one)?),
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
        counted: Counted::default(),
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
    let Taker { out, asides, counted, programs, inputs, .. } = taker;
    let finished = out.map_or(Ok(()), Out::finish).and_then(|()| asides.map_or(Ok(()), Asides::finish));
    finished.map_err(one)?;
    let summary = Summary::of(&plan.programs, &programs, &inputs, counted, &tallies, args.against.as_deref());
    match args.format {
        RulingFormat::Text => print::data(&report::text(&summary)),
        RulingFormat::Json => print::data(&report::json(&summary)),
        RulingFormat::Html => match report::page(&summary) {
            Ok(page) => print::data(&page),
            Err(error) => return Err(one(format!("the page cannot be drawn: {error}"))),
        },
    }
    let clean = summary.set_aside == 0 && summary.differing == 0;
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
    file: usize,
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
            (self.file, self.first) = (piece.file, 1);
        }
        let first = self.first;
        let rows = u64::try_from(piece.rows).unwrap_or(0);
        self.first += rows;
        self.counted.read += rows;
        self.counted.set_aside += piece.done.set_aside;
        let file = self.inputs.get(piece.file).map_or("", String::as_str);
        for aside in &piece.done.aside {
            *self.counted.reasons.entry(aside.reason_kind()).or_default() += 1;
        }
        if let Some(asides) = &mut self.asides {
            asides.write(&piece, file, first)?;
        }
        if let Some(out) = &mut self.out {
            out.write(&piece, file, first, &self.programs)?;
        }
        for ((at, outcome), record) in piece.done.examples.iter().zip(&piece.named) {
            let kind = self.counted.examples.entry((*outcome.standing).clone()).or_default();
            if kind.len() < EXAMPLES {
                let row = first + u64::try_from(*at).unwrap_or(0);
                let (record, deciding) = (record.clone(), outcome.said.deciding.clone());
                kind.push(Example { file: file.to_owned(), row, record, deciding });
            }
        }
        self.bar.set_position(self.read.load(Ordering::Relaxed));
        self.bar.set_message(format!("{} records", self.counted.read));
        Ok(())
    }
}

/// The side file: what could not be judged, with the reasons.
struct Asides {
    writer: csv::Writer<Beside>,
}

impl Asides {
    fn create(path: &Path) -> Result<Asides, String> {
        let mut writer = csv::Writer::from_writer(Beside::create(path)?);
        let header = ["file", "row", "column", "value", "reason"];
        writer.write_record(header).map_err(|error| error.to_string())?;
        Ok(Asides { writer })
    }

    fn write(&mut self, piece: &Piece, file: &str, first: u64) -> Result<(), String> {
        for aside in &piece.done.aside {
            let row = (first + u64::try_from(aside.row).unwrap_or(0)).to_string();
            let record = [file, &row, &aside.column, &aside.value, &aside.reason];
            self.writer.write_record(record).map_err(|error| error.to_string())?;
        }
        Ok(())
    }

    fn finish(self) -> Result<(), String> {
        self.writer.into_inner().map_err(|error| error.error().to_string())?.finish()
    }
}
