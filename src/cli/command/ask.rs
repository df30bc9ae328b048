//! `wherefore ask`: puts the questions that can still matter, one by one, and ends with the ruling, or prints the whole
//! tree of questions. With a ruling it ends as `judge` does; with a tree with 0 where nothing has to be asked and 3 where
//! something has; with 2 where something could not be used.

use super::judge::{exit_of, single, single_document, single_program};
use crate::analysis::ask::ask;
use crate::cli::args::{Ask, TreeFormat};
use crate::cli::interrupt::{self, Kept};
use crate::cli::progress::Progress;
use crate::cli::{Exit, files, print};
use crate::document::answer::iso;
use crate::document::{self, Document, parse_date};
use crate::model::{Fact, Snapshot, Value};
use crate::program::Flat;
use crate::record::{self, json_line};
use crate::report::brief::Purpose;
use crate::report::interview::{HELP, Heard, Interview};

use crate::report::{page, questions, sketch};
use crate::wording::headline::{self, Provisos};
use crate::wording::{plan, wrap};
use std::path::{Path, PathBuf};

pub(crate) fn run(args: &Ask) -> Exit {
    match if args.is_tree() { tree_of(args) } else { asked(args) } {
        Ok(exit) => exit,
        Err(messages) => {
            messages.iter().for_each(|message| print::error(message));
            Exit::Unusable
        }
    }
}

fn tree_of(args: &Ask) -> Result<Exit, Vec<String>> {
    let judge = args.as_judge();
    let (flat, document) = match args.snapshot {
        Some(_) => single(&judge).map(|single| (single.flat, single.document))?,
        None => {
            let (only, request) = single_program(&judge)?;
            let document = Document::default();
            (record::flat(only.program(), &document, &request).map_err(|message| vec![message])?, document)
        }
    };
    let progress = Progress::of("looking for the questions", None);
    let tree = ask(&flat, &document.snapshot).map_err(|error| vec![error.to_string()])?;
    drop(progress);
    match args.format {
        TreeFormat::Text => print::data(&questions::text(&flat, &tree)),
        TreeFormat::Json => print::data(&format!("{}\n", questions::json(&flat, &tree))),
        TreeFormat::Html => {
            print::page_of(&format!("Questions: {}", flat.title), &questions::text(&flat, &tree));
        }
        TreeFormat::Svg => print::data(&sketch::svg(&flat, &tree)),
    }
    Ok(if tree.depth() == 0 { Exit::Good } else { Exit::Undecided })
}

/// Lines that a person types, or that a file holds; what a file holds is shown, so that the whole can be read.
struct Lines {
    is_terminal: bool,
}

impl Lines {
    fn next(&self) -> Option<String> {
        print::prompt("> ");
        let Some(line) = files::typed_line() else {
            print::message("");
            return None;
        };
        if !self.is_terminal {
            print::message(&line);
        }
        Some(line)
    }
}

fn asked(args: &Ask) -> Result<Exit, Vec<String>> {
    let one = |message: String| vec![message];
    if args.snapshot.as_deref() == Some(Path::new("-")) {
        return Err(one("standard input gives the answers; give the snapshot as a file, or ask for --tree".to_owned()));
    }
    args.out.as_deref().map_or(Ok(()), |path| files::is_free(path, Some(args.force))).map_err(one)?;
    let judge = args.as_judge();
    let (only, mut request) = single_program(&judge)?;
    let mut document = match args.snapshot {
        Some(_) => single_document(&judge, &only)?,
        None => Document::default(),
    };
    let lines = Lines { is_terminal: files::is_terminal() };
    if document.snapshot.test_date().is_none()
        && !date_of_visit(&lines, &mut document.snapshot, request.as_of.is_some())
    {
        return Err(one("answers ran out before the date of the visit was known; give --as-of DATE".to_owned()));
    }
    let flat = record::flat(only.program(), &document, &request).map_err(one)?;
    request.certificate = false;
    // After each answer: the headline and what to do first, as things stand.
    let stands = |snapshot: &Snapshot| -> Option<String> {
        let now = Document { snapshot: snapshot.clone(), ..document.clone() };
        let record = only.ready.rule(&now, &request).ok()?;
        let told = record.told(Provisos::Weightiest)?;
        let sentence = headline::sentence(told.prospect, told.ruling, told.provisos);
        let first = plan::first_line(&told).map(|line| wrap::wrapped("  Do: ", None, &line)).unwrap_or_default();
        Some(format!("{}{first}", wrap::wrapped("  So far: ", None, &sentence)))
    };
    let (snapshot, is_whole) = questioned(&lines, &flat, &document, args, &stands).map_err(one)?;
    document.snapshot = snapshot;
    let record = only.ready.rule(&document, &request).map_err(one)?;
    if let Some(path) = &args.out {
        interrupt::keep(None);
        files::write_new(path, &json(&document), Some(args.force)).map_err(one)?;
        print::message(&format!("The snapshot is in {}.", files::shown(path)));
    }
    if !is_whole {
        print::message("There were more questions; the ruling is on what is known.");
    }
    match args.format {
        TreeFormat::Html => match page::in_brief(std::slice::from_ref(&record), Purpose::Judge) {
            Ok(page) => print::data(&page),
            Err(error) => return Err(one(format!("the page cannot be drawn: {error}"))),
        },
        TreeFormat::Json => print::data(&json_line(&record)),
        _ => print::parts(&record.brief(Purpose::Judge).parts()),
    }
    Ok(exit_of(std::iter::once(&record.ruling)))
}

