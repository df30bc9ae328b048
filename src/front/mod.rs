//! The front door: programs, snapshots, rulings, with everything behind them put together. What the crate's root
//! re-exports stands here; the modules beneath are the workshop.

mod error;
mod programs;
mod request;
mod ruling;
mod snapshot;
mod words;

pub use error::Error;
pub use programs::{Program, Programs};
pub use request::Request;
pub use ruling::{Reason, Ruling, Verdict};
pub use snapshot::{Seen, Snapshot, SnapshotBuilder};
pub use words::{Communication, Connector, Fuel, Ignition, Protocol, Purpose, VehicleClass, VisitKind};

pub use crate::model::{Date, Monitor, MonitorState, TroubleCode};
pub use crate::program::Class;
