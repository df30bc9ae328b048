//! What is laid out: the conjunctions that are needed, which of them turn on readings, and the bit of each.

use super::atoms::Atom;
use super::build::{Built, Counts, Excuses, Refused};
use super::gates::{Edge, Node};
use super::layout::Layout;
use super::slices::{MOST_SLOTS, MOST_WAYS};
use std::collections::{BTreeMap, BTreeSet};

/// A conjunction: inputs and other conjunctions, each or its opposite.
#[derive(Debug, Clone, Default)]
pub(super) struct Conjunction {
    pub(super) inputs: Vec<(usize, bool)>,
    pub(super) parts: Vec<(usize, bool)>,
    pub(super) table: Option<usize>,
    pub(super) is_never: bool,
}

/// Where something holds: a conjunction or its opposite; or always, or never.
#[derive(Debug, Clone, Copy)]
pub(super) enum When {
    Fixed(bool),
    Of(usize, bool),
}

/// What an excuse looks at.
#[derive(Debug, Clone)]
pub(super) enum Which {
    Monitors(u32),
    Earlier(usize),
    Rows(Vec<(When, u32)>),
}

/// The conjunctions that are needed, parts before what they are parts of.
pub(super) struct Needed<'a> {
    pub(super) built: &'a Built,
    pub(super) of_node: BTreeMap<usize, usize>,
    pub(super) of_input: BTreeMap<usize, usize>,
    pub(super) list: Vec<Conjunction>,
}

/// Everything but the bits.
pub(super) struct Plan<'a> {
    pub(super) built: &'a Built,
    pub(super) layout: &'a Layout,
    pub(super) list: Vec<Conjunction>,
    pub(super) roots: Vec<usize>,
    pub(super) lines: Vec<usize>,
    pub(super) rules: Vec<(When, u32, bool)>,
    pub(super) excuses: Vec<(When, Which)>,
    /// Inputs that are asked.
    pub(super) atoms: BTreeSet<usize>,
    pub(super) sliced: Option<Sliced>,
}

/// What is looked at in each way of reading.
pub(super) struct Sliced {
    pub(super) readings: Vec<(usize, u64)>,
    pub(super) all: u64,
    /// Whether the count turns on readings.
    pub(super) count_turns: bool,
    pub(super) has_limit: bool,
    /// Inputs and conjunctions that turn on readings.
    pub(super) inputs: BTreeSet<usize>,
    pub(super) turning: Vec<bool>,
    /// The slots of the inputs and of the conjunctions.
    pub(super) slots: BTreeMap<usize, usize>,
    pub(super) of_conjunctions: BTreeMap<usize, usize>,
    pub(super) early: Vec<usize>,
    pub(super) late: Vec<usize>,
}

impl Needed<'_> {
    fn of_edges(&mut self, edges: &[Edge]) -> Conjunction {
        let mut found = Conjunction::default();
        for edge in edges {
            match self.built.gates.nodes().get(edge.node()) {
                None | Some(Node::Always) => found.is_never |= edge.is_negated(),
                Some(Node::Input(atom)) => found.inputs.push((*atom, edge.is_negated())),
                Some(Node::All(_) | Node::Row(..)) => {
                    let part = self.node(edge.node());
                    found.parts.push((part, edge.is_negated()));
                }
            }
        }
        found
    }

    /// An edge by itself: a conjunction is taken over with its parts.
    fn of_edge(&mut self, edge: Edge) -> Conjunction {
        let built = self.built;
        match built.gates.nodes().get(edge.node()) {
            Some(Node::All(parts)) if !edge.is_negated() => self.of_edges(parts),
            _ => self.of_edges(&[edge]),
        }
    }

    fn add(&mut self, conjunction: Conjunction) -> usize {
        self.list.push(conjunction);
        self.list.len() - 1
    }

    fn node(&mut self, node: usize) -> usize {
        if let Some(known) = self.of_node.get(&node) {
            return *known;
        }
        let built = self.built;
        let found = match built.gates.nodes().get(node) {
            Some(Node::All(parts)) => self.of_edges(parts),
            Some(Node::Row(table, inner)) => Conjunction { table: Some(*table), ..self.of_edge(*inner) },
            _ => Conjunction::default(),
        };
        let place = self.add(found);
        self.of_node.insert(node, place);
        place
    }

    fn when(&mut self, edge: Edge) -> When {
        match self.built.gates.nodes().get(edge.node()) {
            None | Some(Node::Always) => When::Fixed(!edge.is_negated()),
            Some(Node::Input(atom)) => {
                let place = match self.of_input.get(atom) {
                    Some(place) => *place,
                    None => {
                        let input = Conjunction { inputs: vec![(*atom, false)], ..Conjunction::default() };
                        let place = self.add(input);
                        self.of_input.insert(*atom, place);
                        place
                    }
                };
                When::Of(place, edge.is_negated())
            }
            Some(Node::All(_) | Node::Row(..)) => When::Of(self.node(edge.node()), edge.is_negated()),
        }
    }

    /// The conjunctions that hold such an input, or a part that does.
    fn with(&self, wanted: impl Fn(usize) -> bool) -> Vec<bool> {
        with(&self.list, wanted)
    }
}