fn json(document: &Document) -> String {
    serde_json::to_string_pretty(&document::write(document)).unwrap_or_default() + "\n"
}

/// Keeps the answers so far, for the case that asking is stopped.
fn keep(interview: &Interview<'_>, document: &Document, args: &Ask) {
    let document = Document { snapshot: interview.snapshot().clone(), extra: document.extra.clone() };
    let kept = |path: &PathBuf| Kept { path: path.clone(), text: json(&document), force: args.force };
    interrupt::keep(args.out.as_ref().map(kept));
}

/// Asks for the date of the visit; whether there is one, or none is needed. The clock is read to offer today, and what was
/// taken is shown.
fn date_of_visit(lines: &Lines, snapshot: &mut Snapshot, has_law: bool) -> bool {
    let today = jiff::ZonedDateTime::now().date();
    let how = format!(
        "{} ({today}), or a date such as 2026-11-25, 11/25/2026 or 25 Nov 2026{}",
        if lines.is_terminal { "Enter for today" } else { "today" },
        if has_law { "; ? where it is not known" } else { "" }
    );
    let how = wrap::wrapped("  ", Some(2), &how);
    let how = how.trim_end();
    print::message(&format!("On what date is the test? (visit)\n{how}"));
    loop {
        let Some(line) = lines.next() else {
            return has_law;
        };
        let text = line.trim().to_lowercase();
        // Of a file an empty line is no answer: only a person sees what Enter stands for.
        let date = match text.as_str() {
            "" if lines.is_terminal => Some(today),
            "today" => Some(today),
            "tomorrow" => today.tomorrow().ok(),
            _ => parse_date(&line).or_else(|| parse_date(&iso(&line)?)),
        };
        if let Some(date) = date {
            snapshot.set(Fact::TestDate, Value::Date(date));
            print::message(&format!("  Visit on {date}."));
            return true;
        }
        match text.as_str() {
            "?" if has_law => return true,
            "?" => print::message("  The law and the vehicle's age go by it; today will do for a first look."),
            "stop" => return false,
            "help" => print::message(wrap::wrapped("  ", None, HELP).trim_end()),
            "back" => print::message("  This is the first question."),
            _ => print::message(&format!("  \"{line}\" is no date.\n{how}")),
        }
    }
}

/// Puts the questions; the snapshot that the answers make, and whether nothing was left to ask.
fn questioned(
    lines: &Lines,
    flat: &Flat,
    document: &Document,
    args: &Ask,
    stands: &dyn Fn(&Snapshot) -> Option<String>,
) -> Result<(Snapshot, bool), String> {
    let mut interview = Interview::new(flat, document.snapshot.clone())?;
    keep(&interview, document, args);
    print::message(&format!("{}; law of {}", flat.title, flat.as_of));
    if interview.turn().fact.is_some() {
        print::message(wrap::wrapped("", None, HELP).trim_end());
        if let Some(usual) = interview.usual() {
            print::message(wrap::wrapped("", None, &usual).trim_end());
        }
    }
    while let Some(prompt) = interview.prompt() {
        print::message(&format!("\n{}", prompt.trim_end()));
        let Some(line) = lines.next() else {
            break;
        };
        match interview.hear(&line) {
            Heard::Taken => {
                keep(&interview, document, args);
                if let Some(text) = stands(interview.snapshot()) {
                    print::message(text.trim_end());
                }
            }
            Heard::Again(text) => print::message(text.trim_end()),
            Heard::Stop => break,
        }
    }
    print::message("");
    let is_whole = interview.turn().fact.is_none();
    Ok((interview.snapshot().clone(), is_whole))
}
