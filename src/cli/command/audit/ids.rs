//! Ids that several records have, found by their marks when all are read: a table of all marks, asked once a record, would be
//! in no cache.

use crate::audit::Repeated;
use crate::cli::threads;

/// The mark of a record without an id.
pub(super) const NONE: u64 = 0;

/// The most ids that are kept; those after them are not looked for.
const MOST_IDS: usize = 50_000_000;

/// Parts that the marks are looked through in, by their four highest bits: what is sorted at a time is a sixteenth of them.
const PARTS: u64 = 1 << 4;

/// The marks of ids in the order of the records: of sixty-four bits each, so that two ids hardly ever share one.
#[derive(Default)]
pub(super) struct Marks {
    marks: Vec<u64>,
    /// Where the marks of a run of records begin, with the file and the number of the first record.
    runs: Vec<(usize, usize, u64)>,
    /// Records that there was no room for.
    beyond: u64,
}

impl Marks {
    /// Takes the marks of records of a file that follow each other, from the number of the first.
    pub(super) fn take(&mut self, file: usize, first: u64, marks: &[u64]) {
        self.take_within(MOST_IDS, file, first, marks);
    }

    fn take_within(&mut self, most: usize, file: usize, first: u64, marks: &[u64]) {
        let (kept, beyond) = marks.split_at(marks.len().min(most.saturating_sub(self.marks.len())));
        self.runs.push((self.marks.len(), file, first));
        self.marks.extend_from_slice(kept);
        self.beyond += u64::try_from(beyond.len()).unwrap_or(u64::MAX);
    }

    /// The records whose id one before them has, found by so many threads; `files` are the names of the files.
    pub(super) fn repeated(&self, threads: usize, files: &[String]) -> Repeated {
        let parts: Vec<u64> = (0..PARTS).collect();
        let found = threads::each_by(threads, &parts, |part| self.repeated_in(*part));
        let count = found.iter().map(|(_, count)| count).sum();
        let mut twice: Vec<u64> = found.into_iter().flat_map(|(twice, _)| twice).collect();
        let named = |(file, row): (usize, u64)| (files.get(file).cloned().unwrap_or_default(), row);
        Repeated { count, first: self.first_of(&mut twice).map(named), beyond: self.beyond }
    }

    /// Marks of a part that stand more than once, and how many records have one that stood before.
    fn repeated_in(&self, part: u64) -> (Vec<u64>, u64) {
        let mut own: Vec<u64> =
            self.marks.iter().copied().filter(|mark| mark >> (64 - 4) == part && *mark != NONE).collect();
        own.sort_unstable();
        let (mut twice, mut count) = (Vec::new(), 0);
        for same in own.chunk_by(|one, other| one == other) {
            if let [mark, _, ..] = same {
                twice.push(*mark);
                count += u64::try_from(same.len() - 1).unwrap_or(u64::MAX);
            }
        }
        (twice, count)
    }

    /// The first record with one of these marks that stood before.
    fn first_of(&self, twice: &mut [u64]) -> Option<(usize, u64)> {
        if twice.is_empty() {
            return None;
        }
        twice.sort_unstable();
        let mut met = vec![false; twice.len()];
        let stood = |mark: &u64| {
            twice
                .binary_search(mark)
                .ok()
                .and_then(|at| met.get_mut(at))
                .is_some_and(|met| std::mem::replace(met, true))
        };
        let place = self.marks.iter().position(stood)?;
        let (begin, file, first) = self.runs.get(self.runs.partition_point(|run| run.0 <= place).checked_sub(1)?)?;
        Some((*file, first + u64::try_from(place - begin).ok()?))
    }
}

#[cfg(test)]
mod tests {
    use super::{Marks, NONE, Repeated};
    use proptest::prelude::*;
    use std::collections::BTreeSet;

    /// The same by a set of all that stood before.
    fn plainly(most: usize, runs: &[(usize, u64, Vec<u64>)]) -> Repeated {
        let (mut met, mut found, mut read) = (BTreeSet::new(), Repeated::default(), 0);
        for (file, first, marks) in runs {
            for (number, mark) in (*first..).zip(marks) {
                read += 1;
                if read > most {
                    found.beyond += 1;
                } else if *mark != NONE && !met.insert(*mark) {
                    found.count += 1;
                    found.first.get_or_insert((file.to_string(), number));
                }
            }
        }
        found
    }

    proptest! {
        #[test]
        fn what_is_repeated_is_found(
            runs in prop::collection::vec(
                prop::collection::vec(prop_oneof![Just(NONE), 0u64..40, (0u64..40).prop_map(|it| it << 58 | 1)], 0..12),
                0..8,
            ),
            threads in 0usize..20,
            most in prop_oneof![0usize..100, Just(1000)],
        ) {
            let mut number = 1;
            let runs: Vec<_> = (0..).zip(runs).map(|(at, marks)| {
                // Two runs a file, whose records are numbered on.
                let first = if at % 2 == 0 { 1 } else { number };
                number = first + u64::try_from(marks.len()).unwrap_or(0);
                (at / 2, first, marks)
            }).collect();
            let mut all = Marks::default();
            for (file, first, marks) in &runs {
                all.take_within(most, *file, *first, marks);
            }
            let files: Vec<String> = (0..runs.len()).map(|file| file.to_string()).collect();
            prop_assert_eq!(all.repeated(threads, &files), plainly(most, &runs));
        }
    }
}
