//! Conditions and tests.

use crate::model::Unit;
use crate::source::Spanned;
use crate::syntax::ast::{Amount, Bounds, Condition, Group, HowMany, Join, State, Test, Word};
use crate::syntax::grammar::Rule;
use crate::syntax::node::Node;

/// The condition among the children, where there must be one.
pub(super) fn of(node: &Node<'_>) -> Option<Condition> {
    optional(node)?
}

/// The condition among the children, if there is one; the outer `None` is a pair that lacks what it must have.
pub(super) fn optional(node: &Node<'_>) -> Option<Option<Condition>> {
    let found = node.children().find(|child| matches!(child.rule(), Rule::condition | Rule::group_condition));
    match found {
        Some(found) => condition(&found).map(Some),
        None => Some(None),
    }
}

fn condition(node: &Node<'_>) -> Option<Condition> {
    let group = match node.child(Rule::group) {
        Some(found) => Some(group(&found)?),
        None => None,
    };
    Some(Condition { span: node.span(), tests: tests(node)?, group })
}

fn group(node: &Node<'_>) -> Option<Group> {
    let join = node.children().find_map(|child| match child.rule() {
        Rule::kw_any_of => Some(Join::Any),
        Rule::kw_all_of => Some(Join::All),
        Rule::kw_none_of => Some(Join::None),
        Rule::kw_not_all_of => Some(Join::NotAll),
        _ => None,
    })?;
    let bullets = node.children().filter(|child| matches!(child.rule(), Rule::group_bullet | Rule::inner_bullet));
    let bullets = bullets.map(|bullet| tests(&bullet.child(Rule::group_tests)?)).collect::<Option<Vec<_>>>()?;
    Some(Group { span: node.span(), join, bullets })
}

fn tests(node: &Node<'_>) -> Option<Vec<Spanned<Test>>> {
    let tests = node.children().filter(|child| child.rule() == Rule::test);
    tests.map(|child| Some(Spanned::new(test(&child.first()?)?, child.span()))).collect()
}

fn test(node: &Node<'_>) -> Option<Test> {
    let not = node.has(Rule::kw_not);
    Some(match node.rule() {
        Rule::every_vehicle => Test::EveryVehicle,
        Rule::declared_area => Test::DeclaredArea { not },
        Rule::same_parity => Test::SameParity(node.has(Rule::kw_same_parity)),
        Rule::parity => Test::Parity { of_test_year: node.has(Rule::kw_test_year), even: node.has(Rule::kw_even) },
        Rule::no_more_than_earlier => Test::NoMoreThanEarlier,
        Rule::counted_test => Test::Counted { how_many: how_many(node)?, state: state(node)? },
        Rule::count_of => Test::CountOf {
            how_many: how_many(node)?,
            monitors: node.list_of(Rule::monitor_list, Rule::monitor)?,
            state: state(node)?,
        },
        Rule::pair => Test::Pair {
            how_many: how_many(node)?,
            lit_the_lamp: node.has(Rule::kw_monitor_that_lit),
            state: state(node)?,
        },
        Rule::codes_test => Test::Codes {
            how: node.first()?.word(),
            list: code_kind(node)?,
            among: node.word_of(Rule::code_group_ref),
            on_the_list_of: node.word_of(Rule::table_ref),
        },
        Rule::limit_test => {
            let within = node.has(Rule::kw_not_too_many) || node.has(Rule::kw_within_the_limit);
            Test::Limit { within, id: node.word_of(Rule::limit_ref) }
        }
        Rule::listed => Test::Listed { not, table: node.word_of(Rule::table_ref)? },
        Rule::phrase => Test::Phrase(node.phrase()),
        Rule::monitor_test => Test::Monitor { monitor: node.word_of(Rule::monitor)?, state: state(node)? },
        Rule::subject_test => of_subject(node, not)?,
        Rule::finding_test => Test::Finding { not, name: node.word_of(Rule::plain_finding)? },
        _ => return None,
    })
}

