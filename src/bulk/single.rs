//! One record at a time, for a host that holds its facts in variables: fixed slots in, the verdict and every reason out,
//! without allocation and nearly without a branch. A record of which something is not known, or whose readings
//! contradict each other, is not answered by [`Single::judge`]: [`Single::answer`] goes through the diagrams instead.
//!
//! Reads no document and keeps no record; for a whole ruling with its texts there is [`crate::ruling`].

use super::batch::{BatchError, may_mean, name_of};
use super::exact::{Answer, Rules};
use super::judged::RowError;
use super::planes::{Cube, Half, Input, Sources, compile};
use super::record::fits;
use crate::evaluate::States;
use crate::model::facts::{Possible, Span};
use crate::model::{Constraint, Fact, FactType, Facts, Monitor, MonitorState, exclusions, spec};
use crate::program::{FactRef, Given, GivenError, Verdict};
use std::sync::Arc;

/// What a slot holds, in a whole number.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Slot {
    /// The words that a fact may be, as a mask ([`Fact::words`]; the highest bit: not on this vehicle). One bit: known.
    Words(FactRef<String>),
    /// A number, with the base units in one; [`Slot::NOT_KNOWN`] where it is not known.
    Number(FactRef<String>, i64),
    /// A place in a list of meanings; [`Slot::NOT_KNOWN`] where it is not known.
    Coded(FactRef<String>, Vec<Possible>),
}

impl Slot {
    /// What a slot of a number or a code holds where it is not known.
    pub const NOT_KNOWN: i64 = i64::MIN;

    /// The fact.
    #[must_use]
    pub fn fact(&self) -> &FactRef<String> {
        match self {
            Slot::Words(fact) | Slot::Number(fact, _) | Slot::Coded(fact, _) => fact,
        }
    }

    /// Whether the fact can be held so.
    fn fits(&self) -> bool {
        let kind = match self.fact() {
            FactRef::Known(Fact::TestDate | Fact::Monitor(_)) => return false,
            FactRef::Known(fact) => Some(spec(*fact).kind),
            FactRef::Declared(_) => None,
        };
        match (self, kind) {
            (Slot::Words(_), kind) => {
                matches!(kind, None | Some(FactType::YesNo { .. } | FactType::Words(_)))
            }
            (Slot::Number(_, scale), kind) => {
                *scale > 0 && matches!(kind, None | Some(FactType::Number { .. } | FactType::Date))
            }
            (Slot::Coded(fact, meaning), _) => meaning.iter().all(|one| may_mean(fact, one)),
        }
    }
}

/// What follows for one record of which everything is known.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Brief {
    /// The verdict.
    pub verdict: Verdict,
    /// Lines that are unmet and not set aside: bit *n* is line *n* of the flat program.
    pub standing: u128,
    /// Those of them that decide.
    pub deciding: u128,
}

/// A flat program for records in slots.
#[derive(Debug)]
pub struct Single {
    rules: Arc<Rules>,
    slots: Vec<Slot>,
    program: Option<Compiled>,
}

#[derive(Debug)]
struct Compiled {
    sources: Sources,
    /// The functions, where 64 bits are enough: what the bits must be, and the function that then holds.
    narrow: Option<Vec<Narrow>>,
    /// The outcome of each row of vehicles left out.
    left_out: Vec<Option<usize>>,
    /// How many lines.
    lines: usize,
    becomes: Vec<(usize, usize)>,
    /// For each place on the ladder, its lines; the gravest first.
    ladder: Vec<(usize, u128)>,
    /// Slot of words, words of which one surely is the fact's, and the monitors that no such vehicle has.
    ruled_out: Vec<(usize, u64, u32)>,
}

#[derive(Debug, Clone, Copy)]
struct Narrow {
    mask: u64,
    want: u64,
    function: u64,
}

/// Places of the first functions: coverage, whether the record is left open, then the rows of vehicles left out.
const COVERED: usize = 0;
const OPEN: usize = 1;
const LEFT_OUT: usize = 2;

/// The monitors of some kind, bit *n* the monitor of index *n*.
const fn run(first: Monitor, last: Monitor) -> u32 {
    let (first, last) = (place(first), place(last));
    (u32::MAX >> (31 - last)) & (u32::MAX << first)
}

#[expect(clippy::as_conversions, reason = "a constant of a fieldless repr(u8) enum")]
const fn place(monitor: Monitor) -> u32 {
    monitor as u32
}

const HEAVY_DUTY: u32 = run(Monitor::HdMisfire, Monitor::HdNmhcCatalyst);

