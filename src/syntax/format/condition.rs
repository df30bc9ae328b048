//! Conditions and tests in their normal forms.

use super::piece::{Pieces, quoted};
use crate::source::{Span, Spanned};
use crate::syntax::ast::{Amount, Bounds, Condition, Group, HowMany, Join, State, Test, Word};

/// A condition in a thing that is indented so far; its bullets are indented further.
pub(super) fn condition(pieces: &mut Pieces, condition: &Condition, indent: usize) {
    conjunction(pieces, &condition.tests);
    let Some(group) = &condition.group else { return };
    if !condition.tests.is_empty() {
        pieces.lead("and");
    }
    group_begins(pieces, group);
    bullets(pieces, &group.bullets, indent + 2);
}

/// Bullets of a group.
pub(super) fn bullets(pieces: &mut Pieces, bullets: &[Vec<Spanned<Test>>], indent: usize) {
    for bullet in bullets {
        pieces.line(indent);
        pieces.lead("-");
        conjunction(pieces, bullet);
    }
}

/// What joins the bullets of a group.
pub(super) fn group_begins(pieces: &mut Pieces, group: &Group) {
    let words = match group.join {
        Join::Any => "any of",
        Join::All => "all of",
        Join::None => "none of",
        Join::NotAll => "not all of",
    };
    pieces.at(words, Span { start: group.span.start, end: group.span.start });
}

fn conjunction(pieces: &mut Pieces, tests: &[Spanned<Test>]) {
    for (at, one) in tests.iter().enumerate() {
        if at > 0 {
            pieces.lead("and");
        }
        test(pieces, &one.node, one.span);
    }
}

fn test(pieces: &mut Pieces, test: &Test, span: Span) {
    match test {
        Test::EveryVehicle => pieces.at("every vehicle", span),
        Test::Phrase(phrase) => pieces.at(phrase, span),
        Test::Is { subject, not, values } => {
            pieces.lead(&subject.node);
            pieces.lead(is(*not));
            pieces.joined(values, Some("or"));
        }
        Test::IsText { subject, not, values } => {
            pieces.lead(&subject.node);
            pieces.lead(is(*not));
            let quoted: Vec<Word> = values.iter().map(|text| Spanned::new(quoted(&text.node), text.span)).collect();
            pieces.joined(&quoted, Some("or"));
        }
        Test::DeclaredArea { not } => pieces.at(&format!("area {} one of the areas", is(*not)), span),
        Test::Number { subject, bounds } => pieces.at(&number(&subject.node, bounds), span),
        Test::Monitor { monitor, state } => {
            pieces.at(&format!("{} is {}", monitor.node, state_words(state.node)), span);
        }
        Test::Counted { how_many, state } => {
            let (monitors, verb) = match how_many {
                HowMany::AtLeast(count) | HowMany::AtMost(count) | HowMany::Exactly(count) => noun(count.node),
                HowMany::Every | HowMany::No | HowMany::Any => noun(1),
            };
            let words = format!("{} counted {monitors} {verb} {}", many(how_many), state_words(state.node));
            pieces.at(&words, span);
        }
        Test::CountOf { how_many, monitors, state } => {
            let of = match how_many {
                HowMany::AtLeast(_) | HowMany::AtMost(_) | HowMany::Exactly(_) => format!("{} of", many(how_many)),
                HowMany::Every => "every one of".to_owned(),
                HowMany::No => "not one of".to_owned(),
                HowMany::Any => "any one of".to_owned(),
            };
            let verb = match how_many {
                HowMany::AtLeast(count) | HowMany::AtMost(count) | HowMany::Exactly(count) => noun(count.node).1,
                HowMany::Every | HowMany::No | HowMany::Any => "is",
            };
            pieces.lead(&of);
            pieces.list(monitors);
            pieces.mark(&format!(" {verb} {}", state_words(state.node)));
        }
        Test::Pair { how_many, lit_the_lamp, state } => {
            let which = if *lit_the_lamp { "that lit the lamp earlier" } else { "incomplete earlier" };
            let words = format!("{} monitor {which} is {}", many(how_many), state_words(state.node));
            pieces.at(&words, span);
        }
        Test::NoMoreThanEarlier => pieces.at("no more counted monitors are incomplete than earlier", span),
        Test::Codes { how, list, among, on_the_list_of } => {
            let plural = if how.node == "only" { "s" } else { "" };
            pieces.at(&format!("{} {}{plural}", how.node, list.node), span);
            if let Some(group) = among {
                pieces.mark(&format!(" among {}", group.node));
            }
            if let Some(table) = on_the_list_of {
                pieces.mark(&format!(" on the list of {}", table.node));
            }
        }
        Test::Limit { within, id } => {
            let id = id.as_ref().map(|id| format!(" by limit {}", id.node)).unwrap_or_default();
            pieces.at(&format!("{}too many monitors are incomplete{id}", no(*within)), span);
        }
        Test::Listed { not, table } => pieces.at(&format!("{}listed in {}", no(*not), table.node), span),
        Test::Parity { of_test_year, even } => {
            let year = if *of_test_year { "test year" } else { "model year" };
            pieces.at(&format!("{year} is {}", if *even { "even" } else { "odd" }), span);
        }
        Test::SameParity(same) => {
            let parity = if *same { "the same parity" } else { "different parity" };
            pieces.at(&format!("model year and test year have {parity}"), span);
        }
        Test::Present { subject, not } => {
            pieces.at(&format!("{} {}on this vehicle", subject.node, no(*not)), span);
        }
        Test::Finding { not, name } => pieces.at(&format!("{}{}", no(*not), name.node), span),
    }
}

