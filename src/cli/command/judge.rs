//! `wherefore judge`: rulings on snapshots under programs. Ends with 2 where anything could not be used, else 3 where more
//! than one outcome is possible or a file holds no law for the date, else 1 where any is not of class pass, else 0.
//! Snapshots are read and ruled on one by one; what is wrong with one leaves the others as they are. The clock is never
//! read.

use super::find::{self, by_name, id_of_file, program_files};
use super::snapshots::{One, Snapshots};
use super::{at_lines, date};
use crate::catalog::{BuiltIn, Catalog, CatalogError, Entry, Files};
use crate::cli::args::{Judge, Recorded, RulingFormat};
use crate::cli::rules::Disk;
use crate::cli::{Exit, draw, files, print, threads};
use crate::diagnostic::{Severity, nearest};
use crate::document::{self, Document, Node};
use crate::model::county::State;
use crate::model::{Date, Fact, Value};
use crate::program::block::Standing;
use crate::program::{Class, Flat, Program, Under};
use crate::record::{self, Ready, Record, Request, names_to_take};
use crate::report::brief::Purpose;
use crate::report::{page, schedule, table, text};
use crate::ruling::Ruling;
use crate::wording::wrap;
use std::collections::BTreeMap;
use std::sync::Arc;

/// The most rulings of one page: it is held whole, some 300 kB of memory a ruling, and more is not read.
const MOST_ON_A_PAGE: usize = 1_000;

/// A program asked for.
pub(super) struct Asked {
    pub(super) entry: Arc<Entry>,
    pub(super) ready: Ready,
}

impl Asked {
    pub(super) fn program(&self) -> &Arc<Program> {
        self.ready.program()
    }
}

pub(crate) fn run(args: &Judge) -> Exit {
    match judged(args) {
        Ok(exit) => exit,
        Err(messages) => {
            for message in messages {
                print::error(&message);
            }
            Exit::Unusable
        }
    }
}

/// What one vehicle under one program comes to: the program, the flat program of the date, the vehicle.
pub(super) struct Single {
    pub(super) program: Arc<Program>,
    pub(super) flat: Flat,
    pub(super) document: Document,
    pub(super) record: Record,
}

/// One snapshot under one program.
pub(super) fn single(args: &Judge) -> Result<Single, Vec<String>> {
    single_on(args, None, &mut None)
}

/// The same for a visit on another day than the snapshot's, which is handed back.
pub(super) fn single_on(args: &Judge, by: Option<Date>, read_on: &mut Option<Date>) -> Result<Single, Vec<String>> {
    let (only, request) = single_program(args)?;
    let mut document = single_document(args, &only)?;
    if let Some(by) = by {
        *read_on = document.snapshot.test_date();
        if let Some(reason) = schedule::too_early(by, *read_on) {
            return Err(vec![format!("--by: {reason}")]);
        }
        document.snapshot.set(Fact::TestDate, Value::Date(by));
    }
    let one = |message: String| vec![message];
    let flat = record::flat(only.program(), &document, &request).map_err(one)?;
    let record = only.ready.rule(&document, &request).map_err(one)?;
    Ok(Single { program: Arc::clone(only.program()), flat, document, record })
}

/// The one program asked for, and what is asked.
pub(super) fn single_program(args: &Judge) -> Result<(Asked, Request), Vec<String>> {
    let one = |message: String| vec![message];
    let request = request(args)?;
    if args.program.iter().any(|id| id == "all") {
        return Err(one("here one program is wanted; `judge` takes `--program all`".to_owned()));
    }
    let disk = Disk::of(args.law.rules.iter().chain(&program_files(&args.program))).map_err(one)?;
    let shelf: &dyn Files = &disk;
    let catalog = Catalog::for_rulings(vec![shelf, &BuiltIn]);
    let (asked, faults) = asked(args, &catalog)?;
    known_takes(&request.takes, || asked.iter().map(|it| &**it.program()))?;
    match <[Asked; 1]>::try_from(asked) {
        Ok([only]) => Ok((only, request)),
        Err(_) => Err(if faults.is_empty() { one("give one program".to_owned()) } else { faults }),
    }
}

