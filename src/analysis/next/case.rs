//! A set of vehicles as plans look at it: what each fact can still be, and levels of the diagrams that are narrowed
//! besides (a reading of a question, one of several texts).

use super::Action;
use crate::diagram::allowed::allowed;
use crate::diagram::kernel::{Compiled, Nodes};
use crate::diagram::level::{Members, Var};
use crate::model::facts::{Possible, Span};
use crate::program::{FactRef, Flat, Given};
use std::collections::{BTreeMap, BTreeSet};

/// Vehicles that may differ in everything that is not known.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Case {
    /// What each fact can still be.
    pub(super) given: Given,
    /// Classes that are left of levels which no action changes.
    narrowed: BTreeMap<usize, BTreeSet<usize>>,
}

impl Case {
    pub(super) fn new(given: Given) -> Case {
        Case { given, narrowed: BTreeMap::new() }
    }

    /// The same vehicles after some steps.
    pub(super) fn after<'a>(&self, steps: impl IntoIterator<Item = &'a Action>) -> Case {
        let given = steps.into_iter().fold(self.given.clone(), |given, step| step.after(&given));
        Case { given, narrowed: self.narrowed.clone() }
    }

    /// For every level the classes that are left.
    pub(super) fn allowed(&self, compiled: &Compiled, flat: &Flat) -> Vec<Vec<bool>> {
        let mut rows = allowed(&compiled.compiler.space, flat, &self.given);
        for (level, classes) in &self.narrowed {
            for (class, open) in rows.get_mut(*level).into_iter().flatten().enumerate() {
                *open &= classes.contains(&class);
            }
        }
        rows
    }

    /// The vehicles of which a level is in one of some classes.
    pub(super) fn with(&self, compiled: &Compiled, flat: &Flat, level: usize, classes: &BTreeSet<usize>) -> Case {
        let mut case = self.clone();
        let Some(one) = compiled.compiler.space.levels.get(level) else { return case };
        let fact = match &one.var {
            Var::Known(fact) => Some(FactRef::Known(*fact)),
            var @ Var::Declared { .. } => (0..flat.facts.len())
                .find(|place| Var::declared(flat, *place).as_ref() == Some(var))
                .map(FactRef::Declared),
            _ => None,
        };
        let members: Vec<_> =
            classes.iter().filter_map(|class| one.classes.get(*class)).map(|class| &class.members).collect();
        match fact.as_ref().and_then(|fact| Some((fact, within(case.given.possible(fact)?, &members)?))) {
            // What an action can change is told as a fact, so that the action finds it.
            Some((fact, possible)) => case.given.put(fact, possible),
            None => {
                case.narrowed
                    .entry(level)
                    .and_modify(|known| known.retain(|class| classes.contains(class)))
                    .or_insert_with(|| classes.clone());
            }
        }
        case
    }

    /// The verdict terminals that its vehicles reach.
    pub(super) fn reach(&self, compiled: &Compiled, flat: &Flat, nodes: &Nodes) -> BTreeSet<u32> {
        let rows = self.allowed(compiled, flat);
        let within = |level: usize, class: usize| rows.get(level).and_then(|row| row.get(class)) == Some(&true);
        compiled.compiler.forest.reach_within(nodes.ruled, within)
    }
}

/// What is left of a fact within classes, where that can be told as a mask or a single run.
fn within(possible: &Possible, members: &[&Members]) -> Option<Possible> {
    match possible {
        Possible::Words(mask) => {
            let words = members.iter().try_fold(0, |all, members| match members {
                Members::Words(words) => Some(all | words),
                _ => None,
            })?;
            Some(Possible::Words(mask & words))
        }
        Possible::Number(span) => {
            let [Members::Numbers { runs, even: None, absent }] = members else { return None };
            let ([(least, most)], false) = (runs.as_slice(), *absent && span.may_be_absent) else { return None };
            let (least, most) = (span.least.max(*least), span.most.min(*most));
            Some(Possible::Number(Span { least, most, may_be_absent: false }))
        }
        _ => None,
    }
}
