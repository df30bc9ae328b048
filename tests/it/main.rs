//! The one integration binary: every module here tests the crate from outside.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing,
    clippy::string_slice,
    clippy::as_conversions,
    clippy::print_stdout,
    clippy::duplicate_mod,
    clippy::type_complexity,
    clippy::float_arithmetic,
    dead_code,
    reason = "tests may stop at the first wrong thing"
)]

mod adopting;
mod agree;
#[cfg(feature = "html")]
mod all_programs;
mod answers;
mod areas;
mod asking;
#[cfg(feature = "audit")]
mod audit;
mod bulk;
mod cases;
mod cases_named;
mod check;
mod cli;
mod cli_exact;
mod counter;
mod coverage;
mod decode_aggregate;
mod decode_bad_input;
mod decode_captures;
mod decode_files;
mod decode_forms;
mod decode_options;
mod decode_order;
mod decode_properties;
mod decode_real;
mod decode_support;
mod decode_vectors;
mod decode_vin;
mod dependencies;
mod desk;
mod diagram;
mod document;
mod epochs;
mod every;
mod exercise;
mod explained;
mod faults;
mod federal_floor;
mod first_tries;
mod front;
mod fuzz_run;
mod fuzz_seeds;
mod guide;
mod headline;
mod headline_unread;
mod hosts;
mod house;
mod kept_records;
mod kernel;
mod language_two;
mod limits;
mod lints_exact;
#[cfg(all(feature = "lsp", feature = "cli"))]
mod lsp;
mod older_words;
mod papers;
mod parts;
mod practice;
mod presumed;
mod process;
mod proof;
mod proved;
mod readme;
mod ready;
mod replay;
mod results;
mod ruling_exact;
mod ruling_parts;
mod select;
mod shares;
mod symbolic;
mod syntax;
mod syntax_any_text;
mod syntax_format;
mod told;
mod worked_cases;
mod written_once;
