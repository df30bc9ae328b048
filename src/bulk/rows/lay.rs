//! From the plan to bits: what each value rules out, and the operations of conjunctions of conjunctions.

use super::atoms::{Asked as Question, Atom, span_of};
use super::build::{Built, Refused};
use super::code::{Asked, Code, Coded, Count, Excused, Gate, If, Level, OfCount, OfMonitors, Place, Words, put};
use super::layout::Layout;
use super::plan::{Plan, Sliced, When, Which, is, word_of};
use super::presume::possible_at;
use super::slices::{Out, Part, Slice, Slices};
use super::tables::load_value;
use std::collections::{BTreeMap, BTreeSet};

impl Coded {
    /// Lays the graph out. `readings` says how many readings each question has.
    ///
    /// # Errors
    /// Where it takes too many words.
    pub(super) fn of(built: &Built, layout: &Layout, readings: &[usize]) -> Result<Coded, Refused> {
        let plan = Plan::of(built, layout, readings)?;
        let bits = plan.bits();
        let many = bits.iter().flatten().max().map_or(0, |last| last + 1);
        Ok(match many {
            0..=64 => Coded::One(plan.lay(&bits)),
            65..=128 => Coded::Two(plan.lay(&bits)),
            129..=1024 => Coded::Many(Box::new(plan.lay(&bits))),
            _ => return Err(Refused("it takes too many bits")),
        })
    }
}

