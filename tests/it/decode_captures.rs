//! Golden tests: each capture under `tests/decode/captures` and the real one under
//! `tests/decode/obdb` against the whole document.
//!
//! What each capture holds and which of its bytes are real is said in its first lines
//! (`capture.log`: in `ATTRIBUTION.md`). The expectations follow obd-data.md sections 1 to 3.
#![allow(
    clippy::unwrap_used,
    clippy::panic,
    clippy::indexing_slicing,
    clippy::string_slice,
    clippy::wildcard_enum_match_arm,
    reason = "a test that does not find what it looks for has to stop there"
)]

use wherefore::internals::decode::{Options, decode};

#[test]
fn captures_give_the_recorded_documents() {
    insta::glob!("../decode", "captures/*.log", |path| {
        let bytes = std::fs::read(path).unwrap();
        let decoded = decode(&bytes, &Options::default()).unwrap();
        insta::assert_json_snapshot!(decoded.document);
    });
}

#[test]
fn the_real_capture_gives_the_recorded_document() {
    insta::glob!("../decode", "obdb/*.log", |path| {
        let bytes = std::fs::read(path).unwrap();
        let options = Options { model_year: Some(2018), fuel: Some("gasoline".into()), ..Options::default() };
        let decoded = decode(&bytes, &options).unwrap();
        insta::assert_json_snapshot!(decoded.document);
    });
}
