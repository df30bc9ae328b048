//! The keys of a snapshot document as a table that is looked up while the text is read: which place each fact has, and
//! how its value is written. Made once for a program.

use crate::document;
use crate::model::facts::{Possible, whole};
use crate::model::{Fact, FactType, Monitor, spec, table};
use crate::program::FactRef;
use crate::program::block::{DeclaredFact, DeclaredType};
use std::collections::BTreeMap;

/// What stands at a key.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Target {
    /// The format of the document.
    Format,
    /// An object, by its place among the objects.
    Object(usize),
    /// The day of the test.
    TestDate,
    /// A word, true or false: a place, the words, whether the vehicle may lack it.
    Word(usize, &'static [&'static str], bool),
    /// True or false: a place, and whether the vehicle may lack it.
    YesNo(usize, bool),
    /// Whether the vehicle answers.
    Communication(usize),
    /// A whole number: a place, the base units in one, the least and the most in base units.
    Number(usize, i64, i64, i64),
    /// A date.
    Date(usize),
    /// A text.
    Text(usize),
    /// The state of a monitor: its bit.
    Monitor(u32),
    /// A set of monitors.
    Monitors(usize),
    /// A list of trouble codes, and whether the vehicle may lack it.
    Codes(usize, bool),
    /// A word of a declared fact, by the place of its words.
    Own(usize, usize),
    /// What is passed through and never judged by.
    Passed,
}

/// One key.
#[derive(Debug)]
pub(super) struct Key {
    /// The object that it stands in; 0 is the document itself.
    pub(super) object: usize,
    pub(super) name: String,
    pub(super) target: Target,
    /// The bit that says that it was met; keys of one fact in several units share it.
    pub(super) bit: usize,
}

/// All keys.
#[derive(Debug)]
pub(super) struct Keys {
    pub(super) keys: Vec<Key>,
    /// For each object the keys by name.
    by_name: Vec<BTreeMap<String, usize>>,
    /// The facts of the places, then the declared ones.
    pub(super) facts: Vec<FactRef<String>>,
    /// What each place holds where it is not known.
    pub(super) blank: Vec<i64>,
    /// Words of declared facts.
    pub(super) own_words: Vec<Vec<String>>,
}

/// A code of a text, a list or a set of which nothing is known.
pub(super) const UNKNOWN: i64 = 0;
/// A list or a set that was read and holds nothing.
pub(super) const EMPTY: i64 = 1;
/// A list that the vehicle does not have.
pub(super) const NO_LIST: i64 = 2;
/// A list that holds some code.
pub(super) const SOME: i64 = 3;

impl Keys {
    /// The keys of documents for a program that declares these facts.
    pub(super) fn of(declared: &[DeclaredFact]) -> Keys {
        let mut all = Keys {
            keys: Vec::new(),
            by_name: vec![BTreeMap::new()],
            facts: Vec::new(),
            blank: Vec::new(),
            own_words: Vec::new(),
        };
        let mut objects: BTreeMap<String, usize> = BTreeMap::new();
        all.put(0, "format", Target::Format, 0);
        let mut bit = 1;
        for fact in table::all_facts() {
            let target = all.target(fact);
            all.put_path(&mut objects, &table::key_of(fact), target, bit);
            for (path, unit) in document::other_unit_keys(fact) {
                let other = match target {
                    Target::Number(place, _, least, most) => Target::Number(place, unit.scale(), least, most),
                    other => other,
                };
                all.put_path(&mut objects, &path, other, bit);
            }
            bit += 1;
        }
        let cycle = Monitor::all().map(|monitor| format!("this_cycle.{}", monitor.name()));
        for path in document::passed_through_keys().map(str::to_owned).chain(cycle) {
            all.put_path(&mut objects, &path, Target::Passed, bit);
            bit += 1;
        }
        for fact in declared {
            let target = all.own(fact);
            all.put_path(&mut objects, &format!("declared.{}", fact.name), target, bit);
            bit += 1;
        }
        all
    }

    /// The place of a key.
    pub(super) fn find(&self, object: usize, name: &str) -> Option<usize> {
        self.by_name.get(object).and_then(|names| names.get(name)).copied()
    }

    fn put(&mut self, object: usize, name: &str, target: Target, bit: usize) {
        if let Some(names) = self.by_name.get_mut(object) {
            names.insert(name.to_owned(), self.keys.len());
            self.keys.push(Key { object, name: name.to_owned(), target, bit });
        }
    }

    fn put_path(&mut self, objects: &mut BTreeMap<String, usize>, path: &str, target: Target, bit: usize) {
        let Some((first, last)) = path.split_once('.') else {
            return self.put(0, path, target, bit);
        };
        let object = objects.get(first).copied().unwrap_or_else(|| {
            let place = self.by_name.len();
            self.by_name.push(BTreeMap::new());
            // Bits of objects count from the far end.
            self.put(0, first, Target::Object(place), super::BITS - place);
            objects.insert(first.to_owned(), place);
            place
        });
        self.put(object, last, target, bit);
    }

    fn place(&mut self, fact: FactRef<String>, blank: i64) -> usize {
        self.facts.push(fact);
        self.blank.push(blank);
        self.blank.len() - 1
    }

    fn target(&mut self, fact: Fact) -> Target {
        if fact == Fact::TestDate {
            return Target::TestDate;
        }
        if let Fact::Monitor(monitor) = fact {
            return Target::Monitor(1 << monitor.index());
        }
        let row = spec(fact);
        let blank = match whole(fact) {
            Possible::Words(all) => all.cast_signed(),
            Possible::Number(_) => i64::MIN,
            _ => UNKNOWN,
        };
        let place = self.place(FactRef::Known(fact), blank);
        match row.kind {
            FactType::YesNo { .. } => Target::YesNo(place, row.may_be_absent),
            FactType::Words(_) if fact == Fact::Communication => Target::Communication(place),
            FactType::Words(words) => Target::Word(place, words, row.may_be_absent),
            FactType::Number { unit, least, most, .. } => {
                let base = |number: i64| unit.to_base(number).unwrap_or(0);
                Target::Number(place, unit.scale(), base(least), base(most))
            }
            FactType::Date => Target::Date(place),
            FactType::Text => Target::Text(place),
            FactType::Monitors => Target::Monitors(place),
            FactType::Codes => Target::Codes(place, row.may_be_absent),
        }
    }

    fn own(&mut self, fact: &DeclaredFact) -> Target {
        let reference = FactRef::Declared(fact.name.clone());
        match &fact.kind {
            DeclaredType::Number { unit, least, most } => {
                let place = self.place(reference, i64::MIN);
                let base = |number: i64| unit.to_base(number).unwrap_or(0);
                Target::Number(place, unit.scale(), base(*least), base(*most))
            }
            kind => {
                let words: Vec<String> = kind.words().iter().map(|word| (*word).to_owned()).collect();
                let count = u32::try_from(words.len()).unwrap_or(62).min(62);
                let place = self.place(reference, ((1u64 << count) - 1).cast_signed());
                self.own_words.push(words);
                Target::Own(place, self.own_words.len() - 1)
            }
        }
    }
}
