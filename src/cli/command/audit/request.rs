//! What was asked for, worked out: the mapping, and the programs that records are judged by.

use super::args::Audit;
use crate::audit::Judging;
use crate::audit::mapping::{self, Holds, Mapping};
use crate::bulk::{Engine, Options};
use crate::catalog::{BuiltIn, Catalog, Files};
use crate::cli::command::date;
use crate::cli::command::find::by_name;
use crate::cli::command::judge::{known_takes, only_a_part, takes, usable};
use crate::cli::files;
use crate::cli::rules::Disk;
use crate::program::announced_alone;
use crate::program::unread::unread_alone;
use crate::program::{Program, SelectionError, Under};
use crate::record::names_to_take;
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// Reads the mapping file.
pub(super) fn mapping(path: &Path) -> Result<Mapping, Vec<String>> {
    let bytes = files::read(path, mapping::MAX_MAPPING_BYTES).map_err(|fault| vec![fault])?;
    let name = files::shown(path);
    let text = crate::syntax::decode_text(&bytes).map_err(|error| vec![format!("{name}: {error}")])?;
    mapping::read(&text).map_err(|faults| faults.iter().map(|fault| format!("{name}, {fault}")).collect())
}

fn one(message: String) -> Vec<String> {
    vec![message]
}

/// The options of the selection.
pub(super) fn options(args: &Audit) -> Result<Options, Vec<String>> {
    let mut faults = Vec::new();
    let known_on = args.known_on.as_ref().and_then(|text| date("--known-on", text).map_err(|it| faults.push(it)).ok());
    let takes = takes(&args.take, &mut faults);
    if faults.is_empty() { Ok(Options { known_on, takes, ..Options::default() }) } else { Err(faults) }
}

/// The programs that records are judged by.
pub(super) fn programs(args: &Audit, mapping: Option<&Mapping>, open: bool) -> Result<Vec<Judging>, Vec<String>> {
    let options = options(args)?;
    let disk = Disk::of(&args.rules).map_err(one)?;
    let shelf: &dyn Files = &disk;
    let catalog = Catalog::new(vec![shelf, &BuiltIn]);
    let ids = ids(args, mapping, &catalog)?;
    let (mut found, mut faults) = (Vec::new(), Vec::new());
    for id in &ids.list {
        match by_name(id, &catalog) {
            Ok(asked) if ids.every && (!asked.program().standing.is_stood_by() || asked.program().adopted_only) => {}
            Ok(asked) if asked.program().adopted_only => faults.push(only_a_part(id)),
            Ok(asked) => found.push(Arc::clone(asked.program())),
            Err(fault) => faults.push(fault),
        }
    }
    if !faults.is_empty() {
        return Err(faults);
    }
    known_takes(&options.takes, || found.iter().map(|program| &**program))?;
    let against = args.against.as_ref().map(|text| against(text, args.rules.as_ref())).transpose()?;
    found.iter().map(|program| judging(program, &options, against.as_ref(), open)).collect()
}

struct Ids {
    list: Vec<String>,
    /// Whether every program there is was taken, for want of words.
    every: bool,
}

/// Which programs: those asked for, those the mapping names, or every one where a column may hold any.
fn ids(args: &Audit, mapping: Option<&Mapping>, catalog: &Catalog<'_>) -> Result<Ids, Vec<String>> {
    let column = mapping.into_iter().flat_map(|it| &it.columns).find_map(|column| match &column.holds {
        Holds::Program(words) => Some(words),
        _ => None,
    });
    let some = |list| Ok(Ids { list, every: false });
    match (args.program.as_slice(), column) {
        ([only], None) => some(vec![only.clone()]),
        ([], None) => match catalog.shelf(0).as_slice() {
            [Ok(entry)] if args.rules.is_some() && !entry.is_advice => some(vec![entry.id.clone()]),
            _ => Err(one("which program? give --program ID, or map a column that holds it".to_owned())),
        },
        (_, None) => {
            Err(one("several programs need a column that says which; map it with holds = \"program\"".to_owned()))
        }
        ([], Some(words)) if words.is_empty() => Ok(Ids { list: catalog.ids(), every: true }),
        ([], Some(words)) => {
            let mut list: Vec<String> = words.iter().map(|(_, id)| id.clone()).collect();
            list.sort();
            list.dedup();
            some(list)
        }
        (several, Some(_)) => some(several.to_vec()),
    }
}

fn engine(program: &Program, options: Options) -> Result<Engine, Vec<String>> {
    Engine::new(program, options).map_err(|error| {
        one(match &error {
            SelectionError::NoSuchValue { known, .. } => format!("{error}; there are: {}", known.join(", ")),
            SelectionError::NoSuchName { .. } => error.to_string(),
        })
    })
}

fn judging(
    program: &Arc<Program>,
    options: &Options,
    against: Option<&Arc<Program>>,
    open: bool,
) -> Result<Judging, Vec<String>> {
    let own = |program: &Program| Options {
        known_on: options.known_on,
        takes: options
            .takes
            .iter()
            .filter(|take| names_to_take(program).any(|name| name == take.name))
            .cloned()
            .collect(),
        ..Options::default()
    };
    // Whether a question matters shows in the verdicts.
    let mut opened = Options { verdicts_alone: true, ..own(program) };
    opened.takes.retain(|take| !program.questions.iter().any(|question| question.id == take.name));
    for question in &program.questions {
        opened.takes.push(Under { name: question.id.clone(), value: "none".to_owned() });
    }
    let has_questions = open && !program.questions.is_empty();
    // Only whether the last outcome is possible is asked of these.
    let alone = |alone: Program| engine(&alone, Options { verdicts_alone: true, ..own(&alone) });
    let unread = unread_alone(program).map(alone).transpose()?;
    let announced = announced_alone(program).into_iter().map(|(id, it)| Ok((id, alone(it)?)));
    let announced = announced.collect::<Result<_, Vec<String>>>()?;
    Ok(Judging {
        announced,
        unread,
        id: program.id.clone(),
        engine: engine(program, own(program))?,
        open: has_questions.then(|| engine(program, opened)).transpose()?,
        against: against.map(|other| engine(other, own(other))).transpose()?,
    })
}

/// The program that is compared with: an id, or a program file.
fn against(text: &str, rules: Option<&PathBuf>) -> Result<Arc<Program>, Vec<String>> {
    let is_file = Path::new(text).extension().is_some_and(|ending| ending == files::ENDING);
    let disk = Disk::of(rules).map_err(one)?;
    if !is_file {
        let shelf: &dyn Files = &disk;
        return usable(text, &Catalog::new(vec![shelf, &BuiltIn]))
            .map(|asked| Arc::clone(asked.program()))
            .map_err(one);
    }
    let named = Disk::of([&PathBuf::from(text)]).map_err(one)?;
    let first: &dyn Files = &named;
    let catalog = Catalog::new(vec![first, &disk, &BuiltIn]);
    match catalog.shelf(0).into_iter().next() {
        Some(Ok(entry)) => usable(&entry.id, &catalog).map(|asked| Arc::clone(asked.program())).map_err(one),
        Some(Err(fault)) => Err(one(fault)),
        None => Err(one(format!("{text}: there is no such file"))),
    }
}
