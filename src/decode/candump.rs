//! Frames from candump text: the log form (`7E8#0641...`) and the console form (`7E8 [8] 06 41 ...`).
//!
//! Only reads the text of one frame. Source of the forms: obd-data.md section 3.4
//! (can-utils source); the back quote of `-S` is the `SWAP_DELIMITER` of the same source.

use super::hex;
use super::line::{CanId, Frame, Line, LineProblem, identifier, word};

/// Bit 29 of an 8-digit id marks an error frame (obd-data.md section 3.4).
const ERROR_FRAME: u32 = 0x2000_0000;

/// A line that starts with a time in round brackets; the time may hold a space (`-t A`).
pub(super) fn after_time(line: &[u8]) -> Line<'static> {
    let Some(close) = line.iter().position(|&b| b == b')') else {
        return Line::Refused(LineProblem::NotAMessage);
    };
    let mut rest = match line.split_at_checked(close) {
        Some((_, [_, after @ ..])) => after,
        _ => return Line::Refused(LineProblem::NotAMessage),
    };
    match word(&mut rest) {
        None => Line::Refused(LineProblem::CutShort),
        Some([0x1B, ..]) => Line::Refused(LineProblem::ColourCodes),
        Some(one) if one.contains(&b'#') => hash_form(one, rest),
        Some(_) => after_interface(rest),
    }
}

/// What stands after the interface name.
pub(super) fn after_interface(rest: &[u8]) -> Line<'static> {
    let mut tail = rest;
    match word(&mut tail) {
        None => Line::Refused(LineProblem::NotAMessage),
        Some([0x1B, ..]) => Line::Refused(LineProblem::ColourCodes),
        Some(first) if first.contains(&b'#') => hash_form(first, tail),
        Some(_) => console_form(rest, None),
    }
}

enum Identity {
    Data(CanId),
    Error,
}

fn identity(text: &[u8]) -> Result<Identity, LineProblem> {
    if let Some(id) = identifier(text) {
        return Ok(Identity::Data(id));
    }
    match hex::number(text) {
        Some(value) if text.len() == 8 && value & ERROR_FRAME != 0 => Ok(Identity::Error),
        _ => Err(LineProblem::BadIdentifier),
    }
}

/// `id#data`, `id#R`, `id##<flags>data`, with `.` between bytes and `_9` to `_F` behind them.
#[inline]
pub(super) fn hash_form(text: &[u8], mut after: &[u8]) -> Line<'static> {
    match word(&mut after) {
        // What stands behind a frame is its direction or a remark, but not a further byte.
        Some(text) if text.len() == 2 && hex::is_hex(text) => return Line::Refused(LineProblem::TooManyBytes),
        None | Some(_) => {}
    }
    let Some(hash) = text.iter().position(|&b| b == b'#') else {
        return Line::Refused(LineProblem::NotAMessage);
    };
    let Some((id, [_, data @ ..])) = text.split_at_checked(hash) else {
        return Line::Refused(LineProblem::NotAMessage);
    };
    let id = match identity(id) {
        Ok(Identity::Data(id)) => id,
        Ok(Identity::Error) => return Line::NoData,
        Err(problem) => return Line::Refused(problem),
    };
    let (mut frame, mut data) = match data {
        [b'R', ..] => return Line::NoData,
        [b'#', flags, data @ ..] if hex::digit(*flags).is_some() => (Frame::new(id, true), data),
        [b'#', ..] => return Line::Refused(LineProblem::BadHex),
        _ => (Frame::new(id, false), data),
    };
    loop {
        data = match data {
            [] => return Line::Frame(frame),
            [b'.', rest @ ..] => rest,
            [b'_', dlc] if matches!(hex::digit(*dlc), Some(9..=15)) => return Line::Frame(frame),
            [high, low, rest @ ..] => match hex::pair(*high, *low) {
                Some(byte) if frame.push(byte) => rest,
                Some(_) => return Line::Refused(LineProblem::TooManyBytes),
                None => return Line::Refused(LineProblem::BadHex),
            },
            [_] => return Line::Refused(LineProblem::BadHex),
        };
    }
}

/// `id [n] bytes`, with words of `-x` before the id and the characters of `-a` behind the bytes.
/// `known` is the id where the caller has read it already.
pub(super) fn console_form(mut rest: &[u8], known: Option<&[u8]>) -> Line<'static> {
    let mut before = known;
    let mut length = None;
    // `-x` puts at most three words between the interface and the id.
    for _ in 0..6 {
        match word(&mut rest) {
            Some(text @ [b'[' | b'{', ..]) => {
                length = Some(text);
                break;
            }
            Some(text) => before = Some(text),
            None => break,
        }
    }
    let (Some(length), Some(id)) = (length, before) else {
        return Line::Refused(LineProblem::NotAMessage);
    };
    let id = match identity(id) {
        Ok(Identity::Data(id)) => id,
        Ok(Identity::Error) => return Line::NoData,
        Err(problem) => return Line::Refused(problem),
    };
    let (count, fd) = match length {
        [b'[', n @ b'0'..=b'8', b']'] => (usize::from(n - b'0'), false),
        [b'[', tens @ b'0'..=b'6', ones @ b'0'..=b'9', b']'] => {
            (usize::from(tens - b'0') * 10 + usize::from(ones - b'0'), true)
        }
        // `-8` shows the raw length code; codes above 8 still mean 8 bytes.
        [b'{', n, b'}'] => match hex::digit(*n) {
            Some(n) => (usize::from(n.min(8)), false),
            None => return Line::Refused(LineProblem::NotAMessage),
        },
        _ => return Line::Refused(LineProblem::NotAMessage),
    };
    let mut frame = Frame::new(id, fd);
    for _ in 0..count {
        match word(&mut rest) {
            Some([high, low]) => match hex::pair(*high, *low) {
                Some(byte) if frame.push(byte) => {}
                Some(_) => return Line::Refused(LineProblem::TooManyBytes),
                None => return Line::Refused(LineProblem::BadHex),
            },
            Some(b"remote") => return Line::NoData,
            Some(text) if text.contains(&b'`') => return Line::Refused(LineProblem::SwappedOrder),
            Some(text) if text.len() == 8 && text.iter().all(|b| matches!(b, b'0' | b'1')) => {
                return Line::Refused(LineProblem::BinaryDigits);
            }
            Some([b'\'', ..]) | None => return Line::Refused(LineProblem::CutShort),
            Some(_) => return Line::Refused(LineProblem::BadHex),
        }
    }
    match word(&mut rest) {
        Some(text) if text.len() == 2 && hex::is_hex(text) => Line::Refused(LineProblem::TooManyBytes),
        Some(b"remote") => Line::NoData,
        _ => Line::Frame(frame),
    }
}
