//! Codes in atoms: two-byte codes that the same groups hold, leave out or do not tell of. A list of codes is then one
//! yes/no an atom, "it holds a code of it"; overlapping groups need no special care.

use crate::model::{CodeGroup, CodeRange, TroubleCode};
use std::collections::{BTreeMap, BTreeSet};

/// Codes that every group treats alike.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Atom {
    /// For each group: holds them, does not, or the text was not read.
    pub bands: Vec<Option<bool>>,
    /// A code of the atom.
    pub sample: TroubleCode,
    /// How many two-byte codes it holds.
    pub size: u32,
}

/// The atoms of a list, and the groups they come from.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Atoms {
    /// Groups that the list is held against.
    pub groups: Vec<CodeGroup>,
    /// Atoms; the codes of no group (J1939 codes among them) always are one.
    pub atoms: Vec<Atom>,
}

fn is_decimal(code: u16) -> bool {
    code & 0xF <= 9 && code >> 4 & 0xF <= 9 && code >> 8 & 0xF <= 9
}

/// How many codes below one (at most 0x1_0000) are decimal in each of their last three digits; the first may be any.
fn decimals_below(code: u32) -> u32 {
    let mut below = (code >> 12) * 1000;
    for (shift, worth) in [(8, 100), (4, 10), (0, 1)] {
        let digit = code >> shift & 0xF;
        if digit > 9 {
            return below + 10 * worth;
        }
        below += digit * worth;
    }
    below
}

impl Atoms {
    /// Splits the two-byte codes by these groups.
    #[must_use]
    pub fn of(groups: &[CodeGroup]) -> Atoms {
        let ranges = || groups.iter().flat_map(|group| group.ranges.iter().chain(&group.unread));
        let mut starts: BTreeSet<u32> = BTreeSet::from([0]);
        for CodeRange { first, last, .. } in ranges() {
            starts.insert(u32::from(*first));
            starts.insert(u32::from(*last) + 1);
        }
        let decimal_matters = ranges().any(|range| range.digits_only);
        let mut found: BTreeMap<Vec<Option<bool>>, Atom> = BTreeMap::new();
        let starts: Vec<u32> = starts.into_iter().filter(|start| *start <= 0xFFFF).collect();
        let ends = starts.iter().skip(1).copied().chain(std::iter::once(0x1_0000));
        for (start, end) in starts.iter().copied().zip(ends) {
            let decimals = decimals_below(end) - decimals_below(start);
            let kinds = match decimal_matters {
                true => [(Some(true), decimals), (Some(false), end - start - decimals)],
                false => [(None, end - start), (None, 0)],
            };
            for (kind, size) in kinds.into_iter().filter(|(_, size)| *size > 0) {
                let mut codes = (start..end).filter_map(|code| u16::try_from(code).ok());
                let is_of_kind = |code: &u16| kind.is_none_or(|kind| is_decimal(*code) == kind);
                let Some(first) = codes.find(is_of_kind) else {
                    continue;
                };
                let sample = TroubleCode::obd(first);
                let bands: Vec<Option<bool>> = groups.iter().map(|group| group.contains(sample)).collect();
                found.entry(bands.clone()).and_modify(|atom| atom.size += size).or_insert(Atom { bands, sample, size });
            }
        }
        let outside = vec![Some(false); groups.len()];
        let usual = TroubleCode::obd(0x0113);
        let none = found.entry(outside.clone()).or_insert(Atom {
            bands: outside.clone(),
            sample: TroubleCode::J1939 { spn: 1, fmi: 1 },
            size: 0,
        });
        if groups.iter().all(|group| group.contains(usual) == Some(false)) {
            none.sample = usual;
        }
        Atoms { groups: groups.to_vec(), atoms: found.into_values().collect() }
    }

    /// The atom of a code.
    #[must_use]
    pub fn place_of(&self, code: TroubleCode) -> Option<usize> {
        let bands: Vec<Option<bool>> = self.groups.iter().map(|group| group.contains(code)).collect();
        self.atoms.iter().position(|atom| atom.bands == bands)
    }

    /// The place of a group.
    #[must_use]
    pub fn group(&self, group: &CodeGroup) -> Option<usize> {
        self.groups.iter().position(|known| known == group)
    }

    /// Places of atoms that a group holds, or of which it does not tell.
    #[must_use]
    pub fn with_band(&self, group: usize, band: Option<bool>) -> Vec<usize> {
        let places = self.atoms.iter().enumerate();
        places.filter(|(_, atom)| atom.bands.get(group) == Some(&band)).map(|(place, _)| place).collect()
    }
}
