//! Facts set to values.

use super::condition;
use crate::source::Spanned;
use crate::syntax::ast::{Assignment, AssignmentKind};
use crate::syntax::grammar::Rule;
use crate::syntax::node::Node;

/// The facts of the `assignment_list` within.
pub(super) fn assignments(node: &Node<'_>) -> Option<Vec<Assignment>> {
    let list = node.child(Rule::assignment_list)?;
    list.children().filter(|child| child.rule() == Rule::assignment).map(|child| assignment(&child)).collect()
}

/// One fact set.
pub(super) fn assignment(node: &Node<'_>) -> Option<Assignment> {
    Some(Assignment { span: node.span(), kind: kind(&node.first()?)? })
}

fn kind(node: &Node<'_>) -> Option<AssignmentKind> {
    let none = |word: &Node<'_>| word.has(Rule::kw_none);
    Some(match node.rule() {
        Rule::otherwise_ordinary => AssignmentKind::OtherwiseOrdinary,
        Rule::sound_car => AssignmentKind::SoundCar,
        Rule::sound => AssignmentKind::Sound,
        Rule::phrase => AssignmentKind::Phrase(node.phrase()),
        Rule::set_monitors => AssignmentKind::Monitors {
            what: node.word_of(Rule::monitors_kind)?,
            monitors: if none(node) { Vec::new() } else { node.list_of(Rule::monitor_list, Rule::monitor)? },
        },
        Rule::set_codes => AssignmentKind::Codes {
            list: condition::code_kind(node)?,
            codes: node.words_of(Rule::code),
            at_least: node.has(Rule::kw_at_least),
        },
        Rule::no_codes => {
            AssignmentKind::Codes { list: condition::code_kind(node)?, codes: Vec::new(), at_least: false }
        }
        Rule::not_listed => AssignmentKind::NotListed { table: node.word_of(Rule::table_ref)? },
        Rule::set_fact => of_fact(node)?,
        _ => return None,
    })
}

/// One fact set, told by what follows its name.
fn of_fact(node: &Node<'_>) -> Option<AssignmentKind> {
    let subject = node.word_of(Rule::monitor).or_else(|| condition::subject(node))?;
    if node.has(Rule::kw_not_known) {
        return Some(AssignmentKind::NotKnown { subject });
    }
    if node.has(Rule::kw_on_this_vehicle) {
        return Some(AssignmentKind::NotOnVehicle { subject });
    }
    if let Some(amount) = node.child(Rule::amount) {
        let amount = Spanned::new(condition::amount(&amount)?, amount.span());
        return Some(AssignmentKind::Number { subject, amount });
    }
    if let Some(value) = node.text_of() {
        return Some(AssignmentKind::IsText { subject, value });
    }
    Some(AssignmentKind::Is { subject, value: node.word_of(Rule::value)? })
}
