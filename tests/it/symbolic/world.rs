//! Boolean variables for the facts of a vehicle and for what a text leaves open: each fact a number in binary, which picks
//! one of its values. The values are those on both sides of every threshold that a program names, and the ends.

use biodivine_lib_bdd::{Bdd, BddVariable, BddVariableSet};
use std::cell::RefCell;
use std::collections::{BTreeMap, BTreeSet};
use wherefore::internals::model::table::all_facts;
use wherefore::internals::model::{
    CodeGroup, Constraint, Date, Fact, FactType, Monitor, TroubleCode, Unit, day_number, exclusions, spec,
};
use wherefore::internals::program::block::DeclaredType;
use wherefore::internals::program::{Condition, FactRef, Flat, Test};

/// What has a value.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Key {
    Question(usize),
    Fact(Fact),
    Declared(usize),
    /// Whether the unread codes of a group belong to it.
    Group(usize),
    Present(Fact),
    /// Whether a list holds a code of the list of codes that are tried.
    Code(Fact, usize),
    /// The number that an unread row of a limit allows.
    Row(usize, usize),
    Member(Fact, Monitor),
}

/// A value.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub enum Val {
    Absent,
    Word(u64),
    Number(i64),
    Text(String),
    Place(usize),
    Truth(bool),
}

/// The variables of a program.
pub struct World {
    set: BddVariableSet,
    values: BTreeMap<Key, Vec<Val>>,
    bits: BTreeMap<Key, Vec<BddVariable>>,
    literals: RefCell<BTreeMap<(Key, Vec<bool>), Bdd>>,
    pub codes: Vec<TroubleCode>,
}

/// Every condition of a program.
fn conditions(flat: &Flat) -> Vec<&Condition<usize>> {
    let mut all: Vec<&Condition<usize>> = Vec::new();
    all.extend(flat.covers.iter().map(|one| &one.item));
    all.extend(flat.left_out.iter().map(|one| &one.condition));
    all.extend(flat.findings.iter().map(|(_, condition)| condition));
    all.extend(flat.counts.iter().map(|one| &one.condition));
    all.extend(flat.excuses.iter().map(|one| &one.condition));
    all.extend(flat.becomes.iter().map(|one| &one.condition));
    all.extend(flat.limits.iter().flat_map(|limit| &limit.rows).map(|row| &row.condition));
    all.extend(flat.tables.iter().flat_map(|table| &table.rows).map(|row| &row.condition));
    for line in &flat.lines {
        all.extend([&line.concerns, &line.unmet_where]);
        all.extend(line.gives_way.iter().map(|(_, condition)| condition));
    }
    all
}

/// Values around thresholds, in whole steps of every unit that the fact is reported in.
fn around(thresholds: &BTreeSet<i64>, steps: &[i64], least: i64, most: i64) -> BTreeSet<i64> {
    let mut values = BTreeSet::new();
    for step in steps {
        for at in thresholds.iter().chain([&least, &most]) {
            values.extend((-2..=2).map(|away| (at.div_euclid(*step) + away) * step));
        }
    }
    values.retain(|value| (least..=most).contains(value));
    values
}

