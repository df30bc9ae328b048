//! Vehicles told apart by a few facts: every combination of classes of those facts, for exact checks by enumeration.
//! A class of a number is one value on each side of each threshold that a condition names.

use crate::model::{Constraint, Exclusion, Fact, FactType, exclusions, facts::ABSENT, spec};
use crate::program::block::DeclaredType;
use crate::program::{Condition, FactRef, Flat, Test};
use std::collections::{BTreeMap, BTreeSet};

/// How many partial vehicles one search may look at; beyond that the exact analysis tells.
pub(super) const BUDGET: usize = 4_000;

/// What tells vehicles apart: a fact, or the reading of an open question.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Axis {
    Fact(FactRef<usize>),
    Question(usize),
}

/// One class of an axis.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Class {
    /// One word, as its bit.
    Word(u64),
    /// A number in base units.
    Number(i64),
    /// A text; `None` for any that no condition names.
    Text(Option<String>),
    /// A reading.
    Reading(usize),
    /// The vehicle is without it.
    Absent,
}

/// A vehicle, as far as the axes tell it.
pub(super) type Vehicle = BTreeMap<Axis, Class>;

/// The axes that conditions turn on, with their classes; findings followed.
#[derive(Debug, Clone, Default)]
pub(super) struct Axes {
    classes: BTreeMap<Axis, BTreeSet<Class>>,
    rules: Vec<Exclusion>,
}

impl Axes {
    pub(super) fn new() -> Axes {
        Axes { classes: BTreeMap::new(), rules: exclusions() }
    }

    /// Adds what the condition turns on. Counts, codes and tables are no axes: they stay unknown.
    pub(super) fn add(&mut self, flat: &Flat, condition: &Condition<usize>) {
        condition.each_test(&mut |test| match test {
            Test::Word { fact, .. } => self.words(flat, fact),
            Test::Number { fact, least, most } => self.numbers(flat, fact, &[*least, *most]),
            Test::ModelYearIsEven(_) => self.years(),
            Test::Text { fact, among, .. } => {
                let axis = self.classes.entry(Axis::Fact(FactRef::Known(*fact))).or_default();
                axis.insert(Class::Text(None));
                axis.extend(among.iter().map(|text| Class::Text(Some(text.clone()))));
            }
            Test::Reading { question, .. } => {
                let count = flat.questions.get(*question).map_or(0, |question| question.readings.len());
                let axis = self.classes.entry(Axis::Question(*question)).or_default();
                axis.extend((0..count).map(Class::Reading));
            }
            Test::Finding(place) => {
                // Findings refer to earlier ones only, so this ends.
                if let Some((_, condition)) = flat.findings.get(*place) {
                    self.add(flat, condition);
                }
            }
            _ => {}
        });
    }

    fn words(&mut self, flat: &Flat, fact: &FactRef<usize>) {
        let (count, absent) = match fact {
            FactRef::Known(fact) => (fact.words().len(), spec(*fact).may_be_absent),
            FactRef::Declared(place) => (flat.facts.get(*place).map_or(0, |fact| fact.kind.words().len()), false),
        };
        let axis = self.classes.entry(Axis::Fact(fact.clone())).or_default();
        let bits = (0..count).filter_map(|place| 1u64.checked_shl(u32::try_from(place).ok()?));
        axis.extend(bits.map(Class::Word));
        if absent {
            axis.insert(Class::Absent);
        }
    }

    fn numbers(&mut self, flat: &Flat, fact: &FactRef<usize>, thresholds: &[Option<i64>]) {
        let (range, absent) = match fact {
            FactRef::Known(fact) => (range(spec(*fact).kind), spec(*fact).may_be_absent),
            FactRef::Declared(place) => (flat.facts.get(*place).and_then(|fact| declared_range(&fact.kind)), false),
        };
        let Some((bottom, top)) = range else { return };
        let axis = self.classes.entry(Axis::Fact(fact.clone())).or_default();
        let around = thresholds.iter().flatten().flat_map(|at| [at.saturating_sub(1), *at, at.saturating_add(1)]);
        axis.extend(around.filter(|value| (bottom..=top).contains(value)).map(Class::Number));
        if absent {
            axis.insert(Class::Absent);
        }
    }

