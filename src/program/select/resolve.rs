//! Turns names into places, and resolves what the test date settles: ages, parities, tests of the date itself.

use super::Selection;
use super::choices::Choices;
use super::standing::Standing;
use crate::model::{CodeGroup, Date, Fact, day_number};
use crate::program::{Condition, Dated, FactRef, How, Item, Program, Test};
use std::collections::{BTreeMap, BTreeSet};

/// What names stand for in one flat program.
pub(super) struct Resolver<'a> {
    pub(super) choices: &'a Choices<'a>,
    test_date: Date,
    facts: BTreeMap<&'a str, usize>,
    tables: BTreeMap<&'a str, usize>,
    /// Finding ids in their order.
    pub(super) findings: Vec<String>,
    /// Limit ids, sorted.
    pub(super) limits: Vec<&'a str>,
    /// Code groups, sorted by id and reading.
    pub(super) groups: Vec<(&'a str, Condition<usize>, &'a CodeGroup)>,
    /// How ages are counted, by reading.
    pub(super) ages: Vec<(Condition<usize>, i64)>,
}

impl<'a> Resolver<'a> {
    pub(super) fn of(
        program: &'a Program,
        selection: &Selection,
        choices: &'a Choices<'a>,
        standing: &[Standing<'a>],
    ) -> Resolver<'a> {
        let mut limits = BTreeSet::new();
        let mut groups = Vec::new();
        let mut ages = Vec::new();
        for one in standing {
            match &one.block.item {
                Item::Limit { id, .. } => {
                    limits.insert(id.as_str());
                }
                Item::CodeGroup { id, group } => groups.push((id.as_str(), one.guard.clone(), group)),
                Item::Age { plus } => ages.push((one.guard.clone(), *plus)),
                _ => {}
            }
        }
        groups.sort();
        ages.sort();
        Resolver {
            choices,
            test_date: selection.test_date,
            facts: program.facts.iter().enumerate().map(|(place, fact)| (fact.name.as_str(), place)).collect(),
            tables: program.tables.iter().enumerate().map(|(place, table)| (table.id.as_str(), place)).collect(),
            findings: super::order::findings(standing),
            limits: limits.into_iter().collect(),
            groups,
            ages,
        }
    }

    /// The place of a table.
    pub(super) fn table(&self, id: &str) -> Option<usize> {
        self.tables.get(id).copied()
    }

    /// The fact, by place.
    pub(super) fn fact(&self, fact: &FactRef<String>) -> Option<FactRef<usize>> {
        match fact {
            FactRef::Known(fact) => Some(FactRef::Known(*fact)),
            FactRef::Declared(name) => self.facts.get(name.as_str()).map(|place| FactRef::Declared(*place)),
        }
    }

    /// The condition with places for names. A name that does not stand on the date makes its test false.
    pub(super) fn condition(&self, condition: &Condition<String>) -> Condition<usize> {
        match condition {
            Condition::All(parts) => Condition::every(parts.iter().map(|part| self.condition(part)).collect()),
            Condition::Any(parts) => Condition::either(parts.iter().map(|part| self.condition(part)).collect()),
            Condition::Not(inner) => self.condition(inner).negated(),
            Condition::Test(test) => self.test(test).unwrap_or_else(Condition::never),
        }
    }

    fn test(&self, test: &Test<String>) -> Option<Condition<usize>> {
        let resolved = match test {
            Test::Word { fact, words } => Test::Word { fact: self.fact(fact)?, words: *words },
            Test::Number { fact: FactRef::Known(Fact::TestDate), least, most } => {
                let day = day_number(self.test_date);
                return Some(constant(least.is_none_or(|least| least <= day) && most.is_none_or(|most| day <= most)));
            }
            Test::Number { fact, least, most } => Test::Number { fact: self.fact(fact)?, least: *least, most: *most },
            Test::Text { fact, among, is } => Test::Text { fact: *fact, among: among.clone(), is: *is },
            Test::Dated(dated) => return Some(settled(*dated, self.test_date, &self.ages)),
            Test::ModelYearIsEven(even) => Test::ModelYearIsEven(*even),
            Test::Present { fact, is } => Test::Present { fact: *fact, is: *is },
            Test::Codes { list, how, among: None } => Test::Codes { list: *list, how: *how, among: None },
            Test::Codes { list, how, among: Some(group) } => return Some(self.codes(*list, *how, group)),
            Test::CodesOfTable { list, how, table } => {
                Test::CodesOfTable { list: *list, how: *how, table: self.table(table)? }
            }
            Test::Count { states, least, most } => Test::Count { states: *states, least: *least, most: *most },
            Test::CountOf { monitors, states, least, most } => {
                Test::CountOf { monitors: *monitors, states: *states, least: *least, most: *most }
            }
            Test::Pair { quantifier, earlier, states } => {
                Test::Pair { quantifier: *quantifier, earlier: *earlier, states: *states }
            }
            Test::NotMoreIncompleteThanEarlier => Test::NotMoreIncompleteThanEarlier,
            Test::Limit { limit, within } => {
                Test::Limit { limit: self.limits.iter().position(|known| known == limit)?, within: *within }
            }
            Test::Finding(id) => Test::Finding(self.findings.iter().position(|known| known == id)?),
            Test::Listed(table) => Test::Listed(self.table(table)?),
            Test::Reading { question, reading } => return Some(self.choices.reading_condition(question, *reading)),
        };
        Some(Condition::Test(resolved))
    }

    fn codes(&self, list: Fact, how: How, group: &str) -> Condition<usize> {
        let places = self.groups.iter().enumerate().filter(|(_, (id, _, _))| *id == group);
        let variants = places.map(|(place, (_, guard, _))| {
            let test = Condition::Test(Test::Codes { list, how, among: Some(place) });
            Condition::every(vec![guard.clone(), test])
        });
        Condition::either(variants.collect())
    }
}

/// What a dated test comes to on the date of a visit; `ages` tells how the program counts them, by reading.
///
/// Age = test year less model year plus N, so an age from A through B is a model year from Y+N-B through Y+N-A.
pub(in super::super) fn settled(dated: Dated, test_date: Date, ages: &[(Condition<usize>, i64)]) -> Condition<usize> {
    let even_test_year = test_date.year() % 2 == 0;
    match dated {
        Dated::SameParity(same) => Condition::Test(Test::ModelYearIsEven(same == even_test_year)),
        Dated::TestYearIsEven(even) => constant(even == even_test_year),
        Dated::Age { least, most } => {
            let year = i64::from(test_date.year());
            let windows = ages.iter().map(|(guard, plus)| {
                let window = Test::Number {
                    fact: FactRef::Known(Fact::ModelYear),
                    least: most.map(|most| year.saturating_add(*plus).saturating_sub(most)),
                    most: least.map(|least| year.saturating_add(*plus).saturating_sub(least)),
                };
                Condition::every(vec![guard.clone(), Condition::Test(window)])
            });
            Condition::either(windows.collect())
        }
    }
}

fn constant(holds: bool) -> Condition<usize> {
    if holds { Condition::always() } else { Condition::never() }
}
