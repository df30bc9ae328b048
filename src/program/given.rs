//! A snapshot brought to a flat program: declared facts get their types, presumptions fill what is not known, the test
//! date is set. What the interpreter and the diagrams are both given; they share nothing beyond it.

use super::block::{DeclaredType, Presumed};
use super::{Condition, FactRef, Flat, Test};
use crate::model::facts::{Contradiction, Possible, Span};
use crate::model::{DeclaredValue, Fact, Facts, Snapshot, Value};
use std::collections::BTreeSet;

pub use super::told::may_condition_a_presumption;

/// A verdict: a place on the ladder, or not-subject.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Verdict {
    /// The program does not concern the vehicle.
    NotSubject,
    /// Place on the ladder, from the least grave.
    Outcome(usize),
}

impl Verdict {
    /// Name of the verdict in this program.
    #[must_use]
    pub fn name(self, flat: &Flat) -> &str {
        match self {
            Verdict::NotSubject => self.class(flat).word(),
            Verdict::Outcome(place) => flat.outcomes.get(place).map_or("", |outcome| outcome.name.as_str()),
        }
    }

    /// Class of the verdict in this program.
    #[must_use]
    pub fn class(self, flat: &Flat) -> super::Class {
        match self {
            Verdict::NotSubject if flat.in_force.is_no_law() => super::Class::NoLaw,
            Verdict::NotSubject => super::Class::NotSubject,
            Verdict::Outcome(place) => flat.outcomes.get(place).map_or(super::Class::Fail, |outcome| outcome.class),
        }
    }
}

/// What is known of a vehicle, as one flat program sees it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Given {
    /// Facts of the table.
    pub facts: Facts,
    /// Declared facts, in the program's order: words or numbers.
    pub declared: Vec<Possible>,
    /// Presumptions that were used: places in the program's list.
    pub presumed: Vec<usize>,
    /// Tables that the vehicle is presumed not to be in.
    pub unlisted: Vec<Unlisted>,
}

/// A table that a vehicle is presumed not to be in. A row that surely is the vehicle's is its own all the same: the
/// presumption stands only where it is not known.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Unlisted {
    /// Place of the table.
    pub table: usize,
    /// Place of the presumption.
    pub presumption: usize,
    /// Rows of it that surely are the vehicle's: every test holds for each value that the fact can still have.
    pub rows: BTreeSet<usize>,
}

/// Why a snapshot cannot be brought to a program.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[non_exhaustive]
pub enum GivenError {
    /// Two readings contradict each other.
    #[error(transparent)]
    Contradiction(#[from] Contradiction),
    /// A declared fact has a value of another type or outside its list or range.
    #[error("declared.{name} cannot be {value}: program `{program}` expects {expected}")]
    DeclaredValue {
        /// Name of the fact.
        name: String,
        /// Value given.
        value: String,
        /// Program.
        program: String,
        /// What it expects.
        expected: String,
    },
}

impl Given {
    /// Brings a snapshot to a program. Declared values that the program does not declare are ignored here: the caller
    /// knows whether another of its programs declares them.
    ///
    /// # Errors
    /// Where readings contradict each other or a declared value does not fit.
    pub fn of(flat: &Flat, snapshot: &Snapshot) -> Result<Given, GivenError> {
        Given::presuming(flat, snapshot, &|_| true)
    }

    /// The same with some of the program's presumptions only, by their places.
    ///
    /// # Errors
    /// As [`Given::of`].
    pub fn presuming(flat: &Flat, snapshot: &Snapshot, kept: &dyn Fn(usize) -> bool) -> Result<Given, GivenError> {
        let (mut given, stranger) = Given::read(flat, snapshot)?;
        given.presume(flat, stranger, kept)?;
        Ok(given)
    }

    /// Brings a part of what a snapshot says to a program, under the presumptions that the whole of it left room for: what
    /// was presumed of the whole is presumed of the part, and nothing more. Every vehicle that the whole leaves possible,
    /// the part leaves possible.
    ///
    /// # Errors
    /// As [`Given::of`].
    pub fn of_part(flat: &Flat, whole: &Given, part: &Snapshot) -> Result<Given, GivenError> {
        let (mut given, _) = Given::read(flat, part)?;
        for presumption in whole.presumed.iter().filter_map(|place| flat.presumptions.get(*place)) {
            let possible = given.possible(&presumption.fact);
            if let Some(replacement) = possible.and_then(|possible| presumed(possible, &presumption.value)) {
                given.put(&presumption.fact, replacement);
            }
        }
        given.facts.narrow()?;
        given.presumed.clone_from(&whole.presumed);
        given.unlisted.clone_from(&whole.unlisted);
        Ok(given)
    }

