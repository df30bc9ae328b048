//! Classes of a level in the words of program files, and example vehicles: each said by hand, on levels built for it. How
//! program files word conditions: `grammar/language.md`.

use super::build::{flat, line};
use rstest::rstest;
use std::collections::BTreeSet;
use wherefore::internals::diagram::Space;
use wherefore::internals::diagram::codes::{Atom, Atoms};
use wherefore::internals::diagram::cuts::Cuts;
use wherefore::internals::diagram::example::example;
use wherefore::internals::diagram::level::{Class, Level, Members, Sample, Var};
use wherefore::internals::diagram::words::{counted_monitors_are, describe};
use wherefore::internals::model::facts::ABSENT;
use wherefore::internals::model::{Fact, Monitor, Reading, TroubleCode, Value};
use wherefore::internals::program::{Condition, Test, Topic};

const UNSUPPORTED: u64 = 1;
const COMPLETE: u64 = 2;
const INCOMPLETE: u64 = 4;

fn class(sample: Sample, members: Members) -> Class {
    Class { sample, members, size: 1, cost: 0 }
}

/// No, then yes.
fn truths() -> Vec<Class> {
    [false, true].map(|is| class(Sample::Truth(is), Members::Same)).to_vec()
}

fn places(count: usize) -> Vec<Class> {
    (0..count).map(|place| class(Sample::Place(place), Members::Same)).collect()
}

fn words(masks: &[u64]) -> Vec<Class> {
    masks.iter().map(|mask| class(Sample::Word(mask & mask.wrapping_neg()), Members::Words(*mask))).collect()
}

fn texts(named: &[&str], others: bool) -> Class {
    let named: Vec<String> = named.iter().map(|text| (*text).to_owned()).collect();
    class(Sample::Text(String::new()), Members::Texts { named, others })
}

fn space(levels: Vec<Level>) -> Space {
    let mut space = Space::default();
    space.levels = levels;
    space
}

fn declared(kind: &str) -> Var {
    Var::Declared { name: "exhaust".to_owned(), kind: kind.to_owned() }
}

fn question() -> Var {
    Var::Question { id: "doubt".to_owned(), readings: ["strict", "mild", "none"].map(str::to_owned).to_vec() }
}

fn unread_limit() -> Var {
    Var::UnreadLimit { program: "example".to_owned(), at: 0, row: "standard row 1".to_owned() }
}

const EARLIER: Fact = Fact::EarlierIncomplete;
const LIT: Fact = Fact::EarlierLampMonitors;

#[rstest]
#[case::was_incomplete(Var::Member(EARLIER, Monitor::Catalyst), truths(), &[1], "catalyst incomplete earlier")]
#[case::was_not(Var::Member(EARLIER, Monitor::Catalyst), truths(), &[0], "catalyst not incomplete earlier")]
#[case::lit_the_lamp(Var::Member(LIT, Monitor::Misfire), truths(), &[1], "misfire among those that lit the lamp earlier")]
#[case::did_not(Var::Member(LIT, Monitor::Misfire), truths(), &[0], "misfire not among those that lit the lamp earlier")]
#[case::unread_codes_belong(Var::UnreadCodes("evap".to_owned()), truths(), &[1], "the codes of evap whose text was not seen belong to it")]
#[case::unread_codes_do_not(Var::UnreadCodes("evap".to_owned()), truths(), &[0], "the codes of evap whose text was not seen do not belong to it")]
#[case::list_is_there(Var::Present(Fact::PermanentCodes), truths(), &[1], "permanent code on this vehicle")]
#[case::list_is_not(Var::Present(Fact::PermanentCodes), truths(), &[0], "permanent code not on this vehicle")]
#[case::holds_a_code(Var::Holds(Fact::StoredCodes, 0), truths(), &[1], "a stored code such as P0420")]
#[case::holds_none(Var::Holds(Fact::StoredCodes, 0), truths(), &[0], "no stored code such as P0420")]
#[case::readings(question(), places(3), &[0, 2], "doubt read as strict or none")]
#[case::number_not_seen(unread_limit(), places(3), &[1, 2], "the number of standard row 1, whose text was not seen, is 1 or 2")]
#[case::declared_yes(declared("yes/no"), words(&[1, 2]), &[1], "exhaust is yes")]
#[case::declared_no(declared("yes/no"), words(&[1, 2]), &[0], "exhaust is no")]
#[case::of_two_words_one(declared("sound, leaking"), words(&[1, 2]), &[0], "exhaust is sound")]
#[case::fewer_are_told(declared("sound, leaking, missing"), words(&[1, 2, 4]), &[0, 2], "exhaust is not leaking")]
#[case::as_many_are_told(declared("a, b, c, d"), words(&[1, 2, 4, 8]), &[0, 1], "exhaust is a or b")]
#[case::all_of_them(declared("sound, leaking"), words(&[1, 2]), &[0, 1], "exhaust is sound or leaking")]
// *Is not* would leave open whether a vehicle without it is meant.
#[case::all_but_one_or_absent(declared("a, b, c"), words(&[1, 2, 4, ABSENT]), &[0, 1, 3], "exhaust is a or b, or not on this vehicle")]
#[case::absent(declared("a, b, c"), words(&[1, 2, 4, ABSENT]), &[3], "exhaust not on this vehicle")]
#[case::yes(Var::Known(Fact::LampCommanded), words(&[1, 2]), &[1], "lamp commanded on")]
#[case::no(Var::Known(Fact::LampCommanded), words(&[1, 2]), &[0], "lamp not commanded on")]
#[case::lamp_absent(Var::Known(Fact::LampLitKeyOn), words(&[1, 2, ABSENT]), &[2], "lamp with the key on not on this vehicle")]
#[case::named_text(Var::Known(Fact::Area), vec![texts(&[], true), texts(&["harris"], false)], &[1], "area is \"harris\"")]
#[case::other_text(Var::Known(Fact::Area), vec![texts(&[], true), texts(&["harris"], false)], &[0], "area is not \"harris\"")]
fn a_class_is_told_as_programs_word_it(
    #[case] var: Var,
    #[case] classes: Vec<Class>,
    #[case] inside: &[usize],
    #[case] expected: &str,
) {
    let mut space = space(vec![Level { var, classes }]);
    let atom = Atom { bands: Vec::new(), sample: TroubleCode::obd(0x0420), size: 1 };
    space.atoms.insert(Fact::StoredCodes, Atoms { groups: Vec::new(), atoms: vec![atom] });
    assert_eq!(describe(&space, 0, &inside.iter().copied().collect()), expected);
}

