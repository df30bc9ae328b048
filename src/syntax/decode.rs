//! Bytes to text. The caller reads files; what is no UTF-8 is refused here, with the place.

/// Bytes that are not text.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("line {line}, byte {byte}: 0x{value:02X} is not UTF-8; save the file as plain text in UTF-8")]
pub struct NotText {
    /// Offset of the first bad byte, from 0.
    pub byte: usize,
    /// The byte.
    pub value: u8,
    /// Its line, from 1.
    pub line: usize,
}

/// The text of a file, without the byte-order mark that some editors put first.
///
/// # Errors
/// Where the bytes are not UTF-8, with the first bad byte.
pub fn decode_text(bytes: &[u8]) -> Result<String, NotText> {
    let text = std::str::from_utf8(bytes).map_err(|error| {
        let byte = error.valid_up_to();
        let before = bytes.iter().take(byte);
        let line = before.filter(|value| **value == b'\n').count() + 1;
        NotText { byte, value: bytes.get(byte).copied().unwrap_or(0), line }
    })?;
    Ok(text.strip_prefix('\u{feff}').unwrap_or(text).to_owned())
}
