//! The exact answers to what a ruling asks, by the decision diagrams. The interpreter's bound goes first: where it holds
//! a single verdict that is the verdict, and no diagram is made. Where a diagram would outgrow its budget the bound
//! stands, and the ruling says so.

use super::answers::{
    Answers, Deciding, Interpreted, Outlook, by_bound, read_apart, sound_facts, turning, undetermined, without_needless,
};
use super::partial::{bearing, only};
use super::verdict::VerdictShown;
use super::whole::Made;
use crate::diagram::allowed::{leads_to, verdicts, verdicts_read};
use crate::diagram::walk::Walker;
use crate::diagram::{Compiled, Exact, Sureness};
use crate::evaluate::{self, Bound, Coverage, Evaluation, LineRecord, LineState, Truth};
use crate::model::Snapshot;
use crate::program::{FactRef, Flat, Given, Program, Verdict};
use std::cell::OnceCell;
use std::collections::BTreeSet;

/// Exact answers for one vehicle under one program; what was calculated once is kept for the next question.
#[derive(Debug)]
pub struct Calculated<'v> {
    flat: &'v Flat,
    given: &'v Given,
    is_brief: bool,
    /// The answers about the vehicle with their diagrams; `None` where they are too large.
    glance: OnceCell<Option<(Exact, Compiled)>>,
    /// What is made of the program over every vehicle that can exist.
    own: Made,
    /// The same, where it is made once for many vehicles.
    prepared: Option<&'v Made>,
}

fn bound(found: BTreeSet<Verdict>) -> Option<Bound> {
    Some(found.into_iter().collect()).filter(|bound: &Bound| !bound.is_empty())
}

/// The interpreter's bound where it is enough, else the exact set where there is one.
fn outlook((bound, is_exact): (Bound, bool), exact: impl FnOnce() -> Option<Bound>) -> Outlook {
    let found = if is_exact || bound.single().is_some() { Some(bound) } else { exact() };
    Outlook { possible: found.unwrap_or(bound), exact: found.is_some() }
}

impl<'v> Calculated<'v> {
    /// Answers for a vehicle under a program.
    #[must_use]
    pub fn new(flat: &'v Flat, given: &'v Given) -> Calculated<'v> {
        Calculated { flat, given, is_brief: false, glance: OnceCell::new(), own: Made::default(), prepared: None }
    }

    /// The same without the sufficient facts and the unknown facts that matter.
    #[must_use]
    pub fn brief(flat: &'v Flat, given: &'v Given) -> Calculated<'v> {
        Calculated { is_brief: true, ..Calculated::new(flat, given) }
    }

    /// The same with what was prepared of the program.
    #[must_use]
    pub(super) fn prepared(flat: &'v Flat, prepared: &'v Made, given: &'v Given, is_brief: bool) -> Calculated<'v> {
        Calculated { prepared: Some(prepared), is_brief, ..Calculated::new(flat, given) }
    }

    fn made(&self) -> &Made {
        self.prepared.unwrap_or(&self.own)
    }

    /// Whether a question is about this very program.
    fn is_mine(&self, flat: &Flat) -> bool {
        std::ptr::eq(flat, self.flat)
    }

    fn glance(&self, flat: &Flat, given: &Given) -> Option<&(Exact, Compiled)> {
        if !self.is_mine(flat) || given != self.given {
            return None;
        }
        self.glance.get_or_init(|| Exact::of(flat, given).ok()).as_ref()
    }

    /// The exact set, where there is one.
    fn possible(&self, flat: &Flat, given: &Given) -> Option<Bound> {
        let found = match self.glance(flat, given) {
            Some((exact, _)) => exact.possible.clone(),
            // Its own is too large.
            None if self.is_mine(flat) && given == self.given => self.made().whole.by_all(flat, given)?,
            // Of another vehicle, as where less is presumed.
            None if self.is_mine(flat) => self.made().whole.possible(flat, given)?,
            None => crate::diagram::exact::possible(flat, given).ok()?,
        };
        bound(found)
    }
}

