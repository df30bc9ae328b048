//! Many records at once: what their columns mean, how the recorded results differ from the program, and what an auditor
//! counts. Pure: readers and writers of files are the front end's business; drawing the summary is `report`'s.

mod fields;
pub mod invent;
pub mod mapping;
mod memo;
mod store;

pub use fields::{Aside, Fields, Lot, NONE, Table, aside, constants};
pub use store::{Bits, Held, Misfit, Store, Values, meanings, possible};
