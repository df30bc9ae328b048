//! Which form an input has as a whole, and forms that are known and not read: each is named, with a way out.

use super::error::DecodeError;
use super::packets;
use super::table::{self, Table};
use super::trace::{self, Trace};

/// The form of an input.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum Form {
    /// Lines that each tell their own form.
    Lines,
    /// A table with names in its first line.
    Table(Table),
    /// A trace whose header says how it is laid out.
    Trace(Trace),
    /// A packet capture.
    Packets,
}

/// A form that is known and not read.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
#[non_exhaustive]
pub enum Unread {
    /// A binary log of the form `BLF`.
    Blf,
    /// A measurement file of the form `MDF` or `MF4`.
    Mdf,
    /// A packed file.
    Packed,
    /// A table of decoded values.
    Values,
    /// JSON.
    Json,
}

/// A line that is read, as an example in messages.
pub(super) const EXAMPLE: &str = "(1700000000.123456) can0 7E8#0641010007E50000";

impl Unread {
    /// What it is and what to do, in plain words.
    #[must_use]
    pub fn explain(self) -> &'static str {
        match self {
            Self::Blf => "a binary log (BLF); turn it into candump text with a converter of CAN logs",
            Self::Mdf => "a measurement file (MDF, MF4); export its raw CAN frames as ASC or CSV with an MDF converter",
            Self::Packed => "packed; unpack it first",
            Self::Values => {
                "a table of decoded values, and a value does not show what the controller answered; record or export \
                 the raw frames, with columns for id and data"
            }
            Self::Json => "JSON; export the raw frames as CSV with columns for id and data, or as candump text",
        }
    }
}

/// The form of an input by its first bytes and lines.
pub(super) fn recognise(input: &[u8]) -> Result<Form, DecodeError> {
    match input {
        [b'L', b'O', b'G', b'G', _, 0, ..] => return Err(DecodeError::NotRead(Unread::Blf)),
        [b'M', b'D', b'F', b' ', ..] | [b'U', b'n', b'F', b'i', b'n', ..] => {
            return Err(DecodeError::NotRead(Unread::Mdf));
        }
        [0x1F, 0x8B, ..] | [b'P', b'K', 3, 4, ..] | [0x28, 0xB5, 0x2F, 0xFD, ..] => {
            return Err(DecodeError::NotRead(Unread::Packed));
        }
        _ if packets::is_capture(input) => return Ok(Form::Packets),
        _ => {}
    }
    Ok(match (trace::recognise(input), table::recognise(input)) {
        (Some(trace), _) => Form::Trace(trace),
        (None, Some(table)) => Form::Table(table),
        (None, None) => Form::Lines,
    })
}

/// What a text without a usable line is, if that can be said.
pub(super) fn named(text: &[u8]) -> Option<Unread> {
    let mut lines = text.split(|byte| *byte == b'\n').map(<[u8]>::trim_ascii);
    let first = lines.find(|line| !line.is_empty() && !line.starts_with(b"#"))?;
    if matches!(first.first(), Some(b'{' | b'[')) {
        return Some(Unread::Json);
    }
    // A first line of names only, above one with as many fields: a table without ids and bytes.
    let delimiter = [b',', b';', b'\t'].into_iter().max_by_key(|it| first.iter().filter(|byte| *byte == it).count())?;
    let count = |line: &[u8]| line.iter().filter(|byte| **byte == delimiter).count();
    let is_name = |field: &[u8]| field.iter().any(u8::is_ascii_alphabetic);
    let are_names = count(first) > 0 && first.split(|byte| *byte == delimiter).all(is_name);
    let second = lines.find(|line| !line.is_empty());
    (are_names && second.is_some_and(|second| count(second) == count(first))).then_some(Unread::Values)
}
