//! A broken item, read again piece by piece: its first line, each property, each bullet. Every piece that the grammar
//! refuses gives its own error. Where a piece ends is told by the words that begin the next; where that is doubtful, by
//! whether the piece could be complete.

use super::grammar::{Grammar, Rule};
use super::layout::Line;
use super::limits;
use super::message;
use super::stop::{first_word, second_word};
use super::view::View;
use super::words::{ITEMS, Keyword, OLDER, PROPERTIES, begins_with, is_name_character};
use crate::diagnostic::{Diagnostic, nearest};
use crate::source::Span;
use pest::Parser;
use pest::error::Error;
use std::ops::Range;

/// Longest piece that is tried for completeness, in bytes: keeps the second reading linear.
const TRIED_BYTES: usize = 1024;

/// What people begin a property with, and what it is called here.
const OTHER_PROPERTIES: [(&str, &str); 11] = [
    ("until", "in force through"),
    ("till", "in force through"),
    ("to", "in force through"),
    ("ending", "in force through"),
    ("since", "in force from"),
    ("effective", "in force from"),
    ("starting", "in force from"),
    ("beginning", "in force from"),
    ("if", "only if"),
    ("see", "per"),
    ("cite", "per"),
];

/// The older words that begin an item.
const OLDER_ITEMS: [&str; 3] = ["unread on", "silent on", "text not seen on"];
/// Of them, what stands within a code group as well: it is no sign that something begins.
const OF_CODES: &str = "text not seen on";

/// Lines of an item that are read together.
struct Piece {
    bytes: Range<usize>,
    is_head: bool,
    /// Indentation of its first line.
    indent: usize,
    is_bullet: bool,
}

/// The errors of an item, at least one unless the scan has told of one. `whole` is the error of the item as a whole.
pub(super) fn errors(view: &View<'_>, whole: Option<&Error<Rule>>) -> Vec<Diagnostic> {
    if let Some(unknown) = unknown_item(view) {
        return vec![unknown];
    }
    let found: Vec<_> = pieces(view).filter_map(|piece| error(view, &piece)).take(limits::ERRORS + 1).collect();
    match whole {
        Some(whole) if found.is_empty() => vec![message::of(view, &view.chunk.bytes(), whole)],
        _ => found,
    }
}

/// An item whose first word is no keyword, or that does not begin at the margin.
fn unknown_item(view: &View<'_>) -> Option<Diagnostic> {
    let line = view.chunk.lines.first()?;
    let text = view.clean.get(line.words..line.end)?;
    let word = first_word(text);
    if view.is_wrong(&(line.words..line.words + word.len())) {
        return None;
    }
    let span = Span::new(line.words, line.words + word.len());
    if line.is_bullet {
        let error = Diagnostic::error("syntax/margin", span, "a bullet stands at the left margin");
        return Some(error.help("indent the bullet under the item it belongs to"));
    }
    let mut items = ITEMS.iter().map(|item| item.word).chain(OLDER_ITEMS);
    if let Some(known) = items.find(|known| begins_with(text, known)) {
        let indented = Diagnostic::error("syntax/margin", span, format!("`{known}` does not stand at the margin"));
        return (line.indent > 0).then(|| indented.help("begin an item at the left margin"));
    }
    if starts_with_property(text) || text.starts_with('"') {
        let error =
            Diagnostic::error("syntax/margin", span, format!("the property `{word}` stands at the left margin"));
        return Some(error.help("indent a property by two spaces under its item"));
    }
    let error = Diagnostic::error("syntax/unknown-item", span, format!("no item begins with `{word}`"));
    if ["/", "*", ";"].contains(&word) || text.starts_with("--") {
        return Some(error.help("a comment begins with `#` and goes to the end of its line"));
    }
    if ["if", "when", "rule", "test", "vehicle", "requirement", "criteria", "reject", "fail"].contains(&word) {
        let help = "a rule is a `clause ID on TOPIC`, and under it, indented, an outcome, `where` and a condition";
        return Some(error.help(help));
    }
    if is_of_no_rule(text) {
        let help = "did you mean `no rule applied on TOPIC, text not seen`, or, where the text was read and has no rule, \
                    `text silent on TOPIC`?";
        return Some(error.help(help));
    }
    Some(error.help(match near(text, ITEMS) {
        Some(keyword) => format!("did you mean `{keyword}`?"),
        None => {
            let words: Vec<String> = ITEMS.iter().map(|item| format!("`{}`", item.word)).collect();
            format!("an item begins with one of {}", words.join(", "))
        }
    }))
}

