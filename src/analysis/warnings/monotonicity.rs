//! Monotonicity: a vehicle that does better must not get a graver outcome. Better means a monitor completed, the lamp gone
//! off, codes gone away, more warm-ups, distance or time since clearing; all else as before. The lamp goes off when the
//! engine's computer stops commanding it: then it is neither commanded on nor lit nor flashing. A lamp that goes dark
//! while it is commanded on is no better: its bulb has failed, which is a ground of its own (40 CFR 85.2207(b); encodings,
//! 1.1, clause `lamp-dark`), and so is one that stays dark with the key on. Only vehicles that can take the step are
//! counted: a class may hold others that are treated alike, unsupported monitors or vehicles without the counter.

use super::{Part, Say, Study};
use crate::diagram::forest::{Join, Node, TooLarge};
use crate::diagram::kernel::{NOBODY, verdict_of};
use crate::diagram::level::{Class, Members, Sample, Var};
use crate::diagram::numbers::Lattice;
use crate::model::{Fact, MonitorState, spec};

/// A level, with the class from which it moves and that to which it does.
type Move = (usize, usize, usize);

/// A step from one class of a level to a better one.
struct Step {
    level: usize,
    from: usize,
    to: usize,
    /// Levels that go along where they stand at their first class, to the second.
    along: Vec<Move>,
    /// A level that must stand at a class for the step to be one to the better.
    only: Option<(usize, usize)>,
    /// How many values of the first class can take the step, and one of them.
    able: (u64, Sample),
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
            let (size, sample) = step.able;
            self.found_in_part(
                graver,
                Part { level: step.level, class: step.from, size, sample },
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
        let forest = &mut self.compiled.compiler.forest;
        let ruled = self.nodes.ruled;
        if step.along.is_empty() && step.only.is_none() {
            return forest.rises(ruled, step.level, (step.from, step.to), NOBODY);
        }
        let mut after = ruled;
        for (level, from, to) in step.along.iter().copied().chain([(step.level, step.from, step.to)]) {
            after = forest.moved(after, level, |class| if class == from { to } else { class })?;
        }
        if after == ruled {
            return Ok(Node::FALSE);
        }
        let graver = forest.join(Join::Less { nobody: NOBODY }, ruled, after)?;
        let mut here = forest.literal(step.level, |class| class == step.from)?;
        if let Some((level, at)) = step.only {
            let only = forest.literal(level, |class| class == at)?;
            here = forest.and(here, only)?;
        }
        forest.and(graver, here)
    }

    fn shown(&self, graver: Node, step: &Step) -> (String, String) {
        let forest = &self.compiled.compiler.forest;
        let path = forest.example(graver, &self.compiled.weights, |value| value == 1).unwrap_or_default();
        let mut better = path.clone();
        for (level, from, to) in step.along.iter().copied().chain([(step.level, step.from, step.to)]) {
            if let Some(slot) = better.get_mut(level).filter(|slot| **slot == from) {
                *slot = to;
            }
        }
        let at = |path: &[usize]| {
            let value = forest.follow(self.nodes.ruled, path);
            verdict_of(value).map(|verdict| verdict.name(self.flat).to_owned()).unwrap_or_default()
        };
        (at(&path), at(&better))
    }

    /// For a lamp fact with a level: the level, and its classes for on and off.
    fn lamp(&self, fact: Fact) -> Option<Move> {
        let place = self.compiled.compiler.space.level(&Var::Known(fact))?;
        let level = self.compiled.compiler.space.levels.get(place)?;
        let class_of = |bit: u64| {
            level.classes.iter().position(|class| matches!(class.members, Members::Words(mask) if mask & bit != 0))
        };
        Some((place, class_of(0b10)?, class_of(0b01)?))
    }

