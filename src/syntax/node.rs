//! A parsed pair with the place of its item in the file, and the few ways in which the tree is read from it.

use super::ast::Word;
use super::grammar::Rule;
use crate::source::{Span, Spanned};
use pest::iterators::Pair;

/// A pair of the grammar, placed in the file.
#[derive(Clone)]
pub(super) struct Node<'t> {
    pair: Pair<'t, Rule>,
    base: usize,
}

impl<'t> Node<'t> {
    /// A pair of a parse that began at byte `base` of the file.
    pub(super) fn new(pair: Pair<'t, Rule>, base: usize) -> Node<'t> {
        Node { pair, base }
    }

    pub(super) fn rule(&self) -> Rule {
        self.pair.as_rule()
    }

    /// The words, without the space that a rule with optional ends takes in after them.
    pub(super) fn text(&self) -> &'t str {
        self.pair.as_str().trim_end()
    }

    pub(super) fn span(&self) -> Span {
        let start = self.base + self.pair.as_span().start();
        Span::new(start, start + self.text().len())
    }

    pub(super) fn start(&self) -> usize {
        self.base + self.pair.as_span().start()
    }

    pub(super) fn children(&self) -> impl Iterator<Item = Node<'t>> + use<'t> {
        let base = self.base;
        self.pair.clone().into_inner().map(move |pair| Node { pair, base })
    }

    /// The first child of a rule.
    pub(super) fn child(&self, rule: Rule) -> Option<Node<'t>> {
        self.children().find(|node| node.rule() == rule)
    }

    /// The first child.
    pub(super) fn first(&self) -> Option<Node<'t>> {
        self.children().next()
    }

    pub(super) fn has(&self, rule: Rule) -> bool {
        self.child(rule).is_some()
    }

    /// The words, one space between them.
    pub(super) fn phrase(&self) -> String {
        self.text().split_whitespace().collect::<Vec<_>>().join(" ")
    }

    /// The words as a word of the tree.
    pub(super) fn word(&self) -> Word {
        Spanned::new(self.phrase(), self.span())
    }

    /// A text without its quotes and escapes; the place has the quotes in it.
    pub(super) fn unquoted(&self) -> Word {
        let inner = self.text().strip_prefix('"').unwrap_or(self.text());
        let inner = inner.strip_suffix('"').unwrap_or(inner);
        let mut text = String::with_capacity(inner.len());
        let mut characters = inner.chars();
        while let Some(character) = characters.next() {
            text.push(if character == '\\' { characters.next().unwrap_or('\\') } else { character });
        }
        Spanned::new(text, self.span())
    }

    /// The number; the scan has refused those that do not fit.
    pub(super) fn number(&self) -> Option<Spanned<i64>> {
        self.text().parse().ok().map(|number| Spanned::new(number, self.span()))
    }

    /// The word of the first child of a rule.
    pub(super) fn word_of(&self, rule: Rule) -> Option<Word> {
        self.child(rule).map(|node| node.word())
    }

    /// The text of the first child that is a text.
    pub(super) fn text_of(&self) -> Option<Word> {
        self.child(Rule::text).map(|node| node.unquoted())
    }

    /// The number of the first child that is a number.
    pub(super) fn number_of(&self) -> Option<Spanned<i64>> {
        self.child(Rule::number).and_then(|node| node.number())
    }

    /// The numbers among the children, the first and the second.
    pub(super) fn two_numbers(&self) -> Option<(Spanned<i64>, Spanned<i64>)> {
        let mut numbers = self.children().filter(|node| node.rule() == Rule::number).filter_map(|node| node.number());
        Some((numbers.next()?, numbers.next()?))
    }

    /// The words of all children of a rule.
    pub(super) fn words_of(&self, rule: Rule) -> Vec<Word> {
        self.children().filter(|node| node.rule() == rule).map(|node| node.word()).collect()
    }

    /// The words of the list that is a child: of `monitor`s in the `monitor_list`.
    pub(super) fn list_of(&self, list: Rule, rule: Rule) -> Option<Vec<Word>> {
        self.child(list).map(|node| node.words_of(rule))
    }
}
