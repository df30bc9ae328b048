//! Programs by id: the built-in ones and those of other shelves, read and checked when first asked for, each once. What
//! a program adopts, and the tables beside its file, are found here too. Reads no file: texts come through [`Files`].

mod advice;
mod built_in;
pub mod cases;
mod list;
mod over;

pub use built_in::BuiltIn;
pub use over::Over;

use crate::check::{Adopt, Adoption, check};
use crate::diagnostic::{Diagnostic, Severity};
use crate::program::Program;
use crate::record::Ready;
use crate::source::Source;
use crate::syntax::{ast, parse, parse_without_cases};
use std::collections::{BTreeMap, BTreeSet};
use std::sync::{Arc, Mutex, PoisonError};

/// Where texts of programs come from. Several threads may ask at once.
pub trait Files: Sync {
    /// Names of the program files, as messages show them, in the order in which they are searched.
    fn names(&self) -> Vec<String>;

    /// The text of a program file.
    ///
    /// # Errors
    /// With a sentence that names the file.
    fn text(&self, name: &str) -> Result<String, String>;

    /// The text of a table's file beside a program file.
    fn beside(&self, name: &str, table: &str) -> Option<String>;

    /// Names of table files beside a program file, to suggest one.
    fn tables(&self, name: &str) -> Vec<String>;

    /// Whether its files were checked whole before they came here; a catalog for rulings then leaves their worked cases
    /// unread.
    fn were_checked(&self) -> bool {
        false
    }
}

/// A program file, read and checked.
#[derive(Debug, Clone)]
pub struct Entry {
    /// Id of the program; empty where the file does not say.
    pub id: String,
    /// Name and text of the file.
    pub source: Source,
    /// The tree of the file, for the places of its items.
    pub file: ast::File,
    /// The program; `None` where the file has errors.
    pub program: Option<Arc<Program>>,
    /// Every error and finding, by place.
    pub diagnostics: Vec<Diagnostic>,
    /// Whether it is the file of advice shared by all programs.
    pub is_advice: bool,
    /// Every text that the program was made of, by name: its own, what it adopts, tables, advice.
    pub texts: Arc<BTreeMap<String, String>>,
    /// Levels of adoption beneath it.
    depth: usize,
}

impl Entry {
    /// The program made ready for rulings; `None` where the file has errors.
    #[must_use]
    pub fn ready(&self) -> Option<Ready> {
        self.program.as_ref().map(|program| Ready::new(Arc::clone(program), Arc::clone(&self.texts)))
    }

    /// Whether the file has errors.
    #[must_use]
    pub fn is_faulty(&self) -> bool {
        self.diagnostics.iter().any(|diagnostic| diagnostic.severity == Severity::Error)
    }
}

/// Why there is no program of an id.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[non_exhaustive]
pub enum CatalogError {
    /// No file holds it.
    #[error("there is no program `{id}`")]
    Missing {
        /// Id asked for.
        id: String,
        /// Ids there are.
        known: Vec<String>,
    },
    /// A file cannot be read.
    #[error("{0}")]
    Unreadable(String),
}

/// Name of a file on a shelf.
type Place = (usize, String);

/// Programs on shelves, the first shelf first.
#[derive(Default)]
pub struct Catalog<'f> {
    shelves: Vec<&'f dyn Files>,
    is_for_rulings: bool,
    read: Mutex<BTreeMap<Place, Result<Arc<Entry>, String>>>,
}

impl std::fmt::Debug for Catalog<'_> {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Catalog").field("shelves", &self.shelves.len()).finish_non_exhaustive()
    }
}

