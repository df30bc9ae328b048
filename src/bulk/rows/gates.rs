//! Conditions as a graph of conjunctions: each node is an input or *all of these hold*, and an edge may be negated. Equal
//! parts are one node, and a conjunction within a conjunction is one of both, so that a node costs a masked comparison or
//! two, however many tests it joins. What is kept is the meaning in two and in three values: parts are joined, sorted and
//! dropped where they are certain, and `x and not x` is false.

use std::collections::{BTreeMap, BTreeSet};

/// An edge: a node, or its opposite.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct Edge(usize);

/// A node.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Node {
    /// Always.
    Always,
    /// An input, by its place.
    Input(usize),
    /// All of these hold.
    All(Vec<Edge>),
    /// A row of a table, by the table's place: it is surely the vehicle's or not at all where the vehicle is presumed in
    /// no row of the table.
    Row(usize, Edge),
}

impl Edge {
    pub(super) const ALWAYS: Edge = Edge(0);
    pub(super) const NEVER: Edge = Edge(1);

    /// Place of the node.
    pub(super) fn node(self) -> usize {
        self.0 >> 1
    }

    /// Whether the opposite of the node is meant.
    pub(super) fn is_negated(self) -> bool {
        self.0 & 1 == 1
    }

    pub(super) fn not(self) -> Edge {
        Edge(self.0 ^ 1)
    }
}

/// The nodes, parts before what they are parts of.
#[derive(Debug)]
pub(super) struct Gates {
    nodes: Vec<Node>,
    known: BTreeMap<Node, usize>,
}

impl Gates {
    pub(super) fn new() -> Gates {
        Gates { nodes: vec![Node::Always], known: BTreeMap::from([(Node::Always, 0)]) }
    }

    pub(super) fn nodes(&self) -> &[Node] {
        &self.nodes
    }

    pub(super) fn node(&mut self, node: Node) -> Edge {
        if let Some(place) = self.known.get(&node) {
            return Edge(place << 1);
        }
        let place = self.nodes.len();
        self.nodes.push(node.clone());
        self.known.insert(node, place);
        Edge(place << 1)
    }

    /// All of these hold.
    pub(super) fn all(&mut self, parts: impl IntoIterator<Item = Edge>) -> Edge {
        let mut found = BTreeSet::new();
        for part in parts {
            match self.nodes.get(part.node()) {
                Some(Node::All(inner)) if !part.is_negated() => found.extend(inner.iter().copied()),
                _ => {
                    found.insert(part);
                }
            }
        }
        found.remove(&Edge::ALWAYS);
        if found.contains(&Edge::NEVER) || found.iter().any(|one| found.contains(&one.not())) {
            return Edge::NEVER;
        }
        let parts: Vec<Edge> = found.into_iter().collect();
        match parts.as_slice() {
            [] => Edge::ALWAYS,
            [one] => *one,
            _ => self.node(Node::All(parts)),
        }
    }

    /// Any of these holds.
    pub(super) fn any(&mut self, parts: impl IntoIterator<Item = Edge>) -> Edge {
        let parts: Vec<Edge> = parts.into_iter().map(Edge::not).collect();
        self.all(parts).not()
    }
}
