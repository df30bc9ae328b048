//! Ids that several records have, found by their marks when all are read: a table of all marks, asked once a record, would be
//! in no cache.

/// The mark of a record without an id.
pub(super) const NONE: u64 = 0;

/// The most ids that are kept; those after them are not looked for.
const MOST_IDS: usize = 50_000_000;

/// Parts that the marks are looked through in, by their four highest bits: what is sorted at a time is a sixteenth of them.
const PARTS: u64 = 1 << 4;

/// The marks of ids in the order of the records: of sixty-four bits each, so that two ids hardly ever share one.
#[derive(Default)]
pub(super) struct Ids {
    marks: Vec<u64>,
    /// Where the marks of a run of records begin, with the file and the number of the first record.
    runs: Vec<(usize, usize, u64)>,
    /// Records that there was no room for.
    beyond: u64,
}

/// Records whose id a record before them has.
#[derive(Debug, Default, PartialEq, Eq)]
pub(super) struct Repeats {
    /// How many.
    pub(super) count: u64,
    /// File and number of the first.
    pub(super) first: Option<(usize, u64)>,
    /// Records that were not looked at.
    pub(super) beyond: u64,
}

impl Ids {
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

    /// What is repeated, found by so many threads.
    pub(super) fn repeats(&self, threads: usize) -> Repeats {
        let parts: Vec<u64> = (0..PARTS).collect();
        let each = parts.len().div_ceil(threads.clamp(1, parts.len()));
        let mut twice = Vec::new();
        let mut count = 0;
        std::thread::scope(|scope| {
            let of = |parts| scope.spawn(move || self.repeated_in(parts));
            let hands: Vec<_> = parts.chunks(each).map(of).collect();
            for hand in hands {
                let (own, repeated) = hand.join().unwrap_or_else(|fault| std::panic::resume_unwind(fault));
                count += repeated;
                twice.extend(own);
            }
        });
        Repeats { count, first: self.first_of(&mut twice), beyond: self.beyond }
    }

    /// Marks of these parts that stand more than once, and how many records have one that stood before.
    fn repeated_in(&self, parts: &[u64]) -> (Vec<u64>, u64) {
        let (mut twice, mut count) = (Vec::new(), 0);
        let mut own = Vec::new();
        for part in parts {
            own.clear();
            own.extend(self.marks.iter().copied().filter(|mark| mark >> (64 - 4) == *part && *mark != NONE));
            own.sort_unstable();
            for same in own.chunk_by(|one, other| one == other) {
                if let [mark, _, ..] = same {
                    twice.push(*mark);
                    count += u64::try_from(same.len() - 1).unwrap_or(u64::MAX);
                }
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
    use super::{Ids, NONE, Repeats};
    use proptest::prelude::*;
    use std::collections::BTreeSet;

    /// The same by a set of all that stood before.
    fn plainly(most: usize, runs: &[(usize, u64, Vec<u64>)]) -> Repeats {
        let (mut met, mut found, mut read) = (BTreeSet::new(), Repeats::default(), 0);
        for (file, first, marks) in runs {
            for (number, mark) in (*first..).zip(marks) {
                read += 1;
                if read > most {
                    found.beyond += 1;
                } else if *mark != NONE && !met.insert(*mark) {
                    found.count += 1;
                    found.first.get_or_insert((*file, number));
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
            let mut ids = Ids::default();
            for (file, first, marks) in &runs {
                ids.take_within(most, *file, *first, marks);
            }
            prop_assert_eq!(ids.repeats(threads), plainly(most, &runs));
        }
    }
}