    /// The lamp going off, in each of its facts.
    fn lamp_steps(&self) -> Vec<Step> {
        let lit = || [Fact::LampLitRunning, Fact::LampFlashing].into_iter().filter_map(|fact| self.lamp(fact));
        let flashing = || self.lamp(Fact::LampFlashing).into_iter();
        let commanded = self.lamp(Fact::LampCommanded);
        let steps = [
            (Fact::LampCommanded, lit().collect(), None),
            // Dark although not commanded on before: its wiring is repaired.
            (Fact::LampLitRunning, flashing().collect(), commanded.map(|(level, _, off)| (level, off))),
            (Fact::LampFlashing, Vec::new(), None),
        ];
        let step = |(fact, along, only): (Fact, Vec<Move>, Option<(usize, usize)>)| {
            let (level, from, to) = self.lamp(fact).filter(|(_, from, to)| from != to)?;
            let subject = spec(fact).name.to_owned();
            let what = format!("{subject} going off");
            Some(Step { level, from, to, along, only, able: (1, Sample::Word(0b10)), subject, what })
        };
        steps.into_iter().filter_map(step).collect()
    }

    fn steps(&self) -> Vec<Step> {
        let mut steps = self.lamp_steps();
        for (place, level) in self.compiled.compiler.space.levels.iter().enumerate() {
            let class_of = |bit: u64| {
                level.classes.iter().position(|class| matches!(class.members, Members::Words(mask) if mask & bit != 0))
            };
            let mut step = |from: Option<usize>, to: Option<usize>, able, subject: &str, what: String| {
                if let (Some(from), Some(to)) = (from, to)
                    && from != to
                {
                    let subject = subject.to_owned();
                    steps.push(Step { level: place, from, to, along: Vec::new(), only: None, able, subject, what });
                }
            };
            match &level.var {
                Var::Known(Fact::Monitor(monitor)) => {
                    let (incomplete, complete) = (MonitorState::Incomplete.bit(), MonitorState::Complete.bit());
                    let what = format!("completing {}", monitor.name());
                    let able = (1, Sample::Word(incomplete));
                    step(class_of(incomplete), class_of(complete), able, monitor.name(), what);
                }
                Var::Known(fact @ (Fact::WarmUps | Fact::DistanceSinceClear | Fact::MinutesSinceClear)) => {
                    let name = spec(*fact).name;
                    for (from, less) in level.classes.iter().enumerate() {
                        for (to, more) in level.classes.iter().enumerate() {
                            if let Some(able) = below(less, more, Lattice::of(*fact)) {
                                step(Some(from), Some(to), able, name, format!("more {name}"));
                            }
                        }
                    }
                }
                Var::Holds(fact @ (Fact::StoredCodes | Fact::PendingCodes | Fact::PermanentCodes), _) => {
                    let truth = |value| level.classes.iter().position(|class| class.sample == Sample::Truth(value));
                    let name = spec(*fact).name;
                    let able = (1, Sample::Truth(true));
                    step(truth(true), truth(false), able, name, format!("a {name} going away"));
                }
                _ => {}
            }
        }
        steps
    }
}

/// How many numbers of the first class are below some number of the second, and one of them; none: there is none.
fn below(less: &Class, more: &Class, lattice: Lattice) -> Option<(u64, Sample)> {
    let (Members::Numbers { runs, .. }, Members::Numbers { runs: above, .. }) = (&less.members, &more.members) else {
        return None;
    };
    let top = lattice.at_or_below(above.last()?.1) - 1;
    let able = runs.iter().map(|(least, most)| (*least, top.min(*most))).filter(|(least, most)| least <= most);
    let (mut size, mut sample) = (0, None);
    for (least, most) in able {
        size += lattice.count(least, most);
        sample = Some(lattice.at_or_below(most)).filter(|it| *it >= least).or(sample);
    }
    let own = Some(less.sample.clone()).filter(|own| matches!(own, Sample::Number(number) if *number <= top));
    let sample = own.or(sample.map(Sample::Number))?;
    // There is a sample only where a number was counted.
    u64::try_from(size).ok().map(|size| (size, sample))
}
