//! Yes-or-no functions of a record's columns as one graph of *and* and *exclusive or* with free negation. Equal
//! functions that are built alike are one node, constants fold, and what follows from a part already known is dropped:
//! so what is known of a batch costs nothing. Knows neither programs nor columns.

use std::collections::BTreeMap;

/// A function: a node, negated or not.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub(crate) struct Bit(u32);

/// What a node is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Node {
    /// Never; negated: always.
    Never,
    /// Comes from a column: its place in the list of leaves.
    Leaf(u32),
    /// Both.
    And(Bit, Bit),
    /// One and not the other; neither is negated.
    Xor(Bit, Bit),
}

/// The graph.
#[derive(Debug, Clone)]
pub(crate) struct Graph {
    nodes: Vec<Node>,
    places: BTreeMap<Node, u32>,
}

/// Whether something holds surely, and whether perhaps (which holds wherever it surely does).
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) struct Tri {
    pub(crate) surely: Bit,
    pub(crate) perhaps: Bit,
}

impl Bit {
    pub(crate) const NEVER: Bit = Bit(0);
    pub(crate) const ALWAYS: Bit = Bit(1);

    /// The opposite.
    pub(crate) fn not(self) -> Bit {
        Bit(self.0 ^ 1)
    }

    /// The constant.
    pub(crate) fn of(holds: bool) -> Bit {
        if holds { Bit::ALWAYS } else { Bit::NEVER }
    }

    /// The node, and whether it is negated.
    pub(crate) fn parts(self) -> (u32, bool) {
        (self.0 >> 1, self.0 & 1 == 1)
    }
}

impl Tri {
    pub(crate) const FALSE: Tri = Tri { surely: Bit::NEVER, perhaps: Bit::NEVER };
    pub(crate) const TRUE: Tri = Tri { surely: Bit::ALWAYS, perhaps: Bit::ALWAYS };
    pub(crate) const UNKNOWN: Tri = Tri { surely: Bit::NEVER, perhaps: Bit::ALWAYS };

    pub(crate) fn not(self) -> Tri {
        Tri { surely: self.perhaps.not(), perhaps: self.surely.not() }
    }

    pub(crate) fn of(holds: bool) -> Tri {
        if holds { Tri::TRUE } else { Tri::FALSE }
    }
}

impl Graph {
    pub(crate) fn new() -> Graph {
        let mut graph = Graph { nodes: Vec::new(), places: BTreeMap::new() };
        graph.node(Node::Never);
        graph
    }

    /// The nodes; each refers to earlier ones only.
    pub(crate) fn nodes(&self) -> &[Node] {
        &self.nodes
    }

    fn node(&mut self, node: Node) -> Bit {
        let next = u32::try_from(self.nodes.len()).unwrap_or(u32::MAX >> 1);
        let place = *self.places.entry(node).or_insert(next);
        if place == next {
            self.nodes.push(node);
        }
        Bit(place << 1)
    }

    pub(crate) fn leaf(&mut self, place: u32) -> Bit {
        self.node(Node::Leaf(place))
    }

    /// The parts of an *and*, where the function is one that is not negated.
    fn both_of(&self, bit: Bit) -> Option<(Bit, Bit)> {
        match (bit.parts(), self.inner(bit)) {
            ((_, false), Some(parts)) => Some(parts),
            _ => None,
        }
    }

    fn inner(&self, bit: Bit) -> Option<(Bit, Bit)> {
        let (place, _) = bit.parts();
        match usize::try_from(place).ok().and_then(|place| self.nodes.get(place)) {
            Some(Node::And(one, other)) => Some((*one, *other)),
            _ => None,
        }
    }

    /// The parts of a negated *and*.
    fn not_both_of(&self, bit: Bit) -> Option<(Bit, Bit)> {
        self.both_of(bit.not())
    }

    pub(crate) fn and(&mut self, one: Bit, other: Bit) -> Bit {
        let (a, b) = if one <= other { (one, other) } else { (other, one) };
        if a == Bit::NEVER || a == b.not() {
            return Bit::NEVER;
        }
        if a == Bit::ALWAYS || a == b {
            return b;
        }
        if let (Some((p, q)), Some((r, s))) = (self.not_both_of(a), self.not_both_of(b)) {
            // Neither `x and c` nor `x and not c`: not x.
            for (x, c, y, d) in [(p, q, r, s), (p, q, s, r), (q, p, r, s), (q, p, s, r)] {
                if x == y && c == d.not() {
                    return x.not();
                }
            }
        }
        for (x, y) in [(a, b), (b, a)] {
            if let Some((p, q)) = self.both_of(y) {
                if x == p || x == q {
                    return y;
                }
                if x == p.not() || x == q.not() {
                    return Bit::NEVER;
                }
            }
            if let Some((p, q)) = self.not_both_of(y) {
                if x == p.not() || x == q.not() {
                    return x;
                }
                if x == p {
                    return self.and(x, q.not());
                }
                if x == q {
                    return self.and(x, p.not());
                }
                // A part of x may settle a part of y.
                if let Some((r, s)) = self.both_of(x) {
                    if [r, s].iter().any(|part| *part == p.not() || *part == q.not()) {
                        return x;
                    }
                    if r == p || s == p {
                        return self.and(x, q.not());
                    }
                    if r == q || s == q {
                        return self.and(x, p.not());
                    }
                }
            }
            if let (Some((p, q)), Some((r, s))) = (self.both_of(x), self.both_of(y))
                && (p == r.not() || p == s.not() || q == r.not() || q == s.not())
            {
                return Bit::NEVER;
            }
        }
        self.node(Node::And(a, b))
    }

