//! From the graph to words: which bit each part has, and what fills it.

use super::atoms::{Asked, Atom, span_of};
use super::build::{Built, Counts, Excuses, Refused};
use super::code::{Code, Count, Excused, Gate, Load, NO_TABLE, Place, Run, Term, WORDS};
use super::gates::{Edge, Node};
use super::layout::Layout;
use super::presume::possible_at;
use super::tables::load_value;
use std::collections::{BTreeMap, BTreeSet};

/// The most ways of reading that are tried one by one, as the interpreter has it.
const MOST_WAYS: usize = 64;

/// Where the next free bit is.
#[derive(Debug, Clone, Copy)]
struct Free {
    word: u8,
    bit: u32,
}

/// The bits of atoms.
type Bits = Vec<Option<Free>>;

/// What is needed: atoms, and the nodes that something beside a root needs.
#[derive(Debug, Default)]
struct Live {
    atoms: BTreeSet<usize>,
    nodes: BTreeSet<usize>,
}

/// Gives conjunctions their bits.
struct Layer<'a> {
    nodes: &'a [Node],
    bits: Bits,
    places: Vec<Place>,
    free: Free,
    runs: Vec<Run>,
}

impl Free {
    /// So many bits of one word.
    fn take(&mut self, many: u32) -> Free {
        if self.bit + many > 64 {
            *self = Free { word: self.word.saturating_add(1), bit: 0 };
        }
        let found = *self;
        self.bit += many;
        found
    }

    /// The beginning of a word that nothing is in.
    fn turn(&mut self) {
        if self.bit > 0 {
            *self = Free { word: self.word.saturating_add(1), bit: 0 };
        }
    }
}

impl Code {
    /// Lays the graph out. `readings` says how many readings each question has.
    ///
    /// # Errors
    /// Where it takes too many words.
    pub(super) fn of(built: &Built, layout: &Layout, readings: &[usize]) -> Result<Code, Refused> {
        let live = live(built);
        let mut code = Code::default();
        let mut bits: Bits = vec![None; built.atoms.len()];
        let asked: Vec<(usize, &Atom)> =
            built.atoms.iter().enumerate().filter(|(at, _)| live.atoms.contains(at)).collect();
        let mut free = Free { word: 2, bit: 0 };
        let mut loads: BTreeMap<u8, Load> = BTreeMap::new();
        code.lay_values(&asked, layout, &mut bits, &mut free, &mut loads);
        code.loads = loads.into_iter().map(|(out, load)| Load { out, ..load }).collect();
        let of_bits = code.lay_readings(&asked, readings, &mut bits, &mut free)?;
        let count = code.lay_count(&asked, layout, &mut bits, &mut free)?;
        free.turn();
        let nodes = built.gates.nodes();
        let places = vec![Place::Fixed(true); nodes.len()];
        let mut layer = Layer { nodes, bits, places, free, runs: Vec::new() };
        layer.inputs();
        let counted = counted_nodes(built);
        layer.gates(&live, |node| !counted.contains(&node));
        code.before = layer.end();
        if let Some(count) = count {
            code.count = Some(code.lay_rules(count, built, &layer, &counted)?);
        }
        layer.gates(&live, |node| counted.contains(&node));
        code.lay_roots(&mut layer, built, &live)?;
        code.mark_readings(&of_bits);
        code.raw_places.sort_unstable();
        code.raw_places.dedup();
        let is_small = usize::from(layer.free.word) < WORDS;
        if is_small { Ok(code) } else { Err(Refused("it takes too many bits")) }
    }

    fn lay_values(
        &mut self,
        asked: &[(usize, &Atom)],
        layout: &Layout,
        bits: &mut Bits,
        free: &mut Free,
        loads: &mut BTreeMap<u8, Load>,
    ) {
        let mut by_place: BTreeMap<usize, Vec<(usize, &Asked)>> = BTreeMap::new();
        for (at, atom) in asked {
            match atom {
                Atom::Monitor(state, index) => {
                    let (word, from) = if *state == 0 { (1, 0) } else { (0, if *state == 1 { 32 } else { 0 }) };
                    set(bits, *at, Free { word, bit: from + u32::from(*index) });
                    self.monitors |= 1 << index;
                }
                Atom::Value(place, of) => by_place.entry(*place).or_default().push((*at, of)),
                _ => {}
            }
        }
        // The bits of one value stand together.
        for (place, all) in &by_place {
            if span_of(&possible_at(layout, *place)).is_none() {
                self.raw_places.push(*place);
            }
            for part in all.chunks(64) {
                let first = free.take(u32::try_from(part.len()).unwrap_or(64));
                let mut here = Vec::new();
                for (bit, (at, of)) in (first.bit..).zip(part) {
                    set(bits, *at, Free { bit, ..first });
                    here.push((1u64.wrapping_shl(bit), *of));
                }
                load_value(loads.entry(first.word).or_default(), layout, *place, &here);
            }
        }
        for (at, atom) in asked {
            if !matches!(atom, Atom::Codes(..) | Atom::CountOf(..) | Atom::Pair(..)) {
                continue;
            }
            let place = free.take(1);
            set(bits, *at, place);
            let bit = 1u64.wrapping_shl(place.bit);
            let load = loads.entry(place.word).or_default();
            match atom {
                Atom::Codes(place, of) => {
                    load.codes.push((*place, *of, bit));
                    self.raw_places.push(*place);
                }
                Atom::CountOf(set, states, least, most) => {
                    load.counts.push((*set, *states, least.unwrap_or(i64::MIN), most.unwrap_or(i64::MAX), bit));
                    self.monitors |= set;
                }
                Atom::Pair(place, states) => {
                    load.pairs.push((*place, *states, bit));
                    self.raw_places.push(*place);
                    self.monitors = u32::MAX;
                }
                _ => {}
            }
        }
    }

