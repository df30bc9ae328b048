//! Records that say the same, as far as a program can tell, have the same answer: a signature of a record, and the
//! answers by signature. Codes stand for what the program asks of their meaning, numbers for the run between two thresholds
//! that they lie in. Records that planes cannot read (a number out of its range) have no signature and never come here.

use super::batch::{Batch, Column, is_known};
use super::exact::Answer;
use super::judged::RowError;
use ahash::RandomState;
use indexmap::IndexMap;
use std::collections::BTreeMap;
use std::sync::{Arc, PoisonError, RwLock};

/// The most answers that are kept.
const MOST: usize = 1 << 17;

/// What a record says, a number for each column.
type Signature = Box<[u32]>;

/// Says in a signature that the bytes of PID $01 are known.
const KNOWN: u32 = 0x0100_0000;

/// How a column's values are told apart.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum Told {
    /// By the code; its meaning is part of the shape.
    Code,
    /// Not at all: no test looks at it.
    Nothing,
    /// By the answers to the questions that are put to the meaning of the code.
    Meaning,
    /// By thresholds, and by whether the number is odd.
    Number {
        /// Numbers from which a test goes another way, ascending.
        bounds: Vec<i64>,
        /// Whether a test asks for the parity.
        parity: bool,
    },
}

/// Answers so far.
#[derive(Debug, Default)]
pub(super) struct Answers {
    kept: RwLock<Kept>,
}

#[derive(Debug)]
struct Kept {
    /// Numbers of the answers to the questions about a column.
    meanings: BTreeMap<(usize, Vec<u8>), u32>,
    /// Looked up once for each record that planes leave open, among a hundred thousand: by a hash of fixed seeds, in the
    /// order in which they were kept, which nobody asks for.
    answers: IndexMap<Signature, Arc<Result<Answer, RowError>>, RandomState>,
}

impl Default for Kept {
    fn default() -> Kept {
        let hasher = RandomState::with_seeds(0x5EED, 0x0B5E, 0x12EC, 0x0A0D);
        Kept { meanings: BTreeMap::new(), answers: IndexMap::with_hasher(hasher) }
    }
}

/// What the columns of a batch tell, as far as it is asked for once a batch and not once a record.
#[derive(Debug, Default)]
pub(super) struct Asked {
    /// Bits of the bytes of PID $01 that some test looks at.
    monitor_bits: u32,
    /// For each column told by its meaning, the answers to the questions: for each eight a byte a code.
    pub(super) bytes: Vec<Vec<Vec<u8>>>,
    /// For each column the numbers of its codes' answers, as far as they were needed.
    numbers: Vec<Vec<Option<u32>>>,
}

impl Asked {
    /// With these bits of PID $01, and nothing of the columns yet.
    pub(super) fn of(monitor_bits: u32) -> Asked {
        Asked { monitor_bits, ..Asked::default() }
    }

    /// The answers of a code.
    fn answers(&self, column: usize, code: usize) -> Option<Vec<u8>> {
        self.bytes.get(column)?.iter().map(|bytes| bytes.get(code).copied()).collect()
    }
}

