//! Questions put one by one: truthful answers end with the ruling on the whole vehicle, nothing is asked that cannot
//! matter, and the number told is never exceeded. Issue "exact answers", point 5; design, section 7. Random programs are
//! small enough for every vehicle to be tried; shipped programs are asked about the vehicles of their worked cases.

use super::build::{flat, line};
use super::{oracle::Vehicle, random, shipped};
use proptest::prelude::*;
use rstest::rstest;
use std::collections::{BTreeMap, BTreeSet};
use wherefore::internals::analysis::ask::{Step, ask};
use wherefore::internals::diagram::exact;
use wherefore::internals::model::{
    CodeGroup, CodeList, CodeRange, Date, Fact, FactType, Reading, Snapshot, Unit, Value, spec,
};
use wherefore::internals::program::given::Verdict;
use wherefore::internals::program::{Condition, FactRef, Flat, Given, How, Selection, Test, Topic, select};
use wherefore::internals::report::interview::{Heard, Interview};

/// A reading as a person would type it.
fn said(fact: Fact, reading: &Reading) -> String {
    let value = match reading {
        Reading::NotOnVehicle => return "not on this vehicle".to_owned(),
        Reading::Known(value) => value,
    };
    match value {
        Value::Word(place) => match fact {
            Fact::Monitor(_) => ["unsupported", "complete", "incomplete"][usize::from(*place)].to_owned(),
            _ => fact.words()[usize::from(*place)].to_owned(),
        },
        Value::Number(base) => {
            let FactType::Number { unit, .. } = spec(fact).kind else { panic!("{fact:?} is no number") };
            let unit = match unit {
                whole if base % whole.scale() == 0 => whole,
                Unit::Pound => Unit::Kilogram,
                Unit::Kilometre => Unit::Mile,
                _ => Unit::Minute,
            };
            unit.show(*base)
        }
        Value::Date(date) => date.to_string(),
        Value::Text(text) => text.clone(),
        Value::Monitors(set) if set.is_empty() => "none".to_owned(),
        Value::Monitors(set) => set.iter().map(|it| it.name()).collect::<Vec<_>>().join(", "),
        Value::Codes(CodeList { codes, .. }) if codes.is_empty() => "none".to_owned(),
        Value::Codes(CodeList { codes, may_hold_more }) => {
            let codes = codes.iter().map(ToString::to_string).collect::<Vec<_>>().join(", ");
            if *may_hold_more { format!("at least {codes}") } else { codes }
        }
    }
}

fn answer(flat: &Flat, fact: &FactRef<usize>, truth: &Snapshot) -> String {
    use wherefore::internals::model::DeclaredValue as Declared;
    match fact {
        FactRef::Known(fact) => truth.get(*fact).map_or("?".to_owned(), |reading| said(*fact, reading)),
        FactRef::Declared(place) => match truth.declared.get(&flat.facts[*place].name) {
            None => "?".to_owned(),
            Some(Declared::YesNo(yes)) => if *yes { "yes" } else { "no" }.to_owned(),
            Some(Declared::Number(number)) => number.to_string(),
            Some(Declared::Word(word)) => word.clone(),
        },
    }
}