/// The monitors that a vehicle lacks by the words of its slots, from the exclusions.
fn ruled_out(slots: &[Slot]) -> Vec<(usize, u64, u32)> {
    let mut found: Vec<(usize, u64, u32)> = Vec::new();
    for rule in exclusions() {
        let (Constraint::Word(fact, words), Constraint::Word(Fact::Monitor(monitor), 0b110)) =
            (rule.first, rule.second)
        else {
            continue;
        };
        let holds = |slot: &Slot| *slot == Slot::Words(FactRef::Known(fact));
        let Some(slot) = slots.iter().position(holds) else { continue };
        match found.iter_mut().find(|(at, of, _)| (*at, *of) == (slot, words)) {
            Some((_, _, monitors)) => *monitors |= 1 << monitor.index(),
            None => found.push((slot, words, 1 << monitor.index())),
        }
    }
    found
}

impl Single {
    /// A flat program for records in these slots. Every fact that has none is not known. Whether records can be
    /// answered at once depends on the program; where they cannot, [`Single::judge`] answers none.
    ///
    /// # Errors
    /// Where a fact cannot be held as a slot says, or has two.
    pub fn of(rules: &Arc<Rules>, slots: Vec<Slot>) -> Result<Single, BatchError> {
        for (place, slot) in slots.iter().enumerate() {
            if !slot.fits() {
                return Err(BatchError::Kind(name_of(slot.fact())));
            }
            if slots.iter().take(place).any(|other| other.fact() == slot.fact()) {
                return Err(BatchError::Twice(name_of(slot.fact())));
            }
        }
        let program = Compiled::of(rules, &slots);
        Ok(Single { rules: Arc::clone(rules), slots, program })
    }

    /// The flat program.
    #[must_use]
    pub fn rules(&self) -> &Rules {
        &self.rules
    }

    /// Whether records of which everything is known are answered at once.
    #[must_use]
    pub fn is_quick(&self) -> bool {
        self.program.is_some()
    }

    /// The verdict and every reason, where all that the program asks is known: `monitors` tells how each can stand, the
    /// numbers are the slots. `None` leads to [`Single::answer`]. Monitors that are not known and that an engine with
    /// the others cannot have are unsupported.
    #[must_use]
    pub fn judge(&self, monitors: States, values: &[i64]) -> Option<Brief> {
        let program = self.program.as_ref()?;
        let bits = program.bits(monitors, values)?;
        let found = program.functions(bits);
        if found >> OPEN & 1 == 1 {
            return None;
        }
        Some(program.brief(found))
    }

    /// What is known of a record, as the program sees it.
    ///
    /// # Errors
    /// Where a value is outside its range or has no meaning, or readings contradict each other.
    pub fn given(&self, monitors: States, values: &[i64]) -> Result<Given, RowError> {
        let flat = self.rules.flat();
        let mut facts = Facts::unknown();
        let day = crate::model::day_number(flat.test_date);
        facts.put(Fact::TestDate, one(day));
        for monitor in Monitor::all() {
            let bit = 1u32 << monitor.index();
            let of = |bits: u32, state: MonitorState| if bits & bit == 0 { 0 } else { state.bit() };
            let mask = of(monitors.unsupported, MonitorState::Unsupported)
                | of(monitors.complete, MonitorState::Complete)
                | of(monitors.incomplete, MonitorState::Incomplete);
            facts.put(Fact::Monitor(monitor), Possible::Words(if mask == 0 { 0b111 } else { mask }));
        }
        let mut declared: Vec<Option<Possible>> = vec![None; flat.facts.len()];
        for (slot, value) in self.slots.iter().zip(values) {
            let told = match slot {
                Slot::Words(_) => Some(Possible::Words(value.cast_unsigned())),
                Slot::Number(..) | Slot::Coded(..) if *value == Slot::NOT_KNOWN => None,
                Slot::Number(fact, scale) => {
                    let out = || RowError::OutOfRange { fact: name_of(fact) };
                    Some(one(value.checked_mul(*scale).ok_or_else(out)?))
                }
                Slot::Coded(fact, meaning) => {
                    let found = usize::try_from(*value).ok().and_then(|code| meaning.get(code));
                    Some(found.cloned().ok_or_else(|| RowError::NoMeaning { fact: name_of(fact) })?)
                }
            };
            let Some(told) = told else { continue };
            let out = || RowError::OutOfRange { fact: name_of(slot.fact()) };
            match slot.fact() {
                FactRef::Known(fact) => {
                    if !may_mean(slot.fact(), &told) || !is_within(*fact, &told) {
                        return Err(out());
                    }
                    facts.put(*fact, told);
                }
                FactRef::Declared(name) => {
                    for (spec, place) in flat.facts.iter().zip(&mut declared).filter(|(spec, _)| spec.name == *name) {
                        if !fits(&spec.kind, &told) {
                            return Err(out());
                        }
                        *place = Some(told.clone());
                    }
                }
            }
        }
        Given::of_possible(flat, facts, declared).map_err(|error| match error {
            GivenError::Contradiction(found) => RowError::Contradiction(found),
            GivenError::DeclaredValue { name, .. } => RowError::OutOfRange { fact: name_of(&FactRef::Declared(name)) },
        })
    }

