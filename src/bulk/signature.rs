//! Records that say the same, as far as a program can tell, have the same answer: a signature of a record, and the
//! answers by signature. Codes stand for their meaning, numbers for the run between two thresholds that they lie in.

use super::batch::{Batch, Column, is_known};
use super::exact::Answer;
use super::judged::RowError;
use crate::model::facts::Possible;
use ahash::RandomState;
use indexmap::IndexMap;
use std::collections::BTreeMap;
use std::sync::{Arc, PoisonError, RwLock};

/// The most answers that are kept.
const MOST: usize = 1 << 17;

/// What a record says, a number for each column.
type Signature = Box<[u32]>;

/// How a column's values are told apart.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum Told {
    /// By the code; its meaning is part of the shape.
    Code,
    /// By the meaning of the code.
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
    meanings: BTreeMap<(usize, Possible), u32>,
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

/// For each column the numbers of its meanings, as far as they were asked for: asked once a batch, not once a record.
type Numbers = Vec<Vec<Option<u32>>>;

impl Kept {
    /// Writes the signature; `None` where a meaning was not met before.
    fn signature(
        &self,
        batch: &Batch<'_>,
        told: &[Told],
        row: usize,
        numbers: &mut Numbers,
        signature: &mut Vec<u32>,
    ) -> Option<()> {
        signature.clear();
        if let Some((bytes, known)) = batch.monitor_bytes() {
            // The number of codes in byte A is no fact; 1 in its place says that the bytes are known.
            let bytes = bytes.get(row).copied().unwrap_or(0) & 0x80FF_FFFF | 0x0100_0000;
            signature.push(if is_known(known, row) { bytes } else { 0 });
        }
        for (place, ((_, column), told)) in batch.columns().zip(told).enumerate() {
            let said = match (column, told) {
                (Column::Coded { known, .. } | Column::Numbers { known, .. }, _) if !is_known(known, row) => u32::MAX,
                (Column::Coded { codes, meaning, .. }, Told::Meaning) => {
                    let code = codes.get(row)?;
                    let slot = numbers.get_mut(place).and_then(|of| {
                        of.resize(meaning.len(), None);
                        of.get_mut(code)
                    })?;
                    if slot.is_none() {
                        *slot = self.meanings.get(&(place, meaning.get(code)?.clone())).copied();
                    }
                    (*slot)?
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
        rows: impl Iterator<Item = usize>,
        find: impl Fn(usize) -> Result<Answer, RowError>,
        mut done: impl FnMut(usize, &Result<Answer, RowError>),
    ) {
        let mut missing = Vec::new();
        let mut signature = Vec::new();
        let mut numbers: Numbers = vec![Vec::new(); told.len()];
        {
            let kept = self.kept.read().unwrap_or_else(PoisonError::into_inner);
            for row in rows {
                let found = kept.signature(batch, told, row, &mut numbers, &mut signature);
                match found.and_then(|()| kept.answers.get(signature.as_slice())) {
                    Some(answer) => done(row, answer),
                    None => missing.push(row),
                }
            }
        }
        for row in missing {
            if let Some(answer) = self.again(batch, told, row, &mut numbers) {
                done(row, &answer);
                continue;
            }
            let answer = Arc::new(find(row));
            done(row, &answer);
            if !matches!(*answer, Err(RowError::OutOfRange { .. } | RowError::NoMeaning { .. })) {
                self.keep(batch, told, row, answer, &mut numbers);
            }
        }
    }

    /// A record that says the same may just have been answered.
    fn again(
        &self,
        batch: &Batch<'_>,
        told: &[Told],
        row: usize,
        numbers: &mut Numbers,
    ) -> Option<Arc<Result<Answer, RowError>>> {
        let kept = self.kept.read().unwrap_or_else(PoisonError::into_inner);
        let mut signature = Vec::new();
        kept.signature(batch, told, row, numbers, &mut signature)?;
        kept.answers.get(signature.as_slice()).map(Arc::clone)
    }

    fn keep(
        &self,
        batch: &Batch<'_>,
        told: &[Told],
        row: usize,
        answer: Arc<Result<Answer, RowError>>,
        numbers: &mut Numbers,
    ) {
        let mut kept = self.kept.write().unwrap_or_else(PoisonError::into_inner);
        if kept.answers.len() >= MOST || kept.meanings.len() >= MOST {
            return;
        }
        for (place, ((_, column), told)) in batch.columns().zip(told).enumerate() {
            if let (Column::Coded { codes, meaning, known }, Told::Meaning) = (column, told)
                && is_known(known, row)
                && let Some(meaning) = codes.get(row).and_then(|code| meaning.get(code))
            {
                let next = u32::try_from(kept.meanings.len()).unwrap_or(u32::MAX);
                kept.meanings.entry((place, meaning.clone())).or_insert(next);
            }
        }
        let mut signature = Vec::new();
        if kept.signature(batch, told, row, numbers, &mut signature).is_some() {
            kept.answers.insert(signature.into_boxed_slice(), answer);
        }
    }
}
