//! What a flat program presumes of a row: as [`crate::program::Given`] has it, with the values of the row in the place of
//! what each fact can be. Conditions look at what is reported, each fact by itself.

use super::atoms::span_of;
use super::build::{Refused, place_of};
use super::codes::{MAY_BE_ABSENT, MAY_BE_PRESENT};
use super::exist::FACTS;
use super::layout::{ABSENT_NUMBER, Layout, NO_TEXT, OTHER_TEXT, Row, STRANGER, UNKNOWN};
use crate::evaluate::States;
use crate::model::facts::{ABSENT, Possible, Span, whole};
use crate::model::table::all_facts;
use crate::model::{Fact, FactType, spec};
use crate::program::block::Presumed;
use crate::program::given::whole as whole_of_own;
use crate::program::{Condition, FactRef, Flat, Test};

/// One presumption.
#[derive(Debug, Clone)]
struct One {
    what: What,
    condition: Condition<usize>,
}

#[derive(Debug, Clone)]
enum What {
    /// A word, a number or a text of the value at a place.
    Word(usize, u64),
    Number(usize, i64, Span),
    Text(usize, i64),
    /// The vehicle is in no row of a table.
    NotListed(usize),
    /// Nothing that could apply.
    Nothing,
}

/// All of them.
#[derive(Debug, Clone, Default)]
pub(super) struct Presumptions {
    list: Vec<One>,
}

/// What was presumed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub(super) struct Used {
    /// Presumptions, a bit each.
    pub(super) presumed: u64,
    /// Tables that the vehicle is presumed not to be in, a bit each.
    pub(super) unlisted: u64,
}

impl Presumptions {
    /// Those of a flat program.
    ///
    /// # Errors
    /// Where there are too many, or one asks what no row holds.
    pub(super) fn of(flat: &Flat, layout: &Layout) -> Result<Presumptions, Refused> {
        if flat.presumptions.len() > 64 {
            return Err(Refused("it has more than 64 presumptions"));
        }
        let mut list = Vec::new();
        for presumption in &flat.presumptions {
            let what = match &presumption.value {
                Presumed::NotListed(id) => {
                    flat.tables.iter().position(|table| table.id == *id).map_or(What::Nothing, What::NotListed)
                }
                value => {
                    let place = place_of(&presumption.fact)?;
                    let whole = possible_at(layout, place);
                    match (value, whole) {
                        (Presumed::Word(bit), Possible::Words(_)) => What::Word(place, *bit),
                        (Presumed::Number(number), Possible::Number(span)) => What::Number(place, *number, span),
                        (Presumed::Text(text), Possible::Text(_)) => {
                            let named = layout.texts.get(&place).and_then(|texts| texts.get(&text.to_lowercase()));
                            What::Text(place, named.copied().unwrap_or(OTHER_TEXT))
                        }
                        _ => What::Nothing,
                    }
                }
            };
            list.push(One { what, condition: presumption.condition.clone() });
        }
        Ok(Presumptions { list })
    }

    pub(super) fn is_empty(&self) -> bool {
        self.list.is_empty()
    }

    /// Presumes what there is room for, of the presumptions that are kept.
    pub(super) fn apply(&self, row: &Row, states: States, values: &mut [i64], kept: u64) -> Used {
        let seen = Seen { layout: &row.layout, states, values };
        // All conditions before any presumption: they look at what is reported.
        let mut holds = 0u64;
        for (bit, one) in (0u32..).zip(&self.list) {
            let is_so = one.condition.is_always() || seen.holds(&one.condition) == Some(true);
            holds |= u64::from(is_so).wrapping_shl(bit);
        }
        let mut used = Used::default();
        for (at, one) in (0u32..).zip(&self.list) {
            let bit = 1u64.wrapping_shl(at);
            if holds & kept & bit != 0 && one.apply(values, &mut used) {
                used.presumed |= bit;
            }
        }
        used
    }
}

impl One {
    /// Whether it was used.
    fn apply(&self, values: &mut [i64], used: &mut Used) -> bool {
        let mut put = |place: usize, may: &dyn Fn(i64) -> bool, value: i64| match values.get_mut(place) {
            Some(slot) if may(*slot) => {
                *slot = value;
                true
            }
            _ => false,
        };
        match self.what {
            What::Word(place, bit) => put(
                place,
                &|held| held.cast_unsigned().count_ones() > 1 && held.cast_unsigned() & bit != 0,
                bit.cast_signed(),
            ),
            What::Number(place, number, span) => {
                let may =
                    |held| held == UNKNOWN && span.least < span.most && (span.least..=span.most).contains(&number);
                put(place, &may, number)
            }
            // An area with a name that the program does not know is not presumed: something was said.
            What::Text(place, value) => put(place, &|held| held == NO_TEXT, value),
            What::NotListed(table) => {
                let asked = [Fact::Make, Fact::Model, Fact::Engine].map(Fact::place);
                let is_open = asked.iter().any(|place| values.get(*place) == Some(&NO_TEXT));
                used.unlisted |=
                    if is_open { 1u64.checked_shl(u32::try_from(table).unwrap_or(64)).unwrap_or(0) } else { 0 };
                is_open
            }
            What::Nothing => false,
        }
    }
}