    fn lay_rules(
        &mut self,
        mut count: Count,
        built: &Built,
        layer: &Layer<'_>,
        counted: &BTreeSet<usize>,
    ) -> Result<Count, Refused> {
        let turns_on_itself = |edge: &Edge| counted.contains(&edge.node());
        for Counts { when, monitors, is_flagged } in &built.counts {
            if turns_on_itself(when) {
                return Err(Refused("which monitors count turns on how many count"));
            }
            count.rules.push((layer.place(*when), *monitors, *is_flagged));
            self.monitors |= monitors;
        }
        for excuses in &built.excuses {
            let (when, what) = match excuses {
                Excuses::Monitors(when, monitors) => (when, Excused::Monitors(*monitors)),
                Excuses::Earlier(when, place) => {
                    self.raw_places.push(*place);
                    (when, Excused::Earlier(*place))
                }
                Excuses::Rows(when, rows) => {
                    if rows.iter().any(|(row, _)| turns_on_itself(row)) {
                        return Err(Refused("which monitors count turns on how many count"));
                    }
                    let rows = rows.iter().map(|(row, monitors)| (layer.place(*row), *monitors));
                    (when, Excused::Rows(rows.collect()))
                }
            };
            if turns_on_itself(when) {
                return Err(Refused("which monitors count turns on how many count"));
            }
            count.excuses.push((layer.place(*when), what));
        }
        Ok(count)
    }

    /// The readings of open questions: for each of their bits the question, a bit each.
    fn lay_readings(
        &mut self,
        asked: &[(usize, &Atom)],
        readings: &[usize],
        bits: &mut Bits,
        free: &mut Free,
    ) -> Result<Vec<u64>, Refused> {
        let wanted: Vec<(usize, usize, usize)> = asked
            .iter()
            .filter_map(|(at, atom)| match atom {
                Atom::Reading(question, reading) => Some((*at, *question, *reading)),
                _ => None,
            })
            .collect();
        if wanted.is_empty() {
            return Ok(Vec::new());
        }
        if wanted.len() > 64 {
            return Err(Refused("it has more than 64 readings"));
        }
        free.turn();
        self.readings = free.word;
        for (at, _, _) in &wanted {
            let place = free.take(1);
            set(bits, *at, place);
            self.all_readings |= 1u64.wrapping_shl(place.bit);
        }
        let open: BTreeSet<usize> = wanted.iter().map(|(_, question, _)| *question).collect();
        let many = |question: usize| readings.get(question).copied().unwrap_or(1).max(1);
        let ways = open.iter().try_fold(1usize, |ways, question| ways.checked_mul(many(*question)));
        let place = |question: usize| (0..).zip(&open).find(|(_, one)| **one == question).map_or(0, |(place, _)| place);
        let of_bits = wanted.iter().map(|(_, question, _)| 1u64.wrapping_shl(place(*question))).collect();
        if ways.is_none_or(|ways| ways > MOST_WAYS) {
            return Ok(of_bits);
        }
        for question in &open {
            let bits_of = |reading: usize| {
                let here = (0u32..).zip(&wanted).filter(|(_, (_, of, is))| of == question && *is == reading);
                here.fold(0, |read, (bit, _)| read | 1u64.wrapping_shl(bit))
            };
            self.questions.push((0..many(*question)).map(bits_of).collect());
        }
        Ok(of_bits)
    }

