//! Tables of frames (CSV with a comma, a semicolon or a tab): columns of time, id, length and data in any order, told by
//! the names in the first line.
//!
//! Ids and bytes must be hexadecimal, and must show it: by `0x`, by a letter somewhere in the column, or by bytes of two
//! digits throughout. A column that may be decimal is refused whole; 45 read as hexadecimal would be another byte.

use super::hex;
use super::line::{CanId, Frame, Line, LineProblem, Lines};

/// Where the columns of a table are.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Table {
    delimiter: u8,
    /// The line of the names.
    names: usize,
    id: usize,
    length: Option<usize>,
    data: Data,
    extended: Option<usize>,
    no_data: Vec<usize>,
    /// Why nothing of it can be read.
    wrong: Option<LineProblem>,
}

#[derive(Debug, Clone, PartialEq, Eq)]
enum Data {
    /// All bytes in one column: in hexadecimal, or in the base64 of general CAN libraries, which the length tells.
    One(usize),
    /// One column a byte.
    Each(Vec<usize>),
}

const IDS: [&str; 11] = [
    "id",
    "canid",
    "arbitrationid",
    "identifier",
    "msgid",
    "messageid",
    "frameid",
    "arbid",
    "idhex",
    "canidhex",
    "canidentifier",
];
const WHOLE: [&str; 8] = ["data", "databytes", "payload", "bytes", "datahex", "rawdata", "payloadhex", "hexdata"];
const LENGTHS: [&str; 7] = ["dlc", "len", "length", "dl", "datalength", "size", "nbytes"];
const EXTENDED: [&str; 7] = ["extended", "ext", "ide", "isextended", "isextendedid", "xtd", "extendedid"];
const NO_DATA: [&str; 6] = ["remote", "rtr", "isremoteframe", "error", "iserrorframe", "err"];

/// A name without case, blanks and signs: `CAN ID (hex)` is `canidhex`.
fn plain(name: &[u8]) -> String {
    name.iter().filter(|byte| byte.is_ascii_alphanumeric()).map(|byte| char::from(byte.to_ascii_lowercase())).collect()
}

fn fields(line: &[u8], delimiter: u8) -> Vec<&[u8]> {
    let quoted = |field: &'_ [u8]| field.len() >= 2 && field.first() == Some(&b'"') && field.last() == Some(&b'"');
    line.split(|byte| *byte == delimiter)
        .map(<[u8]>::trim_ascii)
        .map(|field| if quoted(field) { field.get(1..field.len().saturating_sub(1)).unwrap_or(field) } else { field })
        .collect()
}

/// The place of a byte column: `d0`, `data1`, `byte 7`, `b3`.
fn byte_place(name: &str) -> Option<u32> {
    let digits = ["data", "byte", "db", "d", "b"].iter().find_map(|head| name.strip_prefix(head))?;
    digits.parse().ok().filter(|place| *place < 64)
}

/// The table of a text, if its first line names an id and data.
pub(super) fn recognise(text: &[u8]) -> Option<Table> {
    let mut lines = Lines::new(text).filter(|(_, line)| !line.trim_ascii().is_empty() && !line.starts_with(b"#"));
    let (number, first) = lines.next()?;
    let delimiter = [b',', b';', b'\t'].into_iter().max_by_key(|it| first.iter().filter(|byte| *byte == it).count())?;
    let names: Vec<String> = fields(first, delimiter).into_iter().map(plain).collect();
    if names.len() < 2 {
        return None;
    }
    let find = |known: &[&str]| names.iter().position(|name| known.contains(&name.as_str()));
    let id = find(&IDS)?;
    let mut each: Vec<(u32, usize)> =
        names.iter().enumerate().filter_map(|(at, name)| byte_place(name).map(|place| (place, at))).collect();
    each.sort_unstable();
    let is_run = each.windows(2).all(|two| matches!(two, [(a, _), (b, _)] if a.checked_add(1) == Some(*b)));
    let data = match find(&WHOLE) {
        Some(at) => Data::One(at),
        None if each.len() >= 2 && is_run => Data::Each(each.into_iter().map(|(_, at)| at).collect()),
        None => return None,
    };
    let no_data = names.iter().enumerate().filter(|(_, name)| NO_DATA.contains(&name.as_str())).map(|(at, _)| at);
    let mut table = Table {
        delimiter,
        names: number,
        id,
        length: find(&LENGTHS),
        data,
        extended: find(&EXTENDED),
        no_data: no_data.collect(),
        wrong: None,
    };
    table.wrong = table.decimal(text);
    Some(table)
}

