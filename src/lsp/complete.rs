//! What can be typed at a place: keywords where a line begins, and behind a keyword what it asks for.

use super::document::Document;
use super::names::Sort;
use super::place::number;
use super::vocabulary as known;
use crate::syntax::words::{self, Keyword};
use lsp_types::{CompletionItem, CompletionItemKind, CompletionTextEdit, Position, Range, TextEdit};

/// Words offered, each with a word on what it is.
pub(super) type Offers = Vec<(String, String, CompletionItemKind)>;

/// The place of typing.
pub(super) struct Cursor<'d> {
    pub(super) doc: &'d Document,
    /// The first line of the item, as far as it stands before the cursor.
    pub(super) head: String,
    /// The line before the cursor, without indentation, a bullet's dash and the word being typed; one space between words.
    pub(super) stem: String,
    /// The same with the word being typed.
    typed: String,
    /// How far the line is indented.
    indent: usize,
    /// Whether the line is a bullet.
    is_bullet: bool,
}

/// What can be typed at a place.
pub(super) fn complete(doc: &Document, position: Position) -> Vec<CompletionItem> {
    let byte = doc.lines.byte(&doc.text, position);
    let line = doc.lines.line_of(byte);
    let before = doc.text.get(doc.lines.start(&doc.text, line)..byte).unwrap_or("");
    if is_comment(before) {
        return Vec::new();
    }
    if let Some(text) = open_text(before) {
        let offers = known::places_of(doc, before.get(..before.len() - text.len()).unwrap_or(""));
        return items(offers, position, text.encode_utf16().count(), text);
    }
    let cursor = Cursor::new(doc, line, before);
    let (offers, typed) = cursor.offers();
    items(offers, position, typed.encode_utf16().count(), &typed)
}

fn items(offers: Offers, position: Position, length: usize, typed: &str) -> Vec<CompletionItem> {
    let start = Position::new(position.line, position.character.saturating_sub(number(length)));
    let range = Range::new(start, position);
    let lower = typed.to_lowercase();
    let item = |(at, (word, detail, kind)): (usize, (String, String, CompletionItemKind))| CompletionItem {
        label: word.clone(),
        kind: Some(kind),
        detail: Some(detail).filter(|detail| !detail.is_empty()),
        sort_text: Some(format!("{at:05}")),
        filter_text: Some(word.clone()),
        text_edit: Some(CompletionTextEdit::Edit(TextEdit { range, new_text: word })),
        ..CompletionItem::default()
    };
    let fits = offers.into_iter().filter(|(word, _, _)| word.to_lowercase().starts_with(&lower));
    fits.enumerate().map(item).collect()
}

fn is_comment(before: &str) -> bool {
    let mut in_text = false;
    let mut escaped = false;
    for mark in before.chars() {
        match mark {
            '"' if !escaped => in_text = !in_text,
            '#' if !in_text => return true,
            _ => {}
        }
        escaped = mark == '\\' && !escaped;
    }
    false
}

/// What stands behind a quote that nothing closes.
fn open_text(before: &str) -> Option<&str> {
    let mut open = None;
    let mut escaped = false;
    for (at, mark) in before.char_indices() {
        if mark == '"' && !escaped {
            open = if open.is_some() { None } else { Some(at + 1) };
        }
        escaped = mark == '\\' && !escaped;
    }
    open.and_then(|at| before.get(at..))
}

impl<'d> Cursor<'d> {
    pub(super) fn new(doc: &'d Document, line: usize, before: &str) -> Cursor<'d> {
        let text = before.trim_start();
        let indent = before.len() - text.len();
        let is_bullet = text.starts_with('-') && indent > 0;
        let text = if is_bullet { text.trim_start_matches('-').trim_start() } else { text };
        let is_name = |mark: char| mark.is_ascii_alphanumeric() || ['-', '_', '/'].contains(&mark);
        let prefix = text.chars().rev().take_while(|mark| is_name(*mark)).map(char::len_utf8).sum::<usize>();
        let joined = |text: &str| text.split_whitespace().collect::<Vec<_>>().join(" ");
        let stem = joined(text.get(..text.len() - prefix).unwrap_or(""));
        Cursor { doc, head: head(doc, line, before), stem, typed: text.to_owned(), indent, is_bullet }
    }

    /// The keyword that the item begins with.
    pub(super) fn item(&self) -> &'static str {
        let head = self.head.strip_prefix("replaces ").unwrap_or(&self.head);
        let older = words::OLDER.iter().find(|(older, _)| older.ends_with(" on") && begins(head, older));
        let found = words::ITEMS.iter().filter(|keyword| begins(head, keyword.word)).map(|keyword| keyword.word);
        found.chain(older.map(|(_, today)| *today)).max_by_key(|word| word.len()).unwrap_or("")
    }

