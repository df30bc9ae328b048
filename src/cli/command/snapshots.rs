//! Snapshots of a file one after the other, so that memory does not grow with their number. A file holds one document, or
//! several of which each stands on a line of its own (JSON Lines); of those a faulty one is told and passed over.

use crate::cli::files;
use crate::document::{self, Document, Fault};
use std::io::BufRead;
use std::path::Path;

/// Largest document, in bytes.
const MOST: u64 = 16 << 20;

/// The snapshots of a file.
pub(super) struct Snapshots<'p> {
    path: &'p Path,
    from: Box<dyn BufRead>,
    /// Lines that were read to tell the form, with their numbers; the last first.
    ahead: Vec<(usize, Vec<u8>)>,
    line: usize,
    form: Form,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Form {
    /// One document over the whole file.
    Whole,
    /// One a line.
    Lines,
    /// Nothing is left, or it cannot be read.
    Over,
}

/// One snapshot: what messages call it, and the document or every fault of it.
pub(super) struct One {
    pub(super) name: String,
    pub(super) document: Result<Document, Vec<Fault>>,
}

impl<'p> Snapshots<'p> {
    /// Opens a file, or standard input for `-`.
    pub(super) fn open(path: &'p Path) -> Result<Snapshots<'p>, String> {
        let from = files::stream(path)?;
        let mut it = Snapshots { path, from, ahead: Vec::new(), line: 0, form: Form::Whole };
        let mut ahead = Vec::new();
        let mut starts = 0;
        // The form is told by the first two lines that hold anything.
        while starts < 2
            && let Some((number, line)) = it.next_line()?
        {
            let text = line.strip_prefix(b"\xEF\xBB\xBF").filter(|_| number == 1).unwrap_or(&line).trim_ascii();
            let opens = text.first() == Some(&b'{');
            starts += usize::from(opens);
            let is_other = !opens && !text.is_empty();
            ahead.push((number, line));
            if is_other {
                break;
            }
        }
        if starts == 2 {
            it.form = Form::Lines;
        }
        ahead.reverse();
        it.ahead = ahead;
        Ok(it)
    }

    /// Whether there are several.
    pub(super) fn are_many(&self) -> bool {
        self.form != Form::Whole
    }

    fn next_line(&mut self) -> Result<Option<(usize, Vec<u8>)>, String> {
        if let Some(line) = self.ahead.pop() {
            return Ok(Some(line));
        }
        let line = files::next_line(&mut *self.from, self.path, MOST)?;
        self.line += 1;
        Ok(line.map(|line| (self.line, line)))
    }

    /// The whole file, of at most the size of one document.
    fn whole(&mut self) -> Result<Vec<u8>, String> {
        let mut all = Vec::new();
        while let Some((_, line)) = self.next_line()? {
            all.extend(line);
            if u64::try_from(all.len()).unwrap_or(u64::MAX) > MOST {
                return Err(format!("{}: larger than the {MOST} bytes allowed", files::shown(self.path)));
            }
        }
        Ok(all)
    }

    /// The next snapshot; an error where the file cannot be read on.
    pub(super) fn next(&mut self) -> Result<Option<One>, String> {
        let name = files::shown(self.path);
        match self.form {
            Form::Over => Ok(None),
            Form::Whole => {
                let bytes = self.whole()?;
                self.form = Form::Over;
                Ok(Some(One { name, document: document::read(&bytes) }))
            }
            Form::Lines => loop {
                let read = self.next_line();
                if read.is_err() {
                    self.form = Form::Over;
                }
                let Some((number, line)) = read? else {
                    self.form = Form::Over;
                    return Ok(None);
                };
                if !line.trim_ascii().is_empty() {
                    return Ok(Some(One { name: format!("{name}, line {number}"), document: document::read(&line) }));
                }
            },
        }
    }
}
