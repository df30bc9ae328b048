//! `wherefore check`: errors and findings of program files, and their worked cases. Ends with 2 where a file cannot be
//! used, 1 with a finding or a failed case, 0 when clean.

use crate::catalog::{BuiltIn, Catalog, Entry, Files, cases};
use crate::cli::args::{Check, Format};
use crate::cli::rules::Disk;
use crate::cli::{Exit, draw, print};
use crate::diagnostic::{Diagnostic, Severity};
use crate::report::diagnostic::Message;
use serde::Serialize;
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

/// The messages of one file.
struct Told {
    entry: Arc<Entry>,
    messages: Vec<Diagnostic>,
}

#[derive(Serialize)]
struct Form {
    format: &'static str,
    messages: Vec<Message>,
    unreadable: Vec<String>,
    summary: Summary,
}

pub(in crate::cli) fn run(args: &Check) -> Exit {
    let disks = Disk::of(&args.paths).and_then(|paths| Disk::of(&args.rules).map(|rules| (paths, rules)));
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
    let mut unreadable = Vec::new();
    for entry in catalog.shelf(0) {
        summary.files += 1;
        match entry {
            Ok(entry) => told.push(tell(entry, &mut summary)),
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
        Format::Text => {
            for message in &unreadable {
                print::error(message);
            }
            let drawn =
                told.iter().flat_map(|it| it.messages.iter().map(|message| draw::draw(message, &it.entry.source)));
            print::data(&drawn.map(|text| text + "\n").collect::<String>());
            print::data(&summary_line(&summary));
        }
        Format::Json => {
            let messages = told.iter().flat_map(|it| it.messages.iter().map(|one| Message::of(one, &it.entry.source)));
            let messages = messages.collect();
            let form = Form { format: "wherefore-check/1", messages, unreadable, summary };
            print::data(&(serde_json::to_string(&form).unwrap_or_default() + "\n"));
        }
    }
    exit
}

fn tell(entry: Arc<Entry>, summary: &mut Summary) -> Told {
    let mut messages = entry.diagnostics.clone();
    if let Some(program) = entry.program.as_deref() {
        for result in cases::run(program) {
            summary.cases += 1;
            if result.faults.is_empty() {
                continue;
            }
            summary.failed += 1;
            let message = format!("worked case \"{}\": {}", result.case.title, result.faults.join("; "));
            let help = "mend the clause or the case; the case's basis says what it follows from";
            messages.push(Diagnostic::finding("case/fails", result.case.span, message).help(help));
        }
    }
    summary.errors += messages.iter().filter(|message| message.severity == Severity::Error).count();
    let findings =
        messages.iter().filter(|message| message.severity == Severity::Finding && message.code != "case/fails");
    summary.findings += findings.count();
    Told { entry, messages }
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
