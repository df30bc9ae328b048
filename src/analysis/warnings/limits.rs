//! Limits: vehicles that no row reaches, rows that overlap, unreachable rows, and limits that are always met.

use super::{Say, Study};
use crate::diagram::compile::Of;
use crate::diagram::forest::{Node, TooLarge};
use crate::program::flat::{FlatLimitRow, Limit};
use crate::program::{Condition, Flat, Test};
use std::collections::BTreeSet;

/// Limits that a condition asks, named conditions followed.
fn asked(flat: &Flat, condition: &Condition<usize>, limits: &mut BTreeSet<usize>, depth: usize) {
    condition.each_test(&mut |test| match test {
        Test::Limit { limit, .. } => {
            limits.insert(*limit);
        }
        Test::Finding(place) if depth <= flat.findings.len() => {
            if let Some((_, condition)) = flat.findings.get(*place) {
                asked(flat, condition, limits, depth + 1);
            }
        }
        _ => {}
    });
}

impl Study<'_> {
    pub(super) fn limits(&mut self) -> Result<(), TooLarge> {
        let flat = self.flat;
        for (place, limit) in flat.limits.iter().enumerate() {
            let mut asking = Node::FALSE;
            for (line, concerned) in flat.lines.iter().zip(self.nodes.concerned.clone()) {
                let mut limits = BTreeSet::new();
                asked(flat, &line.unmet_where, &mut limits, 0);
                asked(flat, &line.concerns, &mut limits, 0);
                if limits.contains(&place) {
                    asking = self.any([asking, concerned])?;
                }
            }
            let asking = self.both(asking, self.dealt)?;
            if asking != Node::FALSE {
                self.limit(place, limit, asking)?;
            }
        }
        Ok(())
    }

    fn limit(&mut self, place: usize, limit: &Limit, asking: Node) -> Result<(), TooLarge> {
        let mut rows = Vec::new();
        for row in &limit.rows {
            let condition = self.condition(&row.condition)?;
            rows.push(self.both(condition, asking)?);
        }
        let reached = self.any(rows.clone())?;
        let hole = self.but_not(asking, reached)?;
        let id = &limit.id;
        let say = |code, message: String, help, row: Option<&FlatLimitRow>| Say {
            code,
            subject: id.clone(),
            message,
            help,
            origin: row.or(limit.rows.first()).map(|row| row.origin.clone()),
        };
        self.found(
            hole,
            say(
                "analysis/limit-hole",
                format!("limit `{id}` has no row for some vehicles that its clauses concern"),
                "add a row for them",
                None,
            ),
        );
        for (at, (row, node)) in limit.rows.iter().zip(&rows).enumerate() {
            for (after, (other, second)) in limit.rows.iter().zip(&rows).enumerate().skip(at + 1) {
                let both = self.both(*node, *second)?;
                if row.limit != other.limit {
                    let message = format!("rows {} and {} of limit `{id}` reach the same vehicles", at + 1, after + 1);
                    self.found(both, say("analysis/limit-overlap", message, "make the rows disjoint", Some(row)));
                }
            }
            if *node == Node::FALSE {
                let message = format!("row {} of limit `{id}` reaches no vehicle that the program deals with", at + 1);
                let help = "if the law still prints it, acknowledge this; else remove the row";
                let near = self.nearest_of(&row.condition)?;
                self.found_near(near, say("analysis/row-reaches-nobody", message, help, Some(row)));
                continue;
            }
            let mut of = Of::new(self.flat, &self.given);
            let over = self.compiled.compiler.limit(&mut of, place, false)?;
            let over = self.both(over, *node)?;
            if over == Node::FALSE {
                let message = format!("row {} of limit `{id}` is met by every vehicle that it reaches", at + 1);
                self.found(
                    *node,
                    say("analysis/limit-always-met", message, "check the number and what is counted", Some(row)),
                );
            }
        }
        Ok(())
    }
}
