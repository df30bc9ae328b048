//! Monotonicity: a vehicle that does better must not get a graver outcome. Better means a monitor completed, a lamp gone
//! off, codes gone away, more warm-ups, distance or time since clearing; all else as before.

use super::{Say, Study};
use crate::diagram::forest::{Node, TooLarge};
use crate::diagram::kernel::{NOBODY, verdict_of};
use crate::diagram::level::{Class, Members, Sample, Var};
use crate::model::{Fact, MonitorState, spec};

/// A step from one class of a level to a better one.
struct Step {
    level: usize,
    from: usize,
    to: usize,
    subject: String,
    what: String,
}

impl Study<'_> {
    pub(super) fn doing_better(&mut self) -> Result<(), TooLarge> {
        for step in self.steps() {
            let graver = self.graver_after(&step)?;
            if graver == Node::FALSE {
                continue;
            }
            let (before, after) = self.shown(graver, &step);
            self.found(
                graver,
                Say {
                    code: "analysis/doing-better-is-graver",
                    subject: step.subject,
                    message: format!("{} makes the outcome graver: {before} before, {after} after", step.what),
                    help: "check for a condition the wrong way round; if the law means it, acknowledge this with the reason",
                    origin: None,
                },
            );
        }
        Ok(())
    }

    /// Vehicles before the step whose outcome is graver after it; both must be able to exist.
    fn graver_after(&mut self, step: &Step) -> Result<Node, TooLarge> {
        self.compiled.compiler.forest.rises(self.nodes.ruled, step.level, (step.from, step.to), NOBODY)
    }

    fn shown(&self, graver: Node, step: &Step) -> (String, String) {
        let forest = &self.compiled.compiler.forest;
        let path = forest.example(graver, &self.compiled.weights, |value| value == 1).unwrap_or_default();
        let mut better = path.clone();
        if let Some(slot) = better.get_mut(step.level) {
            *slot = step.to;
        }
        let at = |path: &[usize]| {
            let value = forest.follow(self.nodes.ruled, path);
            verdict_of(value).map(|verdict| verdict.name(self.flat).to_owned()).unwrap_or_default()
        };
        (at(&path), at(&better))
    }

    fn steps(&self) -> Vec<Step> {
        let mut steps = Vec::new();
        for (place, level) in self.compiled.compiler.space.levels.iter().enumerate() {
            let class_of = |bit: u64| {
                level.classes.iter().position(|class| matches!(class.members, Members::Words(mask) if mask & bit != 0))
            };
            let mut step = |from: Option<usize>, to: Option<usize>, subject: &str, what: String| {
                if let (Some(from), Some(to)) = (from, to)
                    && from != to
                {
                    steps.push(Step { level: place, from, to, subject: subject.to_owned(), what });
                }
            };
            match &level.var {
                Var::Known(Fact::Monitor(monitor)) => {
                    let (incomplete, complete) = (MonitorState::Incomplete.bit(), MonitorState::Complete.bit());
                    let what = format!("completing {}", monitor.name());
                    step(class_of(incomplete), class_of(complete), monitor.name(), what);
                }
                Var::Known(fact @ (Fact::LampCommanded | Fact::LampLitRunning | Fact::LampFlashing)) => {
                    let name = spec(*fact).name;
                    step(class_of(0b10), class_of(0b01), name, format!("{name} going off"));
                }
                Var::Known(fact @ (Fact::WarmUps | Fact::DistanceSinceClear | Fact::MinutesSinceClear)) => {
                    let name = spec(*fact).name;
                    for (from, less) in level.classes.iter().enumerate() {
                        for (to, more) in level.classes.iter().enumerate() {
                            if reaches_above(less, more) {
                                step(Some(from), Some(to), name, format!("more {name}"));
                            }
                        }
                    }
                }
                Var::Holds(fact @ (Fact::StoredCodes | Fact::PendingCodes | Fact::PermanentCodes), _) => {
                    let truth = |value| level.classes.iter().position(|class| class.sample == Sample::Truth(value));
                    let name = spec(*fact).name;
                    step(truth(true), truth(false), name, format!("a {name} going away"));
                }
                _ => {}
            }
        }
        steps
    }
}

/// Whether some number of the second class is above some number of the first.
fn reaches_above(less: &Class, more: &Class) -> bool {
    let ends = |class: &Class| match &class.members {
        Members::Numbers { runs, .. } => runs.first().map(|run| run.0).zip(runs.last().map(|run| run.1)),
        _ => None,
    };
    matches!((ends(less), ends(more)), (Some((least, _)), Some((_, most))) if most > least)
}
