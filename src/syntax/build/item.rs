//! The first line of an item.

use super::{condition, fact};
use crate::syntax::ast::{CodePattern, Counted, Excused, FactKind, Interval, Kind, NOTE, OutcomeDeclaration, Word};
use crate::syntax::grammar::Rule;
use crate::syntax::node::Node;

/// What the item is.
pub(super) fn kind(node: &Node<'_>) -> Option<Kind> {
    let id = || node.word_of(Rule::id);
    let text = || node.text_of();
    let where_ = || condition::optional(node);
    Some(match node.rule() {
        Rule::program => Kind::Program { id: id()?, title: text()? },
        Rule::source => source(node)?,
        Rule::in_force => Kind::InForce,
        Rule::outcomes => Kind::Outcomes(node.children().filter_map(|child| outcome(&child)).collect()),
        Rule::age => Kind::Age { plus: node.number_of() },
        Rule::areas => Kind::Areas { state: text() },
        Rule::covers => Kind::Covers(condition::of(node)?),
        Rule::leaves_out => {
            Kind::LeavesOut { condition: condition::of(node)?, outcome: node.word_of(Rule::outcome)?, why: text() }
        }
        Rule::exempts => Kind::Exempts { condition: condition::of(node)?, why: text() },
        Rule::sends => {
            Kind::Sends { outcome: node.word_of(Rule::outcome)?, condition: condition::of(node)?, why: text() }
        }
        Rule::due => Kind::Due {
            every: node.child(Rule::interval).and_then(|it| interval(&it)),
            condition: where_()?,
            why: text(),
        },
        Rule::period => Kind::Period { id: id()? },
        Rule::change => Kind::Change { id: id()?, kind: node.word_of(Rule::change_kind)?, text: text()? },
        Rule::counts => Kind::Counts(counted(node)?),
        Rule::excuses => Kind::Excuses { which: excused(node)?, condition: where_()? },
        Rule::limit => Kind::Limit { id: node.word_of(Rule::limit_ref) },
        Rule::clause => Kind::Clause { id: id()?, topic: node.word_of(Rule::topic)? },
        Rule::finding => Kind::Finding { id: id()?, condition: condition::of(node)? },
        Rule::code_group => Kind::CodeGroup {
            id: id()?,
            codes: node.child(Rule::codes_read).map(|codes| code_list(&codes)).unwrap_or_default(),
            unread: node.child(Rule::codes_unread).map(|codes| code_list(&codes)).unwrap_or_default(),
            all_unread: node.has(Rule::all_unread),
        },
        Rule::silent => Kind::Silent(node.list_of(Rule::topic_list, Rule::topic)?),
        Rule::unread => Kind::Unread(node.list_of(Rule::topic_list, Rule::topic)?),
        Rule::adopts => {
            Kind::Adopts { program: node.word_of(Rule::program_ref)?, as_it_stood_on: node.word_of(Rule::date) }
        }
        Rule::question => Kind::Question { id: id()?, text: text()? },
        Rule::option => Kind::Option { id: id()?, text: text()?, values: node.list_of(Rule::word_list, Rule::value)? },
        Rule::table => Kind::Table { id: id()? },
        Rule::presumes => {
            Kind::Presumes { assignment: fact::assignment(&node.child(Rule::assignment)?)?, condition: where_()? }
        }
        Rule::fact_item => Kind::Fact { name: id()?, kind: fact_kind(node)? },
        Rule::result => Kind::Result { name: id()?, words: node.list_of(Rule::word_list, Rule::value)? },
        Rule::becomes => {
            let mut outcomes = node.words_of(Rule::outcome).into_iter();
            Kind::Becomes { from: outcomes.next()?, to: outcomes.next()?, condition: where_()? }
        }
        Rule::consequence | Rule::note => Kind::Consequence {
            kind: consequence(node)?,
            after: node.word_of(Rule::outcome)?,
            by: node.word_of(Rule::clause_ref),
            alone: node.child(Rule::kw_alone).map(|word| word.span()),
            condition: where_()?,
            text: text()?,
        },
        Rule::not_expressible => {
            let mut turned = node.children().filter(|child| child.rule() == Rule::turned);
            Kind::NotExpressible {
                text: text()?,
                could_turn: turned.next()?.words_of(Rule::outcome),
                into: turned.next()?.words_of(Rule::outcome),
                condition: where_()?,
            }
        }
        Rule::advice => Kind::Advice { monitors: node.list_of(Rule::monitor_list, Rule::monitor)? },
        Rule::ordinary => Kind::Ordinary(fact::assignments(node)?),
        Rule::case => Kind::Case { title: text()? },
        Rule::acknowledges => Kind::Acknowledges {
            code: node.word_of(Rule::finding_code)?,
            subject: node.child(Rule::acknowledged).and_then(|subject| acknowledged(&subject)),
            reason: text()?,
        },
        _ => return None,
    })
}

