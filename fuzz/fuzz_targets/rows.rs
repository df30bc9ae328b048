//! Fuzzes CSV with mappings; what must hold is in `bodies/rows.rs`, which the ordinary tests replay on the seeds.
#![no_main]

#[path = "../bodies/rows.rs"]
mod body;

libfuzzer_sys::fuzz_target!(|data: &[u8]| body::one(data));
