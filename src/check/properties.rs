//! Which properties an item may carry, and the ones that any deciding item may: dates, readings, basis. A property in
//! the wrong place is told where it belongs.

use super::context::Context;
use crate::diagnostic::Diagnostic;
use crate::model::Date;
use crate::program::{Citation, Under, Window};
use crate::syntax::ast::{Property, PropertyKind, Word};
use std::collections::BTreeMap;

/// Properties that any deciding item may carry.
#[derive(Debug, Clone, Default)]
pub(super) struct Common {
    pub(super) window: Window,
    pub(super) published: Option<Date>,
    pub(super) draft: bool,
    /// The announced change that a draft is part of.
    pub(super) change: Option<String>,
    pub(super) under: Vec<Under>,
    pub(super) basis: Vec<Citation>,
}

/// What is no item, and has citations that may have dates of their own.
const LINES: [&str; 2] = ["a line of a clause", "a row of a limit"];

/// What is written in place of a silence about some vehicles.
const OF_ALL: &str = "this is said of all vehicles; what the text has for some is a clause with `concerns` or `where`";
/// How rows are written that did not stand all the time.
const TWO_LIMITS: &str = "a row has no dates of its own: write two `limit` blocks of the same name, each with all its rows, one with \
                          `through DATE` under it and the other with `from DATE`";

/// Names of the properties that any deciding item may carry.
pub(super) const DECIDING: &[&str] = &["per", "from", "through", "in", "published", "draft", "only if"];

/// The property's name, where it belongs, and whether it may be repeated.
fn about(kind: &PropertyKind) -> (&'static str, &'static str, bool) {
    match kind {
        PropertyKind::Authority(_) => ("authority", "the `program` item", false),
        PropertyKind::Language(_) => ("language", "the `program` item", false),
        PropertyKind::Standing(_) => ("standing", "the `program` item", false),
        PropertyKind::AdoptedOnly => ("adopted only", "the `program` item", false),
        PropertyKind::From(_) => ("from", "an item that decides, or `in force`", false),
        PropertyKind::Through(_) => ("through", "an item that decides, or `in force`", false),
        PropertyKind::Published(_) => ("published", "an item that decides", false),
        PropertyKind::Draft { .. } => ("draft", "an item that decides", false),
        PropertyKind::InPeriod(_) => ("in", "an item that decides", false),
        PropertyKind::Reviewed { .. } => ("reviewed", "the `program` item", false),
        PropertyKind::CouldTurn { .. } => ("could turn", "a `change`", true),
        PropertyKind::EveryOtherGivesWay(_) => ("reading gives way", "a reading of a question", true),
        PropertyKind::OnlyIf { .. } => ("only if", "an item that decides, or a line of a clause", true),
        PropertyKind::Per(_) => ("per", "an item that decides, a row or a line", true),
        PropertyKind::Concerns(_) => ("concerns", "a clause or one of its lines", false),
        PropertyKind::Where(_) => ("where", "`advice`, or a clause", false),
        PropertyKind::Message(_) => ("message", "a clause, one of its lines, or `advice`", false),
        PropertyKind::GivesWay(_) => ("gives way", "a clause", true),
        PropertyKind::OtherGivesWay { .. } => ("reading gives way", "a reading of a question", true),
        PropertyKind::Taken { .. } => ("taken", "a `question`", false),
        PropertyKind::Chosen(_) => ("chosen", "an `option`", false),
        PropertyKind::With { .. } => ("with", "`adopts`", true),
        PropertyKind::Strikes { .. } => ("strikes", "`adopts`", true),
        PropertyKind::TheirIsOur { .. } => ("their", "`adopts`", true),
        PropertyKind::RowsFrom(_) => ("rows from", "a `table`", true),
        PropertyKind::ObservedBy(_) => ("observed by", "a `fact` or `result`", false),
        PropertyKind::Asks(_) => ("asks", "a `fact` or `result`", false),
        PropertyKind::Takes { .. } => ("takes", "`advice`", false),
        PropertyKind::First(_) => ("first", "`advice`", true),
        PropertyKind::Caution(_) => ("caution", "`advice`", true),
        PropertyKind::On(_) => ("on", "a `case`", false),
        PropertyKind::KnownOn(_) => ("known on", "a `case`", false),
        PropertyKind::Take { .. } => ("take", "a `case`", true),
        PropertyKind::Facts(_) => ("facts", "a `case`", false),
        PropertyKind::Expect { .. } => ("expect", "a `case`", false),
        PropertyKind::Brings { .. } => ("brings", "a `case`", true),
        PropertyKind::IsDue { .. } => ("is due", "a `case`", false),
        PropertyKind::Line(_) => ("line", "a clause", true),
        PropertyKind::Bullet(_) => ("bullet", "a clause, limit, question, table or `areas`", true),
    }
}

