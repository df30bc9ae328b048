//! Any bytes, decoded twice: the answers must be the same, the document must be JSON that reads back as a snapshot, and
//! whatever has an origin must be a fact.

use wherefore::internals::decode::{Options, decode};
use wherefore::internals::document;

/// Decodes one input.
pub fn one(data: &[u8]) {
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
        if let Err(faults) = document::read(text.as_bytes()) {
            assert!(text.len() > 1 << 20, "the document is a snapshot: {faults:?}");
        }
    }
}
