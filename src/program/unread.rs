//! Topics whose text exists and was not seen: when a vehicle's own readings make the unread text moot, and a program made
//! of another that tells of many records at once which of them an unread text may still concern.

use super::block::{Clause, ClauseLine, Item, LeftOutBy};
use super::{Block, Class, Condition, FactRef, How, Outcome, Program, Refer, Test, Topic};
use crate::model::{Fact, MonitorSet, MonitorState};

/// The vehicles whom no rule on a topic can trouble, whatever it says, for everything that the topic is about is as it
/// should be. No vehicle of a topic that has no such state.
///
/// A table, in the order of [`Topic::ALL`]: what stands here is common sense about the topic, not a text.
#[must_use]
pub fn moot<R: Refer>(topic: Topic) -> Condition<R> {
    let word = |fact: Fact, word: &str| {
        Condition::Test(Test::Word { fact: FactRef::Known(fact), words: fact.word_bit(word).unwrap_or(0) })
    };
    let no_code = |list: Fact| {
        let none = Condition::Test(Test::Codes { list, how: How::No, among: None });
        Condition::either(vec![none, Condition::Test(Test::Present { fact: list, is: false })])
    };
    let monitors = |state: MonitorState, least: Option<i64>, most: Option<i64>| {
        Condition::Test(Test::CountOf { monitors: MonitorSet::ALL, states: state.bit(), least, most })
    };
    match topic {
        Topic::Connector => word(Fact::Connector, "intact"),
        Topic::Communication => word(Fact::Communication, "established"),
        Topic::Identity => Condition::every(vec![word(Fact::VinInData, "yes"), word(Fact::VinMatches, "yes")]),
        Topic::BulbCheck => word(Fact::LampLitKeyOn, "yes"),
        // A lamp that flashes is seen lit.
        Topic::Lamp => Condition::every(vec![word(Fact::LampCommanded, "no"), word(Fact::LampLitRunning, "no")]),
        Topic::StoredCodes => no_code(Fact::StoredCodes),
        Topic::PendingCodes => no_code(Fact::PendingCodes),
        Topic::PermanentCodes => no_code(Fact::PermanentCodes),
        Topic::Readiness => Condition::every(vec![
            monitors(MonitorState::Incomplete, None, Some(0)),
            monitors(MonitorState::Complete, Some(1), None),
        ]),
        Topic::ReadinessAtRetest => word(Fact::Visit, "initial"),
        // A rule on how long ago codes were cleared may ask for any number.
        Topic::SinceClearing | Topic::Other => Condition::never(),
    }
}

/// A program with the coverage, dates and readings of another, and a clause for each of its unread topics, unmet on the
/// vehicles that the topic may trouble: what it lets pass, an unread text does not concern. `None` where nothing is unread.
#[must_use]
pub fn unread_alone(program: &Program) -> Option<Program> {
    let is_unread = |block: &Block| !block.draft && matches!(block.item, Item::Unread(_));
    if !program.blocks.iter().any(is_unread) {
        return None;
    }
    let mut made = Program { blocks: Vec::new(), cases: Vec::new(), advice: Vec::new(), ..program.clone() };
    made.outcomes = vec![
        Outcome { name: "read".to_owned(), class: Class::Pass, label: None },
        Outcome { name: "unread".to_owned(), class: Class::Fail, label: None },
    ];
    for block in &program.blocks {
        match &block.item {
            Item::Unread(topics) => made.blocks.extend(topics.iter().map(|topic| clause(block, *topic))),
            Item::LeavesOut { condition, why, .. } => {
                let item = Item::LeavesOut {
                    word: LeftOutBy::LeavesOut,
                    condition: condition.clone(),
                    outcome: None,
                    why: why.clone(),
                };
                made.blocks.push(Block { item, ..block.clone() });
            }
            Item::Clause(_)
            | Item::GivesWay { .. }
            | Item::Becomes { .. }
            | Item::Consequence(_)
            | Item::NotExpressible { .. }
            | Item::Change { .. }
            | Item::Due { .. }
            | Item::Silent(_) => {}
            _ => made.blocks.push(block.clone()),
        }
    }
    Some(made)
}

fn clause(block: &Block, topic: Topic) -> Block {
    let line = ClauseLine {
        unmet_where: moot(topic).negated(),
        requires: false,
        outcome: 1,
        concerns: Condition::always(),
        message: String::new(),
        basis: Vec::new(),
        under: Vec::new(),
        span: block.origin.span,
    };
    let item = Item::Clause(Clause {
        id: topic.word().to_owned(),
        topic,
        concerns: Condition::always(),
        lines: vec![line],
        gives_way: Vec::new(),
        message: String::new(),
    });
    Block { item, ..block.clone() }
}