impl Kept {
    /// Writes the signature; `None` where a meaning was not met before.
    fn signature(
        &self,
        batch: &Batch<'_>,
        told: &[Told],
        row: usize,
        asked: &mut Asked,
        signature: &mut Vec<u32>,
    ) -> Option<()> {
        signature.clear();
        if let Some((bytes, known)) = batch.monitor_bytes() {
            // The number of codes in byte A is no fact; 1 in its place says that the bytes are known.
            let bytes = bytes.get(row).copied().unwrap_or(0) & asked.monitor_bits | KNOWN;
            signature.push(if is_known(known, row) { bytes } else { 0 });
        }
        for (place, ((_, column), told)) in batch.columns().zip(told).enumerate() {
            let said = match (column, told) {
                (_, Told::Nothing) => 0,
                (Column::Coded { known, .. } | Column::Numbers { known, .. }, _) if !is_known(known, row) => u32::MAX,
                (Column::Coded { codes, meaning, .. }, Told::Meaning) => {
                    let code = codes.get(row)?;
                    let of = asked.numbers.get_mut(place)?;
                    of.resize(meaning.len(), None);
                    match of.get(code).copied()? {
                        Some(number) => number,
                        None => {
                            let number = *self.meanings.get(&(place, asked.answers(place, code)?))?;
                            *asked.numbers.get_mut(place)?.get_mut(code)? = Some(number);
                            number
                        }
                    }
                }
                (Column::Coded { codes, .. }, _) => u32::try_from(codes.get(row)?).ok()?,
                (Column::Numbers { values, .. }, Told::Number { bounds, parity }) => {
                    let value = values.get(row)?;
                    let run = u32::try_from(bounds.partition_point(|bound| *bound <= value)).ok()?;
                    run << 1 | u32::from(*parity && value & 1 == 1)
                }
                (Column::Numbers { .. }, _) => return None,
            };
            signature.push(said);
        }
        Some(())
    }
}

impl Answers {
    /// The answers for records; `find` works one out. Records that planes cannot read are not among those kept.
    pub(super) fn each(
        &self,
        batch: &Batch<'_>,
        told: &[Told],
        asked: &mut Asked,
        rows: impl Iterator<Item = usize>,
        find: impl Fn(usize) -> Result<Answer, RowError>,
        mut done: impl FnMut(usize, &Result<Answer, RowError>),
    ) {
        let mut missing = Vec::new();
        let mut signature = Vec::new();
        asked.numbers = vec![Vec::new(); told.len()];
        {
            let kept = self.kept.read().unwrap_or_else(PoisonError::into_inner);
            for row in rows {
                let found = kept.signature(batch, told, row, asked, &mut signature);
                match found.and_then(|()| kept.answers.get(signature.as_slice())) {
                    Some(answer) => done(row, answer),
                    None => missing.push(row),
                }
            }
        }
        for row in missing {
            if let Some(answer) = self.again(batch, told, row, asked) {
                done(row, &answer);
                continue;
            }
            let answer = Arc::new(find(row));
            done(row, &answer);
            if !matches!(*answer, Err(RowError::OutOfRange { .. } | RowError::NoMeaning { .. })) {
                self.keep(batch, told, row, answer, asked);
            }
        }
    }

    /// A record that says the same may just have been answered.
    fn again(
        &self,
        batch: &Batch<'_>,
        told: &[Told],
        row: usize,
        asked: &mut Asked,
    ) -> Option<Arc<Result<Answer, RowError>>> {
        let kept = self.kept.read().unwrap_or_else(PoisonError::into_inner);
        let mut signature = Vec::new();
        kept.signature(batch, told, row, asked, &mut signature)?;
        kept.answers.get(signature.as_slice()).map(Arc::clone)
    }

    fn keep(
        &self,
        batch: &Batch<'_>,
        told: &[Told],
        row: usize,
        answer: Arc<Result<Answer, RowError>>,
        asked: &mut Asked,
    ) {
        let mut kept = self.kept.write().unwrap_or_else(PoisonError::into_inner);
        if kept.answers.len() >= MOST || kept.meanings.len() >= MOST {
            return;
        }
        for (place, ((_, column), told)) in batch.columns().zip(told).enumerate() {
            if let (Column::Coded { codes, known, .. }, Told::Meaning) = (column, told)
                && is_known(known, row)
                && let Some(answers) = codes.get(row).and_then(|code| asked.answers(place, code))
            {
                let next = u32::try_from(kept.meanings.len()).unwrap_or(u32::MAX);
                kept.meanings.entry((place, answers)).or_insert(next);
            }
        }
        let mut signature = Vec::new();
        if kept.signature(batch, told, row, asked, &mut signature).is_some() {
            kept.answers.insert(signature.into_boxed_slice(), answer);
        }
    }
}
