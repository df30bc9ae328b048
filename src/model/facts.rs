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
#[derive(Debug, Clone)]
pub struct Facts {
    /// One for each fact, in the order of the table.
    possible: Vec<Possible>,
    /// A bit for each fact that changed since the others were narrowed by it; nothing follows where nothing is known.
    put: u128,
}

/// Whether the same is possible; what is still to be narrowed does not matter.
impl PartialEq for Facts {
    fn eq(&self, other: &Facts) -> bool {
        self.possible == other.possible
    }
}

impl Eq for Facts {}

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

/// A constraint with the place of its fact in the table.
type Placed = (Constraint, usize);

/// An exclusion, ready to be applied.
struct Rule {
    first: Placed,
    second: Placed,
    why: &'static str,
}

impl Facts {
    /// An unknown vehicle, before any narrowing.
    #[must_use]
    pub fn unknown() -> Facts {
        Facts { possible: UNKNOWN.clone(), put: 0 }
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
        if let Some(slot) = self.possible.get_mut(fact.place())
            && *slot != possible
        {
            *slot = possible;
            self.put |= bit(fact);
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
            Possible::Codes { list, may_be_absent, may_be_present } => match (may_be_absent, may_be_present) {
                (true, false) => true,
                (false, true) => list.as_ref().is_some_and(|list| !list.may_hold_more),
                _ => false,
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
        static RULES: LazyLock<Vec<(u128, Rule)>> = LazyLock::new(|| {
            let placed = |it: Constraint| (it, it.fact().place());
            let of = |rule: &Exclusion| {
                let facts = bit(rule.first.fact()) | bit(rule.second.fact());
                (facts, Rule { first: placed(rule.first), second: placed(rule.second), why: rule.why })
            };
            exclusions().iter().map(of).collect()
        });
        // A rule is looked at again only where one of its facts changed since the round before began.
        while self.put != 0 {
            let before = std::mem::take(&mut self.put);
            for (facts, rule) in RULES.iter() {
                if facts & (before | self.put) != 0
                    && let Err(found) = self.apply(rule)
                {
                    self.put = u128::MAX;
                    return Err(found);
                }
            }
        }
        Ok(())
    }

    /// Applies one exclusion.
    fn apply(&mut self, rule: &Rule) -> Result<(), Contradiction> {
        let first = self.holds(rule.first);
        if first == Holds::Never {
            return Ok(());
        }
        match (first, self.holds(rule.second)) {
            (Holds::Surely, Holds::Surely) => {
                return Err(Contradiction { why: rule.why, first: rule.first.0.fact(), second: rule.second.0.fact() });
            }
            (Holds::Surely, Holds::Perhaps) => self.rule_out(rule.second.0),
            (Holds::Perhaps, Holds::Surely) => self.rule_out(rule.first.0),
            (_, _) => {}
        }
        Ok(())
    }

    fn holds(&self, (constraint, place): Placed) -> Holds {
        match self.possible.get(place).map(|possible| meets(constraint, possible)) {
            Some((true, true)) => Holds::Surely,
            Some((true, false)) => Holds::Perhaps,
            Some((false, _)) | None => Holds::Never,
        }
    }

    fn rule_out(&mut self, constraint: Constraint) {
        let narrowed = without(constraint, self.get(constraint.fact()));
        self.put(constraint.fact(), narrowed);
    }
}

/// The bit of a fact.
fn bit(fact: Fact) -> u128 {
    u32::try_from(fact.place()).ok().and_then(|place| 1u128.checked_shl(place)).unwrap_or(u128::MAX)
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
