//! `wherefore cases`: vectors for other implementations, or a worksheet for trainees. Ends with 2 where the program
//! cannot be used or analysed, 1 where a change goes uncaught or the two engines disagree, else 0.

use super::date;
use super::find::by_name;
use crate::analysis::cases::{suite, vectors_on};
use crate::catalog::{BuiltIn, Catalog, Files};
use crate::cli::args::{AllCases, Cases, ExerciseLevel, RulingFormat};
use crate::cli::progress::Progress;
use crate::cli::rules::Disk;
use crate::cli::{Exit, files, print};
use crate::desk;
use crate::front::{Programs, Vehicles};
use crate::program::{Program, Selection, epochs, select};
use crate::report::exercise::{self, Level, Wanted};
use crate::report::vectors::{self as report, Sheet};
use crate::ruling::vectors::score;
use crate::wording::wrap::wrapped;
use std::path::{Path, PathBuf};

pub(crate) fn run(args: &Cases) -> Exit {
    match made(args) {
        Ok(exit) => exit,
        Err(message) => {
            print::error(&message);
            Exit::Unusable
        }
    }
}

/// All programs, each vehicle with its ruling.
fn all(args: &Cases, which: AllCases) -> Result<Exit, String> {
    if args.format != RulingFormat::Json {
        return Err("--all is for programs to read: add --format json".to_owned());
    }
    let programs = Programs::built_in();
    let vehicles = match which {
        AllCases::Worked => Vehicles::Worked,
        AllCases::Vectors => Vehicles::All,
    };
    for id in programs.ids() {
        let lines = programs.conformance(&id, vehicles).map_err(|error| format!("{id}: {error}"))?;
        print::data(&lines);
    }
    Ok(Exit::Good)
}

fn made(args: &Cases) -> Result<Exit, String> {
    if args.exercise == Some(0) {
        return Err("a worksheet holds at least one vehicle: give --exercise 1 or more".to_owned());
    }
    if let Some(which) = args.all {
        return all(args, which);
    }
    let wanted = args.program.as_deref().or(args.named.as_deref()).unwrap_or("");
    let is_file = wanted.ends_with(&format!(".{}", files::ENDING));
    let file: Vec<PathBuf> = is_file.then(|| Path::new(wanted).to_owned()).into_iter().collect();
    Disk::of(&args.rules)?;
    let disk = Disk::named(file.iter().chain(&args.rules))?;
    let shelf: &dyn Files = &disk;
    let catalog = Catalog::new(vec![shelf, &BuiltIn]);
    let id = match catalog.shelf(0).first() {
        Some(Ok(entry)) if is_file => entry.id.clone(),
        Some(Err(message)) if is_file => return Err(message.clone()),
        _ => wanted.to_owned(),
    };
    let asked = by_name(&id, &catalog)?;
    let program = &**asked.program();
    if args.missing {
        return missing(program, args.most.and_then(|many| usize::try_from(many).ok()));
    }
    let Some(text) = &args.as_of else {
        if args.exercise.is_some() {
            return Err("a worksheet asks about the law of one date: give --as-of DATE".to_owned());
        }
        return every_epoch(args, program);
    };
    let date = date("--as-of", text)?;
    let run = epochs(program).into_iter().find(|epoch| epoch.from <= date && date <= epoch.through);
    let flat = select(program, &Selection::on(date)).map_err(|error| error.to_string())?;
    let Some(run) = run.filter(|_| flat.in_force.is_yes()) else {
        return Err(format!("program `{id}` is not in force on {date}"));
    };
    let progress = Progress::of("looking for vectors", None);
    let set = vectors_on(program, &flat).map_err(|error| format!("{id} on {date}: {error}"))?;
    let score = score(&flat, &set).map_err(|error| format!("{id} on {date}: {error}"))?;
    drop(progress);
    let sheet = Sheet { dates: (date, run.through), flat: &flat, set: &set, score: &score };
    match (args.exercise, args.format) {
        (Some(many), _) => return worksheet(args, program, &sheet, many),
        (None, RulingFormat::Json) => print::data(&format!("{}\n", report::json_value(&sheet, program))),
        (None, RulingFormat::Text) => print::data(&report::text(&sheet, program)),
        (None, RulingFormat::Html) => {
            print::page_of(&format!("Vectors: {}", program.title), &report::text(&sheet, program));
        }
    }
    Ok(worst(program, &sheet))
}