    /// What a snapshot says, before anything is presumed; and whether it names an area that the program does not know.
    fn read(flat: &Flat, snapshot: &Snapshot) -> Result<(Given, bool), GivenError> {
        let mut given = Given {
            facts: Facts::of(snapshot)?,
            declared: Vec::with_capacity(flat.facts.len()),
            presumed: Vec::new(),
            unlisted: Vec::new(),
        };
        if snapshot.test_date().is_none() {
            given.facts.learn(Fact::TestDate, &crate::model::Reading::Known(Value::Date(flat.test_date)));
        }
        for fact in &flat.facts {
            let possible = match snapshot.declared.get(&fact.name) {
                None => whole(&fact.kind),
                Some(value) => fit(&fact.kind, value).ok_or_else(|| GivenError::DeclaredValue {
                    name: fact.name.clone(),
                    value: shown(value),
                    program: flat.program.clone(),
                    expected: expected(&fact.kind),
                })?,
            };
            given.declared.push(possible);
        }
        let stranger = given.place_area(flat);
        Ok((given, stranger))
    }

    /// Brings to a program what is known fact by fact, for a caller that holds no snapshot: facts of the table not yet
    /// narrowed, the test date set, and for each declared fact in the program's order what it can be (`None` or a place
    /// that is missing: not known).
    ///
    /// # Errors
    /// Where readings contradict each other.
    pub fn of_possible(flat: &Flat, mut facts: Facts, declared: Vec<Option<Possible>>) -> Result<Given, GivenError> {
        facts.narrow()?;
        let mut told = declared.into_iter();
        let declared = flat.facts.iter().map(|fact| told.next().flatten().unwrap_or_else(|| whole(&fact.kind)));
        let mut given = Given { facts, declared: declared.collect(), presumed: Vec::new(), unlisted: Vec::new() };
        let stranger = given.place_area(flat);
        given.presume(flat, stranger, &|_| true)?;
        Ok(given)
    }

    /// What a fact can be; `None` for a declared fact that the program does not have.
    #[must_use]
    pub fn possible(&self, fact: &FactRef<usize>) -> Option<&Possible> {
        match fact {
            FactRef::Known(fact) => Some(self.facts.get(*fact)),
            FactRef::Declared(place) => self.declared.get(*place),
        }
    }

    /// Whether nothing more can be learned of a fact.
    #[must_use]
    pub fn is_settled(&self, fact: &FactRef<usize>) -> bool {
        match (fact, self.possible(fact)) {
            (FactRef::Known(fact), _) => self.facts.is_settled(*fact),
            (_, Some(Possible::Words(mask))) => mask.count_ones() <= 1,
            (_, Some(Possible::Number(span))) => span.least == span.most && !span.may_be_absent,
            _ => true,
        }
    }

    /// Replaces what a fact can be.
    pub fn put(&mut self, fact: &FactRef<usize>, possible: Possible) {
        match fact {
            FactRef::Known(fact) => self.facts.put(*fact, possible),
            FactRef::Declared(place) => {
                if let Some(slot) = self.declared.get_mut(*place) {
                    *slot = possible;
                }
            }
        }
    }

    /// The vehicle with this of a fact; `None` where no vehicle that can exist shows it.
    #[must_use]
    pub fn with(&self, fact: &FactRef<usize>, possible: Possible) -> Option<Given> {
        let mut with = self.clone();
        with.put(fact, possible);
        with.facts.narrow().is_ok().then_some(with)
    }

    /// Puts the area that was reported as the program knows it; whether one was reported that it does not know. That area
    /// is not known, and is not presumed either: something was said, only not understood.
    fn place_area(&mut self, flat: &Flat) -> bool {
        let Possible::Text(Some(name)) = self.facts.get(Fact::Area) else { return false };
        let seen = flat.areas.seen(name);
        let is_stranger = seen.is_none();
        self.facts.put(Fact::Area, Possible::Text(seen));
        is_stranger
    }

