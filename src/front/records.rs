//! Many records at once, as Arrow record batches (feature `arrow`).

use super::{Error, Programs, Request};
use crate::audit::Judging;
use crate::audit::batches;
use crate::audit::mapping::{self, Holds};
use crate::bulk::Options;
use arrow_array::RecordBatch;
use arrow_schema::Schema;

/// What a mapping and programs make of record batches: see [`Programs::batches`]. Threads may share it.
///
/// ```
/// use wherefore::{Programs, Request};
/// let mapping = include_str!(concat!(env!("CARGO_MANIFEST_DIR"), "/examples/larkspur/invented.toml"));
/// let batches = Programs::built_in().batches(mapping, Some("us-model"), &Request::new())?;
/// assert!(batches.columns().count() > 0);
/// # Ok::<(), wherefore::Error>(())
/// ```
#[derive(Debug)]
pub struct Batches {
    inner: batches::Batches,
}

impl Batches {
    /// Names of the columns that are read.
    pub fn columns(&self) -> impl Iterator<Item = &str> {
        self.inner.columns()
    }

    /// Judges a batch: one row comes back for each, in the same order, with the columns of [`batches_schema`]. A row
    /// that cannot be judged has the reason in `set_aside` and no verdict.
    ///
    /// # Errors
    /// [`Error::Mapping`]: a column that is not there or of a type that the mapping cannot read; a fault of this library.
    pub fn judge(&self, batch: &RecordBatch) -> Result<RecordBatch, Error> {
        self.inner.judge(batch).map_err(|faults| Error::Mapping { faults })
    }
}

/// The schema of the batches that come back; texts are dictionaries.
#[must_use]
pub fn batches_schema() -> Schema {
    batches::schema()
}

impl Programs {
    /// What a mapping (the text of a mapping file, `grammar/mapping.md`) and a program make of record batches. Without a
    /// program, the mapping's column that says which holds ids: those that it names, or any.
    ///
    /// # Errors
    /// [`Error::Mapping`] with every fault of the mapping or of how it goes with the programs; else as for
    /// [`Programs::get`].
    pub fn batches(&self, mapping: &str, program: Option<&str>, request: &Request) -> Result<Batches, Error> {
        let mapping = mapping::read(mapping)
            .map_err(|faults| Error::Mapping { faults: faults.iter().map(ToString::to_string).collect() })?;
        let column = mapping.columns.iter().find_map(|column| match &column.holds {
            Holds::Program(words) => Some(words),
            _ => None,
        });
        let ids: Vec<String> = match (program, column) {
            (Some(id), _) => vec![id.to_owned()],
            (None, None) => Vec::new(),
            (None, Some(words)) if words.is_empty() => self.ids(),
            (None, Some(words)) => {
                let ids: std::collections::BTreeSet<&String> = words.iter().map(|(_, id)| id).collect();
                ids.into_iter().cloned().collect()
            }
        };
        let options =
            Options { known_on: request.inner.known_on, takes: request.inner.takes.clone(), ..Options::default() };
        let mut judging = Vec::new();
        for id in &ids {
            let found = self.get(id)?;
            let one = Judging::new(found.program(), &options);
            judging.push(one.map_err(|error| Error::Ruling { reason: error.to_string() })?);
        }
        let inner = batches::Batches::new(mapping, judging).map_err(|faults| Error::Mapping { faults })?;
        Ok(Batches { inner })
    }
}
