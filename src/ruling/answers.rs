//! The questions a ruling puts to whatever knows the possible outcomes. The interpreter answers with bounds; the decision
//! diagrams can answer exactly by the same trait.

use super::candidates;
use super::partial::{bearing, only};
use super::questions::under;
use super::verdict::VerdictShown;
use crate::evaluate::{self, Bound, Cause, Evaluation, LineState};
use crate::model::Snapshot;
use crate::program::{FactRef, Flat, Given, Program, Verdict};
use std::collections::BTreeSet;

/// The possible verdicts.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Outlook {
    /// The verdicts.
    pub possible: Bound,
    /// Whether it is the exact set, or holds it.
    pub exact: bool,
}

/// Which lines decide.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Deciding {
    /// Lines that decide in every case that is still possible.
    pub surely: Vec<usize>,
    /// Lines that may decide (`surely` not among them).
    pub perhaps: Vec<usize>,
}

/// What can be asked of a program and a vehicle.
pub trait Answers {
    /// The possible verdicts.
    fn outlook(&self, flat: &Flat, given: &Given) -> Outlook {
        self.outlook_from(flat, given, evaluate::outlook(flat, given))
    }

    /// The possible verdicts, where the interpreter's bound, and whether it is exact, are known already.
    fn outlook_from(&self, flat: &Flat, given: &Given, bound: (Bound, bool)) -> Outlook;

    /// The possible verdicts where an open question, by its place, is read in one way.
    fn read(&self, flat: &Flat, given: &Given, read: (usize, usize)) -> Bound {
        read_apart(self, flat, given, read)
    }

    /// The possible verdicts where a question that is taken, by its place, is taken in another way; `None` where the
    /// program has no such reading, or the vehicle does not fit it so.
    fn otherwise(
        &self,
        flat: &Flat,
        program: &Program,
        snapshot: &Snapshot,
        other: (usize, usize),
    ) -> Option<Vec<VerdictShown>> {
        let read = under(flat, program, other)?;
        let given = Given::of(&read, snapshot).ok()?;
        Some(VerdictShown::each(&read, self.outlook(&read, &given).possible))
    }

    /// The interpreter's record, made firmer where more is known than the interpreter can tell.
    fn refined(&self, flat: &Flat, given: &Given, evaluation: Evaluation) -> Evaluation {
        let _ = (flat, given);
        evaluation
    }

    /// Which lines decide.
    fn deciding(&self, flat: &Flat, given: &Given, evaluation: &Evaluation) -> Deciding {
        let _ = (flat, given);
        by_bound(flat, evaluation)
    }

    /// Of the known facts some that alone lead to the verdict, and none of which can be dropped. `keep` holds those
    /// that people would miss most; they are tried last.
    fn sufficient(
        &self,
        flat: &Flat,
        given: &Given,
        verdict: Verdict,
        known: &BTreeSet<FactRef<usize>>,
        keep: &BTreeSet<FactRef<usize>>,
    ) -> BTreeSet<FactRef<usize>> {
        let leads = |facts: &BTreeSet<FactRef<usize>>| {
            self.outlook(flat, &only(flat, given, facts)).possible.single() == Some(verdict)
        };
        let bearing = bearing(flat);
        let mut facts: BTreeSet<_> = known.intersection(&bearing).cloned().collect();
        if !leads(&facts) {
            facts = known.clone();
        }
        without_needless(facts, keep, leads)
    }

    /// Facts not known whose value can still change the possible verdicts.
    fn unknown(&self, flat: &Flat, given: &Given, evaluation: &Evaluation) -> Vec<FactRef<usize>> {
        let now = self.outlook(flat, given).possible;
        if now.single().is_some() {
            return Vec::new();
        }
        let open: Vec<_> = bearing(flat).into_iter().filter(|fact| !given.is_settled(fact)).collect();
        let changes = |fact: &&FactRef<usize>| {
            candidates::values(flat, given, fact)
                .into_iter()
                .any(|value| given.with(fact, value).is_some_and(|given| self.outlook(flat, &given).possible != now))
        };
        let found: Vec<_> = open.iter().filter(changes).cloned().collect();
        if !found.is_empty() {
            return found;
        }
        // No fact alone changes anything: then those that leave lines open, together.
        let doubtful = undetermined(evaluation);
        open.into_iter().filter(|fact| doubtful.contains(fact)).collect()
    }

    /// Presumptions on which the possible verdicts rest, by their places: with these and no others the same ones are
    /// possible, and none of these can be dropped.
    fn turning(&self, flat: &Flat, given: &Given, snapshot: &Snapshot, possible: Bound) -> BTreeSet<usize> {
        turning(flat, given, snapshot, |less| self.outlook(flat, less).possible == possible)
    }

    /// The facts that must have their sound values for a single verdict to be left, and that verdict; none can be
    /// dropped.
    fn provided(&self, flat: &Flat, given: &Given) -> Option<(Verdict, Vec<FactRef<usize>>)> {
        sound_facts(flat, given, |sound| self.outlook(flat, sound).possible.single())
    }
}

