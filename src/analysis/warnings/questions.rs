//! Open questions whose readings change nothing, and readings under which no vehicle passes.

use super::{Near, Say, Study};
use crate::diagram::forest::{Join, Node, TooLarge};
use crate::diagram::level::Var;
use crate::program::Class;

/// What is said of a question on which no verdict depends.
pub(super) fn changes_nothing(question: &str) -> Say {
    Say {
        code: "analysis/question-changes-nothing",
        subject: question.to_owned(),
        message: format!("no verdict depends on how question `{question}` is read"),
        help: "remove the question, or write what its readings change",
        origin: None,
    }
}

/// The vehicles for which something in the program turns on the question, though their verdict does not.
pub(super) fn near(vehicles: Node, when: &str) -> Near {
    let note = if vehicles == Node::FALSE {
        format!("nothing that the program asks of a vehicle turns on it{when}")
    } else {
        format!("each of them is ruled the same however it is read{when}")
    };
    Near { vehicles, counted: "some line turns on it for".to_owned(), notes: vec![note] }
}

impl Study<'_> {
    pub(super) fn open_questions(&mut self) -> Result<(), TooLarge> {
        let flat = self.flat;
        let support = self.compiled.compiler.forest.support(self.nodes.ruled);
        let passes = self.verdict_is(|class| class == Class::Pass)?;
        let passes = self.both(passes, self.dealt)?;
        for (place, question) in flat.questions.iter().enumerate().filter(|(_, question)| question.taken.is_none()) {
            let level = Var::question(flat, place).and_then(|var| self.compiled.compiler.space.level(&var));
            let Some(level) = level.filter(|level| support.contains(level)) else {
                let vehicles = self.turned_by(level)?;
                let near = near(vehicles, "");
                self.found_near(near, changes_nothing(&question.id));
                continue;
            };
            for (reading, name) in question.readings.iter().enumerate() {
                let here = self.compiled.compiler.forest.literal(level, |class| class == reading)?;
                let (dealt, passing) = (self.both(self.dealt, here)?, self.both(passes, here)?);
                if dealt != Node::FALSE && passing == Node::FALSE {
                    self.found(
                        dealt,
                        Say {
                            code: "analysis/nobody-passes",
                            subject: question.id.clone(),
                            message: format!(
                                "no vehicle that can exist passes where `{}` is read as `{name}`",
                                question.id
                            ),
                            help: "a reading that no vehicle can meet is seldom what the law means",
                            origin: None,
                        },
                    );
                }
            }
        }
        Ok(())
    }

    /// Vehicles for which a line, or a row of those left out, turns on a level; each in one way of reading it.
    fn turned_by(&mut self, level: Option<usize>) -> Result<Node, TooLarge> {
        let Some(level) = level else { return Ok(Node::FALSE) };
        let nodes = self.nodes.clone();
        let asked = [nodes.covered].into_iter().chain(nodes.left_out).chain(nodes.unmet).chain(nodes.standing);
        let mut turned = Node::FALSE;
        for node in asked {
            let node = self.both(node, self.compiled.exist)?;
            let forest = &mut self.compiled.compiler.forest;
            let first = forest.moved(node, level, |_| 0)?;
            for reading in 1..forest.children_width(level) {
                let other = forest.moved(node, level, |_| reading)?;
                let differs = forest.join(Join::Differ, first, other)?;
                turned = forest.or(turned, differs)?;
            }
        }
        let one = self.compiled.compiler.forest.literal(level, |class| class == 0)?;
        self.both(turned, one)
    }
}
