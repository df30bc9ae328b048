//! The vehicles of the random tests: a small vocabulary with, for each fact, the values that the random programs can
//! tell apart (each threshold -1, 0 and +1), and every vehicle that completes a partial one.

use super::reference::{Val, World};
use std::collections::{BTreeMap, BTreeSet};
use wherefore::internals::model::{
    CodeList, DeclaredValue, Fact, Monitor, MonitorSet, Reading, Snapshot, TroubleCode, Unit, Value, date_of, spec,
};
use wherefore::internals::program::block::Allowance;
use wherefore::internals::program::{Flat, Verdict};

/// Codes of the random tests: in the sure part of a group, outside, in the part that was not read.
pub const SURE: u16 = 0x0420;
pub const OUTSIDE: u16 = 0x0171;
pub const UNREAD: u16 = 0x0442;

/// Monitors of the random tests: continuous, spark only, both, compression only.
pub const MONITORS: [Monitor; 5] =
    [Monitor::Misfire, Monitor::Catalyst, Monitor::Evaporative, Monitor::EgrVvt, Monitor::BoostPressure];

/// Thresholds of the random programs, in units of the fact and, for distances, in miles beside.
pub const YEARS: [i64; 3] = [1996, 2001, 2002];
pub const WARM_UPS: [i64; 3] = [1, 15, 255];
pub const MILES: [i64; 1] = [200];
pub const KILOMETRES: [i64; 2] = [80, 65_535];

/// Facts of the random tests, monitors apart.
pub const FACTS: [Fact; 16] = [
    Fact::ModelYear,
    Fact::Fuel,
    Fact::Ignition,
    Fact::Make,
    Fact::Visit,
    Fact::EarlierIncompleteVisits,
    Fact::LampCommanded,
    Fact::LampLitKeyOn,
    Fact::StoredCodes,
    Fact::PermanentCodes,
    Fact::WarmUps,
    Fact::DistanceSinceClear,
    Fact::EarlierIncomplete,
    Fact::EarlierIncompleteCount,
    Fact::EarlierLampMonitors,
    Fact::FirstRegistered,
];

/// Every fact of the random tests.
pub fn all() -> impl Iterator<Item = Fact> {
    FACTS.into_iter().chain(MONITORS.map(Fact::Monitor))
}

fn around(thresholds: &[i64], least: i64, most: i64) -> BTreeSet<i64> {
    thresholds
        .iter()
        .flat_map(|at| [at - 1, *at, at + 1])
        .chain([least, most])
        .filter(|at| (least..=most).contains(at))
        .collect()
}

fn code_sets() -> Vec<Val> {
    let codes = [SURE, OUTSIDE, UNREAD].map(TroubleCode::obd);
    (0..8u32)
        .map(|bits| {
            Val::Codes(codes.iter().enumerate().filter(|(at, _)| bits >> at & 1 == 1).map(|(_, code)| *code).collect())
        })
        .collect()
}

fn monitor_sets() -> Vec<Val> {
    (0..32u32)
        .map(|bits| {
            let set = MONITORS.iter().enumerate().filter(|(at, _)| bits >> at & 1 == 1).map(|(_, one)| *one);
            Val::Monitors(set.collect())
        })
        .collect()
}

/// The values of a fact that the random programs can tell apart.
pub fn values(fact: Fact) -> Vec<Val> {
    let mut values: Vec<Val> = match fact {
        Fact::ModelYear => around(&YEARS, 1900, 2100).into_iter().map(Val::Number).collect(),
        Fact::WarmUps => around(&WARM_UPS, 0, 255).into_iter().map(Val::Number).collect(),
        // 200 miles is 321.8688 km (design, section 3): 321 km is below, 322 km is above.
        Fact::DistanceSinceClear => {
            let mut km = around(&KILOMETRES, 0, 65_535);
            km.extend([321, 322]);
            // A reading may be reported in miles: the threshold itself, and its neighbours.
            let miles = (199..=201).map(|miles| Unit::Mile.to_base(miles).unwrap());
            km.into_iter().map(|km| Unit::Kilometre.to_base(km).unwrap()).chain(miles).map(Val::Number).collect()
        }
        Fact::EarlierIncompleteVisits => around(&[1], 0, 99).into_iter().map(Val::Number).collect(),
        Fact::EarlierIncompleteCount => (0..=5).chain([32]).map(Val::Number).collect(),
        Fact::FirstRegistered => [13_513, 13_514, 13_515].into_iter().map(Val::Number).collect(),
        Fact::Make => ["subaru", "example", "other"].into_iter().map(|make| Val::Text(make.to_owned())).collect(),
        Fact::StoredCodes | Fact::PermanentCodes => code_sets(),
        Fact::EarlierIncomplete | Fact::EarlierLampMonitors => monitor_sets(),
        _ => (0..u32::try_from(fact.words().len()).unwrap()).map(Val::Word).collect(),
    };
    if spec(fact).may_be_absent {
        values.push(Val::Absent);
    }
    values
}

