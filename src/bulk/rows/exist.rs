//! Which rows no vehicle that can exist shows, and what the others rule out: the list of exclusions as tables. A fact of the
//! list has a few classes of values; a row keeps which of them are possible, and one pass over these bits comes to what
//! [`crate::model::Facts::narrow`] comes to fact by fact.
//!
//! Facts that hang together and have more than two classes each (class, protocol, fuel, ignition, hybrid) are the *core*:
//! what follows among them is looked up. The others have two classes, *yes* (what an exclusion names) and *no*.

use super::codes::{MAY_BE_ABSENT, MAY_BE_PRESENT, MORE, SOME};
use super::layout::{ABSENT_NUMBER, UNKNOWN};
use crate::evaluate::States;
use crate::model::facts::{Possible, whole};
use crate::model::{Constraint, Fact, exclusions};
use std::collections::BTreeMap;
use std::sync::LazyLock;

/// How many values the facts of the table have, monitors apart.
pub(super) const FACTS: usize = 42;

/// Which classes of values the facts of the exclusions may still be of.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub(super) struct Classes {
    core: u16,
    yes: u32,
    no: u32,
}

/// How a fact stands in the tables.
#[derive(Debug, Clone, PartialEq, Eq)]
enum Held {
    /// In the core: the words of each class, and the bit of the first.
    Core(Vec<u64>, u32),
    /// Words of *yes*; the bit.
    Words(u64, u32),
    /// *Yes* from a number on; the bit.
    AtLeast(i64, u32),
    /// *Yes* is a list that holds something; the bit.
    List(u32),
    /// The same of a set of monitors.
    Set(u32),
}

/// A side of an exclusion among facts of two classes.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Default)]
struct Side {
    yes: u32,
    no: u32,
}

/// A side, and those that never go with it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
struct Hub {
    side: Side,
    partners: Side,
    monitors: u32,
}

/// What follows for the core: what is left of it (0: no vehicle), and the monitors that are not supported.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
struct Follows {
    core: u16,
    monitors: u32,
}

#[derive(Debug, Default)]
struct Tables {
    held: Vec<Option<Held>>,
    core: Vec<Follows>,
    /// Sets of monitors, and what is left of the core where one of a set is supported.
    groups: Vec<(u32, u16)>,
    hubs: Vec<Hub>,
    /// Facts that more than one hub looks at.
    shared: u32,
}

static TABLES: LazyLock<Tables> = LazyLock::new(Tables::new);

/// No vehicle that can exist shows this.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct NoVehicle;

impl Tables {
    fn new() -> Tables {
        let mut tables = Tables { held: vec![None; FACTS], ..Tables::default() };
        let rules = exclusions();
        let sides = || rules.iter().flat_map(|rule| [rule.first, rule.second]);
        // The words of each class, by which sides name them.
        let classes = |fact: Fact| {
            let Possible::Words(all) = whole(fact) else { return Vec::new() };
            let mut found = vec![*all];
            for constraint in sides() {
                if let Constraint::Word(of, words) = constraint
                    && of == fact
                {
                    let parts = found.iter().flat_map(|class| [class & words, class & !words]);
                    found = parts.filter(|part| *part != 0).collect();
                }
            }
            found
        };
        let is_pair = |constraint: Constraint| match constraint {
            Constraint::Word(fact, _) => classes(fact).len() == 2,
            _ => true,
        };
        let is_monitor = |constraint: Constraint| matches!(constraint.fact(), Fact::Monitor(_));
        // The core: facts of more than two classes, and what they are excluded with.
        let mut core: Vec<Fact> =
            sides().filter(|side| !is_pair(*side) && !is_monitor(*side)).map(Constraint::fact).collect();
        loop {
            let joined = rules.iter().filter(|rule| !is_monitor(rule.second)).find_map(|rule| {
                let (first, second) = (rule.first.fact(), rule.second.fact());
                match (core.contains(&first), core.contains(&second)) {
                    (true, false) => Some(second),
                    (false, true) => Some(first),
                    _ => None,
                }
            });
            match joined {
                Some(fact) => core.push(fact),
                None => break,
            }
        }
        core.sort_unstable();
        core.dedup();
        let (mut next_core, mut next_pair) = (0, 0);
        for constraint in sides().filter(|side| !is_monitor(*side)) {
            let fact = constraint.fact();
            let Some(slot) = tables.held.get_mut(fact.place()).filter(|slot| slot.is_none()) else { continue };
            if core.contains(&fact) {
                let classes = classes(fact);
                let many = u32::try_from(classes.len()).unwrap_or(0);
                *slot = Some(Held::Core(classes, next_core));
                next_core += many;
                continue;
            }
            *slot = Some(match constraint {
                Constraint::Word(_, words) => Held::Words(words, next_pair),
                Constraint::AtLeast(_, bound) => Held::AtLeast(bound, next_pair),
                Constraint::NotEmpty(_) if matches!(whole(fact), Possible::Monitors { .. }) => Held::Set(next_pair),
                Constraint::NotEmpty(_) => Held::List(next_pair),
            });
            next_pair += 1;
        }
        tables.relate(rules, next_core);
        tables
    }