impl Context {
    /// Takes the common properties, reports those that do not belong to `owner`, and gives back the others.
    pub(super) fn properties<'a>(
        &mut self,
        owner: &str,
        properties: &'a [Property],
        allowed: &[&[&str]],
    ) -> (Common, Vec<&'a Property>) {
        let mut common = Common::default();
        let mut rest = Vec::new();
        let mut seen = BTreeMap::new();
        let mut ends = (None, None);
        let (mut period, mut within) = (None, None);
        let dated = allowed.iter().any(|names| names.contains(&"from")) || LINES.contains(&owner);
        for property in properties {
            let (name, home, may_repeat) = about(&property.kind);
            if !allowed.iter().any(|names| names.contains(&name)) {
                let message = format!("`{}` does not belong to {owner}", shown(name));
                let help = match (owner, name) {
                    ("a row of a limit", "from" | "through" | "in") => TWO_LIMITS.to_owned(),
                    ("`text silent on`" | "`no rule applied`", "where") => OF_ALL.to_owned(),
                    _ => format!("it belongs to {home}"),
                };
                self.error("check/property-misplaced", property.span, message, help);
                continue;
            }
            if let Some(before) = seen.insert(name, property.span)
                && !may_repeat
            {
                let diagnostic = Diagnostic::error(
                    "check/property-repeated",
                    property.span,
                    format!("`{}` is said twice of {owner}", shown(name)),
                );
                self.report(diagnostic.also(before, "first said here").help("keep one of them"));
                continue;
            }
            match &property.kind {
                PropertyKind::From(word) => {
                    common.window.from = self.date(word);
                    ends.0 = Some(word);
                }
                PropertyKind::Through(word) => {
                    common.window.through = self.date(word);
                    ends.1 = Some(word);
                }
                PropertyKind::Published(word) => common.published = self.date(word),
                PropertyKind::Draft { of } => {
                    common.draft = true;
                    common.change = of.as_ref().and_then(|word| self.change(word));
                }
                PropertyKind::InPeriod(word) => {
                    period = Some(property.span);
                    within = self.period(word);
                }
                PropertyKind::OnlyIf { name, value, .. } => common.under.extend(self.under(name, value)),
                PropertyKind::Per(citation) => {
                    if let Some(date) =
                        citation.from.as_ref().or(citation.through.as_ref()).or(citation.period.as_ref())
                        && !dated
                    {
                        let message = format!("the citations of {owner} have no dates of their own");
                        self.error("check/property-misplaced", date.span, message, "leave the date out");
                    }
                    common.basis.extend(self.citation(citation));
                }
                _ => rest.push(property),
            }
        }
        if let (Some(span), Some(word)) = (period, ends.0.or(ends.1)) {
            let diagnostic =
                Diagnostic::error("check/property-repeated", word.span, "the dates stand in a period already");
            self.report(diagnostic.also(span, "the period").help("say the dates, or name the period"));
        } else if let Some(window) = within {
            common.window = window;
        }
        self.window_ends(&common.window, ends);
        self.consistent(&common.under, properties);
        (common, rest)
    }

    /// The dates of a period.
    pub(super) fn period(&mut self, word: &Word) -> Option<Window> {
        let found = self.names.periods.get(&word.node).copied();
        if found.is_none() {
            let known: Vec<String> = self.names.periods.keys().cloned().collect();
            self.unknown("check/unknown-period", "period", word, known.iter().map(String::as_str));
        }
        found
    }

    /// The id of an announced change.
    fn change(&mut self, word: &Word) -> Option<String> {
        let known = self.names.changes.clone();
        self.member("check/unknown-change", "announced change", word, &known)
    }

    pub(super) fn window_ends(&mut self, window: &Window, words: (Option<&Word>, Option<&Word>)) {
        if let (Window { from: Some(from), through: Some(through) }, (Some(begins), Some(ends))) = (window, words)
            && through < from
        {
            let diagnostic =
                Diagnostic::error("check/ends-before-it-begins", ends.span, format!("{through} is before {from}"));
            let diagnostic = diagnostic.also(begins.span, "begins here");
            self.report(diagnostic.help("both days are included: the last may not be before the first"));
        }
    }

    /// The reading or value a block stands under.
    pub(super) fn under(&mut self, name: &Word, value: &Word) -> Option<Under> {
        if let Some(readings) = self.names.questions.get(&name.node).cloned() {
            if !readings.contains(&value.node) {
                let what = format!("reading of question `{}`:", name.node);
                self.unknown("check/unknown-reading", &what, value, readings.iter().map(String::as_str));
                return None;
            }
        } else if let Some(values) = self.names.options.get(&name.node).cloned() {
            if !values.contains(&value.node) {
                let what = format!("value of option `{}`:", name.node);
                self.unknown("check/unknown-value", &what, value, values.iter().map(String::as_str));
                return None;
            }
        } else {
            let known: Vec<String> = self.names.questions.keys().chain(self.names.options.keys()).cloned().collect();
            self.unknown("check/unknown-question", "question or option", name, known.iter().map(String::as_str));
            return None;
        }
        Some(Under { name: name.node.clone(), value: value.node.clone() })
    }

    fn consistent(&mut self, under: &[Under], properties: &[Property]) {
        for (place, one) in under.iter().enumerate() {
            let clash = under.iter().take(place).find(|other| other.name == one.name && other.value != one.value);
            let span = properties.iter().rev().find_map(|property| match &property.kind {
                PropertyKind::OnlyIf { name, value, .. } if name.node == one.name && value.node == one.value => {
                    Some(property.span)
                }
                _ => None,
            });
            if let (Some(other), Some(span)) = (clash, span) {
                let message = format!("`{}` cannot be both `{}` and `{}`", one.name, other.value, one.value);
                let help = "several `only if` must all hold; write one item for each reading";
                self.error("check/readings-clash", span, message, help);
            }
        }
    }
}

fn shown(name: &str) -> &str {
    match name {
        "message" => "\"…\"",
        "reading gives way" => "… gives way to …",
        "gives way" => "gives way to",
        "their" => "their … is our …",
        "from" => "in force from",
        "through" => "in force through",
        "in" => "in force during",
        "only if" => "only if … is read as …",
        "could turn" => "could turn … into …",
        "line" => "… where …",
        "bullet" => "- …",
        other => other,
    }
}