    fn years(&mut self) {
        let axis = self.classes.entry(Axis::Fact(FactRef::Known(Fact::ModelYear))).or_default();
        axis.extend([Class::Number(2000), Class::Number(2001)]);
    }

    /// The axes as they are called.
    pub(super) fn names(&self) -> BTreeSet<Axis> {
        self.classes.keys().cloned().collect()
    }

    /// The first vehicle that can exist and that `keep` never turned down, built up fact by fact, those of `first` before
    /// the others. `keep` sees vehicles of which some facts are still open. `None` where there is none, or where the
    /// search would be too long.
    pub(super) fn search(&self, first: &BTreeSet<Axis>, keep: &dyn Fn(&Vehicle) -> bool) -> Option<Vehicle> {
        let (mut axes, others): (Vec<&Axis>, Vec<&Axis>) = self.classes.keys().partition(|axis| first.contains(axis));
        axes.extend(others);
        let mut budget = BUDGET;
        self.grow(&axes, &mut Vehicle::new(), keep, &mut budget)
    }

    fn grow(
        &self,
        axes: &[&Axis],
        vehicle: &mut Vehicle,
        keep: &dyn Fn(&Vehicle) -> bool,
        budget: &mut usize,
    ) -> Option<Vehicle> {
        *budget = budget.checked_sub(1)?;
        if !self.can_exist(vehicle) || !keep(vehicle) {
            return None;
        }
        let Some((axis, rest)) = axes.split_first() else {
            return Some(vehicle.clone());
        };
        for class in self.classes.get(*axis).into_iter().flatten() {
            vehicle.insert((*axis).clone(), class.clone());
            if let Some(found) = self.grow(rest, vehicle, keep, budget) {
                return Some(found);
            }
        }
        vehicle.remove(*axis);
        None
    }

    fn can_exist(&self, vehicle: &Vehicle) -> bool {
        let holds = |constraint: Constraint| {
            let class = vehicle.get(&Axis::Fact(FactRef::Known(constraint.fact())));
            match (constraint, class) {
                (Constraint::Word(_, words), Some(Class::Word(bit))) => words & bit != 0,
                (Constraint::AtLeast(_, bound), Some(Class::Number(number))) => *number >= bound,
                _ => false,
            }
        };
        !self.rules.iter().any(|rule| holds(rule.first) && holds(rule.second))
    }
}

fn range(kind: FactType) -> Option<(i64, i64)> {
    match kind {
        FactType::Number { unit, least, most, .. } => Some((unit.to_base(least)?, unit.to_base(most)?)),
        FactType::Date => Some((i64::MIN, i64::MAX)),
        _ => None,
    }
}

fn declared_range(kind: &DeclaredType) -> Option<(i64, i64)> {
    match kind {
        DeclaredType::Number { unit, least, most } => Some((unit.to_base(*least)?, unit.to_base(*most)?)),
        _ => None,
    }
}

/// Whether the condition holds of the vehicle; `None` where the axes do not tell.
pub(super) fn holds(flat: &Flat, condition: &Condition<usize>, vehicle: &Vehicle) -> Option<bool> {
    match condition {
        Condition::All(parts) => all(parts.iter().map(|part| holds(flat, part, vehicle))),
        Condition::Any(parts) => {
            all(parts.iter().map(|part| holds(flat, part, vehicle).map(|holds| !holds))).map(|none| !none)
        }
        Condition::Not(inner) => holds(flat, inner, vehicle).map(|holds| !holds),
        Condition::Test(test) => test_holds(flat, test, vehicle),
    }
}

