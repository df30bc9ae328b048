//! The snapshot document: JSON text to a [`Snapshot`] and back, and the JSON Schema of it. Every key, word and range
//! comes from the table of facts. Reading never guesses and never stops at the first fault; it does not judge, and it
//! does not look for readings that contradict each other (`model::Facts` does).

mod allowed;
pub mod answer;
mod fault;
mod key;
mod read;
mod schema;
mod tree;
mod value;
mod write;

pub use allowed::allowed;
pub use fault::{Fault, FaultKind};
pub use key::{MAX_DECLARED_NAME, MAX_TEXT, other_unit_keys, passed_through_keys};
pub use read::{MAX_DOCUMENT_BYTES, json_reason, read, read_all, read_tree};
pub use schema::schema;
pub use tree::{MAX_DEPTH, MAX_ENTRIES, Node};
pub use value::parse_date;
pub use write::{write, write_value};

use crate::model::Snapshot;

/// The format that every snapshot document names.
pub const FORMAT: &str = "wherefore-snapshot/1";

/// A snapshot with what its document says beyond the facts.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Document {
    /// The facts.
    pub snapshot: Snapshot,
    /// What is passed through and never judged by: provenance (`from`), flags (`quality`), the monitors of this driving
    /// cycle (`this_cycle.*`), identity (`link.vin`, …), by path in canonical order.
    pub extra: Vec<(String, Node)>,
}
