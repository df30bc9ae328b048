//! Exact answers: a flat program as decision diagrams. Values of each fact are put into classes that the program treats
//! alike, the program becomes reduced ordered diagrams over them, and every question (what is possible, what matters,
//! what differs, how many) is then a walk over a diagram: exact, with an example vehicle and a count.
//!
//! Nothing here reads text, draws, or judges one vehicle step by step: the interpreter does that, independently, and the
//! two must agree on every input. What is shared is [`crate::program::Flat`], [`crate::program::Given`] and the
//! vocabulary.

pub mod allowed;
pub mod codes;
pub(crate) mod compile;
pub mod count;
pub(crate) mod counting;
pub(crate) mod cubes;
pub mod cuts;
pub mod exact;
pub mod example;
pub mod forest;
pub mod kernel;
pub mod level;
pub(crate) mod listed;
pub(crate) mod memo;
pub(crate) mod numbers;
pub mod prepared;
pub mod space;
pub mod walk;
pub mod words;

pub use compile::Compiler;
pub use count::Count;
pub use cubes::{Cover, Cube};
pub use exact::{Exact, LineState, Sureness};
pub use example::Example;
pub use forest::{Forest, Join, Node, TooLarge};
pub use kernel::{Compiled, Nodes, anything};
pub use prepared::Prepared;
pub use space::Space;

/// The most nodes that the diagrams of one question may have. Shipped programs need a few thousand.
pub const BUDGET: usize = 400_000;

/// Why there is no exact answer.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
#[non_exhaustive]
pub enum Error {
    /// The diagram outgrew its budget.
    #[error(transparent)]
    TooLarge(#[from] TooLarge),
    /// No vehicle that can exist agrees with what is given.
    #[error("what is given contradicts itself: no vehicle that can exist shows all of it")]
    Contradiction,
}

#[cfg(test)]
mod tests;
