//! Fuzzes the parser and the formatter; what must hold is in `bodies/parse.rs`, which the ordinary tests replay on the seeds.
#![no_main]

#[path = "../bodies/parse.rs"]
mod body;

libfuzzer_sys::fuzz_target!(|data: &[u8]| body::one(data));
