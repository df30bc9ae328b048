//! Reduced, ordered, hash-consed diagrams with many-valued levels and small whole numbers as terminals. Equal functions
//! have equal nodes, so sameness is one comparison. Knows nothing of vehicles or programs; every operation stops with
//! [`TooLarge`] at a fixed budget instead of filling the machine. The hash is fixed: two runs build the same nodes.

use super::memo::{Memo, mix, place_of};

/// A node or a terminal of a [`Forest`].
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Node(u32);

const TERMINAL: u32 = 1 << 31;
const EMPTY: u32 = u32::MAX;

impl Node {
    /// The terminal 0.
    pub const FALSE: Node = Node(TERMINAL);
    /// The terminal 1.
    pub const TRUE: Node = Node(TERMINAL | 1);

    /// The terminal of a number below 2^30.
    #[must_use]
    pub fn terminal(value: u32) -> Node {
        Node(TERMINAL | (value & (TERMINAL / 2 - 1)))
    }

    /// True or false as a terminal.
    #[must_use]
    pub fn truth(value: bool) -> Node {
        if value { Node::TRUE } else { Node::FALSE }
    }

    /// The number, if it is a terminal.
    #[must_use]
    pub fn value(self) -> Option<u32> {
        (self.0 & TERMINAL != 0).then_some(self.0 & !TERMINAL)
    }

    pub(crate) fn number(self) -> u64 {
        u64::from(self.0)
    }

    fn place(self) -> usize {
        usize::try_from(self.0).unwrap_or(usize::MAX)
    }
}

/// The diagram outgrew its budget.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
#[error("the program's diagram needs more than {nodes} nodes; simplify conditions that join many facts, or split them")]
pub struct TooLarge {
    /// The budget that was passed.
    pub nodes: usize,
}

/// How two terminals combine.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Join {
    /// Both (0 and 1).
    And,
    /// Either (0 and 1).
    Or,
    /// The greater number.
    Max,
    /// Both numbers in one: first times 1024 plus second; each must be below 1024.
    Pair,
    /// Every bit that either has.
    Bits,
    /// 1 where the numbers differ.
    Differ,
    /// The bit of the first number (below 30) alone, none of 1023; the second is not looked at.
    Bit,
    /// 1 where the second number is greater, else 0; 0 also where either is 0 or a number that stands for nobody.
    Less {
        /// The number that is not compared.
        nobody: u32,
    },
}

impl Join {
    fn is_symmetric(self) -> bool {
        !matches!(self, Join::Pair | Join::Bit | Join::Less { .. })
    }
}

#[derive(Debug, Clone, Copy)]
struct Entry {
    level: u32,
    first: u32,
    width: u32,
}

/// The store of all nodes.
#[derive(Debug, Clone)]
pub struct Forest {
    widths: Vec<u32>,
    entries: Vec<Entry>,
    edges: Vec<Node>,
    slots: Vec<u32>,
    memo: Memo,
    budget: usize,
}

impl Forest {
    /// A forest over levels of these widths, first level on top.
    #[must_use]
    pub fn new(widths: Vec<u32>, budget: usize) -> Forest {
        let slots = vec![EMPTY; 1024];
        Forest { widths, entries: Vec::new(), edges: Vec::new(), slots, memo: Memo::new(), budget }
    }

    /// How many levels there are.
    #[must_use]
    pub fn levels(&self) -> usize {
        self.widths.len()
    }

    /// Forgets the results of operations where there are more than so many; nodes stay. What is asked again is worked out
    /// again, to the same nodes.
    pub(crate) fn drop_results_over(&mut self, most: usize) {
        if self.memo.len() > most {
            self.memo = Memo::new();
        }
    }

    /// How many nodes have been made, those no longer used included.
    #[must_use]
    pub fn nodes(&self) -> usize {
        self.entries.len()
    }

    /// The level of a node; the number of levels for a terminal.
    #[must_use]
    pub fn level(&self, node: Node) -> usize {
        self.entry(node).map_or(self.widths.len(), |entry| usize::try_from(entry.level).unwrap_or(usize::MAX))
    }

    /// The children of a node, one a class of its level; empty for a terminal.
    #[must_use]
    pub fn children(&self, node: Node) -> &[Node] {
        self.entry(node)
            .and_then(|entry| {
                let first = usize::try_from(entry.first).ok()?;
                self.edges.get(first..first + usize::try_from(entry.width).ok()?)
            })
            .unwrap_or(&[])
    }

    /// The child that stands for a class of a level at or above the node's own.
    #[must_use]
    pub fn child(&self, node: Node, level: usize, class: usize) -> Node {
        if self.level(node) == level { self.children(node).get(class).copied().unwrap_or(node) } else { node }
    }

    /// The entry of a node; of a terminal there is none, since its number is beyond those of all nodes.
    fn entry(&self, node: Node) -> Option<&Entry> {
        self.entries.get(node.place())
    }