    /// The rules, in terms of the classes.
    fn relate(&mut self, rules: &[crate::model::Exclusion], core_bits: u32) {
        let mut within: Vec<(u16, u16)> = Vec::new();
        let mut beside: Vec<(u16, u32)> = Vec::new();
        let mut hubs: BTreeMap<Side, Hub> = BTreeMap::new();
        for rule in rules {
            if let Constraint::Word(Fact::Monitor(monitor), _) = rule.second {
                let bit = 1u32 << monitor.index();
                match (self.core_side(rule.first), self.side(rule.first)) {
                    (Some(side), _) => match beside.iter_mut().find(|(known, _)| *known == side) {
                        Some((_, monitors)) => *monitors |= bit,
                        None => beside.push((side, bit)),
                    },
                    (None, Some(side)) => hubs.entry(side).or_default().monitors |= bit,
                    (None, None) => {}
                }
                continue;
            }
            match (self.core_side(rule.first), self.core_side(rule.second)) {
                (Some(first), Some(second)) => within.push((first, second)),
                _ => {
                    if let (Some(first), Some(second)) = (self.side(rule.first), self.side(rule.second)) {
                        let hub = hubs.entry(first).or_default();
                        hub.partners.yes |= second.yes;
                        hub.partners.no |= second.no;
                    }
                }
            }
        }
        for (side, monitors) in &beside {
            match self.groups.iter_mut().find(|(known, _)| known == monitors) {
                Some((_, left)) => *left &= !side,
                None => self.groups.push((*monitors, !side)),
            }
        }
        let fields: Vec<u16> = self.held.iter().flatten().filter_map(core_field).collect();
        let field_of = |side: u16| fields.iter().copied().find(|field| field & side != 0).unwrap_or(0);
        self.core = (0..1u16.checked_shl(core_bits).unwrap_or(0))
            .map(|start| {
                let surely = |core: u16, side: u16| core & field_of(side) & !side == 0;
                let mut core = start;
                loop {
                    let mut left = core;
                    for (first, second) in &within {
                        left &= if surely(core, *first) { !second } else { u16::MAX };
                        left &= if surely(core, *second) { !first } else { u16::MAX };
                    }
                    if left == core {
                        break;
                    }
                    core = left;
                }
                if fields.iter().any(|field| core & field == 0) {
                    return Follows::default();
                }
                let gone = beside.iter().filter(|(side, _)| surely(core, *side));
                Follows { core, monitors: gone.fold(0, |all, (_, monitors)| all | monitors) }
            })
            .collect();
        self.hubs = hubs.into_iter().map(|(side, hub)| Hub { side, ..hub }).collect();
        let mut seen = 0;
        for hub in &self.hubs {
            let all = hub.side.yes | hub.side.no | hub.partners.yes | hub.partners.no;
            self.shared |= seen & all;
            seen |= all;
        }
    }

