//! Assumptions for what was not looked at: the sound value of what a look or a reader tells, an empty list of
//! codes where no lamp speaks against it, and what is ordinary. Each is told as a proviso; none is ever taken in silence.

use super::actions::{CODES_NOW, holds_codes};
use crate::model::facts::{Possible, Span, meets};
use crate::model::table::FACTS;
use crate::model::{CodeList, Constraint, Fact, Monitor, MonitorState, Snapshot, Unit, spec};
use crate::program::block::Presumed;
use crate::program::flat::Presumption;
use crate::program::given::presumed;
use crate::program::{Condition, FactRef, Flat, Given, Test};

/// What a proviso rests on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Kind {
    /// The value that a vehicle in good order shows.
    Sound,
    /// A list of codes is empty.
    NoCodes,
    /// What is so of nearly every vehicle or visit, by common practice of the trade.
    Ordinary,
    /// What a class of 40 CFR 86.1803-01 implies.
    Federal,
    /// What the program presumes where it is not known.
    Presumed,
}

/// Something that is not known and that an answer is provided on.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Proviso {
    /// The fact.
    pub fact: FactRef<usize>,
    /// What it is provided to be.
    pub possible: Possible,
    /// What it rests on.
    pub kind: Kind,
}

impl Proviso {
    /// Whether a vehicle with this given surely meets the proviso.
    #[must_use]
    pub fn holds(&self, given: &Given) -> bool {
        match (given.possible(&self.fact), &self.possible) {
            (Some(Possible::Words(mask)), Possible::Words(words)) => mask & !words == 0,
            (Some(Possible::Number(span)), Possible::Number(wanted)) => {
                span.least >= wanted.least && span.most <= wanted.most
            }
            (Some(Possible::Text(known)), Possible::Text(wanted)) => known == wanted,
            (Some(codes @ Possible::Codes { .. }), Possible::Codes { .. }) => match self.fact {
                FactRef::Known(fact) => !meets(Constraint::NotEmpty(fact), codes).0,
                FactRef::Declared(_) => false,
            },
            _ => false,
        }
    }

    /// What is given with the proviso besides; `None` where no vehicle meets both.
    #[must_use]
    pub fn put(&self, given: &Given) -> Option<Given> {
        given.with(&self.fact, self.possible.clone())
    }
}

/// What is given without what the program presumes, and that as provisos. That a vehicle is in no table stays presumed, and
/// that a test without a reported result was not done.
#[must_use]
pub fn unpresumed(flat: &Flat, snapshot: &Snapshot) -> Option<(Given, Vec<Proviso>)> {
    let given = Given::of(flat, snapshot).ok()?;
    let stays = |presumption: &Presumption| {
        let is_result = |place: usize| flat.facts.get(place).is_some_and(|fact| fact.is_result);
        matches!(presumption.value, Presumed::NotListed(_))
            || matches!(presumption.fact, FactRef::Declared(place) if is_result(place))
    };
    let kept: Vec<usize> =
        flat.presumptions.iter().enumerate().filter(|(_, it)| stays(it)).map(|(place, _)| place).collect();
    let mut bare = flat.clone();
    bare.presumptions.retain(stays);
    let mut open = Given::of(&bare, snapshot).ok()?;
    // Places are told in the whole program's list.
    let place = |bare: usize| kept.get(bare).copied().unwrap_or(bare);
    open.presumed = open.presumed.iter().map(|at| place(*at)).collect();
    open.unlisted.iter_mut().for_each(|one| one.presumption = place(one.presumption));
    let used = given.presumed.iter().filter_map(|place| flat.presumptions.get(*place));
    let provisos = used.filter(|presumption| !stays(presumption)).filter_map(|presumption| {
        let possible = given.possible(&presumption.fact)?.clone();
        Some(Proviso { fact: presumption.fact.clone(), possible, kind: Kind::Presumed })
    });
    let provisos = provisos.collect();
    Some((open, provisos))
}

/// Words that are ordinary, in the order in which they are taken: a first test before what it implies.
const ORDINARY: [(Fact, &str); 4] =
    [(Fact::Visit, "initial"), (Fact::Purpose, "renewal"), (Fact::PlugIn, "no"), (Fact::Hybrid, "no")];

/// The greatest rating of a light-duty truck, 40 CFR 86.1803-01; a passenger car's is below it in practice.
const LIGHT: i64 = 8500;
/// Where a program draws a line in gross weight above that and below this, its own classes reach higher.
const OWN_CLASSES: i64 = 10_000;