/// Codes that some group tells apart: for each way the groups treat codes, the first and the last such code.
fn codes(flat: &Flat) -> Vec<TroubleCode> {
    let of_rows = flat.tables.iter().flat_map(|table| &table.rows);
    let of_rows = of_rows.map(|row| CodeGroup { ranges: row.codes.clone(), unread: Vec::new() });
    let groups: Vec<CodeGroup> = flat.groups.iter().map(|(_, group)| group.clone()).chain(of_rows).collect();
    let groups: Vec<CodeGroup> = groups.into_iter().filter(|group| *group != CodeGroup::default()).collect();
    let mut found: BTreeMap<Vec<Option<bool>>, (u16, u16)> = BTreeMap::new();
    if groups.is_empty() {
        return vec![TroubleCode::obd(0x0420), TroubleCode::J1939 { spn: 1, fmi: 1 }];
    }
    // Groups are ranges, some of decimal codes only: whatever they tell apart begins at an end of a range, or at the next
    // code there that is decimal, or is not.
    let decimal = |code: u16| format!("{code:04X}").bytes().all(|digit| digit.is_ascii_digit());
    let ranges = groups.iter().flat_map(|group| group.ranges.iter().chain(&group.unread));
    let starts: BTreeSet<u16> =
        ranges.flat_map(|range| [range.first, range.last.saturating_add(1)]).chain([0]).collect();
    let next = |from: u16, wanted: bool| (from..=u16::MAX).find(|code| decimal(*code) == wanted);
    let last = |from: u16| from.saturating_sub(1);
    for code in starts.into_iter().flat_map(|at| [Some(at), Some(last(at)), next(at, true), next(at, false)]).flatten()
    {
        let bands = groups.iter().map(|group| group.contains(TroubleCode::obd(code))).collect();
        let ends: &mut (u16, u16) = found.entry(bands).or_insert((code, code));
        *ends = (ends.0.min(code), ends.1.max(code));
    }
    let ends: BTreeSet<u16> = found.into_values().flat_map(|(first, last)| [first, last]).collect();
    ends.into_iter().map(TroubleCode::obd).chain([TroubleCode::J1939 { spn: 1, fmi: 1 }]).collect()
}