    fn held(&self, fact: Fact) -> Option<&Held> {
        self.held.get(fact.place())?.as_ref()
    }

    fn core_side(&self, constraint: Constraint) -> Option<u16> {
        match (constraint, self.held(constraint.fact())?) {
            (Constraint::Word(_, words), Held::Core(classes, first)) => Some(of_classes(classes, *first, words)),
            _ => None,
        }
    }

    fn side(&self, constraint: Constraint) -> Option<Side> {
        match (constraint, self.held(constraint.fact())?) {
            (Constraint::Word(_, words), Held::Words(yes, bit)) if words == *yes => Some(Side { yes: 1 << bit, no: 0 }),
            (Constraint::Word(..), Held::Words(_, bit)) => Some(Side { yes: 0, no: 1 << bit }),
            (_, Held::AtLeast(_, bit) | Held::List(bit) | Held::Set(bit)) => Some(Side { yes: 1 << bit, no: 0 }),
            _ => None,
        }
    }
}

/// The bits of the classes that hold one of the words.
fn of_classes(classes: &[u64], first: u32, words: u64) -> u16 {
    (first..).zip(classes).fold(0, |bits, (at, class)| bits | u16::from(class & words != 0).wrapping_shl(at))
}

fn core_field(held: &Held) -> Option<u16> {
    match held {
        Held::Core(classes, first) => Some(of_classes(classes, *first, u64::MAX)),
        _ => None,
    }
}

impl Classes {
    /// The classes of a row of which nothing is known.
    pub(super) fn of_blank(values: &[i64]) -> Classes {
        let mut classes = Classes::default();
        (0..FACTS).for_each(|place| classes.put(place, values.get(place).copied().unwrap_or(UNKNOWN)));
        classes
    }

    /// Takes over a value.
    #[inline]
    pub(super) fn put(&mut self, place: usize, value: i64) {
        let Some(held) = TABLES.held.get(place).and_then(Option::as_ref) else { return };
        let (yes, no, bit) = match held {
            Held::Core(classes, first) => {
                let all = of_classes(classes, *first, u64::MAX);
                self.core = self.core & !all | of_classes(classes, *first, value.cast_unsigned());
                return;
            }
            Held::Words(words, bit) => {
                let value = value.cast_unsigned();
                (value & words != 0, value & !words != 0, *bit)
            }
            Held::AtLeast(bound, bit) => match value {
                UNKNOWN => (true, true, *bit),
                ABSENT_NUMBER => (false, true, *bit),
                number => (number >= *bound, number < *bound, *bit),
            },
            Held::List(bit) => (value & MAY_BE_PRESENT != 0 && value & (SOME | MORE) != 0, value & SOME == 0, *bit),
            Held::Set(bit) => match value {
                UNKNOWN => (true, true, *bit),
                set => (set != 0, set == 0, *bit),
            },
        };
        self.yes = self.yes & !(1 << bit) | u32::from(yes) << bit;
        self.no = self.no & !(1 << bit) | u32::from(no) << bit;
    }

