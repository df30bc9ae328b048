//! The front door: programs, snapshots, rulings, with everything behind them put together. What the crate's root
//! re-exports stands here; the modules beneath are the workshop.

mod comparison;
mod conformance;
mod error;
mod plan;
mod programs;
mod questions;
#[cfg(feature = "arrow")]
mod records;
mod request;
mod row;
mod rows;
mod ruling;
mod snapshot;
mod told;
mod words;

pub use comparison::Comparison;
pub use conformance::{CONFORMANCE, Case, Vehicles};
pub use error::Error;
pub use plan::Plan;
pub use programs::{Program, Programs};
pub use questions::{Question, Questions};
#[cfg(feature = "arrow")]
pub use records::{Batches, batches_schema};
pub use request::Request;
pub use row::{Row, RowEngine, RowReason, RowRuling};
pub use rows::{Rows, RowsJudged};
pub use ruling::{Reason, Ruling, Verdict};
pub use snapshot::{Seen, Snapshot, SnapshotBuilder};
pub use words::{Communication, Connector, Fuel, Ignition, Protocol, Purpose, VehicleClass, VisitKind};

pub use crate::diagnostic::{Diagnostic, Fix, Label, Severity};
pub use crate::document::{Fault, FaultKind};
pub use crate::model::{Date, Monitor, MonitorState, TroubleCode};
pub use crate::program::Class;
pub use crate::source::Span;

/// The vocabulary of facts as JSON, for hosts that make forms of it: what `wherefore facts --format json` prints.
#[must_use]
pub fn facts_json() -> String {
    crate::report::facts::json()
}