/// The possible verdicts where an open question is read in one way, by a program in which it is taken so.
pub(super) fn read_apart<A: Answers + ?Sized>(
    answers: &A,
    flat: &Flat,
    given: &Given,
    (question, reading): (usize, usize),
) -> Bound {
    let mut read = flat.clone();
    if let Some(slot) = read.questions.get_mut(question) {
        slot.taken = Some(reading);
    }
    answers.outlook(&read, given).possible
}

/// The presumptions without those that can be dropped one by one; `same` tells whether a vehicle of which less is presumed
/// has the same possible verdicts.
pub(super) fn turning(
    flat: &Flat,
    given: &Given,
    snapshot: &Snapshot,
    same: impl Fn(&Given) -> bool,
) -> BTreeSet<usize> {
    let same = |kept: &BTreeSet<usize>| {
        Given::presuming(flat, snapshot, &|place| kept.contains(&place)).is_ok_and(|less| same(&less))
    };
    let mut kept: BTreeSet<usize> = given.presumed.iter().copied().collect();
    if kept.is_empty() || same(&BTreeSet::new()) {
        return BTreeSet::new();
    }
    for place in &given.presumed {
        kept.remove(place);
        if !same(&kept) {
            kept.insert(*place);
        }
    }
    kept
}

/// The facts without those that can be dropped one by one; those to keep are tried last.
pub(super) fn without_needless(
    mut facts: BTreeSet<FactRef<usize>>,
    keep: &BTreeSet<FactRef<usize>>,
    mut leads: impl FnMut(&BTreeSet<FactRef<usize>>) -> bool,
) -> BTreeSet<FactRef<usize>> {
    let (last, first): (Vec<_>, Vec<_>) = facts.iter().cloned().partition(|fact| keep.contains(fact));
    for fact in first.into_iter().chain(last) {
        facts.remove(&fact);
        if !leads(&facts) {
            facts.insert(fact);
        }
    }
    facts
}

/// Facts that are not known and that, at their sound values, leave the single verdict that `verdict_of` tells; none of
/// them can be dropped.
pub(super) fn sound_facts(
    flat: &Flat,
    given: &Given,
    mut verdict_of: impl FnMut(&Given) -> Option<Verdict>,
) -> Option<(Verdict, Vec<FactRef<usize>>)> {
    let mut facts: Vec<FactRef<usize>> = bearing(flat).into_iter().collect();
    facts.retain(|fact| candidates::sound(given, fact).is_some());
    let mut verdict_with = |facts: &[FactRef<usize>]| {
        let mut sound = given.clone();
        for fact in facts {
            let value = candidates::sound(given, fact)?;
            sound.put(fact, value);
        }
        sound.facts.narrow().ok()?;
        verdict_of(&sound)
    };
    let verdict = verdict_with(&facts)?;
    let mut place = 0;
    while place < facts.len() {
        let mut fewer = facts.clone();
        fewer.remove(place);
        if verdict_with(&fewer) == Some(verdict) {
            facts = fewer;
        } else {
            place += 1;
        }
    }
    Some((verdict, facts))
}

/// The interpreter's answers: bounds.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Interpreted;

impl Answers for Interpreted {
    fn outlook_from(&self, _: &Flat, _: &Given, (possible, exact): (Bound, bool)) -> Outlook {
        Outlook { possible, exact }
    }
}

/// Lines that surely decide: unmet, not set aside, and none graver may be.
pub(super) fn by_bound(flat: &Flat, evaluation: &Evaluation) -> Deciding {
    let lines = || flat.lines.iter().zip(&evaluation.lines).enumerate();
    let sure = lines().filter(|(_, (_, record))| record.live.is_true()).map(|(_, (line, _))| line.outcome).max();
    let perhaps = lines().filter(|(_, (_, record))| record.live.is_unknown()).map(|(_, (line, _))| line.outcome).max();
    let least = sure.unwrap_or(0);
    let settled = perhaps.is_none_or(|perhaps| perhaps <= least);
    let mut deciding = Deciding::default();
    for (place, (line, record)) in lines() {
        if record.live.is_false() || line.outcome < least {
            continue;
        }
        if record.live.is_true() && settled {
            deciding.surely.push(place);
        } else {
            deciding.perhaps.push(place);
        }
    }
    deciding
}

pub(super) fn undetermined(evaluation: &Evaluation) -> BTreeSet<FactRef<usize>> {
    let mut facts = BTreeSet::new();
    let mut add = |causes: &BTreeSet<Cause>| {
        for cause in causes {
            if let Cause::Fact(fact) = cause {
                facts.insert(fact.clone());
            }
        }
    };
    if let evaluate::Coverage::Undetermined { on } = &evaluation.coverage {
        add(on);
    }
    for record in &evaluation.lines {
        if let LineState::Undetermined { on } = &record.state {
            add(on);
        }
    }
    facts
}
