//! What usually completes the monitors that matter, with cautions.

use super::basis::{Basis, Law, laws};
use super::show;
use crate::evaluate::{Cause, Evaluation, LineState, Truth, Walk, causes_of};
use crate::model::facts::Possible;
use crate::model::{Fact, MonitorSet, MonitorState};
use crate::program::given::facts_of;
use crate::program::{Condition, FactRef, Flat, Given, Program, Test};

/// Cautions that go with every ruling that leaves something to do.
pub const CAUTIONS: [&str; 5] = [
    "Never run an engine in a closed space: exhaust holds carbon monoxide, which kills without warning.",
    "Keep clear of hot and moving parts.",
    "Obey traffic law; a passenger, never the driver, watches the scan tool.",
    "Clearing codes hides faults and makes the monitors incomplete; repairs come first, by qualified people.",
    "The official inspection decides; local rules and licensed practice come before this advice.",
];

/// What usually completes monitors.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct AdviceShown {
    /// The monitors, of those that matter.
    pub monitors: Vec<String>,
    /// In words.
    pub text: String,
    /// Minutes it takes, from and to.
    pub minutes: Option<(i64, i64)>,
    /// What must hold first.
    pub preconditions: Vec<String>,
    /// Cautions of its own.
    pub cautions: Vec<String>,
    /// Citations.
    pub law: Vec<Law>,
    /// The weakest of them.
    pub basis: Basis,
    /// Whether it is for some vehicles only, as a condition of it says.
    pub is_special: bool,
    /// What decides whether it is for this vehicle and is not known, in words; empty: it is.
    pub turns_on: Vec<String>,
}

/// Monitors known to be incomplete that an unmet or undetermined line turns on.
pub(super) fn monitors_that_matter(walk: &Walk<'_>, evaluation: &Evaluation) -> MonitorSet {
    let mut found = MonitorSet::EMPTY;
    for (line, record) in walk.flat().lines.iter().zip(&evaluation.lines) {
        if !matches!(record.state, LineState::Unmet | LineState::Undetermined { .. }) || record.concerned.is_false() {
            continue;
        }
        for cause in causes_of(walk, &line.unmet_where) {
            if let Cause::Fact(FactRef::Known(Fact::Monitor(monitor))) = cause
                && *walk.given().facts.get(Fact::Monitor(monitor)) == Possible::Words(MonitorState::Incomplete.bit())
            {
                found = found.with(monitor);
            }
        }
    }
    found
}

/// The advice of a program on every monitor that is for this vehicle, whether or not it matters to a ruling.
#[must_use]
pub fn advice_for(flat: &Flat, given: &Given, program: &Program) -> Vec<AdviceShown> {
    advice(&Walk::new(flat, given, &[]), program, MonitorSet::ALL)
}

/// The advice on these monitors that is for this vehicle.
pub(super) fn advice(walk: &Walk<'_>, program: &Program, monitors: MonitorSet) -> Vec<AdviceShown> {
    let flat = walk.flat();
    let mut list = Vec::new();
    for advice in &program.advice {
        let bearing = advice.monitors.and(monitors);
        let condition = resolve(flat, &advice.condition);
        let truth = condition.as_ref().map_or(Truth::True, |condition| walk.truth(condition));
        if bearing.is_empty() || truth.is_false() {
            continue;
        }
        let asked = condition.filter(|_| truth.is_unknown()).map(|it| facts_of(flat, &it)).unwrap_or_default();
        let turns_on = asked.iter().filter(|fact| !is_known(walk, fact)).map(|fact| show::name(flat, fact)).collect();
        let law = laws(&program.sources, &advice.basis);
        list.push(AdviceShown {
            monitors: bearing.iter().map(|monitor| monitor.name().to_owned()).collect(),
            text: advice.text.clone(),
            minutes: advice.minutes,
            preconditions: advice.preconditions.clone(),
            cautions: advice.cautions.clone(),
            basis: Basis::of(&law),
            law,
            turns_on,
            is_special: asks_more_than_fuel(&advice.condition),
        });
    }
    list
}

