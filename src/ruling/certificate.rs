//! Makes the proof that goes with a settled verdict. Where the interpreter cannot tell the verdict test by test (it may
//! follow only from several unknown facts together) there is none. What is made is checked before it is given.

use crate::certificate::{
    Blocked, By, Certificate, Coverage, Live, Relabelled, Tested, Tests, Unyielding, Way, verify,
};
use crate::evaluate::{Truth, Walk};
use crate::model::table::key_of;
use crate::model::{Fact, Snapshot};
use crate::program::flat::Line;
use crate::program::given::facts_of;
use crate::program::{Condition, FactRef, Flat, Given, GivenError, Verdict};
use std::cell::RefCell;
use std::collections::{BTreeMap, BTreeSet};

/// The most ways of reading the open questions that are proved one by one.
const MOST_WAYS: usize = 64;

/// The most open questions of which sets are tried; the rest is left open.
const MOST_QUESTIONS: usize = 10;

/// The most ways that are tried before a verdict counts as not provable so.
const MOST_TRIED: usize = 4096;

/// A proof of the verdict; `None` where it is not settled or not provable test by test.
///
/// # Errors
/// Where readings contradict each other or a declared value does not fit the program.
pub fn certificate(flat: &Flat, snapshot: &Snapshot) -> Result<Option<Certificate>, GivenError> {
    let given = Given::of(flat, snapshot)?;
    let facts = RefCell::new(BTreeSet::new());
    let mut proved =
        Prover { walk: Walk::new(flat, &given, &[]), facts: &facts }.way(BTreeMap::new()).map(|it| vec![it]);
    if proved.is_none() {
        proved = each_way(flat, &given, &facts);
    }
    let Some(proved) = proved else { return Ok(None) };
    let verdicts: BTreeSet<Verdict> = proved.iter().map(|(_, verdict)| *verdict).collect();
    let (Some(verdict), 1) = (verdicts.first(), verdicts.len()) else { return Ok(None) };
    let mut certificate = Certificate {
        verdict: verdict.name(flat).to_owned(),
        rests_on: keys(flat, snapshot, &facts.borrow()),
        ways: proved.into_iter().map(|(way, _)| way).collect(),
    };
    if verify(&certificate, flat, snapshot).is_err() {
        // What a test needs may follow from other readings by what cannot be at once: then all of them are kept.
        certificate.rests_on = all_keys(snapshot);
    }
    Ok(verify(&certificate, flat, snapshot).is_ok().then_some(certificate))
}

fn keys(flat: &Flat, snapshot: &Snapshot, facts: &BTreeSet<FactRef<usize>>) -> Vec<String> {
    let keys: BTreeSet<String> = facts
        .iter()
        .filter_map(|fact| match fact {
            FactRef::Known(fact) => snapshot.readings.contains_key(fact).then(|| key_of(*fact)),
            FactRef::Declared(place) => {
                let name = &flat.facts.get(*place)?.name;
                snapshot.declared.contains_key(name).then(|| format!("declared.{name}"))
            }
        })
        .collect();
    keys.into_iter().collect()
}

fn all_keys(snapshot: &Snapshot) -> Vec<String> {
    let read = snapshot.readings.keys().filter(|fact| **fact != Fact::TestDate).map(|fact| key_of(*fact));
    read.chain(snapshot.declared.keys().map(|name| format!("declared.{name}"))).collect()
}

/// One way to read the open questions: a reading for each, and what each is called.
type Taken = (Vec<Option<usize>>, BTreeMap<String, String>);

type Facts = RefCell<BTreeSet<FactRef<usize>>>;

/// Every way of reading the fewest open questions with which the verdict can be proved. A question whose reading changes
/// nothing here is left open, so that many questions make no more ways than those that matter.
fn each_way(flat: &Flat, given: &Given, facts: &Facts) -> Option<Vec<(Way, Verdict)>> {
    let open: Vec<usize> = (0..flat.questions.len())
        .filter(|place| flat.questions.get(*place).is_some_and(|it| it.taken.is_none() && !it.readings.is_empty()))
        .collect();
    let mut sets: Vec<(usize, Vec<usize>)> = (1u32..1 << open.len().min(MOST_QUESTIONS))
        .map(|bits| open.iter().enumerate().filter(|(at, _)| bits >> at & 1 == 1).map(|(_, place)| *place).collect())
        .map(|set: Vec<usize>| (ways_of(flat, &set), set))
        .filter(|(ways, _)| *ways <= MOST_WAYS)
        .collect();
    sets.sort();
    let mut tried = 0;
    for (ways, set) in sets {
        tried += ways;
        if tried > MOST_TRIED {
            return None;
        }
        let of_these = RefCell::new(BTreeSet::new());
        let proved: Option<Vec<_>> = taken(flat, &set)?
            .into_iter()
            .map(|(assumed, named)| Prover { walk: Walk::new(flat, given, &assumed), facts: &of_these }.way(named))
            .collect();
        if proved.is_some() {
            facts.borrow_mut().extend(of_these.into_inner());
            return proved;
        }
    }
    None
}

