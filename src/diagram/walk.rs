//! Questions put to a finished diagram: which terminals can be reached, how many assignments reach them, the plainest
//! path to one, and the diagram after some levels are forgotten or fixed. Nothing here knows what a level means.

use super::count::Count;
use super::forest::{Forest, Join, Node, TooLarge};
use super::memo::ByNode;
use std::collections::{BTreeMap, BTreeSet};

/// Sizes and costs of the classes of every level, from the top.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Weights {
    /// How many values each class holds.
    pub sizes: Vec<Vec<u64>>,
    /// How unusual each class is: 0 for what an ordinary vehicle shows.
    pub costs: Vec<Vec<u32>>,
}

/// Makes the node of a level from rebuilt children.
type Make<'a> = dyn FnMut(&mut Forest, usize, &[Node]) -> Result<Node, TooLarge> + 'a;

impl Weights {
    /// How many values a level has.
    fn total(&self, level: usize) -> u64 {
        self.sizes.get(level).map_or(1, |sizes| sizes.iter().fold(0, |sum, size| sum.saturating_add(*size)))
    }

    /// The least unusual class of a level and its cost.
    fn plainest(&self, level: usize) -> (usize, u32) {
        let costs = self.costs.get(level).map_or(&[][..], Vec::as_slice);
        costs.iter().copied().enumerate().min_by_key(|(_, cost)| *cost).unwrap_or((0, 0))
    }
}

/// Room for many walks over one forest that does not grow meanwhile: what was met is told by the number of the walk, so
/// that nothing has to be cleared.
#[derive(Debug, Clone, Default)]
pub struct Walker {
    met: Vec<u32>,
    walk: u32,
    waiting: Vec<Node>,
}

impl Walker {
    /// Visits every terminal that can be reached through allowed classes (by level and class), until `more` says that no
    /// more is wanted.
    pub fn terminals(&mut self, forest: &Forest, node: Node, allowed: &[Vec<bool>], mut more: impl FnMut(u32) -> bool) {
        self.met.resize(forest.nodes(), 0);
        if self.walk == u32::MAX {
            self.met.fill(0);
            self.walk = 0;
        }
        self.walk += 1;
        self.waiting.clear();
        if let Some(value) = node.value() {
            more(value);
            return;
        }
        self.waiting.push(node);
        while let Some(node) = self.waiting.pop() {
            let Some(row) = allowed.get(forest.level(node)) else { continue };
            // Classes beside each other often lead the same way.
            let mut before = node;
            for (child, allowed) in forest.children(node).iter().zip(row) {
                if !allowed || *child == before {
                    continue;
                }
                before = *child;
                if let Some(value) = child.value() {
                    if !more(value) {
                        return;
                    }
                    continue;
                }
                let met = usize::try_from(child.number()).ok().and_then(|place| self.met.get_mut(place));
                if met.is_some_and(|met| std::mem::replace(met, self.walk) != self.walk) {
                    self.waiting.push(*child);
                }
            }
        }
    }
}

impl Forest {
    /// Every terminal that can be reached.
    #[must_use]
    pub fn reach(&self, node: Node) -> BTreeSet<u32> {
        self.reach_within(node, |_, _| true)
    }

    /// Every terminal that can be reached through allowed classes (of a level and a class) only.
    #[must_use]
    pub fn reach_within(&self, node: Node, allowed: impl Fn(usize, usize) -> bool) -> BTreeSet<u32> {
        let mut found = BTreeSet::new();
        self.each(node, allowed, |node| found.extend(node.value()));
        found
    }

    /// Levels on which the diagram branches.
    #[must_use]
    pub fn support(&self, node: Node) -> BTreeSet<usize> {
        let mut levels = vec![false; self.levels()];
        self.each(
            node,
            |_, _| true,
            |node| {
                if let Some(level) = levels.get_mut(self.level(node)) {
                    *level = true;
                }
            },
        );
        levels.into_iter().enumerate().filter(|(_, there)| *there).map(|(level, _)| level).collect()
    }

    /// How many nodes the diagram has, terminals left out.
    #[must_use]
    pub fn size(&self, node: Node) -> usize {
        let mut size = 0;
        self.each(node, |_, _| true, |node| size += usize::from(node.value().is_none()));
        size
    }

    /// Every node of a diagram once, terminals included; `enter` says through which classes of a level to go on.
    fn each(&self, node: Node, enter: impl Fn(usize, usize) -> bool, mut visit: impl FnMut(Node)) {
        let mut seen = ByNode::new();
        let mut waiting = vec![node];
        while let Some(node) = waiting.pop() {
            if !seen.put(node, ()) {
                continue;
            }
            visit(node);
            let level = self.level(node);
            let children = self.children(node).iter().enumerate();
            // Classes beside each other often lead the same way.
            let mut before = node;
            let differs = |child: &Node| std::mem::replace(&mut before, *child) != *child;
            let entered = children.filter(|(class, _)| enter(level, *class)).map(|(_, child)| *child);
            waiting.extend(entered.filter(differs));
        }
    }

