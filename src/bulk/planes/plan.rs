//! The list of operations that a flat program comes to for the columns of a batch: what is asked for and nothing else,
//! each operation once, results in as few places as need be so that they stay in the nearest cache.

use super::facts::Builder;
use super::graph::{Bit, Node};
use super::shape::{Kind, Leaf, Look, Shape, Shown, answers};
use super::verdict::functions;
use crate::bulk::batch::{Batch, Column};
use crate::bulk::exact::Answer;
use crate::bulk::judged::RowError;
use crate::bulk::signature::{Answers, Asked, Told};
use crate::model::facts::Possible;
use crate::program::{FactRef, Flat, Given};
use std::collections::{BTreeMap, BTreeSet};
use std::sync::{Mutex, PoisonError};

/// A word operation on places.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Op {
    /// Both.
    And(u16, u16, u16),
    /// The first and not the second.
    ButNot(u16, u16, u16),
    /// Neither.
    Neither(u16, u16, u16),
    /// One of them.
    Xor(u16, u16, u16),
    /// Reads a leaf: its place in the list, and where it goes.
    Load(u16, u16),
}

/// Where a result is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Out {
    /// The same for every record.
    Constant(bool),
    /// At a place, as it is or negated.
    Place(u16, bool),
}

/// A program for the columns of a batch.
#[derive(Debug)]
pub(crate) struct Plan {
    pub(super) shape: Shape,
    pub(super) leaves: Vec<Leaf>,
    pub(super) looks: Vec<Vec<(FactRef<usize>, Look)>>,
    pub(super) ops: Vec<Op>,
    pub(super) places: usize,
    pub(super) possible: Vec<Out>,
    pub(super) deciding: Vec<Out>,
    pub(super) open: Out,
    /// Whether something was met that planes do not express: every record is left open, and what a record says is not
    /// told by the leaves alone.
    pub(super) is_beyond: bool,
    told: Vec<Told>,
    answers: Answers,
    tables: Mutex<Vec<Table>>,
}

/// Answers by code for the meanings of a column, kept from batch to batch: lists of meanings mostly grow at their end.
#[derive(Debug)]
struct Table {
    column: usize,
    meaning: Vec<Possible>,
    /// For each eight questions a byte a code.
    bytes: Vec<Vec<u8>>,
}

/// Tables kept: those of some columns, for some threads that met the meanings in another order.
const MOST_TABLES: usize = 64;

impl Plan {
    /// The plan of a flat program for the shape of a batch; `bare` is what is given of a vehicle of which nothing is
    /// known. With `verdicts_alone`, lines that decide are not asked for.
    pub(crate) fn of(flat: &Flat, bare: &Given, shape: Shape, verdicts_alone: bool) -> Plan {
        let mut builder = Builder::new(flat, bare, &shape);
        builder.settle();
        let functions = functions(&mut builder, verdicts_alone);
        let Builder { graph, leaves, looks, is_beyond, .. } = builder;
        let mut plan = Plan {
            leaves,
            looks,
            ops: Vec::new(),
            places: 0,
            possible: Vec::new(),
            deciding: Vec::new(),
            open: Out::Constant(true),
            is_beyond,
            told: Vec::new(),
            answers: Answers::default(),
            tables: Mutex::default(),
            shape,
        };
        plan.told = told(&plan.shape, &plan.leaves);
        let outs: Vec<Bit> =
            functions.possible.iter().chain(&functions.deciding).copied().chain([functions.open]).collect();
        let Some(mut found) = (Listing::new(graph.nodes(), &outs)).write(&mut plan) else {
            plan.is_beyond = true;
            return plan;
        };
        plan.open = found.pop().unwrap_or(Out::Constant(true));
        plan.deciding = found.split_off(functions.possible.len());
        plan.possible = found;
        plan
    }

    /// Whether no record is answered by planes.
    pub(super) fn is_all_open(&self) -> bool {
        self.is_beyond || self.open == Out::Constant(true)
    }

    /// Whether it was made for batches like this one.
    pub(crate) fn fits(&self, batch: &Batch<'_>) -> bool {
        self.shape.is_of(batch)
    }

