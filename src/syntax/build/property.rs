//! Properties and bullets.

use super::{condition, fact, item};
use crate::syntax::ast::{Allowance, Bullet, BulletKind, Citation, GivesWayTo, Line, PropertyKind, Word};
use crate::syntax::grammar::Rule;
use crate::syntax::node::Node;

/// What the property says.
pub(super) fn kind(node: &Node<'_>) -> Option<PropertyKind> {
    let text = || node.text_of();
    let date = || node.word_of(Rule::date);
    let choice = || Some((node.word_of(Rule::choice)?, node.word_of(Rule::chosen_word)?));
    let chosen = node.has(Rule::kw_is_chosen_as);
    Some(match node.rule() {
        Rule::per => PropertyKind::Per(citation(&node.child(Rule::citation)?)?),
        Rule::message => PropertyKind::Message(text()?),
        Rule::property_from => PropertyKind::From(date()?),
        Rule::property_through => PropertyKind::Through(date()?),
        Rule::published => PropertyKind::Published(date()?),
        Rule::draft => PropertyKind::Draft { of: node.word_of(Rule::change_ref) },
        Rule::in_period => PropertyKind::InPeriod(node.word_of(Rule::period_ref)?),
        Rule::reviewed => PropertyKind::Reviewed { on: date()?, against: text()? },
        Rule::could_turn => {
            let (mut sides, words) =
                (node.children().filter(|child| child.rule() == Rule::turned), |side: &Node<'_>| {
                    side.words_of(Rule::outcome)
                });
            PropertyKind::CouldTurn {
                could_turn: words(&sides.next()?),
                into: words(&sides.next()?),
                condition: condition::optional(node)?,
            }
        }
        Rule::every_other_gives_way => PropertyKind::EveryOtherGivesWay(node.word_of(Rule::clause_ref)?),
        Rule::under => choice().map(|(name, value)| PropertyKind::OnlyIf { name, value, chosen })?,
        Rule::authority => PropertyKind::Authority(text()?),
        Rule::language => PropertyKind::Language(node.number_of()?),
        Rule::standing => PropertyKind::Standing(node.word_of(Rule::standing_word)?),
        Rule::adopted_only => PropertyKind::AdoptedOnly,
        Rule::concerns => PropertyKind::Concerns(condition::of(node)?),
        Rule::property_where => PropertyKind::Where(condition::of(node)?),
        Rule::gives_way => PropertyKind::GivesWay(gives_way(node)?),
        Rule::other_gives_way => {
            PropertyKind::OtherGivesWay { from: node.word_of(Rule::way_giver)?, to: gives_way(node)? }
        }
        Rule::taken => PropertyKind::Taken { reading: taken(node)?, why: text() },
        Rule::chosen => PropertyKind::Chosen(node.word_of(Rule::chosen_word)?),
        Rule::with => choice().map(|(name, value)| PropertyKind::With { name, value })?,
        Rule::strikes => strikes(&node.children().find(|child| child.rule() != Rule::kw_strikes)?)?,
        Rule::their_is_our => {
            let mut outcomes = node.words_of(Rule::outcome).into_iter();
            PropertyKind::TheirIsOur { their: outcomes.next()?, our: outcomes.next()? }
        }
        Rule::rows_from => PropertyKind::RowsFrom(text()?),
        Rule::observed_by => PropertyKind::ObservedBy(node.word_of(Rule::observer)?),
        Rule::asks => PropertyKind::Asks(text()?),
        Rule::takes => {
            let (least, most) = node.two_numbers()?;
            PropertyKind::Takes { least, most }
        }
        Rule::first => PropertyKind::First(text()?),
        Rule::caution => PropertyKind::Caution(text()?),
        Rule::property_on => PropertyKind::On(date()?),
        Rule::known_on => PropertyKind::KnownOn(date()?),
        Rule::take => choice().map(|(name, value)| PropertyKind::Take { name, value })?,
        Rule::facts => PropertyKind::Facts(fact::assignments(node)?),
        Rule::expect => {
            PropertyKind::Expect { outcomes: node.words_of(Rule::outcome), by: node.word_of(Rule::clause_ref) }
        }
        Rule::brings => PropertyKind::Brings { no: node.has(Rule::kw_no), kind: item::consequence(node)? },
        Rule::is_due => PropertyKind::IsDue { not: node.has(Rule::kw_is_not_due) },
        Rule::line => PropertyKind::Line(line(node)?),
        _ => return None,
    })
}