/// A worksheet or a quiz.
fn worksheet(args: &Cases, program: &Program, sheet: &Sheet<'_>, many: usize) -> Result<Exit, String> {
    let level = args.level.map(|level| match level {
        ExerciseLevel::OneRule => Level::OneRule,
        ExerciseLevel::Limits => Level::Limits,
        ExerciseLevel::History => Level::History,
        ExerciseLevel::Unknowns => Level::Unknowns,
    });
    let made = exercise::exercise(sheet, program, Wanted { many, seed: args.seed, level });
    match args.format {
        RulingFormat::Text => print::data(&exercise::text(&made)),
        RulingFormat::Json => print::data(&format!("{}\n", exercise::quiz(&made))),
        RulingFormat::Html => print::data(&exercise::page(&made).map_err(|error| error.to_string())?),
    }
    Ok(worst(program, sheet))
}

/// More missing cases than these are many to write at once.
const MANY: usize = 20;

/// The cases that the file lacks, and what they would catch.
fn missing(program: &Program, most: Option<usize>) -> Result<Exit, String> {
    let progress = Progress::of("looking for missing cases", None);
    let found = desk::missing(program).map_err(|error| format!("{}: {error}", program.id))?;
    drop(progress);
    let all = found.cases.len();
    let found = match most {
        Some(many) => found.most(many),
        None => found,
    };
    let fewer = match (all - found.cases.len(), most) {
        (0, None) if all > MANY => format!(" `--most {MANY}` writes the {MANY} that catch most."),
        (0, _) => String::new(),
        (left, _) => format!(" These catch most; {left} more are left out."),
    };
    let head = format!(
        "{}: of {} slips of one place that would change an answer, the worked cases would catch {}, each by the law of its \
         day; the {} below would catch {} more. Give each a title, the outcome that follows from the law, and where it \
         follows from.{fewer}",
        program.id,
        found.changes,
        found.caught,
        found.cases.len(),
        found.would_catch
    );
    print::data(&wrapped("# ", Some(2), &head).replace("\n  ", "\n# "));
    for case in &found.cases {
        print::data(&format!("\n{case}"));
    }
    Ok(if found.cases.is_empty() { Exit::Good } else { Exit::Negative })
}

/// One set for all epochs, and what it comes to.
fn every_epoch(args: &Cases, program: &Program) -> Result<Exit, String> {
    let id = &program.id;
    let progress = Progress::of("looking for vectors", None);
    let suite = suite(program).map_err(|error| format!("{id}: {error}"))?;
    drop(progress);
    let (mut exit, mut missed, mut page) = (Exit::Good, Vec::new(), String::new());
    for part in &suite.parts {
        let score = score(&part.flat, &part.set).map_err(|error| format!("{id} from {}: {error}", part.epoch.from))?;
        missed.extend(score.missed.iter().cloned());
        let dates = (part.epoch.from, part.epoch.through);
        let sheet = Sheet { dates, flat: &part.flat, set: &part.set, score: &score };
        exit = exit.max(worst(program, &sheet));
        // Of most epochs everything is shown in another.
        if part.set.vectors.is_empty() {
            continue;
        }
        match args.format {
            RulingFormat::Json => print::data(&format!("{}\n", report::json_value(&sheet, program))),
            RulingFormat::Text => print::data(&report::text(&sheet, program)),
            RulingFormat::Html => page.push_str(&report::text(&sheet, program)),
        }
    }
    match args.format {
        RulingFormat::Json => print::data(&format!("{}\n", report::suite_value(&suite, program, &missed))),
        RulingFormat::Text => print::data(&report::suite_text(&suite, program, &missed)),
        RulingFormat::Html => {
            page.push_str(&report::suite_text(&suite, program, &missed));
            print::page_of(&format!("Vectors: {}", program.title), &page);
        }
    }
    Ok(exit)
}

fn worst(program: &Program, sheet: &Sheet<'_>) -> Exit {
    let (missed, disputed) = (sheet.score.missed.len(), sheet.score.disputed.len());
    if missed == 0 && disputed == 0 {
        return Exit::Good;
    }
    print::error(&format!("{} from {}: {missed} missed, {disputed} disputed", program.id, sheet.dates.0));
    Exit::Negative
}