    /// How many values, over all levels together, lead to a terminal of which `wanted` holds.
    #[must_use]
    pub fn count(&self, node: Node, weights: &Weights, wanted: impl Fn(u32) -> bool) -> Count {
        let mut known = ByNode::new();
        let below = self.count_from(node, weights, &wanted, &mut known);
        (0..self.level(node)).fold(below, |count, level| count.times(weights.total(level)))
    }

    fn count_from(
        &self,
        node: Node,
        weights: &Weights,
        wanted: &impl Fn(u32) -> bool,
        known: &mut ByNode<Count>,
    ) -> Count {
        if let Some(value) = node.value() {
            return if wanted(value) { Count::from(1) } else { Count::zero() };
        }
        if let Some(count) = known.get(node) {
            return count.clone();
        }
        let level = self.level(node);
        let sizes = weights.sizes.get(level).map_or(&[][..], Vec::as_slice);
        let mut sum = Count::zero();
        for (child, size) in self.children(node).iter().zip(sizes) {
            let below = self.count_from(*child, weights, wanted, known);
            let skipped = (level + 1..self.level(*child)).fold(below, |count, at| count.times(weights.total(at)));
            sum = sum.plus(&skipped.times(*size));
        }
        known.put(node, sum.clone());
        sum
    }

    /// The plainest assignment (a class for every level) that leads to a wanted terminal: the fewest unusual facts.
    #[must_use]
    pub fn example(&self, node: Node, weights: &Weights, wanted: impl Fn(u32) -> bool) -> Option<Vec<usize>> {
        let mut known = ByNode::new();
        self.cheapest(node, weights, &wanted, &mut known)?;
        let mut path: Vec<usize> = (0..self.levels()).map(|level| weights.plainest(level).0).collect();
        let mut at = node;
        while at.value().is_none() {
            let (_, class) = known.get(at).copied().flatten()?;
            if let Some(slot) = path.get_mut(self.level(at)) {
                *slot = class;
            }
            at = self.children(at).get(class).copied()?;
        }
        Some(path)
    }

    fn cheapest(
        &self,
        node: Node,
        weights: &Weights,
        wanted: &impl Fn(u32) -> bool,
        known: &mut ByNode<Option<(u32, usize)>>,
    ) -> Option<u32> {
        if let Some(value) = node.value() {
            return wanted(value).then_some(0);
        }
        if let Some(best) = known.get(node) {
            return best.map(|(cost, _)| cost);
        }
        let level = self.level(node);
        let costs = weights.costs.get(level).map_or(&[][..], Vec::as_slice);
        let mut best: Option<(u32, usize)> = None;
        for (class, (child, cost)) in self.children(node).iter().zip(costs).enumerate() {
            let Some(below) = self.cheapest(*child, weights, wanted, known) else {
                continue;
            };
            let skipped: u32 = (level + 1..self.level(*child)).map(|at| weights.plainest(at).1).sum();
            let whole = below.saturating_add(skipped).saturating_add(*cost);
            if best.is_none_or(|(least, _)| whole < least) {
                best = Some((whole, class));
            }
        }
        known.put(node, best);
        best.map(|(cost, _)| cost)
    }

    /// The terminal at the end of an assignment of a class to every level.
    #[must_use]
    pub fn follow(&self, node: Node, path: &[usize]) -> u32 {
        let mut at = node;
        loop {
            if let Some(value) = at.value() {
                return value;
            }
            let class = path.get(self.level(at)).copied().unwrap_or(0);
            match self.children(at).get(class).or_else(|| self.children(at).first()) {
                Some(child) => at = *child,
                None => return 0,
            }
        }
    }

    /// The diagram with every terminal replaced.
    ///
    /// # Errors
    /// Where the budget is spent.
    pub fn relabel(&mut self, node: Node, new: impl Fn(u32) -> u32) -> Result<Node, TooLarge> {
        self.rebuild(node, &mut ByNode::new(), &|value| Node::terminal(new(value)), &mut |forest, level, below| {
            forest.branch(level, below)
        })
    }

    /// True where the terminal is one of those wanted.
    ///
    /// # Errors
    /// Where the budget is spent.
    pub fn where_value(&mut self, node: Node, wanted: impl Fn(u32) -> bool) -> Result<Node, TooLarge> {
        self.relabel(node, |value| u32::from(wanted(value)))
    }

