//! What each fact of each record can be, as planes: the columns, then what the exclusions rule out and what the program
//! presumes, in the order that [`crate::program::Given`] has it. A record on which narrowing takes more rounds than are
//! unrolled here is left open.

use super::graph::{Bit, Graph, Tri};
use super::shape::{Ask, Kind, Leaf, Look, MOST_LOOKS, Shape, answer, anything_of, first_at_least};
use crate::decode::Monitors;
use crate::model::facts::{ABSENT, Possible};
use crate::model::{Fact, Monitor, MonitorState};
use crate::program::block::Presumed;
use crate::program::{FactRef, Flat, Given, Test};
use std::collections::BTreeMap;

/// Bits of byte B of PID $01 as a number: where the table is that of compression ignition.
const COMPRESSION: u32 = 19;
/// The lamp command.
const LAMP: u32 = 31;

/// A fact that is none of words: where it was narrowed, and where it was presumed.
#[derive(Debug, Clone)]
pub(super) struct Other {
    pub(super) ruled_out: Bit,
    presumed: Bit,
    value: Option<Possible>,
}

/// What is made of the columns.
#[derive(Debug)]
pub(super) struct Builder<'a> {
    pub(super) graph: Graph,
    pub(super) flat: &'a Flat,
    pub(super) bare: &'a Given,
    pub(super) shape: &'a Shape,
    pub(super) leaves: Vec<Leaf>,
    /// Questions to each column of many codes.
    pub(super) looks: Vec<Vec<(FactRef<usize>, Look)>>,
    /// For each fact of words, where it may be each word; [`ABSENT`] among them.
    pub(super) words: BTreeMap<FactRef<usize>, Vec<(u64, Bit)>>,
    pub(super) others: BTreeMap<FactRef<usize>, Other>,
    /// Records that are not answered here.
    pub(super) open: Bit,
    /// Where the vehicle is presumed not to be in a table.
    pub(super) unlisted: BTreeMap<usize, Bit>,
    /// Whether something was met that planes do not express: every record is open.
    pub(super) is_beyond: bool,
}

