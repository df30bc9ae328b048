//! Open questions whose readings change nothing, and readings under which nobody passes.

use super::{Say, Study};
use crate::diagram::forest::{Node, TooLarge};
use crate::diagram::level::Var;
use crate::program::Class;

impl Study<'_> {
    pub(super) fn open_questions(&mut self) -> Result<(), TooLarge> {
        let flat = self.flat;
        let support = self.compiled.compiler.forest.support(self.nodes.ruled);
        let passes = self.verdict_is(|class| class == Class::Pass)?;
        let passes = self.both(passes, self.dealt)?;
        for (place, question) in flat.questions.iter().enumerate().filter(|(_, question)| question.taken.is_none()) {
            let level = Var::question(flat, place).and_then(|var| self.compiled.compiler.space.level(&var));
            let Some(level) = level.filter(|level| support.contains(level)) else {
                self.found_nobody(Say {
                    code: "analysis/question-changes-nothing",
                    subject: question.id.clone(),
                    message: format!("no verdict depends on how question `{}` is read", question.id),
                    help: "remove the question, or write what its readings change",
                    origin: None,
                });
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
                            help: "a reading that nobody can meet is seldom what the law means",
                            origin: None,
                        },
                    );
                }
            }
        }
        Ok(())
    }
}
