//! `wherefore replay`: stored rulings, verified. Ends with 2 where a record cannot be read or its program or version is
//! not available, else 1 where any differs, else 0.

use super::judge::usable;
use crate::catalog::{BuiltIn, Catalog, Files};
use crate::cli::args::{Replay, RulingFormat};
use crate::cli::rules::Disk;
use crate::cli::{Exit, files, print};
use crate::document;
use crate::record::replay::{Replayed, Stored};
use crate::wording::wrap::wrapped;
use serde_json::{Value, json};

/// Most differing fields shown for one record in text.
const MOST_TOLD: usize = 12;

pub(crate) fn run(args: &Replay) -> Exit {
    match replayed(args) {
        Ok(results) => {
            let (mut exit, mut page) = (Exit::Good, String::new());
            for (place, result) in results.iter().enumerate() {
                tell(args, place + 1, result, &mut page);
                exit = exit.max(match result {
                    Ok((_, replayed)) if replayed.differences.is_empty() => Exit::Good,
                    Ok(_) => Exit::Negative,
                    Err(_) => Exit::Unusable,
                });
            }
            if args.format == RulingFormat::Html && !print::page_of("Recorded rulings, judged again", &page) {
                exit = Exit::Unusable;
            }
            exit
        }
        Err(message) => {
            print::error(&message);
            Exit::Unusable
        }
    }
}

/// The program's id and what replaying tells, or why it cannot be replayed.
type One = Result<(String, Replayed), String>;

fn replayed(args: &Replay) -> Result<Vec<One>, String> {
    let disk = Disk::of(&args.rules)?;
    let shelf: &dyn Files = &disk;
    let catalog = Catalog::new(vec![shelf, &BuiltIn]);
    let most = u64::try_from(document::MAX_DOCUMENT_BYTES).unwrap_or(u64::MAX);
    let bytes = files::read(&args.record, most)?;
    let name = files::shown(&args.record);
    let text = crate::syntax::decode_text(&bytes).map_err(|error| format!("{name}: {error}"))?;
    // One document laid out over several lines is one record.
    let whole = serde_json::from_str::<serde::de::IgnoredAny>(&text).is_ok();
    let lines: Vec<&str> = if whole { vec![&text] } else { text.lines().collect() };
    let results: Vec<One> =
        lines.into_iter().filter(|line| !line.trim().is_empty()).map(|line| one(&catalog, line)).collect();
    if results.is_empty() { Err(format!("{name}: holds no ruling")) } else { Ok(results) }
}

fn one(catalog: &Catalog<'_>, line: &str) -> One {
    let stored = Stored::read(line)?;
    let asked = usable(&stored.program, catalog)?;
    let replayed = stored.replay(asked.program(), &asked.entry.texts)?;
    Ok((stored.program, replayed))
}

fn tell(args: &Replay, place: usize, result: &One, page: &mut String) {
    match (args.format, result) {
        (RulingFormat::Json, result) => print::data(&format!("{}\n", form(place, result))),
        (form, Err(message)) => {
            if form == RulingFormat::Html {
                page.push_str(&wrapped("  ", None, &format!("record {place}: not available: {message}")));
            }
            print::error(&format!("record {place}: {message}"));
        }
        (form, Ok((program, replayed))) => {
            let mut text = match replayed.differences.len() {
                0 => format!("record {place}, {program}: same\n"),
                1 => format!("record {place}, {program}: differs in 1 field\n"),
                many => format!("record {place}, {program}: differs in {many} fields\n"),
            };
            for difference in replayed.differences.iter().take(MOST_TOLD) {
                text.push_str(&format!("  {}: {}\n", difference.field, difference.message));
            }
            if let Some(more) = replayed.differences.len().checked_sub(MOST_TOLD).filter(|more| *more > 0) {
                text.push_str(&format!("  and {more} more; `--format json` lists all\n"));
            }
            match form {
                RulingFormat::Html => page.push_str(&text),
                _ => print::data(&text),
            }
            for note in &replayed.notes {
                print::message(&format!("note: record {place}: {note}"));
            }
        }
    }
}

fn form(place: usize, result: &One) -> Value {
    match result {
        Err(message) => json!({"record": place, "state": "not-available", "message": message}),
        Ok((program, replayed)) => {
            let differences: Vec<Value> =
                replayed.differences.iter().map(|it| json!({"field": it.field, "message": it.message})).collect();
            let state = if differences.is_empty() { "same" } else { "differs" };
            json!({
                "record": place, "program": program, "state": state,
                "differences": differences, "notes": replayed.notes,
            })
        }
    }
}
