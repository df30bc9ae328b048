//! The first lines of items.

use super::condition::{bullets, condition, group_begins, unit_word};
use super::fact;
use super::piece::{Pieces, quoted};
use crate::source::Span;
use crate::syntax::ast::{
    CodePattern, Condition, Counted, Excused, FactKind, Item, Kind, NOTE, OutcomeDeclaration, Word,
};

/// The first line of an item, without its properties.
pub(super) fn head(item: &Item) -> Pieces {
    let mut pieces = Pieces::default();
    if item.replaces.is_some() {
        pieces.lead("replaces");
    }
    kind(&mut pieces, &item.kind, Span { start: item.span.start, end: item.span.start });
    pieces
}

fn kind(pieces: &mut Pieces, kind: &Kind, start: Span) {
    match kind {
        Kind::Program { id, title } => {
            pieces.at(&format!("program {}", id.node), start.to(id.span));
            pieces.text(title);
        }
        Kind::Source { id, title, kind, seen, on, currency, at } => {
            pieces.at(&format!("source {}", id.node), start.to(id.span));
            pieces.text(title);
            pieces.word(kind);
            if let Some(seen) = seen {
                pieces.mark(",");
                let on = on.as_ref().map(|on| format!(" {}", on.node)).unwrap_or_default();
                pieces.at(&format!("{}{on}", seen.node), seen.span);
            }
            if let Some(currency) = currency {
                pieces.mark(",");
                pieces.word(currency);
            }
            if let Some(at) = at {
                pieces.mark(",");
                pieces.lead("at");
                pieces.text(at);
            }
        }
        Kind::InForce => pieces.at("in force", start),
        Kind::Outcomes(outcomes) => {
            pieces.at("outcomes", start);
            for (at, one) in outcomes.iter().enumerate() {
                if at > 0 {
                    pieces.mark(",");
                }
                outcome(pieces, one);
            }
        }
        Kind::Age { plus } => {
            pieces.at("age is test year less model year", start);
            if let Some(plus) = plus {
                pieces.at(&format!("plus {}", plus.node), plus.span);
            }
        }
        Kind::Areas { state } => {
            pieces.at("areas", start);
            if let Some(state) = state {
                pieces.lead("of");
                pieces.text(state);
            }
        }
        Kind::Covers(which) => {
            pieces.at("covers where", start);
            condition(pieces, which, 0);
        }
        Kind::LeavesOut { condition: which, outcome, why } => {
            pieces.at("leaves out where", start);
            condition(pieces, which, 0);
            colon(pieces, which, 0);
            pieces.word(outcome);
            why.iter().for_each(|why| pieces.text(why));
        }
        Kind::Exempts { condition: which, why } => {
            pieces.at("exempts where", start);
            condition(pieces, which, 0);
            why.iter().for_each(|why| after_group(pieces, why));
        }
        Kind::Sends { outcome, condition: which, why } => {
            pieces.at(&format!("sends to {}", outcome.node), start.to(outcome.span));
            pieces.lead("where");
            condition(pieces, which, 0);
            why.iter().for_each(|why| after_group(pieces, why));
        }
        Kind::Period { id } => pieces.at(&format!("period {}", id.node), start.to(id.span)),
        Kind::Change { id, kind, text } => {
            pieces.at(&format!("change {} {}, not in this file", id.node, kind.node), start.to(kind.span));
            pieces.text(text);
        }
        Kind::Due { every, condition: which, why } => {
            pieces.at("due", start);
            if let Some(every) = every {
                let one = every.count.node == 1;
                let unit = match (every.unit.node.starts_with("year"), one) {
                    (true, true) => "year",
                    (true, false) => "years",
                    (false, true) => "month",
                    (false, false) => "months",
                };
                pieces.at(&format!("every {} {unit}", every.count.node), every.count.span.to(every.unit.span));
            }
            optional(pieces, which.as_ref());
            why.iter().for_each(|why| after_group(pieces, why));
        }
        Kind::Counts(what) => {
            pieces.at("counts", start);
            counted(pieces, what);
        }
        Kind::Excuses { which, condition: whom } => {
            pieces.at("excuses", start);
            excused(pieces, which);
            optional(pieces, whom.as_ref());
        }
        Kind::Limit { id } => {
            let id = id.as_ref().map(|id| format!(" {}", id.node)).unwrap_or_default();
            pieces.at(&format!("limit{id}"), start);
        }
        Kind::Clause { id, topic } => {
            pieces.at(&format!("clause {}", id.node), start.to(id.span));
            pieces.at(&format!("on {}", topic.node), topic.span);
        }
        Kind::Finding { id, condition: which } => finding(pieces, id, which, start),
        Kind::CodeGroup { id, codes, unread, all_unread } => {
            pieces.at(&format!("code group {}:", id.node), start.to(id.span));
            code_list(pieces, codes);
            if !codes.is_empty() && !unread.is_empty() {
                pieces.mark(";");
            }
            if *all_unread {
                pieces.words("text not seen");
            } else if !unread.is_empty() {
                pieces.lead("text not seen on");
                code_list(pieces, unread);
            }
        }
        Kind::Silent(topics) => {
            pieces.at("text silent on", start);
            pieces.list(topics);
        }
        Kind::Unread(topics) => {
            pieces.at("no rule applied on", start);
            pieces.list(topics);
            pieces.mark(",");
            pieces.words("text not seen");
        }
        Kind::Adopts { program, as_it_stood_on } => {
            pieces.at(&format!("adopts {}", program.node), start.to(program.span));
            match as_it_stood_on {
                Some(date) => pieces.at(&format!("as it stood on {}", date.node), date.span),
                None => pieces.words("as amended"),
            }
        }
        Kind::Question { id, text } => {
            pieces.at(&format!("question {}", id.node), start.to(id.span));
            pieces.text(text);
        }
        Kind::Option { id, text, values } => {
            pieces.at(&format!("option {}", id.node), start.to(id.span));
            pieces.text(text);
            pieces.mark(":");
            pieces.list(values);
        }
        Kind::Table { id } => pieces.at(&format!("table {}", id.node), start.to(id.span)),
        Kind::Presumes { assignment, condition: which } => {
            pieces.at("presumes", start);
            fact::assignment(pieces, assignment);
            pieces.words("where not known");
            if let Some(which) = which {
                pieces.lead("and");
                condition(pieces, which, 0);
            }
        }
        Kind::Fact { name, kind } => {
            pieces.at(&format!("fact {}:", name.node), start.to(name.span));
            fact_kind(pieces, kind);
        }
        Kind::Result { name, words } => {
            pieces.at(&format!("result {}:", name.node), start.to(name.span));
            pieces.list(words);
        }
        Kind::Becomes { from, to, condition: whom } => {
            pieces.at(&format!("outcome {}", from.node), start.to(from.span));
            pieces.at(&format!("becomes {}", to.node), to.span);
            optional(pieces, whom.as_ref());
        }
        Kind::Consequence { kind, after, by, alone, condition: whom, text } => {
            let words = if kind.node == NOTE { "note".to_owned() } else { format!("consequence {}", kind.node) };
            pieces.at(&words, start.to(kind.span));
            pieces.at(&format!("after {}", after.node), after.span);
            if let Some(by) = by {
                pieces.at(&format!("by {}", by.node), by.span);
            }
            if let Some(alone) = alone {
                pieces.at("alone", *alone);
            }
            optional(pieces, whom.as_ref());
            after_group(pieces, text);
        }
        Kind::NotExpressible { text, could_turn, into, condition: whom } => {
            pieces.at("not expressible here", start);
            pieces.text(text);
            pieces.lead("could turn");
            pieces.list(could_turn);
            pieces.lead("into");
            pieces.list(into);
            optional(pieces, whom.as_ref());
        }
        Kind::Advice { monitors } => {
            pieces.at("advice on", start);
            pieces.list(monitors);
        }
        Kind::Ordinary(assignments) => {
            pieces.lead("ordinary");
            fact::assignments(pieces, assignments);
        }
        Kind::Case { title } => {
            pieces.lead("case");
            pieces.text(title);
        }
        Kind::Acknowledges { code, subject, reason } => {
            pieces.at(&format!("acknowledges {}", code.node), start.to(code.span));
            if let Some(subject) = subject {
                let words = if is_name(&subject.node) { subject.node.clone() } else { quoted(&subject.node) };
                pieces.at(&format!("of {words}"), subject.span);
            }
            pieces.text(reason);
        }
    }
}

