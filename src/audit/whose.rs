//! Whose record it is: which program judges it, and which records one program judges.

use super::lot::Judging;
use super::table::{Aside, Lot, NONE};
use crate::bulk::Plane;
use crate::diagnostic::nearest;

/// Brings the codes of programs to their places among those judged by; a record of another program, or of none, is set
/// aside.
pub(super) fn name_programs(programs: &[Judging], lot: &mut Lot, bad: &mut [bool]) {
    let Some(codes) = lot.program.take() else { return };
    let places: Vec<Option<u32>> = lot
        .programs
        .iter()
        .map(|name| programs.iter().position(|it| it.id == *name).and_then(|at| u32::try_from(at).ok()))
        .collect();
    let mut mine = Vec::with_capacity(codes.len());
    for (row, code) in codes.iter().enumerate() {
        let at = usize::try_from(*code).ok();
        let place = at.and_then(|at| places.get(at)).copied().flatten();
        let is_good = bad.get_mut(row).filter(|_| place.is_none()).is_some_and(|bad| !std::mem::replace(bad, true));
        if is_good {
            let name = at.and_then(|at| lot.programs.get(at)).cloned().unwrap_or_default();
            let reason = match nearest(&name, programs.iter().map(|it| it.id.as_str())) {
                _ if name.is_empty() => "the program is not known".to_owned(),
                Some(near) => format!("there is no program of this id; did you mean `{near}`?"),
                None => "there is no program of this id".to_owned(),
            };
            lot.aside.push(Aside { row, column: "program".to_owned(), value: name, reason });
        }
        mine.push(place.unwrap_or(NONE));
    }
    lot.program = Some(mine);
}

/// The records of a lot that one program judges.
pub(super) enum Rows {
    All,
    Some(Vec<bool>),
}

impl Rows {
    pub(super) fn has(&self, row: usize) -> bool {
        match self {
            Rows::All => true,
            Rows::Some(rows) => rows.get(row) == Some(&true),
        }
    }
}

/// Which records a program judges; `None`: none of them.
pub(super) fn rows_of(lot: &Lot, place: usize) -> Option<Rows> {
    let Some(codes) = &lot.program else {
        return (place == 0).then_some(Rows::All);
    };
    let wanted = u32::try_from(place).unwrap_or(NONE);
    let count = codes.iter().filter(|code| **code == wanted).count();
    match count {
        0 => None,
        all if all == codes.len() => Some(Rows::All),
        _ => Some(Rows::Some(codes.iter().map(|code| *code == wanted).collect())),
    }
}

/// The records that a program judges and that nothing is wrong with.
pub(super) fn good(rows: &Rows, bad: &[bool]) -> Plane {
    let mut plane = Plane::empty(bad.len());
    for (row, bad) in bad.iter().enumerate() {
        if !bad && rows.has(row) {
            plane.set(row);
        }
    }
    plane
}
