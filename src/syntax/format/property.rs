//! Properties and bullets.

use super::condition::condition;
use super::fact;
use super::item::{code_list, colon};
use super::piece::{Pieces, quoted};
use crate::source::Span;
use crate::syntax::ast::{Allowance, BulletKind, Citation, GivesWayTo, Line, NOTE, Property, PropertyKind, Word};

/// The words of a property that is indented so far; of a bullet without the properties that follow it. Dates in force say
/// so, save where it is said before them.
pub(super) fn pieces(property: &Property, indent: usize, is_in_force: bool) -> Pieces {
    let mut pieces = Pieces::default();
    if is_in_force && matches!(property.kind, PropertyKind::From(_) | PropertyKind::Through(_)) {
        pieces.lead("in force");
    }
    let start = Span { start: property.span.start, end: property.span.start };
    kind(&mut pieces, &property.kind, indent, start);
    pieces
}

fn kind(pieces: &mut Pieces, kind: &PropertyKind, indent: usize, start: Span) {
    match kind {
        PropertyKind::Authority(text) => labelled(pieces, "authority", text),
        PropertyKind::Language(version) => pieces.at(&format!("language {}", version.node), version.span),
        PropertyKind::Standing(word) => named(pieces, "standing", word),
        PropertyKind::From(date) => named(pieces, "from", date),
        PropertyKind::Through(date) => named(pieces, "through", date),
        PropertyKind::Published(date) => named(pieces, "published", date),
        PropertyKind::Draft { of: None } => pieces.at("draft", start),
        PropertyKind::Draft { of: Some(change) } => named(pieces, "draft of", change),
        PropertyKind::InPeriod(period) => named(pieces, "in force during", period),
        PropertyKind::Reviewed { on, against } => {
            named(pieces, "reviewed", on);
            labelled(pieces, "against", against);
        }
        PropertyKind::CouldTurn { could_turn, into, condition: whom } => {
            pieces.lead("could turn");
            pieces.list(could_turn);
            pieces.lead("into");
            pieces.list(into);
            if let Some(whom) = whom {
                pieces.lead("where");
                condition(pieces, whom, indent);
            }
        }
        PropertyKind::EveryOtherGivesWay(clause) => named(pieces, "every other clause gives way to", clause),
        PropertyKind::OnlyIf { name, value, chosen } => {
            let said = if *chosen { "chosen" } else { "read" };
            pieces.at(&format!("only if {} is {said} as {}", name.node, value.node), name.span);
        }
        PropertyKind::Per(citation) => cited(pieces, citation),
        PropertyKind::AdoptedOnly => pieces.at("adopted only", start),
        PropertyKind::Concerns(which) => {
            pieces.lead("concerns");
            condition(pieces, which, indent);
        }
        PropertyKind::Where(which) => {
            pieces.lead("where");
            condition(pieces, which, indent);
        }
        PropertyKind::Message(text) => pieces.text(text),
        PropertyKind::GivesWay(to) => gives_way(pieces, to),
        PropertyKind::OtherGivesWay { from, to } => {
            pieces.lead(&from.node);
            gives_way(pieces, to);
        }
        PropertyKind::Taken { reading, why } => {
            match reading.node.as_str() {
                "none" => pieces.at("left open", reading.span),
                _ => named(pieces, "taken", reading),
            }
            why.iter().for_each(|why| pieces.text(why));
        }
        PropertyKind::Chosen(value) => named(pieces, "chosen", value),
        PropertyKind::With { name, value } => choice(pieces, "with", name, value),
        PropertyKind::Strikes { what, id } => {
            let id = id.as_ref().map(|id| format!(" {}", id.node)).unwrap_or_default();
            pieces.at(&format!("strikes {}{id}", what.node), what.span);
        }
        PropertyKind::TheirIsOur { their, our } => {
            pieces.at(&format!("their {} is our {}", their.node, our.node), their.span);
        }
        PropertyKind::RowsFrom(file) => labelled(pieces, "rows from", file),
        PropertyKind::ObservedBy(observer) => named(pieces, "observed by", observer),
        PropertyKind::Asks(text) => labelled(pieces, "asks", text),
        PropertyKind::Takes { least, most } => {
            let minutes = if most.node == 1 { "minute" } else { "minutes" };
            pieces.at(&format!("takes {} through {} {minutes}", least.node, most.node), least.span);
        }
        PropertyKind::First(text) => labelled(pieces, "first", text),
        PropertyKind::Caution(text) => labelled(pieces, "caution", text),
        PropertyKind::On(date) => named(pieces, "on", date),
        PropertyKind::KnownOn(date) => named(pieces, "known on", date),
        PropertyKind::Take { name, value } => choice(pieces, "take", name, value),
        PropertyKind::Facts(assignments) => {
            pieces.lead("facts");
            fact::assignments(pieces, assignments);
        }
        PropertyKind::Expect { outcomes, by } => {
            pieces.lead("expect");
            for (at, outcome) in outcomes.iter().enumerate() {
                if at > 0 {
                    pieces.lead("or");
                }
                pieces.word(outcome);
            }
            if let Some(by) = by {
                named(pieces, "by", by);
            }
        }
        PropertyKind::Brings { no, kind } => {
            let word = if kind.node == NOTE { "note" } else { &kind.node };
            pieces.at(&format!("{} {word}", if *no { "brings no" } else { "brings" }), kind.span);
        }
        PropertyKind::IsDue { not } => pieces.at(if *not { "is not due" } else { "is due" }, start),
        PropertyKind::Line(of_clause) => line(pieces, of_clause, indent),
        PropertyKind::Bullet(bullet) => {
            pieces.lead("-");
            bullet_kind(pieces, &bullet.kind, indent);
        }
    }
}

