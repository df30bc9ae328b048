//! What each fact of a vehicle can still be: a snapshot prepared for evaluation. Missing readings are the whole range;
//! the exclusions narrow it. The interpreter and the diagrams start from this, and from nothing else they share.

use super::{CodeList, Constraint, Exclusion, Fact, FactType, MonitorSet, Reading, Snapshot, Value, day_number, spec};
use super::{exclusions, table::all_facts};
use std::sync::LazyLock;

/// The bit of a mask of words that stands for *not on this vehicle*.
pub const ABSENT: u64 = 1 << 63;

/// The numbers a fact can still be, in base units, both ends included; dates are day numbers.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct Span {
    /// Least possible value; above `most` when no value is possible.
    pub least: i64,
    /// Greatest possible value.
    pub most: i64,
    /// Whether the vehicle may be without the fact.
    pub may_be_absent: bool,
}

impl Span {
    /// Whether no value is possible (the fact may still be absent).
    #[must_use]
    pub fn has_no_value(self) -> bool {
        self.least > self.most
    }

    /// Whether a test of the number against bounds, both included, surely holds or surely does not; a number that is not on
    /// the vehicle is within none.
    #[must_use]
    pub fn is_within(self, least: Option<i64>, most: Option<i64>) -> Option<bool> {
        let none = least.is_some_and(|least| self.most < least) || most.is_some_and(|most| self.least > most);
        let all = least.is_none_or(|least| self.least >= least) && most.is_none_or(|most| self.most <= most);
        match (self.has_no_value() || none, all && !self.may_be_absent) {
            (true, _) => Some(false),
            (false, true) => Some(true),
            (false, false) => None,
        }
    }
}

/// What one fact can still be.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub enum Possible {
    /// Words (yes/no, words, monitor states) as a mask, with [`ABSENT`] where the vehicle may be without it.
    Words(u64),
    /// Numbers and dates.
    Number(Span),
    /// Text, folded to lower case; `None` where it is not known.
    Text(Option<String>),
    /// Monitors that are surely in the set, and monitors that may be.
    Monitors {
        /// Surely in the set.
        surely: MonitorSet,
        /// Perhaps in the set (holds `surely`).
        perhaps: MonitorSet,
    },
    /// Codes: `list` is `None` where nothing is known of them.
    Codes {
        /// The codes read.
        list: Option<CodeList>,
        /// Whether the vehicle may be without this list; with no `list` and this set, both are possible.
        may_be_absent: bool,
        /// Whether the vehicle may have this list.
        may_be_present: bool,
    },
}

/// What every fact of the table can still be.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Facts {
    /// One for each fact, in the order of the table.
    possible: Vec<Possible>,
}

/// The whole range of every fact, in the order of the table.
static UNKNOWN: LazyLock<Vec<Possible>> = LazyLock::new(|| all_facts().map(whole_range).collect());

/// What a fact can be on an unknown vehicle.
#[must_use]
pub fn whole(fact: Fact) -> &'static Possible {
    static NOTHING: Possible = Possible::Words(0);
    UNKNOWN.get(fact.place()).unwrap_or(&NOTHING)
}

/// Readings that no vehicle shows together.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{} and {} contradict each other: {why}", super::table::key_of(*.first), super::table::key_of(*.second))]
pub struct Contradiction {
    /// The rule they break.
    pub why: &'static str,
    /// First fact.
    pub first: Fact,
    /// Second fact.
    pub second: Fact,
}

/// How a constraint stands to what is possible.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Holds {
    Surely,
    Perhaps,
    Never,
}

impl Facts {
    /// An unknown vehicle, before any narrowing.
    #[must_use]
    pub fn unknown() -> Facts {
        Facts { possible: UNKNOWN.clone() }
    }

    /// What a snapshot leaves possible.
    ///
    /// # Errors
    /// Where two readings contradict each other: no vehicle that can exist shows both.
    pub fn of(snapshot: &Snapshot) -> Result<Facts, Contradiction> {
        let mut facts = Facts::unknown();
        for (fact, reading) in &snapshot.readings {
            facts.learn(*fact, reading);
        }
        facts.narrow()?;
        Ok(facts)
    }

    /// What the fact can still be.
    #[must_use]
    pub fn get(&self, fact: Fact) -> &Possible {
        static NOTHING: Possible = Possible::Words(0);
        self.possible.get(fact.place()).unwrap_or(&NOTHING)
    }