/// The one snapshot given.
pub(super) fn single_document(args: &Judge, asked: &Asked) -> Result<Document, Vec<String>> {
    let mut documents = documents(args)?.into_iter();
    let (Some(document), None) = (documents.next(), documents.next()) else {
        return Err(vec!["give one snapshot; this file holds several".to_owned()]);
    };
    undeclared(&document, std::slice::from_ref(asked))?;
    Ok(document)
}

/// Rules on every snapshot as it is read. What cannot be ruled on is reported and skipped.
fn judged(args: &Judge) -> Result<Exit, Vec<String>> {
    let one = |message: String| vec![message];
    let request = request(args)?;
    let disk = Disk::of(args.law.rules.iter().chain(&program_files(&args.program))).map_err(one)?;
    let shelf: &dyn Files = &disk;
    let catalog = Catalog::for_rulings(vec![shelf, &BuiltIn]);
    let (asked, faults) = asked(args, &catalog)?;
    known_takes(&request.takes, || asked.iter().map(|it| &**it.program()))?;
    let mut exit = Exit::Good;
    let told = |faults: &[String]| {
        for fault in faults {
            print::error(fault);
        }
        if faults.is_empty() { Exit::Good } else { Exit::Unusable }
    };
    exit = exit.max(told(&faults));
    let mut snapshots = Snapshots::open(&args.snapshot).map_err(one)?;
    let are_many = snapshots.are_many();
    let mut all = Vec::new();
    let mut place = 0;
    // Nobody reads on after a closed pipe, and nothing more can be written to a full disk.
    while !print::is_over() {
        let next = match snapshots.next() {
            Ok(Some(next)) => next,
            Ok(None) => break,
            Err(fault) => {
                exit = exit.max(told(&[fault]));
                break;
            }
        };
        place += 1;
        let (records, faults) = ruled(&next, are_many, &asked, &request);
        exit = exit.max(told(&faults)).max(exit_of(records.iter().map(|it| &it.ruling)));
        match args.format {
            RulingFormat::Html if all.len() + records.len() > MOST_ON_A_PAGE => {
                let fault = format!(
                    "{}: a page holds at most {MOST_ON_A_PAGE} rulings; give fewer snapshots, or --format json",
                    files::shown(&args.snapshot)
                );
                return Err(vec![fault]);
            }
            RulingFormat::Html => all.extend(records),
            _ => tell(args, &records, are_many.then_some(place)),
        }
    }
    if args.format == RulingFormat::Html && !all.is_empty() {
        let drawn = if is_long(args) { page::page(&all) } else { page::in_brief(&all, Purpose::Judge) };
        match drawn {
            Ok(page) => print::data(&page),
            Err(error) => exit = exit.max(told(&[format!("the page cannot be drawn: {error}")])),
        }
    }
    Ok(exit)
}

/// The rulings on one snapshot, and what could not be ruled on, named by file and line.
fn ruled(one: &One, are_many: bool, asked: &[Asked], request: &Request) -> (Vec<Record>, Vec<String>) {
    let named = |text: &str| format!("{}: {text}", one.name);
    let document = match &one.document {
        Ok(document) => document,
        Err(faults) => return (Vec::new(), faults.iter().map(|fault| named(&fault.to_string())).collect()),
    };
    if let Err(found) = undeclared(document, asked) {
        return (Vec::new(), found.iter().map(|it| if are_many { named(it) } else { it.clone() }).collect());
    }
    let mut records = Vec::new();
    // What is wrong with the snapshot itself is wrong under every program: told once.
    let mut faults: BTreeMap<String, Vec<&str>> = BTreeMap::new();
    for (asked, made) in asked.iter().zip(threads::each(asked, |asked| asked.ready.rule(document, request))) {
        match made {
            Ok(record) => records.push(record),
            Err(fault) => {
                let id = asked.program().id.as_str();
                let own = fault.strip_prefix(&format!("{id}: ")).unwrap_or(&fault).to_owned();
                faults.entry(own).or_default().push(id);
            }
        }
    }
    let told = faults.iter().map(|(fault, of)| match of.len() == asked.len() {
        true => named(fault),
        false => named(&format!("{}: {fault}", of.join(", "))),
    });
    (records, told.collect())
}

