//! Semantic tokens: comments, texts, numbers, codes and keywords from the text itself, so that a half-typed file is
//! coloured too; names from the tree.

use super::document::Document;
use super::names::Sort;
use super::place::{bytes, number};
use crate::syntax::words::{self, Keyword};
use lsp_types::{SemanticToken, SemanticTokenModifier, SemanticTokenType, SemanticTokensLegend};
use std::collections::BTreeSet;
use std::sync::LazyLock;

const COMMENT: u32 = 0;
const STRING: u32 = 1;
const NUMBER: u32 = 2;
const KEYWORD: u32 = 3;
const CODE: u32 = 4;
const NAMESPACE: u32 = 5;
const CLASS: u32 = 6;
const FUNCTION: u32 = 7;
const VARIABLE: u32 = 8;
const ENUM: u32 = 9;
const MEMBER: u32 = 10;
const TYPE: u32 = 11;

/// The kinds of tokens, in the order of their numbers.
pub(super) fn legend() -> SemanticTokensLegend {
    SemanticTokensLegend {
        token_types: vec![
            SemanticTokenType::COMMENT,
            SemanticTokenType::STRING,
            SemanticTokenType::NUMBER,
            SemanticTokenType::KEYWORD,
            SemanticTokenType::REGEXP,
            SemanticTokenType::NAMESPACE,
            SemanticTokenType::CLASS,
            SemanticTokenType::FUNCTION,
            SemanticTokenType::VARIABLE,
            SemanticTokenType::ENUM,
            SemanticTokenType::ENUM_MEMBER,
            SemanticTokenType::TYPE,
        ],
        token_modifiers: vec![SemanticTokenModifier::DECLARATION],
    }
}

/// Single words of all keywords, and those that stand between them.
static KEYWORDS: LazyLock<BTreeSet<&'static str>> = LazyLock::new(|| {
    let all = |list: &'static [Keyword]| list.iter().flat_map(|keyword| keyword.word.split(' '));
    let between = [
        "and",
        "or",
        "not",
        "is",
        "any",
        "all",
        "none",
        "every",
        "no",
        "only",
        "among",
        "at",
        "least",
        "most",
        "above",
        "below",
        "later",
        "earlier",
        "through",
        "or",
        "else",
        "by",
        "alone",
        "into",
        "becomes",
        "after",
        "as",
        "amended",
        "where",
        "known",
        "over",
        "within",
        "listed",
        "exactly",
        "than",
        "supported",
        "complete",
        "incomplete",
        "wherever",
        "reading",
        "excuses",
        "codes",
        "also",
        "partly",
        "overlaps",
        "our",
        "otherwise",
        "digits",
        "letters",
        "read",
        "as",
        "during",
        "too",
        "many",
        "monitors",
        "are",
        "against",
        "plus",
        "otherwise",
        "sound",
        "car",
        "one",
        "the",
        "of",
        "number",
    ];
    let older = words::OLDER.iter().flat_map(|(older, _)| older.split(' '));
    all(words::ITEMS).chain(all(words::PROPERTIES)).chain(older).chain(between).collect()
});

struct Token {
    start: usize,
    end: usize,
    kind: u32,
    declares: bool,
}

/// The tokens of a document, each by its distance from the one before.
pub(super) fn tokens(doc: &Document) -> Vec<SemanticToken> {
    let named: Vec<Token> = doc
        .names
        .iter()
        .filter(|name| name.is_written)
        .map(|name| {
            let (start, end) = bytes(name.span);
            Token { start, end, kind: kind(name.sort), declares: name.declares }
        })
        .collect();
    let mut all: Vec<Token> = scanned(&doc.text)
        .into_iter()
        .filter(|token| {
            let next = named.partition_point(|name| name.end <= token.start);
            named.get(next).is_none_or(|name| token.end <= name.start)
        })
        .collect();
    all.extend(named);
    all.sort_by_key(|token| (token.start, token.end));
    encoded(doc, &all)
}

fn kind(sort: Sort) -> u32 {
    match sort {
        Sort::Program => NAMESPACE,
        Sort::Source | Sort::Period | Sort::Change => VARIABLE,
        Sort::Outcome | Sort::Theirs | Sort::Reading | Sort::Topic => MEMBER,
        Sort::Limit | Sort::Table | Sort::CodeGroup => CLASS,
        Sort::Clause | Sort::Finding | Sort::Anything => FUNCTION,
        Sort::Choice => ENUM,
        Sort::Fact | Sort::Monitor => TYPE,
    }
}

fn encoded(doc: &Document, all: &[Token]) -> Vec<SemanticToken> {
    let mut out = Vec::new();
    let (mut line_before, mut column_before, mut end_before) = (0, 0, 0);
    for token in all {
        if token.start < end_before {
            continue;
        }
        end_before = token.end;
        // A token of several lines is told line by line.
        for line in doc.lines.line_of(token.start)..=doc.lines.line_of(token.end.saturating_sub(1).max(token.start)) {
            let start = doc.lines.start(&doc.text, line);
            let (from, to) = (token.start.max(start), token.end.min(start + doc.lines.line(&doc.text, line).len()));
            let length = doc.text.get(from..to).unwrap_or("").encode_utf16().count();
            if length == 0 {
                continue;
            }
            let place = doc.lines.position(&doc.text, from);
            let delta_line = place.line.saturating_sub(line_before);
            let delta_start =
                if delta_line == 0 { place.character.saturating_sub(column_before) } else { place.character };
            out.push(SemanticToken {
                delta_line,
                delta_start,
                length: number(length),
                token_type: token.kind,
                token_modifiers_bitset: u32::from(token.declares),
            });
            (line_before, column_before) = (place.line, place.character);
        }
    }
    out
}

/// Tokens that need no tree.
fn scanned(text: &str) -> Vec<Token> {
    let mut found = Vec::new();
    let mut at = 0;
    while let Some(rest) = text.get(at..).filter(|rest| !rest.is_empty()) {
        let first = rest.chars().next().unwrap_or(' ');
        let is_word = |mark: char| mark.is_ascii_alphanumeric() || mark == '-' || mark == '_';
        let (length, kind) = if first == '#' {
            (rest.find(['\n', '\r']).unwrap_or(rest.len()), Some(COMMENT))
        } else if first == '"' {
            (text_length(rest), Some(STRING))
        } else if is_word(first) {
            let word = rest.get(..rest.find(|mark| !is_word(mark)).unwrap_or(rest.len())).unwrap_or("");
            (word.len().max(1), word_kind(word))
        } else {
            (first.len_utf8(), None)
        };
        if let Some(kind) = kind {
            found.push(Token { start: at, end: at + length, kind, declares: false });
        }
        at += length;
    }
    found
}

/// The length of a text in quotes; one without an end ends with its line.
fn text_length(rest: &str) -> usize {
    let mut escaped = false;
    for (at, mark) in rest.char_indices().skip(1) {
        match mark {
            '\n' | '\r' => return at,
            '"' if !escaped => return at + 1,
            '\\' => escaped = !escaped,
            _ => escaped = false,
        }
    }
    rest.len()
}

fn word_kind(word: &str) -> Option<u32> {
    let mut marks = word.chars();
    let first = marks.next()?;
    if first.is_ascii_digit() {
        return Some(NUMBER);
    }
    let is_code = word.len() >= 5
        && ['P', 'B', 'C', 'U'].contains(&first)
        && marks.clone().take(4).all(|mark| mark.is_ascii_hexdigit() || mark == 'x');
    if is_code {
        return Some(CODE);
    }
    KEYWORDS.contains(word).then_some(KEYWORD)
}
