//! Fuzzes the language server; what must hold is in `bodies/typed.rs`, which the ordinary tests replay on the seeds.
#![no_main]

#[path = "../bodies/typed.rs"]
mod body;

libfuzzer_sys::fuzz_target!(|data: &[u8]| body::one(data));
