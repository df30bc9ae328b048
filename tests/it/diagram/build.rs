//! Flat programs and vehicles built by hand for the tests of the diagrams. Invented programs, not any State's law.

use wherefore::internals::model::{Date, Fact, Monitor, MonitorSet};
use wherefore::internals::program::block::Origin;
use wherefore::internals::program::flat::{Based, CountRule, Line};
use wherefore::internals::program::{Class, Condition, FactRef, Flat, Outcome, Test, Topic};
use wherefore::internals::source::Span;

pub fn origin() -> Origin {
    Origin { program: "example".to_owned(), span: Span::default() }
}

pub fn outcome(name: &str, class: Class) -> Outcome {
    Outcome { name: name.to_owned(), class, label: None }
}

/// A program that covers every vehicle, counts the monitors that are not continuous, and has no clause.
pub fn flat() -> Flat {
    let date = Date::constant(2026, 3, 2);
    Flat {
        outcomes: vec![outcome("pass", Class::Pass), outcome("reject", Class::Reject), outcome("fail", Class::Fail)],
        counts: vec![CountRule {
            condition: Condition::always(),
            monitors: Monitor::all().filter(|m| !m.is_continuous() && !m.is_j1939()).collect(),
            unsupported_as_incomplete: false,
            basis: Vec::new(),
        }],
        covers: vec![Based { item: Condition::always(), basis: Vec::new(), origin: origin() }],
        ..Flat::bare("example", "Example", date)
    }
}

pub fn line(clause: &str, topic: Topic, outcome: usize, unmet_where: Condition<usize>) -> Line {
    Line {
        clause: clause.to_owned(),
        topic,
        concerns: Condition::always(),
        unmet_where,
        requires: false,
        outcome,
        message: String::new(),
        gives_way: Vec::new(),
        basis: Vec::new(),
        origin: origin(),
    }
}

pub fn word(fact: Fact, words: &[&str]) -> Condition<usize> {
    let words = words.iter().map(|word| fact.word_bit(word).expect("a word of the fact")).sum();
    Condition::Test(Test::Word { fact: FactRef::Known(fact), words })
}

pub fn monitor(monitor: Monitor, states: u64) -> Condition<usize> {
    Condition::Test(Test::Word { fact: FactRef::Known(Fact::Monitor(monitor)), words: states })
}

pub fn number(fact: Fact, least: Option<i64>, most: Option<i64>) -> Condition<usize> {
    Condition::Test(Test::Number { fact: FactRef::Known(fact), least, most })
}

pub fn incomplete(least: Option<i64>, most: Option<i64>) -> Condition<usize> {
    Condition::Test(Test::Count { states: 4, least, most })
}

pub fn set(monitors: &[Monitor]) -> MonitorSet {
    monitors.iter().copied().collect()
}