/// Answers every question, and checks each on the way; the facts asked for, and the snapshot at the end.
fn interviewed(
    flat: &Flat,
    start: &Snapshot,
    answer: &dyn Fn(&FactRef<usize>) -> String,
    each: &mut dyn FnMut(&Interview<'_>, &FactRef<usize>),
) -> (Vec<FactRef<usize>>, Snapshot, BTreeSet<Verdict>) {
    let mut interview = Interview::new(flat, start.clone()).unwrap();
    let (mut asked, mut left, mut unanswered) = (Vec::new(), usize::MAX, usize::MAX);
    while let Some(fact) = interview.turn().fact.clone() {
        let turn = interview.turn();
        assert!(turn.possible.len() > 1 || !turn.possible.is_empty());
        assert!(turn.at_most >= 1 && turn.at_most <= turn.at_most_unanswered);
        assert!(turn.at_most < left, "at most {} after at most {left}", turn.at_most);
        assert!(turn.at_most_unanswered < unanswered);
        assert!(!asked.contains(&fact), "{fact:?} is asked twice");
        unanswered = turn.at_most_unanswered;
        each(&interview, &fact);
        let words = answer(&fact);
        left = if words == "?" { usize::MAX } else { turn.at_most };
        assert_eq!(interview.hear(&words), Heard::Taken, "{fact:?}: {words}");
        asked.push(fact);
    }
    assert_eq!((interview.turn().at_most, interview.prompt()), (0, None));
    (asked, interview.snapshot().clone(), interview.turn().possible.clone())
}

fn possible(flat: &Flat, snapshot: &Snapshot) -> BTreeSet<Verdict> {
    exact::possible(flat, &Given::of(flat, snapshot).unwrap()).unwrap()
}

/// The value that a vehicle has of a fact, to tell vehicles apart.
fn value(flat: &Flat, vehicle: &Vehicle, fact: &FactRef<usize>) -> String {
    match fact {
        FactRef::Known(fact) => format!("{:?}", vehicle.facts.get(*fact)),
        FactRef::Declared(place) => format!("{:?}", vehicle.facts.declared.get(&flat.facts[*place].name)),
    }
}

/// The verdicts possible with each value of one fact.
type ByValue = BTreeMap<String, BTreeSet<Verdict>>;

/// Whether knowing a fact leaves fewer verdicts possible, whatever else of the open facts is known by then: some of the
/// others with some values.
fn can_matter(flat: &Flat, vehicles: &[&Vehicle], fact: &FactRef<usize>, open: &BTreeSet<FactRef<usize>>) -> bool {
    let others: Vec<&FactRef<usize>> = open.iter().filter(|other| *other != fact).collect();
    (0..1u32 << others.len()).any(|known| {
        let known = others.iter().enumerate().filter(|(place, _)| known >> place & 1 == 1).map(|(_, fact)| *fact);
        let known: Vec<&FactRef<usize>> = known.collect();
        let mut groups: BTreeMap<Vec<String>, (BTreeSet<Verdict>, ByValue)> = BTreeMap::new();
        for vehicle in vehicles {
            let key = known.iter().map(|fact| value(flat, vehicle, fact)).collect();
            let (all, by_value) = groups.entry(key).or_default();
            let verdict = vehicle.verdict(flat);
            all.insert(verdict);
            by_value.entry(value(flat, vehicle, fact)).or_default().insert(verdict);
        }
        groups.values().any(|(all, by_value)| by_value.values().any(|some| some != all))
    })
}

/// Everything known but the facts named by the knowledge; the truth is a vehicle that can exist.
fn start_of(truth: &Snapshot, knowledge: &[(prop::sample::Index, bool)]) -> Snapshot {
    let start = random::known(knowledge);
    let mut start_known = truth.clone();
    start_known.readings.retain(|fact, _| start.readings.contains_key(fact));
    start_known.declared.retain(|name, _| start.declared.contains_key(name));
    start_known
}

fn all_known(knowledge: &[(prop::sample::Index, bool)]) -> Snapshot {
    random::known(&knowledge.iter().map(|(index, _)| (*index, true)).collect::<Vec<_>>())
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 24, max_global_rejects: 100_000, ..ProptestConfig::default() })]

    #[test]
    fn truthful_answers_end_with_the_ruling_on_the_whole_vehicle(flat in random::program(), knowledge in random::knowledge()) {
        let truth = all_known(&knowledge);
        prop_assume!(Given::of(&flat, &truth).is_ok_and(|given| exact::possible(&flat, &given).is_ok()));
        let start = start_of(&truth, &knowledge);
        let (_, gathered, left) = interviewed(&flat, &start, &|fact| answer(&flat, fact, &truth), &mut |_, _| {});
        prop_assert_eq!(&left, &possible(&flat, &truth));
        prop_assert_eq!(&left, &possible(&flat, &gathered));
    }

    #[test]
    fn no_answer_at_all_ends_with_what_is_possible(flat in random::program(), knowledge in random::knowledge()) {
        let truth = all_known(&knowledge);
        prop_assume!(Given::of(&flat, &truth).is_ok_and(|given| exact::possible(&flat, &given).is_ok()));
        let start = start_of(&truth, &knowledge);
        let before = possible(&flat, &start);
        let (_, gathered, left) = interviewed(&flat, &start, &|_| "?".to_owned(), &mut |_, _| {});
        prop_assert_eq!(gathered, start);
        prop_assert_eq!(left, before);
    }

    // Whether a question can matter is found by trying every vehicle and every set of other facts.
    #[test]
    fn nothing_is_asked_that_cannot_matter(flat in random::program(), knowledge in random::knowledge()) {
        let truth = all_known(&knowledge);
        prop_assume!(Given::of(&flat, &truth).is_ok_and(|given| exact::possible(&flat, &given).is_ok()));
        let start = start_of(&truth, &knowledge);
        let vehicles = random::vehicles(&flat, &start, 4_000);
        prop_assume!(vehicles.is_some());
        let vehicles = vehicles.unwrap();
        let mut useless = Vec::new();
        interviewed(&flat, &start, &|fact| answer(&flat, fact, &truth), &mut |interview, fact| {
            let known = interview.snapshot();
            let agrees = |vehicle: &&Vehicle| {
                known.readings.iter().all(|(fact, reading)| vehicle.facts.get(*fact) == Some(reading))
                    && known.declared.iter().all(|(name, value)| vehicle.facts.declared.get(name) == Some(value))
            };
            let left: Vec<&Vehicle> = vehicles.iter().filter(agrees).collect();
            if !can_matter(&flat, &left, fact, &interview.turn().open) {
                useless.push(fact.clone());
            }
        });
        prop_assert!(useless.is_empty(), "{:?} cannot matter", useless);
    }
}