fn request(args: &Judge) -> Result<Request, Vec<String>> {
    let mut faults = Vec::new();
    let mut day =
        |name: &str, text: &Option<String>| date(name, text.as_ref()?).map_err(|fault| faults.push(fault)).ok();
    let (as_of, known_on) = (day("--as-of", &args.law.as_of), day("--known-on", &args.law.known_on));
    let takes = takes(&args.law.take, &mut faults);
    let brief = args.format == RulingFormat::Text && args.program.iter().any(|id| id == "all");
    let certificate = args.certificate;
    let recorded = args.recorded.map(class_of);
    if faults.is_empty() { Ok(Request { as_of, known_on, takes, certificate, recorded, brief }) } else { Err(faults) }
}

/// The readings and values that are taken.
pub(super) fn takes(texts: &[String], faults: &mut Vec<String>) -> Vec<Under> {
    let mut takes: Vec<Under> = Vec::new();
    for take in texts {
        match take.split_once('=') {
            Some((name, _)) if takes.iter().any(|known| known.name == name) => {
                faults.push(format!("--take {take}: `{name}` is taken twice"));
            }
            Some((name, value)) => takes.push(Under { name: name.to_owned(), value: value.to_owned() }),
            None => faults.push(format!(
                "--take {take}: write NAME=VALUE, a question with its reading or an option with its value"
            )),
        }
    }
    takes
}

/// The programs asked for, in that order; with `all`, those that cannot be used are reported and skipped.
fn asked(args: &Judge, catalog: &Catalog<'_>) -> Result<(Vec<Asked>, Vec<String>), Vec<String>> {
    let every = args.program.iter().any(|id| id == "all");
    let ids = match args.program.as_slice() {
        [] => match catalog.shelf(0).as_slice() {
            [Ok(entry)] if args.law.rules.is_some() && !entry.is_advice => vec![entry.id.clone()],
            _ => return Err(vec![which(catalog)]),
        },
        _ if every => catalog.ids(),
        ids => ids.iter().map(|id| id_of_file(id)).collect::<Result<_, String>>().map_err(|fault| vec![fault])?,
    };
    // Read ahead on all cores; what cannot be read is told below, in order.
    threads::each(&ids, |id| drop(catalog.find(id)));
    let mut faults = Vec::new();
    let mut asked: Vec<Asked> = Vec::new();
    for id in ids {
        match by_name(&id, catalog) {
            Ok(found) if every && (!found.program().standing.is_stood_by() || found.program().adopted_only) => {}
            Ok(found) if found.program().adopted_only => faults.push(only_a_part(&id)),
            Ok(found) => {
                told_standing(found.program());
                asked.push(found);
            }
            Err(fault) => faults.push(fault),
        }
    }
    if every || faults.is_empty() { Ok((asked, faults)) } else { Err(faults) }
}

/// What is said where a part is asked to judge.
pub(super) fn only_a_part(id: &str) -> String {
    format!("`{id}` is a part that other programs adopt; give a program that adopts it")
}

fn which(catalog: &Catalog<'_>) -> String {
    let ids = wrap::wrapped("  ", Some(2), &catalog.ids().join(" "));
    format!(
        "which program? give --program ID (repeatable; a name such as texas will do) or --program all\n{}",
        ids.trim_end()
    )
}

fn told_standing(program: &Program) {
    let what = match program.standing {
        Standing::Checked | Standing::DigestChecked => return,
        Standing::Draft => "a draft, not checked against its sources",
        Standing::Withdrawn => "withdrawn, no longer stood by",
    };
    print::message(&format!("note: program `{}` is {what}", program.id));
}

/// The program of an id, without errors.
pub(super) fn usable(id: &str, catalog: &Catalog<'_>) -> Result<Asked, String> {
    match catalog.find(id) {
        Ok(entry) => match entry.ready() {
            Some(ready) => Ok(Asked { entry, ready }),
            None => Err(format!("program `{id}` has errors\n{}", drawn_errors(&entry))),
        },
        Err(error) => Err(missing(&error)),
    }
}

