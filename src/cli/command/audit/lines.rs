//! A stream of text in blocks of whole records, so that each block can be worked on alone. In CSV a quoted field may hold
//! line ends: where a block has quotes, its last record's end is found by the rules of CSV, not by the last line end.

use crate::audit::PADDING;
use csv_core::{ReadRecordResult, ReaderBuilder};
use std::io::{self, BufRead, Read};

/// How large a block is, in bytes, unless one record is larger.
const BLOCK: usize = 1 << 18;

/// The longest record, in bytes.
pub(super) const LONGEST: usize = 16 << 20;

/// Blocks of a stream.
pub(super) struct Blocks {
    stream: Box<dyn BufRead + Send>,
    /// Bytes that were read and are not in a block yet.
    rest: Vec<u8>,
    /// What parts the fields; `None`: lines of JSON.
    delimiter: Option<u8>,
    ended: bool,
}

impl Blocks {
    pub(super) fn new(stream: Box<dyn BufRead + Send>, delimiter: Option<u8>) -> Blocks {
        Blocks { stream, rest: Vec::new(), delimiter, ended: false }
    }

    /// The next block, with padding after it, and how many bytes of it are text.
    pub(super) fn next(&mut self) -> io::Result<Option<(Vec<u8>, usize)>> {
        let mut wanted = BLOCK;
        loop {
            self.fill(wanted)?;
            if self.rest.is_empty() {
                return Ok(None);
            }
            let mut end = if self.ended { Some(self.rest.len()) } else { self.end_of_records() };
            // Whether a line feed follows a carriage return, and belongs to it, must be known.
            if let Some(at) = end.filter(|at| self.delimiter.is_some() && self.is_return(*at)) {
                if at == self.rest.len() && !self.ended {
                    self.fill(at + 1)?;
                }
                if self.rest.get(at) == Some(&b'\n') {
                    end = Some(at + 1);
                }
            }
            if let Some(end) = end.filter(|end| *end > 0) {
                let mut later = Vec::with_capacity(BLOCK + BLOCK / 4);
                later.extend_from_slice(self.rest.get(end..).unwrap_or(&[]));
                let mut block = std::mem::replace(&mut self.rest, later);
                block.truncate(end);
                block.resize(end + PADDING, 0);
                return Ok(Some((block, end)));
            }
            if wanted >= LONGEST {
                let message = format!("a record is longer than {LONGEST} bytes: is a quote not closed?");
                return Err(io::Error::new(io::ErrorKind::InvalidData, message));
            }
            wanted *= 2;
        }
    }

    /// Whether a carriage return stands before a place.
    fn is_return(&self, at: usize) -> bool {
        at.checked_sub(1).and_then(|before| self.rest.get(before)) == Some(&b'\r')
    }

    fn fill(&mut self, wanted: usize) -> io::Result<()> {
        let missing = wanted.saturating_sub(self.rest.len());
        if missing == 0 || self.ended {
            return Ok(());
        }
        let missing = u64::try_from(missing).unwrap_or(u64::MAX);
        let read = self.stream.by_ref().take(missing).read_to_end(&mut self.rest)?;
        self.ended = u64::try_from(read).unwrap_or(0) < missing;
        Ok(())
    }

    /// Where the last whole record ends.
    fn end_of_records(&self) -> Option<usize> {
        let quoted = self.delimiter.filter(|_| memchr::memchr(b'"', &self.rest).is_some());
        let Some(delimiter) = quoted else {
            let found = match self.delimiter {
                Some(_) => memchr::memrchr2(b'\n', b'\r', &self.rest),
                None => memchr::memrchr(b'\n', &self.rest),
            };
            return found.map(|at| at + 1);
        };
        let mut reader = ReaderBuilder::new().delimiter(delimiter).build();
        let mut output = [0u8; 4096];
        let mut ends = [0usize; 256];
        let (mut at, mut end) = (0, None);
        while let Some(input) = self.rest.get(at..).filter(|input| !input.is_empty()) {
            let (result, read, _, _) = reader.read_record(input, &mut output, &mut ends);
            at += read;
            match result {
                ReadRecordResult::Record => end = Some(at),
                ReadRecordResult::InputEmpty | ReadRecordResult::End => break,
                ReadRecordResult::OutputFull | ReadRecordResult::OutputEndsFull => {}
            }
        }
        end
    }
}
