//! `wherefore check`: errors and findings of program files, and their worked cases. Ends with 2 where a file cannot be
//! used, 1 with a finding or a failed case, 0 when clean.

use super::date;
use crate::catalog::cases::{self, CaseResult};
use crate::catalog::{BuiltIn, Catalog, Entry, Files};
use crate::check::lint;
use crate::cli::args::{Check, RulingFormat};
use crate::cli::rules::Disk;
use crate::cli::{Exit, draw, print, threads};
use crate::diagnostic::{Diagnostic, Severity};
use crate::model::Date;
use crate::program::Program;
use crate::report::diagnostic::Message;
use crate::report::finding::{self, Shares};
use crate::report::pages::{self, Page};
use crate::report::wrap::wrapped;
use crate::ruling::Ruling;
use serde::Serialize;
use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

/// What was found, all files together.
#[derive(Default, Serialize)]
struct Summary {
    files: usize,
    errors: usize,
    findings: usize,
    cases: usize,
    failed: usize,
}

impl Summary {
    fn add(&mut self, file: &Told) {
        let severe = |severity| file.messages.iter().filter(move |message| message.severity == severity);
        self.errors += severe(Severity::Error).count();
        self.findings += severe(Severity::Finding).filter(|message| message.code != "case/fails").count();
        self.cases += file.cases;
        self.failed += file.failed;
    }
}