/// What a column shows of its digits.
#[derive(Default)]
struct Digits {
    any: bool,
    /// A letter, or `0x`.
    is_hex: bool,
    /// Other than two characters, where two would be a byte.
    uneven: bool,
}

impl Digits {
    fn see(&mut self, text: &[u8]) {
        self.letters(text);
        self.uneven |= !matches!(text.len(), 0 | 2);
    }

    fn letters(&mut self, text: &[u8]) {
        self.any |= !text.is_empty();
        let digits = text.strip_prefix(b"0x").or(text.strip_prefix(b"0X")).unwrap_or(text);
        let digits = digits.strip_suffix(b"h").or(digits.strip_suffix(b"x")).unwrap_or(digits);
        let says_so = digits.len() < text.len() || digits.iter().any(u8::is_ascii_alphabetic);
        self.is_hex |= says_so && hex::is_hex(digits);
    }
}

impl Table {
    /// Why the numbers may be decimal, if they may.
    fn decimal(&self, text: &[u8]) -> Option<LineProblem> {
        let (mut ids, mut bytes) = (Digits::default(), Digits::default());
        for (number, line) in Lines::new(text) {
            if number <= self.names {
                continue;
            }
            let row = fields(line, self.delimiter);
            ids.see(row.get(self.id).copied().unwrap_or_default());
            match &self.data {
                Data::Each(columns) => {
                    columns.iter().for_each(|at| bytes.see(row.get(*at).copied().unwrap_or_default()));
                }
                Data::One(at) => {
                    let all = row.get(*at).copied().unwrap_or_default();
                    // Without blanks, bytes are even in number and longer than a decimal one.
                    let is_glued = !all.contains(&b' ') && all.len() >= 4 && all.len() % 2 == 0;
                    if is_glued {
                        bytes.letters(all)
                    } else {
                        all.split(|byte| *byte == b' ').for_each(|it| bytes.see(it))
                    }
                }
            }
        }
        let wrong = ids.any && !ids.is_hex || bytes.any && !bytes.is_hex && bytes.uneven;
        wrong.then_some(LineProblem::MayBeDecimal)
    }

    /// Reads one line.
    pub(super) fn read(&self, number: usize, line: &[u8]) -> Line<'static> {
        if number <= self.names || line.trim_ascii().is_empty() || line.starts_with(b"#") {
            return Line::Nothing;
        }
        if let Some(problem) = self.wrong {
            return Line::Refused(problem);
        }
        match self.frame(&fields(line, self.delimiter)) {
            Ok(Some(frame)) => Line::Frame(frame),
            Ok(None) => Line::NoData,
            Err(problem) => Line::Refused(problem),
        }
    }

    fn frame(&self, row: &[&[u8]]) -> Result<Option<Frame>, LineProblem> {
        let field = |at: usize| row.get(at).copied().unwrap_or_default();
        let is_set = |at: usize| matches!(field(at), [b'1' | b't' | b'T' | b'y' | b'Y', ..]);
        if self.no_data.iter().any(|at| is_set(*at)) {
            return Ok(None);
        }
        let text = field(self.id);
        let digits = text.strip_prefix(b"0x").or(text.strip_prefix(b"0X")).unwrap_or(text);
        let digits = digits.strip_suffix(b"h").or(digits.strip_suffix(b"x")).unwrap_or(digits);
        let value = hex::number(digits).ok_or(LineProblem::BadIdentifier)?;
        let extended = self.extended.is_some_and(is_set) || value > 0x7FF || digits.len() == 8;
        if value > 0x1FFF_FFFF {
            return Err(LineProblem::BadIdentifier);
        }
        let length = match self.length.map(field) {
            None | Some([]) => None,
            Some(text) => {
                let text = std::str::from_utf8(text).map_err(|_| LineProblem::BadHex)?;
                Some(text.parse::<usize>().ok().filter(|length| *length <= 64).ok_or(LineProblem::BadHex)?)
            }
        };
        let bytes = match &self.data {
            Data::One(at) => one(field(*at), length)?,
            Data::Each(columns) => {
                let mut bytes = Vec::new();
                for at in columns {
                    match field(*at) {
                        [] => break,
                        text => bytes.push(byte(text).ok_or(LineProblem::BadHex)?),
                    }
                }
                // Columns behind the length are fill.
                bytes.truncate(length.unwrap_or(bytes.len()));
                bytes
            }
        };
        match length.map(|length| bytes.len().cmp(&length)) {
            Some(std::cmp::Ordering::Less) => return Err(LineProblem::CutShort),
            Some(std::cmp::Ordering::Greater) => return Err(LineProblem::TooManyBytes),
            Some(std::cmp::Ordering::Equal) | None => {}
        }
        let mut frame = Frame::new(CanId { extended, value }, bytes.len() > 8);
        if bytes.iter().all(|byte| frame.push(*byte)) { Ok(Some(frame)) } else { Err(LineProblem::TooManyBytes) }
    }
}

