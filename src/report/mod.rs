//! What a person or a program reads: records as text, tables and pages; the vocabulary; messages about program files as
//! text and JSON. It renders what it is given: it judges nothing, decides nothing and prints nothing.

#[cfg(all(feature = "audit", feature = "html"))]
pub mod audit;
#[cfg(all(feature = "audit", feature = "html"))]
pub mod audit_page;
#[cfg(feature = "html")]
pub mod beside;
pub mod brief;
mod brief_text;
mod cautions;
#[cfg(feature = "html")]
pub mod changed;
#[cfg(all(feature = "audit", feature = "html"))]
pub mod charts;
pub mod compare;
pub mod diagnostic;
pub mod draw;
pub mod exercise;
pub mod explain;
pub mod facts;
pub mod firmness;
pub mod harmless;
pub mod interview;
pub mod overview;
#[cfg(feature = "html")]
pub mod page;
#[cfg(feature = "html")]
pub mod pages;
pub mod picture;
pub mod questions;
pub mod reread;
pub mod schedule;
pub mod sentences;
pub mod sketch;
pub mod table;
pub mod text;
pub mod vectors;
pub mod warning;