/// A colon after a condition; on a line of its own after bullets, so that it is not read as part of the last.
pub(super) fn colon(pieces: &mut Pieces, condition: &Condition, indent: usize) {
    if condition.group.is_some() {
        pieces.line(indent + 2);
        pieces.lead(":");
    } else {
        pieces.mark(":");
    }
}

/// A text after a condition; on a line of its own after bullets, so that it is not read as part of the last.
fn after_group(pieces: &mut Pieces, text: &Word) {
    if pieces.has_lines() {
        pieces.line(4);
    }
    pieces.text(text);
}

fn optional(pieces: &mut Pieces, whom: Option<&Condition>) {
    if let Some(whom) = whom {
        pieces.lead("where");
        condition(pieces, whom, 0);
    }
}

/// A finding has its condition on its own line where all of it fits, else on the next, as a property.
fn finding(pieces: &mut Pieces, id: &Word, which: &Condition, start: Span) {
    pieces.at(&format!("finding {}", id.node), start.to(id.span));
    match &which.group {
        Some(group) if which.tests.is_empty() => {
            pieces.line(2);
            group_begins(pieces, group);
            bullets(pieces, &group.bullets, 2);
        }
        _ => {
            pieces.perhaps_line(2);
            pieces.lead("where");
            condition(pieces, which, 2);
        }
    }
}

