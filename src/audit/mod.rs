//! Many records at once: what their columns mean, how the recorded results differ from the program, and what an auditor
//! counts. Pure: readers and writers of files are the front end's business; drawing the summary is `report`'s.

mod arrays;
pub mod arrow;
pub mod batches;
mod consistent;
mod cut;
mod difference;
mod done;
pub mod federal;
mod fields;
pub mod header;
pub mod invent;
pub mod json;
mod leaf;
mod lot;
pub mod mapping;
mod memo;
mod plain;
mod profile;
mod said;
mod silent;
mod store;
mod summary;
mod table;
mod tally;
mod whose;

pub use cut::{Cut, Ragged, cut, line_ends};
pub use difference::Standing;
pub use done::{Done, NO_OUTCOME, Outcome};
pub use fields::{Fields, constants};
pub use lot::{Judging, Worker};
pub use said::Said;
pub use store::{Bits, Held, Misfit, Store, Values, meanings, possible};
pub use summary::{ByClass, Change, Counted, Difference, Example, LISTED, Remarks, Repeated, Summary};
pub use table::{Aside, EMPTY_LIST, Lot, MISSING, NONE, PADDING, Table, aside};
pub use tally::{Place, Readings, Results, Tally};
