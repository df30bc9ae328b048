//! Fuzzes Arrow columns with a mapping; what must hold is in `bodies/columns.rs`, which the ordinary tests replay on the seeds.
#![no_main]

#[path = "../bodies/columns.rs"]
mod body;

libfuzzer_sys::fuzz_target!(|data: &[u8]| body::one(data));