// Every shipped program: vehicles of its worked cases with some facts not known at first. What a case does not tell is
// answered "don't know", and presumptions then hold as they do in the ruling.
#[test]
fn shipped_programs_rule_alike_asked_or_told() {
    let mut asked = 0;
    for program in shipped::programs() {
        for (place, case) in program.cases.iter().take(2).enumerate() {
            let date: Date = case.facts.test_date().unwrap();
            let selection = Selection { known_on: case.known_on, takes: case.takes.clone(), ..Selection::on(date) };
            let flat = select(&program, &selection).unwrap();
            let mut start = case.facts.clone();
            let kept = |at: usize| !(at + place).is_multiple_of(4);
            let facts: Vec<Fact> = start.readings.keys().copied().filter(|fact| *fact != Fact::TestDate).collect();
            for (at, fact) in facts.iter().enumerate() {
                if !kept(at) {
                    start.readings.remove(fact);
                }
            }
            start.declared.clear();
            let (list, gathered, left) =
                interviewed(&flat, &start, &|fact| answer(&flat, fact, &case.facts), &mut |_, _| {});
            assert_eq!(left, possible(&flat, &case.facts), "{} {}", program.id, case.title);
            assert_eq!(left, possible(&flat, &gathered), "{} {}", program.id, case.title);
            asked += list.len();
        }
    }
    assert!(asked > 50, "only {asked} questions");
}

/// A test of a list for any code, or any of a group.
fn any_code(list: Fact, among: Option<usize>) -> Condition<usize> {
    Condition::Test(Test::Codes { list, how: How::Any, among })
}

/// A group of one code.
fn group(code: u16) -> (String, CodeGroup) {
    let ranges = vec![CodeRange { first: code, last: code, digits_only: false }];
    (format!("p{code:04X}"), CodeGroup { ranges, unread: Vec::new() })
}

/// What may be answered, each with whether the vehicle then fails.
fn answers(flat: &Flat) -> BTreeMap<String, bool> {
    let tree = ask(flat, &Snapshot::default()).unwrap();
    let [question] = tree.questions.as_slice() else { panic!("{tree:#?}") };
    let told = |step: &Step| match step {
        Step::Done(verdicts) => verdicts == &BTreeSet::from([Verdict::Outcome(2)]),
        other => panic!("{other:?}"),
    };
    question.answers.iter().map(|(words, step)| (words.clone(), told(step))).collect()
}

// A person who names a code says with it that the vehicle has the list, and one who says that it has none says with it that no
// code is there: neither is said twice. A stored list every vehicle has (table of facts).
#[rstest]
#[case::stored(Fact::StoredCodes, None, &["one or more"], &["none"])]
#[case::permanent(Fact::PermanentCodes, None, &["one or more"], &["not on this vehicle or none"])]
#[case::permanent_of_a_group(Fact::PermanentCodes, Some(0), &["a permanent code such as P0420"], &["not on this vehicle or no permanent code such as P0420"])]
fn a_list_is_answered_without_saying_anything_twice(
    #[case] list: Fact,
    #[case] among: Option<usize>,
    #[case] fails: &[&str],
    #[case] passes: &[&str],
) {
    let mut flat = flat();
    flat.groups = vec![group(0x0420)];
    flat.lines.push(line("codes", Topic::PermanentCodes, 2, any_code(list, among)));
    let answers = answers(&flat);
    let of = |failed: bool| -> Vec<&str> {
        answers.iter().filter(|(_, it)| **it == failed).map(|(words, _)| words.as_str()).collect()
    };
    assert_eq!((of(true), of(false)), (fails.to_vec(), passes.to_vec()), "{answers:?}");
}

