//! What a flat program means, walked once and written once: how conditions are joined, named conditions, limits, coverage, and
//! how lines stand. What a truth is, and what single tests come to, is the business of a [`Logic`]; there are two, the truths of
//! one vehicle ([`super::Known`]) and the planes of many records (`bulk::planes`).

use crate::program::flat::{FlatLimitRow, FlatRow, Line};
use crate::program::{Condition, Flat, Test};
use std::cell::Cell;

/// The most ways of reading the open questions that are walked one by one; beyond, open readings are unknown tests.
const MOST_WAYS: usize = 64;

/// What the walk is taken over: three-valued truths (Kleene's strong tables), and what is no matter of joining them.
pub trait Logic: Sized {
    /// Whether something holds.
    type Truth: Copy + PartialEq;
    /// It surely does not.
    const FALSE: Self::Truth;
    /// Not determined by what is known.
    const UNKNOWN: Self::Truth;
    /// It surely does.
    const TRUE: Self::Truth;

    /// True or false.
    fn of(holds: bool) -> Self::Truth {
        if holds { Self::TRUE } else { Self::FALSE }
    }

    /// It does not hold.
    fn not(truth: Self::Truth) -> Self::Truth;

    /// Both hold.
    fn and(&self, one: Self::Truth, other: Self::Truth) -> Self::Truth;

    /// At least one holds.
    fn or(&self, one: Self::Truth, other: Self::Truth) -> Self::Truth;

    /// Whether a test holds; what is made of other conditions is asked of the walk.
    fn test(walk: &Meaning<'_, Self>, test: &Test<usize>) -> Self::Truth;

    /// Whether a row of a limit allows the monitors as they stand, its condition aside.
    fn allows(walk: &Meaning<'_, Self>, row: &FlatLimitRow) -> Self::Truth;

    /// Whether a row of a table (its place) is the vehicle's. Where it is presumed not to be in the table, only a row that
    /// surely is.
    fn row(walk: &Meaning<'_, Self>, table: usize, place: usize) -> Self::Truth;
}

/// What the walk remembers of a part of the program.
#[derive(Debug, Clone, Copy)]
pub(super) enum Seen<T> {
    Not,
    Entered,
    Done(T),
}

/// What it remembers of all parts of one kind, by their places.
type Memory<T> = Vec<Cell<Seen<T>>>;

/// A walk over a flat program, for one way of reading its open questions. It allocates two small lists and writes no record.
#[derive(Debug)]
pub struct Meaning<'a, L: Logic> {
    flat: &'a Flat,
    assumed: &'a [Option<usize>],
    logic: L,
    findings: Memory<L::Truth>,
    limits: Memory<(L::Truth, L::Truth)>,
}

/// How each line stands, in the program's order, on a vehicle that is covered.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Standing<T> {
    /// Whether the line is unmet.
    pub unmet: Vec<T>,
    /// Whether it is unmet and not set aside.
    pub live: Vec<T>,
}

impl<'a, L: Logic> Meaning<'a, L> {
    /// A walk; `assumed` holds a reading for each question in the program's order (shorter: the rest are left open).
    #[must_use]
    pub fn over(flat: &'a Flat, assumed: &'a [Option<usize>], logic: L) -> Meaning<'a, L> {
        let walk = Meaning {
            flat,
            assumed,
            logic,
            findings: vec![Cell::new(Seen::Not); flat.findings.len()],
            limits: vec![Cell::new(Seen::Not); flat.limits.len()],
        };
        // Findings refer to earlier ones only: taken in order, a long chain of them needs no deep recursion.
        if flat.findings.len() > 64 {
            (0..flat.findings.len()).for_each(|place| {
                let _ = walk.finding(place);
            });
        }
        walk
    }

