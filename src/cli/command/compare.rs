//! `wherefore compare`: two programs, or two versions of one. Ends with 0 where they are proven to rule alike (or, with
//! `--expect-only`, where nothing but what was meant changes), 1 where they differ, 2 where one cannot be used.

use super::date;
use super::find::by_name;
use super::judge::drawn_errors;
use crate::analysis;
use crate::catalog::{BuiltIn, Catalog, Entry, Files};
use crate::cli::args::{Compare, RulingFormat};
use crate::cli::progress::Progress;
use crate::cli::rules::Disk;
use crate::cli::{Exit, files, print};
use crate::model::Date;
use crate::program::{Epoch, Item, Program};
use crate::report::beside::{self, Version};
use crate::report::compare::{self as report, Compared, FORMAT, Side};
use crate::report::overview::shown_flat;
use crate::report::pages;
use crate::source::Source;
use std::collections::BTreeSet;
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// Largest file of expected changes, in bytes.
const MOST_EXPECTED: u64 = 64 << 20;

pub(crate) fn run(args: &Compare) -> Exit {
    match compared(args) {
        Ok(found) if args.side_by_side => side_by_side(args, &found),
        Ok(found) => tell(args, &found.compared, found.meant.as_ref()),
        Err(messages) => {
            for message in messages {
                print::error(&message);
            }
            Exit::Unusable
        }
    }
}

/// What was compared, and what came out.
struct Found {
    compared: Compared,
    meant: Option<Compared>,
    sides: [(Side, Source); 2],
    as_of: Option<Date>,
}

fn compared(args: &Compare) -> Result<Found, Vec<String>> {
    let one = |message: String| vec![message];
    let as_of = args.as_of.as_deref().map(|text| date("--as-of", text)).transpose().map_err(one)?;
    let meant = args.expect_only.as_deref().map(meant).transpose().map_err(one)?;
    let [first_named, second_named] = <&[String; 2]>::try_from(both(args))
        .map_err(|_| one("a comparison is of two programs: `wherefore compare A B`, or --program twice".to_owned()))?;
    let files: Vec<PathBuf> =
        [first_named, second_named].into_iter().filter(|text| is_file(text)).map(PathBuf::from).collect();
    let (named, rules) = (Disk::named(&files).map_err(one)?, Disk::of(&args.rules).map_err(one)?);
    let shelves: Vec<&dyn Files> = vec![&rules, &BuiltIn];
    // A file that is named is not searched for ids: two versions of one program have the same.
    let first: &dyn Files = &named;
    let (catalog, of_files) = (Catalog::new(shelves), Catalog::new(vec![first, &rules, &BuiltIn]));
    let mut faults = Vec::new();
    let mut side = |text: &str, drafts: bool| match side(text, drafts, &catalog, &of_files) {
        Ok(side) => Some(side),
        Err(fault) => {
            faults.push(fault);
            None
        }
    };
    let (first, second) = (side(first_named, false), side(second_named, args.drafts));
    let (Some((first, first_source)), Some((mut second, second_source))) = (first, second) else {
        return Err(faults);
    };
    second.with.clone_from(&args.with);
    if let Some(with) = &args.with {
        known_change(&second.program, with).map_err(one)?;
    }
    let progress = Progress::of("comparing", None);
    let runs = report::runs(&first, &second, as_of).map_err(one)?;
    drop(progress);
    let equal = runs.iter().all(|run| run.changes.is_empty());
    let compared =
        Compared { format: FORMAT.to_owned(), first: first_named.clone(), second: second_named.clone(), equal, runs };
    Ok(Found { compared, meant, sides: [(first, first_source), (second, second_source)], as_of })
}

/// Both texts on one day, and what differs in outcome on it.
fn side_by_side(args: &Compare, found: &Found) -> Exit {
    let [(first, first_source), (second, second_source)] = &found.sides;
    let shown = || shown_flat(&second.program).map(|flat| flat.as_of);
    let Some(visit) = found.as_of.or(first.law_of.max(second.law_of)).or_else(shown) else {
        print::error(&format!("{}: never in force; give --as-of DATE", found.compared.second));
        return Exit::Unusable;
    };
    let made = report::flat(first, visit).and_then(|one| Ok((one, report::flat(second, visit)?)));
    let made = made.and_then(|(one, other)| {
        let comparison = analysis::compare(&one, &other).map_err(|error| error.to_string())?;
        Ok((report::run(Epoch { from: visit, through: visit }, &one, &comparison), one, other))
    });
    let (run, one, other) = match made {
        Ok(made) => made,
        Err(message) => {
            print::error(&message);
            return Exit::Unusable;
        }
    };
    let left = Version { program: &first.program, source: first_source, flat: &one, name: &found.compared.first };
    let right = Version { program: &second.program, source: second_source, flat: &other, name: &found.compared.second };
    let beside = beside::beside(left, right, &run.changes);
    match args.format {
        RulingFormat::Text => print::data(&beside::text(&beside)),
        RulingFormat::Json => print::data(&format!("{}\n", serde_json::json!(beside))),
        RulingFormat::Html => match pages::beside(&beside) {
            Ok(page) => print::data(&page),
            Err(error) => {
                print::error(&format!("the page cannot be drawn: {error}"));
                return Exit::Unusable;
            }
        },
    }
    if run.changes.is_empty() { Exit::Good } else { Exit::Negative }
}