// The three states of a monitor, alone and together, in the words of program files.
#[rstest]
#[case(UNSUPPORTED, "is unsupported")]
#[case(COMPLETE, "is supported and complete")]
#[case(INCOMPLETE, "is incomplete")]
#[case(COMPLETE | INCOMPLETE, "is supported")]
#[case(COMPLETE | UNSUPPORTED, "is complete wherever supported")]
#[case(INCOMPLETE | UNSUPPORTED, "is incomplete or unsupported")]
#[case(UNSUPPORTED | COMPLETE | INCOMPLETE, "is in any state")]
fn the_states_of_a_monitor_are_told(#[case] mask: u64, #[case] expected: &str) {
    let classes = words(&[UNSUPPORTED, COMPLETE, INCOMPLETE]);
    let inside: BTreeSet<usize> = (0..3).filter(|place| mask >> place & 1 == 1).collect();
    let space = space(vec![Level { var: Var::Known(Fact::Monitor(Monitor::Catalyst)), classes }]);
    assert_eq!(describe(&space, 0, &inside), format!("catalyst {expected}"));
}

// Of eleven that are counted.
#[rstest]
#[case(0, 0, "no counted monitor is")]
#[case(1, 1, "exactly 1 counted monitor is")]
#[case(2, 2, "exactly 2 counted monitors are")]
#[case(0, 1, "at most 1 counted monitor is")]
#[case(0, 2, "at most 2 counted monitors are")]
#[case(1, 11, "at least 1 counted monitor is")]
#[case(3, 11, "at least 3 counted monitors are")]
#[case(2, 10, "2 to 10 counted monitors are")]
fn numbers_of_monitors_are_told(#[case] least: usize, #[case] most: usize, #[case] expected: &str) {
    assert_eq!(counted_monitors_are(least, most, 11), expected);
}

// A person pictures an engine: where a monitor of one table alone is supported, the example has that table's ignition; where
// none is, or the ignition is said, nothing is added. The tables are those of SAE J1979 PID $01.
#[rstest]
#[case::diesel_filter(Monitor::ParticulateFilter, INCOMPLETE, None, Some("compression"))]
#[case::diesel_filter_done(Monitor::ParticulateFilter, COMPLETE, None, Some("compression"))]
#[case::catalyst(Monitor::Catalyst, INCOMPLETE, None, Some("spark"))]
#[case::not_supported(Monitor::ParticulateFilter, UNSUPPORTED, None, None)]
#[case::of_both_tables(Monitor::EgrVvt, COMPLETE, None, None)]
#[case::said_already(Monitor::EgrVvt, COMPLETE, Some("compression"), Some("compression"))]
fn an_example_has_the_ignition_of_its_monitors(
    #[case] monitor: Monitor,
    #[case] state: u64,
    #[case] said: Option<&str>,
    #[case] expected: Option<&str>,
) {
    let level = |fact: Fact, word: u64| Level { var: Var::Known(fact), classes: words(&[word]) };
    let mut levels = vec![level(Fact::Monitor(monitor), state)];
    levels.extend(said.map(|word| level(Fact::Ignition, Fact::Ignition.word_bit(word).unwrap())));
    let path = vec![0; levels.len()];
    let shown = example(&space(levels), &[], &path).snapshot;
    let place = expected.map(|word| Fact::Ignition.words().iter().position(|known| *known == word).unwrap());
    let reading = place.map(|place| Reading::Known(Value::Word(u8::try_from(place).unwrap())));
    assert_eq!(shown.get(Fact::Ignition), reading.as_ref());
}

// One condition on the make is one, however its names are ordered, written twice or in capitals; another name is another.
#[rstest]
#[case::the_same(&["volta", "kestrel"], 1)]
#[case::ordered_otherwise(&["kestrel", "volta"], 1)]
#[case::capitals(&["Kestrel", "VOLTA"], 1)]
#[case::twice(&["kestrel", "volta", "kestrel"], 1)]
#[case::another(&["kestrel"], 2)]
fn the_same_makes_are_one_condition(#[case] names: &[&str], #[case] conditions: usize) {
    let is = |names: &[&str]| {
        let among = names.iter().map(|name| (*name).to_owned()).collect();
        Condition::Test(Test::Text { fact: Fact::Make, among, is: true })
    };
    let mut flat = flat();
    flat.lines = vec![line("one", Topic::Other, 2, is(&["volta", "kestrel"])), line("two", Topic::Other, 1, is(names))];
    let mut cuts = Cuts::default();
    cuts.gather(&flat);
    assert_eq!(cuts.units.len(), conditions, "{:?}", cuts.units);
}
