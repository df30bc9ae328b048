//! Diagrams over what can still be asked, with sets of verdicts as terminals: the set that is left once everything on the
//! way is known. Facts that cannot be observed are existentially quantified (their sets are united), and so is a question
//! whose answer changes no set whatever the others are.

use crate::diagram::TooLarge;
use crate::diagram::forest::{Forest, Node};
use crate::diagram::kernel::verdict_of;
use crate::program::Verdict;
use std::collections::{BTreeMap, BTreeSet};

/// The terminal of combinations that no vehicle shows: the empty set.
pub(super) const NONE: Node = Node::FALSE;

/// How the sets below the classes of a forgotten level become one.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum How {
    /// All of them together: the level stays unknown.
    Unite,
    /// They must be the same wherever there is a vehicle: the level does not matter.
    Agree,
}

/// The sets that terminals stand for, and what was merged before.
#[derive(Debug)]
pub(super) struct Residuals<'a> {
    pub(super) forest: &'a mut Forest,
    sets: Vec<BTreeSet<Verdict>>,
    places: BTreeMap<BTreeSet<Verdict>, u32>,
    merged: BTreeMap<(How, Node, Node), Option<Node>>,
}

impl<'a> Residuals<'a> {
    pub(super) fn new(forest: &'a mut Forest) -> Residuals<'a> {
        let empty = BTreeSet::new();
        let places = BTreeMap::from([(empty.clone(), 0)]);
        Residuals { forest, sets: vec![empty], places, merged: BTreeMap::new() }
    }

    /// A diagram of verdicts as one of sets of a single verdict each.
    pub(super) fn sets_of(&mut self, ruled: Node) -> Result<Node, TooLarge> {
        let mut to = BTreeMap::new();
        for terminal in self.forest.reach(ruled) {
            let set: BTreeSet<Verdict> = verdict_of(terminal).into_iter().collect();
            to.insert(terminal, self.place(set));
        }
        self.forest.relabel(ruled, |value| to.get(&value).copied().unwrap_or(0))
    }

    fn place(&mut self, set: BTreeSet<Verdict>) -> u32 {
        if let Some(place) = self.places.get(&set) {
            return *place;
        }
        let place = u32::try_from(self.sets.len()).unwrap_or(0);
        self.places.insert(set.clone(), place);
        self.sets.push(set);
        place
    }

    fn set(&self, terminal: u32) -> BTreeSet<Verdict> {
        usize::try_from(terminal).ok().and_then(|place| self.sets.get(place)).cloned().unwrap_or_default()
    }

    /// Every verdict that is possible below a node.
    pub(super) fn verdicts(&self, node: Node) -> BTreeSet<Verdict> {
        self.forest.reach(node).into_iter().flat_map(|terminal| self.set(terminal)).collect()
    }

    /// The diagram without some levels; `None` where the sets ought to agree and do not.
    pub(super) fn forget(&mut self, node: Node, levels: &BTreeSet<usize>, how: How) -> Result<Option<Node>, TooLarge> {
        self.forget_from(node, levels, how, &mut BTreeMap::new())
    }

    fn forget_from(
        &mut self,
        node: Node,
        levels: &BTreeSet<usize>,
        how: How,
        known: &mut BTreeMap<Node, Option<Node>>,
    ) -> Result<Option<Node>, TooLarge> {
        let level = self.forest.level(node);
        if levels.last().is_none_or(|last| *last < level) {
            return Ok(Some(node));
        }
        if let Some(done) = known.get(&node) {
            return Ok(*done);
        }
        let children = self.forest.children(node).to_vec();
        let mut below = Vec::with_capacity(children.len());
        for child in children {
            match self.forget_from(child, levels, how, known)? {
                Some(child) => below.push(child),
                None => return Ok(None),
            }
        }
        let done = if levels.contains(&level) {
            let mut one = Some(NONE);
            for child in below {
                one = match one {
                    Some(one) => self.merge(how, one, child)?,
                    None => None,
                };
            }
            one
        } else {
            Some(self.forest.branch(level, &below)?)
        };
        known.insert(node, done);
        Ok(done)
    }

    fn merge(&mut self, how: How, left: Node, right: Node) -> Result<Option<Node>, TooLarge> {
        if left == right || right == NONE {
            return Ok(Some(left));
        }
        if left == NONE {
            return Ok(Some(right));
        }
        if let (Some(one), Some(other)) = (left.value(), right.value()) {
            return Ok(match how {
                How::Unite => {
                    let both = self.set(one).union(&self.set(other)).copied().collect();
                    Some(Node::terminal(self.place(both)))
                }
                How::Agree => None,
            });
        }
        let key = (how, left.min(right), left.max(right));
        if let Some(done) = self.merged.get(&key) {
            return Ok(*done);
        }
        let level = self.forest.level(left).min(self.forest.level(right));
        let mut children = Some(Vec::new());
        for class in 0..self.forest.children_width(level) {
            let (a, b) = (self.forest.child(left, level, class), self.forest.child(right, level, class));
            let Some(child) = self.merge(how, a, b)? else {
                children = None;
                break;
            };
            if let Some(children) = &mut children {
                children.push(child);
            }
        }
        let done = match children {
            Some(children) => Some(self.forest.branch(level, &children)?),
            None => None,
        };
        self.merged.insert(key, done);
        Ok(done)
    }
}