    /// The program.
    #[must_use]
    pub fn flat(&self) -> &'a Flat {
        self.flat
    }

    /// What it is taken over.
    #[must_use]
    pub fn logic(&self) -> &L {
        &self.logic
    }

    /// Whether the condition holds.
    #[must_use]
    pub fn truth(&self, condition: &Condition<usize>) -> L::Truth {
        match condition {
            Condition::All(parts) => {
                let mut truth = L::TRUE;
                for part in parts {
                    truth = self.logic.and(truth, self.truth(part));
                    if truth == L::FALSE {
                        break;
                    }
                }
                truth
            }
            Condition::Any(parts) => self.any(parts.iter(), |part| self.truth(part)),
            Condition::Not(inner) => L::not(self.truth(inner)),
            Condition::Test(test) => L::test(self, test),
        }
    }

    /// Whether one holds at least.
    fn any<T>(&self, parts: impl Iterator<Item = T>, holds: impl Fn(T) -> L::Truth) -> L::Truth {
        let mut truth = L::FALSE;
        for part in parts {
            truth = self.logic.or(truth, holds(part));
            if truth == L::TRUE {
                break;
            }
        }
        truth
    }

    /// The reading of a question that is taken or assumed.
    #[must_use]
    pub fn reading(&self, question: usize) -> Option<usize> {
        let taken = self.flat.questions.get(question)?.taken;
        taken.or_else(|| self.assumed.get(question).copied().flatten())
    }

    /// Whether a question is read in a way.
    #[must_use]
    pub fn is_read(&self, question: usize, reading: usize) -> L::Truth {
        self.reading(question).map_or(L::UNKNOWN, |known| L::of(known == reading))
    }

    /// Whether a named condition holds. One that goes round in a circle, which `check` refuses, is unknown.
    #[must_use]
    pub fn finding(&self, place: usize) -> L::Truth {
        let (Some(memo), Some((_, condition))) = (self.findings.get(place), self.flat.findings.get(place)) else {
            return L::UNKNOWN;
        };
        match memo.get() {
            Seen::Done(truth) => truth,
            Seen::Entered => L::UNKNOWN,
            Seen::Not => {
                memo.set(Seen::Entered);
                let truth = self.truth(condition);
                memo.set(Seen::Done(truth));
                truth
            }
        }
    }

    /// Whether the vehicle is within a limit, and whether it is over it.
    #[must_use]
    pub fn limit(&self, place: usize) -> (L::Truth, L::Truth) {
        let (Some(memo), Some(limit)) = (self.limits.get(place), self.flat.limits.get(place)) else {
            return (L::UNKNOWN, L::UNKNOWN);
        };
        match memo.get() {
            Seen::Done(truths) => truths,
            Seen::Entered => (L::UNKNOWN, L::UNKNOWN),
            Seen::Not => {
                memo.set(Seen::Entered);
                let (mut within, mut over) = (L::FALSE, L::FALSE);
                for row in &limit.rows {
                    let holds = self.truth(&row.condition);
                    if holds != L::FALSE {
                        let allows = L::allows(self, row);
                        within = self.logic.or(within, self.logic.and(holds, allows));
                        over = self.logic.or(over, self.logic.and(holds, L::not(allows)));
                    }
                }
                memo.set(Seen::Done((within, over)));
                (within, over)
            }
        }
    }

    /// Rows of a table with their places.
    pub fn rows(&self, table: usize) -> impl Iterator<Item = (usize, &'a FlatRow)> + use<'a, L> {
        self.flat.tables.get(table).into_iter().flat_map(|table| table.rows.iter().enumerate())
    }

    /// Whether a row of a table is the vehicle's.
    #[must_use]
    pub fn row_holds(&self, table: usize, place: usize) -> L::Truth {
        L::row(self, table, place)
    }

    /// Whether the vehicle is listed in a table.
    #[must_use]
    pub fn listed(&self, table: usize) -> L::Truth {
        self.any(self.rows(table), |(place, _)| self.row_holds(table, place))
    }

    /// Whether the program covers the vehicle, rows that leave it out aside.
    #[must_use]
    pub fn covered(&self) -> L::Truth {
        if !self.flat.in_force.is_yes() {
            return L::FALSE;
        }
        self.any(self.flat.covers.iter(), |covers| self.truth(&covers.item))
    }

    /// Whether a line is unmet, on a vehicle that is covered.
    #[must_use]
    pub fn unmet(&self, line: &Line) -> L::Truth {
        let concerned = self.truth(&line.concerns);
        if concerned == L::FALSE { concerned } else { self.logic.and(concerned, self.truth(&line.unmet_where)) }
    }

    /// How each line stands. From *unknown* the lines that give way are settled until nothing more follows; a circle of
    /// them, which `check` refuses unless readings part it, stays unknown.
    #[must_use]
    pub fn standing(&self) -> Standing<L::Truth> {
        let (flat, logic) = (self.flat, &self.logic);
        let lines = &flat.lines;
        let unmet: Vec<L::Truth> = lines.iter().map(|line| self.unmet(line)).collect();
        let first = |(line, unmet): (&Line, &L::Truth)| match line.gives_way.is_empty() {
            true => *unmet,
            false => logic.and(*unmet, L::UNKNOWN),
        };
        let mut live: Vec<L::Truth> = lines.iter().zip(&unmet).map(first).collect();
        // Each round settles a line more at least, so that one beyond their number changes nothing.
        for _ in 0..=lines.len() {
            let mut settled_more = false;
            for (place, line) in lines.iter().enumerate().filter(|(_, line)| !line.gives_way.is_empty()) {
                if live.get(place).is_none_or(|truth| *truth == L::FALSE || *truth == L::TRUE) {
                    continue;
                }
                let set_aside = line.gives_way.iter().fold(L::FALSE, |truth, (to, condition)| {
                    let other = live.get(*to).copied().unwrap_or(L::FALSE);
                    if other == L::FALSE { truth } else { logic.or(truth, logic.and(other, self.truth(condition))) }
                });
                let now = logic.and(unmet.get(place).copied().unwrap_or(L::FALSE), L::not(set_aside));
                if let Some(slot) = live.get_mut(place)
                    && *slot != now
                {
                    *slot = now;
                    settled_more = true;
                }
            }
            if !settled_more {
                break;
            }
        }
        Standing { unmet, live }
    }
}

/// Calls `visit` with a reading for each question, for every way of reading the open ones; with none at all where no question
/// is open, or too many are.
pub fn each_way(flat: &Flat, mut visit: impl FnMut(&[Option<usize>])) {
    let open = || flat.questions.iter().filter(|question| question.taken.is_none());
    let ways = open().try_fold(1usize, |ways, question| ways.checked_mul(question.readings.len().max(1)));
    let Some(ways) = ways.filter(|ways| *ways <= MOST_WAYS && open().next().is_some()) else {
        visit(&[]);
        return;
    };
    let mut assumed = vec![None; flat.questions.len()];
    for way in 0..ways {
        let mut rest = way;
        for (question, slot) in flat.questions.iter().zip(assumed.iter_mut()) {
            if question.taken.is_none() && !question.readings.is_empty() {
                *slot = Some(rest % question.readings.len());
                rest /= question.readings.len();
            }
        }
        visit(&assumed);
    }
}
