//! Lines with columns around the frame, in the order that many recorders write: times, a channel, the direction, the id,
//! the length, the bytes, a remark. Nothing is guessed: a line counts only where one reading of it is possible.

use super::hex;
use super::line::{CanId, Frame, Line, LineProblem, word};

/// Most words before an id.
const MOST_BEFORE: usize = 10;

/// Reads a line with columns; `None` where it has no such form.
pub(super) fn read(line: &[u8]) -> Option<Line<'static>> {
    let mut rest = line;
    let mut timed = false;
    for _ in 0..MOST_BEFORE {
        let text = word(&mut rest)?;
        if let Some(id) = id(text)
            && let Some(frame) = behind(id, text, rest, timed)
        {
            return Some(frame);
        }
        if !leads(text) {
            return None;
        }
        timed |= is_time(text);
    }
    None
}

/// An id as columns hold it: 3 or 8 hexadecimal digits, or any number of them behind `0x`; a colon, `h` or `x` may follow.
fn id(text: &[u8]) -> Option<CanId> {
    let text = text.strip_suffix(b":").or(text.strip_suffix(b",")).unwrap_or(text);
    let text = label(text).unwrap_or(text);
    if let Some(digits) = text.strip_prefix(b"0x").or(text.strip_prefix(b"0X")) {
        let value = hex::number(digits)?;
        let extended = value > 0x7FF || digits.len() == 8;
        return (value <= 0x1FFF_FFFF).then_some(CanId { extended, value });
    }
    let digits = text.strip_suffix(b"h").or(text.strip_suffix(b"x")).unwrap_or(text);
    super::line::identifier(digits)
}

/// What stands behind a label of the same word: `ID:7E8`, `id=7E8`.
fn label(text: &[u8]) -> Option<&[u8]> {
    let at = text.iter().position(|byte| matches!(byte, b':' | b'='))?;
    let (name, value) = text.split_at_checked(at)?;
    let is_name = !name.is_empty() && name.iter().all(u8::is_ascii_alphabetic);
    value.get(1..).filter(|value| is_name && !value.is_empty())
}

/// Whether an id says of itself that it is one.
fn marked(text: &[u8]) -> bool {
    text.contains(&b'x') || text.contains(&b'X') || label(text).is_some()
}

/// The length and the bytes behind an id. Without a length the id must be certain (a time stands before it, or it says of
/// itself that it is one), and nothing but bytes may follow.
fn behind(id: CanId, text: &[u8], mut rest: &[u8], is_timed: bool) -> Option<Line<'static>> {
    let is_certain = is_timed || marked(text);
    let mut tail = rest;
    let mut length = None;
    // Directions and marks (`Rx`, `S`, `d`, `-`), then perhaps a length with or without its name.
    for _ in 0..6 {
        let Some(text) = word(&mut tail) else { break };
        let is_named = names(text, &[b"dlc", b"dl", b"len", b"length", b"size"]);
        if is_named && label(text).is_none() {
            let mut after = tail;
            length = number(word(&mut after)?);
            length?;
            rest = after;
            break;
        }
        if let Some(value) = label(text).filter(|_| is_named).or(bracketed(text)) {
            length = number(value);
            length?;
            rest = tail;
            break;
        }
        if let [digit @ b'0'..=b'8'] = text {
            length = Some(usize::from(digit - b'0'));
            rest = tail;
            break;
        }
        if is_direction(text) || matches!(text, [b'd' | b'D' | b'S' | b'X' | b'-']) && !is_byte(tail) {
            rest = tail;
            continue;
        }
        if matches!(text, b"r" | b"R") {
            return Some(Line::NoData);
        }
        break;
    }
    bytes(id, length, rest, is_certain)
}