impl Plan<'_> {
    fn lay<const K: usize>(&self, bits: &[Option<usize>]) -> Code<K> {
        let bit = |conjunction: usize| bits.get(conjunction).copied().flatten();
        let place = |when: &When| match when {
            When::Fixed(holds) => Place::Fixed(*holds),
            When::Of(conjunction, is_negated) => match bit(*conjunction).map(word_of) {
                Some((word, bit)) => Place::At(word, bit, *is_negated),
                None => Place::Fixed(!is_negated),
            },
        };
        let first_line = self.roots.len();
        let mut code = Code::<K>::empty(u32::try_from(first_line).unwrap_or(0), self.lines.len());
        // What each input rules out.
        let mut then: BTreeMap<usize, If<K>> = BTreeMap::new();
        for (at, one) in self.list.iter().enumerate() {
            let Some(bit) = bit(at).map(word_of) else { continue };
            if one.is_never {
                put(&mut code.never, bit);
            }
            for (input, is_negated) in self.plain(one).0 {
                let then = then.entry(input).or_insert(If::NONE);
                put(if is_negated { &mut then.holds } else { &mut then.fails }, bit);
            }
            if let Some(table) = one.table {
                let mut row = [0; K];
                put(&mut row, bit);
                code.rows.push((table, row));
            }
        }
        self.lay_inputs(&mut code, &then, bits);
        let (before, after) = self.lay_gates(bits);
        (code.before, code.after) = (before, after);
        let is_counted = |at: &usize| self.atom(*at).is_some_and(Atom::is_counted);
        let count_turns = self.sliced.as_ref().is_some_and(|sliced| sliced.count_turns);
        if self.atoms.iter().any(is_counted) && !count_turns {
            let then = then.iter().filter(|(at, _)| is_counted(at)).map(|(at, then)| (*at, *then));
            code.count = Some(self.lay_count(then, place));
        }
        code.slices = self.sliced.as_ref().map(|sliced| self.lay_slices(sliced, bits, place));
        code.asked.conjunctions = self.list.len();
        code.asked.raw.sort_unstable();
        code.asked.raw.dedup();
        code
    }

    /// What values, lists and monitors rule out.
    fn lay_inputs<const K: usize>(&self, code: &mut Code<K>, then: &BTreeMap<usize, If<K>>, bits: &[Option<usize>]) {
        let mut by_place: BTreeMap<usize, Vec<(&Question, If<K>)>> = BTreeMap::new();
        for at in &self.atoms {
            let then = then.get(at).copied().unwrap_or(If::NONE);
            match self.atom(*at) {
                Some(Atom::Value(place, of)) => by_place.entry(*place).or_default().push((of, then)),
                Some(Atom::Monitor(_, index)) => code.asked.monitors |= 1 << index,
                Some(Atom::Codes(place, of)) => {
                    code.codes.push((*place, *of, then));
                    code.asked.raw.push(*place);
                }
                Some(Atom::CountOf(set, states, least, most)) => {
                    let range = [least.unwrap_or(i64::MIN), most.unwrap_or(i64::MAX)];
                    code.counts.push(OfCount { set: *set, states: *states, range, then });
                    code.asked.monitors |= set;
                }
                Some(Atom::Pair(place, states)) => {
                    code.pairs.push((*place, *states, then));
                    code.asked.raw.push(*place);
                    code.asked.monitors = u32::MAX;
                }
                Some(Atom::Reading(..)) => {
                    code.asked.readings = true;
                    if !self.is_sliced(*at) {
                        code.of_readings.iter_mut().zip(then.holds).for_each(|(word, more)| *word |= more);
                        code.of_readings.iter_mut().zip(then.fails).for_each(|(word, more)| *word |= more);
                    }
                }
                Some(Atom::NotRead) => code.asked.not_read = true,
                Some(Atom::NotMore(place)) => code.asked.counted.push(*place),
                Some(Atom::Count(..) | Atom::Only(_)) | None => {}
            }
        }
        for (place, asked) in &by_place {
            if span_of(&possible_at(self.layout, *place)).is_none() {
                code.asked.raw.push(*place);
            }
            load_value(code, self.layout, *place, asked);
        }
        self.rules.iter().for_each(|(_, monitors, _)| code.asked.monitors |= monitors);
        for (_, which) in &self.excuses {
            if let Which::Earlier(place) = which {
                code.asked.counted.push(*place);
            }
        }
        code.asked.raw.extend(&code.asked.counted);
        for (at, one) in self.list.iter().enumerate() {
            let mut of = OfMonitors { mask: [0; 2], want: [0; 2], out: [0; K] };
            for (input, is_negated) in &one.inputs {
                if let Some(Atom::Monitor(state, index)) = self.atom(*input) {
                    let (word, from) = if *state == 0 { (1, 0) } else { (0, if *state == 1 { 32 } else { 0 }) };
                    let bit = 1u64.wrapping_shl(from + u32::from(*index));
                    for (mask, want) in of.mask.iter_mut().zip(&mut of.want).skip(word).take(1) {
                        *mask |= bit;
                        *want |= if *is_negated { 0 } else { bit };
                    }
                }
            }
            if let Some(bit) = bits.get(at).copied().flatten().filter(|_| of.mask != [0; 2]) {
                put(&mut of.out, word_of(bit));
                code.monitors.push(of);
            }
        }
    }

    /// Conjunctions with parts, level by level: those before the count and those after it.
    fn lay_gates<const K: usize>(&self, bits: &[Option<usize>]) -> (Vec<Level<K>>, Vec<Level<K>>) {
        let (mut levels, mut is_after): (Vec<usize>, Vec<bool>) = (Vec::new(), Vec::new());
        let mut gates: [BTreeMap<usize, Vec<Gate<K>>>; 2] = [BTreeMap::new(), BTreeMap::new()];
        for (at, one) in self.list.iter().enumerate() {
            let (inputs, parts) = self.plain(one);
            let parts: Vec<(usize, bool)> = parts.collect();
            let level = parts.iter().filter_map(|(part, _)| levels.get(*part)).max().map_or(0, |level| level + 1);
            let mut inputs = inputs.filter_map(|(input, _)| self.atom(input));
            let after = inputs.any(Atom::is_counted) || parts.iter().any(|(part, _)| is(&is_after, *part));
            levels.push(level);
            is_after.push(after);
            let Some(bit) = bits.get(at).copied().flatten().filter(|_| !parts.is_empty()) else { continue };
            let mut gate = Gate { mask: [0; K], no: [0; K], out: [0; K] };
            put(&mut gate.out, word_of(bit));
            for (part, is_negated) in parts {
                let Some(bit) = bits.get(part).copied().flatten() else { continue };
                put(&mut gate.mask, word_of(bit));
                if is_negated {
                    put(&mut gate.no, word_of(bit));
                }
            }
            for gates in gates.iter_mut().skip(usize::from(after)).take(1) {
                gates.entry(level).or_default().push(gate);
            }
        }
        let [before, after] = gates.map(|gates| gates.into_values().map(Vec::into_boxed_slice).collect());
        (before, after)
    }

    fn lay_count<const O: usize>(
        &self,
        then: impl Iterator<Item = (usize, If<O>)>,
        place: impl Fn(&When) -> Place,
    ) -> Count<O> {
        let mut count = Count {
            rules: Vec::new(),
            excuses: Vec::new(),
            tables: Vec::new(),
            only: Vec::new(),
            not_read: None,
            not_more: Vec::new(),
        };
        for (at, then) in then {
            match self.atom(at) {
                Some(Atom::Count(states, least, most)) => {
                    let holds = |many: i64| Question::Number(*least, *most).of_number(many);
                    let known = count.tables.iter().position(|(known, _)| known == states);
                    let at = known.unwrap_or_else(|| {
                        count.tables.push((*states, Box::new([[0; O]; 33])));
                        count.tables.len() - 1
                    });
                    let slots: Option<&mut Box<[Words<O>; 33]>> = count.tables.get_mut(at).map(|(_, slots)| slots);
                    let slots = slots.into_iter().flat_map(|slots| slots.iter_mut());
                    slots.zip(0i64..).for_each(|(slot, many)| then.add(slot, holds(many)));
                }
                Some(Atom::Only(monitors)) => count.only.push((*monitors, then)),
                Some(Atom::NotRead) => count.not_read = Some(then),
                Some(Atom::NotMore(place)) => {
                    let span = span_of(&possible_at(self.layout, *place));
                    let span = span.map_or([i64::MIN, i64::MAX], |span| [span.least, span.most]);
                    count.not_more.push((*place, span, then));
                }
                _ => {}
            }
        }
        count.rules = self.rules.iter().map(|(when, monitors, flagged)| (place(when), *monitors, *flagged)).collect();
        let excuses = self.excuses.iter().map(|(when, which)| {
            let which = match which {
                Which::Monitors(monitors) => Excused::Monitors(*monitors),
                Which::Earlier(place) => Excused::Earlier(*place),
                Which::Rows(rows) => Excused::Rows(rows.iter().map(|(row, set)| (place(row), *set)).collect()),
            };
            (place(when), which)
        });
        count.excuses = excuses.collect();
        count
    }

    fn lay_slices(&self, sliced: &Sliced, bits: &[Option<usize>], place: impl Fn(&When) -> Place) -> Slices {
        let slice = |at: &usize| {
            let one = self.list.get(*at).cloned().unwrap_or_default();
            let inputs =
                one.inputs.iter().filter_map(|(input, is_negated)| Some((*sliced.slots.get(input)?, *is_negated)));
            let parts = one.parts.iter();
            let parts = parts.filter_map(|(part, is_negated)| Some((*sliced.of_conjunctions.get(part)?, *is_negated)));
            let parts = inputs.chain(parts).map(|(slot, is_negated)| Part { slot, is_negated }).collect();
            Slice { base: place(&When::Of(*at, false)), parts }
        };
        let out = |conjunction: &usize| {
            let slot = *sliced.of_conjunctions.get(conjunction)?;
            let (word, bit) = word_of(bits.get(*conjunction).copied().flatten()?);
            Some(Out { slot, word, bit })
        };
        let counted: Vec<usize> = sliced.inputs.iter().copied().filter(|at| self.question(*at).is_none()).collect();
        let count = sliced.count_turns.then(|| {
            let then =
                counted.iter().zip(0u32..).map(|(at, bit)| (*at, If { holds: [0], fails: [1u64.wrapping_shl(bit)] }));
            let whens: BTreeSet<usize> = self.whens().collect();
            (self.lay_count(then, &place), counted.len(), whens.iter().filter_map(out).collect())
        });
        Slices {
            all: sliced.all,
            readings: sliced.readings.iter().map(|(_, ways)| *ways).collect(),
            has_limit: sliced.has_limit,
            before: sliced.early.iter().map(slice).collect(),
            count,
            after: sliced.late.iter().map(slice).collect(),
            outs: self.roots.iter().chain(&self.lines).filter_map(out).collect(),
            slots: sliced.slots.len() + sliced.of_conjunctions.len(),
        }
    }
}

