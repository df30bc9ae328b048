//! Fuzzes hostile texts; what must hold is in `bodies/hostile.rs`, which the ordinary tests replay on the seeds.
#![no_main]

#[path = "../bodies/hostile.rs"]
mod body;

libfuzzer_sys::fuzz_target!(|data: &[u8]| body::one(data));
