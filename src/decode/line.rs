//! One line of text to one frame, payload or reason for refusal.
//!
//! This file cuts the input into lines and tells the forms apart; `candump.rs` reads frames.
//! It does not reassemble messages and gives no byte a meaning.
//!
//! Form of candump text: obd-data.md section 3.4 (from the can-utils source).

use super::hex;
use super::{candump, columns};

/// The longest payload of one message: the 12-bit length of ISO-TP (obd-data.md section 3.2).
pub(super) const LONGEST_PAYLOAD: usize = 4095;

/// A CAN identifier with its width.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct CanId {
    /// Whether the identifier has 29 bits.
    pub extended: bool,
    /// The identifier, at most 11 or 29 bits.
    pub value: u32,
}

/// One CAN frame. Of a CAN FD frame only the first 8 bytes are kept: longer ones are not read, and
/// a small frame keeps the scanner fast.
#[derive(Debug, Clone, Copy)]
pub(super) struct Frame {
    pub id: CanId,
    /// Whether the capture marks the frame as CAN FD.
    fd: bool,
    buffer: [u8; 8],
    length: u8,
}

impl Frame {
    #[inline]
    pub(super) fn new(id: CanId, fd: bool) -> Self {
        Self { id, fd, buffer: [0; 8], length: 0 }
    }

    /// Adds a data byte; false if the frame is full: 8 bytes, or 64 of CAN FD.
    #[inline]
    pub(super) fn push(&mut self, byte: u8) -> bool {
        if let Some(slot) = self.buffer.get_mut(usize::from(self.length)) {
            *slot = byte;
        } else if !self.fd || self.length >= 64 {
            return false;
        }
        self.length += 1;
        true
    }

    /// The data, at most the first 8 bytes.
    #[inline]
    pub(super) fn data(&self) -> &[u8] {
        self.buffer.get(..usize::from(self.length)).unwrap_or(&self.buffer)
    }

    /// Whether the frame has more than 8 bytes.
    #[inline]
    pub(super) fn overlong(&self) -> bool {
        self.length > 8
    }
}

/// Why a line was not used.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
#[non_exhaustive]
pub enum LineProblem {
    /// Neither a frame, nor an ECU id with bytes, nor a comment.
    NotAMessage,
    /// The identifier is not 3 digits up to 7FF or 8 digits up to 1FFFFFFF.
    BadIdentifier,
    /// A character where a hexadecimal digit should be, or half a byte.
    BadHex,
    /// The line ends before the number of bytes that it announces.
    CutShort,
    /// More bytes than the frame or message can hold, or than the line announces.
    TooManyBytes,
    /// An id and no bytes.
    NoBytes,
    /// Bytes written as binary digits (`candump -i`).
    BinaryDigits,
    /// Bytes in swapped order (`candump -S`).
    SwappedOrder,
    /// Terminal colour codes inside the line (`candump -c`).
    ColourCodes,
    /// A legacy frame whose last byte fits neither the CRC nor the sum.
    BadChecksum,
    /// A legacy frame with a header that no diagnostic bus uses.
    BadHeader,
    /// An answer without the header that says which controller gave it.
    NoHeader,
    /// A table whose ids or bytes may be decimal numbers.
    MayBeDecimal,
}

impl LineProblem {
    /// What is wrong and what to do, in plain words.
    #[must_use]
    pub fn explain(self) -> &'static str {
        match self {
            Self::NotAMessage => {
                "not a frame and not an ECU id with bytes, such as 7E8 41 01 00 07 E5 00; put # before a remark"
            }
            Self::BadIdentifier => "the id is not 3 hexadecimal digits up to 7FF or 8 up to 1FFFFFFF",
            Self::BadHex => "a byte is not two hexadecimal digits",
            Self::CutShort => "the line ends before the bytes that it announces; record it again",
            Self::TooManyBytes => "more bytes than the line or the frame can hold",
            Self::NoBytes => "an id without bytes",
            Self::BinaryDigits => "bytes in binary digits; record without -i",
            Self::SwappedOrder => "bytes in swapped order; record without -S",
            Self::ColourCodes => "colour codes in the text; record without -c",
            Self::BadChecksum => {
                "the last byte fits neither the CRC nor the sum; the frame is damaged or has no checksum"
            }
            Self::BadHeader => "the header is none of J1850, ISO 9141-2 or ISO 14230",
            Self::NoHeader => {
                "an answer without its header: which controller gave it is not known; switch headers on and record \
                 again, so that the line reads 7E8 06 41 01 00 07 E5 00"
            }
            Self::MayBeDecimal => {
                "the ids or bytes of this table may be decimal numbers; export them in hexadecimal, with 0x or two \
                 digits a byte: 0x7E8,8,06 41 01 00 07 E5 00 00"
            }
        }
    }
}

