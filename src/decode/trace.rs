//! Text traces of general bus analysers: the forms `ASC` and `TRC` (1.0 to 2.1).
//!
//! The layouts are those that general-purpose CAN libraries write and read; the files of the tests were written by one.

use super::hex;
use super::line::{CanId, Frame, Line, LineProblem, Lines, word};

/// How a trace is laid out.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum Trace {
    /// `ASC`; the base of its ids and bytes, 16 or 10.
    Asc { base: u32 },
    /// `TRC`: the letters of its columns. N number, O time, T type, B bus, I id, d direction, R reserved, l or L length,
    /// D data.
    Trc { columns: Vec<u8> },
}

/// How many lines a header may have.
const MOST_HEADER: usize = 60;

/// The trace of a text, if its first lines say so.
pub(super) fn recognise(text: &[u8]) -> Option<Trace> {
    let mut version: Option<&[u8]> = None;
    for (_, line) in Lines::new(text).take(MOST_HEADER) {
        let line = line.trim_ascii();
        let mut rest = line;
        match (word(&mut rest), word(&mut rest)) {
            (Some(b"base"), Some(b"hex")) => return Some(Trace::Asc { base: 16 }),
            (Some(b"base"), Some(b"dec")) => return Some(Trace::Asc { base: 10 }),
            _ => {}
        }
        if let Some(columns) = after(line, b";$COLUMNS=") {
            return Some(Trace::Trc { columns: columns.iter().copied().filter(u8::is_ascii_alphabetic).collect() });
        }
        if let Some(found) = after(line, b";$FILEVERSION=") {
            version = Some(found);
        }
        // Version 1.0 names none; its header says what the columns are.
        if version.is_none() && line.starts_with(b";") && find(line, b"Columns description") {
            version = Some(b"1.0");
        }
    }
    let columns: &[u8] = match version? {
        [b'1', b'.', b'0', ..] => b"NOILD",
        [b'1', b'.', b'1', ..] => b"NOTILD",
        [b'1', b'.', b'2', ..] => b"NOBTILD",
        [b'1', b'.', b'3', ..] => b"NOBTIRLD",
        [b'2', b'.', b'0', ..] => b"NOTIdlD",
        _ => return None,
    };
    Some(Trace::Trc { columns: columns.to_vec() })
}

fn after<'a>(line: &'a [u8], head: &[u8]) -> Option<&'a [u8]> {
    line.strip_prefix(head).map(<[u8]>::trim_ascii)
}

fn find(line: &[u8], words: &[u8]) -> bool {
    line.windows(words.len()).any(|part| part.eq_ignore_ascii_case(words))
}

impl Trace {
    /// Reads one line.
    pub(super) fn read(&self, line: &[u8]) -> Line<'static> {
        let found = match self {
            Self::Asc { base } => asc(line, *base),
            Self::Trc { columns } => trc(line, columns),
        };
        match found {
            Ok(Some(frame)) => Line::Frame(frame),
            Ok(None) if line.trim_ascii().is_empty() => Line::Nothing,
            Ok(None) => Line::NoData,
            Err(problem) => Line::Refused(problem),
        }
    }
}

type Read = Result<Option<Frame>, LineProblem>;

/// A line that begins with a time and a channel is one of the bus; every other line tells of the recording.
fn asc(line: &[u8], base: u32) -> Read {
    let mut rest = line;
    let mut words = || word(&mut rest);
    let is_time = |text: &[u8]| text.iter().all(|byte| byte.is_ascii_digit() || *byte == b'.') && !text.is_empty();
    let (Some(time), Some(channel)) = (words(), words()) else { return Ok(None) };
    if !is_time(time) {
        return Ok(None);
    }
    let is_fd = channel == b"CANFD";
    if !is_fd && !channel.iter().all(u8::is_ascii_digit) {
        return Ok(None);
    }
    let is_direction = |text: &[u8]| matches!(text, b"Rx" | b"Tx" | b"TxRq");
    let (id, direction) = if is_fd {
        words();
        let direction = words();
        (words(), direction)
    } else {
        let id = words();
        (id, words())
    };
    let (Some(id), Some(direction)) = (id, direction) else { return Ok(None) };
    if !is_direction(direction) {
        return Ok(None);
    }
    let id = asc_id(id, base).ok_or(LineProblem::BadIdentifier)?;
    let count = if is_fd {
        // A name may follow the id; then the marks of the frame, its length code and its length.
        if words().is_some_and(|text| text.len() != 1) {
            words();
        }
        // The other mark, and the length code.
        words();
        words();
        words().and_then(|text| std::str::from_utf8(text).ok()?.parse::<usize>().ok())
    } else {
        match words() {
            Some(b"r") => return Ok(None),
            Some(b"d") => words().and_then(|text| match text {
                [digit] => hex::digit(*digit).map(|digit| usize::from(digit.min(8))),
                _ => None,
            }),
            _ => None,
        }
    };
    let count = count.filter(|count| *count <= 64).ok_or(LineProblem::CutShort)?;
    bytes(id, rest, count, is_fd, base).map(Some)
}