/// A byte of one or two hexadecimal digits.
fn byte(text: &[u8]) -> Option<u8> {
    let digits = text.strip_prefix(b"0x").or(text.strip_prefix(b"0X")).unwrap_or(text);
    u8::try_from(hex::number(digits).filter(|_| digits.len() <= 2)?).ok()
}

/// The bytes of one column: spaced, glued, or in base64 where the length allows nothing else.
fn one(text: &[u8], length: Option<usize>) -> Result<Vec<u8>, LineProblem> {
    let words: Vec<&[u8]> = text.split(|byte| *byte == b' ').filter(|word| !word.is_empty()).collect();
    if let [word] = words.as_slice()
        && word.len() > 2
    {
        let digits = word.strip_prefix(b"0x").unwrap_or(word);
        let is_glued = digits.len() % 2 == 0 && hex::is_hex(digits);
        // n bytes are 2n digits, or 4 characters of base64 for each three: never the same number but for 1 and 2 of 3.
        let fits = length.is_none_or(|length| digits.len() == length.saturating_mul(2));
        if !(is_glued && fits)
            && let Some(length) = length
            && let Some(bytes) = base64(word).filter(|bytes| bytes.len() == length)
        {
            return Ok(bytes);
        }
        if is_glued {
            return digits.chunks(2).map(|two| byte(two).ok_or(LineProblem::BadHex)).collect();
        }
        return Err(LineProblem::BadHex);
    }
    words.into_iter().map(|word| byte(word).ok_or(LineProblem::BadHex)).collect()
}

/// Base64 with fill (RFC 4648, section 4).
fn base64(text: &[u8]) -> Option<Vec<u8>> {
    let value = |byte: u8| {
        Some(match byte {
            b'A'..=b'Z' => byte - b'A',
            b'a'..=b'z' => byte - b'a' + 26,
            b'0'..=b'9' => byte - b'0' + 52,
            b'+' => 62,
            b'/' => 63,
            _ => return None,
        })
    };
    let core = text.strip_suffix(b"==").or(text.strip_suffix(b"=")).unwrap_or(text);
    if !text.len().is_multiple_of(4) {
        return None;
    }
    let mut out = Vec::new();
    for four in core.chunks(4) {
        let bits = four.iter().try_fold(0u32, |bits, byte| Some(bits << 6 | u32::from(value(*byte)?)))?;
        let missing = 4usize.saturating_sub(four.len());
        let bits = bits << (6 * u32::try_from(missing).ok()?);
        let [_, a, b, c] = bits.to_be_bytes();
        out.extend([a, b, c].into_iter().take(3usize.saturating_sub(missing)));
    }
    Some(out)
}
