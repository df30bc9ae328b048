//! Many records at once: columns in, columns out. A batch lends slices (Arrow arrays can be lent as they are), an
//! [`Engine`] judges each record by the law of its own test date, and [`Judged`] holds what may follow, exactly, with the
//! lines that decide.
//!
//! The same program is read here as everywhere: what is not given is *not known*, exclusions and presumptions narrow it
//! ([`crate::program::Given`]), and where more than one outcome is left the set is the exact one of the diagrams. A record
//! that cannot be judged is an entry of [`Judged::errors`] with its reason; the others are judged all the same.
//!
//! How it is used: one [`Engine`] for a program; a [`Batch`] of some thousand records (a multiple of 1024 is quickest)
//! with a [`Column`] for each fact that the records hold; [`Engine::judge`]. The engine can be shared by threads; a
//! record's result never depends on the batch, the thread or the records beside it. For a host that has one record at a
//! time there is [`RowEngine`], and [`Documents`] for one that is handed the JSON text of snapshots.
//!
//! This module reads no file, knows no file format and no array library, keeps no clock, and sums nothing up.

mod batch;
mod dates;
mod documents;
mod engine;
mod exact;
mod judged;
mod planes;
mod record;
mod rows;
mod signature;

pub use batch::{Batch, BatchError, Codes, Column, Dates, Known, Whole};
pub use documents::{DocumentError, Documents, Room, Ruled, Told};
pub use engine::{Engine, Options};
pub use exact::{Answer, Rules};
pub use judged::{Judged, Part, Plane, Row, RowError};
pub use rows::{Refused, Row as TypedRow, RowEngine, RowResult};
