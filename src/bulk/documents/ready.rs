//! A flat program ready for places: the slots of what it asks, what it presumes, and what no vehicle shows together among
//! the facts that it does not ask.

use super::keys::{EMPTY, Keys, SOME, UNKNOWN};
use super::place_of;
use super::read::Places;
use crate::bulk::exact::Rules;
use crate::bulk::single::{Brief, Single, Slot};
use crate::model::facts::{Possible, whole};
use crate::model::{CodeList, Constraint, Fact, FactType, MonitorSet, MonitorState, TroubleCode, exclusions, spec};
use crate::program::areas::ELSEWHERE;
use crate::program::block::{DeclaredType, Presumed};
use crate::program::flat::Presumption;
use crate::program::given::facts_of;
use crate::program::{Condition, FactRef, Flat, Test};
use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

/// A code that is in no published list: it stands for a code of no group.
const NO_GROUP: u16 = 0xFFFF;

/// A flat program and its slots.
#[derive(Debug)]
pub(super) struct Ready {
    rules: Arc<Rules>,
    single: Option<Single>,
    /// For each slot the place that it is taken from.
    taken: Vec<usize>,
    /// Slot, what it holds where the fact is not known, and what is then presumed; `None`: that has a condition, and the
    /// document is answered by the other reader.
    presumed: Vec<(usize, i64, Option<i64>)>,
    /// Slot and place of a fact of text, with the codes of the texts that the program names.
    texts: Vec<(usize, usize, BTreeMap<String, i64>)>,
    /// The place of the area, where the program asks it.
    area: Option<usize>,
    /// Whether codes are told apart, so that a list that holds some is not enough.
    tells_codes: bool,
    /// Places of lists of codes, where that matters.
    lists: Vec<usize>,
    /// What cannot be at once, where the program does not ask one of both.
    exclusions: Vec<(Side, Side)>,
    /// The place of the list of monitors incomplete earlier, and of their number.
    earlier: Option<(usize, usize)>,
}

/// One part of an exclusion.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Side {
    /// A place, and words.
    Words(usize, i64),
    /// A place, and the least number.
    AtLeast(usize, i64),
    /// The place of a list or set that is not empty.
    Holds(usize),
    /// Some of these monitors is supported.
    Supported(u32),
}

/// The most facts of words that are watched.
const WATCHED: usize = 64;

impl Ready {
    pub(super) fn of(rules: &Arc<Rules>, keys: &Keys) -> Ready {
        let flat = rules.flat();
        let asked = asked(flat);
        let mut ready = Ready {
            rules: Arc::clone(rules),
            single: None,
            taken: Vec::new(),
            presumed: Vec::new(),
            texts: Vec::new(),
            area: None,
            tells_codes: !flat.groups.is_empty()
                || flat.tables.iter().flat_map(|table| &table.rows).any(|row| !row.codes.is_empty()),
            lists: Vec::new(),
            exclusions: unasked(keys, &asked),
            earlier: place_of(keys, &FactRef::Known(Fact::EarlierIncomplete))
                .zip(place_of(keys, &FactRef::Known(Fact::EarlierIncompleteCount))),
        };
        let slots: Vec<Slot> = asked.iter().filter_map(|fact| ready.slot(flat, keys, fact)).collect();
        for presumption in &flat.presumptions {
            ready.presume(flat, keys, presumption);
        }
        ready.single = Single::of(rules, slots).ok().filter(Single::is_quick);
        ready
    }

    pub(super) fn rules(&self) -> &Rules {
        &self.rules
    }