    /// What follows: the classes that are left, and the monitors that are not supported.
    ///
    /// # Errors
    /// Where no vehicle can exist that shows all of it.
    #[inline]
    pub(super) fn narrowed(self, monitors: States) -> Result<(Classes, u32), NoVehicle> {
        let tables = &*TABLES;
        let supported = !monitors.unsupported;
        let left = tables
            .groups
            .iter()
            .fold(u16::MAX, |left, (group, rest)| left & if supported & group == 0 { u16::MAX } else { *rest });
        let follows = tables.core.get(usize::from(self.core & left)).copied().unwrap_or_default();
        let (mut yes, mut no, mut gone) = (self.yes, self.no, follows.monitors);
        // Without a branch, since vehicles differ; again only where a fact that several hubs look at has changed.
        let where_so = |holds: bool| 0u32.wrapping_sub(u32::from(holds));
        let mut is_contradicted = false;
        loop {
            let before = (yes, no);
            for hub in &tables.hubs {
                let (surely_yes, surely_no) = (yes & !no, no & !yes);
                let is_sure = surely_yes & hub.side.yes | surely_no & hub.side.no != 0;
                let met = surely_yes & hub.partners.yes | surely_no & hub.partners.no | supported & hub.monitors != 0;
                is_contradicted |= is_sure & met;
                let (side, partners) = (where_so(met & !is_sure), where_so(is_sure & !met));
                yes &= !(hub.side.yes & side | hub.partners.yes & partners);
                no &= !(hub.side.no & side | hub.partners.no & partners);
                gone |= hub.monitors & partners;
            }
            if (yes ^ before.0 | no ^ before.1) & tables.shared == 0 {
                break;
            }
        }
        if is_contradicted {
            return Err(NoVehicle);
        }
        if follows.core == 0 || gone & supported != 0 {
            return Err(NoVehicle);
        }
        Ok((Classes { core: follows.core, yes, no }, gone))
    }

    /// Brings values to what is left of their classes.
    pub(super) fn narrow(self, values: &mut [i64]) {
        for (value, held) in values.iter_mut().zip(&TABLES.held) {
            if let Some(held) = held {
                *value = self.narrow_value(held, *value);
            }
        }
    }

    fn narrow_value(self, held: &Held, value: i64) -> i64 {
        let is_yes = |bit: u32| self.yes >> bit & 1 == 1;
        match held {
            Held::Core(classes, first) => {
                let left = (*first..).zip(classes).filter(|(at, _)| self.core.wrapping_shr(*at) & 1 == 1);
                value & left.fold(0, |all, (_, class)| all | class).cast_signed()
            }
            Held::Words(words, bit) => {
                let yes = if is_yes(*bit) { *words } else { 0 };
                let no = if self.no >> bit & 1 == 1 { !words } else { 0 };
                value & (yes | no).cast_signed()
            }
            Held::AtLeast(bound, bit) if value == UNKNOWN && !is_yes(*bit) => {
                if *bound > 0 {
                    bound - 1
                } else {
                    ABSENT_NUMBER
                }
            }
            Held::List(bit) if !is_yes(*bit) && value & MAY_BE_PRESENT != 0 => value & MAY_BE_ABSENT | MAY_BE_PRESENT,
            Held::Set(bit) if !is_yes(*bit) => 0,
            _ => value,
        }
    }

    /// The classes as numbers, for a signature.
    pub(super) fn signature(self) -> [u64; 2] {
        [u64::from(self.core), u64::from(self.yes) << 32 | u64::from(self.no)]
    }
}

#[cfg(test)]
#[expect(clippy::unwrap_used, clippy::indexing_slicing, reason = "a test stops at the first wrong thing")]
mod tests {
    use super::super::layout::{Layout, Row};
    use super::*;
    use crate::model::facts::Facts;
    use crate::model::{Monitor, MonitorState, table::all_facts};
    use std::sync::Arc;

    /// Facts of words that exclusions name, those of the core among them.
    const WORDS: [Fact; 12] = [
        Fact::Fuel,
        Fact::Ignition,
        Fact::Class,
        Fact::Protocol,
        Fact::Hybrid,
        Fact::Visit,
        Fact::Communication,
        Fact::LampCommanded,
        Fact::LampFlashing,
        Fact::LampLitRunning,
        Fact::VinInData,
        Fact::VinMatches,
    ];

    /// Numbers that are the same on every machine.
    struct Dice(u64);

    impl Dice {
        fn roll(&mut self, sides: u64) -> u64 {
            self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
            (self.0 >> 33) % sides
        }

