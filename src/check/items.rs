//! Each item of the file, in turn. Clauses, limits, questions, tables and cases have files of their own.

use super::Adopt;
use super::conditions::Place;
use super::context::Context;
use super::properties::DECIDING;
use crate::model::{CodeGroup, CodeRange, Monitor, MonitorSet};
use crate::program::block::{Acknowledgement, Advice, Consequence, ConsequenceKind, Excused, LeftOutBy};
use crate::program::{Class, Condition, Item};
use crate::syntax::ast::{self, Counted, File, Kind, PropertyKind, Word};
use crate::syntax::words::of_today;

pub(super) fn check(cx: &mut Context, file: &File, adopt: &dyn Adopt) {
    for item in &file.items {
        cx.item(item, adopt);
    }
}

impl Context {
    fn item(&mut self, item: &ast::Item, adopt: &dyn Adopt) {
        match &item.kind {
            Kind::Clause { id, topic } => self.clause_item(item, id, topic),
            Kind::Change { id, kind, text } => self.change_item(item, id, kind, text),
            Kind::Limit { id } => self.limit_item(item, id.as_ref()),
            Kind::Question { id, text } => self.question_item(item, id, text),
            Kind::Option { id, text, values } => self.option_item(item, id, text, values),
            Kind::Table { id } => self.table_item(item, id, adopt),
            Kind::Advice { monitors } => self.advice_item(item, monitors),
            Kind::Presumes { assignment, condition } => self.presumes_item(item, assignment, condition.as_ref()),
            Kind::Acknowledges { code, subject, reason } => {
                self.properties("`acknowledges`", &item.properties, &[]);
                if reason.node.trim().is_empty() {
                    let help = "say why the warning is a feature of the law: `\"the law keeps a tier that no vehicle reaches\"`";
                    self.error("check/reason-missing", reason.span, "the acknowledgement gives no reason", help);
                }
                self.program.acknowledged.push(Acknowledgement {
                    code: code.node.clone(),
                    subject: subject.as_ref().map(|word| of_today(&word.node)),
                    reason: reason.node.clone(),
                    span: item.span,
                });
            }
            // Others have passes of their own.
            Kind::Program { .. }
            | Kind::Source { .. }
            | Kind::Outcomes(_)
            | Kind::Period { .. }
            | Kind::Areas { .. }
            | Kind::Adopts { .. }
            | Kind::Fact { .. }
            | Kind::Result { .. }
            | Kind::Ordinary(_)
            | Kind::Case { .. } => {}
            _ => self.plain_item(item),
        }
    }

    /// Items that carry only the properties of any deciding item.
    fn plain_item(&mut self, item: &ast::Item) {
        let owner = owner(&item.kind);
        let (common, _) = self.properties(owner, &item.properties, &[DECIDING]);
        if let Some(said) = self.said(&item.kind, item) {
            self.push(said, common, item.span);
        }
    }