    /// A slot for a fact; none for monitors.
    fn slot(&mut self, flat: &Flat, keys: &Keys, fact: &FactRef<String>) -> Option<Slot> {
        let place = place_of(keys, fact)?;
        let at = self.taken.len();
        let slot = match fact {
            FactRef::Declared(name) => match flat.facts.iter().find(|own| own.name == *name)?.kind {
                DeclaredType::Number { .. } => Slot::Number(fact.clone(), 1),
                _ => Slot::Words(fact.clone()),
            },
            FactRef::Known(known) => {
                let unknown = whole(*known).clone();
                match spec(*known).kind {
                    FactType::YesNo { .. } | FactType::Words(_) => Slot::Words(fact.clone()),
                    FactType::Number { .. } | FactType::Date => Slot::Number(fact.clone(), 1),
                    FactType::Text => {
                        let named = texts_of(flat, *known);
                        let codes = named.iter().cloned().zip(2..).collect();
                        self.texts.push((at, place, codes));
                        // No text of a program is one blank: it stands for every other text. Of areas there is a name for it.
                        let other = if *known == Fact::Area { ELSEWHERE } else { " " };
                        if *known == Fact::Area {
                            self.area = Some(place);
                        }
                        let told = std::iter::once(other.to_owned()).chain(named).map(|it| Possible::Text(Some(it)));
                        Slot::Coded(fact.clone(), std::iter::once(unknown).chain(told).collect())
                    }
                    FactType::Monitors => {
                        let none = Possible::Monitors { surely: MonitorSet::EMPTY, perhaps: MonitorSet::EMPTY };
                        Slot::Coded(fact.clone(), vec![unknown, none])
                    }
                    FactType::Codes => {
                        self.lists.push(place);
                        let list = |codes: BTreeSet<TroubleCode>| Possible::Codes {
                            list: Some(CodeList { codes, may_hold_more: false }),
                            may_be_absent: false,
                            may_be_present: true,
                        };
                        let absent = Possible::Codes { list: None, may_be_absent: true, may_be_present: false };
                        let absent = if spec(*known).may_be_absent { absent } else { unknown.clone() };
                        let some = list(BTreeSet::from([TroubleCode::obd(NO_GROUP)]));
                        Slot::Coded(fact.clone(), vec![unknown, list(BTreeSet::new()), absent, some])
                    }
                }
            }
        };
        self.taken.push(place);
        Some(slot)
    }

    fn presume(&mut self, flat: &Flat, keys: &Keys, presumption: &Presumption) {
        let Some(place) = named(flat, &presumption.fact).and_then(|fact| place_of(keys, &fact)) else { return };
        let Some(slot) = self.taken.iter().position(|taken| *taken == place) else { return };
        let blank = keys.blank.get(place).copied().unwrap_or(UNKNOWN);
        if !presumption.condition.is_always() {
            self.presumed.push((slot, blank, None));
            return;
        }
        let value = match &presumption.value {
            Presumed::Word(bit) => bit.cast_signed(),
            Presumed::Number(number) => *number,
            Presumed::Text(text) => {
                let codes = self.texts.iter().find(|(at, _, _)| *at == slot).map(|(_, _, codes)| codes);
                codes.and_then(|codes| codes.get(&text.to_lowercase())).copied().unwrap_or(1)
            }
            Presumed::NotListed(_) => return,
        };
        self.presumed.push((slot, blank, Some(value)));
    }

    /// The verdict and every reason, where the places tell all that the program asks.
    pub(super) fn judge(&self, places: &Places, slots: &mut Vec<i64>) -> Option<Brief> {
        let single = self.single.as_ref()?;
        let value = |place: usize| places.values.get(place).copied().unwrap_or(UNKNOWN);
        if self.tells_codes && self.lists.iter().any(|place| value(*place) == SOME) {
            return None;
        }
        // A list with nothing in it, and a number of them above nought: a fault that the other reader tells.
        if let Some((list, count)) = self.earlier
            && value(list) == EMPTY
            && value(count) > 0
        {
            return None;
        }
        if !self.can_exist(places) {
            return None;
        }
        slots.clear();
        slots.extend(self.taken.iter().map(|place| value(*place)));
        for (slot, place, codes) in &self.texts {
            if let (Some(code), Some(text)) = (slots.get_mut(*slot), places.text(*place)) {
                let seen = match self.area == Some(*place) {
                    // A name that the program does not know leaves the area open.
                    true => self.rules.flat().areas.seen(text)?,
                    false => text.to_lowercase(),
                };
                *code = codes.get(&seen).copied().unwrap_or(1);
            }
        }
        for (slot, blank, value) in &self.presumed {
            if let Some(held) = slots.get_mut(*slot)
                && held == blank
            {
                *held = (*value)?;
            }
        }
        single.judge(places.monitors, slots)
    }

    /// Whether a vehicle can exist that shows what the program does not ask together with what it asks. What it asks alone
    /// is looked at by the functions of the slots.
    fn can_exist(&self, places: &Places) -> bool {
        let value = |place: usize| places.values.get(place).copied().unwrap_or(UNKNOWN);
        let surely = |side: Side| match side {
            Side::Words(place, words) => value(place) & !words == 0,
            Side::AtLeast(place, least) => value(place) >= least,
            Side::Holds(place) => value(place) == SOME,
            Side::Supported(monitors) => !places.monitors.unsupported & monitors != 0,
        };
        let mut gone = [0i64; WATCHED];
        for (one, other) in &self.exclusions {
            let (first, second) = (surely(*one), surely(*other));
            if first && second {
                return false;
            }
            for (holds, side) in [(second, *one), (first, *other)] {
                if let (true, Side::Words(place, words)) = (holds, side) {
                    let Some(gone) = gone.get_mut(place) else { return false };
                    *gone |= words;
                    if value(place) & !*gone == 0 {
                        return false;
                    }
                }
            }
        }
        true
    }
}

