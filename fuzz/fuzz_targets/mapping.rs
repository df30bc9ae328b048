//! Fuzzes mapping files and drafts of them; what must hold is in `bodies/mapping.rs`, which the ordinary tests replay on the seeds.
#![no_main]

#[path = "../bodies/mapping.rs"]
mod body;

libfuzzer_sys::fuzz_target!(|data: &[u8]| body::one(data));