/// A fact with the values it can have.
type Domain = (Fact, Vec<Val>);

/// What is known of a fact: a value, nothing, or (of codes) a part.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Known {
    Value(Val),
    AtLeast(BTreeSet<TroubleCode>),
    Nothing,
}

/// A vehicle of which some facts are known.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Partial {
    pub facts: BTreeMap<Fact, Known>,
    /// The declared yes/no fact and the declared number (0 through 3), by name in the program's order.
    pub declared: Vec<Known>,
}

/// Names of the declared facts: a yes/no fact, words, a number of days from 0 through 3.
pub const DECLARED: [&str; 3] = ["special-use", "exhaust", "days-since"];

/// The values of a declared fact.
pub fn declared_values(place: usize) -> Vec<Val> {
    match place {
        0 => (0..2).map(Val::Word).collect(),
        1 => (0..3).map(Val::Word).collect(),
        _ => (0..=3).map(|days| Val::Number(Unit::Day.to_base(days).unwrap())).collect(),
    }
}

impl Partial {
    /// The snapshot that says as much.
    pub fn snapshot(&self) -> Snapshot {
        let mut snapshot = Snapshot::default();
        // Of the other monitors the vehicles of these tests have none.
        for monitor in Monitor::all().filter(|monitor| !MONITORS.contains(monitor)) {
            snapshot.readings.insert(Fact::Monitor(monitor), Reading::Known(Value::Word(0)));
        }
        for (fact, known) in &self.facts {
            let reading = match known {
                Known::Nothing => continue,
                Known::Value(Val::Absent) => Reading::NotOnVehicle,
                Known::Value(Val::Word(place)) => Reading::Known(Value::Word(u8::try_from(*place).unwrap())),
                Known::Value(Val::Number(number)) if *fact == Fact::FirstRegistered => {
                    Reading::Known(Value::Date(date_of(*number).unwrap()))
                }
                Known::Value(Val::Number(number)) => Reading::Known(Value::Number(*number)),
                Known::Value(Val::Text(text)) => Reading::Known(Value::Text(text.to_uppercase())),
                Known::Value(Val::Monitors(set)) => Reading::Known(Value::Monitors(*set)),
                Known::Value(Val::Codes(codes)) => {
                    Reading::Known(Value::Codes(CodeList { codes: codes.clone(), may_hold_more: false }))
                }
                Known::AtLeast(codes) => {
                    Reading::Known(Value::Codes(CodeList { codes: codes.clone(), may_hold_more: true }))
                }
            };
            snapshot.readings.insert(*fact, reading);
        }
        for (name, known) in DECLARED.iter().zip(&self.declared) {
            let value = match known {
                Known::Value(Val::Word(place)) if *name == "special-use" => DeclaredValue::YesNo(*place == 1),
                Known::Value(Val::Word(place)) => {
                    DeclaredValue::Word(["sound", "leaking", "missing"][usize::try_from(*place).unwrap()].to_owned())
                }
                Known::Value(Val::Number(minutes)) => DeclaredValue::Number(minutes / Unit::Day.scale()),
                _ => continue,
            };
            snapshot.declared.insert((*name).to_owned(), value);
        }
        snapshot
    }