fn named(flat: &Flat, fact: &FactRef<usize>) -> Option<FactRef<String>> {
    match fact {
        FactRef::Known(fact) => Some(FactRef::Known(*fact)),
        FactRef::Declared(place) => flat.facts.get(*place).map(|fact| FactRef::Declared(fact.name.clone())),
    }
}

/// The facts that need a slot: those that a verdict can turn on, and those that are presumed. Ignition is among them: it
/// tells which monitors are none of the vehicle's.
fn asked(flat: &Flat) -> BTreeSet<FactRef<String>> {
    let mut asked = BTreeSet::from([FactRef::Known(Fact::Ignition)]);
    let mut on = |condition: &Condition<usize>| {
        asked.extend(facts_of(flat, condition).iter().filter_map(|fact| named(flat, fact)));
    };
    flat.covers.iter().for_each(|covers| on(&covers.item));
    flat.left_out.iter().for_each(|row| on(&row.condition));
    for line in &flat.lines {
        on(&line.concerns);
        on(&line.unmet_where);
        line.gives_way.iter().for_each(|(_, condition)| on(condition));
    }
    flat.becomes.iter().for_each(|rule| on(&rule.condition));
    for presumption in &flat.presumptions {
        if matches!(presumption.value, Presumed::NotListed(_)) {
            asked.extend([Fact::Make, Fact::Model, Fact::Engine].map(FactRef::Known));
        } else {
            asked.extend(named(flat, &presumption.fact));
        }
    }
    asked
}

/// The texts that a program names of a fact.
fn texts_of(flat: &Flat, of: Fact) -> Vec<String> {
    let mut texts = BTreeSet::new();
    let mut add = |condition: &Condition<usize>| {
        condition.each_test(&mut |test| {
            if let Test::Text { fact, among, .. } = test
                && *fact == of
            {
                texts.extend(among.iter().cloned());
            }
        });
    };
    flat.covers.iter().for_each(|covers| add(&covers.item));
    flat.left_out.iter().for_each(|row| add(&row.condition));
    for line in &flat.lines {
        add(&line.concerns);
        add(&line.unmet_where);
        line.gives_way.iter().for_each(|(_, condition)| add(condition));
    }
    flat.becomes.iter().for_each(|rule| add(&rule.condition));
    flat.findings.iter().for_each(|(_, condition)| add(condition));
    flat.limits.iter().flat_map(|limit| &limit.rows).for_each(|row| add(&row.condition));
    flat.counts.iter().for_each(|rule| add(&rule.condition));
    flat.excuses.iter().for_each(|excuse| add(&excuse.condition));
    flat.tables.iter().flat_map(|table| &table.rows).for_each(|row| add(&row.condition));
    for presumption in &flat.presumptions {
        if let (FactRef::Known(fact), Presumed::Text(text)) = (&presumption.fact, &presumption.value)
            && *fact == of
        {
            texts.insert(text.to_lowercase());
        }
    }
    texts.into_iter().collect()
}

/// The exclusions of which one part is a fact that the program does not ask; those that differ in the monitor alone as one.
fn unasked(keys: &Keys, asked: &BTreeSet<FactRef<String>>) -> Vec<(Side, Side)> {
    let side = |constraint: Constraint| match constraint {
        Constraint::Word(Fact::Monitor(monitor), MonitorState::SUPPORTED) => {
            Some(Side::Supported(1 << monitor.index()))
        }
        Constraint::Word(fact, words) => {
            place_of(keys, &FactRef::Known(fact)).map(|place| Side::Words(place, words.cast_signed()))
        }
        Constraint::AtLeast(fact, least) => {
            place_of(keys, &FactRef::Known(fact)).map(|place| Side::AtLeast(place, least))
        }
        Constraint::NotEmpty(fact) => place_of(keys, &FactRef::Known(fact)).map(Side::Holds),
    };
    let is_asked = |constraint: Constraint| match constraint.fact() {
        Fact::Monitor(_) => true,
        fact => asked.contains(&FactRef::Known(fact)),
    };
    let mut found: Vec<(Side, Side)> = Vec::new();
    for rule in exclusions().into_iter().filter(|rule| !is_asked(rule.first) || !is_asked(rule.second)) {
        let (Some(first), Some(second)) = (side(rule.first), side(rule.second)) else { continue };
        let same = found.iter_mut().find(|(known, other)| *known == first && matches!(other, Side::Supported(_)));
        match (same, second) {
            (Some((_, Side::Supported(monitors))), Side::Supported(more)) => *monitors |= more,
            _ => found.push((first, second)),
        }
    }
    found
}