/// Whether advice is for vehicles of some kind or state, not only for all of some fuel.
fn asks_more_than_fuel(condition: &Condition<String>) -> bool {
    let mut found = false;
    condition.each_test(&mut |test| {
        found |= !matches!(test, Test::Word { fact: FactRef::Known(Fact::Fuel | Fact::FuelInUse), .. });
    });
    found
}

fn is_known(walk: &Walk<'_>, fact: &FactRef<usize>) -> bool {
    match walk.possible(fact) {
        Possible::Words(mask) => mask.count_ones() == 1,
        Possible::Number(span) => span.least == span.most && !span.may_be_absent,
        Possible::Text(text) => text.is_some(),
        Possible::Monitors { .. } | Possible::Codes { .. } => true,
    }
}

/// A condition of the whole program brought to a flat one; `None` where it names what the flat program lacks.
fn resolve(flat: &Flat, condition: &Condition<String>) -> Option<Condition<usize>> {
    let each = |parts: &[Condition<String>]| parts.iter().map(|part| resolve(flat, part)).collect::<Option<Vec<_>>>();
    Some(match condition {
        Condition::All(parts) => Condition::All(each(parts)?),
        Condition::Any(parts) => Condition::Any(each(parts)?),
        Condition::Not(inner) => Condition::Not(Box::new(resolve(flat, inner)?)),
        Condition::Test(test) => resolve_test(flat, test)?,
    })
}

fn resolve_test(flat: &Flat, test: &Test<String>) -> Option<Condition<usize>> {
    let declared = |fact: &FactRef<String>| match fact {
        FactRef::Known(fact) => Some(FactRef::Known(*fact)),
        FactRef::Declared(name) => flat.facts.iter().position(|fact| fact.name == *name).map(FactRef::Declared),
    };
    let table = |id: &String| flat.tables.iter().position(|table| table.id == *id);
    Some(Condition::Test(match test {
        Test::Word { fact, words } => Test::Word { fact: declared(fact)?, words: *words },
        Test::Number { fact, least, most } => Test::Number { fact: declared(fact)?, least: *least, most: *most },
        Test::Text { fact, among, is } => Test::Text { fact: *fact, among: among.clone(), is: *is },
        Test::Dated(dated) => return Some(flat.settled(*dated)),
        Test::ModelYearIsEven(even) => Test::ModelYearIsEven(*even),
        Test::Present { fact, is } => Test::Present { fact: *fact, is: *is },
        Test::Codes { list, how, among } => {
            let among = match among {
                None => None,
                Some(id) => Some(flat.groups.iter().position(|(known, _)| known == id)?),
            };
            Test::Codes { list: *list, how: *how, among }
        }
        Test::CodesOfTable { list, how, table: id } => Test::CodesOfTable { list: *list, how: *how, table: table(id)? },
        Test::Count { states, least, most } => Test::Count { states: *states, least: *least, most: *most },
        Test::CountOf { monitors, states, least, most } => {
            Test::CountOf { monitors: *monitors, states: *states, least: *least, most: *most }
        }
        Test::Pair { quantifier, earlier, states } => {
            Test::Pair { quantifier: *quantifier, earlier: *earlier, states: *states }
        }
        Test::NotMoreIncompleteThanEarlier => Test::NotMoreIncompleteThanEarlier,
        Test::Limit { limit, within } => {
            Test::Limit { limit: flat.limits.iter().position(|known| known.id == *limit)?, within: *within }
        }
        Test::Finding(id) => Test::Finding(flat.findings.iter().position(|(known, _)| known == id)?),
        Test::Listed(id) => Test::Listed(table(id)?),
        Test::Reading { question, reading } => {
            let question = flat.questions.iter().position(|known| known.id == *question)?;
            Test::Reading { question, reading: *reading }
        }
    }))
}
