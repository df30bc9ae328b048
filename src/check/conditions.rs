//! Conditions: tests joined, bullets grouped. What a single test means is in `tests_of_facts`.

use super::context::Context;
use super::limits::TESTS;
use crate::program::Condition;
use crate::source::Spanned;
use crate::syntax::ast::{self, Join, Test};

/// Where a condition stands, and so what it may test.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Place {
    /// Anything may be tested.
    Anywhere,
    /// A row of a table describes vehicles, and nothing that is worked out from them.
    TableRow,
}

impl Context {
    /// The condition; parts with errors are left out (the program is then not usable).
    pub(super) fn condition(&mut self, condition: &ast::Condition, place: Place) -> Condition<String> {
        let bullets = condition.group.iter().flat_map(|group| &group.bullets).map(Vec::len).sum::<usize>();
        self.at_most(condition.span, condition.tests.len().saturating_add(bullets), TESTS, "tests in one condition");
        let mut parts = self.tests(&condition.tests, place);
        if let Some(group) = &condition.group {
            let bullets = group.bullets.iter().map(|tests| joined(self.tests(tests, place))).collect();
            parts.push(match group.join {
                Join::Any => Condition::Any(bullets),
                Join::All => Condition::All(bullets),
                Join::None => Condition::Not(Box::new(Condition::Any(bullets))),
                Join::NotAll => Condition::Not(Box::new(Condition::All(bullets))),
            });
        }
        joined(parts)
    }

    /// The condition, or every vehicle where there is none.
    pub(super) fn condition_or_always(&mut self, condition: Option<&ast::Condition>) -> Condition<String> {
        condition.map_or_else(Condition::always, |condition| self.condition(condition, Place::Anywhere))
    }

    fn tests(&mut self, tests: &[Spanned<Test>], place: Place) -> Vec<Condition<String>> {
        let before = std::iter::once(None).chain(tests.iter().map(Some));
        let test = |(before, test)| (!self.state_behind_state(before, test)).then(|| self.test(test, place)).flatten();
        before.zip(tests).filter_map(test).collect()
    }
}

fn joined(parts: Vec<Condition<String>>) -> Condition<String> {
    Condition::every(parts)
}