    /// The values a fact can have as far as is known, exclusions aside.
    fn domain(known: &Known, all: Vec<Val>) -> Vec<Val> {
        match known {
            Known::Value(value) => vec![value.clone()],
            Known::Nothing => all,
            Known::AtLeast(read) => {
                all.into_iter().filter(|value| matches!(value, Val::Codes(codes) if codes.is_superset(read))).collect()
            }
        }
    }

    /// Every fact's domain, those of declared facts after.
    pub fn domains(&self) -> (Vec<Domain>, Vec<Vec<Val>>) {
        let facts = all().map(|fact| {
            let known = self.facts.get(&fact).unwrap_or(&Known::Nothing);
            (fact, Partial::domain(known, values(fact)))
        });
        let declared = self.declared.iter().enumerate();
        (facts.collect(), declared.map(|(at, known)| Partial::domain(known, declared_values(at))).collect())
    }

    /// How many combinations there are to try.
    pub fn size(&self) -> usize {
        let (facts, declared) = self.domains();
        facts.iter().map(|(_, values)| values.len()).chain(declared.iter().map(Vec::len)).product()
    }

    /// Calls `visit` on every vehicle that can exist and completes this one, with every reading and unread number.
    pub fn each_world(&self, flat: &Flat, visit: &mut impl FnMut(&World)) {
        let (facts, declared) = self.domains();
        let mut world = World {
            facts: BTreeMap::new(),
            declared: Vec::new(),
            readings: Vec::new(),
            numbers: BTreeMap::new(),
            unread_in: BTreeSet::new(),
        };
        complete(flat, &facts, &declared, &mut world, visit);
    }

    /// The exact set of verdicts.
    pub fn exact(&self, flat: &Flat) -> BTreeSet<Verdict> {
        let mut set = BTreeSet::new();
        self.each_world(flat, &mut |world| {
            set.insert(world.verdict(flat));
        });
        set
    }
}

fn complete(
    flat: &Flat,
    facts: &[(Fact, Vec<Val>)],
    declared: &[Vec<Val>],
    world: &mut World,
    visit: &mut impl FnMut(&World),
) {
    if let Some(((fact, values), rest)) = facts.split_first() {
        for value in values {
            world.facts.insert(*fact, value.clone());
            if world.can_exist() {
                complete(flat, rest, declared, world, visit);
            }
            world.facts.remove(fact);
        }
    } else if let Some((values, rest)) = declared.split_first() {
        for value in values {
            world.declared.push(value.clone());
            complete(flat, facts, rest, world, visit);
            world.declared.pop();
        }
    } else {
        each_text(flat, world, visit);
    }
}

/// Every way in which the text can be: readings of open questions, numbers not read, codes not read.
fn each_text(flat: &Flat, world: &mut World, visit: &mut impl FnMut(&World)) {
    let mut texts = vec![world.clone()];
    for question in &flat.questions {
        let readings = match question.taken {
            Some(taken) => taken..taken + 1,
            None => 0..question.readings.len(),
        };
        texts = spread(texts, readings, |world, reading| world.readings.push(reading));
    }
    for (at, limit) in flat.limits.iter().enumerate() {
        for (row, _) in limit.rows.iter().enumerate().filter(|(_, row)| row.limit == Allowance::NotRead) {
            // No vehicle of these tests has more than five monitors incomplete.
            texts = spread(texts, 0..6, |world, number| {
                world.numbers.insert((at, row), i64::try_from(number).unwrap());
            });
        }
    }
    for (at, (_, group)) in flat.groups.iter().enumerate() {
        if !group.unread.is_empty() {
            texts = spread(texts, 0..2, |world, is_in| {
                if is_in == 1 {
                    world.unread_in.insert(at);
                }
            });
        }
    }
    texts.iter().for_each(visit);
}

fn spread(worlds: Vec<World>, over: std::ops::Range<usize>, set: impl Fn(&mut World, usize)) -> Vec<World> {
    let mut more = Vec::new();
    for world in worlds {
        for value in over.clone() {
            let mut one = world.clone();
            set(&mut one, value);
            more.push(one);
        }
    }
    more
}

/// The set of these monitors.
pub fn set(monitors: &[Monitor]) -> MonitorSet {
    monitors.iter().copied().collect()
}