    fn lay_count(
        &mut self,
        asked: &[(usize, &Atom)],
        layout: &Layout,
        bits: &mut Bits,
        free: &mut Free,
    ) -> Result<Option<Count>, Refused> {
        let wanted: Vec<&(usize, &Atom)> = asked.iter().filter(|(_, atom)| atom.is_counted()).collect();
        if wanted.is_empty() {
            return Ok(None);
        }
        if wanted.len() > 64 {
            return Err(Refused("it asks too much of the counted monitors"));
        }
        free.turn();
        let mut count = Count {
            out: free.word,
            rules: Vec::new(),
            excuses: Vec::new(),
            tables: Vec::new(),
            only: Vec::new(),
            not_read: 0,
            not_more: Vec::new(),
            is_of_readings: false,
        };
        for (at, atom) in wanted {
            let place = free.take(1);
            set(bits, *at, place);
            let bit = 1u64.wrapping_shl(place.bit);
            match atom {
                Atom::Count(states, least, most) => {
                    let holds = |many: i64| Asked::Number(*least, *most).of_number(many);
                    let found = count.tables.iter().position(|(known, _)| known == states);
                    let at = found.unwrap_or_else(|| {
                        count.tables.push((*states, [0; 33]));
                        count.tables.len() - 1
                    });
                    let slots = count.tables.get_mut(at).into_iter().flat_map(|(_, slots)| slots);
                    slots.zip(0i64..).filter(|(_, many)| holds(*many)).for_each(|(slot, _)| *slot |= bit);
                }
                Atom::Only(monitors) => count.only.push((*monitors, bit)),
                Atom::NotRead => count.not_read |= bit,
                Atom::NotMore(place) => {
                    let span = span_of(&possible_at(layout, *place));
                    let span = span.map_or([i64::MIN, i64::MAX], |span| [span.least, span.most]);
                    count.not_more.push((*place, span, bit));
                    self.raw_places.push(*place);
                }
                _ => {}
            }
        }
        Ok(Some(count))
    }

    /// Roots: in their order, each a bit.
    fn lay_roots(&mut self, layer: &mut Layer<'_>, built: &Built, live: &Live) -> Result<(), Refused> {
        let roots = &built.roots;
        let first: Vec<Edge> =
            roots.covered.iter().chain(&roots.left_out).chain(&roots.becomes).chain(&roots.unread).copied().collect();
        if first.len() > 64 {
            return Err(Refused("it has too many rows of vehicles left out"));
        }
        let mut words = vec![first];
        words.extend(roots.lines.chunks(64).map(<[Edge]>::to_vec));
        // What a root needs beside itself comes before all of them.
        let terms: Vec<Vec<Option<[Term; 2]>>> =
            words.iter().map(|word| word.iter().map(|root| layer.root(*root, live)).collect()).collect();
        self.after = layer.end();
        let mut outs = Vec::new();
        for word in terms {
            let out = layer.free.word;
            layer.free.word = out.saturating_add(1);
            outs.push(out);
            let gates = (0..).zip(word).filter_map(|(bit, terms)| {
                let [first, second] = terms?;
                Some(Gate { first, second, bit, table: NO_TABLE, is_of_readings: false })
            });
            self.roots.push(Run::of(out, gates.collect()));
        }
        // Without lines the word of lines is one that stays empty.
        let empty = layer.free.word;
        layer.free.word = empty.saturating_add(1);
        let word = |at: usize| outs.get(at).copied().unwrap_or(empty);
        (self.root, self.lines) = (word(0), [word(1), word(2)]);
        Ok(())
    }
}

fn set(bits: &mut Bits, at: usize, place: Free) {
    if let Some(slot) = bits.get_mut(at) {
        *slot = Some(place);
    }
}

/// What is needed of the graph.
fn live(built: &Built) -> Live {
    let nodes = built.gates.nodes();
    let mut live = Live::default();
    let mut open: Vec<Edge> = Vec::new();
    let roots = &built.roots;
    let all =
        roots.covered.iter().chain(&roots.left_out).chain(&roots.becomes).chain(&roots.unread).chain(&roots.lines);
    for root in all {
        match nodes.get(root.node()) {
            // A root takes over the parts of a conjunction.
            Some(Node::All(parts)) if !root.is_negated() => open.extend(parts),
            _ => open.push(*root),
        }
    }
    let mut counts_too = false;
    loop {
        while let Some(edge) = open.pop() {
            if !live.nodes.insert(edge.node()) {
                continue;
            }
            match nodes.get(edge.node()) {
                Some(Node::All(parts)) => open.extend(parts),
                Some(Node::Row(_, inner)) => open.push(*inner),
                Some(Node::Input(atom)) => {
                    live.atoms.insert(*atom);
                }
                Some(Node::Always) | None => {}
            }
        }
        let counts = live.atoms.iter().filter_map(|at| built.atoms.get(*at)).any(Atom::is_counted);
        if counts_too || !counts {
            return live;
        }
        counts_too = true;
        open.extend(built.counts.iter().map(|rule| rule.when));
        for excuses in &built.excuses {
            match excuses {
                Excuses::Monitors(when, _) | Excuses::Earlier(when, _) => open.push(*when),
                Excuses::Rows(when, rows) => {
                    open.push(*when);
                    open.extend(rows.iter().map(|(row, _)| *row));
                }
            }
        }
    }
}

