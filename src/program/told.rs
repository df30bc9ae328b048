//! Whether a condition that asks single facts holds of what is given: that of a presumption, or of a table's row. Each fact is
//! taken by itself; nothing that the engines work out is looked at.

use super::{Condition, Given, Refer, Test};
use crate::model::Fact;
use crate::model::facts::{ABSENT, Possible};

/// Whether a test can stand in the condition of a presumption: it asks one fact, or the date of the visit.
#[must_use]
pub fn may_condition_a_presumption<R: Refer>(test: &Test<R>) -> bool {
    match test {
        Test::Word { .. }
        | Test::Number { .. }
        | Test::Text { .. }
        | Test::Dated(_)
        | Test::ModelYearIsEven(_)
        | Test::Present { .. } => true,
        Test::Codes { .. }
        | Test::CodesOfTable { .. }
        | Test::Count { .. }
        | Test::CountOf { .. }
        | Test::Pair { .. }
        | Test::NotMoreIncompleteThanEarlier
        | Test::Limit { .. }
        | Test::Finding(_)
        | Test::Listed(_)
        | Test::Reading { .. } => false,
    }
}

impl Given {
    /// Whether the condition of a presumption or of a table's row holds, each fact by itself; `None` where what is known does
    /// not tell. Other tests than those of [`may_condition_a_presumption`] are not told.
    pub(super) fn holds(&self, condition: &Condition<usize>) -> Option<bool> {
        match condition {
            Condition::All(parts) => {
                let truths: Vec<_> = parts.iter().map(|part| self.holds(part)).collect();
                match truths.contains(&Some(false)) {
                    true => Some(false),
                    false => (!truths.contains(&None)).then_some(true),
                }
            }
            Condition::Any(parts) => {
                let truths: Vec<_> = parts.iter().map(|part| self.holds(part)).collect();
                match truths.contains(&Some(true)) {
                    true => Some(true),
                    false => (!truths.contains(&None)).then_some(false),
                }
            }
            Condition::Not(inner) => self.holds(inner).map(|holds| !holds),
            Condition::Test(test) => self.tells(test),
        }
    }

    fn tells(&self, test: &Test<usize>) -> Option<bool> {
        let year = |even: bool| match self.facts.get(Fact::ModelYear) {
            Possible::Number(span) if span.least == span.most && !span.may_be_absent => {
                Some((span.least.rem_euclid(2) == 0) == even)
            }
            _ => None,
        };
        match test {
            Test::Word { fact, words } => match self.possible(fact)? {
                Possible::Words(mask) if mask & words & !ABSENT == 0 => Some(false),
                Possible::Words(mask) if mask & !(words & !ABSENT) == 0 => Some(true),
                _ => None,
            },
            Test::Number { fact, least, most } => match self.possible(fact)? {
                Possible::Number(span) => span.is_within(*least, *most),
                _ => None,
            },
            Test::Text { fact, among, is } => match self.facts.get(*fact) {
                Possible::Text(Some(text)) => Some(among.contains(text) == *is),
                Possible::Text(None) if among.is_empty() => Some(!is),
                _ => None,
            },
            Test::ModelYearIsEven(even) => year(*even),
            Test::Present { fact, is } => {
                let (may_be, may_be_absent) = match self.facts.get(*fact) {
                    Possible::Words(mask) => (mask & !ABSENT != 0, mask & ABSENT != 0),
                    Possible::Number(span) => (!span.has_no_value(), span.may_be_absent),
                    Possible::Codes { may_be_absent, may_be_present, .. } => (*may_be_present, *may_be_absent),
                    Possible::Text(_) | Possible::Monitors { .. } => (true, false),
                };
                (may_be != may_be_absent).then_some(may_be == *is)
            }
            // The others cannot stand here.
            _ => None,
        }
    }
}
