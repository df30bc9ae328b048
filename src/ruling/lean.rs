//! Weak texts that a ruling leans on: a deciding line, one that sets others aside, and what the count, the limit and the
//! coverage they use rest on. More are named than an exact answer would name; none that matters is left out.

use super::basis::{Basis, Law, laws};
use super::show;
use crate::evaluate::{Bound, Coverage, Evaluation, LineState, Walk, explain};
use crate::model::Fact;
use crate::program::flat::FlatExcused;
use crate::program::{Citation, Condition, Test, Verdict};

/// A weak text.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Weak {
    /// What rests on it, `clause lamp`, `a row of limit standard`.
    pub what: String,
    /// Citations; empty: none.
    pub law: Vec<Law>,
    /// The weakest of them.
    pub basis: Basis,
}

/// The weak texts that the ruling leans on.
pub(super) fn weak(walk: &Walk<'_>, evaluation: &Evaluation, possible: Bound) -> Vec<Weak> {
    let mut found = Found { walk, list: Vec::new() };
    found.coverage(evaluation);
    if !matches!(evaluation.coverage, Coverage::Covered | Coverage::Undetermined { .. }) {
        return found.list;
    }
    found.lines(evaluation, possible);
    let flat = walk.flat();
    for rule in &flat.becomes {
        if possible.contains(Verdict::Outcome(rule.to)) && !walk.truth(&rule.condition).is_false() {
            found.add("a relabelling of outcomes".to_owned(), &rule.basis);
        }
    }
    for place in &walk.given().presumed {
        if let Some(presumption) = flat.presumptions.get(*place) {
            let what = if walk.given().not_listed == Some(*place) {
                format!("the presumption that the vehicle is {}", presumption.shown)
            } else {
                format!("the presumption that {} is {}", show::name(flat, &presumption.fact), presumption.shown)
            };
            found.add(what, &presumption.basis);
        }
    }
    found.list
}

struct Found<'w, 'a> {
    walk: &'w Walk<'a>,
    list: Vec<Weak>,
}

impl Found<'_, '_> {
    fn add(&mut self, what: String, citations: &[Citation]) {
        let law = laws(self.walk.flat(), citations);
        let basis = Basis::of(&law);
        let weak = Weak { what, law, basis };
        if basis.is_weak() && !self.list.contains(&weak) {
            self.list.push(weak);
        }
    }

    fn coverage(&mut self, evaluation: &Evaluation) {
        let flat = self.walk.flat();
        if !flat.in_force_basis.is_empty() || evaluation.coverage == Coverage::NotInForce {
            self.add("the dates in force".to_owned(), &flat.in_force_basis);
        }
        if evaluation.coverage == Coverage::NotInForce {
            return;
        }
        for covers in &flat.covers {
            let bears = self.walk.truth(&covers.item);
            if !bears.is_false() || matches!(evaluation.coverage, Coverage::NotCovered { .. }) {
                self.add("the vehicles covered".to_owned(), &covers.basis);
            }
        }
        for row in &flat.left_out {
            if !self.walk.truth(&row.condition).is_false() {
                self.add(format!("left out: {}", row.why), &row.basis);
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
                self.add(format!("clause {}", line.clause), &line.basis);
                self.condition(&line.concerns);
                self.condition(&line.unmet_where);
            }
        }
        // A vehicle that is within a limit with monitors incomplete leans on the limit's number.
        let some_incomplete = evaluation.counted.how_many(4).most > 0;
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
                self.add(format!("a row of limit {}", limit.id), &row.basis);
            }
        }
    }

    fn count(&mut self) {
        let flat = self.walk.flat();
        for rule in &flat.counts {
            if !self.walk.truth(&rule.condition).is_false() {
                self.add("the counted monitors".to_owned(), &rule.basis);
            }
        }
        for excuse in &flat.excuses {
            // An excuse that excuses nothing of this vehicle (not in the table, nothing incomplete before) bears nothing.
            let excuses = match excuse.which {
                FlatExcused::Monitors(set) => !set.is_empty(),
                FlatExcused::EarlierIncomplete => !self.walk.earlier(Fact::EarlierIncomplete).1.is_empty(),
                FlatExcused::Table(table) => {
                    let rows = flat.tables.get(table).map_or(&[][..], |table| table.rows.as_slice());
                    rows.iter().any(|row| !row.excused.is_empty() && !self.walk.row_holds(row).is_false())
                }
            };
            if excuses && !self.walk.truth(&excuse.condition).is_false() {
                self.add("monitors left out of the count".to_owned(), &excuse.basis);
            }
        }
    }
}