    /// The exact answer for any record, by the diagrams.
    ///
    /// # Errors
    /// As [`Single::given`] and [`Rules::answer`].
    pub fn answer(&self, monitors: States, values: &[i64]) -> Result<Answer, RowError> {
        self.rules.answer(&self.given(monitors, values)?)
    }
}

fn one(number: i64) -> Possible {
    Possible::Number(Span { least: number, most: number, may_be_absent: false })
}

fn is_within(fact: Fact, told: &Possible) -> bool {
    match (super::record::bounds(fact), told) {
        (Some(bounds), Possible::Number(span)) => {
            span.has_no_value() || bounds.least <= span.least && span.most <= bounds.most
        }
        _ => true,
    }
}

impl Compiled {
    fn of(rules: &Rules, slots: &[Slot]) -> Option<Compiled> {
        let flat = rules.flat();
        if !flat.in_force.is_yes() || flat.lines.len() > 128 {
            return None;
        }
        let inputs: Vec<(FactRef<String>, Input)> = slots
            .iter()
            .map(|slot| match slot {
                Slot::Words(fact) => (fact.clone(), Input::Words),
                Slot::Number(fact, scale) => (fact.clone(), Input::Number(*scale)),
                Slot::Coded(fact, meaning) => (fact.clone(), Input::Coded(meaning.clone())),
            })
            .collect();
        let sources = compile(flat, rules.bare()?, &inputs)?;
        if sources.functions.len() >= 128 {
            return None;
        }
        let narrow = narrow(&sources.functions);
        let ladder = (0..flat.outcomes.len()).rev().map(|place| {
            let lines = flat.lines.iter().enumerate().filter(|(_, line)| line.outcome == place);
            (place, lines.fold(0u128, |mask, (line, _)| mask | 1 << line))
        });
        Some(Compiled {
            narrow,
            left_out: flat.left_out.iter().map(|row| row.outcome).collect(),
            lines: flat.lines.len(),
            becomes: flat.becomes.iter().map(|rule| (rule.from, rule.to)).collect(),
            ladder: ladder.filter(|(_, lines)| *lines != 0).collect(),
            ruled_out: ruled_out(slots),
            sources,
        })
    }

    /// The bits of a record; `None` where something is not known or outside its range.
    fn bits(&self, monitors: States, values: &[i64]) -> Option<u128> {
        let monitors = self.told(monitors, values)?;
        let sources = &self.sources;
        let word = |slot: usize| values.get(slot).copied().unwrap_or(0).cast_unsigned();
        let number = |slot: usize| values.get(slot).copied().unwrap_or(Slot::NOT_KNOWN);
        let doubt = sources.masks.iter().fold(false, |doubt, slot| doubt | !word(*slot).is_power_of_two());
        let out = sources
            .ranges
            .iter()
            .fold(doubt, |out, (slot, least, most)| out | (number(*slot) < *least) | (number(*slot) > *most));
        if out {
            return None;
        }
        let [lower, higher] = &sources.halves;
        let lower = bits_of(lower, monitors, values)?;
        match self.narrow {
            Some(_) => Some(u128::from(lower)),
            None => Some(u128::from(lower) | u128::from(bits_of(higher, monitors, values)?) << 64),
        }
    }

    /// The functions that hold, a bit each.
    fn functions(&self, bits: u128) -> u128 {
        match (&self.narrow, u64::try_from(bits)) {
            (Some(narrow), Ok(bits)) => {
                let found = narrow
                    .iter()
                    .fold(0, |found, one| found | if (bits ^ one.want) & one.mask == 0 { one.function } else { 0 });
                u128::from(found)
            }
            _ => {
                let functions = (0u32..).zip(&self.sources.functions);
                functions.fold(0, |found, (place, cubes)| {
                    let any = cubes.iter().fold(false, |any, cube| any | cube.holds(bits));
                    found | u128::from(any) << place
                })
            }
        }
    }

