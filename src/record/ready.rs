//! A program made ready for rulings on many documents: what is made of its text for a day of the visit (the law selected,
//! its digest, its diagrams) serves every document of that day. A ruling is the same as one made from nothing.

use super::request::{made, selection};
use super::{Record, Request, digest};
use crate::document::Document;
use crate::program::{Program, Selection};
use crate::ruling::{Prepared, Shared};
use std::collections::BTreeMap;
use std::sync::{Arc, Mutex, OnceLock, PoisonError};

/// The most days (or other requests) whose law is kept, those asked for last. Each holds diagrams of some hundred kB to some
/// 20 MB, and of its questions' other readings; laws that say the same share them.
const MOST: usize = 8;

/// A program with what is made of it; shared by threads as it is.
#[derive(Debug)]
pub struct Ready {
    program: Arc<Program>,
    texts: Arc<BTreeMap<String, String>>,
    files: OnceLock<BTreeMap<String, String>>,
    kept: Mutex<Vec<(Selection, Arc<Law>)>>,
    shared: Arc<Shared>,
}

/// The law as selected, made ready.
#[derive(Debug)]
pub(super) struct Law {
    pub(super) prepared: Prepared,
    digest: OnceLock<String>,
}

impl Law {
    pub(super) fn of(program: &Program, selection: &Selection, shared: &Arc<Shared>) -> Result<Law, String> {
        let flat = super::request::selected(program, selection)?;
        Ok(Law { prepared: Prepared::beside(flat, shared), digest: OnceLock::new() })
    }

    /// The digest of the law as selected.
    pub(super) fn digest(&self) -> &str {
        self.digest.get_or_init(|| digest::of(crate::program::dump(self.prepared.flat()).as_bytes()))
    }
}

impl Ready {
    /// A program, with the texts that it was made of.
    #[must_use]
    pub fn new(program: Arc<Program>, texts: Arc<BTreeMap<String, String>>) -> Ready {
        Ready { program, texts, files: OnceLock::new(), kept: Mutex::default(), shared: Arc::default() }
    }

    /// The program.
    #[must_use]
    pub fn program(&self) -> &Arc<Program> {
        &self.program
    }

    /// Rules on a document as [`Record::of`] does.
    ///
    /// # Errors
    /// With a sentence: no date, a reading or value there is not, readings that contradict each other.
    pub fn rule(&self, document: &Document, request: &Request) -> Result<Record, String> {
        let law = self.law(selection(&self.program, document, request)?)?;
        let files = || self.files.get_or_init(|| digest::of_each(&self.texts)).clone();
        made(&self.program, &law, files, document, request)
    }

    fn law(&self, selection: Selection) -> Result<Arc<Law>, String> {
        let kept = || self.kept.lock().unwrap_or_else(PoisonError::into_inner);
        let find = |kept: &mut Vec<(Selection, Arc<Law>)>| {
            let found = kept.remove(kept.iter().position(|(known, _)| *known == selection)?);
            let law = Arc::clone(&found.1);
            kept.push(found);
            Some(law)
        };
        if let Some(law) = find(&mut kept()) {
            return Ok(law);
        }
        // Others rule on meanwhile; one of them may come to the same law.
        let law = Arc::new(Law::of(&self.program, &selection, &self.shared)?);
        let mut kept = kept();
        if let Some(law) = find(&mut kept) {
            return Ok(law);
        }
        if kept.len() >= MOST {
            kept.remove(0);
        }
        kept.push((selection, Arc::clone(&law)));
        Ok(law)
    }
}