    /// What can be typed, and what of it is typed already.
    fn offers(&self) -> (Offers, String) {
        let begins_item = self.indent == 0 && !words::ITEMS.iter().any(|keyword| begins(&self.stem, keyword.word));
        if begins_item {
            let of_item = self.stem.strip_prefix("replaces").is_none();
            let all = words::ITEMS.iter().filter(|keyword| of_item || known::IS_REPLACED.contains(&keyword.word));
            let typed = if of_item { self.typed.clone() } else { self.word().to_owned() };
            return (all.map(keyword).collect(), typed);
        }
        if self.indent > 0 && self.is_start_of_property() {
            return (self.properties(), self.typed.clone());
        }
        if let Some(offers) = known::behind(self) {
            return (offers, self.word().to_owned());
        }
        if let Some(begun) = self.begun_test() {
            let offers = if self.sets_facts() { known::assignments(self.doc) } else { known::tests(self.doc) };
            return (offers, begun);
        }
        (Vec::new(), String::new())
    }

    fn word(&self) -> &str {
        let after = self.typed.rfind(|mark: char| !(mark.is_ascii_alphanumeric() || ['-', '_', '/'].contains(&mark)));
        self.typed
            .get(
                after.map_or(0, |at| {
                    at + self.typed.get(at..).and_then(|rest| rest.chars().next()).map_or(1, char::len_utf8)
                })..,
            )
            .unwrap_or("")
    }

    fn is_start_of_property(&self) -> bool {
        let all = self.properties();
        self.stem.is_empty()
            || all.iter().any(|(word, _, _)| word.starts_with(&self.typed) && word.len() > self.stem.len())
    }

    /// Words that may begin this line.
    fn properties(&self) -> Offers {
        let item = self.item();
        let mut offers = Offers::new();
        if item == "clause" {
            offers.extend(known::declared(self.doc, Sort::Outcome));
            offers.extend(words::PROPERTIES.iter().filter(|one| one.word == "requires").map(keyword));
        }
        if self.is_bullet {
            match item {
                "question" => offers.push(("reading".to_owned(), "a reading".to_owned(), CompletionItemKind::KEYWORD)),
                "limit" | "table" | "finding" => offers.extend(known::tests(self.doc)),
                _ => offers.extend(known::tests(self.doc)),
            }
            return offers;
        }
        let wanted = known::properties_of(item);
        offers.extend(
            words::PROPERTIES.iter().filter(|one| wanted.contains(&one.word) && one.word != "requires").map(keyword),
        );
        if ["clause", "finding"].contains(&item) {
            offers.extend(["any of", "all of", "none of", "not all of"].map(|word| plain(word, "a group of bullets")));
        }
        offers
    }

    fn sets_facts(&self) -> bool {
        begins(&self.stem, "facts")
            || begins(&self.stem, "ordinary")
            || self.stem.starts_with("presumes")
            || ["case", "ordinary"].contains(&self.item()) && !begins(&self.stem, "expect")
    }

    /// What is typed of a test; `None` where no test stands.
    fn begun_test(&self) -> Option<String> {
        let starts = ["and ", "where ", "concerns ", "requires ", "facts ", "ordinary ", "presumes ", "; "];
        let ends = starts.iter().filter_map(|word| self.typed.rfind(word).map(|at| at + word.len()));
        let continues = self.indent > 0 && !self.stem.is_empty();
        let at = ends.max().or(continues.then_some(0))?;
        self.typed.get(at..).map(|text| text.trim_start().to_owned())
    }
}

/// The first line of the item that a line belongs to.
fn head(doc: &Document, line: usize, before: &str) -> String {
    if !before.starts_with([' ', '\t']) {
        return before.to_owned();
    }
    let lines = (0..line).rev().map(|at| doc.lines.line(&doc.text, at));
    let mut heads = lines.filter(|text| !text.is_empty() && !text.starts_with([' ', '\t', '#']));
    heads.next().unwrap_or("").to_owned()
}

/// Whether a text begins with words, and ends there or goes on with another word.
pub(super) fn begins(text: &str, word: &str) -> bool {
    text.strip_prefix(word).is_some_and(|rest| rest.is_empty() || rest.starts_with([' ', ':', ',', ';']))
}

pub(super) fn keyword(keyword: &Keyword) -> (String, String, CompletionItemKind) {
    (keyword.word.to_owned(), keyword.example.to_owned(), CompletionItemKind::KEYWORD)
}

/// A word with a word on what it is.
pub(super) fn plain(word: &str, detail: &str) -> (String, String, CompletionItemKind) {
    (word.to_owned(), detail.to_owned(), CompletionItemKind::VALUE)
}
