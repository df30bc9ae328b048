//! Fuzzes `decode`; what must hold is in `bodies/decode.rs`, which the ordinary tests replay on the seeds.
#![no_main]

#[path = "../bodies/decode.rs"]
mod body;

libfuzzer_sys::fuzz_target!(|data: &[u8]| body::one(data));
