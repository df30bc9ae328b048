//! Parts of flat programs for the tests of this crate: a ladder of pass, reject, fail, a line, a test of a word.
#![allow(clippy::unwrap_used, reason = "a test stops at the first wrong thing")]

use super::block::Origin;
use super::flat::{Based, Line};
use super::{Class, Condition, FactRef, Flat, Outcome, Test, Topic};
use crate::model::{Date, Fact};
use crate::source::Span;

pub(crate) fn origin() -> Origin {
    Origin { program: "example".to_owned(), span: Span::default() }
}

/// A program that covers every vehicle, with a ladder of pass, reject, fail and nothing else in it.
pub(crate) fn example() -> Flat {
    let outcome = |name: &str, class| Outcome { name: name.to_owned(), class, label: None };
    Flat {
        outcomes: vec![outcome("pass", Class::Pass), outcome("reject", Class::Reject), outcome("fail", Class::Fail)],
        covers: vec![Based { item: Condition::always(), basis: Vec::new(), origin: origin() }],
        ..Flat::bare("example", "Example program", Date::constant(2026, 11, 25))
    }
}

pub(crate) fn line(clause: &str, outcome: usize, unmet_where: Condition<usize>) -> Line {
    Line {
        clause: clause.to_owned(),
        topic: Topic::Other,
        concerns: Condition::always(),
        unmet_where,
        requires: false,
        outcome,
        message: format!("Message of {clause}."),
        gives_way: Vec::new(),
        basis: Vec::new(),
        origin: origin(),
    }
}

pub(crate) fn word(fact: Fact, word: &str) -> Condition<usize> {
    Condition::Test(Test::Word { fact: FactRef::Known(fact), words: fact.word_bit(word).unwrap() })
}