impl World {
    /// The variables that a program needs, and those of every exclusion.
    pub fn of(flat: &Flat) -> World {
        let mut used: BTreeSet<Fact> =
            exclusions().iter().flat_map(|rule| [rule.first.fact(), rule.second.fact()]).collect();
        used.extend([Fact::Make, Fact::Model, Fact::Engine]);
        used.extend(Monitor::all().map(Fact::Monitor));
        let mut thresholds: BTreeMap<FactRef<usize>, BTreeSet<i64>> = BTreeMap::new();
        let mut texts: BTreeMap<Fact, BTreeSet<String>> = BTreeMap::new();
        for condition in conditions(flat) {
            condition.each_test(&mut |test| match test {
                Test::Word { fact: FactRef::Known(fact), .. } | Test::Present { fact, .. } => drop(used.insert(*fact)),
                Test::Codes { list, .. } | Test::CodesOfTable { list, .. } => drop(used.insert(*list)),
                Test::Number { fact, least, most } => {
                    if let FactRef::Known(fact) = fact {
                        used.insert(*fact);
                    }
                    thresholds.entry(fact.clone()).or_default().extend(least.iter().chain(most));
                }
                Test::Text { fact, among, .. } => {
                    used.insert(*fact);
                    texts.entry(*fact).or_default().extend(among.iter().map(|text| text.to_lowercase()));
                }
                Test::ModelYearIsEven(_) => drop(used.insert(Fact::ModelYear)),
                Test::Pair { earlier, .. } => drop(used.insert(*earlier)),
                Test::NotMoreIncompleteThanEarlier => {
                    let known = FactRef::Known(Fact::EarlierIncompleteCount);
                    thresholds.entry(known).or_default().extend(0..=33);
                }
                _ => {}
            });
        }
        for rule in exclusions() {
            for part in [rule.first, rule.second] {
                if let Constraint::AtLeast(fact, bound) = part {
                    thresholds.entry(FactRef::Known(fact)).or_default().insert(bound);
                }
            }
        }
        let codes = codes(flat);
        let mut values: BTreeMap<Key, Vec<Val>> = BTreeMap::new();
        let truths = || vec![Val::Truth(false), Val::Truth(true)];
        for fact in all_facts().filter(|fact| used.contains(fact) && *fact != Fact::TestDate) {
            let own = thresholds.remove(&FactRef::Known(fact)).unwrap_or_default();
            let row = spec(fact);
            let mut list: Vec<Val> = match row.kind {
                FactType::YesNo { .. } | FactType::Words(_) => words(fact.all_words()),
                FactType::Number { unit, least, most, .. } => {
                    let mut steps = vec![unit.scale()];
                    // The second key that a snapshot document has for such a fact, as `wherefore facts` lists it.
                    steps.extend(match unit {
                        Unit::Pound => Some(Unit::Kilogram.scale()),
                        Unit::Kilometre => Some(Unit::Mile.scale()),
                        Unit::Hour => Some(Unit::Minute.scale()),
                        _ => None,
                    });
                    let (least, most) = (unit.to_base(least).unwrap(), unit.to_base(most).unwrap());
                    around(&own, &steps, least, most).into_iter().map(Val::Number).collect()
                }
                FactType::Date => {
                    let ends = [Date::constant(1900, 1, 1), Date::constant(2199, 12, 31)].map(day_number);
                    around(&own, &[1], ends[0], ends[1]).into_iter().map(Val::Number).collect()
                }
                FactType::Text => {
                    let named = texts.remove(&fact).unwrap_or_default();
                    named.into_iter().chain(["(another)".to_owned()]).map(Val::Text).collect()
                }
                FactType::Monitors => {
                    for monitor in Monitor::all() {
                        values.insert(Key::Member(fact, monitor), truths());
                    }
                    continue;
                }
                FactType::Codes => {
                    values.extend((0..codes.len()).map(|place| (Key::Code(fact, place), truths())));
                    if row.may_be_absent {
                        values.insert(Key::Present(fact), truths());
                    }
                    continue;
                }
            };
            list.extend(row.may_be_absent.then_some(Val::Absent));
            values.insert(Key::Fact(fact), list);
        }
        for (place, fact) in flat.facts.iter().enumerate() {
            let list = match &fact.kind {
                DeclaredType::YesNo => words(0b11),
                DeclaredType::Words(list) => words((1 << list.len()) - 1),
                DeclaredType::Number { unit, least, most } => {
                    let own = thresholds.remove(&FactRef::Declared(place)).unwrap_or_default();
                    let (least, most) = (unit.to_base(*least).unwrap(), unit.to_base(*most).unwrap());
                    around(&own, &[unit.scale()], least, most).into_iter().map(Val::Number).collect()
                }
            };
            values.insert(Key::Declared(place), list);
        }
        for (place, question) in flat.questions.iter().enumerate().filter(|(_, one)| one.taken.is_none()) {
            values.insert(Key::Question(place), (0..question.readings.len()).map(Val::Place).collect());
        }
        values.extend((0..flat.groups.len()).map(|place| (Key::Group(place), truths())));
        let counted: BTreeSet<Monitor> = flat.counts.iter().flat_map(|rule| rule.monitors.iter()).collect();
        for (limit, block) in flat.limits.iter().enumerate() {
            for row in 0..block.rows.len() {
                values.insert(Key::Row(limit, row), (0..=counted.len()).map(Val::Place).collect());
            }
        }
        World::laid_out(values, codes)
    }

    fn laid_out(values: BTreeMap<Key, Vec<Val>>, codes: Vec<TroubleCode>) -> World {
        let rank = |key: &Key| match key {
            Key::Question(_) => (0, 0),
            Key::Fact(Fact::Make | Fact::Model | Fact::Engine) => (1, 0),
            Key::Fact(Fact::Monitor(monitor)) | Key::Member(_, monitor) => (6, monitor.index()),
            Key::Fact(Fact::EarlierIncompleteCount) => (5, 0),
            Key::Fact(_) | Key::Declared(_) => (2, 0),
            Key::Group(_) | Key::Present(_) | Key::Code(..) => (3, 0),
            Key::Row(..) => (4, 0),
        };
        let mut keys: Vec<&Key> = values.keys().collect();
        keys.sort_by_key(|key| (rank(key), **key));
        let widths: Vec<(Key, u32)> =
            keys.into_iter().map(|key| (*key, usize::BITS - (values[key].len() - 1).leading_zeros())).collect();
        let set = BddVariableSet::new_anonymous(widths.iter().map(|(_, width)| *width as u16).sum());
        let mut free = set.variables().into_iter();
        let bits = widths.into_iter().map(|(key, width)| (key, free.by_ref().take(width as usize).collect())).collect();
        World { set, values, bits, literals: RefCell::default(), codes }
    }

