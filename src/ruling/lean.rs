//! What a ruling leans on, and which of it is weak: a deciding line, one that sets others aside, what the count, the limit
//! and the coverage they use rest on, silence where a rule could make the outcome graver. More are named than an exact
//! answer would name; none that matters is left out.

use super::basis::{Basis, Law, laws};
use super::follow;
use super::{excused, unread};
use crate::evaluate::{Bound, Coverage, Evaluation, LineState, Walk, explain};
use crate::model::MonitorState;
use crate::program::{Citation, Condition, Test, Topic, Verdict};

/// A part of a program that a ruling leans on. The words are made in `report`.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
#[non_exhaustive]
pub enum Part {
    /// The dates in force, or that none is.
    DatesInForce,
    /// The vehicles covered.
    Covers,
    /// A row that leaves vehicles out, with its reason.
    LeftOut(String),
    /// A clause, by id.
    Clause(String),
    /// A row of a limit, by its id.
    LimitRow(String),
    /// Which monitors count.
    Count,
    /// Monitors left out of the count.
    Excuse,
    /// A relabelling of outcomes.
    Relabelling,
    /// That a topic has no rule.
    Silence(Topic),
    /// A presumption, in words.
    Presumption(String),
}

/// A part that a ruling leans on, with what it rests on.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Lean {
    /// Which part.
    pub part: Part,
    /// Citations; empty: none.
    pub law: Vec<Law>,
    /// The weakest of them.
    pub basis: Basis,
}

/// Everything that the ruling leans on, each once.
pub(super) fn leans(walk: &Walk<'_>, evaluation: &Evaluation, possible: Bound) -> Vec<Lean> {
    let mut found = Found { walk, list: Vec::new() };
    found.coverage(evaluation);
    if !matches!(evaluation.coverage, Coverage::Covered | Coverage::Undetermined { .. }) {
        return found.list;
    }
    found.lines(evaluation, possible);
    let flat = walk.flat();
    for rule in &flat.becomes {
        if possible.contains(Verdict::Outcome(rule.to)) && !walk.truth(&rule.condition).is_false() {
            found.add(Part::Relabelling, &rule.basis);
        }
    }
    // A topic that was not read is told apart, as what the outcome is read so far without.
    for silence in unread::bearing(walk, evaluation, possible).filter(|silence| !silence.unread) {
        found.add(Part::Silence(silence.topic), &silence.basis);
    }
    for place in &walk.given().presumed {
        if let Some(presumption) = flat.presumptions.get(*place) {
            found.add(Part::Presumption(follow::presumed(walk, *place, presumption)), &presumption.basis);
        }
    }
    found.list
}

struct Found<'w, 'a> {
    walk: &'w Walk<'a>,
    list: Vec<Lean>,
}

impl Found<'_, '_> {
    fn add(&mut self, part: Part, citations: &[Citation]) {
        let law = laws(&self.walk.flat().sources, citations);
        let lean = Lean { part, basis: Basis::of(&law), law };
        if !self.list.contains(&lean) {
            self.list.push(lean);
        }
    }

    fn coverage(&mut self, evaluation: &Evaluation) {
        let flat = self.walk.flat();
        if !flat.in_force_basis.is_empty() || evaluation.coverage == Coverage::NotInForce {
            self.add(Part::DatesInForce, &flat.in_force_basis);
        }
        if evaluation.coverage == Coverage::NotInForce {
            return;
        }
        for covers in &flat.covers {
            let bears = self.walk.truth(&covers.item);
            if !bears.is_false() || matches!(evaluation.coverage, Coverage::NotCovered { .. }) {
                self.add(Part::Covers, &covers.basis);
            }
        }
        for row in &flat.left_out {
            if !self.walk.truth(&row.condition).is_false() {
                self.add(Part::LeftOut(row.why.clone()), &row.basis);
            }
        }
    }

    /// Lines that bear on the verdict: not surely met, and as grave as the least grave verdict that is possible; and
    /// those that set others aside.
    fn lines(&mut self, evaluation: &Evaluation, possible: Bound) {
        let flat = self.walk.flat();
        let gravest = flat
            .lines
            .iter()
            .zip(&evaluation.lines)
            .filter(|(_, record)| record.live.is_true())
            .map(|(line, _)| line.outcome)
            .max()
            .unwrap_or(0);
        let mut asiding = Vec::new();
        for record in &evaluation.lines {
            if let LineState::SetAside { by } = &record.state {
                asiding.extend(by.iter().copied());
            }
        }
        for (place, (line, record)) in flat.lines.iter().zip(&evaluation.lines).enumerate() {
            let bears = !record.live.is_false() && line.outcome >= gravest;
            if bears || asiding.contains(&place) {
                self.add(Part::Clause(line.clause.clone()), &line.basis);
                self.condition(&line.concerns);
                self.condition(&line.unmet_where);
            }
        }
        // A vehicle that is within a limit with monitors incomplete leans on the limit's number, or on what leaves them out.
        let incomplete = MonitorState::Incomplete.bit();
        let some_incomplete =
            evaluation.counted.how_many(incomplete).most > 0 || !excused::bearing(self.walk, incomplete).is_empty();
        if some_incomplete && possible.contains(Verdict::Outcome(0)) {
            for (line, record) in flat.lines.iter().zip(&evaluation.lines) {
                if !record.concerned.is_false() {
                    self.condition(&line.unmet_where);
                }
            }
        }
    }

    fn condition(&mut self, condition: &Condition<usize>) {
        for leaf in explain(self.walk, condition) {
            match leaf.test {
                Test::Limit { limit, .. } => {
                    self.limit(*limit);
                    self.count();
                }
                Test::Count { .. } | Test::NotMoreIncompleteThanEarlier => self.count(),
                _ => {}
            }
        }
    }

    fn limit(&mut self, limit: usize) {
        let Some(limit) = self.walk.flat().limits.get(limit) else {
            return;
        };
        for row in &limit.rows {
            if !self.walk.truth(&row.condition).is_false() {
                self.add(Part::LimitRow(limit.id.clone()), &row.basis);
            }
        }
    }

    fn count(&mut self) {
        let flat = self.walk.flat();
        for rule in &flat.counts {
            if !self.walk.truth(&rule.condition).is_false() {
                self.add(Part::Count, &rule.basis);
            }
        }
        // An excuse that excuses nothing of this vehicle (not in the table, nothing incomplete before) bears nothing.
        for (excuse, _) in excused::bearing(self.walk, u64::MAX) {
            self.add(Part::Excuse, &excuse.basis);
        }
    }
}