fn outcome(pieces: &mut Pieces, one: &OutcomeDeclaration) {
    pieces.word(&one.name);
    if let Some(class) = &one.class {
        pieces.at(&format!("({})", class.node), class.span);
    }
    one.label.iter().for_each(|label| pieces.text(label));
}

fn counted(pieces: &mut Pieces, what: &Counted) {
    match what {
        Counted::Supported => pieces.words("supported monitors"),
        Counted::SupportedNotContinuous => pieces.words("supported monitors that are not continuous"),
        Counted::NotContinuousUnsupportedIncomplete => {
            pieces.words("monitors that are not continuous,");
            pieces.words("unsupported as incomplete");
        }
        Counted::Among(monitors) => {
            pieces.words("supported monitors");
            pieces.lead("among");
            pieces.list(monitors);
        }
    }
}

fn excused(pieces: &mut Pieces, which: &Excused) {
    match which {
        Excused::Monitors(monitors) => pieces.list(monitors),
        Excused::EarlierIncomplete => pieces.words("each monitor incomplete earlier"),
        Excused::Table(table) => pieces.at(&format!("monitors excused by {}", table.node), table.span),
    }
}

fn fact_kind(pieces: &mut Pieces, kind: &FactKind) {
    match kind {
        FactKind::YesNo => pieces.words("yes or no"),
        FactKind::Words(words) => pieces.list(words),
        FactKind::Number { least, most, unit } => {
            let unit = unit.as_ref().map(|unit| format!(" {}", unit_word(most.node, &unit.node))).unwrap_or_default();
            pieces.at(&format!("{} through {}{unit}", least.node, most.node), least.span.to(most.span));
        }
    }
}

/// Codes with commas between.
pub(super) fn code_list(pieces: &mut Pieces, codes: &[CodePattern]) {
    for (at, code) in codes.iter().enumerate() {
        if at > 0 {
            pieces.mark(",");
        }
        let last = code.last.as_ref().map(|last| format!(" through {}", last.node)).unwrap_or_default();
        let digits = match code.digits_only {
            Some(true) => " digits only",
            Some(false) => " with letters",
            None => "",
        };
        pieces.at(&format!("{}{last}{digits}", code.first.node), code.span);
    }
}

fn is_name(text: &str) -> bool {
    let mut parts = text.split('-');
    let lower =
        |part: &str| !part.is_empty() && part.chars().all(|mark| mark.is_ascii_lowercase() || mark.is_ascii_digit());
    text.starts_with(|first: char| first.is_ascii_lowercase()) && parts.all(lower)
}