fn with(list: &[Conjunction], wanted: impl Fn(usize) -> bool) -> Vec<bool> {
    let mut found: Vec<bool> = Vec::with_capacity(list.len());
    for one in list {
        let is_so =
            one.inputs.iter().any(|(atom, _)| wanted(*atom)) || one.parts.iter().any(|(part, _)| is(&found, *part));
        found.push(is_so);
    }
    found
}

pub(super) fn is(list: &[bool], at: usize) -> bool {
    list.get(at).copied().unwrap_or(false)
}

pub(super) fn word_of(bit: usize) -> (usize, u32) {
    (bit / 64, u32::try_from(bit % 64).unwrap_or(0))
}

impl<'a> Plan<'a> {
    pub(super) fn of(built: &'a Built, layout: &'a Layout, readings: &[usize]) -> Result<Plan<'a>, Refused> {
        let mut needed = Needed { built, of_node: BTreeMap::new(), of_input: BTreeMap::new(), list: Vec::new() };
        let roots = &built.roots;
        let first: Vec<Edge> =
            roots.covered.iter().chain(&roots.left_out).chain(&roots.becomes).chain(&roots.unread).copied().collect();
        if first.len() > 64 {
            return Err(Refused("it has too many rows of vehicles left out"));
        }
        let mut add = |edge: &Edge| {
            let root = needed.of_edge(*edge);
            needed.add(root)
        };
        let roots: Vec<usize> = first.iter().map(&mut add).collect();
        let lines: Vec<usize> = built.roots.lines.iter().map(&mut add).collect();
        let atom = |at: usize| built.atoms.get(at);
        let is_counted = |at: usize| atom(at).is_some_and(Atom::is_counted);
        let (mut rules, mut excuses) = (Vec::new(), Vec::new());
        if needed.list.iter().any(|one| one.inputs.iter().any(|(atom, _)| is_counted(*atom))) {
            for Counts { when, monitors, is_flagged } in &built.counts {
                rules.push((needed.when(*when), *monitors, *is_flagged));
            }
            for excuse in &built.excuses {
                excuses.push(match excuse {
                    Excuses::Monitors(when, monitors) => (needed.when(*when), Which::Monitors(*monitors)),
                    Excuses::Earlier(when, place) => (needed.when(*when), Which::Earlier(*place)),
                    Excuses::Rows(when, rows) => {
                        let rows = rows.iter().map(|(row, monitors)| (needed.when(*row), *monitors)).collect();
                        (needed.when(*when), Which::Rows(rows))
                    }
                });
            }
        }
        let atoms = needed.list.iter().flat_map(|one| one.inputs.iter().map(|(atom, _)| *atom)).collect();
        let counted = needed.with(is_counted);
        let mut plan = Plan { built, layout, list: needed.list, roots, lines, rules, excuses, atoms, sliced: None };
        if plan.whens().any(|conjunction| is(&counted, conjunction)) {
            return Err(Refused("which monitors count turns on how many count"));
        }
        plan.sliced = plan.slice(readings);
        Ok(plan)
    }

    /// The conjunctions that the count looks at.
    pub(super) fn whens(&self) -> impl Iterator<Item = usize> + '_ {
        let rows = self.excuses.iter().flat_map(|(_, which)| match which {
            Which::Rows(rows) => rows.as_slice(),
            Which::Monitors(_) | Which::Earlier(_) => &[],
        });
        let all = self.rules.iter().map(|(when, ..)| when).chain(self.excuses.iter().map(|(when, _)| when));
        all.chain(rows.map(|(row, _)| row)).filter_map(|when| match when {
            When::Of(conjunction, _) => Some(*conjunction),
            When::Fixed(_) => None,
        })
    }

    pub(super) fn atom(&self, at: usize) -> Option<&'a Atom> {
        self.built.atoms.get(at)
    }

    /// The inputs of which that holds.
    fn inputs(&self, wanted: impl Fn(&Atom) -> bool) -> Vec<usize> {
        self.atoms.iter().copied().filter(|at| self.atom(*at).is_some_and(&wanted)).collect()
    }

    /// What is looked at in each way of reading; `None`: nothing, or there are too many ways.
    fn slice(&self, readings: &[usize]) -> Option<Sliced> {
        let of_readings = self.inputs(|atom| matches!(atom, Atom::Reading(..)));
        let limits = self.inputs(|atom| *atom == Atom::NotRead);
        if of_readings.is_empty() && limits.is_empty() {
            return None;
        }
        let questions: BTreeSet<usize> =
            of_readings.iter().filter_map(|at| self.question(*at)).map(|(of, _)| of).collect();
        let many = |question: usize| readings.get(question).copied().unwrap_or(1).max(1);
        let ways = questions.iter().try_fold(1usize, |ways, question| ways.checked_mul(many(*question)))?;
        if ways > MOST_WAYS {
            return None;
        }
        let in_way = |at: usize, way: usize| {
            let (question, reading) = self.question(at)?;
            let before = questions.range(..question).fold(1, |ways, question| ways * many(*question));
            Some(way / before % many(question) == reading)
        };
        let ways_of = |at: usize| {
            let ways = (0u32..).zip(0..ways).filter(|(_, way)| in_way(at, *way) == Some(true));
            ways.fold(0u64, |all, (bit, _)| all | 1u64.wrapping_shl(bit))
        };
        let all = (0u32..).zip(0..ways).fold(0u64, |all, (bit, _)| all | 1u64.wrapping_shl(bit));
        let of_readings: Vec<(usize, u64)> = of_readings.into_iter().map(|at| (at, ways_of(at))).collect();
        let is_reading = |at: usize| self.question(at).is_some();
        let turning = with(&self.list, is_reading);
        let count_turns = self.whens().any(|conjunction| is(&turning, conjunction));
        let counted = if count_turns { self.inputs(Atom::is_counted) } else { limits };
        let has_limit = !count_turns && !counted.is_empty();
        let slots: BTreeMap<usize, usize> =
            of_readings.iter().map(|(at, _)| *at).chain(counted.iter().copied()).zip(0..).collect();
        let turning = with(&self.list, |at| slots.contains_key(&at));
        let is_late = with(&self.list, |at| count_turns && counted.contains(&at));
        let (late, early): (Vec<usize>, Vec<usize>) =
            (0..self.list.len()).filter(|at| is(&turning, *at)).partition(|at| is(&is_late, *at));
        let of_conjunctions: BTreeMap<usize, usize> = early.iter().chain(&late).copied().zip(slots.len()..).collect();
        let is_small = slots.len() + of_conjunctions.len() <= MOST_SLOTS;
        let is_row = self.list.iter().zip(&turning).any(|(one, turns)| one.table.is_some() && *turns);
        let inputs = slots.keys().copied().collect();
        (is_small && !is_row).then_some(Sliced {
            readings: of_readings,
            all,
            count_turns,
            has_limit,
            inputs,
            turning,
            slots,
            of_conjunctions,
            early,
            late,
        })
    }

    pub(super) fn question(&self, at: usize) -> Option<(usize, usize)> {
        match self.atom(at) {
            Some(Atom::Reading(question, reading)) => Some((*question, *reading)),
            _ => None,
        }
    }

    pub(super) fn turns(&self, conjunction: usize) -> bool {
        self.sliced.as_ref().is_some_and(|sliced| is(&sliced.turning, conjunction))
    }

    pub(super) fn is_sliced(&self, input: usize) -> bool {
        self.sliced.as_ref().is_some_and(|sliced| sliced.inputs.contains(&input))
    }

    /// Inputs and parts of a conjunction that do not turn on readings.
    pub(super) fn plain<'p>(
        &'p self,
        one: &'p Conjunction,
    ) -> (impl Iterator<Item = (usize, bool)> + 'p, impl Iterator<Item = (usize, bool)> + 'p) {
        let inputs = one.inputs.iter().copied().filter(|(input, _)| !self.is_sliced(*input));
        (inputs, one.parts.iter().copied().filter(|(part, _)| !self.turns(*part)))
    }

    /// The bit of each conjunction that has one: roots first, then lines.
    pub(super) fn bits(&self) -> Vec<Option<usize>> {
        let mut bits: Vec<Option<usize>> = vec![None; self.list.len()];
        let mut next = 0;
        let mut give = |conjunction: usize| {
            if let Some(slot) = bits.get_mut(conjunction).filter(|slot| slot.is_none()) {
                *slot = Some(next);
                next += 1;
            }
        };
        self.roots.iter().chain(&self.lines).copied().for_each(&mut give);
        self.whens().for_each(&mut give);
        for (at, one) in self.list.iter().enumerate() {
            let (mut inputs, mut parts) = self.plain(one);
            let is_always = inputs.next().is_none() && parts.next().is_none() && !one.is_never;
            if !(self.turns(at) && is_always) {
                give(at);
            }
        }
        bits
    }
}
