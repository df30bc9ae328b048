//! Fuzzes the forms of captures against each other; what must hold is in `bodies/forms.rs`, which the ordinary tests
//! replay on the seeds.
#![no_main]

#[path = "../bodies/forms.rs"]
mod body;

libfuzzer_sys::fuzz_target!(|data: &[u8]| body::one(data));
