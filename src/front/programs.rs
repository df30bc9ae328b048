//! Programs by id, and one program.

use super::{Error, Request, Ruling, Snapshot};
use crate::catalog::{BuiltIn, Catalog, CatalogError, Entry, Files};
use crate::document::Document;
use crate::program;
use crate::record::Ready;
use std::collections::BTreeMap;
use std::sync::{Arc, Mutex, PoisonError};

static BUILT_IN: BuiltIn = BuiltIn;

/// The programs at hand: those built in, and before them those of texts that a host gives. Each is read and checked when
/// it is first asked for. Clones share what was read.
///
/// ```
/// let programs = wherefore::Programs::built_in();
/// assert!(programs.ids().contains(&"us-ca".to_owned()));
/// ```
#[derive(Debug, Clone, Default)]
pub struct Programs {
    texts: Arc<Texts>,
    read: Arc<Mutex<BTreeMap<String, Program>>>,
}

impl Programs {
    /// The programs built into the crate.
    #[must_use]
    pub fn built_in() -> Programs {
        Programs::default()
    }

    /// Texts of program files and of the tables beside them, by file name, before the built-in programs: of two programs
    /// of one id that of the texts stands.
    #[must_use]
    pub fn from_texts(texts: impl IntoIterator<Item = (String, String)>) -> Programs {
        Programs { texts: Arc::new(Texts { files: texts.into_iter().collect() }), read: Arc::default() }
    }

    /// The program of one text.
    ///
    /// # Errors
    /// [`Error::ProgramText`] with every error of the text.
    pub fn from_text(text: &str) -> Result<Program, Error> {
        let programs = Programs::from_texts([("program.wherefore".to_owned(), text.to_owned())]);
        let shelf = Catalog::new(programs.shelves()).shelf(0);
        match shelf.into_iter().next() {
            Some(Ok(entry)) => Program::of(&entry),
            Some(Err(reason)) => Err(Error::Ruling { reason }),
            None => Err(Error::NoSuchProgram { id: String::new(), known: Vec::new() }),
        }
    }

    /// Ids of all programs, sorted.
    #[must_use]
    pub fn ids(&self) -> Vec<String> {
        Catalog::for_rulings(self.shelves()).ids()
    }

    /// The program of an id.
    ///
    /// # Errors
    /// [`Error::NoSuchProgram`] with the ids there are; [`Error::ProgramText`] where its text has errors.
    pub fn get(&self, id: &str) -> Result<Program, Error> {
        let mut read = self.read.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some(program) = read.get(id) {
            return Ok(program.clone());
        }
        let entry = Catalog::for_rulings(self.shelves()).find(id).map_err(|error| match error {
            CatalogError::Missing { id, known } => Error::NoSuchProgram { id, known },
            CatalogError::Unreadable(reason) => Error::Ruling { reason },
        })?;
        let program = Program::of(&entry)?;
        read.insert(id.to_owned(), program.clone());
        Ok(program)
    }

    pub(super) fn shelves(&self) -> Vec<&dyn Files> {
        vec![&*self.texts, &BUILT_IN]
    }
}

/// Texts by name.
#[derive(Debug, Default)]
struct Texts {
    files: BTreeMap<String, String>,
}

impl Files for Texts {
    fn names(&self) -> Vec<String> {
        self.files.keys().filter(|name| name.ends_with(".wherefore")).cloned().collect()
    }

    fn text(&self, name: &str) -> Result<String, String> {
        self.files.get(name).cloned().ok_or_else(|| format!("there is no text `{name}`"))
    }

    fn beside(&self, _: &str, table: &str) -> Option<String> {
        self.files.get(table).cloned()
    }

    fn tables(&self, _: &str) -> Vec<String> {
        self.files.keys().filter(|name| !name.ends_with(".wherefore")).cloned().collect()
    }
}

/// One program, read and checked.
///
/// ```
/// use wherefore::{Programs, Snapshot};
/// let program = Programs::built_in().get("us-il")?;
/// let snapshot = Snapshot::from_json(br#"{"format": "wherefore-snapshot/1", "visit": {"date": "2026-11-28"}}"#)?;
/// let ruling = program.judge(&snapshot)?;
/// assert_eq!(ruling.verdict().name(), "undecided");
/// # Ok::<(), wherefore::Error>(())
/// ```
#[derive(Debug, Clone)]
pub struct Program {
    ready: Arc<Ready>,
}

impl Program {
    fn of(entry: &Entry) -> Result<Program, Error> {
        match entry.ready() {
            Some(ready) => Ok(Program { ready: Arc::new(ready) }),
            None => Err(Error::ProgramText { diagnostics: entry.diagnostics.clone() }),
        }
    }

    pub(super) fn program(&self) -> &Arc<program::Program> {
        self.ready.program()
    }

    /// Id, `us-ca`.
    #[must_use]
    pub fn id(&self) -> &str {
        &self.program().id
    }

    /// The title of the program as its file gives it, for people.
    #[must_use]
    pub fn title(&self) -> &str {
        &self.program().title
    }

    /// Authority that runs it.
    #[must_use]
    pub fn authority(&self) -> &str {
        &self.program().authority
    }

    /// Rules on a vehicle by the law of the visit's date.
    ///
    /// # Errors
    /// [`Error::Ruling`] where the snapshot has no date of the visit or its readings contradict each other.
    pub fn judge(&self, snapshot: &Snapshot) -> Result<Ruling, Error> {
        self.judge_with(snapshot, &Request::new())
    }

    /// Rules on a vehicle as asked.
    ///
    /// # Errors
    /// [`Error::Ruling`] where no date says which law applies, readings contradict each other, or the request takes a
    /// reading that the program does not have.
    pub fn judge_with(&self, snapshot: &Snapshot, request: &Request) -> Result<Ruling, Error> {
        let document: &Document = &snapshot.document;
        self.ready
            .rule(document, &request.inner)
            .map(|record| Ruling { record })
            .map_err(|reason| Error::Ruling { reason })
    }
}
