//! Clauses that turn on something a vehicle may be without, and do not say how its absence counts. Every test of an
//! absent fact is false, which is seldom what a text means by *no permanent code*.

use super::own;
use crate::diagnostic::Diagnostic;
use crate::model::{Fact, spec};
use crate::program::{Condition, FactRef, How, Item, Program, Test};
use std::collections::BTreeSet;

pub(super) fn lint(program: &Program, found: &mut Vec<Diagnostic>) {
    for block in own(program) {
        let Item::Clause(clause) = &block.item else { continue };
        let mut seen = Seen { program, tested: BTreeSet::new(), said: BTreeSet::new(), names: BTreeSet::new() };
        seen.condition(&clause.concerns, false);
        for line in &clause.lines {
            seen.condition(&line.concerns, false);
            seen.condition(&line.unmet_where, false);
        }
        for fact in seen.tested.difference(&seen.said) {
            let name = spec(*fact).name;
            let message = format!("clause `{}` turns on `{name}` and does not say how its absence counts", clause.id);
            let diagnostic = Diagnostic::warning("check/absence-not-said", block.origin.span, message);
            let help = format!(
                "every test of an absent fact is false: say `{name} on this vehicle` or `{name} not on this vehicle` \
                 where that matters, or acknowledge this with the reason"
            );
            found.push(diagnostic.help(help).about(&clause.id));
        }
    }
}

/// Facts of this kind that can be absent; a lamp that is not there is looked at, not read.
fn may_be_absent(fact: Fact) -> bool {
    let key = spec(fact).key;
    spec(fact).may_be_absent && (key.starts_with("codes.") || key.starts_with("since_"))
}

struct Seen<'a> {
    program: &'a Program,
    tested: BTreeSet<Fact>,
    said: BTreeSet<Fact>,
    /// Findings looked at, and whether turned round.
    names: BTreeSet<(&'a str, bool)>,
}

impl<'a> Seen<'a> {
    /// Looks at a condition that stands as it is written, or turned round.
    fn condition(&mut self, condition: &'a Condition<String>, turned: bool) {
        match condition {
            Condition::All(parts) | Condition::Any(parts) => {
                parts.iter().for_each(|part| self.condition(part, turned));
            }
            Condition::Not(inner) => self.condition(inner, !turned),
            Condition::Test(test) => self.test(test, turned),
        }
    }

    fn test(&mut self, test: &'a Test<String>, turned: bool) {
        match test {
            Test::Number { fact: FactRef::Known(fact), .. } if may_be_absent(*fact) => {
                self.tested.insert(*fact);
            }
            // Of a list that is not there, no code stands: `any` is as false as of a list without one.
            Test::Codes { list, how, .. } | Test::CodesOfTable { list, how, .. }
                if may_be_absent(*list) && (turned || *how != How::Any) =>
            {
                self.tested.insert(*list);
            }
            Test::Present { fact, .. } => {
                self.said.insert(*fact);
            }
            Test::Finding(id) if self.names.insert((id, turned)) => {
                for block in &self.program.blocks {
                    if let Item::Finding { id: known, condition } = &block.item
                        && known == id
                    {
                        self.condition(condition, turned);
                    }
                }
            }
            _ => {}
        }
    }
}