/// A test of one fact, told by what follows its name.
fn of_subject(node: &Node<'_>, not: bool) -> Option<Test> {
    let subject = subject(node)?;
    if node.has(Rule::kw_on_this_vehicle) {
        return Some(Test::Present { subject, not });
    }
    // A state of a monitor is asked of a name that is none: the check says so, and suggests one.
    if node.has(Rule::long_state) {
        return Some(Test::Monitor { monitor: subject, state: state(node)? });
    }
    if let Some(found) = node.child(Rule::bounds) {
        return Some(Test::Number { subject, bounds: bounds(&found.first()?)? });
    }
    if node.has(Rule::text) {
        let texts = node.children().filter(|child| child.rule() == Rule::text);
        return Some(Test::IsText { subject, not, values: texts.map(|text| text.unquoted()).collect() });
    }
    Some(Test::Is { subject, not, values: node.words_of(Rule::value) })
}

/// The fact that is set or tested.
pub(super) fn subject(node: &Node<'_>) -> Option<Word> {
    node.word_of(Rule::fact).or_else(|| node.word_of(Rule::plain_subject))
}

/// The list of codes, in the singular, as the table of facts names it.
pub(super) fn code_kind(node: &Node<'_>) -> Option<Word> {
    let mut word = node.word_of(Rule::code_kind)?;
    word.node = word.node.strip_suffix("codes").map_or(word.node.clone(), |rest| format!("{rest}code"));
    Some(word)
}

/// A unit by its usual word, `hours` where `hour` is written.
pub(super) fn unit(node: &Node<'_>) -> Word {
    let mut word = node.word();
    if let Some(unit) = Unit::named(&word.node) {
        word.node = unit.word().to_owned();
    }
    word
}

fn how_many(node: &Node<'_>) -> Option<HowMany> {
    node.children().find_map(|child| match child.rule() {
        Rule::at_least_count => child.number_of().map(HowMany::AtLeast),
        Rule::at_most_count => child.number_of().map(HowMany::AtMost),
        Rule::exactly_count => child.number_of().map(HowMany::Exactly),
        Rule::kw_every | Rule::kw_every_one_of => Some(HowMany::Every),
        Rule::kw_no | Rule::kw_not_one_of => Some(HowMany::No),
        Rule::kw_any | Rule::kw_any_one_of => Some(HowMany::Any),
        _ => None,
    })
}

fn state(node: &Node<'_>) -> Option<Spanned<State>> {
    let word = node.children().find(|child| matches!(child.rule(), Rule::state | Rule::long_state))?;
    let state = match word.phrase().as_str() {
        "incomplete" => State::Incomplete,
        "supported and complete" => State::SupportedAndComplete,
        "complete wherever supported" => State::CompleteWhereverSupported,
        "supported" => State::Supported,
        "unsupported" => State::Unsupported,
        "complete" => State::BareComplete,
        _ => return None,
    };
    Some(Spanned::new(state, word.span()))
}

fn bounds(node: &Node<'_>) -> Option<Bounds> {
    let mut amounts = node.children().filter(|child| child.rule() == Rule::amount);
    let mut next = || amounts.next().and_then(|found| Some(Spanned::new(amount(&found)?, found.span())));
    Some(match node.rule() {
        Rule::at_least => Bounds::AtLeast(next()?),
        Rule::at_most => Bounds::AtMost(next()?),
        Rule::above => Bounds::Above(next()?),
        Rule::below => Bounds::Below(next()?),
        Rule::through => Bounds::Through(next()?, next()?),
        Rule::or_later => Bounds::OrLater(next()?),
        Rule::or_earlier => Bounds::OrEarlier(next()?),
        Rule::exact => Bounds::Is(next()?),
        _ => return None,
    })
}

/// A number with its unit, or a date.
pub(super) fn amount(node: &Node<'_>) -> Option<Amount> {
    if let Some(date) = node.word_of(Rule::date) {
        return Some(Amount::Date(date.node));
    }
    Some(Amount::Number { number: node.number_of()?.node, unit: node.child(Rule::unit).map(|found| unit(&found)) })
}
