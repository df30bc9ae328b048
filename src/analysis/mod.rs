//! The questions asked of a program's diagrams: what is wrong with it ([`warnings`]), what leads a vehicle to its goal
//! ([`next`]), which question to ask first ([`ask`]), which vehicles test it best ([`cases`]), where two of its texts
//! differ ([`compare()`]). Each answer is exact, with an example vehicle; the engine is [`crate::diagram`].

pub mod ask;
pub mod cases;
pub mod compare;
pub mod next;
pub mod warnings;

pub use compare::{Change, Comparison, compare};