fn bullet_kind(pieces: &mut Pieces, kind: &BulletKind, indent: usize) {
    match kind {
        BulletKind::Line(of_clause) => line(pieces, of_clause, indent),
        BulletKind::LimitRow { condition: which, allowance } => {
            condition(pieces, which, indent);
            colon(pieces, which, indent);
            allow(pieces, allowance);
        }
        BulletKind::Areas { names, also, partly } => {
            texts(pieces, names);
            for (keyword, names) in [("also", also), ("overlaps", partly)] {
                if !names.is_empty() {
                    pieces.lead(keyword);
                    texts(pieces, names);
                }
            }
        }
        BulletKind::Reading { id, text } => {
            named(pieces, "reading", id);
            text.iter().for_each(|text| pieces.text(text));
        }
        BulletKind::TableRow { condition: which, excuses, codes } => {
            condition(pieces, which, indent);
            colon(pieces, which, indent);
            if !excuses.is_empty() {
                pieces.lead("excuses");
                pieces.list(excuses);
            }
            if !codes.is_empty() {
                if !excuses.is_empty() {
                    pieces.mark(";");
                }
                pieces.lead("codes");
                code_list(pieces, codes);
            }
        }
    }
}

fn texts(pieces: &mut Pieces, texts: &[Word]) {
    for (at, text) in texts.iter().enumerate() {
        if at > 0 {
            pieces.mark(",");
        }
        pieces.text(text);
    }
}

fn line(pieces: &mut Pieces, line: &Line, indent: usize) {
    if line.requires {
        pieces.lead("requires");
        condition(pieces, &line.condition, indent);
        match line.condition.group {
            Some(_) => pieces.line(indent + 2),
            None => pieces.mark(","),
        }
        named(pieces, "or else", &line.outcome);
    } else {
        pieces.at(&format!("{} where", line.outcome.node), line.outcome.span);
        condition(pieces, &line.condition, indent);
    }
}

fn allow(pieces: &mut Pieces, allowance: &Allowance) {
    match allowance {
        Allowance::Nothing => pieces.words("none incomplete"),
        Allowance::NotRead => pieces.words("number not seen"),
        Allowance::AtLeastComplete(count) => {
            pieces.at(&format!("at least {} complete", count.node), count.span);
        }
        Allowance::AtMost { count, only } => {
            pieces.at(&format!("at most {} incomplete", count.node), count.span);
            if let Some(only) = only {
                pieces.mark(",");
                pieces.lead("only");
                pieces.list(only);
            }
        }
    }
}

/// The source and the place in it stay on one line: a text on the next would be a message.
fn cited(pieces: &mut Pieces, citation: &Citation) {
    pieces.lead("per");
    let locator = citation.locator.as_ref().map(|text| format!(" {}", quoted(&text.node))).unwrap_or_default();
    pieces.at(&format!("{}{locator}", citation.source.node), citation.source.span);
    let dates = [("from", &citation.from), ("through", &citation.through), ("during", &citation.period)];
    let dates: String =
        dates.iter().filter_map(|(word, date)| Some(format!(" {word} {}", date.as_ref()?.node))).collect();
    if let Some(seen) = &citation.seen {
        pieces.mark(",");
        pieces.at(&format!("{}{dates}", seen.node), seen.span);
    } else {
        pieces.mark(&dates);
    }
}

fn gives_way(pieces: &mut Pieces, to: &GivesWayTo) {
    match to {
        GivesWayTo::Clause(clause) => named(pieces, "gives way to", clause),
        GivesWayTo::AnyOutcome(outcome) => named(pieces, "gives way to any", outcome),
    }
}

fn named(pieces: &mut Pieces, keyword: &str, word: &Word) {
    pieces.at(&format!("{keyword} {}", word.node), word.span);
}

fn labelled(pieces: &mut Pieces, keyword: &str, text: &Word) {
    pieces.lead(keyword);
    pieces.text(text);
}

fn choice(pieces: &mut Pieces, keyword: &str, name: &Word, value: &Word) {
    pieces.at(&format!("{keyword} {} {}", name.node, value.node), name.span);
}