/// What one line holds.
#[derive(Debug)]
pub(super) enum Line<'a> {
    /// Nothing, or a remark.
    Nothing,
    /// A frame of the CAN bus.
    Frame(Frame),
    /// An ECU id and a payload, service byte first.
    Payload(CanId, &'a [u8]),
    /// A frame of a legacy bus, header to checksum.
    Legacy(&'a [u8]),
    /// The recorder lost frames here.
    FramesDropped,
    /// An error frame or a remote frame: no data.
    NoData,
    /// Not readable.
    Refused(LineProblem),
}

/// Cuts text into lines at LF, CR or CR LF, with numbers from 1.
pub(super) struct Lines<'a> {
    rest: &'a [u8],
    number: usize,
}

impl<'a> Lines<'a> {
    pub(super) fn new(text: &'a [u8]) -> Self {
        Self { rest: text, number: 0 }
    }
}

impl<'a> Iterator for Lines<'a> {
    type Item = (usize, &'a [u8]);

    #[inline]
    fn next(&mut self) -> Option<Self::Item> {
        if self.rest.is_empty() {
            return None;
        }
        self.number += 1;
        let end = self.rest.iter().position(|&b| b == b'\n' || b == b'\r');
        let Some(end) = end else {
            let line = self.rest;
            self.rest = &[];
            return Some((self.number, line));
        };
        let (line, tail) = self.rest.split_at_checked(end)?;
        self.rest = match tail {
            [b'\r', b'\n', after @ ..] | [_, after @ ..] => after,
            [] => &[],
        };
        Some((self.number, line))
    }
}

/// Takes the next word from `rest`; words stand between spaces and tabs.
#[inline]
pub(super) fn word<'a>(rest: &mut &'a [u8]) -> Option<&'a [u8]> {
    let start = rest.iter().position(|&b| b != b' ' && b != b'\t')?;
    let (_, text) = rest.split_at_checked(start)?;
    let end = text.iter().position(|&b| b == b' ' || b == b'\t').unwrap_or(text.len());
    let (word, after) = text.split_at_checked(end)?;
    *rest = after;
    Some(word)
}

/// An id of 3 or 8 hexadecimal digits; `None` for an id outside its width.
#[inline]
pub(super) fn identifier(text: &[u8]) -> Option<CanId> {
    let value = hex::number(text)?;
    match text.len() {
        3 if value <= 0x7FF => Some(CanId { extended: false, value }),
        8 if value <= 0x1FFF_FFFF => Some(CanId { extended: true, value }),
        _ => None,
    }
}

/// Reads one line. `scratch` keeps the bytes of a payload.
pub(super) fn read<'s>(line: &[u8], scratch: &'s mut Vec<u8>) -> Line<'s> {
    match strict(line, scratch) {
        // These say what is wrong with the recording; another reading of the line would hide it.
        Line::Refused(problem @ (LineProblem::SwappedOrder | LineProblem::BinaryDigits | LineProblem::ColourCodes)) => {
            Line::Refused(problem)
        }
        Line::Refused(problem) => otherwise(line, problem),
        read => read,
    }
}

/// A line that is none of the plain forms: one with columns, or one with a number before it.
fn otherwise(line: &[u8], problem: LineProblem) -> Line<'static> {
    match columns::read(line) {
        Some(Line::Refused(other)) if problem == LineProblem::NotAMessage => return Line::Refused(other),
        Some(Line::Refused(_)) | None => {}
        Some(found) => return found,
    }
    numbered(line).unwrap_or(Line::Refused(problem))
}

/// A line of candump text with its number before it: `12 (1.5) can0 7E8#06`, `12: can0 7E8#06`.
fn numbered(line: &[u8]) -> Option<Line<'static>> {
    let mut rest = line;
    let first = word(&mut rest)?;
    let digits = first.strip_suffix(b":").or(first.strip_suffix(b")")).or(first.strip_suffix(b".")).unwrap_or(first);
    if digits.is_empty() || !digits.iter().all(u8::is_ascii_digit) {
        return None;
    }
    let mut tail = rest;
    let read = match word(&mut tail)? {
        [b'(', ..] => candump::after_time(rest),
        second if second.contains(&b'#') => candump::hash_form(second, tail),
        second if second.iter().all(u8::is_ascii_alphanumeric) && !hex::is_hex(second) => {
            candump::after_interface(tail)
        }
        _ => return None,
    };
    matches!(read, Line::Frame(_) | Line::NoData).then_some(read)
}