impl<const K: usize> Code<K> {
    fn empty(lines_at: u32, lines: usize) -> Code<K> {
        Code {
            never: [0; K],
            words: Vec::new(),
            numbers: Vec::new(),
            texts: Vec::new(),
            codes: Vec::new(),
            counts: Vec::new(),
            pairs: Vec::new(),
            monitors: Vec::new(),
            of_readings: [0; K],
            rows: Vec::new(),
            before: Vec::new(),
            count: None,
            after: Vec::new(),
            slices: None,
            lines_at,
            lines: (0u32..).zip(0..lines).fold(0, |all, (bit, _)| all | 1u128.wrapping_shl(bit)),
            asked: Asked::default(),
        }
    }

    /// The bits of the roots that are no lines.
    #[inline(always)]
    pub(super) fn root(&self, amiss: &Words<K>) -> u64 {
        amiss.first().map_or(0, |word| !word)
    }

    /// The lines that stand.
    #[inline(always)]
    pub(super) fn lines(&self, amiss: &Words<K>) -> u128 {
        let word = |at: usize| amiss.get(at).map_or(0, |word| u128::from(!word));
        let lower = word(0) | word(1).wrapping_shl(64);
        let upper = if K > 2 && self.lines_at > 0 { word(2).wrapping_shl(128 - self.lines_at) } else { 0 };
        (lower.wrapping_shr(self.lines_at) | upper) & self.lines
    }
}