    fn presume(&mut self, flat: &Flat, stranger: bool, kept: &dyn Fn(usize) -> bool) -> Result<(), GivenError> {
        // All conditions before any presumption: they look at what is reported.
        let holds: Vec<bool> = flat.presumptions.iter().map(|one| self.holds(&one.condition) == Some(true)).collect();
        for (place, (presumption, holds)) in flat.presumptions.iter().zip(holds).enumerate() {
            let of_stranger = stranger && presumption.fact == FactRef::Known(Fact::Area);
            if !holds || !kept(place) || of_stranger {
                continue;
            }
            if let Presumed::NotListed(id) = &presumption.value {
                let asked = [Fact::Make, Fact::Model, Fact::Engine];
                let table = flat.tables.iter().position(|table| table.id == *id);
                if let Some(table) = table
                    && asked.iter().any(|fact| matches!(self.facts.get(*fact), Possible::Text(None)))
                {
                    if !self.unlisted.iter().any(|known| known.table == table) {
                        self.unlisted.push(Unlisted { table, presumption: place, rows: BTreeSet::new() });
                    }
                    self.presumed.push(place);
                }
                continue;
            }
            let possible = self.possible(&presumption.fact);
            let Some(replacement) = possible.and_then(|possible| presumed(possible, &presumption.value)) else {
                continue;
            };
            self.put(&presumption.fact, replacement);
            self.presumed.push(place);
        }
        self.facts.narrow()?;
        self.find_rows(flat);
        Ok(())
    }

    /// Finds anew which rows surely are the vehicle's, after more or less became known of it.
    pub fn find_rows(&mut self, flat: &Flat) {
        for at in 0..self.unlisted.len() {
            let rows = self.unlisted.get(at).and_then(|one| flat.tables.get(one.table)).map(|table| &table.rows);
            let rows = rows.into_iter().flatten().enumerate();
            let rows = rows.filter(|(_, row)| self.holds(&row.condition) == Some(true)).map(|(place, _)| place);
            let rows = rows.collect();
            if let Some(one) = self.unlisted.get_mut(at) {
                one.rows = rows;
            }
        }
    }

    /// Whether a row of a table is the vehicle's, where it is presumed not to be in the table; `None` where it is not.
    #[must_use]
    pub fn row_if_unlisted(&self, table: usize, row: usize) -> Option<bool> {
        self.unlisted.iter().find(|one| one.table == table).map(|one| one.rows.contains(&row))
    }