/// The id of the one program of a state whose name is near to what was asked for, or the state's name where it has several.
fn of_state(id: &str, known: &[String]) -> Option<String> {
    let wanted = id.strip_prefix("us-").unwrap_or(id).replace('-', " ").to_lowercase();
    let names: Vec<String> = State::all().iter().map(|state| state.name.to_lowercase()).collect();
    let near = nearest(&wanted, names.iter().map(String::as_str))?;
    let state = State::all().iter().find(|state| state.name.to_lowercase() == near)?;
    let ids: Vec<&String> = known.iter().filter(|id| find::is_of(state, id)).collect();
    match ids.as_slice() {
        [] => None,
        [only] => Some((*only).clone()),
        _ => Some(near.to_owned()),
    }
}

/// Why there is no program of an id, with the nearest there is.
pub(super) fn missing(error: &CatalogError) -> String {
    let CatalogError::Missing { id, known } = error else {
        return error.to_string();
    };
    if id.contains([',', ';', ' '])
        && id.split([',', ';', ' ']).all(|part| part.is_empty() || known.contains(&part.to_owned()))
    {
        return format!(
            "there is no program `{id}`; name each by itself: --program ID --program ID, where a command takes several"
        );
    }
    // A state without a program is not taken for a neighbor in spelling.
    if let Some(state) = find::state(id)
        && !known.iter().any(|known| find::is_of(state, known))
    {
        return format!(
            "there is no program `{id}`: none of {} is here, which does not say that no test is asked there; `wherefore \
             programs` lists those there are",
            state.name
        );
    }
    match nearest(id, known.iter().map(String::as_str)).map(str::to_owned).or_else(|| of_state(id, known)) {
        Some(near) => format!("there is no program `{id}`; did you mean `{near}`?"),
        None => format!("there is no program `{id}`; `wherefore programs` lists them"),
    }
}

/// The errors of a program's file, drawn.
pub(super) fn drawn_errors(entry: &Entry) -> String {
    let errors = entry.diagnostics.iter().filter(|it| it.severity == Severity::Error);
    errors.map(|error| draw::draw(error, &entry.source)).collect::<Vec<_>>().join("\n")
}

fn documents(args: &Judge) -> Result<Vec<Document>, Vec<String>> {
    let most = u64::try_from(document::MAX_DOCUMENT_BYTES).unwrap_or(u64::MAX);
    let bytes = files::read(&args.snapshot, most).map_err(|message| vec![message])?;
    document::read_all(&bytes).map_err(|faults| {
        let name = files::shown(&args.snapshot);
        faults.iter().map(|fault| format!("{name}: {fault}")).collect()
    })
}

/// Faults where a name is taken that none of the programs has.
pub(super) fn known_takes<'p, P>(takes: &[Under], programs: impl Fn() -> P) -> Result<(), Vec<String>>
where
    P: Iterator<Item = &'p Program>,
{
    let names = || programs().flat_map(names_to_take);
    let unknown = takes.iter().filter(|take| !names().any(|known| known == take.name));
    let faults: Vec<String> = unknown
        .map(|take| {
            let help = match nearest(&take.name, names()) {
                Some(near) => format!("did you mean `{near}`?"),
                None => format!("there are: {}", names().collect::<Vec<_>>().join(", ")),
            };
            format!("--take {}: no program asked for has such a question or option; {help}", take.name)
        })
        .collect();
    if faults.is_empty() { Ok(()) } else { Err(faults) }
}

/// Faults where a document declares facts that none of the programs knows.
fn undeclared(document: &Document, asked: &[Asked]) -> Result<(), Vec<String>> {
    let names = || asked.iter().flat_map(|it| &it.program().facts).map(|fact| fact.name.as_str());
    let unknown = document.snapshot.declared.keys().filter(|name| !names().any(|known| known == name.as_str()));
    let faults: Vec<String> = unknown
        .map(|name| {
            let help = match nearest(name, names()) {
                Some(near) => format!("did you mean `{near}`?"),
                None => "`wherefore programs` lists the programs; each says what it declares".to_owned(),
            };
            format!("declared.{name}: no program asked for declares it; {help}")
        })
        .collect();
    if faults.is_empty() || asked.is_empty() { Ok(()) } else { Err(faults) }
}