/// An id of an `ASC` trace: `x` behind it marks 29 bits.
fn asc_id(text: &[u8], base: u32) -> Option<CanId> {
    let (digits, extended) = match text.strip_suffix(b"x") {
        Some(digits) => (digits, true),
        None => (text, false),
    };
    let value = u32::from_str_radix(std::str::from_utf8(digits).ok()?, base).ok()?;
    let most = if extended { 0x1FFF_FFFF } else { 0x7FF };
    (value <= most && !digits.starts_with(b"+")).then_some(CanId { extended, value })
}

fn bytes(id: CanId, mut rest: &[u8], count: usize, fd: bool, base: u32) -> Result<Frame, LineProblem> {
    let mut frame = Frame::new(id, fd);
    for _ in 0..count {
        let text = word(&mut rest).ok_or(LineProblem::CutShort)?;
        let value = std::str::from_utf8(text).ok().and_then(|text| u8::from_str_radix(text, base).ok());
        // Two hexadecimal digits, or up to three decimal ones.
        let fits = text.iter().all(u8::is_ascii_hexdigit) && (base == 10 || text.len() == 2);
        match value.filter(|_| fits) {
            Some(byte) if frame.push(byte) => {}
            Some(_) => return Err(LineProblem::TooManyBytes),
            None => return Err(LineProblem::BadHex),
        }
    }
    Ok(frame)
}

fn trc(line: &[u8], columns: &[u8]) -> Read {
    if line.trim_ascii().is_empty() || line.trim_ascii().starts_with(b";") {
        return Ok(None);
    }
    let mut rest = line;
    let (mut id, mut length, mut code, mut fd) = (None, None, None, false);
    for column in columns {
        if *column == b'D' {
            break;
        }
        let text = word(&mut rest).ok_or(LineProblem::CutShort)?;
        match column {
            b'T' => match text {
                b"DT" | b"Rx" | b"Tx" => {}
                b"FD" | b"FB" | b"FE" | b"BI" => fd = true,
                // Remote frames, errors, warnings, events.
                _ => return Ok(None),
            },
            b'I' => {
                let value = hex::number(text).ok_or(LineProblem::BadIdentifier)?;
                let extended = match text.len() {
                    4 if value <= 0x7FF => false,
                    8 if value <= 0x1FFF_FFFF => true,
                    // An error frame of version 1.0.
                    8 if value == u32::MAX => return Ok(None),
                    _ => return Err(LineProblem::BadIdentifier),
                };
                id = Some(CanId { extended, value });
            }
            b'l' | b'L' => {
                let number = std::str::from_utf8(text).ok().and_then(|text| text.parse::<usize>().ok());
                let (slot, most) = if *column == b'L' { (&mut code, 15) } else { (&mut length, 64) };
                *slot = Some(number.filter(|number| *number <= most).ok_or(LineProblem::CutShort)?);
            }
            _ => {}
        }
    }
    let length = length.or(code.map(|code| of_code(code, fd)));
    let (Some(id), Some(length)) = (id, length) else { return Err(LineProblem::NotAMessage) };
    let mut tail = rest;
    if word(&mut tail) == Some(b"RTR") {
        return Ok(None);
    }
    bytes(id, rest, length, fd || length > 8, 16).map(Some)
}

/// How many bytes a length code up to 15 stands for (ISO 11898-1, from memory): above 8 it is more in CAN FD, and 8 in the frames
/// before it.
fn of_code(code: usize, fd: bool) -> usize {
    match code {
        0..=8 => code,
        _ if !fd => 8,
        9 => 12,
        10 => 16,
        11 => 20,
        12 => 24,
        13 => 32,
        14 => 48,
        _ => 64,
    }
}

#[cfg(test)]
#[expect(clippy::unwrap_used, reason = "a test stops at the first wrong thing")]
mod tests {
    use super::*;

    /// A frame of CAN FD in an `ASC` trace: two marks, the length code, the length (common practice of such traces), then as many
    /// bytes as the length says. Above eight the code is another number than the length (ISO 11898-1, from memory).
    #[test]
    fn a_frame_of_can_fd_is_as_long_as_its_length_says() {
        for (code, length) in [("1", 1), ("8", 8), ("9", 12), ("a", 16), ("d", 32), ("f", 64)] {
            for name in ["", "Answer "] {
                let bytes = (0..length).map(|byte| format!(" {:02X}", 0x40 + byte)).collect::<String>();
                let line = format!("0.4 CANFD 1 Rx 7E8 {name}1 0 {code} {length}");
                let frame = asc(format!("{line}{bytes} 107000 235").as_bytes(), 16).unwrap().unwrap();
                let expected: Vec<u8> = (0x40..).take(length.min(8)).collect();
                assert_eq!(frame.data(), expected, "{line}");
                let cut = bytes.rsplit_once(' ').unwrap().0;
                assert!(asc(format!("{line}{cut}").as_bytes(), 16).is_err(), "{line}, one byte short");
            }
        }
    }
}