    fn said(&mut self, kind: &Kind, item: &ast::Item) -> Option<Item> {
        Some(match kind {
            Kind::InForce => Item::InForce,
            Kind::Age { plus } => {
                let plus = plus.as_ref();
                if let Some(number) = plus.filter(|plus| !(0..=1).contains(&plus.node)) {
                    let help = "programs count test year less model year, or that plus 1";
                    self.error("check/out-of-range", number.span, "an age is counted plus 0 or plus 1", help);
                }
                Item::Age { plus: plus.map_or(0, |plus| plus.node) }
            }
            Kind::Covers(condition) => Item::Covers(self.condition(condition, Place::Anywhere)),
            Kind::LeavesOut { condition, outcome, why } => Item::LeavesOut {
                word: LeftOutBy::LeavesOut,
                condition: self.condition(condition, Place::Anywhere),
                outcome: self.left_out_outcome(outcome)?,
                why: text(why.as_ref()),
            },
            Kind::Exempts { condition, why } => Item::LeavesOut {
                word: LeftOutBy::Exempts,
                condition: self.condition(condition, Place::Anywhere),
                outcome: None,
                why: text(why.as_ref()),
            },
            Kind::Sends { outcome, condition, why } => {
                let condition = self.condition(condition, Place::Anywhere);
                let Some(place) = self.left_out_outcome(outcome)? else {
                    let help = "say `exempts where …`";
                    self.error("check/left-out-outcome", outcome.span, "`not-subject` is no other test", help);
                    return None;
                };
                Item::LeavesOut { word: LeftOutBy::Sends, condition, outcome: Some(place), why: text(why.as_ref()) }
            }
            Kind::Due { every, condition, why } => Item::Due {
                every: every.as_ref().and_then(|every| self.interval(every)),
                condition: self.condition_or_always(condition.as_ref()),
                why: text(why.as_ref()),
            },
            Kind::Counts(counted) => self.counts(counted, item),
            Kind::Excuses { which, condition } => {
                let condition = self.condition_or_always(condition.as_ref());
                let which = match which {
                    ast::Excused::Monitors(words) => {
                        self.not_empty(item.span, words);
                        Excused::Monitors(self.monitors(words))
                    }
                    ast::Excused::EarlierIncomplete => Excused::EarlierIncomplete,
                    ast::Excused::Table(word) => Excused::Table(self.table(word)?),
                };
                Item::Excuses { which, condition }
            }
            Kind::Finding { id, condition } => {
                Item::Finding { id: id.node.clone(), condition: self.condition(condition, Place::Anywhere) }
            }
            Kind::CodeGroup { id, codes, unread, all_unread } => {
                let ranges = self.patterns(codes, item.span);
                let mut unread = self.patterns(unread, item.span);
                if *all_unread {
                    unread = vec![CodeRange { first: 0, last: u16::MAX, digits_only: false }];
                }
                Item::CodeGroup { id: id.node.clone(), group: CodeGroup { ranges, unread } }
            }
            Kind::Silent(topics) => Item::Silent(self.topics(topics)),
            Kind::Unread(topics) => Item::Unread(self.topics(topics)),
            Kind::Becomes { from, to, condition } => {
                let condition = self.condition_or_always(condition.as_ref());
                let places = (self.outcome(from), self.outcome(to));
                let (from, to) = (places.0?, places.1?);
                if from == to {
                    let help = "name another outcome";
                    self.error("check/becomes-itself", item.span, "the outcome becomes itself", help);
                }
                Item::Becomes { from, to, condition }
            }
            Kind::Consequence { kind, after, by, alone, condition, text } => {
                self.consequence(kind, after, (by.as_ref(), alone.is_some()), condition.as_ref(), text)?
            }
            Kind::NotExpressible { text, could_turn, into, condition } => Item::NotExpressible {
                text: text.node.clone(),
                concerns: self.condition_or_always(condition.as_ref()),
                could_turn: self.verdicts(could_turn, &[Class::NotSubject]),
                into: self.verdicts(into, &[Class::NotSubject]),
            },
            _ => return None,
        })
    }

    fn counts(&mut self, counted: &Counted, item: &ast::Item) -> Item {
        let all = || Monitor::all().filter(|monitor| !monitor.is_continuous());
        let (monitors, unsupported_as_incomplete) = match counted {
            Counted::Supported => (MonitorSet::ALL, false),
            Counted::SupportedNotContinuous => (all().collect(), false),
            // The texts that write so mean the eight of the spark table: no car carries them and the others too.
            Counted::NotContinuousUnsupportedIncomplete => {
                let eight = all().filter(|monitor| monitor.is_spark_only() || *monitor == Monitor::EgrVvt);
                (eight.collect(), true)
            }
            Counted::Among(words) => {
                self.not_empty(item.span, words);
                (self.monitors(words), false)
            }
        };
        Item::Counts { monitors, unsupported_as_incomplete }
    }

    /// `not-subject`, or an outcome of class other-test.
    fn left_out_outcome(&mut self, word: &Word) -> Option<Option<usize>> {
        if word.node == Class::NotSubject.word() {
            return Some(None);
        }
        let known: Vec<(String, Class)> =
            self.program.outcomes.iter().map(|outcome| (outcome.name.clone(), outcome.class)).collect();
        match known.iter().position(|(name, _)| *name == word.node) {
            None => {
                let names = known.iter().map(|(name, _)| name.as_str()).chain([Class::NotSubject.word()]);
                self.unknown("check/unknown-outcome", "outcome", word, names);
                None
            }
            Some(place) if known.get(place).is_some_and(|(_, class)| *class != Class::OtherTest) => {
                let message = format!("a vehicle that is left out cannot get `{}`", word.node);
                let help = "say `not-subject`, or an outcome of class other-test; what passes or fails is for clauses";
                self.error("check/left-out-outcome", word.span, message, help);
                None
            }
            place => Some(place),
        }
    }