/// Reads one line of the plain forms.
fn strict<'s>(line: &[u8], scratch: &'s mut Vec<u8>) -> Line<'s> {
    let mut rest = line;
    let Some(first) = word(&mut rest) else {
        return Line::Nothing;
    };
    match first {
        [b'#', ..] => Line::Nothing,
        [b'(', ..] => candump::after_time(line),
        [0x1B, ..] => Line::Refused(LineProblem::ColourCodes),
        [b'D', b'R', b'O', b'P', b'C', b'O', b'U', b'N', b'T', ..] => Line::FramesDropped,
        _ if first.contains(&b'#') => candump::hash_form(first, rest),
        _ => {
            let id = first.strip_suffix(b":").unwrap_or(first);
            if hex::is_hex(id) { plain(id, rest, scratch) } else { candump::after_interface(rest) }
        }
    }
}

/// A plain line: id and payload, a legacy frame, or either written without spaces.
fn plain<'s>(first: &[u8], rest: &[u8], scratch: &'s mut Vec<u8>) -> Line<'s> {
    scratch.clear();
    let mut tail = rest;
    let second = word(&mut tail);
    if let Some([b'[' | b'{', ..]) = second {
        return candump::console_form(rest, Some(first));
    }
    let none: &[u8] = &[];
    let (id, glued) = match (first.len(), second) {
        (3 | 8, Some(_)) => (first, none),
        (2, Some(_)) => return spaced_bytes(first, rest, scratch),
        (n, None) if n > 4 && n % 2 == 1 => first.split_at_checked(3).unwrap_or((first, none)),
        (n, None) if n > 9 && first.starts_with(b"18") => first.split_at_checked(8).unwrap_or((first, none)),
        (n, None) if n > 9 => {
            return match append(first, scratch) {
                Ok(()) => Line::Legacy(scratch),
                Err(problem) => Line::Refused(problem),
            };
        }
        (3 | 8, None) => return Line::Refused(LineProblem::NoBytes),
        _ => return Line::Refused(LineProblem::NotAMessage),
    };
    let Some(id) = identifier(id) else {
        return Line::Refused(LineProblem::BadIdentifier);
    };
    match append(glued, scratch).and_then(|()| all(rest, scratch)) {
        Ok(()) => Line::Payload(id, scratch),
        Err(problem) => Line::Refused(problem),
    }
}

/// A line of spaced bytes: a legacy frame, or a 29-bit id in four bytes (`18 DA F1 10 ...`).
fn spaced_bytes<'s>(first: &[u8], rest: &[u8], scratch: &'s mut Vec<u8>) -> Line<'s> {
    if let Err(problem) = append(first, scratch).and_then(|()| all(rest, scratch)) {
        return Line::Refused(problem);
    }
    let bytes: &'s [u8] = scratch;
    match bytes {
        // A legacy header byte is never 18: see `legacy::read`.
        [a @ 0x18, b, c, d, payload @ ..] if !payload.is_empty() => {
            let value = u32::from_be_bytes([*a, *b, *c, *d]);
            Line::Payload(CanId { extended: true, value }, payload)
        }
        _ => Line::Legacy(bytes),
    }
}

fn all(mut rest: &[u8], scratch: &mut Vec<u8>) -> Result<(), LineProblem> {
    while let Some(text) = word(&mut rest) {
        // A remark behind the bytes.
        if matches!(text, [b'#' | b';' | b'/' | b'\'' | b'"', ..]) && !scratch.is_empty() {
            break;
        }
        append(text, scratch)?;
    }
    Ok(())
}

fn append(text: &[u8], scratch: &mut Vec<u8>) -> Result<(), LineProblem> {
    let pairs = text.chunks_exact(2);
    if !pairs.remainder().is_empty() {
        return Err(LineProblem::BadHex);
    }
    for two in pairs {
        let byte = match two {
            [high, low] => hex::pair(*high, *low),
            _ => None,
        };
        if scratch.len() >= LONGEST_PAYLOAD {
            return Err(LineProblem::TooManyBytes);
        }
        scratch.push(byte.ok_or(LineProblem::BadHex)?);
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    /// ISO 11898-1: ids have 11 or 29 bits. Three digits write the one, eight the other, and each up to its last.
    #[test]
    fn an_id_goes_up_to_the_last_of_its_width() {
        let short = [("000", 0), ("7E8", 0x7E8), ("7FF", 0x7FF)].map(|(text, value)| (text, false, value));
        let long = [("00000000", 0), ("000007FF", 0x7FF), ("1FFFFFFF", 0x1FFF_FFFF)];
        for (text, extended, value) in short.into_iter().chain(long.map(|(text, value)| (text, true, value))) {
            assert_eq!(identifier(text.as_bytes()), Some(CanId { extended, value }), "{text}");
        }
        for text in ["800", "FFF", "20000000", "FFFFFFFF", "7FFF", "7E", ""] {
            assert_eq!(identifier(text.as_bytes()), None, "{text}");
        }
    }
}