/// The nodes that are known only once the counted monitors are.
fn counted_nodes(built: &Built) -> BTreeSet<usize> {
    let mut found = BTreeSet::new();
    for (place, node) in built.gates.nodes().iter().enumerate() {
        let is_counted = match node {
            Node::Always => false,
            Node::Input(atom) => built.atoms.get(*atom).is_some_and(Atom::is_counted),
            Node::All(parts) => parts.iter().any(|part| found.contains(&part.node())),
            Node::Row(_, inner) => found.contains(&inner.node()),
        };
        if is_counted {
            found.insert(place);
        }
    }
    found
}

impl Layer<'_> {
    /// Inputs have the bits of their atoms.
    fn inputs(&mut self) {
        for (node, place) in self.nodes.iter().zip(self.places.iter_mut()) {
            if let Node::Input(atom) = node
                && let Some(Some(free)) = self.bits.get(*atom)
            {
                *place = Place::At(free.word, free.bit, false);
            }
        }
    }

    fn place(&self, edge: Edge) -> Place {
        match self.places.get(edge.node()).copied().unwrap_or(Place::Fixed(false)) {
            Place::Fixed(holds) => Place::Fixed(holds != edge.is_negated()),
            Place::At(word, bit, negated) => Place::At(word, bit, negated != edge.is_negated()),
        }
    }

    /// The bits of the conjunctions that are needed and chosen.
    fn gates(&mut self, live: &Live, chosen: impl Fn(usize) -> bool) {
        let nodes = self.nodes;
        for (at, node) in nodes.iter().enumerate().filter(|(at, _)| live.nodes.contains(at) && chosen(*at)) {
            let (parts, table) = match node {
                Node::All(parts) => (parts.clone(), NO_TABLE),
                Node::Row(table, inner) => (vec![*inner], u8::try_from(*table).unwrap_or(NO_TABLE)),
                Node::Always | Node::Input(_) => continue,
            };
            let place = match self.terms(&parts) {
                Some([first, second]) => self.put(first, second, table),
                None => Place::Fixed(false),
            };
            if let Some(slot) = self.places.get_mut(at) {
                *slot = place;
            }
        }
    }

    fn put(&mut self, first: Term, second: Term, table: u8) -> Place {
        let free = self.free.take(1);
        if self.runs.last().is_none_or(|run| run.out != free.word) {
            self.runs.push(Run::of(free.word, Vec::new()));
        }
        if let Some(run) = self.runs.last_mut() {
            run.mask |= 1u64.wrapping_shl(free.bit);
            run.gates.push(Gate { first, second, bit: free.bit, table, is_of_readings: false });
        }
        Place::At(free.word, free.bit, false)
    }

    /// The terms of a conjunction, two at most: further ones become conjunctions of their own. `None`: never.
    fn terms(&mut self, parts: &[Edge]) -> Option<[Term; 2]> {
        let mut terms: Vec<Term> = Vec::new();
        for part in parts {
            let (word, bit, negated) = match self.place(*part) {
                Place::Fixed(true) => continue,
                Place::Fixed(false) => return None,
                Place::At(word, bit, negated) => (word, 1u64.wrapping_shl(bit), negated),
            };
            let at = terms.iter().position(|term| term.word == word).unwrap_or_else(|| {
                terms.push(Term { word, ..Term::default() });
                terms.len() - 1
            });
            for term in terms.iter_mut().skip(at).take(1) {
                term.mask |= bit;
                term.want |= if negated { 0 } else { bit };
            }
        }
        while terms.len() > 2 {
            let (first, second) = (terms.remove(0), terms.remove(0));
            if let Place::At(word, bit, _) = self.put(first, second, NO_TABLE) {
                let bit = 1u64.wrapping_shl(bit);
                match terms.iter_mut().find(|term| term.word == word) {
                    Some(term) => (term.mask, term.want) = (term.mask | bit, term.want | bit),
                    None => terms.push(Term { word, mask: bit, want: bit }),
                }
            }
        }
        let term = |at: usize| terms.get(at).copied().unwrap_or_default();
        Some([term(0), term(1)])
    }

    /// The terms of a root. `None`: never.
    fn root(&mut self, root: Edge, live: &Live) -> Option<[Term; 2]> {
        match self.nodes.get(root.node()) {
            Some(Node::All(parts)) if !root.is_negated() && !live.nodes.contains(&root.node()) => {
                let parts = parts.clone();
                self.terms(&parts)
            }
            _ => self.terms(&[root]),
        }
    }

    /// What was laid so far; what follows begins a word of its own.
    fn end(&mut self) -> Vec<Run> {
        self.free.turn();
        std::mem::take(&mut self.runs)
    }
}