    pub fn truth(&self, value: bool) -> Bdd {
        if value { self.set.mk_true() } else { self.set.mk_false() }
    }

    /// The values of a key; none where no variable stands for it.
    pub fn values(&self, key: Key) -> &[Val] {
        self.values.get(&key).map_or(&[], Vec::as_slice)
    }

    /// Where the value of a key is one that the test accepts. Numbers above the last value mean the last value, so that
    /// every assignment is a vehicle.
    pub fn literal(&self, key: Key, accepts: impl Fn(&Val) -> bool) -> Bdd {
        let Some(values) = self.values.get(&key) else { return self.set.mk_false() };
        let accepted: Vec<bool> = values.iter().map(accepts).collect();
        let known = self.literals.borrow().get(&(key, accepted.clone())).cloned();
        known.unwrap_or_else(|| {
            let made = self.picked(&self.bits[&key], 0, &accepted);
            self.literals.borrow_mut().insert((key, accepted), made.clone());
            made
        })
    }

    fn picked(&self, bits: &[BddVariable], from: usize, accepted: &[bool]) -> Bdd {
        let Some((first, rest)) = bits.split_first() else {
            return self.truth(*accepted.get(from).unwrap_or(accepted.last().unwrap()));
        };
        let (low, high) = (self.picked(rest, from, accepted), self.picked(rest, from + (1 << rest.len()), accepted));
        Bdd::if_then_else(&self.set.mk_var(*first), &high, &low)
    }

    /// Vehicles that can exist.
    pub fn existing(&self) -> Bdd {
        let mut exist = self.set.mk_true();
        for key in self.values.keys() {
            if let Key::Code(list, _) = key {
                let ghost = self.literal(*key, |value| *value == Val::Truth(true)).and_not(&self.present(*list));
                exist = exist.and_not(&ghost);
            }
        }
        for rule in exclusions().iter().rev() {
            exist = exist.and_not(&self.constraint(rule.first).and(&self.constraint(rule.second)));
        }
        exist
    }

    /// Whether the vehicle has a list of codes at all.
    pub fn present(&self, list: Fact) -> Bdd {
        if self.values.contains_key(&Key::Present(list)) {
            self.literal(Key::Present(list), |value| *value == Val::Truth(true))
        } else {
            self.set.mk_true()
        }
    }

    fn constraint(&self, part: Constraint) -> Bdd {
        match part {
            Constraint::Word(fact, words) => {
                self.literal(Key::Fact(fact), |value| matches!(value, Val::Word(bit) if bit & words != 0))
            }
            Constraint::AtLeast(fact, bound) => {
                self.literal(Key::Fact(fact), |value| matches!(value, Val::Number(number) if *number >= bound))
            }
            Constraint::NotEmpty(fact) => {
                let of_fact = |key: &&Key| matches!(key, Key::Code(f, _) | Key::Member(f, _) if *f == fact);
                self.values.keys().rev().filter(of_fact).fold(self.set.mk_false(), |any, key| {
                    any.or(&self.literal(*key, |value| *value == Val::Truth(true)))
                })
            }
        }
    }

    /// The set with every variable forgotten that stands for none of these keys.
    pub fn forgetting(&self, set: &Bdd, kept: &BTreeSet<Key>) -> Bdd {
        let gone = self.bits.iter().filter(|(key, _)| !kept.contains(key)).flat_map(|(_, bits)| bits);
        set.exists(&gone.copied().collect::<Vec<_>>())
    }
}

fn words(mask: u64) -> Vec<Val> {
    (0..63).map(|place| 1u64 << place).filter(|bit| mask & bit != 0).map(Val::Word).collect()
}