    /// The presumption of this place that the vehicle is not in a table, where it is used.
    #[must_use]
    pub fn is_unlisted_by(&self, presumption: usize) -> bool {
        self.unlisted.iter().any(|one| one.presumption == presumption)
    }
}

/// What a presumption makes of a fact; `None` where it does not apply: the fact is known, or cannot have the value.
#[must_use]
pub fn presumed(possible: &Possible, value: &Presumed) -> Option<Possible> {
    match (possible, value) {
        (Possible::Words(mask), Presumed::Word(bit)) if mask.count_ones() > 1 && mask & bit != 0 => {
            Some(Possible::Words(*bit))
        }
        (Possible::Number(span), Presumed::Number(number))
            if span.least < span.most && (span.least..=span.most).contains(number) =>
        {
            Some(Possible::Number(Span { least: *number, most: *number, may_be_absent: false }))
        }
        (Possible::Text(None), Presumed::Text(text)) => Some(Possible::Text(Some(text.to_lowercase()))),
        _ => None,
    }
}

/// Everything that a declared fact of a type can be.
#[must_use]
pub fn whole(kind: &DeclaredType) -> Possible {
    match kind {
        DeclaredType::YesNo => Possible::Words(0b11),
        DeclaredType::Words(words) => {
            let count = u32::try_from(words.len()).unwrap_or(62).min(62);
            Possible::Words((1u64 << count) - 1)
        }
        DeclaredType::Number { unit, least, most } => Possible::Number(Span {
            least: unit.to_base(*least).unwrap_or(i64::MIN),
            most: unit.to_base(*most).unwrap_or(i64::MAX),
            may_be_absent: false,
        }),
    }
}

/// What a declared fact of a type can be once it has a value; `None` where the value does not fit.
#[must_use]
pub fn fit(kind: &DeclaredType, value: &DeclaredValue) -> Option<Possible> {
    match (kind, value) {
        (DeclaredType::YesNo, DeclaredValue::YesNo(yes)) => Some(Possible::Words(if *yes { 0b10 } else { 0b01 })),
        (DeclaredType::YesNo, DeclaredValue::Word(word)) if word == "yes" => Some(Possible::Words(0b10)),
        (DeclaredType::YesNo, DeclaredValue::Word(word)) if word == "no" => Some(Possible::Words(0b01)),
        (DeclaredType::Words(words), DeclaredValue::Word(word)) => {
            let place = words.iter().position(|known| known == word)?;
            1u64.checked_shl(u32::try_from(place).ok()?).map(Possible::Words)
        }
        (DeclaredType::Number { unit, least, most }, DeclaredValue::Number(number)) => {
            let base = unit.to_base(*number)?;
            (*least..=*most).contains(number).then_some(Possible::Number(Span {
                least: base,
                most: base,
                may_be_absent: false,
            }))
        }
        _ => None,
    }
}

fn shown(value: &DeclaredValue) -> String {
    match value {
        DeclaredValue::YesNo(yes) => if *yes { "true" } else { "false" }.to_owned(),
        DeclaredValue::Number(number) => number.to_string(),
        DeclaredValue::Word(word) => format!("{word:?}"),
    }
}

/// What a declared fact of a type expects, in words.
#[must_use]
pub fn expected(kind: &DeclaredType) -> String {
    match kind {
        DeclaredType::YesNo => "true or false".to_owned(),
        DeclaredType::Words(words) => format!("one of {}", words.join(", ")),
        DeclaredType::Number { unit, least, most } => {
            format!("a whole number from {least} through {most} {}", unit.word()).trim_end().to_owned()
        }
    }
}

/// The facts that a condition turns on, findings, limits, counts and tables followed.
#[must_use]
pub fn facts_of(flat: &Flat, condition: &Condition<usize>) -> BTreeSet<FactRef<usize>> {
    let mut facts = BTreeSet::new();
    collect(flat, condition, &mut facts, 0);
    facts
}

fn collect(flat: &Flat, condition: &Condition<usize>, facts: &mut BTreeSet<FactRef<usize>>, depth: u32) {
    if depth > 64 {
        return;
    }
    condition.each_test(&mut |test| match test {
        Test::Word { fact, .. } | Test::Number { fact, .. } => {
            facts.insert(fact.clone());
        }
        Test::Text { fact, .. } | Test::Present { fact, .. } => {
            facts.insert(FactRef::Known(*fact));
        }
        Test::ModelYearIsEven(_) => {
            facts.insert(FactRef::Known(Fact::ModelYear));
        }
        Test::Dated(none) => match *none {},
        Test::Reading { .. } => {}
        Test::Codes { list, .. } => {
            facts.insert(FactRef::Known(*list));
        }
        Test::CodesOfTable { list, table, .. } => {
            facts.insert(FactRef::Known(*list));
            collect_table(flat, *table, facts, depth);
        }
        Test::Count { .. } => collect_count(flat, facts, depth),
        Test::CountOf { monitors, .. } => facts.extend(monitors.iter().map(|m| FactRef::Known(Fact::Monitor(m)))),
        Test::Pair { earlier, .. } => {
            facts.insert(FactRef::Known(*earlier));
            facts.extend(crate::model::Monitor::all().map(|m| FactRef::Known(Fact::Monitor(m))));
        }
        Test::NotMoreIncompleteThanEarlier => {
            facts.insert(FactRef::Known(Fact::EarlierIncompleteCount));
            collect_count(flat, facts, depth);
        }
        Test::Limit { limit, .. } => {
            collect_count(flat, facts, depth);
            for row in flat.limits.get(*limit).into_iter().flat_map(|limit| &limit.rows) {
                collect(flat, &row.condition, facts, depth + 1);
            }
        }
        Test::Finding(place) => {
            if let Some((_, condition)) = flat.findings.get(*place) {
                collect(flat, condition, facts, depth + 1);
            }
        }
        Test::Listed(table) => collect_table(flat, *table, facts, depth),
    });
}

fn collect_table(flat: &Flat, table: usize, facts: &mut BTreeSet<FactRef<usize>>, depth: u32) {
    for row in flat.tables.get(table).into_iter().flat_map(|table| &table.rows) {
        collect(flat, &row.condition, facts, depth + 1);
    }
}

fn collect_count(flat: &Flat, facts: &mut BTreeSet<FactRef<usize>>, depth: u32) {
    for rule in &flat.counts {
        facts.extend(rule.monitors.iter().map(|m| FactRef::Known(Fact::Monitor(m))));
        collect(flat, &rule.condition, facts, depth + 1);
    }
    for excuse in &flat.excuses {
        collect(flat, &excuse.condition, facts, depth + 1);
        if let super::flat::FlatExcused::EarlierIncomplete = excuse.which {
            facts.insert(FactRef::Known(Fact::EarlierIncomplete));
        }
        if let super::flat::FlatExcused::Table(table) = excuse.which {
            collect_table(flat, table, facts, depth);
        }
    }
}
