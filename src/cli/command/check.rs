//! `wherefore check`: errors and warnings of program files, and their worked cases. Ends with 2 where a file cannot be
//! used, 1 with a warning or a failed case, 0 when clean.

use super::date;
use crate::catalog::{BuiltIn, Catalog, Entry, Files};
use crate::cli::args::{Check, CheckFormat};
use crate::cli::progress::Progress;
use crate::cli::rules::Disk;
use crate::cli::{Exit, draw, print, threads};
use crate::desk::{self, Told};
use crate::diagnostic::{Diagnostic, Severity};
use crate::model::Date;
use crate::report::diagnostic::Message;
use crate::report::pages::{self, Page};
use crate::report::warning::Shares;
use crate::source::Source;
use crate::wording::wrap::wrapped;
use serde::Serialize;
use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

/// What was found, all files together.
#[derive(Default, Serialize)]
struct Summary {
    files: usize,
    errors: usize,
    warnings: usize,
    cases: usize,
    failed: usize,
}

impl Summary {
    fn add(&mut self, file: &Told) {
        let severe = |severity| file.messages.iter().filter(move |message| message.severity == severity);
        self.errors += severe(Severity::Error).count();
        self.warnings += severe(Severity::Warning).filter(|message| message.code != "case/fails").count();
        self.cases += file.cases;
        self.failed += file.failed;
    }
}

#[derive(Serialize)]
struct Form {
    format: &'static str,
    messages: Vec<Message>,
    /// What the worked cases of each program rest on.
    shares: BTreeMap<String, Shares>,
    unreadable: Vec<String>,
    summary: Summary,
}

pub(crate) fn run(args: &Check) -> Exit {
    let as_of = match args.as_of.as_deref().map(|text| date("--as-of", text)).transpose() {
        Ok(day) => day,
        Err(message) => {
            print::error(&message);
            return Exit::Unusable;
        }
    };
    let disks = Disk::named(&args.paths).and_then(|paths| Disk::of(&args.rules).map(|rules| (paths, rules)));
    let (paths, rules) = match disks {
        Ok(disks) => disks,
        Err(message) => {
            print::error(&message);
            return Exit::Unusable;
        }
    };
    let shelves: Vec<&dyn Files> = vec![&paths, &rules, &BuiltIn];
    let catalog = Catalog::new(shelves);
    let mut summary = Summary::default();
    let mut told = Vec::new();
    let mut unreadable = paths.twice();
    summary.errors += unreadable.len();
    let shelf = catalog.shelf(0);
    let progress = Progress::of("files checked", Some(shelf.len()));
    let files = threads::each(&shelf, |entry| {
        let told = tell_of(entry, as_of);
        progress.step();
        told
    });
    drop(progress);
    for file in files {
        summary.files += 1;
        match file {
            Ok(file) => {
                summary.add(&file);
                told.push(file);
            }
            Err(message) => {
                summary.errors += 1;
                unreadable.push(message);
            }
        }
    }
    let exit = match (summary.errors, summary.warnings + summary.failed) {
        (0, 0) => Exit::Good,
        (0, _) => Exit::Negative,
        (_, _) => Exit::Unusable,
    };
    match args.format {
        CheckFormat::Text => {
            for message in &unreadable {
                print::error(message);
            }
            if args.todo {
                let open = told.iter().map(desk::todo);
                print::data(&open.collect::<Vec<_>>().join("\n"));
                return exit;
            }
            let is_drawn = |message: &&Diagnostic| {
                args.verbose || message.severity == Severity::Error || message.code == "case/fails"
            };
            for it in &told {
                let drawn = it.messages.iter().filter(is_drawn).map(|message| draw::draw(message, &it.entry.source));
                print::data(&drawn.map(|text| text + "\n").collect::<String>());
            }
            let folded: String = told
                .iter()
                .map(|it| desk::folded(&it.entry.source, it.messages.iter().filter(|one| !is_drawn(one))))
                .collect();
            if !folded.is_empty() {
                print::data(&folded);
                print::data(
                    "\n`--verbose` shows each warning with its place, an example vehicle and what to do.\n`explain CODE` tells of a code.\n\n",
                );
            }
            if let [only] = told.as_slice()
                && let Some(words) = only.shares.words()
            {
                print::data(&(wrapped("", None, &format!("{}: {words}", only.entry.id)) + "\n"));
            }
            print::data(&summary_line(&summary));
        }
        CheckFormat::Json => {
            let messages = told.iter().flat_map(|it| it.messages.iter().map(|one| Message::of(one, &it.entry.source)));
            let messages = messages.collect();
            let shares =
                told.iter().filter(|it| it.shares.cases > 0).map(|it| (it.entry.id.clone(), it.shares.clone()));
            let shares = shares.collect();
            let form = Form { format: "wherefore-check/1", messages, shares, unreadable, summary };
            print::data(&(serde_json::to_string(&form).unwrap_or_default() + "\n"));
        }
        CheckFormat::Html | CheckFormat::Markdown => {
            for message in &unreadable {
                print::error(message);
            }
            return page(&told, &catalog, args.format).max(exit);
        }
    }
    exit
}

/// The files as documents; messages about one that has errors are drawn beside.
fn page(told: &[Told], catalog: &Catalog<'_>, format: CheckFormat) -> Exit {
    let adopted: Vec<Vec<(String, Source)>> = told.iter().map(|it| adopted(it, catalog)).collect();
    let mut pages = Vec::new();
    for (it, adopted) in told.iter().zip(&adopted) {
        match it.entry.program.as_deref().filter(|_| !it.entry.is_advice) {
            Some(program) => {
                let (source, messages) = (&it.entry.source, it.messages.as_slice());
                pages.push(Page { program, source, messages, shares: &it.shares, adopted });
            }
            None => it.messages.iter().for_each(|message| print::message(&draw::draw(message, &it.entry.source))),
        }
    }
    let drawn = match format {
        CheckFormat::Markdown => pages::markdown(&pages),
        _ => pages::program(&pages),
    };
    match drawn {
        Ok(page) => {
            print::data(&page);
            Exit::Good
        }
        Err(error) => {
            print::error(&format!("the page cannot be drawn: {error}"));
            Exit::Unusable
        }
    }
}

/// The files of the programs whose blocks a program holds besides its own.
fn adopted(told: &Told, catalog: &Catalog<'_>) -> Vec<(String, Source)> {
    let Some(program) = told.entry.program.as_deref() else { return Vec::new() };
    let others = program.blocks.iter().map(|block| &block.origin.program).filter(|id| **id != program.id);
    let others: BTreeSet<&String> = others.collect();
    others.into_iter().filter_map(|id| Some((id.clone(), catalog.find(id).ok()?.source.clone()))).collect()
}

fn tell_of(entry: &Result<Arc<Entry>, String>, as_of: Option<Date>) -> Result<Told, String> {
    entry.as_ref().map(|entry| desk::told(entry, as_of)).map_err(Clone::clone)
}

fn summary_line(summary: &Summary) -> String {
    let Summary { files, errors, warnings, cases, failed } = summary;
    let files = counted(*files, "file", "files");
    let errors = counted(*errors, "error", "errors");
    let warnings = counted(*warnings, "warning", "warnings");
    format!("{files}: {errors}, {warnings}; {}, {failed} failed\n", counted(*cases, "worked case", "worked cases"))
}

fn counted(number: usize, one: &str, many: &str) -> String {
    if number == 1 { format!("1 {one}") } else { format!("{number} {many}") }
}