// Worked by hand: one code alone turns a vehicle away, with another it fails, and the other alone is nothing: what passes is
// told by the first code alone, whichever of the two is asked for first.
#[rstest]
#[case::first_before_other(&[0x0420, 0x0171], 0, 1)]
#[case::other_before_first(&[0x0171, 0x0420], 1, 0)]
fn what_makes_no_difference_to_an_answer_is_not_told(#[case] groups: &[u16], #[case] one: usize, #[case] other: usize) {
    let mut flat = flat();
    flat.groups = groups.iter().map(|code| group(*code)).collect();
    let stored = |place| any_code(Fact::StoredCodes, Some(place));
    flat.lines.push(line("order", Topic::Other, 0, Condition::Any(vec![stored(0), stored(1)])));
    flat.lines.push(line("both", Topic::StoredCodes, 2, Condition::All(vec![stored(one), stored(other)])));
    flat.lines.push(line("one", Topic::StoredCodes, 1, stored(one)));
    let tree = ask(&flat, &Snapshot::default()).unwrap();
    let told: BTreeMap<&str, &Step> =
        tree.questions[0].answers.iter().map(|(words, step)| (words.as_str(), step)).collect();
    let to = |outcome| Step::Done(BTreeSet::from([Verdict::Outcome(outcome)]));
    let in_order = |first: &str, second: &str| {
        let [a, b] = [(one, first), (other, second)];
        // Atoms stand in the order of the levels: the group gathered last comes first.
        if a.0 > b.0 { format!("{} and {}", a.1, b.1) } else { format!("{} and {}", b.1, a.1) }
    };
    let (p0420, p0171) = ("a stored code such as P0420", "a stored code such as P0171");
    let (both, alone) = (in_order(p0420, p0171), in_order(p0420, "no stored code such as P0171"));
    let expected = [("no stored code such as P0420", to(0)), (alone.as_str(), to(1)), (both.as_str(), to(2))];
    assert_eq!(told, expected.iter().map(|(words, step)| (*words, step)).collect());
}

/// Fails where two codes of a pair are stored together; first every first one is asked for, then every second.
fn pairs(count: u16) -> Flat {
    let mut flat = flat();
    flat.groups = (0..count).map(|at| group(0x0101 + at)).chain((0..count).map(|at| group(0x0201 + at))).collect();
    let stored = |place: u16| any_code(Fact::StoredCodes, Some(usize::from(place)));
    // It leads to the first outcome of the ladder, and brings the codes into this order alone.
    flat.lines.push(line("order", Topic::Other, 0, Condition::Any((0..2 * count).map(stored).collect())));
    let both = (0..count).map(|at| Condition::All(vec![stored(at), stored(at + count)]));
    flat.lines.push(line("pairs", Topic::StoredCodes, 2, Condition::Any(both.collect())));
    flat
}

// A question of many codes is answered by few verdicts however many ways lead there, up to a number of ways on the way: after
// the first codes of six pairs 64 are open, after those of eight 256, which is cut with what may follow.
#[test]
fn a_question_of_many_codes_is_answered_until_its_ways_are_too_many() {
    let told: BTreeSet<bool> = answers(&pairs(6)).into_values().collect();
    assert_eq!(told, BTreeSet::from([false, true]));
    let tree = ask(&pairs(8), &Snapshot::default()).unwrap();
    let both = BTreeSet::from([Verdict::Outcome(0), Verdict::Outcome(2)]);
    assert_eq!(tree.questions[0].answers, [("any answer".to_owned(), Step::Cut(both))]);
    assert!(!tree.is_best && tree.cuts() == 1);
}

// Answers stand in the order of the values, one that several values give by the first of them (`analysis::ask`): of two codes
// that say something only where one of them is there alone, none or both is told first, whichever outcome it brings.
#[rstest]
#[case::one_alone_fails(false, &[false, true])]
#[case::none_or_both_fail(true, &[true, false])]
fn answers_stand_in_the_order_of_their_first_values(#[case] alike_fails: bool, #[case] fails: &[bool]) {
    let mut flat = flat();
    flat.groups = [0x0420, 0x0171].map(group).to_vec();
    let stored = |place, is: bool| {
        let holds = any_code(Fact::StoredCodes, Some(place));
        if is { holds } else { holds.negated() }
    };
    let both = |one, other| Condition::All(vec![stored(0, one), stored(1, other)]);
    let parts = if alike_fails { [(true, true), (false, false)] } else { [(true, false), (false, true)] };
    let condition = Condition::Any(parts.map(|(one, other)| both(one, other)).to_vec());
    flat.lines.push(line("codes", Topic::StoredCodes, 2, condition));
    let tree = ask(&flat, &Snapshot::default()).unwrap();
    let failed = |step: &Step| *step == Step::Done(BTreeSet::from([Verdict::Outcome(2)]));
    let told: Vec<bool> = tree.questions[0].answers.iter().map(|(_, step)| failed(step)).collect();
    assert_eq!(told, fails, "{:?}", tree.questions[0].answers);
}

// That a vehicle has a list goes without saying only beside its codes: where nothing but the list is asked for, it is told.
#[test]
fn a_list_without_its_codes_is_told() {
    let mut flat = flat();
    let there = Test::Present { fact: Fact::PermanentCodes, is: true };
    flat.lines.push(line("codes", Topic::PermanentCodes, 2, Condition::Test(there)));
    let expected = [("not on this vehicle".to_owned(), false), ("on this vehicle".to_owned(), true)];
    assert_eq!(answers(&flat), BTreeMap::from(expected));
}
