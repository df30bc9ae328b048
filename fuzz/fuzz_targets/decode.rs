//! Fuzzes `decode`: any bytes, twice. The answers must be the same, the document must be JSON that
//! reads back, and whatever has an origin must be a fact.
#![no_main]

use libfuzzer_sys::fuzz_target;
use wherefore::decode::{Options, decode};

fuzz_target!(|data: &[u8]| {
    let options = Options::default();
    let once = decode(data, &options);
    assert_eq!(once, decode(data, &options), "decoding is deterministic");
    if let Ok(decoded) = once {
        let text = decoded.document.to_string();
        let again: serde_json::Value = serde_json::from_str(&text).expect("the document is JSON");
        assert_eq!(again, decoded.document);
        let from = decoded.document["from"].as_object().expect("provenance is an object");
        for path in from.keys() {
            let pointer = format!("/{}", path.replace('.', "/"));
            assert!(decoded.document.pointer(&pointer).is_some(), "{path} has an origin and no fact");
        }
    }
});
