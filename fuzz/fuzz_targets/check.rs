//! Fuzzes `check`; what must hold is in `bodies/check.rs`, which the ordinary tests replay on the seeds.
#![no_main]

#[path = "../bodies/check.rs"]
mod body;

libfuzzer_sys::fuzz_target!(|data: &[u8]| body::one(data));