/// Prints the rulings on one snapshot; its number where there are several.
fn tell(args: &Judge, records: &[Record], number: Option<usize>) {
    match args.format {
        RulingFormat::Json => print::data(&records.iter().map(record::json_line).collect::<String>()),
        RulingFormat::Html => {}
        RulingFormat::Text if records.is_empty() => {}
        RulingFormat::Text => {
            let all = args.program.iter().any(|id| id == "all");
            if let Some(number) = number {
                print::data(&format!("{}snapshot {number}\n", if number == 1 { "" } else { "\n" }));
            }
            flags(records);
            if all || is_long(args) {
                print::data(&text_of(args, records, all));
            } else {
                in_brief(records);
            }
            recorded(records);
        }
    }
}

fn text_of(args: &Judge, records: &[Record], all: bool) -> String {
    if all {
        return table::table(records.iter().map(|it| (&it.ruling, it.prospect.as_ref()))) + table::legend();
    }
    let detail = if args.trace { text::Detail::Trace } else { text::Detail::Full };
    let texts: Vec<String> = records.iter().map(|it| text::of_record(it, detail)).collect();
    texts.join(&format!("\n{}\n\n", "-".repeat(wrap::WIDTH)))
}

/// Whether the long form is asked for.
fn is_long(args: &Judge) -> bool {
    args.trace || args.full
}

/// The answers in brief, a line between two of them.
fn in_brief(records: &[Record]) {
    for (place, record) in records.iter().enumerate() {
        if place > 0 {
            print::data(&format!("\n{}\n\n", "-".repeat(wrap::WIDTH)));
        }
        print::parts(&record.brief(Purpose::Judge).parts());
    }
}

/// What a recorded result comes to, after each ruling.
fn recorded(records: &[Record]) {
    for record in records {
        let Some(told) = record.recorded() else { continue };
        let lead = if records.len() > 1 { format!("\n{}\n", record.ruling.program) } else { "\n".to_owned() };
        print::data(&format!("{lead}{}", told.text()));
    }
}

fn class_of(result: Recorded) -> Class {
    match result {
        Recorded::Pass => Class::Pass,
        Recorded::Fail => Class::Fail,
        Recorded::Reject => Class::Reject,
        Recorded::Conditional => Class::Conditional,
        Recorded::OtherTest => Class::OtherTest,
        Recorded::NotSubject => Class::NotSubject,
    }
}

/// What the decoder flagged: a reader of a ruling must know what is odd about the data it rests on.
fn flags(records: &[Record]) {
    let Some(record) = records.first() else {
        return;
    };
    for (_, node) in record.document.extra.iter().filter(|(path, _)| path == "quality") {
        let Node::List(list) = node else {
            continue;
        };
        for flag in list {
            if let (Some(Node::Text(slug)), Some(Node::Text(message))) = (flag.get("flag"), flag.get("message")) {
                let numbers = match flag.get("lines") {
                    Some(Node::List(list)) => list.as_slice(),
                    _ => &[],
                };
                let numbers =
                    numbers.iter().filter_map(|it| if let Node::Whole(line) = it { Some(*line) } else { None });
                let place = at_lines(numbers.filter_map(|line| usize::try_from(line).ok()));
                print::message(&format!("note on the data: {place}{message} [{slug}]"));
            }
        }
    }
}

pub(super) fn exit_of<'a>(rulings: impl Iterator<Item = &'a Ruling>) -> Exit {
    let of = |ruling: &Ruling| match (ruling.possible.len(), ruling.class) {
        (1, Class::Pass) => Exit::Good,
        (1, Class::NoLaw) => Exit::Undecided,
        (1, _) => Exit::Negative,
        (_, _) => Exit::Undecided,
    };
    rulings.map(of).max().unwrap_or(Exit::Good)
}