impl Answers for Calculated<'_> {
    fn outlook_from(&self, flat: &Flat, given: &Given, (bound, is_exact): (Bound, bool)) -> Outlook {
        outlook((bound, is_exact), || self.possible(flat, given))
    }

    fn read(&self, flat: &Flat, given: &Given, read: (usize, usize)) -> Bound {
        let glance = self.glance(flat, given).and_then(|(_, compiled)| Some((compiled, compiled.first()?)));
        let found = glance.and_then(|(compiled, nodes)| bound(verdicts_read(compiled, nodes, flat, given, read)));
        found.unwrap_or_else(|| read_apart(self, flat, given, read))
    }

    fn otherwise(
        &self,
        flat: &Flat,
        program: &Program,
        snapshot: &Snapshot,
        other: (usize, usize),
    ) -> Option<Vec<VerdictShown>> {
        let made = match self.is_mine(flat) {
            true => self.made().other(flat, program, other)?,
            false => Made::default().other(flat, program, other)?,
        };
        let (read, whole) = made.as_ref();
        let given = Given::of(read, snapshot).ok()?;
        let found = outlook(evaluate::outlook(read, &given), || whole.possible(read, &given).and_then(bound));
        Some(VerdictShown::each(read, found.possible))
    }

    fn refined(&self, flat: &Flat, given: &Given, evaluation: Evaluation) -> Evaluation {
        if evaluation.possible.single().is_some() {
            return evaluation;
        }
        match self.glance(flat, given) {
            Some((exact, _)) => firmer(evaluation, exact),
            None => evaluation,
        }
    }

    fn deciding(&self, flat: &Flat, given: &Given, evaluation: &Evaluation) -> Deciding {
        let bound = by_bound(flat, evaluation);
        if bound.perhaps.is_empty() {
            return bound;
        }
        match self.glance(flat, given) {
            Some((exact, _)) => Deciding { surely: exact.deciding(), perhaps: exact.alternatives() },
            None => bound,
        }
    }

    fn sufficient(
        &self,
        flat: &Flat,
        given: &Given,
        verdict: Verdict,
        known: &BTreeSet<FactRef<usize>>,
        keep: &BTreeSet<FactRef<usize>>,
    ) -> BTreeSet<FactRef<usize>> {
        if self.is_brief {
            return BTreeSet::new();
        }
        // The bound is quick and leaves few facts; the diagram drops those that the bound alone could not.
        let facts = Interpreted.sufficient(flat, given, verdict, known, keep);
        if facts.is_empty() || !self.is_mine(flat) {
            return facts;
        }
        let whole = &self.made().whole;
        let mut walker = Walker::default();
        without_needless(facts, keep, |facts| {
            let given = only(flat, given, facts);
            let leads = |whole: &Compiled| {
                whole.first().is_some_and(|nodes| leads_to(whole, nodes, flat, &given, verdict, &mut walker))
            };
            whole.with(flat, &given, leads).unwrap_or(false)
        })
    }

    fn turning(&self, flat: &Flat, given: &Given, snapshot: &Snapshot, possible: Bound) -> BTreeSet<usize> {
        // A table tells of single verdicts what they rest on.
        if self.is_brief && possible.single().is_none() {
            return BTreeSet::new();
        }
        turning(flat, given, snapshot, |less| self.outlook(flat, less).possible == possible)
    }

    fn unknown(&self, flat: &Flat, given: &Given, evaluation: &Evaluation) -> Vec<FactRef<usize>> {
        if self.is_brief || evaluation.possible.single().is_some() {
            return Vec::new();
        }
        let Some((exact, _)) = self.glance(flat, given) else {
            return Interpreted.unknown(flat, given, evaluation);
        };
        if exact.possible.len() < 2 {
            return Vec::new();
        }
        let mut found: BTreeSet<_> = exact.unknown.iter().cloned().collect();
        if found.is_empty() {
            // No fact alone changes anything: then those that leave lines open, together.
            let doubtful = undetermined(evaluation);
            found = bearing(flat).into_iter().filter(|fact| doubtful.contains(fact)).collect();
        }
        found.into_iter().collect()
    }

    fn provided(&self, flat: &Flat, given: &Given) -> Option<(Verdict, Vec<FactRef<usize>>)> {
        let Some((compiled, nodes)) =
            self.glance(flat, given).and_then(|(_, compiled)| Some((compiled, compiled.first()?)))
        else {
            return Interpreted.provided(flat, given);
        };
        sound_facts(flat, given, |sound| {
            let mut left = verdicts(compiled, nodes, flat, sound).into_iter();
            left.next().filter(|_| left.next().is_none())
        })
    }
}

/// The record with what the diagrams settle: coverage and lines that the interpreter left undetermined.
fn firmer(mut evaluation: Evaluation, exact: &Exact) -> Evaluation {
    if let Coverage::Undetermined { on } = &evaluation.coverage {
        let gone = exact.left_out.iter().position(|row| *row == Sureness::Surely);
        let kept = exact.left_out.iter().all(|row| *row == Sureness::Never);
        let settled = match (exact.covered, gone) {
            (Sureness::Surely, _) => Some(Coverage::Covered),
            (Sureness::Never, Some(row)) => Some(Coverage::LeftOut { row, because: on.clone() }),
            (Sureness::Never, None) if kept => Some(Coverage::NotCovered { because: on.clone() }),
            (_, _) => None,
        };
        if let Some(settled) = settled {
            evaluation.coverage = settled;
        }
    }
    let is_covered = evaluation.coverage == Coverage::Covered;
    for (record, line) in evaluation.lines.iter_mut().zip(&exact.lines) {
        if matches!(record.state, LineState::Undetermined { .. }) {
            firmer_line(record, line, is_covered);
        }
    }
    evaluation
}

fn firmer_line(record: &mut LineRecord, line: &crate::diagram::LineState, is_covered: bool) {
    let LineState::Undetermined { on } = &record.state else {
        return;
    };
    if line.standing == Sureness::Surely {
        (record.unmet, record.live) = (Truth::True, Truth::True);
        record.state = LineState::Unmet;
    } else if line.concerned == Sureness::Never {
        (record.unmet, record.live) = (Truth::False, Truth::False);
        record.state = LineState::NotConcerned { because: on.clone() };
    } else if line.unmet == Sureness::Never && line.concerned == Sureness::Surely && is_covered {
        (record.unmet, record.live) = (Truth::False, Truth::False);
        record.state = LineState::Met;
    } else if line.standing == Sureness::Never {
        // Why it never stands is told by what it turns on; that it cannot decide is settled.
        record.live = Truth::False;
    }
}