/// Everything that the value at a place can be.
pub(super) fn possible_at(layout: &Layout, place: usize) -> Possible {
    match place.checked_sub(FACTS).and_then(|own| layout.own.get(own)) {
        Some(own) => whole_of_own(&own.kind),
        None => all_facts().nth(place).map_or(Possible::Words(0), |fact| whole(fact).clone()),
    }
}

/// What is reported of a row.
struct Seen<'a> {
    layout: &'a Layout,
    states: States,
    values: &'a [i64],
}

impl Seen<'_> {
    /// Whether a condition surely holds, or surely does not, of what is reported; `None` where that is not known or it asks
    /// more than single facts.
    fn holds(&self, condition: &Condition<usize>) -> Option<bool> {
        match condition {
            Condition::All(parts) => {
                let mut all = Some(true);
                for part in parts {
                    match self.holds(part) {
                        Some(false) => return Some(false),
                        None => all = None,
                        Some(true) => {}
                    }
                }
                all
            }
            Condition::Any(parts) => {
                let mut any = Some(false);
                for part in parts {
                    match self.holds(part) {
                        Some(true) => return Some(true),
                        None => any = None,
                        Some(false) => {}
                    }
                }
                any
            }
            Condition::Not(inner) => self.holds(inner).map(|holds| !holds),
            Condition::Test(test) => self.tells(test),
        }
    }

    fn tells(&self, test: &Test<usize>) -> Option<bool> {
        let value = |place: usize| self.values.get(place).copied();
        // A monitor's states are where the words of other facts are.
        let words_of = |fact: &FactRef<usize>| match fact {
            FactRef::Known(Fact::Monitor(monitor)) => {
                let bit = |mask: u32, state: u64| if mask >> monitor.index() & 1 == 1 { state } else { 0 };
                let states = self.states;
                Some(bit(states.unsupported, 1) | bit(states.complete, 2) | bit(states.incomplete, 4))
            }
            other => place_of(other).ok().and_then(value).map(i64::cast_unsigned),
        };
        let number_at = |place: usize| match value(place)? {
            UNKNOWN => span_of(&possible_at(self.layout, place)),
            ABSENT_NUMBER => Some(Span { least: 1, most: 0, may_be_absent: true }),
            number => Some(Span { least: number, most: number, may_be_absent: false }),
        };
        match test {
            Test::Word { fact, words } => {
                let (held, words) = (words_of(fact)?, words & !ABSENT);
                match (held & words == 0, held & !words == 0) {
                    (true, _) => Some(false),
                    (false, true) => Some(true),
                    (false, false) => None,
                }
            }
            Test::Number { fact, least, most } => number_at(place_of(fact).ok()?)?.is_within(*least, *most),
            Test::Text { fact, among, is } => match value(fact.place())? {
                NO_TEXT | STRANGER => among.is_empty().then_some(!is),
                code => {
                    let named = self.layout.texts.get(&fact.place());
                    Some(among.iter().any(|text| named.and_then(|named| named.get(text)) == Some(&code)) == *is)
                }
            },
            Test::ModelYearIsEven(even) => match value(Fact::ModelYear.place())? {
                UNKNOWN | ABSENT_NUMBER => None,
                year => Some((year & 1 == 0) == *even),
            },
            Test::Present { fact, is } => {
                let (may_be, may_be_absent) = match spec(*fact).kind {
                    FactType::YesNo { .. } | FactType::Words(_) => {
                        let held = words_of(&FactRef::Known(*fact))?;
                        (held & !ABSENT != 0, held & ABSENT != 0)
                    }
                    FactType::Number { .. } | FactType::Date => {
                        let span = number_at(fact.place())?;
                        (!span.has_no_value(), span.may_be_absent)
                    }
                    FactType::Codes => {
                        let held = value(fact.place())?;
                        (held & MAY_BE_PRESENT != 0, held & MAY_BE_ABSENT != 0)
                    }
                    FactType::Text | FactType::Monitors => (true, false),
                };
                (may_be != may_be_absent).then_some(may_be == *is)
            }
            _ => None,
        }
    }
}
