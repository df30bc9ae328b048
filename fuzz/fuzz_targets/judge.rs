//! Fuzzes `judge`; what must hold is in `bodies/judge.rs`, which the ordinary tests replay on the seeds.
#![no_main]

#[path = "../bodies/judge.rs"]
mod body;

libfuzzer_sys::fuzz_target!(|data: &[u8]| body::one(data));
