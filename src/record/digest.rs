//! Digests (SHA-256, FIPS 180-4) of program texts and snapshots, so that a record can be verified later. Of a snapshot
//! the digest is made of its canonical JSON: compact, keys in canonical order, what is not known left out.

use sha2::{Digest, Sha256};
use std::collections::BTreeMap;

/// The digest of each text, by name.
#[must_use]
pub fn of_each(texts: &BTreeMap<String, String>) -> BTreeMap<String, String> {
    texts.iter().map(|(name, text)| (name.clone(), of(text.as_bytes()))).collect()
}

/// The digest of bytes as `sha256:` and 64 hexadecimal digits.
#[must_use]
pub fn of(bytes: &[u8]) -> String {
    let mut text = String::from("sha256:");
    for byte in Sha256::digest(bytes) {
        for half in [byte >> 4, byte & 0xF] {
            text.push(char::from_digit(u32::from(half), 16).unwrap_or('0'));
        }
    }
    text
}