/// `no rule on lamp`, `text not seen in lamp`: that nothing is said on a topic, in other words.
fn is_of_no_rule(text: &str) -> bool {
    let is_silent = || nearest(second_word(text), ["silent"]).is_some();
    let others = ["not seen", "not read"];
    match first_word(text) {
        "no" | "unread" | "unseen" => true,
        "text" => !is_silent(),
        _ => others.iter().any(|other| begins_with(text, other)),
    }
}

/// The pieces of an item, found as they are asked for.
fn pieces(view: &View<'_>) -> impl Iterator<Item = Piece> {
    let mut lines = view.chunk.lines.iter().peekable();
    let mut is_head = true;
    std::iter::from_fn(move || {
        let line = lines.next()?;
        let bytes = line.words..line.end;
        let mut piece = Piece { bytes, is_head, indent: line.indent, is_bullet: line.is_bullet };
        while let Some(line) = lines.next_if(|line| continues(view, &piece, line)) {
            piece.bytes.end = line.end;
        }
        is_head = false;
        Some(piece)
    })
}

/// Whether a line goes on with a piece.
fn continues(view: &View<'_>, piece: &Piece, line: &Line) -> bool {
    let so_far = view.clean.get(piece.bytes.clone()).unwrap_or("");
    let text = view.clean.get(line.words..line.end).unwrap_or("");
    if line.is_bullet {
        let under = line.indent > piece.indent || !piece.is_bullet;
        return under && has_open_group(so_far) && !starts_line(text.get(1..).unwrap_or("").trim_start());
    }
    if starts_property(text) && !is_doubtful(text) {
        return false;
    }
    if text.starts_with('"') && ends_with_word(so_far, &["and", "where", "is"]) {
        return false;
    }
    let joined = so_far.ends_with([',', ';', ':']) || text.starts_with([',', ';', ':']);
    let goes_on = ["and", "or", "any", "all", "none"].contains(&first_word(text));
    if goes_on {
        return true;
    }
    let is_near = view.tries.get() > 0 && !starts_property(text) && near(text, PROPERTIES).is_some();
    if is_near {
        return false;
    }
    if joined || ends_with_word(so_far, &["and", "or", "where", "is", "of", "through"]) {
        return true;
    }
    if so_far.len() > TRIED_BYTES || attempt(view, piece, so_far).is_ok() {
        return so_far.len() > TRIED_BYTES;
    }
    let both = view.clean.get(piece.bytes.start..line.end).unwrap_or("");
    piece.is_head || line.indent > piece.indent || attempt(view, piece, both).is_ok()
}

fn ends_with_word(text: &str, words: &[&str]) -> bool {
    let last = text.rsplit(|mark| !is_name_character(mark)).next().unwrap_or("");
    words.contains(&last)
}

fn has_open_group(text: &str) -> bool {
    let mut lines = text.lines().map(str::trim_end);
    lines.any(|line| ["any of", "all of", "none of"].iter().any(|join| line.ends_with(join)))
}

fn starts_with_property(text: &str) -> bool {
    let mut known = PROPERTIES.iter().map(|known| known.word).chain(OLDER.iter().map(|(older, _)| *older));
    known.any(|word| word != OF_CODES && begins_with(text, word))
}

/// Whether a text begins with the words of a property, or as a line of a clause does.
fn starts_property(text: &str) -> bool {
    starts_with_property(text) || text.starts_with('"') || starts_line(text)
}

