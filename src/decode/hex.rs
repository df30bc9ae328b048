//! Hexadecimal text to bytes, over byte slices and without allocation.
//!
//! Knows nothing of lines, frames or messages.

/// In [`VALUES`]: no hexadecimal digit.
const NO_DIGIT: u8 = 0xFF;

/// The value of every byte as a hexadecimal digit. A table and not comparisons: captures are
/// random in digits and letters, and a branch that cannot be foreseen costs more than the look-up.
static VALUES: [u8; 256] = values();

const fn values() -> [u8; 256] {
    let mut table = [NO_DIGIT; 256];
    let mut rest: &mut [u8] = &mut table;
    let mut byte = 0u8;
    while let [slot, tail @ ..] = rest {
        *slot = match byte {
            b'0'..=b'9' => byte - b'0',
            b'A'..=b'F' => byte - b'A' + 10,
            b'a'..=b'f' => byte - b'a' + 10,
            _ => NO_DIGIT,
        };
        byte = byte.wrapping_add(1);
        rest = tail;
    }
    table
}

#[inline]
fn value(byte: u8) -> u8 {
    VALUES.get(usize::from(byte)).copied().unwrap_or(NO_DIGIT)
}

/// The value of one hexadecimal digit, upper or lower case.
#[inline]
pub(super) fn digit(byte: u8) -> Option<u8> {
    let value = value(byte);
    (value != NO_DIGIT).then_some(value)
}

/// The value of two hexadecimal digits.
#[inline]
pub(super) fn pair(high: u8, low: u8) -> Option<u8> {
    let (high, low) = (value(high), value(low));
    // Digits leave the upper half of both bytes clear.
    ((high | low) <= 0x0F).then_some(high << 4 | low)
}

/// Whether the text is nothing but hexadecimal digits, and at least one.
pub(super) fn is_hex(text: &[u8]) -> bool {
    !text.is_empty() && text.iter().all(|&b| digit(b).is_some())
}

/// The number that up to eight hexadecimal digits write.
#[inline]
pub(super) fn number(text: &[u8]) -> Option<u32> {
    if text.is_empty() || text.len() > 8 {
        return None;
    }
    text.iter().try_fold(0u32, |n, &b| Some(n << 4 | u32::from(digit(b)?)))
}

/// Bytes as the trade writes them: `41 01 00 07 E5 00`.
pub(super) fn spaced(bytes: &[u8]) -> String {
    let mut text = String::with_capacity(bytes.len() * 3);
    for byte in bytes {
        if !text.is_empty() {
            text.push(' ');
        }
        for nibble in [byte >> 4, byte & 0x0F] {
            text.push(char::from_digit(u32::from(nibble), 16).map_or('?', |c| c.to_ascii_uppercase()));
        }
    }
    text
}
