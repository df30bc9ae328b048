//! What stands in the place of Parquet's reader and writer where the program is built without them: each file of that
//! form is refused, with what to do.

use super::input::Input;
use crate::audit::arrow::Shown;
use crate::audit::mapping::Mapping;
use crate::audit::{Fields, Lot};
use crate::cli::beside::Beside;
use crate::cli::files;
use arrow_array::ArrayRef;
use arrow_schema::Schema;
use std::convert::Infallible;
use std::sync::Arc;
use std::sync::atomic::AtomicU64;

fn refused(name: &str) -> String {
    format!(
        "{name}: is Parquet, which this wherefore was built without; `cargo install --locked --path .` builds it with \
         Parquet, or take CSV or JSON Lines"
    )
}

/// There is none.
pub(super) struct Columns(Infallible);

impl Columns {
    pub(super) fn open(input: &Input, _mapping: &Mapping, _read: &Arc<AtomicU64>) -> Result<Columns, String> {
        Err(refused(&files::shown(&input.path)))
    }

    pub(super) fn groups(&self) -> usize {
        match self.0 {}
    }

    pub(super) fn batches(&self, _group: usize) -> Result<Batches, String> {
        match self.0 {}
    }
}

/// There are none.
pub(super) struct Batches(Infallible);

impl Batches {
    pub(super) fn next(&mut self, _fields: &mut Fields) -> Result<Option<(Lot, Option<Shown>)>, String> {
        match self.0 {}
    }
}

pub(super) fn sample(input: &Input, _most: usize) -> Result<(Vec<String>, Vec<Vec<String>>), String> {
    Err(refused(&files::shown(&input.path)))
}

/// There is none.
pub(super) struct Written(Infallible);

impl Written {
    pub(super) fn create(file: Beside, _schema: Schema) -> Result<Written, String> {
        Err(refused(&file.name()))
    }

    pub(super) fn write(&mut self, _columns: Vec<ArrayRef>) -> Result<(), String> {
        match self.0 {}
    }

    pub(super) fn finish(self) -> Result<Beside, String> {
        match self.0 {}
    }
}
