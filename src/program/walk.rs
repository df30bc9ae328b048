//! Walks over what a block says: its conditions, and the names it refers by.

use super::block::{Block, Excused, Item};
use super::{Citation, Condition, Dated, FactRef, Test};

impl Block {
    /// Calls `visit` with every citation of the block, those of its lines and rows included.
    pub fn each_citation<'a>(&'a self, visit: &mut impl FnMut(&'a Citation)) {
        self.basis.iter().for_each(&mut *visit);
        match &self.item {
            Item::Clause(clause) => clause.lines.iter().flat_map(|line| &line.basis).for_each(&mut *visit),
            Item::Limit { rows, .. } => rows.iter().flat_map(|row| &row.basis).for_each(&mut *visit),
            _ => {}
        }
    }
}

impl Item {
    /// Calls `visit` with every condition of the block, in order.
    pub fn each_condition<'a>(&'a self, visit: &mut impl FnMut(&'a Condition<String>)) {
        match self {
            Item::Covers(condition)
            | Item::LeavesOut { condition, .. }
            | Item::Due { condition, .. }
            | Item::Excuses { condition, .. }
            | Item::Finding { condition, .. }
            | Item::Becomes { condition, .. }
            | Item::NotExpressible { concerns: condition, .. }
            | Item::Presumes { condition, .. } => visit(condition),
            Item::Consequence(consequence) => visit(&consequence.condition),
            Item::Change { turns, .. } => turns.iter().for_each(|turn| visit(&turn.concerns)),
            Item::Limit { rows, .. } => rows.iter().for_each(|row| visit(&row.condition)),
            Item::Clause(clause) => {
                visit(&clause.concerns);
                for line in &clause.lines {
                    visit(&line.concerns);
                    visit(&line.unmet_where);
                }
            }
            Item::InForce
            | Item::Age { .. }
            | Item::Counts { .. }
            | Item::CodeGroup { .. }
            | Item::Silent(_)
            | Item::Unread(_)
            | Item::GivesWay { .. } => {}
        }
    }

    /// Calls `visit` with everything the block refers to by name, clauses aside: that a clause does not stand on a date is no
    /// mistake of one that gives way to it.
    pub fn each_reference<'a>(&'a self, visit: &mut impl FnMut(Reference<'a>)) {
        self.each_condition(&mut |condition| condition.each_test(&mut |test| references(test, visit)));
        match self {
            Item::Excuses { which: Excused::Table(table), .. } => visit(Reference::Table(table)),
            Item::Presumes { fact: FactRef::Declared(name), .. } => visit(Reference::Fact(name)),
            _ => {}
        }
    }
}

/// A thing referred to by name.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
#[expect(missing_docs, reason = "each is the item of that name, with its id")]
pub enum Reference<'a> {
    Finding(&'a str),
    Limit(&'a str),
    CodeGroup(&'a str),
    Table(&'a str),
    Fact(&'a str),
    /// The counted monitors.
    Counts,
    /// How ages are counted.
    Age,
}

/// Calls `visit` with what the test refers to by name.
pub fn references<'a>(test: &'a Test<String>, visit: &mut impl FnMut(Reference<'a>)) {
    match test {
        Test::Word { fact: FactRef::Declared(name), .. } | Test::Number { fact: FactRef::Declared(name), .. } => {
            visit(Reference::Fact(name));
        }
        Test::Dated(Dated::Age { .. }) => visit(Reference::Age),
        Test::Codes { among: Some(group), .. } => visit(Reference::CodeGroup(group)),
        Test::CodesOfTable { table, .. } | Test::Listed(table) => visit(Reference::Table(table)),
        Test::Count { .. } | Test::NotMoreIncompleteThanEarlier => visit(Reference::Counts),
        Test::Limit { limit, .. } => {
            visit(Reference::Limit(limit));
            visit(Reference::Counts);
        }
        Test::Finding(id) => visit(Reference::Finding(id)),
        _ => {}
    }
}