    /// The answers for records that were left open; `find` works one out, and is not asked again for a record that says
    /// the same.
    pub(crate) fn answers(
        &self,
        (flat, bare): (&Flat, &Given),
        batch: &Batch<'_>,
        rows: impl Iterator<Item = usize>,
        find: impl Fn(usize) -> Result<Answer, RowError>,
        mut done: impl FnMut(usize, &Result<Answer, RowError>),
    ) {
        let mut rows = rows.peekable();
        if rows.peek().is_none() {
            return;
        }
        if self.is_beyond {
            return rows.for_each(|row| done(row, &find(row)));
        }
        let bits = self.leaves.iter().filter_map(|leaf| match leaf {
            Leaf::MonitorBit(bit) => 1u32.checked_shl(*bit),
            _ => None,
        });
        let mut asked = Asked::of(bits.fold(0, |all, bit| all | bit));
        for (place, (((_, column), told), looks)) in batch.columns().zip(&self.told).zip(&self.looks).enumerate() {
            asked.bytes.push(match (column, told) {
                (Column::Coded { meaning, .. }, Told::Meaning) => {
                    self.tables(place, meaning, |one| answers(flat, bare, looks, one))
                }
                _ => Vec::new(),
            });
        }
        self.answers.each(batch, &self.told, &mut asked, rows, find, done);
    }

    /// The answers by code of a column: for each eight questions a byte a code. `answers` gives the bytes of a meaning.
    pub(super) fn tables(
        &self,
        column: usize,
        meaning: &[Possible],
        answers: impl Fn(&Possible) -> Vec<u8>,
    ) -> Vec<Vec<u8>> {
        let mut all = self.tables.lock().unwrap_or_else(PoisonError::into_inner);
        let found = all.iter().position(|table| table.column == column && meaning.starts_with(&table.meaning));
        let place = found.unwrap_or_else(|| {
            if all.len() >= MOST_TABLES {
                all.remove(0);
            }
            all.push(Table { column, meaning: Vec::new(), bytes: Vec::new() });
            all.len() - 1
        });
        let Some(table) = all.get_mut(place) else { return Vec::new() };
        for one in meaning.get(table.meaning.len()..).unwrap_or(&[]) {
            let bytes = answers(one);
            table.bytes.resize_with(bytes.len(), Vec::new);
            table.bytes.iter_mut().zip(bytes).for_each(|(of, byte)| of.push(byte));
            table.meaning.push(one.clone());
        }
        table.bytes.clone()
    }

    /// How many operations and leaves a block takes.
    #[must_use]
    pub(crate) fn size(&self) -> Option<(usize, usize)> {
        let loads = self.ops.iter().filter(|op| matches!(op, Op::Load(..))).count();
        (!self.is_all_open()).then(|| (self.ops.len() - loads, loads))
    }
}

/// How the values of each column are told apart: as the leaves do.
fn told(shape: &Shape, leaves: &[Leaf]) -> Vec<Told> {
    let is_looked_at = |place: usize| {
        leaves.iter().any(|leaf| match leaf {
            Leaf::Known(column)
            | Leaf::CodeBit(column, _)
            | Leaf::Look(column, _)
            | Leaf::AtLeast(column, _)
            | Leaf::Odd(column) => *column == place,
            Leaf::MonitorBit(_) | Leaf::MonitorKnown => false,
        })
    };
    let of = |(place, shown): (usize, &Shown)| match shown.kind {
        _ if !is_looked_at(place) => Told::Nothing,
        Kind::Few(_) => Told::Code,
        Kind::Many => Told::Meaning,
        Kind::Numbers(_) => {
            let bounds: BTreeSet<i64> = leaves
                .iter()
                .filter_map(|leaf| match leaf {
                    Leaf::AtLeast(column, bound) if *column == place => Some(*bound),
                    _ => None,
                })
                .collect();
            let parity = leaves.contains(&Leaf::Odd(place));
            Told::Number { bounds: bounds.into_iter().collect(), parity }
        }
    };
    shape.columns.iter().enumerate().map(of).collect()
}

/// Writing the list.
struct Listing<'a> {
    nodes: &'a [Node],
    outs: &'a [Bit],
    /// How many operations still read a node; outputs are read for ever.
    readers: Vec<u32>,
    place: BTreeMap<u32, u16>,
    free: Vec<u16>,
}

