//! Clauses and their lines.

use super::conditions::Place;
use super::context::Context;
use super::limits::LINES;
use super::properties::{Common, DECIDING};
use crate::diagnostic::Diagnostic;
use crate::program::block::{Clause, ClauseLine, GivesWayTo};
use crate::program::{Condition, Item, Topic};
use crate::source::Span;
use crate::syntax::ast::{self, BulletKind, Line, Property, PropertyKind, Word};

impl Context {
    /// A clause.
    pub(super) fn clause_item(&mut self, item: &ast::Item, id: &Word, topic: &Word) {
        let own = ["concerns", "where", "message", "gives way", "line", "bullet"];
        let (common, properties) = self.properties("a clause", &item.properties, &[DECIDING, &own]);
        let mut clause = Clause {
            id: id.node.clone(),
            topic: Topic::Other,
            concerns: Condition::always(),
            lines: Vec::new(),
            gives_way: Vec::new(),
            message: String::new(),
        };
        let topic = self.topic(topic);
        let mut case = Condition::always();
        let mut single: Option<Span> = None;
        let mut bullets: Option<Span> = None;
        for property in properties {
            match &property.kind {
                PropertyKind::Concerns(condition) => clause.concerns = self.condition(condition, Place::Anywhere),
                PropertyKind::Where(condition) => case = self.condition(condition, Place::Anywhere),
                PropertyKind::Message(text) => clause.message.clone_from(&text.node),
                PropertyKind::GivesWay(to) => clause.gives_way.extend(self.gives_way_to(to, Some(id))),
                PropertyKind::Line(line) => {
                    if let Some(before) = single.replace(property.span) {
                        let message = "a second line without a bullet";
                        let diagnostic = Diagnostic::error("check/mixed-lines", property.span, message);
                        let diagnostic = diagnostic.also(before, "the first line");
                        self.report(diagnostic.help("begin each line with `- ` where a clause has several"));
                    }
                    clause.lines.extend(self.line(line, &[], property.span));
                }
                PropertyKind::Bullet(bullet) => match &bullet.kind {
                    BulletKind::Line(line) => {
                        bullets.get_or_insert(property.span);
                        clause.lines.extend(self.line(line, &bullet.properties, property.span));
                    }
                    _ => self.wrong_bullet(
                        property.span,
                        "a clause",
                        "`OUTCOME where …` or `requires …, or else OUTCOME`",
                    ),
                },
                _ => {}
            }
        }
        if let (Some(line), Some(bullet)) = (single, bullets) {
            let diagnostic = Diagnostic::error("check/mixed-lines", line, "a line without a bullet beside bullets");
            self.report(diagnostic.also(bullet, "a bullet").help("begin each line with `- `"));
        }
        if single.is_none() && bullets.is_none() {
            let help = "say `OUTCOME where …` or `requires …, or else OUTCOME` under it";
            let message = format!("clause `{}` has no line", id.node);
            self.error("check/clause-without-line", id.span, message, help);
        }
        self.at_most(item.span, clause.lines.len(), LINES, "lines of one clause");
        if case != Condition::always() {
            // What holds for every line comes first, as it is written.
            for line in &mut clause.lines {
                let own = std::mem::replace(&mut line.unmet_where, Condition::never());
                line.unmet_where = Condition::every(vec![case.clone(), own]);
            }
        }
        clause.gives_way.sort();
        clause.gives_way.dedup();
        if let Some(topic) = topic {
            clause.topic = topic;
            self.push(Item::Clause(clause), common, item.span);
        }
    }

    fn line(&mut self, line: &Line, properties: &[Property], span: Span) -> Option<ClauseLine> {
        let allowed = ["per", "only if", "message", "concerns"];
        let (Common { basis, under, .. }, rest) = self.properties("a line of a clause", properties, &[&allowed]);
        let mut message = String::new();
        let mut concerns = Condition::always();
        for property in rest {
            match &property.kind {
                PropertyKind::Message(text) => message.clone_from(&text.node),
                PropertyKind::Concerns(condition) => concerns = self.condition(condition, Place::Anywhere),
                _ => {}
            }
        }
        let condition = self.condition(&line.condition, Place::Anywhere);
        let unmet_where = if line.requires { condition.negated() } else { condition };
        let outcome = self.outcome(&line.outcome)?;
        if outcome == 0 {
            let message = format!("`{}` is what a vehicle gets when no line is unmet", line.outcome.node);
            self.error("check/pass-line", line.outcome.span, message, "a line leads to a graver outcome");
            return None;
        }
        Some(ClauseLine { unmet_where, requires: line.requires, outcome, concerns, message, basis, under, span })
    }

    /// What a clause gives way to.
    pub(super) fn gives_way_to(&mut self, to: &ast::GivesWayTo, from: Option<&Word>) -> Option<GivesWayTo> {
        match to {
            ast::GivesWayTo::Clause(word) => {
                let id = self.clause(word)?;
                if from.is_some_and(|from| from.node == id) {
                    let message = format!("clause `{id}` gives way to itself");
                    self.error("check/gives-way-to-itself", word.span, message, "name another clause");
                    return None;
                }
                Some(GivesWayTo::Clause(id))
            }
            ast::GivesWayTo::AnyOutcome(word) => self.outcome(word).map(GivesWayTo::AnyOutcome),
        }
    }

    /// The topic.
    pub(super) fn topic(&mut self, word: &Word) -> Option<Topic> {
        let topic = Topic::ALL.iter().find(|(_, known)| *known == word.node).map(|(topic, _)| *topic);
        if topic.is_none() {
            self.unknown("check/unknown-topic", "topic", word, Topic::ALL.iter().map(|(_, known)| *known));
        }
        topic
    }

    /// Reports a bullet of another kind of item.
    pub(super) fn wrong_bullet(&mut self, span: Span, owner: &str, wanted: &str) {
        let message = format!("a bullet of this kind does not belong to {owner}");
        self.error("check/property-misplaced", span, message, format!("its bullets say {wanted}"));
    }
}