/// What is taken to be so of a vehicle, the weightiest first. `no_codes`: whether lists of codes are taken to be empty
/// although a lamp speaks against it.
#[must_use]
pub fn taken(flat: &Flat, given: &Given, presumed: &[Proviso], no_codes: bool) -> Vec<Proviso> {
    let mut list: Vec<Proviso> = Vec::new();
    let mut now = given.clone();
    // What the program presumes stands before what practice takes, and is told last.
    let of_the_program: Vec<Proviso> = presumed
        .iter()
        .filter(|proviso| {
            let with = proviso.put(&now);
            with.map(|with| now = with).is_some()
        })
        .cloned()
        .collect();
    let mut take = |fact: Fact, possible: Possible, kind: Kind, now: &mut Given| {
        let proviso = Proviso { fact: FactRef::Known(fact), possible, kind };
        if let Some(with) = proviso.put(now) {
            *now = with;
            list.push(proviso);
        }
    };
    // What nobody connected a reader to is asked for that first: a lamp that is not commanded on is told as a proviso.
    if is_unread(given)
        && let Some(possible) =
            Fact::LampCommanded.word_bit("no").and_then(|bit| one_word(&now, Fact::LampCommanded, bit))
    {
        take(Fact::LampCommanded, possible, Kind::Sound, &mut now);
    }
    let lamp_is_on = given.facts.is_surely(Fact::LampCommanded, "yes");
    // A sound lamp does what it is commanded to do.
    let sound = |fact: Fact| if lamp_is_on && fact == Fact::LampLitRunning { Some("yes") } else { spec(fact).sound };
    for row in FACTS {
        if let Some(bit) = sound(row.fact).and_then(|word| row.fact.word_bit(word))
            && let Some(possible) = one_word(&now, row.fact, bit)
        {
            take(row.fact, possible, Kind::Sound, &mut now);
        }
    }
    for fact in CODES_NOW.into_iter().filter(|_| no_codes || !lamp_is_on) {
        if let Possible::Codes { list, may_be_absent, may_be_present: true } = now.facts.get(fact)
            && list.as_ref().is_none_or(|list| list.codes.is_empty() && list.may_hold_more)
        {
            take(fact, no_codes_in(*may_be_absent), Kind::NoCodes, &mut now);
        }
    }
    if let Some((possible, kind)) = light(flat, &now) {
        take(Fact::GrossWeight, possible, kind, &mut now);
    }
    for (fact, word) in ORDINARY {
        if let Some(possible) = fact.word_bit(word).and_then(|bit| one_word(&now, fact, bit)) {
            take(fact, possible, Kind::Ordinary, &mut now);
        }
    }
    // A vehicle runs on the fuel that it is registered for.
    if let Possible::Words(fuel) = *now.facts.get(Fact::Fuel)
        && fuel.count_ones() == 1
        && let Some(possible) = one_word(&now, Fact::FuelInUse, fuel)
    {
        take(Fact::FuelInUse, possible, Kind::Ordinary, &mut now);
    }
    // Of a vehicle that tells of no fault now, none was noted at the inspection before either.
    let tells_of_a_fault = lamp_is_on || CODES_NOW.iter().any(|list| holds_codes(given, *list));
    if let Possible::Codes { list: None, may_be_absent, may_be_present: true } = now.facts.get(Fact::EarlierCodes)
        && !tells_of_a_fault
    {
        take(Fact::EarlierCodes, no_codes_in(*may_be_absent), Kind::Ordinary, &mut now);
    }
    list.extend(of_the_program);
    list
}

fn no_codes_in(may_be_absent: bool) -> Possible {
    Possible::Codes { list: Some(CodeList::default()), may_be_absent, may_be_present: true }
}

/// Whether no monitor was read at all: none is surely complete or incomplete, and some may be incomplete.
#[must_use]
pub fn is_unread(given: &Given) -> bool {
    let (complete, incomplete) = (MonitorState::Complete.bit(), MonitorState::Incomplete.bit());
    let masks = || {
        Monitor::all().filter_map(|monitor| match given.facts.get(Fact::Monitor(monitor)) {
            Possible::Words(mask) => Some(*mask),
            _ => None,
        })
    };
    masks().all(|mask| mask != complete && mask != incomplete) && masks().any(|mask| mask & incomplete != 0)
}

/// One word of a fact that may still have it and may still have another.
fn one_word(given: &Given, fact: Fact, bit: u64) -> Option<Possible> {
    presumed(given.facts.get(fact), &Presumed::Word(bit))
}

/// The rating of a light vehicle, where the class says that it is one and the rating is not known.
fn light(flat: &Flat, given: &Given) -> Option<(Possible, Kind)> {
    let bits =
        |words: &[&str]| words.iter().filter_map(|word| Fact::Class.word_bit(word)).fold(0, |all, bit| all | bit);
    let (car, light) = (
        bits(&["light-duty", "passenger-car"]),
        bits(&["light-duty", "light-truck", "passenger-car", "light-duty-truck"]),
    );
    let (Possible::Words(class), Possible::Number(span)) =
        (given.facts.get(Fact::Class), given.facts.get(Fact::GrossWeight))
    else {
        return None;
    };
    let most = Unit::Pound.to_base(LIGHT)?;
    let is_car = class & !car == 0;
    let may_be = span.least <= most && span.most > most;
    if *class == 0 || class & !light != 0 || !may_be || (!is_car && reaches_higher(flat)) {
        return None;
    }
    let kind = if is_car { Kind::Ordinary } else { Kind::Federal };
    Some((Possible::Number(Span { least: span.least, most, may_be_absent: false }), kind))
}

/// Whether a program's own light trucks are rated higher than the federal ones: it draws a line a little above.
fn reaches_higher(flat: &Flat) -> bool {
    let (Some(low), Some(high)) = (Unit::Pound.to_base(LIGHT + 1), Unit::Pound.to_base(OWN_CLASSES - 1)) else {
        return false;
    };
    let mut found = false;
    let mut look = |condition: &Condition<usize>| {
        condition.each_test(&mut |test| {
            if let Test::Number { fact: FactRef::Known(Fact::GrossWeight), most: Some(most), .. } = test {
                found |= (low..=high).contains(most);
            }
        });
    };
    flat.covers.iter().for_each(|covers| look(&covers.item));
    flat.left_out.iter().for_each(|row| look(&row.condition));
    flat.findings.iter().for_each(|(_, condition)| look(condition));
    flat.limits.iter().flat_map(|limit| &limit.rows).for_each(|row| look(&row.condition));
    flat.lines.iter().for_each(|line| look(&line.concerns));
    found
}