    /// Whether the fact can be nothing but this word.
    #[must_use]
    pub fn is_surely(&self, fact: Fact, word: &str) -> bool {
        fact.word_bit(word).is_some_and(|bit| *self.get(fact) == Possible::Words(bit))
    }

    /// Replaces what the fact can still be.
    pub fn put(&mut self, fact: Fact, possible: Possible) {
        if let Some(slot) = self.possible.get_mut(fact.place()) {
            *slot = possible;
        }
    }

    /// Whether nothing more can be learned about the fact.
    #[must_use]
    pub fn is_settled(&self, fact: Fact) -> bool {
        match self.get(fact) {
            Possible::Words(mask) => mask.count_ones() <= 1,
            Possible::Number(span) => {
                (span.least == span.most && !span.may_be_absent) || (span.has_no_value() && span.may_be_absent)
            }
            Possible::Text(text) => text.is_some(),
            Possible::Monitors { surely, perhaps } => surely == perhaps,
            Possible::Codes { list, may_be_absent, may_be_present } => match list {
                Some(list) => !list.may_hold_more,
                None => *may_be_absent && !*may_be_present,
            },
        }
    }

    /// Sets a fact to a reading.
    pub fn learn(&mut self, fact: Fact, reading: &Reading) {
        let possible = match (reading, spec(fact).kind) {
            (Reading::NotOnVehicle, FactType::YesNo { .. } | FactType::Words(_)) => Possible::Words(ABSENT),
            (Reading::NotOnVehicle, FactType::Number { .. } | FactType::Date) => {
                Possible::Number(Span { least: 1, most: 0, may_be_absent: true })
            }
            (Reading::NotOnVehicle, FactType::Codes) => {
                Possible::Codes { list: None, may_be_absent: true, may_be_present: false }
            }
            (Reading::NotOnVehicle, FactType::Text | FactType::Monitors) => return,
            (Reading::Known(value), _) => match value {
                Value::Word(place) => Possible::Words(1u64.checked_shl(u32::from(*place)).unwrap_or(0)),
                Value::Number(number) => one_number(*number),
                Value::Date(date) => one_number(day_number(*date)),
                Value::Text(text) => Possible::Text(Some(text.to_lowercase())),
                Value::Monitors(set) => Possible::Monitors { surely: *set, perhaps: *set },
                Value::Codes(list) => {
                    Possible::Codes { list: Some(list.clone()), may_be_absent: false, may_be_present: true }
                }
            },
        };
        self.put(fact, possible);
    }

    /// Removes what the exclusions rule out, until nothing more follows.
    ///
    /// # Errors
    /// Where nothing is left.
    pub fn narrow(&mut self) -> Result<(), Contradiction> {
        static SIDES: LazyLock<Option<Sides>> = LazyLock::new(|| Sides::of(&exclusions()));
        let Some(sides) = &*SIDES else { return self.narrow_in_order() };
        let mut before: Option<Facts> = None;
        loop {
            let (perhaps, surely) = sides.stand(self);
            let never = sides.never_with(surely);
            let gone = never & perhaps;
            let mut is_contradicted = never & surely != 0;
            if gone == 0 && !is_contradicted {
                return Ok(());
            }
            if !is_contradicted {
                before.get_or_insert_with(|| self.clone());
                each_bit(gone, |at| {
                    if let Some((side, _)) = sides.list.get(at) {
                        self.rule_out(*side);
                        // Two that together leave nothing: the later of them was sure once the other was gone.
                        is_contradicted |= *self.get(side.fact()) == Possible::Words(0);
                    }
                });
            }
            if is_contradicted {
                // Which two are told is settled by the order of the list.
                if let Some(before) = before {
                    *self = before;
                }
                return self.narrow_in_order();
            }
        }
    }

    /// The same, exclusion by exclusion.
    fn narrow_in_order(&mut self) -> Result<(), Contradiction> {
        static RULES: LazyLock<Vec<Exclusion>> = LazyLock::new(exclusions);
        loop {
            let mut narrowed = false;
            for rule in RULES.iter() {
                narrowed |= self.apply(rule)?;
            }
            if !narrowed {
                return Ok(());
            }
        }
    }

