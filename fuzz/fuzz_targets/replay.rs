//! Fuzzes edited rulings and proofs; what must hold is in `bodies/replay.rs`, which the ordinary tests replay on the seeds.
#![no_main]

#[path = "../bodies/replay.rs"]
mod body;

libfuzzer_sys::fuzz_target!(|data: &[u8]| body::one(data));