fn all(parts: impl Iterator<Item = Option<bool>>) -> Option<bool> {
    let mut known = true;
    for part in parts {
        match part {
            Some(false) => return Some(false),
            Some(true) => {}
            None => known = false,
        }
    }
    known.then_some(true)
}

fn test_holds(flat: &Flat, test: &Test<usize>, vehicle: &Vehicle) -> Option<bool> {
    let class = |fact: &FactRef<usize>| vehicle.get(&Axis::Fact(fact.clone()));
    Some(match test {
        Test::Word { fact, words } => match class(fact)? {
            Class::Word(bit) => words & bit & !ABSENT != 0,
            _ => false,
        },
        Test::Number { fact, least, most } => match class(fact)? {
            Class::Number(number) => {
                least.is_none_or(|least| least <= *number) && most.is_none_or(|most| *number <= most)
            }
            _ => false,
        },
        Test::ModelYearIsEven(even) => match class(&FactRef::Known(Fact::ModelYear))? {
            Class::Number(year) => (year % 2 == 0) == *even,
            _ => false,
        },
        Test::Text { fact, among, is } => match class(&FactRef::Known(*fact))? {
            Class::Text(text) => text.as_ref().is_some_and(|text| among.contains(text)) == *is,
            _ => false,
        },
        Test::Present { fact, is } => (*class(&FactRef::Known(*fact))? != Class::Absent) == *is,
        Test::Reading { question, reading } => *vehicle.get(&Axis::Question(*question))? == Class::Reading(*reading),
        Test::Finding(place) => {
            return flat.findings.get(*place).and_then(|(_, condition)| holds(flat, condition, vehicle));
        }
        _ => return None,
    })
}

/// The vehicle in words: `model year 1995, fuel diesel`.
pub(super) fn shown(flat: &Flat, vehicle: &Vehicle) -> String {
    let parts: Vec<String> = vehicle.iter().filter_map(|(axis, class)| part(flat, axis, class)).collect();
    if parts.is_empty() { "any vehicle".to_owned() } else { parts.join(", ") }
}

fn part(flat: &Flat, axis: &Axis, class: &Class) -> Option<String> {
    let Axis::Fact(fact) = axis else {
        let (Axis::Question(place), Class::Reading(reading)) = (axis, class) else { return None };
        let question = flat.questions.get(*place)?;
        return Some(format!("{} read as {}", question.id, question.readings.get(*reading)?));
    };
    let (name, words) = match fact {
        FactRef::Known(fact) => (spec(*fact).name.to_owned(), fact.words().to_vec()),
        FactRef::Declared(place) => {
            let fact = flat.facts.get(*place)?;
            (fact.name.clone(), fact.kind.words())
        }
    };
    Some(match class {
        Class::Word(bit) => {
            let word = usize::try_from(bit.trailing_zeros()).ok().and_then(|place| words.get(place).copied());
            match (fact, word) {
                (FactRef::Known(fact), Some(word)) => match (spec(*fact).kind, word) {
                    (FactType::YesNo { yes, .. }, "yes") => yes.to_owned(),
                    (FactType::YesNo { no, .. }, "no") => no.to_owned(),
                    _ => format!("{name} {word}"),
                },
                (_, word) => format!("{name} {}", word.unwrap_or("")),
            }
        }
        Class::Number(number) => match fact {
            FactRef::Known(fact) => match spec(*fact).kind {
                FactType::Number { unit, .. } => format!("{name} {}", unit.show(*number)),
                _ => format!("{name} {}", crate::model::date_of(*number)?),
            },
            FactRef::Declared(_) => format!("{name} {number}"),
        },
        Class::Text(Some(text)) => format!("{name} \"{text}\""),
        Class::Text(None) => format!("another {name}"),
        Class::Absent => format!("{name} not on this vehicle"),
        Class::Reading(_) => return None,
    })
}