    /// Applies one exclusion; whether it took anything away.
    fn apply(&mut self, rule: &Exclusion) -> Result<bool, Contradiction> {
        let (first, second) = (self.holds(rule.first), self.holds(rule.second));
        match (first, second) {
            (Holds::Surely, Holds::Surely) => {
                Err(Contradiction { why: rule.why, first: rule.first.fact(), second: rule.second.fact() })
            }
            (Holds::Surely, Holds::Perhaps) => {
                self.rule_out(rule.second);
                Ok(true)
            }
            (Holds::Perhaps, Holds::Surely) => {
                self.rule_out(rule.first);
                Ok(true)
            }
            (Holds::Perhaps, Holds::Perhaps) | (Holds::Never, _) | (_, Holds::Never) => Ok(false),
        }
    }

    fn holds(&self, constraint: Constraint) -> Holds {
        match meets(constraint, self.get(constraint.fact())) {
            (true, true) => Holds::Surely,
            (true, false) => Holds::Perhaps,
            (false, _) => Holds::Never,
        }
    }

    fn rule_out(&mut self, constraint: Constraint) {
        let narrowed = without(constraint, self.get(constraint.fact()));
        self.put(constraint.fact(), narrowed);
    }
}

/// The different sides of exclusions, each with those that it never goes with, a bit each.
#[derive(Debug)]
struct Sides {
    list: Vec<(Constraint, u64)>,
}

impl Sides {
    /// The sides; `None` where there are more than bits.
    fn of(rules: &[Exclusion]) -> Option<Sides> {
        let mut list: Vec<(Constraint, u64)> = Vec::new();
        for rule in rules {
            let mut place = |side: Constraint| {
                let known = list.iter().position(|(known, _)| *known == side);
                known.unwrap_or_else(|| {
                    list.push((side, 0));
                    list.len() - 1
                })
            };
            let (first, second) = (place(rule.first), place(rule.second));
            for (one, other) in [(first, second), (second, first)] {
                let bit = 1u64.checked_shl(u32::try_from(other).ok()?)?;
                list.get_mut(one)?.1 |= bit;
            }
        }
        Some(Sides { list })
    }

    /// Which sides perhaps hold, and which surely do.
    fn stand(&self, facts: &Facts) -> (u64, u64) {
        let (mut perhaps, mut surely, mut bit) = (0, 0, 1u64);
        for (side, _) in &self.list {
            let (may_be, is_so) = meets(*side, facts.get(side.fact()));
            perhaps |= if may_be { bit } else { 0 };
            surely |= if may_be && is_so { bit } else { 0 };
            bit = bit.wrapping_shl(1);
        }
        (perhaps, surely)
    }

    /// The sides that one of these never goes with.
    fn never_with(&self, sides: u64) -> u64 {
        let mut never = 0;
        each_bit(sides, |at| never |= self.list.get(at).map_or(0, |(_, with)| *with));
        never
    }
}

fn each_bit(bits: u64, mut each: impl FnMut(usize)) {
    let mut left = bits;
    while left != 0 {
        each(usize::try_from(left.trailing_zeros()).unwrap_or(64));
        left &= left.wrapping_sub(1);
    }
}

/// Whether a fact perhaps meets a constraint on it, and whether it surely does.
#[must_use]
pub fn meets(constraint: Constraint, possible: &Possible) -> (bool, bool) {
    match (constraint, possible) {
        (Constraint::Word(_, words), Possible::Words(mask)) => (mask & words != 0, mask & !words == 0),
        (Constraint::AtLeast(_, bound), Possible::Number(span)) => {
            (!span.has_no_value() && span.most >= bound, span.least >= bound && !span.may_be_absent)
        }
        (Constraint::NotEmpty(_), Possible::Monitors { surely, perhaps }) => (!perhaps.is_empty(), !surely.is_empty()),
        (Constraint::NotEmpty(_), Possible::Codes { list, may_be_present, .. }) => match list {
            Some(list) => (!list.codes.is_empty() || list.may_hold_more, !list.codes.is_empty()),
            None => (*may_be_present, false),
        },
        _ => (false, false),
    }
}