    /// The state of each monitor; `None` where one is not known.
    fn told(&self, monitors: States, values: &[i64]) -> Option<[u32; 3]> {
        let States { unsupported, mut complete, mut incomplete } = monitors;
        let open = |complete: u32, incomplete: u32| unsupported & (complete | incomplete) | complete & incomplete;
        let not_known = open(complete, incomplete);
        if not_known != 0 {
            let sure = (complete | incomplete) & !unsupported & !HEAVY_DUTY;
            let mut gone = if sure == 0 { 0 } else { HEAVY_DUTY };
            for (slot, words, monitors) in &self.ruled_out {
                let told = values.get(*slot).copied().unwrap_or(0).cast_unsigned();
                gone |= if told != 0 && told & !words == 0 { *monitors } else { 0 };
            }
            // Those that may be unsupported are; the others contradict, and are found by the diagrams.
            gone &= not_known & unsupported;
            complete &= !gone;
            incomplete &= !gone;
        }
        let is_told = open(complete, incomplete) == 0 && unsupported | complete | incomplete == u32::MAX;
        is_told.then_some([unsupported, complete, incomplete])
    }

    /// Puts verdict and lines together from the functions that hold.
    fn brief(&self, found: u128) -> Brief {
        let none = |verdict| Brief { verdict, standing: 0, deciding: 0 };
        if found >> COVERED & 1 == 0 {
            return none(Verdict::NotSubject);
        }
        let rows = self.left_out.len();
        let mut out: Option<Option<usize>> = None;
        for (place, outcome) in self.left_out.iter().enumerate() {
            if found >> (LEFT_OUT + place) & 1 == 1 {
                out = out.max(Some(*outcome));
            }
        }
        match out {
            Some(None) => return none(Verdict::NotSubject),
            Some(Some(place)) => return none(Verdict::Outcome(self.relabelled(place, found))),
            None => {}
        }
        let lines = if self.lines == 0 { 0 } else { u128::MAX >> (128 - self.lines) };
        let standing = found >> (LEFT_OUT + rows) & lines;
        let gravest = self.ladder.iter().find(|(_, lines)| standing & lines != 0).copied();
        let (place, lines) = gravest.unwrap_or((0, 0));
        Brief { verdict: Verdict::Outcome(self.relabelled(place, found)), standing, deciding: standing & lines }
    }

    fn relabelled(&self, place: usize, found: u128) -> usize {
        let first = LEFT_OUT + self.left_out.len() + self.lines;
        let rules = self.becomes.iter().enumerate();
        let rules = rules.filter(|(at, (from, _))| *from == place && found >> (first + at) & 1 == 1);
        rules.map(|(_, (_, to))| *to).max().unwrap_or(place)
    }
}

/// The functions over 64 bits, where these are enough for all, and as many functions.
fn narrow(functions: &[Vec<Cube>]) -> Option<Vec<Narrow>> {
    let mut list = Vec::new();
    for (place, cubes) in functions.iter().enumerate() {
        let function = 1u64.checked_shl(u32::try_from(place).ok()?)?;
        for cube in cubes {
            let (mask, want) = (u64::try_from(cube.mask).ok()?, u64::try_from(cube.want).ok()?);
            list.push(Narrow { mask, want, function });
        }
    }
    Some(list)
}

/// Makes 64 of the bits; `None` where a code has no meaning.
#[inline]
fn bits_of(half: &Half, [unsupported, complete, incomplete]: [u32; 3], values: &[i64]) -> Option<u64> {
    let word = |slot: usize| values.get(slot).copied().unwrap_or(0).cast_unsigned();
    let number = |slot: usize| values.get(slot).copied().unwrap_or(Slot::NOT_KNOWN);
    let mut bits = 0u64;
    for (slot, keep, place) in &half.words {
        bits |= (word(*slot) & keep).wrapping_shl(*place);
    }
    for (slot, place) in &half.absent {
        bits |= (word(*slot) >> 63).wrapping_shl(*place);
    }
    for (slot, bound, place) in &half.numbers {
        bits |= u64::from(number(*slot) >= *bound).wrapping_shl(*place);
    }
    for (slot, place) in &half.odd {
        bits |= u64::from(number(*slot) & 1 == 1).wrapping_shl(*place);
    }
    for (slot, told) in &half.coded {
        bits |= usize::try_from(number(*slot)).ok().and_then(|code| told.get(code))?;
    }
    for (state, keep, place) in &half.monitors {
        let here = match state {
            0 => unsupported,
            1 => complete,
            _ => incomplete,
        };
        bits |= u64::from(here & keep).wrapping_shl(*place);
    }
    for ([first, second, third], bound, place) in &half.counted {
        let counted = (unsupported & first | complete & second | incomplete & third).count_ones();
        bits |= u64::from(counted >= *bound).wrapping_shl(*place);
    }
    Some(bits)
}