    pub(crate) fn or(&mut self, one: Bit, other: Bit) -> Bit {
        self.and(one.not(), other.not()).not()
    }

    pub(crate) fn but_not(&mut self, one: Bit, other: Bit) -> Bit {
        self.and(one, other.not())
    }

    pub(crate) fn xor(&mut self, one: Bit, other: Bit) -> Bit {
        let ((a, na), (b, nb)) = (one.parts(), other.parts());
        let (a, b) = if a <= b { (a, b) } else { (b, a) };
        let plain = if a == b {
            Bit::NEVER
        } else if a == 0 {
            Bit(b << 1)
        } else {
            self.node(Node::Xor(Bit(a << 1), Bit(b << 1)))
        };
        if na == nb { plain } else { plain.not() }
    }

    /// `yes` where the condition holds, else `no`.
    pub(crate) fn choose(&mut self, condition: Bit, yes: Bit, no: Bit) -> Bit {
        if yes == no {
            return yes;
        }
        let one = self.and(condition, yes);
        let other = self.and(condition.not(), no);
        self.or(one, other)
    }

    pub(crate) fn any(&mut self, bits: impl IntoIterator<Item = Bit>) -> Bit {
        bits.into_iter().fold(Bit::NEVER, |any, bit| self.or(any, bit))
    }

    pub(crate) fn and3(&mut self, one: Tri, other: Tri) -> Tri {
        Tri { surely: self.and(one.surely, other.surely), perhaps: self.and(one.perhaps, other.perhaps) }
    }

    pub(crate) fn or3(&mut self, one: Tri, other: Tri) -> Tri {
        Tri { surely: self.or(one.surely, other.surely), perhaps: self.or(one.perhaps, other.perhaps) }
    }

    /// Whether two functions are seen never to hold together: by a part that the other has negated.
    fn excludes(&self, one: Bit, other: Bit) -> bool {
        let parts = |bit: Bit| {
            let mut parts = vec![bit];
            if let Some((p, q)) = self.both_of(bit) {
                parts.extend([p, q]);
                parts.extend([p, q].iter().filter_map(|part| self.both_of(*part)).flat_map(|(p, q)| [p, q]));
            }
            parts
        };
        let others = parts(other);
        parts(one).iter().any(|part| others.contains(&part.not()))
    }

    /// The number of functions that hold, as binary digits from the lowest: full adders, three digits at a time.
    pub(crate) fn sum(&mut self, bits: impl IntoIterator<Item = Bit>) -> Vec<Bit> {
        // Of two that exclude each other one digit is enough.
        let mut ones: Vec<Bit> = Vec::new();
        for bit in bits.into_iter().filter(|bit| *bit != Bit::NEVER) {
            let other = (0..ones.len()).find(|place| {
                let known = ones.get(*place).copied().unwrap_or(Bit::ALWAYS);
                self.excludes(known, bit)
            });
            match other.and_then(|place| ones.get_mut(place)) {
                Some(slot) => *slot = self.or(*slot, bit),
                None => ones.push(bit),
            }
        }
        let mut columns: Vec<Vec<Bit>> = vec![ones];
        let mut digits = Vec::new();
        let mut at = 0;
        while let Some(column) = columns.get_mut(at) {
            let mut column = std::mem::take(column);
            let mut carries = Vec::new();
            while column.len() > 1 {
                let (a, b) = (column.pop().unwrap_or(Bit::NEVER), column.pop().unwrap_or(Bit::NEVER));
                let half = self.xor(a, b);
                let (digit, carry) = match column.pop() {
                    Some(c) => {
                        let digit = self.xor(half, c);
                        let (both, third) = (self.and(a, b), self.and(half, c));
                        (digit, self.or(both, third))
                    }
                    None => (half, self.and(a, b)),
                };
                column.insert(0, digit);
                if carry != Bit::NEVER {
                    carries.push(carry);
                }
            }
            digits.push(column.pop().unwrap_or(Bit::NEVER));
            if !carries.is_empty() {
                columns.push(carries);
            }
            at += 1;
        }
        digits
    }

    /// Whether a number of binary digits is at least so much.
    pub(crate) fn at_least(&mut self, digits: &[Bit], bound: i64) -> Bit {
        let Ok(bound) = u64::try_from(bound) else {
            return Bit::ALWAYS;
        };
        let width = u32::try_from(digits.len()).unwrap_or(64);
        if bound.checked_shr(width).unwrap_or(0) != 0 {
            return Bit::NEVER;
        }
        // From the lowest digit: reached so far, the digits below being equal or greater.
        let mut reached = Bit::ALWAYS;
        for (place, digit) in digits.iter().enumerate() {
            let wanted = u32::try_from(place).ok().and_then(|place| bound.checked_shr(place)).unwrap_or(0) & 1 == 1;
            reached = if wanted { self.and(*digit, reached) } else { self.or(*digit, reached) };
        }
        reached
    }
}