/// What is left of a fact where it does not meet a constraint that it perhaps meets.
#[must_use]
pub fn without(constraint: Constraint, possible: &Possible) -> Possible {
    match (constraint, possible) {
        (Constraint::Word(_, words), Possible::Words(mask)) => Possible::Words(mask & !words),
        (Constraint::AtLeast(_, bound), Possible::Number(span)) => {
            Possible::Number(Span { most: span.most.min(bound - 1), ..*span })
        }
        (Constraint::NotEmpty(_), Possible::Monitors { surely, .. }) => {
            Possible::Monitors { surely: *surely, perhaps: *surely }
        }
        (Constraint::NotEmpty(_), Possible::Codes { may_be_absent, .. }) => {
            Possible::Codes { list: Some(CodeList::default()), may_be_absent: *may_be_absent, may_be_present: true }
        }
        (_, other) => other.clone(),
    }
}

fn one_number(number: i64) -> Possible {
    Possible::Number(Span { least: number, most: number, may_be_absent: false })
}

fn whole_range(fact: Fact) -> Possible {
    let spec = spec(fact);
    let absent = if spec.may_be_absent { ABSENT } else { 0 };
    match spec.kind {
        FactType::YesNo { .. } | FactType::Words(_) => Possible::Words(fact.all_words() | absent),
        FactType::Number { unit, least, most, .. } => Possible::Number(Span {
            least: unit.to_base(least).unwrap_or(i64::MIN),
            most: unit.to_base(most).unwrap_or(i64::MAX),
            may_be_absent: spec.may_be_absent,
        }),
        FactType::Date => Possible::Number(Span {
            least: day_number(Date::constant(1900, 1, 1)),
            most: day_number(Date::constant(2199, 12, 31)),
            may_be_absent: spec.may_be_absent,
        }),
        FactType::Text => Possible::Text(None),
        FactType::Monitors => Possible::Monitors { surely: MonitorSet::EMPTY, perhaps: MonitorSet::ALL },
        FactType::Codes => Possible::Codes { list: None, may_be_absent: spec.may_be_absent, may_be_present: true },
    }
}

use super::Date;

#[cfg(test)]
#[expect(clippy::unwrap_used, reason = "a test stops at the first wrong thing")]
mod tests {
    use super::*;

    /// Random vehicles, many of them contradictory: all exclusions together come to what they come to one by one.
    #[test]
    fn all_at_once_as_one_by_one() {
        let mut state = 0x5EEDu64;
        let mut roll = |many: u64| {
            state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
            (state >> 33) % many
        };
        let (mut narrowed, mut contradicted) = (0, 0);
        for round in 0..20_000 {
            let mut facts = Facts::unknown();
            for fact in all_facts() {
                if roll(4) < 1 + round % 3 {
                    continue;
                }
                let possible = match (whole(fact), roll(3)) {
                    (Possible::Words(all), 0) => {
                        Possible::Words(Some(all & roll(1 << 31)).filter(|it| *it != 0).unwrap_or(*all))
                    }
                    (Possible::Words(all), _) => {
                        let words: Vec<u64> = (0..64).map(|bit| 1 << bit).filter(|bit| all & bit != 0).collect();
                        Possible::Words(*words.get(usize::try_from(roll(8)).unwrap() % words.len()).unwrap())
                    }
                    (Possible::Number(span), 0) => one_number(span.least),
                    (Possible::Number(span), 1) => one_number(span.least + 1),
                    (Possible::Monitors { .. }, 0) => {
                        Possible::Monitors { surely: MonitorSet::EMPTY, perhaps: MonitorSet::EMPTY }
                    }
                    (Possible::Monitors { .. }, 1) => {
                        Possible::Monitors { surely: MonitorSet::ALL, perhaps: MonitorSet::ALL }
                    }
                    (Possible::Codes { .. }, 0) => {
                        let list =
                            CodeList { codes: [super::super::TroubleCode::obd(0x0420)].into(), may_hold_more: false };
                        Possible::Codes { list: Some(list), may_be_absent: false, may_be_present: true }
                    }
                    (other, _) => other.clone(),
                };
                facts.put(fact, possible);
            }
            let (mut one, mut other) = (facts.clone(), facts.clone());
            let (all, in_order) = (one.narrow(), other.narrow_in_order());
            assert_eq!(all, in_order);
            if all.is_ok() {
                assert_eq!(one, other);
                narrowed += usize::from(one != facts);
            } else {
                contradicted += 1;
            }
        }
        assert!(narrowed > 1_000 && contradicted > 1_000, "{narrowed} {contradicted}");
    }
}
