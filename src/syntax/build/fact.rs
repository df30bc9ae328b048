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
    let subject = || node.word_of(Rule::monitor).or_else(|| condition::subject(node));
    let none = |word: &Node<'_>| word.has(Rule::kw_none);
    Some(match node.rule() {
        Rule::otherwise_ordinary => AssignmentKind::OtherwiseOrdinary,
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
        Rule::not_known => AssignmentKind::NotKnown { subject: subject()? },
        Rule::not_on_vehicle => AssignmentKind::NotOnVehicle { subject: subject()? },
        Rule::not_listed => AssignmentKind::NotListed { table: node.word_of(Rule::table_ref)? },
        Rule::set_number => {
            let amount = node.child(Rule::amount)?;
            let amount = Spanned::new(condition::amount(&amount)?, amount.span());
            AssignmentKind::Number { subject: subject()?, amount }
        }
        Rule::set_text => AssignmentKind::IsText { subject: subject()?, value: node.text_of()? },
        Rule::set_word => AssignmentKind::Is { subject: subject()?, value: node.word_of(Rule::value)? },
        _ => return None,
    })
}
