//! Fuzzes the interpreter against the diagrams; what must hold is in `bodies/agree.rs`, which the ordinary tests replay
//! on the seeds.
#![no_main]

#[path = "../bodies/agree.rs"]
mod body;

libfuzzer_sys::fuzz_target!(|data: &[u8]| body::one(data));