impl<'a> Builder<'a> {
    pub(super) fn new(flat: &'a Flat, bare: &'a Given, shape: &'a Shape) -> Builder<'a> {
        Builder {
            graph: Graph::new(),
            flat,
            bare,
            shape,
            leaves: Vec::new(),
            looks: vec![Vec::new(); shape.columns.len()],
            words: BTreeMap::new(),
            others: BTreeMap::new(),
            open: Bit::NEVER,
            unlisted: BTreeMap::new(),
            is_beyond: false,
        }
    }

    pub(super) fn leaf(&mut self, leaf: Leaf) -> Bit {
        let place = self.leaves.iter().position(|known| *known == leaf).unwrap_or_else(|| {
            self.leaves.push(leaf);
            self.leaves.len() - 1
        });
        match u32::try_from(place) {
            Ok(place) => self.graph.leaf(place),
            Err(_) => Bit::NEVER,
        }
    }

    /// The answer to a question about a fact as the columns have it.
    fn read(&mut self, fact: &FactRef<usize>, look: &Look) -> Bit {
        let unknown = Bit::of(answer(self.flat, self.bare, fact, look, &anything_of(self.flat, fact)));
        let shape = self.shape;
        let Some(column) = shape.column_of(self.flat, fact) else {
            return unknown;
        };
        let Some(shown) = shape.columns.get(column) else {
            return unknown;
        };
        let known = if shown.may_be_unknown { self.leaf(Leaf::Known(column)) } else { Bit::ALWAYS };
        let told = match &shown.kind {
            Kind::Few(meaning) => {
                let answers: Vec<bool> =
                    meaning.iter().map(|one| answer(self.flat, self.bare, fact, look, one)).collect();
                self.by_code(column, &answers)
            }
            Kind::Many => {
                let asked = (fact.clone(), look.clone());
                let looks = self.looks.get_mut(column);
                let place = looks.map(|looks| {
                    looks.iter().position(|one| *one == asked).unwrap_or_else(|| {
                        looks.push(asked);
                        looks.len() - 1
                    })
                });
                match place {
                    Some(place) if place < MOST_LOOKS => self.leaf(Leaf::Look(column, place)),
                    _ => {
                        self.is_beyond = true;
                        Bit::NEVER
                    }
                }
            }
            Kind::Numbers(scale) => self.by_number(column, *scale, look),
        };
        self.graph.choose(known, told, unknown)
    }

    /// A function of the code, by its bits from the highest; codes beyond the list are never met here.
    fn by_code(&mut self, column: usize, answers: &[bool]) -> Bit {
        let Some(first) = answers.first() else {
            return Bit::NEVER;
        };
        if answers.iter().all(|one| one == first) {
            return Bit::of(*first);
        }
        let width = answers.len().next_power_of_two();
        let half = width / 2;
        let (low, high) = answers.split_at(half.min(answers.len()));
        let (yes, no) = (self.by_code(column, high), self.by_code(column, low));
        let bit = self.leaf(Leaf::CodeBit(column, half.trailing_zeros()));
        self.graph.choose(bit, yes, no)
    }

    /// A question to a known number.
    fn by_number(&mut self, column: usize, scale: i64, look: &Look) -> Bit {
        let test = match &look.ask {
            Ask::Surely(test) | Ask::Perhaps(test) => Some(test),
            Ask::Presumable(_) => return Bit::NEVER,
            _ => None,
        };
        match test {
            Some(Test::Number { least, most, .. }) => {
                let low = match least {
                    Some(least) => self.leaf(Leaf::AtLeast(column, first_at_least(*least, scale))),
                    None => Bit::ALWAYS,
                };
                let above = match most {
                    Some(most) => self.leaf(Leaf::AtLeast(column, most.div_euclid(scale).saturating_add(1))),
                    None => Bit::NEVER,
                };
                self.graph.but_not(low, above)
            }
            Some(Test::ModelYearIsEven(even)) => {
                let odd = self.leaf(Leaf::Odd(column));
                if *even { odd.not() } else { odd }
            }
            Some(Test::Present { is, .. }) => Bit::of(*is),
            // Numbers for a declared fact of words.
            _ => {
                self.is_beyond = true;
                Bit::NEVER
            }
        }
    }

    /// Where a fact of words may be each of its words, before narrowing.
    fn first_words(&mut self, fact: &FactRef<usize>) -> Vec<(u64, Bit)> {
        let Possible::Words(all) = anything_of(self.flat, fact) else {
            return Vec::new();
        };
        let bits = (0..64).filter_map(|place| 1u64.checked_shl(place)).filter(|bit| all & bit != 0 || *bit == ABSENT);
        let of_bytes = match (self.shape.monitor_bytes, self.shape.column_of(self.flat, fact), fact) {
            (Some(may_be_unknown), None, FactRef::Known(fact)) => self.of_bytes(*fact, may_be_unknown),
            _ => None,
        };
        bits.map(|bit| {
            let may = match &of_bytes {
                Some(words) => words.iter().find(|(word, _)| *word == bit).map_or(Bit::NEVER, |(_, may)| *may),
                None => self.read(fact, &Look { ask: Ask::MayBe(bit), ruled_out: false }),
            };
            (bit, may)
        })
        .collect()
    }

    /// What the bytes of PID $01 tell of a fact. A controller that supports nothing besides comprehensive components
    /// is left open.
    fn of_bytes(&mut self, fact: Fact, may_be_unknown: bool) -> Option<Vec<(u64, Bit)>> {
        let compression = self.leaf(Leaf::MonitorBit(COMPRESSION));
        let yes = match fact {
            Fact::LampCommanded => self.leaf(Leaf::MonitorBit(LAMP)),
            Fact::Ignition => compression,
            // The bytes of an engine controller name a monitor of the classic protocol, which has none of these.
            Fact::Monitor(monitor) if monitor.is_j1939() => {
                let known = self.bytes_known(may_be_unknown);
                return Some(of_states([Bit::ALWAYS, known.not(), known.not()]));
            }
            Fact::Monitor(monitor) => {
                let places = bits_of(monitor);
                let (spark, other) = (places.first().copied().flatten(), places.last().copied().flatten());
                let (support, status, table) = match (spark, other) {
                    (Some(bits), Some(same)) if bits == same => (bits.0, bits.1, Bit::ALWAYS),
                    (Some(bits), None) => (bits.0, bits.1, compression.not()),
                    (None, Some(bits)) => (bits.0, bits.1, compression),
                    _ => return None,
                };
                let (support, status) = (self.leaf(Leaf::MonitorBit(support)), self.leaf(Leaf::MonitorBit(status)));
                let known = self.bytes_known(may_be_unknown);
                // Where the bytes tell the ignition too, monitors of the other table are unsupported; else they are not
                // known, and narrowing says more.
                let told = if self.is_ignition_of_bytes() { known } else { self.graph.and(known, table) };
                let graph = &mut self.graph;
                let here = graph.and(support, status);
                let (complete, incomplete) = (graph.but_not(support, status), graph.and(here, table));
                let (complete, support) = (graph.and(complete, table), graph.and(support, table));
                let states = [support.not(), complete, incomplete];
                return Some(of_states(states.map(|may| graph.choose(told, may, Bit::ALWAYS))));
            }
            _ => return None,
        };
        let known = self.bytes_known(may_be_unknown);
        let states = [(1, yes.not()), (2, yes)];
        let graph = &mut self.graph;
        Some(states.into_iter().map(|(bit, may)| (bit, graph.choose(known, may, Bit::ALWAYS))).collect())
    }

    pub(super) fn is_ignition_of_bytes(&self) -> bool {
        self.shape.column_of(self.flat, &FactRef::Known(Fact::Ignition)).is_none()
    }

    /// Where the bytes are known; those of no engine controller are left open, and those that name no monitor.
    fn bytes_known(&mut self, may_be_unknown: bool) -> Bit {
        let known = if may_be_unknown { self.leaf(Leaf::MonitorKnown) } else { Bit::ALWAYS };
        let support: Vec<Bit> = [16, 17].into_iter().chain(8..16).map(|bit| self.leaf(Leaf::MonitorBit(bit))).collect();
        let is_engine = self.graph.any(support);
        let odd = self.graph.but_not(known, is_engine);
        self.open = self.graph.or(self.open, odd);
        known
    }

    pub(super) fn words_of(&mut self, fact: &FactRef<usize>) -> Vec<(u64, Bit)> {
        if let Some(words) = self.words.get(fact) {
            return words.clone();
        }
        let words = self.first_words(fact);
        self.words.insert(fact.clone(), words.clone());
        words
    }

    /// Whether every record says which word it is.
    pub(super) fn is_settled(&self, fact: &FactRef<usize>) -> bool {
        match self.shape.column_of(self.flat, fact).and_then(|column| self.shape.columns.get(column)) {
            Some(shown) => {
                let one = |meaning: &Possible| matches!(meaning, Possible::Words(mask) if mask.count_ones() == 1);
                let is_one = match &shown.kind {
                    Kind::Few(meaning) => meaning.iter().all(one),
                    Kind::Many | Kind::Numbers(_) => false,
                };
                is_one && !shown.may_be_unknown
            }
            None => {
                let told = match fact {
                    FactRef::Known(Fact::LampCommanded | Fact::Ignition) => true,
                    FactRef::Known(Fact::Monitor(monitor)) => monitor.is_j1939() || self.is_ignition_of_bytes(),
                    _ => false,
                };
                told && self.shape.monitor_bytes == Some(false)
            }
        }
    }

    /// Where a fact of words is perhaps one of some words, and where surely.
    pub(super) fn word(&mut self, fact: &FactRef<usize>, accepted: u64) -> Tri {
        let words = self.words_of(fact);
        if self.is_settled(fact) {
            let accepted = words.iter().filter(|(bit, _)| *bit != ABSENT && bit & accepted != 0);
            let accepted = self.graph.any(accepted.map(|(_, may)| *may));
            return Tri { surely: accepted, perhaps: accepted };
        }
        let of = |wanted: bool| {
            let is_accepted = move |bit: u64| bit != ABSENT && bit & accepted != 0;
            words.iter().filter(move |(bit, _)| is_accepted(*bit) == wanted).map(|(_, may)| *may).collect::<Vec<_>>()
        };
        let (some, others) = (of(true), of(false));
        let (perhaps, otherwise) = (self.graph.any(some), self.graph.any(others));
        Tri { surely: self.graph.but_not(perhaps, otherwise), perhaps }
    }

    /// Where the vehicle surely has a fact of words, and where perhaps.
    pub(super) fn has_word(&mut self, fact: &FactRef<usize>) -> Tri {
        self.word(fact, !ABSENT)
    }

    /// The answer to a question about a fact that is none of words, narrowed and presumed.
    pub(super) fn ask(&mut self, fact: &FactRef<usize>, ask: Ask) -> Bit {
        let other = self.other(fact);
        let now = self.read(fact, &Look { ask: ask.clone(), ruled_out: false });
        let narrowed = if other.ruled_out == Bit::NEVER {
            now
        } else {
            let narrowed = self.read(fact, &Look { ask: ask.clone(), ruled_out: true });
            self.graph.choose(other.ruled_out, narrowed, now)
        };
        match &other.value {
            Some(value) => {
                let presumed = answer(self.flat, self.bare, fact, &Look { ask, ruled_out: false }, value);
                self.graph.choose(other.presumed, Bit::of(presumed), narrowed)
            }
            None => narrowed,
        }
    }

    /// Where a test of one fact that is none of words holds.
    pub(super) fn test(&mut self, fact: &FactRef<usize>, test: &Test<usize>) -> Tri {
        Tri { surely: self.ask(fact, Ask::Surely(test.clone())), perhaps: self.ask(fact, Ask::Perhaps(test.clone())) }
    }

    pub(super) fn other(&self, fact: &FactRef<usize>) -> Other {
        let none = Other { ruled_out: Bit::NEVER, presumed: Bit::NEVER, value: None };
        self.others.get(fact).cloned().unwrap_or(none)
    }

    /// Narrows by the exclusions, presumes, and narrows again.
    pub(super) fn settle(&mut self) {
        self.narrow();
        if self.flat.presumptions.is_empty() {
            return;
        }
        let flat = self.flat;
        // All conditions before any presumption: they look at what is reported.
        let open = vec![None; flat.questions.len()];
        let walk = super::condition::walk(self, &open);
        let holds: Vec<Bit> = flat.presumptions.iter().map(|one| walk.truth(&one.condition).surely).collect();
        for (place, (presumption, holds)) in flat.presumptions.iter().zip(holds).enumerate() {
            let fact = &presumption.fact;
            match &presumption.value {
                Presumed::NotListed(id) => {
                    let Some(table) = flat.tables.iter().position(|table| table.id == *id) else { continue };
                    let mut here = self.unlisted.get(&table).copied().unwrap_or(Bit::NEVER);
                    for asked in [Fact::Make, Fact::Model, Fact::Engine] {
                        let unknown = self.ask(&FactRef::Known(asked), Ask::NoText);
                        let unknown = self.graph.and(unknown, holds);
                        here = self.graph.or(here, unknown);
                    }
                    self.unlisted.insert(table, here);
                }
                Presumed::Word(bit) => self.presume_word(fact, *bit, holds),
                Presumed::Number(_) | Presumed::Text(_) => {
                    let here = self.ask(fact, Ask::Presumable(place));
                    let here = self.graph.and(here, holds);
                    let mut other = self.other(fact);
                    if other.value.is_some() {
                        // A second presumption on the same fact: none of the shipped programs has one.
                        self.is_beyond = true;
                    }
                    let anything = anything_of(flat, fact);
                    other.presumed = here;
                    other.value = crate::program::given::presumed(&anything, &presumption.value);
                    self.others.insert(fact.clone(), other);
                }
            }
        }
        self.narrow();
    }

    fn presume_word(&mut self, fact: &FactRef<usize>, bit: u64, holds: Bit) {
        let words = self.words_of(fact);
        let (mut one, mut more) = (Bit::NEVER, Bit::NEVER);
        for (_, may) in &words {
            let again = self.graph.and(one, *may);
            more = self.graph.or(more, again);
            one = self.graph.or(one, *may);
        }
        let may = words.iter().find(|(word, _)| *word == bit).map_or(Bit::NEVER, |(_, may)| *may);
        let here = self.graph.and(more, may);
        let here = self.graph.and(here, holds);
        let presumed = words.into_iter().map(|(word, may)| {
            let may = if word == bit { may } else { self.graph.but_not(may, here) };
            (word, may)
        });
        let presumed = presumed.collect();
        self.words.insert(fact.clone(), presumed);
    }
}

/// A function for each state of a monitor, with the state's bit in a mask of words.
fn of_states(may: [Bit; 3]) -> Vec<(u64, Bit)> {
    MonitorState::ALL.map(MonitorState::bit).into_iter().zip(may).collect()
}

/// The bits of support and of status of a monitor in the bytes of PID $01 as a number, for spark and for compression
/// ignition.
fn bits_of(monitor: Monitor) -> [Option<(u32, u32)>; 2] {
    let states = |ignition: u8, support: u32| {
        let [_, b, c, _] = (1u32 << support).to_be_bytes();
        let found = Monitors::from_j1979(b | ignition, c, 0);
        found.state(monitor.name()).is_some_and(|state| state != MonitorState::Unsupported)
    };
    let place = |ignition: u8| {
        let support = (8..16).chain(16..19).find(|bit| states(ignition, *bit))?;
        Some((support, if support >= 16 { support + 4 } else { support - 8 }))
    };
    [place(0), place(0x08)]
}
