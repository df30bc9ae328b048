//! The sentences that a ruling and a plan are told in, the same in text, JSON and on pages. Decides nothing, and knows no
//! form of output.

pub mod checks;
pub mod headline;
pub mod plan;
pub mod provisos;
pub mod recorded;
pub mod words;
pub mod wrap;