        /// One of the words of a mask, two of them, or all, mostly one.
        fn some(&mut self, all: u64) -> u64 {
            let words: Vec<u64> = (0..64).map(|at| 1 << at).filter(|bit| all & bit != 0).collect();
            let count = u64::try_from(words.len()).unwrap();
            let mut one = || words[usize::try_from(self.roll(count)).unwrap()];
            let (first, second) = (one(), one());
            match self.roll(5) {
                0 => all,
                1 => first | second,
                _ => first,
            }
        }
    }

    /// What is left by the tables is what is left fact by fact, for words and monitors at random; where nothing is left, both
    /// say so.
    #[test]
    fn tables_leave_what_the_list_of_exclusions_leaves() {
        let layout =
            Arc::new(Layout::new(Vec::new(), BTreeMap::new(), Arc::default(), super::super::codes::Classes::default()));
        let (mut dice, mut possible, mut narrowed) = (Dice(11), 0, 0);
        for _ in 0..6_000 {
            let (mut row, mut facts) = (Row::new(&layout), Facts::unknown());
            for fact in WORDS {
                let Possible::Words(all) = whole(fact) else { continue };
                let words = dice.some(*all);
                row.put(fact.place(), words.cast_signed());
                facts.put(fact, Possible::Words(words));
            }
            let mut states = States { unsupported: 0, complete: 0, incomplete: 0 };
            for monitor in Monitor::all() {
                let bit = 1u32 << monitor.index();
                let mask = if dice.roll(12) == 0 { dice.some(7) } else { MonitorState::Unsupported.bit() };
                for (state, slot) in MonitorState::ALL.into_iter().zip([
                    &mut states.unsupported,
                    &mut states.complete,
                    &mut states.incomplete,
                ]) {
                    *slot |= if mask & state.bit() != 0 { bit } else { 0 };
                }
                facts.put(Fact::Monitor(monitor), Possible::Words(mask));
            }
            row.set_monitors(states);
            let before = facts.clone();
            let expected = facts.narrow();
            let found = row.classes.narrowed(row.monitors);
            assert_eq!(found.is_ok(), expected.is_ok(), "{before:?}");
            let Ok((classes, gone)) = found else { continue };
            possible += 1;
            narrowed += usize::from(facts != before);
            classes.narrow(&mut row.values);
            for fact in WORDS {
                let left = Possible::Words(row.values[fact.place()].cast_unsigned());
                assert_eq!(&left, facts.get(fact), "{fact:?} of {before:?}");
            }
            for monitor in Monitor::all() {
                let (Possible::Words(was), is) =
                    (before.get(Fact::Monitor(monitor)), facts.get(Fact::Monitor(monitor)))
                else {
                    continue;
                };
                let is_gone = gone >> monitor.index() & 1 == 1;
                let left = if is_gone { was & MonitorState::Unsupported.bit() } else { *was };
                assert_eq!(&Possible::Words(left), is, "{monitor:?} of {before:?}");
            }
        }
        assert!(possible > 300 && narrowed > 100, "{possible} {narrowed}");
    }

    /// A fact of two classes that stands in two groups of exclusions (each all those with one first part) is looked at again
    /// once one of them took something of it away: what the data hold as VIN, and whether it matches.
    #[test]
    fn facts_of_several_groups_are_looked_at_again() {
        let rules = exclusions();
        let mut expected = 0u32;
        for fact in all_facts() {
            let bit = match TABLES.held(fact) {
                Some(Held::Words(_, bit) | Held::AtLeast(_, bit) | Held::List(bit) | Held::Set(bit)) => *bit,
                Some(Held::Core(..)) | None => continue,
            };
            let mut groups: Vec<Constraint> = Vec::new();
            for rule in rules.iter().filter(|rule| [rule.first.fact(), rule.second.fact()].contains(&fact)) {
                if !groups.contains(&rule.first) {
                    groups.push(rule.first);
                }
            }
            expected |= if groups.len() > 1 { 1 << bit } else { 0 };
        }
        assert_eq!((TABLES.shared, expected.count_ones()), (expected, 2));
    }
}