/// The messages of one file, and how many worked cases it has and how many of them fail.
struct Told {
    entry: Arc<Entry>,
    cases: usize,
    failed: usize,
    messages: Vec<Diagnostic>,
    shares: Shares,
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
    for file in threads::each(&catalog.shelf(0), |entry| tell_of(entry, as_of)) {
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
    let exit = match (summary.errors, summary.findings + summary.failed) {
        (0, 0) => Exit::Good,
        (0, _) => Exit::Negative,
        (_, _) => Exit::Unusable,
    };
    match args.format {
        RulingFormat::Text => {
            for message in &unreadable {
                print::error(message);
            }
            let drawn =
                told.iter().flat_map(|it| it.messages.iter().map(|message| draw::draw(message, &it.entry.source)));
            print::data(&drawn.map(|text| text + "\n").collect::<String>());
            if let [only] = told.as_slice()
                && let Some(words) = only.shares.words()
            {
                print::data(&(wrapped("", None, &format!("{}: {words}", only.entry.id)) + "\n"));
            }
            print::data(&summary_line(&summary));
        }
        RulingFormat::Json => {
            let messages = told.iter().flat_map(|it| it.messages.iter().map(|one| Message::of(one, &it.entry.source)));
            let messages = messages.collect();
            let shares =
                told.iter().filter(|it| it.shares.cases > 0).map(|it| (it.entry.id.clone(), it.shares.clone()));
            let shares = shares.collect();
            let form = Form { format: "wherefore-check/1", messages, shares, unreadable, summary };
            print::data(&(serde_json::to_string(&form).unwrap_or_default() + "\n"));
        }
        RulingFormat::Html => {
            for message in &unreadable {
                print::error(message);
            }
            return page(&told).max(exit);
        }
    }
    exit
}

/// The files as pages; messages about one that has errors are drawn beside.
fn page(told: &[Told]) -> Exit {
    let mut pages = Vec::new();
    for it in told {
        match it.entry.program.as_deref().filter(|_| !it.entry.is_advice) {
            Some(program) => {
                pages.push(Page { program, source: &it.entry.source, messages: &it.messages, shares: &it.shares });
            }
            None => it.messages.iter().for_each(|message| print::message(&draw::draw(message, &it.entry.source))),
        }
    }
    match pages::program(&pages) {
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

fn tell_of(entry: &Result<Arc<Entry>, String>, as_of: Option<Date>) -> Result<Told, String> {
    entry.as_ref().map(|entry| tell(entry, as_of)).map_err(Clone::clone)
}

fn tell(entry: &Arc<Entry>, as_of: Option<Date>) -> Told {
    let mut told = Told {
        entry: Arc::clone(entry),
        cases: 0,
        failed: 0,
        messages: entry.diagnostics.clone(),
        shares: Shares::default(),
    };
    if let Some(program) = entry.program.as_deref().filter(|_| !entry.is_advice) {
        let results = cases::run(program);
        told.cases = results.len();
        for result in results.iter().filter(|result| !result.faults.is_empty()) {
            told.failed += 1;
            let message = format!("worked case \"{}\": {}", result.case.title, result.faults.join("; "));
            let help = "mend the clause or the case; the case's basis says what it follows from";
            told.messages.push(Diagnostic::finding("case/fails", result.case.span, message).help(help));
        }
        told.shares = shares_of(&results);
        told.messages.extend(findings(entry, program, as_of, &results, &told.shares));
        told.messages = lint::silence(program, std::mem::take(&mut told.messages), &["check", "analysis"]);
        once(&mut told.messages);
        told.messages.sort_by(|a, b| (&a.labels, a.code, &a.message).cmp(&(&b.labels, b.code, &b.message)));
        told.messages.dedup();
    }
    told
}

/// A topic on which nothing is said leaves a gap too; that is told once.
fn once(messages: &mut Vec<Diagnostic>) {
    let open: BTreeSet<String> =
        messages.iter().filter(|it| it.code == "check/topic-open").filter_map(|it| it.subject.clone()).collect();
    messages.retain(|it| it.code != "analysis/gap" || it.subject.as_ref().is_none_or(|topic| !open.contains(topic)));
}

/// What the lints, the worked cases and the exact analyses find.
fn findings(
    entry: &Entry,
    program: &Program,
    as_of: Option<Date>,
    results: &[CaseResult<'_>],
    shares: &Shares,
) -> Vec<Diagnostic> {
    let mut found = lint::lint(program, &entry.file);
    let rulings = results.iter().filter_map(|result| result.ruling.as_ref());
    let reached: BTreeSet<String> = rulings
        .flat_map(|ruling| ruling.grounds.iter().map(|ground| &ground.clause).chain(&ruling.deciding).cloned())
        .collect();
    found.extend(lint::unreached(program, &reached));
    found.extend(shares.diagnostics(program, &entry.file));
    match finding::analysed(program, as_of) {
        Ok(list) => found.extend(finding::diagnostics(program, &entry.file, &list)),
        Err(error) => found.push(finding::not_analysed(program, &entry.file, &error)),
    }
    found
}

/// What the worked cases rest on.
fn shares_of(results: &[CaseResult<'_>]) -> Shares {
    let mut shares = Shares::default();
    for ruling in results.iter().filter_map(|result| result.ruling.as_ref()) {
        let unread = ruling.trace.iter().flat_map(|line| &line.why).any(|why| why.ends_with("was not read"));
        let is_single = ruling.possible.len() == 1;
        shares.add(is_single, unread, &bases(ruling), !ruling.so_far_as_read.is_empty());
    }
    shares
}

/// The texts that a ruling rests on, the weakest last.
fn bases(ruling: &Ruling) -> Vec<(String, bool)> {
    let deciding = ruling
        .grounds
        .iter()
        .filter(|ground| ruling.deciding.contains(&ground.clause) || ruling.coverage.state == ground.clause);
    let mut bases: Vec<_> =
        deciding.map(|ground| ground.basis).chain(ruling.weak.iter().map(|weak| weak.basis)).collect();
    bases.sort_by_key(|basis| basis.rank());
    bases.iter().map(|basis| (basis.words(), basis.is_weak())).collect()
}

fn summary_line(summary: &Summary) -> String {
    let Summary { files, errors, findings, cases, failed } = summary;
    let files = counted(*files, "file", "files");
    let errors = counted(*errors, "error", "errors");
    let findings = counted(*findings, "finding", "findings");
    format!("{files}: {errors}, {findings}; {}, {failed} failed\n", counted(*cases, "worked case", "worked cases"))
}

fn counted(number: usize, one: &str, many: &str) -> String {
    if number == 1 { format!("1 {one}") } else { format!("{number} {many}") }
}