    /// The node that branches on a level.
    ///
    /// # Errors
    /// Where the budget is spent.
    pub fn branch(&mut self, level: usize, children: &[Node]) -> Result<Node, TooLarge> {
        let Some(first) = children.first().copied() else {
            return Ok(Node::FALSE);
        };
        if children.iter().all(|child| *child == first) {
            return Ok(first);
        }
        let level = u32::try_from(level).unwrap_or(u32::MAX);
        let mut slot = self.slot(level, children);
        while let Some(found) = self.slots.get(slot).copied() {
            if found == EMPTY {
                break;
            }
            let node = Node(found);
            if self.entry(node).is_some_and(|entry| entry.level == level) && self.children(node) == children {
                return Ok(node);
            }
            slot = (slot + 1) & (self.slots.len() - 1);
        }
        if self.entries.len() >= self.budget {
            return Err(TooLarge { nodes: self.budget });
        }
        let node = Node(u32::try_from(self.entries.len()).unwrap_or(0));
        self.entries.push(Entry {
            level,
            first: u32::try_from(self.edges.len()).map_err(|_| TooLarge { nodes: self.budget })?,
            width: u32::try_from(children.len()).unwrap_or(0),
        });
        self.edges.extend_from_slice(children);
        if let Some(free) = self.slots.get_mut(slot) {
            *free = node.0;
        }
        if self.entries.len() * 2 > self.slots.len() {
            self.widen();
        }
        Ok(node)
    }

    fn slot(&self, level: u32, children: &[Node]) -> usize {
        let hash = children.iter().fold(mix(u64::from(level) + 1, 0), |hash, child| mix(hash, u64::from(child.0)));
        place_of(hash, self.slots.len() - 1)
    }

    fn widen(&mut self) {
        self.slots = vec![EMPTY; self.slots.len() * 4];
        for place in 0..self.entries.len() {
            let node = Node(u32::try_from(place).unwrap_or(0));
            let level = self.entry(node).map_or(0, |entry| entry.level);
            let mut slot = self.slot(level, self.children(node));
            while self.slots.get(slot).is_some_and(|taken| *taken != EMPTY) {
                slot = (slot + 1) & (self.slots.len() - 1);
            }
            if let Some(free) = self.slots.get_mut(slot) {
                *free = node.0;
            }
        }
    }

    /// True for the accepted classes of a level, false for the others.
    ///
    /// # Errors
    /// Where the budget is spent.
    pub fn literal(&mut self, level: usize, accepts: impl Fn(usize) -> bool) -> Result<Node, TooLarge> {
        let width = self.widths.get(level).copied().and_then(|width| usize::try_from(width).ok()).unwrap_or(0);
        let children: Vec<Node> = (0..width).map(|class| Node::truth(accepts(class))).collect();
        self.branch(level, &children)
    }

    /// Two diagrams combined terminal by terminal.
    ///
    /// # Errors
    /// Where the budget is spent.
    pub fn join(&mut self, how: Join, left: Node, right: Node) -> Result<Node, TooLarge> {
        let (left, right) = if how.is_symmetric() && right < left { (right, left) } else { (left, right) };
        if let Some(node) = join_simple(how, left, right) {
            return Ok(node);
        }
        let key = [join_code(how), left.0, right.0, if let Join::Less { nobody } = how { nobody } else { 0 }];
        if let Some(found) = self.memo.get(key) {
            return Ok(Node(found));
        }
        let level = self.level(left).min(self.level(right));
        let mut children = Vec::new();
        for class in 0..self.width_of(level) {
            let (a, b) = (self.child(left, level, class), self.child(right, level, class));
            children.push(self.join(how, a, b)?);
        }
        let node = self.branch(level, &children)?;
        self.remember(key, node)
    }

    /// Where `test` holds the one, elsewhere the other.
    ///
    /// # Errors
    /// Where the budget is spent.
    pub fn ite(&mut self, test: Node, yes: Node, no: Node) -> Result<Node, TooLarge> {
        if test == Node::TRUE || yes == no {
            return Ok(yes);
        }
        if test == Node::FALSE {
            return Ok(no);
        }
        if yes == Node::TRUE && no == Node::FALSE {
            return Ok(test);
        }
        let key = [16, test.0, yes.0, no.0];
        if let Some(found) = self.memo.get(key) {
            return Ok(Node(found));
        }
        let level = self.level(test).min(self.level(yes)).min(self.level(no));
        let mut children = Vec::new();
        for class in 0..self.width_of(level) {
            let (a, b, c) =
                (self.child(test, level, class), self.child(yes, level, class), self.child(no, level, class));
            children.push(self.ite(a, b, c)?);
        }
        let node = self.branch(level, &children)?;
        self.remember(key, node)
    }

    /// True where the terminal is this one. Parts that were asked before cost nothing.
    ///
    /// # Errors
    /// Where the budget is spent.
    pub fn equal(&mut self, node: Node, value: u32) -> Result<Node, TooLarge> {
        let differs = self.join(Join::Differ, node, Node::terminal(value))?;
        self.not(differs)
    }

