//! The checker: is a proof a proof? Everything but the readings that the proof rests on is forgotten first; then each
//! condition must follow from the tests that the proof names for it, each interpreted directly. It searches for nothing.

use super::tests_of_facts::{Vehicle, all, any, not};
use super::{Blocked, By, Certificate, Coverage, Live, Relabelled, Tested, Unyielding, Way};
use crate::model::table::key_of;
use crate::model::{Fact, Snapshot};
use crate::program::{Condition, Flat, Given, GivenError, Verdict};
use std::collections::{BTreeMap, BTreeSet};

/// Why a proof is refused.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[non_exhaustive]
pub enum Refusal {
    /// The readings cannot be brought to the program.
    #[error(transparent)]
    Given(#[from] GivenError),
    /// It rests on a reading that the snapshot does not hold.
    #[error("the proof rests on {0}, which the snapshot does not hold")]
    NotRead(String),
    /// The ways of reading the open questions are not all there, or more than once.
    #[error("the proof does not take each way of reading the open questions once")]
    Ways,
    /// A step does not follow.
    #[error("the proof does not show that {0}")]
    Step(String),
}

/// Checks a proof.
///
/// # Errors
/// With the first step that does not follow.
pub fn verify(certificate: &Certificate, flat: &Flat, snapshot: &Snapshot) -> Result<(), Refusal> {
    // What is presumed depends on all that was read: who leaves a reading away must not gain a presumption by it.
    let whole = Given::of(flat, snapshot)?;
    let given = Given::of_part(flat, &whole, &only(snapshot, &certificate.rests_on)?)?;
    let ways = certificate.ways.iter().map(|way| readings(flat, &way.readings)).collect::<Option<Vec<_>>>();
    let ways = ways.filter(|ways| are_all(flat, ways)).ok_or(Refusal::Ways)?;
    for (way, readings) in certificate.ways.iter().zip(ways) {
        let verdict = Checker { vehicle: Vehicle { flat, given: &given, readings } }.way(way)?;
        if verdict.name(flat) != certificate.verdict {
            return Err(step(format!("the verdict is {}", certificate.verdict)));
        }
    }
    Ok(())
}

fn step(what: impl Into<String>) -> Refusal {
    Refusal::Step(what.into())
}

/// The snapshot without what the proof does not rest on.
fn only(snapshot: &Snapshot, keys: &[String]) -> Result<Snapshot, Refusal> {
    let mut kept: BTreeSet<String> = keys.iter().cloned().collect();
    let holds = |key: &str| match key.strip_prefix("declared.") {
        Some(name) => snapshot.declared.contains_key(name),
        None => snapshot.readings.keys().any(|fact| key_of(*fact) == key),
    };
    if let Some(key) = kept.iter().find(|key| !holds(key)) {
        return Err(Refusal::NotRead(key.clone()));
    }
    kept.insert(key_of(Fact::TestDate));
    let mut known = snapshot.clone();
    known.readings.retain(|fact, _| kept.contains(&key_of(*fact)));
    known.declared.retain(|name, _| kept.contains(&format!("declared.{name}")));
    Ok(known)
}

/// Readings by question and name as places; `None` for a name there is not or a question that is not open.
fn readings(flat: &Flat, named: &BTreeMap<String, String>) -> Option<Vec<Option<usize>>> {
    let mut found = vec![None; flat.questions.len()];
    for (id, reading) in named {
        let place = flat.questions.iter().position(|question| question.id == *id && question.taken.is_none())?;
        let known = flat.questions.get(place)?.readings.iter().position(|known| known == reading)?;
        *found.get_mut(place)? = Some(known);
    }
    Some(found)
}

/// Whether these are all ways of reading the questions that any of them reads, each once.
fn are_all(flat: &Flat, ways: &[Vec<Option<usize>>]) -> bool {
    let Some(first) = ways.first() else { return false };
    let same = |way: &Vec<Option<usize>>| way.iter().zip(first).all(|(one, other)| one.is_some() == other.is_some());
    let read = flat.questions.iter().zip(first).filter(|(_, reading)| reading.is_some());
    let product = read.fold(1usize, |product, (question, _)| product.saturating_mul(question.readings.len()));
    ways.iter().all(same) && product == ways.len() && ways.iter().collect::<BTreeSet<_>>().len() == ways.len()
}

struct Checker<'a> {
    vehicle: Vehicle<'a>,
}

