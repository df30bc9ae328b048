//! The first record of a CSV file, which says how many columns there are: read piece by piece as the bytes come, each
//! looked at once, so that a header without an end costs no more than the caller lets it.

use csv_core::{ReadRecordResult, Reader, ReaderBuilder};

/// The signs that part fields in most files.
pub const DELIMITERS: [u8; 4] = [b',', b';', b'\t', b'|'];

/// A first record under way. Records of blanks alone before it do not count.
#[derive(Debug)]
pub struct Header {
    reader: Reader,
    output: Vec<u8>,
    written: usize,
    ends: Vec<usize>,
    count: usize,
    text: Vec<u8>,
    fields: Option<Vec<String>>,
    is_over: bool,
}

impl Header {
    /// Nothing read yet.
    #[must_use]
    pub fn new(delimiter: u8) -> Header {
        Header {
            reader: ReaderBuilder::new().delimiter(delimiter).build(),
            output: Vec::new(),
            written: 0,
            ends: Vec::new(),
            count: 0,
            text: Vec::new(),
            fields: None,
            is_over: false,
        }
    }

    /// Takes bytes up to the end of the record, and says how many. No bytes: the file has ended.
    pub fn feed(&mut self, bytes: &[u8]) -> usize {
        let mut used = 0;
        while !self.is_over {
            let rest = bytes.get(used..).unwrap_or(&[]);
            if rest.is_empty() && !bytes.is_empty() {
                break;
            }
            // No byte gives more than a byte and an end.
            self.output.resize(self.written + rest.len() + 1, 0);
            self.ends.resize(self.count + rest.len() + 1, 0);
            let output = self.output.get_mut(self.written..).unwrap_or(&mut []);
            let ends = self.ends.get_mut(self.count..).unwrap_or(&mut []);
            let (result, taken, put, fields) = self.reader.read_record(rest, output, ends);
            used += taken;
            self.written += put;
            self.count += fields;
            self.text.extend_from_slice(rest.get(..taken).unwrap_or(&[]));
            match result {
                ReadRecordResult::Record => self.close(),
                ReadRecordResult::End => self.is_over = true,
                ReadRecordResult::InputEmpty | ReadRecordResult::OutputFull | ReadRecordResult::OutputEndsFull => {}
            }
        }
        used
    }

    fn close(&mut self) {
        let mut from = 0;
        let mut fields = Vec::with_capacity(self.count);
        for end in self.ends.iter().take(self.count) {
            let field = String::from_utf8_lossy(self.output.get(from..*end).unwrap_or(&[])).into_owned();
            fields.push(field.trim_start_matches('\u{feff}').trim().to_owned());
            from = *end;
        }
        (self.written, self.count) = (0, 0);
        if !matches!(fields.as_slice(), [only] if only.is_empty()) {
            self.fields = Some(fields);
            self.is_over = true;
        }
    }

    /// Whether the record has ended, or the file.
    #[must_use]
    pub fn is_over(&self) -> bool {
        self.is_over
    }

    /// The fields, without blanks around them; `None` where the file holds no record.
    #[must_use]
    pub fn fields(&self) -> Option<&[String]> {
        self.fields.as_deref()
    }

    /// What was read, without the mark of byte order before it.
    #[must_use]
    pub fn text(&self) -> &[u8] {
        self.text.strip_prefix(&[0xEF, 0xBB, 0xBF]).unwrap_or(&self.text)
    }

    /// Whether the record goes over several lines and a quote in it is not closed.
    #[must_use]
    pub fn is_unclosed(&self) -> bool {
        let text = self.text();
        memchr::memchr_iter(b'"', text).count() % 2 == 1 && memchr::memchr2(b'\n', b'\r', text).is_some()
    }
}

/// The fields of a first record that is at hand as a whole.
#[must_use]
pub fn fields_of(text: &[u8], delimiter: u8) -> Vec<String> {
    let mut header = Header::new(delimiter);
    let used = header.feed(text);
    if !header.is_over() && used == text.len() {
        header.feed(&[]);
    }
    header.fields.unwrap_or_default()
}

/// The sign that parts a first record into the most fields; the earlier of [`DELIMITERS`] where several do.
#[must_use]
pub fn likely_delimiter(text: &[u8]) -> u8 {
    let count = |sign: &u8| fields_of(text, *sign).len();
    DELIMITERS.into_iter().rev().max_by_key(count).unwrap_or(b',')
}
