//! Errors of the grammar in the reader's words: what stands at the place, what was expected there, and what to do.
//! The commonest slips have a message of their own; they are tried in order.

use super::expected::{Say, say};
use super::grammar::Rule;
use super::stop::{Stop, last_word, second_word};
use super::suggest;
use super::view::View;
use super::words::is_name_character;
use crate::diagnostic::Diagnostic;
use crate::source::Span;
use pest::error::Error;
use std::collections::BTreeSet;
use std::ops::Range;

/// How many expected things a message names.
const NAMED: usize = 6;

pub(super) fn no_text(at: usize) -> Diagnostic {
    Diagnostic::error("syntax/not-text", Span::new(at, at + 1), "the file is not text")
        .label("a zero byte")
        .help("give a program file: plain text, UTF-8")
}

pub(super) fn not_built(view: &View<'_>) -> Diagnostic {
    let bytes = view.chunk.bytes();
    Diagnostic::error("syntax/item", Span::new(bytes.start, bytes.end), "the item cannot be read")
        .help("write the item as `language.md` shows it, and report this message")
}

/// The message of an error in a piece of an item.
pub(super) fn of(view: &View<'_>, bytes: &Range<usize>, error: &Error<Rule>) -> Diagnostic {
    let stop = Stop::new(view, bytes, error);
    let slips = [alternatives, nested, colon_missing, date, figure, quotes, monitor_state];
    let slip = super::slips::early(&stop).or_else(|| slips.iter().find_map(|slip| slip(&stop)));
    slip.or_else(|| suggest::word(&stop))
        .or_else(|| super::slips::trade(&stop))
        .or_else(|| suggest::fact(&stop))
        .unwrap_or_else(|| plain(&stop))
}

/// `or` between tests.
fn alternatives(stop: &Stop<'_>) -> Option<Diagnostic> {
    let span = match stop.found() {
        "or" if stop.expects(Rule::kw_and) => stop.span(),
        _ => suggest::or_before_a_test(stop)?,
    };
    Some(
        Diagnostic::error("syntax/or", span, "`or` cannot stand between tests")
            .help("`or` joins the words of one fact only; for alternatives end with `any of` and give each a bullet"),
    )
}

/// A group within a group, or a bullet within a bullet.
fn nested(stop: &Stop<'_>) -> Option<Diagnostic> {
    let joins = ["any", "all", "none"];
    let in_group = ["any of", "all of", "none of"].iter().any(|join| stop.before().contains(join));
    let is_join = joins.contains(&stop.found()) && second_word(stop.after()) == "of";
    let is_half_read = joins.contains(&stop.previous()) && stop.found() == "of";
    if in_group && (is_join || is_half_read) {
        let length = stop.after().find("of").map_or(stop.found().len(), |at| at + 2);
        let mut span = stop.span_of(length);
        if is_half_read {
            span = span.to(stop.previous_span());
        }
        return Some(
            Diagnostic::error("syntax/nested-group", span, "a group stands within a group")
                .help("give the inner condition a name of its own with `finding`, and test the name"),
        );
    }
    (stop.found() == "\u{1}").then(|| {
        Diagnostic::error("syntax/nested-bullet", stop.span(), "a bullet stands within a bullet")
            .help("only a bullet that ends with `any of`, `all of` or `none of` has bullets under it")
    })
}

fn colon_missing(stop: &Stop<'_>) -> Option<Diagnostic> {
    let wanted = stop.expects(Rule::colon) && !stop.begins_line();
    let follows = ["at", "none", "not", "excuses", "codes", "not-subject"].contains(&stop.found());
    (wanted && (follows || stop.expected.len() == 1)).then(|| {
        Diagnostic::error("syntax/missing-colon", stop.span(), format!("a `:` is missing before `{}`", stop.found()))
            .help("put `:` between the two parts of the line")
    })
}

fn date(stop: &Stop<'_>) -> Option<Diagnostic> {
    let found = stop.found();
    let has_digit = found.starts_with(|first: char| first.is_ascii_digit());
    let joined = stop.after().find(|mark: char| !is_name_character(mark) && mark != '/' && mark != '.');
    let whole = stop.after().get(..joined.unwrap_or(stop.after().len())).unwrap_or(found).trim_end_matches('.');
    let looks = stop.expects(Rule::date) && has_digit;
    let marks = whole.chars().filter(|mark| ['-', '/', '.'].contains(mark)).count();
    let shaped = marks >= 2 || marks == 1 && whole.contains(['-', '/']);
    (looks || shaped && has_digit && !whole.contains(char::is_alphabetic)).then(|| {
        Diagnostic::error("syntax/date", stop.span_of(whole.len()), format!("`{whole}` is not written as a date"))
            .help("write dates as `2012-07-01`: year, month, day, with leading zeros")
    })
}