fn bytes(id: CanId, length: Option<usize>, mut rest: &[u8], is_certain: bool) -> Option<Line<'static>> {
    let mut frame = Frame::new(id, false);
    let mut count = 0;
    loop {
        let mut tail = rest;
        let Some(text) = word(&mut tail) else { break };
        if length == Some(count) {
            // What follows the bytes that were announced is a remark, unless it is a byte more.
            let more = text.len() == 2 && hex::is_hex(text);
            return Some(if more { Line::Refused(LineProblem::TooManyBytes) } else { Line::Frame(frame) });
        }
        if names(text, &[b"data", b"payload", b"bytes"]) && count == 0 {
            match label(text) {
                Some(value) => {
                    count += glued(value, &mut frame)?;
                    rest = tail;
                    continue;
                }
                None => {
                    rest = tail;
                    continue;
                }
            }
        }
        let text = text.strip_prefix(b"0x").or(text.strip_suffix(b",")).unwrap_or(text);
        match text {
            [high, low] => match hex::pair(*high, *low) {
                Some(byte) if frame.push(byte) => count += 1,
                Some(_) => return length.map(|_| Line::Refused(LineProblem::TooManyBytes)),
                None => break,
            },
            // All bytes in one word.
            text if count == 0 && text.len() > 2 && text.len() % 2 == 0 && hex::is_hex(text) => {
                count += glued(text, &mut frame)?;
            }
            [b'#' | b';' | b'/' | b'\'' | b'"' | b'(' | b'|', ..] if count > 0 => break,
            _ if is_direction(text) => {}
            _ if length.is_none() => return None,
            _ => break,
        }
        rest = tail;
    }
    match length {
        Some(length) if length == count => Some(Line::Frame(frame)),
        Some(_) => Some(Line::Refused(LineProblem::CutShort)),
        None if is_certain && count > 0 => Some(Line::Frame(frame)),
        None => None,
    }
}

fn glued(text: &[u8], frame: &mut Frame) -> Option<usize> {
    let mut count = 0;
    for two in text.chunks(2) {
        let [high, low] = two else { return None };
        if !frame.push(hex::pair(*high, *low)?) {
            return None;
        }
        count += 1;
    }
    Some(count)
}

/// Whether the next word is a byte.
fn is_byte(mut rest: &[u8]) -> bool {
    word(&mut rest).is_some_and(|text| text.len() == 2 && hex::is_hex(text))
}

/// `[8]` or `(8)`.
fn bracketed(text: &[u8]) -> Option<&[u8]> {
    match text {
        [b'[', inner @ .., b']'] | [b'(', inner @ .., b')'] if inner.iter().all(u8::is_ascii_digit) => Some(inner),
        _ => None,
    }
}

/// A length of 0 to 8.
fn number(text: &[u8]) -> Option<usize> {
    match text {
        [digit @ b'0'..=b'8'] | [b'0', digit @ b'0'..=b'8'] => Some(usize::from(digit - b'0')),
        _ => None,
    }
}

/// Whether a word is a label of one of these names, in any case, with or without a value.
fn names(text: &[u8], known: &[&[u8]]) -> bool {
    let Some(at) = text.iter().position(|byte| matches!(byte, b':' | b'=')) else { return false };
    text.get(..at).is_some_and(|name| known.iter().any(|known| name.eq_ignore_ascii_case(known)))
}

fn is_direction(text: &[u8]) -> bool {
    let text = text.strip_prefix(b"(").unwrap_or(text);
    let text = text.strip_suffix(b")").or(text.strip_suffix(b":")).unwrap_or(text);
    [&b"rx"[..], b"tx", b"<-", b"->", b"<--", b"-->", b"<", b">"].iter().any(|known| text.eq_ignore_ascii_case(known))
}

/// Whether a word may stand before an id.
fn leads(text: &[u8]) -> bool {
    let is_number =
        !text.is_empty() && text.iter().all(|byte| byte.is_ascii_digit() || matches!(byte, b'.' | b')' | b':'));
    // A channel (`can0`, `CH1`, `bus:1`) or a label (`Timestamp:`).
    let is_label = text.last() == Some(&b':') && text.iter().rev().skip(1).all(u8::is_ascii_alphabetic);
    let letters = text.iter().take_while(|byte| byte.is_ascii_alphabetic()).count();
    let is_channel = letters >= 2
        && letters < text.len()
        && text.iter().skip(letters).all(|byte| byte.is_ascii_digit() || matches!(byte, b':' | b'=' | b'.'));
    is_number || is_time(text) || is_label || is_channel || is_direction(text) || text == b"-"
}

/// Whether a word is a time or a date: digits with `.`, `:` or `-`, and a `T` or `Z` of ISO 8601, or in brackets.
fn is_time(text: &[u8]) -> bool {
    let text = match text {
        [b'(' | b'[', inner @ .., b')' | b']'] => inner,
        _ => text,
    };
    let text = label(text).unwrap_or(text);
    text.first().is_some_and(u8::is_ascii_digit)
        && text.iter().any(|byte| matches!(byte, b'.' | b':' | b'-'))
        && text
            .iter()
            .all(|byte| byte.is_ascii_digit() || matches!(byte, b'.' | b':' | b'-' | b'T' | b'Z' | b'+' | b','))
}