/// The number of ways of reading these questions.
fn ways_of(flat: &Flat, set: &[usize]) -> usize {
    let readings = set.iter().filter_map(|place| flat.questions.get(*place)).map(|question| question.readings.len());
    readings.fold(1, usize::saturating_mul)
}

/// All ways of reading these questions.
fn taken(flat: &Flat, set: &[usize]) -> Option<Vec<Taken>> {
    let mut ways: Vec<Taken> = vec![(vec![None; flat.questions.len()], BTreeMap::new())];
    for place in set {
        let question = flat.questions.get(*place)?;
        let mut more = Vec::new();
        for (assumed, named) in &ways {
            for (reading, name) in question.readings.iter().enumerate() {
                let (mut assumed, mut named) = (assumed.clone(), named.clone());
                *assumed.get_mut(*place)? = Some(reading);
                named.insert(question.id.clone(), name.clone());
                more.push((assumed, named));
            }
        }
        ways = more;
    }
    Some(ways)
}

struct Prover<'a> {
    walk: Walk<'a>,
    facts: &'a Facts,
}

impl Prover<'_> {
    /// Tests that settle a condition; `None` where it does not come to what is wanted.
    fn tests(&self, condition: &Condition<usize>, wanted: bool) -> Option<Tests> {
        let mut facts = BTreeSet::new();
        let tests = self.settle(condition, wanted, &mut 0, &mut facts)?;
        self.facts.borrow_mut().extend(facts);
        Some(tests)
    }

    fn settle(
        &self,
        condition: &Condition<usize>,
        wanted: bool,
        next: &mut usize,
        facts: &mut BTreeSet<FactRef<usize>>,
    ) -> Option<Tests> {
        let parts = match condition {
            Condition::Test(_) => {
                let place = *next;
                *next += 1;
                if self.walk.truth(condition) != Truth::of(wanted) {
                    return None;
                }
                facts.extend(facts_of(self.walk.flat(), condition));
                return Some(vec![place]);
            }
            Condition::Not(inner) => return self.settle(inner, !wanted, next, facts),
            Condition::All(parts) | Condition::Any(parts) => parts,
        };
        let needs_all = matches!(condition, Condition::All(_)) == wanted;
        let mut found = if needs_all { Some(Vec::new()) } else { None };
        for part in parts {
            let mut of_part = BTreeSet::new();
            let tests = self.settle(part, wanted, next, &mut of_part);
            if needs_all {
                facts.extend(of_part);
                found = found.zip(tests).map(|(found, tests)| [found, tests].concat());
            } else if found.is_none() && tests.is_some() {
                facts.extend(of_part);
                found = tests;
            }
        }
        found
    }

    fn tested(&self, place: usize, condition: &Condition<usize>, wanted: bool) -> Option<Tested> {
        Some(Tested { place, tests: self.tests(condition, wanted)? })
    }

    fn all_fail<'c>(&self, conditions: impl Iterator<Item = (usize, &'c Condition<usize>)>) -> Option<Vec<Tested>> {
        conditions.map(|(place, condition)| self.tested(place, condition, false)).collect()
    }

    fn way(&self, readings: BTreeMap<String, String>) -> Option<(Way, Verdict)> {
        let flat = self.walk.flat();
        let mut way = Way {
            readings,
            coverage: Coverage::NotInForce,
            deciding: None,
            blocked: Vec::new(),
            becomes: Relabelled { rule: None, graver: Vec::new() },
        };
        if !flat.in_force.is_yes() {
            return Some((way, Verdict::NotSubject));
        }
        let covers = || flat.covers.iter().map(|covers| &covers.item).enumerate();
        let rows = || flat.left_out.iter().enumerate();
        let covering = covers().find(|(_, condition)| self.walk.truth(condition).is_true());
        let leaving =
            rows().filter(|(_, row)| self.walk.truth(&row.condition).is_true()).max_by_key(|(_, row)| row.outcome);
        let outcome = match (covering, leaving) {
            (None, Some((_, row))) if row.outcome.is_none() && !self.all_false(covers()) => None,
            (None, _) => {
                way.coverage = Coverage::NotCovered { blocks: self.all_fail(covers())? };
                return Some((way, Verdict::NotSubject));
            }
            (Some(_), Some((_, row))) => row.outcome,
            (Some((place, condition)), None) => {
                let block = self.tested(place, condition, true)?;
                let out = self.all_fail(rows().map(|(place, row)| (place, &row.condition)))?;
                way.coverage = Coverage::Covered { block, rows: out };
                let outcome = self.by_lines(&mut way)?;
                let verdict = self.relabelled(outcome, &mut way)?;
                return Some((way, verdict));
            }
        };
        let (place, row) = leaving?;
        let above = rows().filter(|(_, other)| other.outcome > row.outcome);
        let graver = self.all_fail(above.map(|(place, other)| (place, &other.condition)))?;
        let block = match (outcome, covering) {
            (Some(_), Some((place, condition))) => Some(self.tested(place, condition, true)?),
            _ => None,
        };
        way.coverage = Coverage::LeftOut { block, row: self.tested(place, &row.condition, true)?, graver };
        let verdict = match outcome {
            None => Verdict::NotSubject,
            Some(outcome) => self.relabelled(outcome, &mut way)?,
        };
        Some((way, verdict))
    }

    fn all_false<'c>(&self, mut conditions: impl Iterator<Item = (usize, &'c Condition<usize>)>) -> bool {
        conditions.all(|(_, condition)| self.walk.truth(condition).is_false())
    }

    fn by_lines(&self, way: &mut Way) -> Option<usize> {
        let lines = || self.walk.flat().lines.iter().enumerate();
        let mut ranked: Vec<usize> = lines().filter(|(_, line)| line.outcome > 0).map(|(place, _)| place).collect();
        ranked.sort_by_key(|place| std::cmp::Reverse(self.walk.flat().lines.get(*place).map(|line| line.outcome)));
        way.deciding = ranked.iter().find_map(|place| self.live(*place, 0));
        let outcome = match &way.deciding {
            Some(live) => self.walk.flat().lines.get(live.line)?.outcome,
            None => 0,
        };
        for (place, _) in lines().filter(|(_, line)| line.outcome > outcome) {
            way.blocked.push(self.blocked(place, 0)?);
        }
        Some(outcome)
    }

    /// A line; none once the way to it has as many steps as there are lines, since it then came to one twice. Lines may give
    /// way in a circle that readings part.
    fn line(&self, place: usize, depth: usize) -> Option<&Line> {
        let lines = &self.walk.flat().lines;
        lines.get(place).filter(|_| depth < lines.len())
    }

    fn live(&self, place: usize, depth: usize) -> Option<Live> {
        let line = self.line(place, depth)?;
        let truth = |condition: &Condition<usize>| self.walk.truth(condition).is_true();
        if !truth(&line.concerns) || !truth(&line.unmet_where) {
            return None;
        }
        let stands_before: Option<Vec<Unyielding>> = line
            .gives_way
            .iter()
            .map(|(other, under)| match self.walk.truth(under).is_false() {
                true => self.tests(under, false).map(Unyielding::NotUnder),
                false => self.blocked(*other, depth + 1).map(Unyielding::Blocked),
            })
            .collect();
        Some(Live {
            line: place,
            clause: line.clause.clone(),
            stands_before: stands_before?,
            concerns: self.tests(&line.concerns, true)?,
            unmet: self.tests(&line.unmet_where, true)?,
        })
    }

    fn blocked(&self, place: usize, depth: usize) -> Option<Blocked> {
        let line = self.line(place, depth)?;
        let by = if self.walk.truth(&line.concerns).is_false() {
            By::NotConcerned(self.tests(&line.concerns, false)?)
        } else if self.walk.truth(&line.unmet_where).is_false() {
            By::Met(self.tests(&line.unmet_where, false)?)
        } else {
            line.gives_way.iter().enumerate().find_map(|(at, (other, under))| {
                let gives_way = self.walk.truth(under).is_true().then(|| self.tested(at, under, true))??;
                Some(By::SetAside { gives_way, to: Box::new(self.live(*other, depth + 1)?) })
            })?
        };
        Some(Blocked { line: place, clause: line.clause.clone(), by })
    }

    fn relabelled(&self, outcome: usize, way: &mut Way) -> Option<Verdict> {
        let rules = || self.walk.flat().becomes.iter().enumerate().filter(|(_, rule)| rule.from == outcome);
        let holding =
            rules().filter(|(_, rule)| self.walk.truth(&rule.condition).is_true()).max_by_key(|(_, rule)| rule.to);
        let to = holding.map(|(_, rule)| rule.to);
        let above = rules().filter(|(_, rule)| to.is_none_or(|to| rule.to > to));
        let graver = self.all_fail(above.map(|(place, rule)| (place, &rule.condition)))?;
        let rule = match holding {
            Some((place, rule)) => Some(self.tested(place, &rule.condition, true)?),
            None => None,
        };
        way.becomes = Relabelled { rule, graver };
        Some(Verdict::Outcome(to.unwrap_or(outcome)))
    }
}
