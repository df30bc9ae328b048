//! The rooms behind the front door: for the command-line program, the tests, the benches and the fuzz targets of this
//! project. Nothing in here is promised; it changes in any version.

#[path = "analysis/mod.rs"]
pub mod analysis;
#[cfg(feature = "arrow")]
#[path = "audit/mod.rs"]
pub mod audit;
#[path = "bulk/mod.rs"]
pub mod bulk;
#[path = "catalog/mod.rs"]
pub mod catalog;
#[path = "certificate/mod.rs"]
pub mod certificate;
#[path = "check/mod.rs"]
pub mod check;
#[cfg(feature = "cli")]
#[doc(hidden)]
#[path = "cli/mod.rs"]
pub mod cli;
#[path = "decode/mod.rs"]
pub mod decode;
#[path = "desk/mod.rs"]
pub mod desk;
#[path = "diagnostic/mod.rs"]
pub mod diagnostic;
#[path = "diagram/mod.rs"]
pub mod diagram;
#[path = "document/mod.rs"]
pub mod document;
#[path = "evaluate/mod.rs"]
pub mod evaluate;
#[cfg(feature = "lsp")]
#[path = "lsp/mod.rs"]
pub mod lsp;
#[path = "model/mod.rs"]
pub mod model;
#[path = "program/mod.rs"]
pub mod program;
#[path = "report/mod.rs"]
pub mod report;
#[path = "ruling/mod.rs"]
pub mod ruling;
#[path = "source/mod.rs"]
pub mod source;
#[path = "syntax/mod.rs"]
pub mod syntax;