/// `OUTCOME where`, `requires`, `CLAUSE gives way to`, `reading ID`.
fn starts_line(text: &str) -> bool {
    let rest = text.get(first_word(text).len()..).unwrap_or("").trim_start();
    let is_name = text.starts_with(is_name_character) && first_word(text) != "where";
    begins_with(text, "requires")
        || begins_with(text, "reading")
        || is_name && (begins_with(rest, "where") || begins_with(rest, "gives way"))
}

/// Whether the words begin a property, and may as well stand within one.
fn is_doubtful(text: &str) -> bool {
    let doubtful = ["where", "first", "with", "on", "through", "from", "per", "takes"];
    let strong = begins_with(text, "per") || begins_with(text, "from") || begins_with(text, "takes");
    text.starts_with('"') || !strong && doubtful.contains(&first_word(text))
}

fn near(text: &str, known: &[Keyword]) -> Option<&'static str> {
    let first = first_word(text);
    let near = nearest(first, known.iter().filter_map(|known| known.word.split(' ').next()))?;
    let two: String = text.split_whitespace().take(2).collect::<Vec<_>>().join(" ");
    let same = known.iter().filter(|known| known.word.split(' ').next() == Some(near));
    let whole = nearest(&two, same.clone().map(|known| known.word));
    whole.or_else(|| same.map(|known| known.word).next())
}

/// Whether a text could be the piece; with no tries left, whatever it is.
fn attempt(view: &View<'_>, piece: &Piece, text: &str) -> Result<(), Error<Rule>> {
    let Some(left) = view.tries.get().checked_sub(1) else { return Ok(()) };
    view.tries.set(left);
    let rule = if piece.is_head { Rule::item_alone } else { Rule::pieces_alone };
    Grammar::parse(rule, text).map(|_| ())
}

fn error(view: &View<'_>, piece: &Piece) -> Option<Diagnostic> {
    if view.is_wrong(&piece.bytes) {
        return None;
    }
    let text = view.clean.get(piece.bytes.clone()).unwrap_or("");
    let error = attempt(view, piece, text).err()?;
    if !piece.is_head && !piece.is_bullet && !starts_property(text) {
        return Some(unknown_property(piece, text, view));
    }
    Some(message::of(view, &piece.bytes, &error))
}

fn unknown_property(piece: &Piece, text: &str, view: &View<'_>) -> Diagnostic {
    let word = first_word(text);
    let rest = text.get(word.len()..).unwrap_or("").trim_start();
    let start = piece.bytes.start;
    let at = start + (text.len() - rest.len());
    let second = Span::new(at, at + first_word(rest).len());
    if first_word(rest) == "unless" {
        return Diagnostic::error("syntax/other-words", second, "`unless` is not how it is said here")
            .help(super::said::WHERE_NOT);
    }
    if nearest(first_word(rest), ["where"]).is_some() {
        return Diagnostic::error("syntax/unknown-word", second, format!("`{}` means nothing here", first_word(rest)))
            .help("did you mean `where`?");
    }
    let span = Span::new(start, start + word.len());
    if let Some(quote) = message::other_quote(word, span) {
        return quote;
    }
    if let Some((_, written)) = OTHER_PROPERTIES.iter().find(|(said, _)| *said == word) {
        return Diagnostic::error("syntax/unknown-property", span, format!("no property begins with `{word}`"))
            .help(format!("write `{written}`"))
            .fix(span, *written);
    }
    let message = if view.text.get(start..start + 1) == Some("-") {
        "a bullet stands within a bullet".to_owned()
    } else {
        format!("no property begins with `{word}`")
    };
    Diagnostic::error("syntax/unknown-property", span, message).help(match near(text, PROPERTIES) {
        Some(keyword) => format!("did you mean `{keyword}`?"),
        None => "properties begin with a keyword such as `per`, `in force from` or `only if`; a line of a clause is an outcome, \
                 `where` and a condition"
            .to_owned(),
    })
}