fn is(not: bool) -> &'static str {
    if not { "is not" } else { "is" }
}

fn no(not: bool) -> &'static str {
    if not { "not " } else { "" }
}

/// One monitor is, several are.
fn noun(count: i64) -> (&'static str, &'static str) {
    if count == 1 { ("monitor", "is") } else { ("monitors", "are") }
}

fn many(how_many: &HowMany) -> String {
    match how_many {
        HowMany::AtLeast(count) => format!("at least {}", count.node),
        HowMany::AtMost(count) => format!("at most {}", count.node),
        HowMany::Exactly(count) => format!("exactly {}", count.node),
        HowMany::Every => "every".to_owned(),
        HowMany::No => "no".to_owned(),
        HowMany::Any => "any".to_owned(),
    }
}

fn state_words(state: State) -> &'static str {
    match state {
        State::Incomplete => "incomplete",
        State::SupportedAndComplete => "supported and complete",
        State::CompleteWhereverSupported => "complete wherever supported",
        State::Supported => "supported",
        State::Unsupported => "unsupported",
        State::BareComplete => "complete",
    }
}

/// A year and an age need no *is* before a figure, other facts read better with it.
fn number(subject: &str, bounds: &Bounds) -> String {
    match bounds {
        Bounds::Is(value) if subject == "model year" || subject == "age" => {
            format!("{subject} {}", amount(&value.node))
        }
        Bounds::Is(value) => format!("{subject} is {}", amount(&value.node)),
        Bounds::AtLeast(value) => format!("{subject} at least {}", amount(&value.node)),
        Bounds::AtMost(value) => format!("{subject} at most {}", amount(&value.node)),
        Bounds::Above(value) => format!("{subject} above {}", amount(&value.node)),
        Bounds::Below(value) => format!("{subject} below {}", amount(&value.node)),
        Bounds::OrLater(value) => format!("{subject} {} or later", amount(&value.node)),
        Bounds::OrEarlier(value) => format!("{subject} {} or earlier", amount(&value.node)),
        Bounds::Through(first, last) => {
            format!("{subject} {} through {}", amount(&first.node), amount(&last.node))
        }
    }
}

/// A number with its unit, or a date.
pub(super) fn amount(amount: &Amount) -> String {
    match amount {
        Amount::Date(date) => date.clone(),
        Amount::Number { number, unit: None } => number.to_string(),
        Amount::Number { number, unit: Some(unit) } => format!("{number} {}", unit_word(*number, &unit.node)),
    }
}

/// The unit in the singular after one.
pub(super) fn unit_word(number: i64, unit: &str) -> &str {
    match unit {
        "miles" | "minutes" | "hours" | "days" if number == 1 => unit.strip_suffix('s').unwrap_or(unit),
        _ => unit,
    }
}
