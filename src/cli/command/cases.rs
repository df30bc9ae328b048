//! `wherefore cases`: vectors for other implementations, or a worksheet for trainees. Ends with 2 where the program
//! cannot be used or analysed, 1 where a change goes uncaught or the two engines disagree, else 0.

use super::date;
use super::judge::usable;
use crate::catalog::{BuiltIn, Catalog, Files};
use crate::cli::args::{Cases, Format};
use crate::cli::rules::Disk;
use crate::cli::{Exit, files, print};
use crate::diagram::cases::vectors;
use crate::diagram::compare;
use crate::document;
use crate::model::{Date, Fact, Value};
use crate::program::{Epoch, Flat, Program, Selection, epochs, select};
use crate::report::vectors::{self as report, Sheet};
use crate::ruling::vectors::score;
use serde_json::json;
use std::path::{Path, PathBuf};

pub(in crate::cli) fn run(args: &Cases) -> Exit {
    match made(args) {
        Ok(exit) => exit,
        Err(message) => {
            print::error(&message);
            Exit::Unusable
        }
    }
}

fn made(args: &Cases) -> Result<Exit, String> {
    let is_file = args.program.ends_with(&format!(".{}", files::ENDING));
    let file: Vec<PathBuf> = is_file.then(|| Path::new(&args.program).to_owned()).into_iter().collect();
    let disk = Disk::of(file.iter().chain(&args.rules))?;
    let shelf: &dyn Files = &disk;
    let catalog = Catalog::new(vec![shelf, &BuiltIn]);
    let id = match catalog.shelf(0).first() {
        Some(Ok(entry)) if is_file => entry.id.clone(),
        Some(Err(message)) if is_file => return Err(message.clone()),
        _ => args.program.clone(),
    };
    let asked = usable(&id, &catalog)?;
    let program = &*asked.program;
    let mut runs = epochs(program);
    if let Some(text) = &args.as_of {
        let date = date("--as-of", text)?;
        runs.retain(|epoch| epoch.from <= date && date <= epoch.through);
        runs.iter_mut().for_each(|epoch| epoch.from = epoch.from.max(date));
        if runs.is_empty() {
            return Err(format!("program `{id}` is not in force on {date}"));
        }
    } else if args.exercise.is_some() {
        return Err("a worksheet asks about the law of one date: give --as-of DATE".to_owned());
    }
    let mut flats: Vec<(Epoch, Flat)> = Vec::new();
    for epoch in runs {
        flats.push((epoch, select(program, &Selection::on(epoch.from)).map_err(|error| error.to_string())?));
    }
    let mut exit = Exit::Good;
    for (epoch, flat) in flats.iter().filter(|(_, flat)| flat.in_force) {
        let set = vectors(flat).map_err(|error| format!("{id} from {}: {error}", epoch.from))?;
        let score = score(flat, &set).map_err(|error| format!("{id} from {}: {error}", epoch.from))?;
        let sheet = Sheet { dates: (epoch.from, epoch.through), flat, set: &set, score: &score };
        if !score.missed.is_empty() || !score.disputed.is_empty() {
            print::error(&format!(
                "{id} from {}: {} missed, {} disputed",
                epoch.from,
                score.missed.len(),
                score.disputed.len()
            ));
            exit = Exit::Negative;
        }
        match (args.exercise, args.format) {
            (Some(many), _) => print::data(&report::worksheet(&sheet, program, many, args.seed)),
            (None, Format::Json) => print::data(&format!("{}\n", report::json_value(&sheet, program))),
            (None, Format::Text) => print::data(&report::text(&sheet, program)),
        }
    }
    if args.exercise.is_none() && args.as_of.is_none() {
        for pair in flats.windows(2) {
            if let [(before, one), (after, other)] = pair {
                edge(args, program, (before.through, one), (after.from, other))?;
            }
        }
    }
    Ok(exit)
}

/// A date edge: vehicles with one verdict on the last day and another on the next.
fn edge(args: &Cases, program: &Program, one: (Date, &Flat), other: (Date, &Flat)) -> Result<(), String> {
    let compared = compare(one.1, other.1).map_err(|error| format!("{}: {error}", program.id))?;
    for change in &compared.changes {
        let dated = |date: Date| {
            let mut snapshot = change.example.snapshot.clone();
            snapshot.set(Fact::TestDate, Value::Date(date));
            let document = document::Document { snapshot, extra: Vec::new() };
            serde_json::to_value(document::write(&document)).unwrap_or_default()
        };
        match args.format {
            Format::Json => print::data(&format!(
                "{}\n",
                json!({
                    "format": report::FORMAT, "program": program.id, "edge": other.0.to_string(),
                    "takes": change.example.readings.iter().cloned().collect::<std::collections::BTreeMap<_, _>>(),
                    "before": {"snapshot": dated(one.0), "verdict": change.from},
                    "after": {"snapshot": dated(other.0), "verdict": change.to},
                })
            )),
            Format::Text => {
                let words = crate::ruling::vectors::in_words(one.1, &change.example).join("; ");
                let lead = format!("{} | {}: ", one.0, other.0);
                let text = format!("{} → {}: {words}", change.from, change.to);
                print::data(&crate::report::wrap::wrapped(&lead, Some(4), &text));
            }
        }
    }
    Ok(())
}
