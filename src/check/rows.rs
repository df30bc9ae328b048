//! Limits and their rows.

use super::conditions::Place;
use super::context::Context;
use super::limits::LIMIT_ROWS;
use super::names::STANDARD_LIMIT;
use super::properties::{Common, DECIDING};
use crate::program::block::{Allowance, LimitRow};
use crate::program::{Condition, Item, Test, Under};
use crate::source::Span;
use crate::syntax::ast::{self, BulletKind, Property, PropertyKind, Word};

impl Context {
    /// A limit.
    pub(super) fn limit_item(&mut self, item: &ast::Item, id: Option<&Word>) {
        let (common, properties) = self.properties("a limit", &item.properties, &[DECIDING, &["bullet"]]);
        let (mut rows, mut bullets) = (Vec::new(), false);
        for property in properties {
            let PropertyKind::Bullet(bullet) = &property.kind else { continue };
            bullets = true;
            match &bullet.kind {
                BulletKind::LimitRow { condition, allowance } => {
                    let condition = self.condition(condition, Place::Anywhere);
                    rows.extend(self.limit_row(condition, allowance, &bullet.properties, property.span));
                }
                _ => self.wrong_bullet(property.span, "a limit", "`CONDITION: at most N` and its like"),
            }
        }
        if !bullets {
            let help = "add rows under it: `- every vehicle: none incomplete`, `- model year 2001 or later: at most 1 \
                        incomplete`";
            self.error("check/nothing-listed", item.span, "the limit has no row", help);
        }
        self.at_most(item.span, rows.len(), LIMIT_ROWS, "rows of one limit");
        let id = id.map_or(STANDARD_LIMIT.to_owned(), |id| id.node.clone());
        self.push(Item::Limit { id, rows }, common, item.span);
    }

    fn limit_row(
        &mut self,
        condition: Condition<String>,
        allowance: &ast::Allowance,
        properties: &[Property],
        span: Span,
    ) -> Option<LimitRow<String>> {
        let (Common { basis, under, .. }, _) = self.properties("a row of a limit", properties, &[&["per", "only if"]]);
        let condition = under.iter().try_fold(condition, |condition, under| self.only_under(condition, under, span))?;
        let limit = match allowance {
            ast::Allowance::Nothing => Allowance::AtMost { count: 0, only: None },
            ast::Allowance::AtMost { count, only } => {
                self.count_within(count, 0, 32)?;
                let only = only.as_ref().map(|monitors| self.monitors(monitors));
                Allowance::AtMost { count: count.node, only }
            }
            ast::Allowance::AtLeastComplete(count) => {
                self.count_within(count, 1, 32)?;
                Allowance::AtLeastComplete(count.node)
            }
            ast::Allowance::NotRead => Allowance::NotRead,
        };
        Some(LimitRow { condition, limit, basis, span })
    }

    /// A row that stands under one reading of a question.
    fn only_under(&mut self, condition: Condition<String>, under: &Under, span: Span) -> Option<Condition<String>> {
        let Some(readings) = self.names.questions.get(&under.name) else {
            let message = format!("a row cannot depend on option `{}`", under.name);
            self.error(
                "check/guard-not-here",
                span,
                message,
                "write one limit for each value, with `only if` on the limit",
            );
            return None;
        };
        let reading = readings.iter().position(|reading| *reading == under.value)?;
        Some(condition.and(Condition::Test(Test::Reading { question: under.name.clone(), reading })))
    }
}