/// The kind of a consequence; a note is one of kind `record`.
pub(super) fn consequence(node: &Node<'_>) -> Option<Word> {
    match node.child(Rule::kw_note) {
        Some(word) => Some(Word::new(NOTE.to_owned(), word.span())),
        None => node.word_of(Rule::consequence_kind),
    }
}

fn source(node: &Node<'_>) -> Option<Kind> {
    Some(Kind::Source {
        id: node.word_of(Rule::id)?,
        title: node.text_of()?,
        kind: node.word_of(Rule::source_kind)?,
        seen: node.word_of(Rule::seen),
        on: node.word_of(Rule::date),
        currency: node.word_of(Rule::currency),
        at: node.child(Rule::address).and_then(|address| address.text_of()),
    })
}

fn interval(node: &Node<'_>) -> Option<Interval> {
    let mut unit = node.word_of(Rule::interval_unit)?;
    if !unit.node.ends_with('s') {
        unit.node.push('s');
    }
    Some(Interval { count: node.number_of()?, unit })
}

fn outcome(node: &Node<'_>) -> Option<OutcomeDeclaration> {
    Some(OutcomeDeclaration {
        name: node.word_of(Rule::outcome)?,
        class: node.word_of(Rule::class),
        label: node.text_of(),
    })
}

fn counted(node: &Node<'_>) -> Option<Counted> {
    node.children().find_map(|child| match child.rule() {
        Rule::counts_unsupported => Some(Counted::NotContinuousUnsupportedIncomplete),
        Rule::counts_among => child.list_of(Rule::monitor_list, Rule::monitor).map(Counted::Among),
        Rule::counts_not_continuous => Some(Counted::SupportedNotContinuous),
        Rule::counts_supported => Some(Counted::Supported),
        _ => None,
    })
}

fn excused(node: &Node<'_>) -> Option<Excused> {
    node.children().find_map(|child| match child.rule() {
        Rule::excused_earlier => Some(Excused::EarlierIncomplete),
        Rule::excused_by_table => child.word_of(Rule::table_ref).map(Excused::Table),
        Rule::monitor_list => Some(Excused::Monitors(child.words_of(Rule::monitor))),
        _ => None,
    })
}

fn fact_kind(node: &Node<'_>) -> Option<FactKind> {
    node.children().find_map(|child| match child.rule() {
        Rule::yes_or_no => Some(FactKind::YesNo),
        Rule::number_range => {
            let (least, most) = child.two_numbers()?;
            Some(FactKind::Number { least, most, unit: child.child(Rule::unit).map(|unit| condition::unit(&unit)) })
        }
        Rule::word_list => Some(FactKind::Words(child.words_of(Rule::value))),
        _ => None,
    })
}

fn acknowledged(node: &Node<'_>) -> Option<Word> {
    node.text_of().or_else(|| node.word_of(Rule::name))
}

/// The codes of the `code_list` within.
pub(super) fn code_list(node: &Node<'_>) -> Vec<CodePattern> {
    let patterns = node.child(Rule::code_list);
    patterns.iter().flat_map(Node::children).filter_map(|pattern| code_pattern(&pattern)).collect()
}

fn code_pattern(node: &Node<'_>) -> Option<CodePattern> {
    let mut codes = node.words_of(Rule::code).into_iter();
    let digits_only = match (node.has(Rule::kw_digits_only), node.has(Rule::kw_with_letters)) {
        (true, _) => Some(true),
        (false, true) => Some(false),
        (false, false) => None,
    };
    let (first, last): (Word, Option<Word>) = (codes.next()?, codes.next());
    Some(CodePattern { span: node.span(), first, last, digits_only })
}