impl<'f> Catalog<'f> {
    /// A catalog over shelves; of two programs of one id, that of the earlier shelf stands.
    #[must_use]
    pub fn new(shelves: Vec<&'f dyn Files>) -> Catalog<'f> {
        Catalog { shelves, is_for_rulings: false, read: Mutex::default() }
    }

    /// As [`Catalog::new`], for rulings: worked cases of files that were checked before are
    /// not read. Programs hold the rest as ever.
    #[must_use]
    pub fn for_rulings(shelves: Vec<&'f dyn Files>) -> Catalog<'f> {
        Catalog { shelves, is_for_rulings: true, read: Mutex::default() }
    }

    /// Ids of all programs, sorted; a file that says no id is left out.
    #[must_use]
    pub fn ids(&self) -> Vec<String> {
        let ids: BTreeSet<String> = self.places().into_iter().filter_map(|place| self.id_at(&place)).collect();
        ids.into_iter().collect()
    }

    /// The program of an id.
    ///
    /// # Errors
    /// Where no file holds it or the file cannot be read. A program with errors is an entry without `program`.
    pub fn find(&self, id: &str) -> Result<Arc<Entry>, CatalogError> {
        self.find_on_way(id, &[])
    }

    /// All entries of one shelf, in order; the text of the failure where a file cannot be read.
    #[must_use]
    pub fn shelf(&self, shelf: usize) -> Vec<Result<Arc<Entry>, String>> {
        let names = self.shelves.get(shelf).map(|files| files.names()).unwrap_or_default();
        names.into_iter().map(|name| self.entry(&(shelf, name), &[])).collect()
    }

    /// The file of a name, of the first shelf that has it; `None` where none has or it cannot be read.
    #[must_use]
    pub fn file(&self, name: &str) -> Option<Arc<Entry>> {
        let place = self.places().into_iter().find(|(_, known)| known == name)?;
        self.entry(&place, &[]).ok()
    }

    fn places(&self) -> Vec<Place> {
        let shelves = self.shelves.iter().enumerate();
        shelves.flat_map(|(shelf, files)| files.names().into_iter().map(move |name| (shelf, name))).collect()
    }

    fn find_on_way(&self, id: &str, way: &[String]) -> Result<Arc<Entry>, CatalogError> {
        // A file is named by its program as a rule; only where none is are the files looked into.
        let places = self.places();
        for shelf in 0..self.shelves.len() {
            let mut here: Vec<&Place> = places.iter().filter(|place| place.0 == shelf).collect();
            here.sort_by_key(|(_, name)| stem(name) != id);
            let found = here.into_iter().find(|place| self.id_at(place).as_deref() == Some(id));
            if let Some(place) = found {
                return self.entry(place, way).map_err(CatalogError::Unreadable);
            }
        }
        Err(CatalogError::Missing { id: id.to_owned(), known: self.ids() })
    }

    /// The id that a file says, without checking it.
    fn id_at(&self, place: &Place) -> Option<String> {
        if let Some(read) = self.memory().get(place) {
            return read.as_ref().ok().map(|entry| entry.id.clone()).filter(|id| !id.is_empty());
        }
        let text = self.shelves.get(place.0)?.text(&place.1).ok()?;
        quick_id(&text)
    }

    fn memory(&self) -> std::sync::MutexGuard<'_, BTreeMap<Place, Result<Arc<Entry>, String>>> {
        self.read.lock().unwrap_or_else(PoisonError::into_inner)
    }

    fn entry(&self, place: &Place, way: &[String]) -> Result<Arc<Entry>, String> {
        if let Some(known) = self.memory().get(place) {
            return known.clone();
        }
        let made = self.make(place, way).map(Arc::new);
        self.memory().insert(place.clone(), made.clone());
        made
    }

    fn make(&self, place: &Place, way: &[String]) -> Result<Entry, String> {
        let (shelf, name) = place;
        let files = *self.shelves.get(*shelf).ok_or("no such shelf")?;
        let text = files.text(name)?;
        let source = Source::new(name, &text);
        let parsed =
            if self.is_for_rulings && files.were_checked() { parse_without_cases(&source) } else { parse(&source) };
        let id = program_id(&parsed.file).unwrap_or_default();
        let is_advice = advice::is_shared(&parsed.file);
        let beside = Beside {
            catalog: self,
            files,
            name,
            way: way.iter().cloned().chain([id.clone()]).collect(),
            found: Mutex::default(),
        };
        let checked = match is_advice {
            true => check(&advice::as_program(parsed.file.clone()), &beside),
            false => check(&parsed.file, &beside),
        };
        let mut diagnostics = parsed.diagnostics;
        let has_errors = diagnostics.iter().any(|diagnostic| diagnostic.severity == Severity::Error);
        // An item that could not be read would be missed by others: only what no missing item can explain is told.
        diagnostics.extend(checked.diagnostics.into_iter().filter(|it| !has_errors || !may_follow(it)));
        diagnostics.sort_by_key(|diagnostic| diagnostic.labels.first().map(|label| label.span));
        let mut program = checked.program.filter(|_| !has_errors);
        let Found { mut texts, depth } = beside.found.into_inner().unwrap_or_else(PoisonError::into_inner);
        if let (Some(program), false) = (program.as_mut(), is_advice) {
            texts.extend(self.add_advice(program));
        }
        if program.as_ref().is_some_and(|program| program.areas.state().is_some()) {
            texts.insert("counties.csv".to_owned(), crate::model::county::LIST.to_owned());
        }
        texts.insert(format!("{}.wherefore", if id.is_empty() { stem(name) } else { &id }), text);
        let program = program.map(Arc::new);
        Ok(Entry { id, source, file: parsed.file, program, diagnostics, is_advice, texts: Arc::new(texts), depth })
    }

    /// Gives a program without advice of its own the shared advice.
    fn add_advice(&self, program: &mut Program) -> Option<(String, String)> {
        if !program.advice.is_empty() {
            return None;
        }
        let place = self.places().into_iter().find(|(_, name)| stem(name) == advice::STEM)?;
        let entry = self.entry(&place, &[]).ok()?;
        advice::add(program, entry.program.as_deref()?);
        Some((format!("{}.wherefore", advice::STEM), entry.source.text().to_owned()))
    }
}

/// Messages that an item left out of the tree can cause elsewhere: a name it would have given, a part it would have been.
fn may_follow(diagnostic: &Diagnostic) -> bool {
    const CODES: [&str; 19] = [
        "check/unknown-clause",
        "check/unknown-code-group",
        "check/unknown-fact",
        "check/unknown-finding",
        "check/unknown-limit",
        "check/unknown-outcome",
        "check/unknown-question",
        "check/unknown-reading",
        "check/unknown-source",
        "check/unknown-table",
        "check/part-missing",
        "check/ordinary-missing",
        "check/case-incomplete",
        "check/clause-without-line",
        "check/class-missing",
        "check/first-not-pass",
        "check/replaces-nothing",
        "check/strikes-nothing",
        "check/reading-gone",
    ];
    CODES.contains(&diagnostic.code)
}

/// The program's id in the tree.
fn program_id(file: &ast::File) -> Option<String> {
    file.items.iter().find_map(|item| match &item.kind {
        ast::Kind::Program { id, .. } => Some(id.node.clone()),
        _ => None,
    })
}

/// The id in the first line that begins with `program`: enough to find a file, without reading it whole.
fn quick_id(text: &str) -> Option<String> {
    program_line(text).map(|(_, id)| id)
}

/// The number, from 1, of the first line of a text that begins with `program`, and the id in it: what a file is found by.
#[must_use]
pub fn program_line(text: &str) -> Option<(usize, String)> {
    let (at, line) = text.lines().enumerate().find(|(_, line)| line.starts_with("program "))?;
    line.split_whitespace().nth(1).map(|id| (at.saturating_add(1), id.to_owned()))
}

/// The name of a file without its folders and ending.
fn stem(name: &str) -> &str {
    let file = name.rsplit(['/', '\\']).next().unwrap_or(name);
    file.strip_suffix(".wherefore").unwrap_or(file)
}

/// What was found for a file while it was checked.
#[derive(Default)]
struct Found {
    texts: BTreeMap<String, String>,
    depth: usize,
}

/// What stands beside a file: other programs and tables.
struct Beside<'c, 'f> {
    catalog: &'c Catalog<'f>,
    files: &'f dyn Files,
    name: &'c str,
    way: Vec<String>,
    found: Mutex<Found>,
}

impl Adopt for Beside<'_, '_> {
    fn program(&self, id: &str) -> Adoption {
        if let Some(at) = self.way.iter().position(|known| known == id) {
            return Adoption::Cycle(self.way.iter().skip(at).cloned().chain([id.to_owned()]).collect());
        }
        match self.catalog.find_on_way(id, &self.way) {
            Ok(entry) => match &entry.program {
                Some(program) => {
                    let mut found = self.found.lock().unwrap_or_else(PoisonError::into_inner);
                    found.texts.extend(entry.texts.iter().map(|(name, text)| (name.clone(), text.clone())));
                    found.depth = found.depth.max(entry.depth.saturating_add(1));
                    Adoption::Found { program: Arc::clone(program), depth: entry.depth }
                }
                None => Adoption::Faulty,
            },
            Err(CatalogError::Missing { known, .. }) => Adoption::Missing { known },
            Err(CatalogError::Unreadable(_)) => Adoption::Faulty,
        }
    }

    fn table(&self, name: &str) -> Option<String> {
        let text = self.files.beside(self.name, name)?;
        let mut found = self.found.lock().unwrap_or_else(PoisonError::into_inner);
        found.texts.insert(name.to_owned(), text.clone());
        Some(text)
    }

    fn tables(&self) -> Vec<String> {
        self.files.tables(self.name)
    }
}
