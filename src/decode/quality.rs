//! Flags on the quality of the data: what was seen that a reader of the result must know.
//!
//! A flag has a stable slug for programs and plain words for people. Nothing here decides which
//! facts are used; that is the business of the file that raises the flag.

use std::collections::{BTreeMap, BTreeSet};

/// Line numbers kept as ranges, so that a million bad lines stay small.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct LineNumbers {
    ranges: Vec<(usize, usize)>,
}

impl LineNumbers {
    /// Adds a line; a line that is there already is ignored.
    pub(super) fn add(&mut self, line: usize) {
        match self.ranges.last_mut() {
            Some((first, _)) if *first > line => self.insert(line),
            Some((_, last)) if *last == line => {}
            Some((_, last)) if last.checked_add(1) == Some(line) => *last = line,
            _ => self.ranges.push((line, line)),
        }
    }

    /// Adds a line before the last range: seldom, where a flag names an earlier line.
    fn insert(&mut self, line: usize) {
        let place = self.ranges.partition_point(|(first, _)| *first <= line);
        let before = place.checked_sub(1).and_then(|before| self.ranges.get_mut(before));
        match before {
            Some((_, last)) if *last >= line => {}
            Some((_, last)) if last.checked_add(1) == Some(line) => *last = line,
            _ => self.ranges.insert(place, (line, line)),
        }
    }

    /// How many lines there are.
    #[must_use]
    pub fn count(&self) -> usize {
        self.ranges.iter().map(|(first, last)| last.saturating_sub(*first).saturating_add(1)).sum()
    }

    /// Every line number in the order of the input.
    pub fn iter(&self) -> impl Iterator<Item = usize> + '_ {
        self.ranges.iter().flat_map(|(first, last)| *first..=*last)
    }

    /// The lines as inclusive ranges, in the order of the input.
    #[must_use]
    pub fn ranges(&self) -> &[(usize, usize)] {
        &self.ranges
    }
}

/// One flag.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Flag {
    /// Stable name for programs, for example `truncated-answer`.
    pub slug: &'static str,
    /// What was seen and what follows, in plain words.
    pub message: String,
    /// The lines of the input that it comes from; empty where it comes from no line.
    pub lines: LineNumbers,
}

/// How many different messages one slug may have; further lines go under one more.
const MESSAGES_A_SLUG: usize = 50;

/// Collects flags; the same slug and message is one flag with several lines.
#[derive(Debug, Default)]
pub(super) struct Flags {
    flags: Vec<Flag>,
    messages: BTreeMap<&'static str, usize>,
    index: BTreeMap<(&'static str, String), usize>,
}

impl Flags {
    /// Raises a flag at a line of the input.
    pub(super) fn at(&mut self, slug: &'static str, message: impl Into<String>, line: usize) {
        self.raise(slug, message.into(), Some(line));
    }

    /// Raises a flag that comes from several lines, in any order; 0 stands for none.
    pub(super) fn over_lines(
        &mut self,
        slug: &'static str,
        message: impl Into<String>,
        lines: impl IntoIterator<Item = usize>,
    ) {
        let lines: BTreeSet<usize> = lines.into_iter().filter(|line| *line > 0).collect();
        let message = message.into();
        if lines.is_empty() {
            self.raise(slug, message, None);
        } else {
            lines.into_iter().for_each(|line| self.raise(slug, message.clone(), Some(line)));
        }
    }

    /// Raises a flag that belongs to no line.
    pub(super) fn note(&mut self, slug: &'static str, message: impl Into<String>) {
        self.raise(slug, message.into(), None);
    }

    /// Raises a flag with all its lines.
    pub(super) fn over(&mut self, slug: &'static str, message: &str, lines: &LineNumbers) {
        self.flags.push(Flag { slug, message: message.to_owned(), lines: lines.clone() });
    }

    fn raise(&mut self, slug: &'static str, mut message: String, line: Option<usize>) {
        let known = self.index.contains_key(&(slug, message.clone()));
        if !known {
            let messages = self.messages.entry(slug).or_default();
            if *messages < MESSAGES_A_SLUG {
                *messages += 1;
            } else {
                "the same again, too often to tell each".clone_into(&mut message);
            }
        }
        let next = self.flags.len();
        let place = *self.index.entry((slug, message.clone())).or_insert(next);
        if place == next {
            self.flags.push(Flag { slug, message, lines: LineNumbers::default() });
        }
        if let (Some(flag), Some(line)) = (self.flags.get_mut(place), line) {
            flag.lines.add(line);
        }
    }

    /// All flags in the order in which they were first raised.
    pub(super) fn into_vec(self) -> Vec<Flag> {
        self.flags
    }
}