/// What the bullet says, without the properties that follow it.
pub(super) fn bullet(node: &Node<'_>) -> Option<Bullet> {
    let said = node.children().find(|child| child.rule() != Rule::dash)?;
    let kind = match said.rule() {
        Rule::area_row => areas(&said),
        Rule::reading => BulletKind::Reading { id: said.word_of(Rule::id)?, text: said.text_of() },
        Rule::line => BulletKind::Line(line(&said)?),
        Rule::row => row(&said)?,
        _ => return None,
    };
    Some(Bullet { kind, properties: Vec::new() })
}

fn areas(node: &Node<'_>) -> BulletKind {
    let texts = |node: &Node<'_>| -> Vec<Word> {
        node.children().filter(|child| child.rule() == Rule::text).map(|child| child.unquoted()).collect()
    };
    let of = |rule: Rule| node.child(rule).map(|list| texts(&list)).unwrap_or_default();
    BulletKind::Areas { names: texts(node), also: of(Rule::area_also), partly: of(Rule::area_partly) }
}

fn citation(node: &Node<'_>) -> Option<Citation> {
    let date = |rule: Rule| node.child(rule).and_then(|side| side.word_of(Rule::date));
    Some(Citation {
        source: node.word_of(Rule::source_ref)?,
        locator: node.text_of(),
        seen: node.word_of(Rule::seen),
        from: date(Rule::cited_from),
        through: date(Rule::cited_through),
        period: node.child(Rule::cited_in).and_then(|period| period.word_of(Rule::period_ref)),
    })
}

fn gives_way(node: &Node<'_>) -> Option<GivesWayTo> {
    node.children().find_map(|child| match child.rule() {
        Rule::any_outcome => child.word_of(Rule::outcome).map(GivesWayTo::AnyOutcome),
        Rule::clause_ref => Some(GivesWayTo::Clause(child.word())),
        _ => None,
    })
}

/// The reading that is taken; `none` where the question is left open.
fn taken(node: &Node<'_>) -> Option<Word> {
    match node.child(Rule::kw_left_open) {
        Some(words) => Some(Word::new("none".to_owned(), words.span())),
        None => node.word_of(Rule::reading_ref),
    }
}

fn strikes(node: &Node<'_>) -> Option<PropertyKind> {
    let mut parts = node.children();
    let said = parts.next()?;
    let mut what: Word = said.word();
    match said.rule() {
        Rule::kw_text_not_seen_on | Rule::kw_unread_on => what.node = "no rule applied on".to_owned(),
        Rule::kw_silent_on => what.node = "text silent on".to_owned(),
        _ => {}
    }
    let id = parts.next().map(|part| part.word());
    Some(PropertyKind::Strikes { what, id })
}

fn line(node: &Node<'_>) -> Option<Line> {
    let outcome = node.word_of(Rule::line_outcome).or_else(|| node.word_of(Rule::outcome))?;
    Some(Line { outcome, condition: condition::of(node)?, requires: node.has(Rule::kw_requires) })
}

fn row(node: &Node<'_>) -> Option<BulletKind> {
    let condition = condition::of(node)?;
    let allowance = node.children().find_map(|child| match child.rule() {
        Rule::allows_none => Some(Allowance::Nothing),
        Rule::allows_unread => Some(Allowance::NotRead),
        Rule::allows_at_least => child.number_of().map(Allowance::AtLeastComplete),
        Rule::allows_at_most => {
            let only = child.list_of(Rule::monitor_list, Rule::monitor);
            child.number_of().map(|count| Allowance::AtMost { count, only })
        }
        _ => None,
    });
    Some(match allowance {
        Some(allowance) => BulletKind::LimitRow { condition, allowance },
        None => BulletKind::TableRow {
            condition,
            excuses: node
                .child(Rule::row_excuses)
                .and_then(|list| list.list_of(Rule::monitor_list, Rule::monitor))
                .unwrap_or_default(),
            codes: node.child(Rule::row_codes).map(|list| item::code_list(&list)).unwrap_or_default(),
        },
    })
}
