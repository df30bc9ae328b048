//! Questions (our doubts) and options (choices that the law gives an adopter).

use super::context::Context;
use super::limits::READINGS;
use super::properties::Common;
use crate::program::block::{Choice, GivesWayTo, Question};
use crate::program::{Citation, Item, Under};
use crate::source::Span;
use crate::syntax::ast::{self, Bullet, BulletKind, PropertyKind, Word};

/// The word that leaves a question open.
const NONE: &str = "none";

impl Context {
    /// A question.
    pub(super) fn question_item(&mut self, item: &ast::Item, id: &Word, text: &Word) {
        let (common, properties) = self.properties("a `question`", &item.properties, &[&["per", "taken", "bullet"]]);
        let mut readings: Vec<(String, String, Vec<Citation>)> = Vec::new();
        let mut taken = None;
        for property in properties {
            match &property.kind {
                PropertyKind::Bullet(bullet) => {
                    if let Some(reading) = self.reading(id, bullet, &common.basis, property.span) {
                        if readings.iter().any(|(known, _, _)| *known == reading.0) {
                            let message = format!("there are two readings `{}`", reading.0);
                            self.error("check/name-twice", property.span, message, "give one of them another name");
                        } else {
                            readings.push(reading);
                        }
                    }
                }
                PropertyKind::Taken { reading, why } => taken = Some((reading, why)),
                _ => {}
            }
        }
        if readings.len() < 2 {
            let message = format!("question `{}` has {} reading(s)", id.node, readings.len());
            self.error("check/too-few-readings", id.span, message, "a doubt has at least two: `- reading ID \"…\"`");
        }
        self.at_most(item.span, readings.len(), READINGS, "readings of one question");
        let why = taken.and_then(|(_, why)| why.as_ref()).map(|why| why.node.clone()).unwrap_or_default();
        let taken = self.taken(id, taken.map(|(reading, _)| reading), &readings);
        let origin = self.origin(item.span);
        let (id, text) = (id.node.clone(), text.node.clone());
        self.program.questions.push(Question { id, text, readings, taken, why, origin });
    }

    fn taken(
        &mut self,
        id: &Word,
        taken: Option<&Word>,
        readings: &[(String, String, Vec<Citation>)],
    ) -> Option<usize> {
        let Some(word) = taken else {
            let message = format!("question `{}` does not say which reading is taken", id.node);
            let help = "add `taken READING \"why\"`, or `left open \"why\"`";
            self.error("check/taken-missing", id.span, message, help);
            return None;
        };
        let place = readings.iter().position(|(known, _, _)| *known == word.node);
        if place.is_none() && word.node != NONE {
            let what = format!("reading of question `{}`:", id.node);
            let known = readings.iter().map(|(known, _, _)| known.as_str()).chain([NONE]);
            self.unknown("check/unknown-reading", &what, word, known);
        }
        place
    }

    fn reading(
        &mut self,
        question: &Word,
        bullet: &Bullet,
        basis: &[Citation],
        span: Span,
    ) -> Option<(String, String, Vec<Citation>)> {
        let BulletKind::Reading { id, text } = &bullet.kind else {
            self.wrong_bullet(span, "a question", "`reading ID \"…\"`");
            return None;
        };
        if id.node == NONE {
            let help = "give the reading another name";
            self.error("check/name-taken", id.span, "`none` says that no reading is taken", help);
        }
        let allowed = ["per", "reading gives way"];
        let (common, properties) = self.properties("a reading of a question", &bullet.properties, &[&allowed]);
        let basis = if common.basis.is_empty() { basis.to_vec() } else { common.basis };
        for property in properties {
            let way = match &property.kind {
                PropertyKind::OtherGivesWay { from, to } => {
                    let (clause, to) = (self.clause(from), self.gives_way_to(to, Some(from)));
                    clause.zip(to).map(|(clause, to)| (Some(clause), to))
                }
                PropertyKind::EveryOtherGivesWay(to) => self.clause(to).map(|to| (None, GivesWayTo::Clause(to))),
                _ => None,
            };
            if let Some((from, to)) = way {
                let under = vec![Under { name: question.node.clone(), value: id.node.clone() }];
                let common = Common { under, basis: basis.clone(), ..Common::default() };
                self.push(Item::GivesWay { from, to }, common, property.span);
            }
        }
        let text = text.as_ref().map(|text| text.node.clone()).unwrap_or_default();
        Some((id.node.clone(), text, basis))
    }

    /// An option.
    pub(super) fn option_item(&mut self, item: &ast::Item, id: &Word, text: &Word, values: &[Word]) {
        let (common, properties) = self.properties("an `option`", &item.properties, &[&["per", "chosen"]]);
        let mut kept: Vec<String> = Vec::new();
        for value in values {
            if kept.contains(&value.node) {
                self.error(
                    "check/listed-twice",
                    value.span,
                    format!("`{}` is listed twice", value.node),
                    "list it once",
                );
            } else {
                kept.push(value.node.clone());
            }
        }
        if kept.len() < 2 {
            let message = format!("option `{}` has nothing to choose from", id.node);
            self.error("check/nothing-listed", id.span, message, "list at least two values");
        }
        let chosen = properties.iter().find_map(|property| match &property.kind {
            PropertyKind::Chosen(word) => Some(word),
            _ => None,
        });
        let place = match chosen {
            None => {
                let message = format!("option `{}` does not say which value is chosen", id.node);
                self.error("check/chosen-missing", id.span, message, "add `chosen VALUE`");
                0
            }
            Some(word) => kept.iter().position(|value| *value == word.node).unwrap_or_else(|| {
                let what = format!("value of option `{}`:", id.node);
                self.unknown("check/unknown-value", &what, word, kept.iter().map(String::as_str));
                0
            }),
        };
        let origin = self.origin(item.span);
        let (id, text) = (id.node.clone(), text.node.clone());
        self.program.options.push(Choice { id, text, values: kept, chosen: place, basis: common.basis, origin });
    }
}
