//! Passes that lean on nothing: with no monitor supported, with no communication; and programs that no vehicle can pass.

use super::{Say, Study};
use crate::diagram::forest::{Node, TooLarge};
use crate::diagram::level::Var;
use crate::model::{Fact, MonitorState};
use crate::program::{Class, Condition, FactRef, Test, Topic};

impl Study<'_> {
    pub(super) fn passes(&mut self) -> Result<(), TooLarge> {
        let flat = self.flat;
        let passes = self.verdict_is(|class| class == Class::Pass)?;
        let passes = self.both(passes, self.dealt)?;
        if passes == Node::FALSE && self.dealt != Node::FALSE {
            self.found(
                self.dealt,
                Say {
                    code: "analysis/nobody-passes",
                    subject: flat.program.clone(),
                    message: "no vehicle that can exist passes".to_owned(),
                    help: "check what is counted and the limits",
                    origin: None,
                },
            );
        }
        let unsupported = self.every_monitor_unsupported()?;
        if let Some(unsupported) = unsupported {
            let bare = self.both(passes, unsupported)?;
            self.found(
                bare,
                Say {
                    code: "analysis/passes-unmonitored",
                    subject: flat.program.clone(),
                    message: "a vehicle that supports no monitor passes".to_owned(),
                    help: "if the law has a floor, write it; if it has none, acknowledge this",
                    origin: None,
                },
            );
        }
        let said = flat.silences.iter().any(|silence| silence.topic == Topic::Communication);
        if self.compiled.compiler.space.cuts.uses(Fact::Communication) || !said {
            let mut mute = passes;
            if self.compiled.compiler.space.cuts.uses(Fact::Communication) {
                let none = Fact::Communication.word_bit("none").unwrap_or(0);
                let test = Test::Word { fact: FactRef::Known(Fact::Communication), words: none };
                let none = self.condition(&Condition::Test(test))?;
                mute = self.both(passes, none)?;
            }
            self.found(
                mute,
                Say {
                    code: "analysis/passes-without-communication",
                    subject: flat.program.clone(),
                    message: "a vehicle that does not answer on its connector passes".to_owned(),
                    help: "add a clause on communication, or `no rule applied on communication, text not seen`",
                    origin: None,
                },
            );
        }
        Ok(())
    }

    fn every_monitor_unsupported(&mut self) -> Result<Option<Node>, TooLarge> {
        let vars: Vec<Var> = self
            .compiled
            .compiler
            .space
            .levels
            .iter()
            .map(|level| level.var.clone())
            .filter(|var| matches!(var, Var::Known(Fact::Monitor(_))))
            .collect();
        if vars.is_empty() {
            return Ok(None);
        }
        let mut all = Node::TRUE;
        for var in vars.iter().rev() {
            let one = self.compiled.compiler.words(var, MonitorState::Unsupported.bit())?;
            all = self.both(one, all)?;
        }
        Ok(Some(all))
    }
}