impl Checker<'_> {
    /// What a condition comes to if only the named tests are looked at.
    fn by(&self, condition: &Condition<usize>, tests: &[usize], next: &mut usize) -> Option<bool> {
        match condition {
            Condition::All(parts) => all(parts.iter().map(|part| self.by(part, tests, next)).collect::<Vec<_>>()),
            Condition::Any(parts) => any(parts.iter().map(|part| self.by(part, tests, next)).collect::<Vec<_>>()),
            Condition::Not(inner) => not(self.by(inner, tests, next)),
            Condition::Test(test) => {
                let place = *next;
                *next += 1;
                if tests.contains(&place) { self.vehicle.test(test) } else { None }
            }
        }
    }

    fn must(&self, condition: &Condition<usize>, tests: &[usize], be: bool, what: &str) -> Result<(), Refusal> {
        let what = || format!("{what} {}", if be { "holds" } else { "does not hold" });
        if self.by(condition, tests, &mut 0) == Some(be) { Ok(()) } else { Err(step(what())) }
    }

    /// Each of these places, once and no other, with tests by which its condition fails.
    fn all_fail<'c>(
        &self,
        proofs: &[Tested],
        wanted: impl Iterator<Item = (usize, &'c Condition<usize>)>,
        what: &str,
    ) -> Result<(), Refusal> {
        for (place, condition) in wanted {
            let what = format!("{what} {place}");
            let proof = proofs.iter().find(|proof| proof.place == place);
            let proof = proof.ok_or_else(|| step(format!("{what} does not hold")))?;
            self.must(condition, &proof.tests, false, &what)?;
        }
        Ok(())
    }

    fn way(&self, way: &Way) -> Result<Verdict, Refusal> {
        let flat = self.vehicle.flat;
        let covers = || flat.covers.iter().map(|covers| &covers.item).enumerate();
        let rows = || flat.left_out.iter().enumerate();
        let block = |proof: &Tested| {
            let block = flat.covers.get(proof.place).ok_or_else(|| step("the vehicle is covered"))?;
            self.must(&block.item, &proof.tests, true, "the covering block")
        };
        match &way.coverage {
            Coverage::NotInForce if !flat.in_force.is_yes() => Ok(Verdict::NotSubject),
            Coverage::NotInForce => Err(step("no version is in force")),
            _ if !flat.in_force.is_yes() => Err(step("a version is in force")),
            Coverage::NotCovered { blocks } => {
                self.all_fail(blocks, covers(), "covering block")?;
                Ok(Verdict::NotSubject)
            }
            Coverage::LeftOut { block: covering, row: proof, graver } => {
                let row = flat.left_out.get(proof.place).ok_or_else(|| step("the vehicle is left out"))?;
                self.must(&row.condition, &proof.tests, true, "the row that leaves it out")?;
                let above = rows().filter(|(_, other)| other.outcome > row.outcome);
                self.all_fail(graver, above.map(|(place, other)| (place, &other.condition)), "row")?;
                let Some(outcome) = row.outcome else { return Ok(Verdict::NotSubject) };
                block(covering.as_ref().ok_or_else(|| step("the vehicle is covered"))?)?;
                self.relabelled(outcome, &way.becomes)
            }
            Coverage::Covered { block: covering, rows: out } => {
                block(covering)?;
                self.all_fail(out, rows().map(|(place, row)| (place, &row.condition)), "row")?;
                let outcome = match &way.deciding {
                    None => 0,
                    Some(live) => {
                        self.live(live)?;
                        flat.lines.get(live.line).map_or(0, |line| line.outcome)
                    }
                };
                for (place, line) in flat.lines.iter().enumerate().filter(|(_, line)| line.outcome > outcome) {
                    let proof = way.blocked.iter().find(|blocked| blocked.line == place);
                    self.blocked(proof.ok_or_else(|| step(format!("clause {} does not bite", line.clause)))?)?;
                }
                self.relabelled(outcome, &way.becomes)
            }
        }
    }

    fn live(&self, live: &Live) -> Result<(), Refusal> {
        let named = || step(format!("clause {} bites", live.clause));
        let line =
            self.vehicle.flat.lines.get(live.line).filter(|line| line.clause == live.clause).ok_or_else(named)?;
        self.must(&line.concerns, &live.concerns, true, &format!("the concern of {}", live.clause))?;
        self.must(&line.unmet_where, &live.unmet, true, &format!("the condition of {}", live.clause))?;
        if live.stands_before.len() != line.gives_way.len() {
            return Err(named());
        }
        for ((other, under), proof) in line.gives_way.iter().zip(&live.stands_before) {
            match proof {
                Unyielding::NotUnder(tests) => {
                    self.must(under, tests, false, "the reading under which it gives way")?
                }
                Unyielding::Blocked(blocked) if blocked.line == *other => self.blocked(blocked)?,
                Unyielding::Blocked(_) => return Err(named()),
            }
        }
        Ok(())
    }

    fn blocked(&self, blocked: &Blocked) -> Result<(), Refusal> {
        let named = || step(format!("clause {} does not bite", blocked.clause));
        let line = self.vehicle.flat.lines.get(blocked.line).filter(|line| line.clause == blocked.clause);
        let line = line.ok_or_else(named)?;
        match &blocked.by {
            By::NotConcerned(tests) => {
                self.must(&line.concerns, tests, false, &format!("the concern of {}", blocked.clause))
            }
            By::Met(tests) => {
                self.must(&line.unmet_where, tests, false, &format!("the condition of {}", blocked.clause))
            }
            By::SetAside { gives_way, to } => {
                let (other, under) = line.gives_way.get(gives_way.place).ok_or_else(named)?;
                self.must(under, &gives_way.tests, true, "the reading under which it gives way")?;
                if to.line == *other { self.live(to) } else { Err(named()) }
            }
        }
    }

    fn relabelled(&self, outcome: usize, proof: &Relabelled) -> Result<Verdict, Refusal> {
        let rules = || self.vehicle.flat.becomes.iter().enumerate().filter(|(_, rule)| rule.from == outcome);
        let to = match &proof.rule {
            None => None,
            Some(tested) => {
                let (_, rule) = rules().find(|(at, _)| *at == tested.place).ok_or_else(|| step("it is relabelled"))?;
                self.must(&rule.condition, &tested.tests, true, "the relabelling")?;
                Some(rule.to)
            }
        };
        let above = rules().filter(|(_, rule)| to.is_none_or(|to| rule.to > to));
        self.all_fail(&proof.graver, above.map(|(at, rule)| (at, &rule.condition)), "relabelling")?;
        Ok(Verdict::Outcome(to.unwrap_or(outcome)))
    }
}