    /// A simpler diagram with the same terminals wherever the terminal is not `nobody`: a node whose other children are
    /// all the same is that child.
    ///
    /// # Errors
    /// Where the budget is spent.
    pub fn without(&mut self, node: Node, nobody: u32) -> Result<Node, TooLarge> {
        self.rebuild(node, &mut ByNode::new(), &Node::terminal, &mut |forest, level, below| {
            let mut others = below.iter().filter(|child| child.value() != Some(nobody));
            match others.next() {
                Some(first) if others.all(|child| child == first) => Ok(*first),
                _ => forest.branch(level, below),
            }
        })
    }

    /// The diagram with a level fixed to a class.
    ///
    /// # Errors
    /// Where the budget is spent.
    pub fn fix(&mut self, node: Node, fixed: &BTreeMap<usize, usize>) -> Result<Node, TooLarge> {
        self.rebuild(node, &mut ByNode::new(), &Node::terminal, &mut |forest, level, below| match fixed
            .get(&level)
            .and_then(|class| below.get(*class))
        {
            Some(child) => Ok(*child),
            None => forest.branch(level, below),
        })
    }

    /// For a diagram of 0 and 1: whether some value of every forgotten level leads to 1.
    ///
    /// # Errors
    /// Where the budget is spent.
    pub fn forget(&mut self, node: Node, forgotten: impl Fn(usize) -> bool) -> Result<Node, TooLarge> {
        self.joined(Join::Or, node, forgotten)
    }

    /// For terminals that are sets of bits: every bit that some value of the forgotten levels leads to.
    ///
    /// # Errors
    /// Where the budget is spent.
    pub fn gather(&mut self, node: Node, forgotten: impl Fn(usize) -> bool) -> Result<Node, TooLarge> {
        self.joined(Join::Bits, node, forgotten)
    }

    fn joined(&mut self, how: Join, node: Node, forgotten: impl Fn(usize) -> bool) -> Result<Node, TooLarge> {
        self.rebuild(node, &mut ByNode::new(), &Node::terminal, &mut |forest, level, below| {
            if forgotten(level) {
                below.iter().try_fold(Node::FALSE, |any, child| forest.join(how, any, *child))
            } else {
                forest.branch(level, below)
            }
        })
    }

    /// The diagram with the classes of one level moved: the value for class `c` becomes that for class `to(c)`.
    ///
    /// # Errors
    /// Where the budget is spent.
    pub fn moved(&mut self, node: Node, at: usize, to: impl Fn(usize) -> usize) -> Result<Node, TooLarge> {
        self.rebuild(node, &mut ByNode::new(), &Node::terminal, &mut |forest, level, below| {
            if level == at {
                let moved: Vec<Node> = (0..below.len()).filter_map(|class| below.get(to(class)).copied()).collect();
                forest.branch(level, &moved)
            } else {
                forest.branch(level, below)
            }
        })
    }

    /// True where a level has the first class and the terminal is greater with the second class in its place; terminals
    /// that are 0 or `nobody` are not compared. What lies below the level is compared, not copied.
    ///
    /// # Errors
    /// Where the budget is spent.
    pub fn rises(&mut self, node: Node, at: usize, step: (usize, usize), nobody: u32) -> Result<Node, TooLarge> {
        self.rises_from(node, at, step, nobody, &mut ByNode::new())
    }

    fn rises_from(
        &mut self,
        node: Node,
        at: usize,
        step: (usize, usize),
        nobody: u32,
        known: &mut ByNode<Node>,
    ) -> Result<Node, TooLarge> {
        let level = self.level(node);
        if level > at {
            return Ok(Node::FALSE);
        }
        if let Some(done) = known.get(node) {
            return Ok(*done);
        }
        let mut below = self.children(node).to_vec();
        if level == at {
            let (from, to) = (below.get(step.0).copied(), below.get(step.1).copied());
            let (from, to) = from.zip(to).unwrap_or((Node::FALSE, Node::FALSE));
            let risen = self.join(Join::Less { nobody }, from, to)?;
            below.iter_mut().enumerate().for_each(|(class, child)| {
                *child = if class == step.0 { risen } else { Node::FALSE };
            });
        } else {
            for child in &mut below {
                *child = self.rises_from(*child, at, step, nobody, known)?;
            }
        }
        let done = self.branch(level, &below)?;
        known.put(node, done);
        Ok(done)
    }

    fn rebuild(
        &mut self,
        node: Node,
        known: &mut ByNode<Node>,
        terminal: &dyn Fn(u32) -> Node,
        make: &mut Make,
    ) -> Result<Node, TooLarge> {
        if let Some(value) = node.value() {
            return Ok(terminal(value));
        }
        if let Some(done) = known.get(node) {
            return Ok(*done);
        }
        let level = self.level(node);
        let children = self.children(node).to_vec();
        let mut below = Vec::with_capacity(children.len());
        for child in children {
            below.push(self.rebuild(child, known, terminal, make)?);
        }
        let done = make(self, level, &below)?;
        known.put(node, done);
        Ok(done)
    }
}