impl<'a> Listing<'a> {
    fn new(nodes: &'a [Node], outs: &'a [Bit]) -> Listing<'a> {
        Listing { nodes, outs, readers: vec![0; nodes.len()], place: BTreeMap::new(), free: Vec::new() }
    }

    fn node(&self, place: u32) -> Option<&'a Node> {
        self.nodes.get(usize::try_from(place).ok()?)
    }

    fn reads(&mut self, bit: Bit) -> Option<&mut u32> {
        self.readers.get_mut(usize::try_from(bit.parts().0).ok()?)
    }

    /// Writes the operations; `None` where there are too many places.
    fn write(mut self, plan: &mut Plan) -> Option<Vec<Out>> {
        for bit in self.outs {
            let readers = self.reads(*bit)?;
            *readers = readers.saturating_add(u32::MAX >> 8);
        }
        for node in self.nodes.iter().enumerate().rev() {
            let (place, node) = node;
            if self.readers.get(place).is_some_and(|readers| *readers > 0)
                && let Node::And(one, other) | Node::Xor(one, other) = node
            {
                *self.reads(*one)? += 1;
                *self.reads(*other)? += 1;
            }
        }
        for place in 0..u32::try_from(self.nodes.len()).ok()? {
            self.visit(place, plan)?;
        }
        let outs = self.outs.iter().map(|bit| match bit.parts() {
            (0, negated) => Some(Out::Constant(negated)),
            (place, negated) => self.place.get(&place).map(|at| Out::Place(*at, negated)),
        });
        outs.collect()
    }

    /// Writes the operation of a node that is read.
    fn visit(&mut self, place: u32, plan: &mut Plan) -> Option<()> {
        let readers = self.readers.get(usize::try_from(place).ok()?).copied()?;
        let Some(node) = self.node(place).filter(|_| readers > 0 && place > 0) else {
            return Some(());
        };
        match node {
            // Leaves are read just before they are needed.
            Node::Never | Node::Leaf(_) => {}
            Node::And(one, other) => {
                let ((_, x), (_, y)) = (one.parts(), other.parts());
                let (a, b) = (self.operand(*one, plan)?, self.operand(*other, plan)?);
                self.done(*one)?;
                self.done(*other)?;
                let to = self.take(place, plan)?;
                plan.ops.push(match (x, y) {
                    (false, false) => Op::And(a, b, to),
                    (false, true) => Op::ButNot(a, b, to),
                    (true, false) => Op::ButNot(b, a, to),
                    (true, true) => Op::Neither(a, b, to),
                });
            }
            Node::Xor(one, other) => {
                let (a, b) = (self.operand(*one, plan)?, self.operand(*other, plan)?);
                self.done(*one)?;
                self.done(*other)?;
                let to = self.take(place, plan)?;
                plan.ops.push(Op::Xor(a, b, to));
            }
        }
        if let Node::Leaf(_) = node
            && self.outs.iter().any(|bit| bit.parts().0 == place)
        {
            self.operand(self.outs.iter().find(|bit| bit.parts().0 == place).copied()?, plan)?;
        }
        Some(())
    }

    /// Where a node is; a leaf is read now if it was not yet.
    fn operand(&mut self, bit: Bit, plan: &mut Plan) -> Option<u16> {
        let (node, _) = bit.parts();
        if let Some(place) = self.place.get(&node) {
            return Some(*place);
        }
        let Some(Node::Leaf(leaf)) = self.node(node) else {
            return None;
        };
        let to = self.take(node, plan)?;
        plan.ops.push(Op::Load(u16::try_from(*leaf).ok()?, to));
        Some(to)
    }

    fn take(&mut self, node: u32, plan: &mut Plan) -> Option<u16> {
        let place = match self.free.pop() {
            Some(place) => place,
            None => {
                let place = u16::try_from(plan.places).ok()?;
                plan.places += 1;
                place
            }
        };
        self.place.insert(node, place);
        Some(place)
    }

    /// One reader less; the place of a node that nobody reads any more is free.
    fn done(&mut self, bit: Bit) -> Option<()> {
        let readers = self.reads(bit)?;
        *readers = readers.saturating_sub(1);
        if *readers == 0
            && let Some(place) = self.place.remove(&bit.parts().0)
        {
            self.free.push(place);
        }
        Some(())
    }
}
