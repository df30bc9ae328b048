//! Topics without a clause, clauses that never bite or never decide, and pairs that only the ladder ranks.

use super::{Near, Say, Study};
use crate::diagram::exact::deciding;
use crate::diagram::forest::{Node, TooLarge};
use crate::model::Fact;
use crate::program::{Condition, FactRef, Test, Topic};
use std::collections::{BTreeMap, BTreeSet};

impl Study<'_> {
    /// Covered vehicles for which a required topic has no clause that concerns them and is neither silent nor unread.
    /// On readiness at retest only retests are asked about: a first test is dealt with by readiness.
    pub(super) fn gaps(&mut self) -> Result<(), TooLarge> {
        let flat = self.flat;
        for (topic, word) in Topic::ALL.into_iter().filter(|(topic, _)| topic.is_required()) {
            let mut open = self.dealt;
            if topic == Topic::ReadinessAtRetest {
                let retest = Fact::Visit.word_bit("retest").unwrap_or(0);
                if self.compiled.compiler.space.cuts.uses(Fact::Visit) {
                    let test = Test::Word { fact: FactRef::Known(Fact::Visit), words: retest };
                    let retests = self.condition(&Condition::Test(test))?;
                    open = self.both(open, retests)?;
                }
            }
            for (line, concerned) in flat.lines.iter().zip(self.nodes.concerned.clone()) {
                if line.topic == topic {
                    open = self.but_not(open, concerned)?;
                }
            }
            for silence in flat.silences.iter().filter(|silence| silence.topic == topic) {
                let here = self.condition(&silence.condition)?;
                open = self.but_not(open, here)?;
            }
            self.found(
                open,
                Say {
                    code: "analysis/gap",
                    subject: word.to_owned(),
                    message: format!("on {word} some covered vehicles have no clause, and the file does not say why"),
                    help: "add a clause that concerns them, or `text silent on` or `no rule applied on` this topic",
                    origin: None,
                },
            );
        }
        Ok(())
    }

    /// Clauses of which no line is ever unmet, is ever left standing, or ever decides.
    pub(super) fn lines_that_never(&mut self) -> Result<(), TooLarge> {
        let flat = self.flat;
        let mut clauses: BTreeMap<&str, Vec<usize>> = BTreeMap::new();
        for (place, line) in flat.lines.iter().enumerate() {
            clauses.entry(&line.clause).or_default().push(place);
        }
        for (clause, lines) in clauses {
            let (mut concerned, mut unmet, mut standing, mut decides) =
                (Node::FALSE, Node::FALSE, Node::FALSE, Node::FALSE);
            for place in &lines {
                let own = |nodes: &[Node]| nodes.get(*place).copied().unwrap_or(Node::FALSE);
                let (a, b, c) = (own(&self.nodes.concerned), own(&self.nodes.unmet), own(&self.nodes.standing));
                let d = deciding(&mut self.compiled, flat, &self.nodes.clone(), *place)?;
                concerned = self.any([concerned, a])?;
                unmet = self.any([unmet, b])?;
                standing = self.any([standing, c])?;
                decides = self.any([decides, d])?;
            }
            for node in [&mut concerned, &mut unmet, &mut standing, &mut decides] {
                *node = self.both(*node, self.dealt)?;
            }
            let near =
                |vehicles: Node, counted: &str| Near { vehicles, counted: counted.to_owned(), notes: Vec::new() };
            // With the vehicles that it comes nearest to: unmet though it gives way, or what its conditions hold for.
            let of_clause = || lines.iter().filter_map(|place| flat.lines.get(*place));
            let (code, message, help, nearest) = if concerned == Node::FALSE {
                let message = "concerns no vehicle that the program covers";
                let concerns = of_clause().map(|line| line.concerns.clone()).collect();
                let nearest = self.nearest_of(&Condition::either(concerns))?;
                ("analysis/concerns-nobody", message, "check its dates and `concerns`", nearest)
            } else if unmet == Node::FALSE {
                let help = "check its condition for a slip";
                let message = "is met by every vehicle that it concerns";
                // What `requires` asks is met by all; what `fail where` asks, by none.
                let nearest = if of_clause().any(|line| line.requires) {
                    near(concerned, "concerns")
                } else {
                    let unmet = of_clause().map(|line| line.concerns.clone().and(line.unmet_where.clone())).collect();
                    self.nearest_of(&Condition::either(unmet))?
                };
                ("analysis/never-unmet", message, help, nearest)
            } else if standing == Node::FALSE {
                let help = "check what it gives way to";
                let message = "gives way whenever it is unmet";
                ("analysis/always-set-aside", message, help, near(unmet, "unmet and gives way for"))
            } else if decides == Node::FALSE {
                let message = "never decides: a graver clause always does";
                ("analysis/never-decides", message, "check its outcome", near(standing, "unmet for"))
            } else {
                continue;
            };
            let origin = of_clause().next().map(|line| line.origin.clone());
            let message = format!("clause `{clause}` {message}");
            let say = Say { code, subject: clause.to_owned(), message, help, origin };
            self.found_near(nearest, say);
        }
        Ok(())
    }

    /// Clauses that stand together with different outcomes while neither gives way to the other.
    pub(super) fn ranked_by_the_ladder(&mut self) -> Result<(), TooLarge> {
        let flat = self.flat;
        let gives_way = |one: usize, other: usize| {
            flat.lines.get(one).is_some_and(|line| line.gives_way.iter().any(|(place, _)| *place == other))
        };
        let mut pairs: BTreeMap<&str, (BTreeSet<&str>, Node)> = BTreeMap::new();
        for (lesser, less) in flat.lines.iter().enumerate() {
            for (graver, grave) in flat.lines.iter().enumerate() {
                if less.outcome >= grave.outcome || less.clause == grave.clause || gives_way(lesser, graver) {
                    continue;
                }
                let own = |nodes: &[Node], place: usize| nodes.get(place).copied().unwrap_or(Node::FALSE);
                let (a, b) = (own(&self.nodes.standing, lesser), own(&self.nodes.standing, graver));
                let together = self.both(a, b)?;
                let together = self.both(together, self.dealt)?;
                if together != Node::FALSE {
                    let known = pairs.get(less.clause.as_str()).map_or(Node::FALSE, |(_, node)| *node);
                    let joined = self.any([known, together])?;
                    let entry = pairs.entry(&less.clause).or_insert((BTreeSet::new(), Node::FALSE));
                    entry.0.insert(&grave.clause);
                    entry.1 = joined;
                }
            }
        }
        for (clause, (graver, together)) in pairs {
            let names: Vec<String> = graver.iter().map(|clause| format!("`{clause}`")).collect();
            let origin = flat.lines.iter().find(|line| line.clause == clause).map(|line| line.origin.clone());
            self.found(
                together,
                Say {
                    code: "analysis/ranked-by-ladder",
                    subject: clause.to_owned(),
                    message: format!(
                        "clause `{clause}` can be unmet together with {}, and only the ladder ranks them",
                        names.join(", ")
                    ),
                    help: "if the law ranks them, say so with `gives way to`; if it does not, acknowledge this",
                    origin,
                },
            );
        }
        Ok(())
    }

    /// Rows of left-out vehicles that overlap with different outcomes.
    pub(super) fn left_out_twice(&mut self) -> Result<(), TooLarge> {
        let flat = self.flat;
        for (first, one) in flat.left_out.iter().enumerate() {
            for (second, other) in flat.left_out.iter().enumerate().skip(first + 1) {
                if one.outcome == other.outcome {
                    continue;
                }
                let own = |nodes: &[Node], place: usize| nodes.get(place).copied().unwrap_or(Node::FALSE);
                let (a, b) = (own(&self.nodes.left_out, first), own(&self.nodes.left_out, second));
                let together = self.both(a, b)?;
                let together = self.both(together, self.compiled.exist)?;
                self.found(
                    together,
                    Say {
                        code: "analysis/left-out-overlap",
                        subject: one.why.clone(),
                        message: format!(
                            "\"{}\" and \"{}\" leave out the same vehicles with different outcomes",
                            one.why, other.why
                        ),
                        help: "make the rows disjoint, or give them one outcome",
                        origin: Some(one.origin.clone()),
                    },
                );
            }
        }
        Ok(())
    }
}
