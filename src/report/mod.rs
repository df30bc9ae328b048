//! What a person or a program reads: rulings as text, JSON and pages; the vocabulary; messages about program files as
//! JSON; digests. The only place that knows output formats. It decides nothing and prints nothing.

mod announced;
#[cfg(all(feature = "audit", feature = "html"))]
pub mod audit;
#[cfg(all(feature = "audit", feature = "html"))]
pub mod audit_page;
pub mod brief;
#[cfg(all(feature = "audit", feature = "html"))]
pub mod charts;
pub mod compare;
pub mod diagnostic;
pub mod digest;
pub mod draw;
pub mod explain;
pub mod facts;
pub mod finding;
pub mod firmness;
pub mod harmless;
pub mod headline;
pub mod interview;
pub mod overview;
#[cfg(feature = "html")]
pub mod page;
#[cfg(feature = "html")]
pub mod pages;
pub mod picture;
pub mod plan;
mod plan_json;
pub mod questions;
pub mod record;
pub mod recorded;
pub mod replay;
pub mod reread;
pub mod rule;
pub mod schedule;
pub mod schema;
pub mod sentences;
pub mod sketch;
pub mod table;
pub mod text;
mod told_form;
pub mod vectors;
pub mod words;
pub mod wrap;

pub use record::Record;
