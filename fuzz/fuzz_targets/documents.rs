//! Fuzzes snapshot texts through `bulk::Documents`; what must hold is in `bodies/documents.rs`, which the ordinary tests replay on the seeds.
#![no_main]

#[path = "../bodies/documents.rs"]
mod body;

libfuzzer_sys::fuzz_target!(|data: &[u8]| body::one(data));
