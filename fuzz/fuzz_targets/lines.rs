//! Fuzzes JSON Lines with mappings; what must hold is in `bodies/lines.rs`, which the ordinary tests replay on the seeds.
#![no_main]

#[path = "../bodies/lines.rs"]
mod body;

libfuzzer_sys::fuzz_target!(|data: &[u8]| body::one(data));
