//! The columnar evaluator: a flat program, for the columns of a batch, as a list of word operations on bit planes, 64
//! records a word. `graph` holds functions, `shape` what the columns are, `facts` what each fact can be, `condition` and
//! `verdict` what the program says, `plan` the list of operations, `load` and `run` carry it out.
//!
//! It is the interpreter's own walk ([`crate::evaluate::Meaning`]) over another kind of truth: where something surely holds and
//! where perhaps, for 64 records at once. A record of which it leaves anything open, or that it cannot read, is marked *open*
//! and answered exactly by the diagrams ([`super::exact`]), which share nothing with the walk.

mod condition;
mod facts;
mod graph;
mod load;
mod narrow;
mod plan;
mod run;
mod shape;
mod verdict;
mod words;

#[cfg(test)]
mod tests;

pub(crate) use plan::Plan;
pub(crate) use run::{Outcome, run};
pub(crate) use shape::Shape;
pub(crate) use words::{BLOCK, WORDS};