fn figure(stop: &Stop<'_>) -> Option<Diagnostic> {
    let after_digit = stop.before().ends_with(|last: char| last.is_ascii_digit()) && stop.before().len() == stop.at;
    let digit_follows = stop.after().chars().nth(1).is_some_and(|next| next.is_ascii_digit());
    let found = stop.found();
    if after_digit && digit_follows && (found == "," || found == ".") {
        let figure = stop.previous();
        return Some(
            Diagnostic::error("syntax/number", stop.span(), format!("`{found}` stands within a number"))
                .help(format!("numbers are whole and written without separators; `{figure}` ends here")),
        );
    }
    let has_digit = found.starts_with(|first: char| first.is_ascii_digit());
    let wanted = stop.expects(Rule::number) || stop.expects(Rule::bounds) || stop.expects(Rule::amount);
    let digits = found.chars().take_while(char::is_ascii_digit).count();
    (has_digit && wanted).then(|| {
        let (figure, rest) = found.split_at_checked(digits).unwrap_or((found, ""));
        Diagnostic::error("syntax/number", stop.span(), format!("`{found}` is no number"))
            .help(format!("numbers are whole; write a unit as a word apart from them: `{figure} {rest}`"))
    })
}

fn quotes(stop: &Stop<'_>) -> Option<Diagnostic> {
    other_quote(stop.found(), stop.span())
}

/// A quote of another kind than the straight double one.
pub(super) fn other_quote(found: &str, span: Span) -> Option<Diagnostic> {
    ["\u{201c}", "\u{201d}", "\u{201e}", "\u{ab}", "'", "\u{2018}"].contains(&found).then(|| {
        Diagnostic::error("syntax/quotes", span, format!("`{found}` does not begin a text"))
            .help("put texts between straight double quotes, `\"`")
    })
}

fn monitor_state(stop: &Stop<'_>) -> Option<Diagnostic> {
    let wanted = stop.expects(Rule::state) || stop.expects(Rule::long_state);
    let about_monitor = crate::model::Monitor::named(last_word(stop.before().trim_end_matches("is").trim_end()));
    let is_meant = !stop.expects(Rule::value) || about_monitor.is_some();
    (wanted && is_meant).then(|| {
        let found = if stop.found().is_empty() { "the end".to_owned() } else { format!("`{}`", stop.found()) };
        Diagnostic::error("syntax/state", stop.span(), format!("expected a state of monitors, found {found}")).help(
            "a monitor is `incomplete`, `supported and complete`, `complete wherever supported`, `supported` or \
             `unsupported`",
        )
    })
}

/// What was expected, and what was found.
fn plain(stop: &Stop<'_>) -> Diagnostic {
    let expected = list(stop);
    let found = stop.found();
    if found.is_empty() {
        let message = format!("expected {expected} after `{}`", stop.previous());
        return Diagnostic::error("syntax/ends-early", stop.span(), message).help("complete the line");
    }
    let message = format!("expected {expected}, found `{}`", shown(found));
    let diagnostic = Diagnostic::error("syntax/unexpected", stop.span(), message);
    let is_name = found.starts_with(|first: char| first.is_ascii_alphabetic());
    let lower = found.to_ascii_lowercase().replace('_', "-");
    let help = if is_name && (lower != found || !found.chars().all(is_name_character)) && !found.starts_with("VIN") {
        format!("names and keywords are lower-case words joined by hyphens: `{lower}`")
    } else if is_name && stop.expects(Rule::kw_is) {
        format!("put `is` before `{found}`")
    } else if is_name && wants_name(stop) {
        format!("`{found}` is a keyword and cannot be a name here")
    } else if stop.begins_line() {
        "complete the line above, or indent this one under what it belongs to".to_owned()
    } else {
        format!("remove `{}`, or put what is expected before it", shown(found))
    };
    diagnostic.help(help)
}

fn wants_name(stop: &Stop<'_>) -> bool {
    let names = [Rule::id, Rule::outcome, Rule::clause_ref, Rule::limit_ref, Rule::value, Rule::plain];
    stop.expected.iter().all(|rule| names.contains(rule)) && !stop.expected.is_empty()
}

fn list(stop: &Stop<'_>) -> String {
    let said: BTreeSet<Say> = stop.expected.iter().map(|rule| say(*rule)).filter(|say| *say != Say::Nothing).collect();
    let mut parts: Vec<String> = Vec::new();
    let mut line_ends = false;
    for say in said {
        match say {
            Say::Word(word) => parts.push(format!("`{word}`")),
            Say::Thing(thing) => parts.push(thing.to_owned()),
            Say::OwnLine(thing) if stop.begins_line() => parts.push(thing.to_owned()),
            Say::OwnLine(_) => line_ends = true,
            Say::Nothing => {}
        }
    }
    parts.dedup();
    let more = parts.len() > NAMED;
    parts.truncate(NAMED);
    if line_ends {
        parts.push("the end of the line".to_owned());
    }
    if more {
        parts.push("something else that may follow".to_owned());
    }
    match parts.split_last() {
        None => "nothing more".to_owned(),
        Some((last, [])) => last.clone(),
        Some((last, rest)) => format!("{} or {last}", rest.join(", ")),
    }
}

/// A text short enough for a message; the mark of an inner bullet as it was written.
fn shown(found: &str) -> String {
    let short: String = found.chars().take(40).map(|mark| if mark == '\u{1}' { '-' } else { mark }).collect();
    if short.len() < found.len() { format!("{short}…") } else { short }
}