    pub(super) fn topics(&mut self, words: &[Word]) -> Vec<crate::program::Topic> {
        let mut topics = Vec::new();
        for word in words {
            let Some(topic) = self.topic(word) else { continue };
            if topics.contains(&topic) {
                self.error("check/listed-twice", word.span, format!("`{}` is listed twice", word.node), "list it once");
            } else {
                topics.push(topic);
            }
        }
        topics
    }

    /// Outcomes by name; verdicts of these reserved classes are among them.
    pub(super) fn verdicts(&mut self, words: &[Word], reserved: &[Class]) -> Vec<String> {
        let is_reserved = |word: &Word| reserved.iter().any(|class| word.node == class.word());
        let kept = words.iter().filter(|word| is_reserved(word) || self.outcome(word).is_some());
        kept.map(|word| word.node.clone()).collect()
    }

    fn consequence(
        &mut self,
        kind: &Word,
        after: &Word,
        (by, alone): (Option<&Word>, bool),
        condition: Option<&ast::Condition>,
        text: &Word,
    ) -> Option<Item> {
        let known = ConsequenceKind::named(&kind.node);
        if known.is_none() {
            let words = ConsequenceKind::ALL.iter().map(|(_, word)| *word);
            self.unknown("check/unknown-word", "kind of consequence", kind, words);
        }
        let condition = self.condition_or_always(condition);
        let after = self.outcome(after);
        let by = match by {
            Some(word) => Some(self.clause(word)?),
            None => None,
        };
        let text = text.node.clone();
        Some(Item::Consequence(Consequence { kind: known?, after: after?, by, alone, condition, text }))
    }

    fn advice_item(&mut self, item: &ast::Item, words: &[Word]) {
        let allowed = ["per", "message", "takes", "first", "caution", "where"];
        let (common, properties) = self.properties("`advice`", &item.properties, &[&allowed]);
        self.not_empty(item.span, words);
        let mut advice = Advice {
            monitors: self.monitors(words),
            text: String::new(),
            minutes: None,
            preconditions: Vec::new(),
            cautions: Vec::new(),
            condition: Condition::always(),
            basis: common.basis,
            origin: self.origin(item.span),
        };
        for property in properties {
            match &property.kind {
                PropertyKind::Message(text) => advice.text.clone_from(&text.node),
                PropertyKind::Takes { least, most } => {
                    if most.node < least.node {
                        let message = "the second number is below the first";
                        self.error("check/bounds-reversed", most.span, message, "write the lower one first");
                    }
                    advice.minutes = Some((least.node, most.node));
                }
                PropertyKind::First(text) => advice.preconditions.push(text.node.clone()),
                PropertyKind::Caution(text) => advice.cautions.push(text.node.clone()),
                PropertyKind::Where(condition) => advice.condition = self.condition(condition, Place::Anywhere),
                _ => {}
            }
        }
        if advice.text.is_empty() {
            let help = "add a text under it: what usually completes these monitors";
            self.error("check/part-missing", item.span, "the advice says nothing", help);
        }
        self.program.advice.push(advice);
    }
}

fn text(word: Option<&Word>) -> String {
    word.map(|word| word.node.clone()).unwrap_or_default()
}

fn owner(kind: &Kind) -> &'static str {
    match kind {
        Kind::InForce => "`in force`",
        Kind::Age { .. } => "`age`",
        Kind::Covers(_) => "`covers`",
        Kind::LeavesOut { .. } => "`leaves out`",
        Kind::Due { .. } => "`due`",
        Kind::Counts(_) => "`counts`",
        Kind::Excuses { .. } => "`excuses`",
        Kind::Finding { .. } => "a finding",
        Kind::CodeGroup { .. } => "a code group",
        Kind::Silent(_) => "`text silent on`",
        Kind::Unread(_) => "`no rule applied on`",
        Kind::Becomes { .. } => "`outcome … becomes`",
        Kind::Consequence { .. } => "a consequence",
        Kind::NotExpressible { .. } => "`not expressible here`",
        _ => "this item",
    }
}