/// The programs as they were named.
fn both(args: &Compare) -> &[String] {
    if args.named.is_empty() { &args.program } else { &args.named }
}

fn meant(path: &Path) -> Result<Compared, String> {
    let bytes = files::read(path, MOST_EXPECTED)?;
    let read: Result<Compared, _> = serde_json::from_slice(&bytes);
    let fault =
        |what: String| format!("{}: {what}; write it with `wherefore compare --format json`", files::shown(path));
    match read {
        Ok(meant) if meant.format == FORMAT => Ok(meant),
        Ok(other) => Err(fault(format!("its format is \"{}\", not \"{FORMAT}\"", other.format))),
        Err(error) => Err(fault(format!("is not a comparison: {error}"))),
    }
}

/// That the program announces the change, and keeps drafts of it.
fn known_change(program: &Program, wanted: &str) -> Result<(), String> {
    let known = program.blocks.iter().filter_map(|block| match &block.item {
        Item::Change { id, .. } => Some(id.as_str()),
        _ => None,
    });
    let known: BTreeSet<&str> = known.collect();
    if !known.contains(wanted) {
        let known = match known.is_empty() {
            true => "it announces none".to_owned(),
            false => format!("it announces {}", known.into_iter().collect::<Vec<_>>().join(", ")),
        };
        return Err(format!("--with {wanted}: program `{}` announces no such change; {known}", program.id));
    }
    let has_drafts = program.blocks.iter().any(|block| block.change.as_deref() == Some(wanted));
    if has_drafts {
        Ok(())
    } else {
        Err(format!("--with {wanted}: program `{}` keeps no drafts of that change", program.id))
    }
}

fn is_file(text: &str) -> bool {
    Path::new(text).extension().is_some_and(|ending| ending == files::ENDING)
}

/// A side with its file.
fn side(text: &str, drafts: bool, catalog: &Catalog<'_>, of_files: &Catalog<'_>) -> Result<(Side, Source), String> {
    if is_file(text) {
        let shelf = of_files.shelf(0);
        let entry = shelf.into_iter().find_map(|entry| match entry {
            Ok(entry) if entry.source.name() == Path::new(text).display().to_string() => Some(Ok(entry)),
            Ok(_) => None,
            Err(fault) => Some(Err(fault)),
        });
        let entry = entry.unwrap_or_else(|| Err(format!("{text}: there is no such file")))?;
        return Ok((Side { program: usable(&entry)?, law_of: None, drafts, with: None }, entry.source.clone()));
    }
    let (id, law_of) = match text.split_once('@') {
        Some((id, day)) => (id, Some(date(text, day)?)),
        None => (text, None),
    };
    let program = Arc::clone(by_name(id, catalog)?.program());
    let source = catalog.find(&program.id).map_err(|error| error.to_string())?.source.clone();
    Ok((Side { program, law_of, drafts, with: None }, source))
}

fn usable(entry: &Entry) -> Result<Arc<Program>, String> {
    entry.program.clone().ok_or_else(|| format!("{} has errors\n{}", entry.source.name(), drawn_errors(entry)))
}

fn tell(args: &Compare, compared: &Compared, meant: Option<&Compared>) -> Exit {
    match args.format {
        RulingFormat::Text => print::data(&report::text(compared)),
        RulingFormat::Json => print::data(&report::json(compared)),
        RulingFormat::Html => {
            print::page_of(&format!("{} and {}", compared.first, compared.second), &report::text(compared));
        }
    }
    let Some(meant) = meant else {
        return if compared.equal { Exit::Good } else { Exit::Negative };
    };
    let beyond = report::beyond(compared, meant);
    for (run, change) in &beyond {
        let dates = format!("{} through {}", run.from, run.through);
        print::message(&format!("not meant, {dates}:\n{}", report::change_text(change).trim_end()));
    }
    if beyond.is_empty() { Exit::Good } else { Exit::Negative }
}