    /// The opposite of a diagram of 0 and 1.
    ///
    /// # Errors
    /// Where the budget is spent.
    pub fn not(&mut self, node: Node) -> Result<Node, TooLarge> {
        self.ite(node, Node::FALSE, Node::TRUE)
    }

    /// Both.
    ///
    /// # Errors
    /// Where the budget is spent.
    pub fn and(&mut self, left: Node, right: Node) -> Result<Node, TooLarge> {
        self.join(Join::And, left, right)
    }

    /// Either.
    ///
    /// # Errors
    /// Where the budget is spent.
    pub fn or(&mut self, left: Node, right: Node) -> Result<Node, TooLarge> {
        self.join(Join::Or, left, right)
    }

    /// The first and not the second.
    ///
    /// # Errors
    /// Where the budget is spent.
    pub fn but_not(&mut self, left: Node, right: Node) -> Result<Node, TooLarge> {
        self.ite(right, Node::FALSE, left)
    }

    /// How many classes a level has.
    #[must_use]
    pub fn children_width(&self, level: usize) -> usize {
        self.width_of(level)
    }

    fn width_of(&self, level: usize) -> usize {
        self.widths.get(level).copied().and_then(|width| usize::try_from(width).ok()).unwrap_or(0)
    }

    fn remember(&mut self, key: [u32; 4], node: Node) -> Result<Node, TooLarge> {
        if self.memo.len() > self.budget.saturating_mul(16) {
            return Err(TooLarge { nodes: self.budget });
        }
        self.memo.put(key, node.0);
        Ok(node)
    }
}

fn join_code(how: Join) -> u32 {
    match how {
        Join::And => 1,
        Join::Or => 2,
        Join::Max => 3,
        Join::Pair => 4,
        Join::Bits => 5,
        Join::Differ => 6,
        Join::Bit => 7,
        Join::Less { .. } => 8,
    }
}

fn join_simple(how: Join, left: Node, right: Node) -> Option<Node> {
    match how {
        Join::And if left == Node::FALSE || right == Node::FALSE => Some(Node::FALSE),
        Join::And if left == Node::TRUE => Some(right),
        Join::And if right == Node::TRUE => Some(left),
        Join::Or if left == Node::TRUE || right == Node::TRUE => Some(Node::TRUE),
        Join::Or if left == Node::FALSE => Some(right),
        Join::Or if right == Node::FALSE => Some(left),
        Join::And | Join::Or | Join::Max | Join::Bits if left == right => Some(left),
        Join::Differ if left == right => Some(Node::FALSE),
        Join::Differ => Some(Node::truth(left.value()? != right.value()?)),
        Join::Bits if left == Node::FALSE => Some(right),
        Join::Bits if right == Node::FALSE => Some(left),
        Join::Bits => Some(Node::terminal(left.value()? | right.value()?)),
        Join::Max => match (left.value(), right.value()) {
            (Some(0), _) => Some(right),
            (_, Some(0)) => Some(left),
            (Some(a), Some(b)) => Some(Node::terminal(a.max(b))),
            _ => None,
        },
        Join::Bit => left.value().map(|value| Node::terminal(1u32.checked_shl(value).unwrap_or(0))),
        Join::Pair => Some(Node::terminal(left.value()? * 1024 + right.value()?)),
        Join::Less { .. } if left == right => Some(Node::FALSE),
        Join::Less { nobody } => {
            let never = |node: Node| node == Node::FALSE || node == Node::terminal(nobody);
            if never(left) || never(right) {
                return Some(Node::FALSE);
            }
            Some(Node::truth(left.value()? < right.value()?))
        }
        Join::And | Join::Or => None,
    }
}

#[cfg(test)]
#[expect(clippy::unwrap_used, reason = "a test stops at the first wrong thing")]
mod tests {
    use super::*;

    /// Results are forgotten beyond a number and not at it; the same questions then have the same nodes for answers.
    #[test]
    fn results_are_forgotten_beyond_a_number() {
        let mut forest = Forest::new(vec![2; 8], 1_000);
        let parity = |forest: &mut Forest| {
            (0..8).fold(Node::FALSE, |odd, level| {
                let one = forest.literal(level, |class| class == 1).unwrap();
                let not = forest.not(one).unwrap();
                forest.ite(odd, not, one).unwrap()
            })
        };
        let odd = parity(&mut forest);
        let (kept, nodes) = (forest.memo.len(), forest.nodes());
        assert!(kept > 8, "{kept}");
        forest.drop_results_over(kept);
        assert_eq!(forest.memo.len(), kept);
        forest.drop_results_over(kept - 1);
        assert_eq!(forest.memo.len(), 0);
        assert_eq!((parity(&mut forest), forest.nodes()), (odd, nodes));
    }
}
