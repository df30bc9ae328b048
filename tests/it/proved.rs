//! Proofs of rulings in the small: every proof that can be written about coverage, relabelling and give-way of a few rules is
//! tried, and those of the true verdict alone are accepted; chains of lines that give way; open questions, of which no more
//! are read than must be; what a proof rests on; the texts it is checked from. Programs are invented.

use crate::diagram::oracle::Vehicle;
use crate::kernel::programs::{based, declared, empty, is, line, origin};
use rstest::rstest;
use std::collections::{BTreeMap, BTreeSet};
use wherefore::internals::certificate::{
    Blocked, By, Certificate, Coverage, Live, Refusal, Relabelled, Tested, TextsError, Unyielding, Way, program_of,
    verify,
};
use wherefore::internals::check::limits;
use wherefore::internals::model::table::key_of;
use wherefore::internals::model::{
    CodeList, CodeRange, Date, DeclaredValue, Fact, Monitor, MonitorSet, Snapshot, TroubleCode, Value,
};
use wherefore::internals::program::block::DeclaredType;
use wherefore::internals::program::flat::{Becomes, FlatQuestion, FlatRow, FlatTable, LeftOut};
use wherefore::internals::program::{Condition, FactRef, Flat, How, InForce, Test};
use wherefore::internals::ruling::certificate;

/// A program of a ladder and so many declared facts of yes or no.
fn asking(facts: usize) -> Flat {
    let fact = |place: usize| declared(&format!("fact-{place}"), DeclaredType::YesNo);
    Flat { facts: (0..facts).map(fact).collect(), covers: vec![based(Condition::always())], ..empty() }
}

/// Every vehicle that so many declared facts tell apart.
fn vehicles(facts: usize) -> Vec<Snapshot> {
    let one = |bits: usize| {
        let mut snapshot = Snapshot::default();
        for place in 0..facts {
            snapshot.declared.insert(format!("fact-{place}"), DeclaredValue::YesNo(bits >> place & 1 == 1));
        }
        snapshot
    };
    (0..1 << facts).map(one).collect()
}

fn tested(place: usize) -> Tested {
    Tested { place, tests: vec![0] }
}

/// Every set of proofs about so many conditions, each by its one test.
fn sets(conditions: usize) -> Vec<Vec<Tested>> {
    let set = |bits: usize| (0..conditions).filter(|place| bits >> place & 1 == 1).map(tested).collect();
    (0..1 << conditions).map(set).collect()
}

/// Every relabelling that can be claimed by so many rules.
fn relabellings(rules: usize) -> Vec<Relabelled> {
    let claims = std::iter::once(None).chain((0..rules).map(|place| Some(tested(place))));
    claims
        .flat_map(|rule| sets(rules).into_iter().map(move |graver| Relabelled { rule: rule.clone(), graver }))
        .collect()
}

/// Tries every one of these ways for every verdict. The naive evaluator tells the true one: some way must prove it, and
/// none another. How many were accepted.
fn only_the_truth(flat: &Flat, snapshot: &Snapshot, ways: &[Way]) -> usize {
    let truth = Vehicle { facts: snapshot.clone(), ..Vehicle::default() }.verdict(flat).name(flat).to_owned();
    let names = flat.outcomes.iter().map(|outcome| outcome.name.clone());
    let names: BTreeSet<String> = names.chain(["not-subject", "no-law-in-file"].map(str::to_owned)).collect();
    let rests_on: Vec<String> = snapshot.declared.keys().map(|name| format!("declared.{name}")).collect();
    let mut accepted = 0;
    for way in ways {
        for verdict in &names {
            let proof = Certificate { verdict: verdict.clone(), rests_on: rests_on.clone(), ways: vec![way.clone()] };
            if verify(&proof, flat, snapshot).is_ok() {
                assert_eq!(*verdict, truth, "{way:?} {snapshot:?}");
                accepted += 1;
            }
        }
    }
    assert!(accepted > 0, "nothing proves {truth}: {snapshot:?} {flat:?}");
    let made = certificate(flat, snapshot).unwrap().expect("a proof is found");
    assert_eq!(made.verdict, truth, "{snapshot:?}");
    accepted
}

fn way(coverage: Coverage, becomes: Relabelled) -> Way {
    Way { readings: BTreeMap::new(), coverage, deciding: None, blocked: Vec::new(), becomes }
}

fn nothing() -> Relabelled {
    Relabelled { rule: None, graver: Vec::new() }
}

/// Every claim about coverage by one covering block and two rows.
fn coverages() -> Vec<Coverage> {
    let mut all = vec![Coverage::NotInForce];
    all.extend(sets(1).into_iter().map(|blocks| Coverage::NotCovered { blocks }));
    for rows in sets(2) {
        all.push(Coverage::Covered { block: tested(0), rows: rows.clone() });
        for row in 0..2 {
            for block in [None, Some(tested(0))] {
                all.push(Coverage::LeftOut { block, row: tested(row), graver: rows.clone() });
            }
        }
    }
    all
}

// Where several rows hold, an outcome stands before not-subject, and the gravest first; with no version in force nothing
// else matters (`program::flat`).
#[rstest]
#[case::sent_or_not_subject(InForce::Yes, Some(1), None)]
#[case::two_outcomes(InForce::Yes, Some(1), Some(2))]
#[case::the_graver_first(InForce::Yes, Some(2), Some(1))]
#[case::two_of_one(InForce::Yes, None, None)]
#[case::ended(InForce::Ended { last: Date::constant(2020, 1, 1) }, Some(1), None)]
#[case::no_law(InForce::NotSaid, None, Some(2))]
fn no_claim_about_coverage_proves_another_verdict(
    #[case] in_force: InForce,
    #[case] first: Option<usize>,
    #[case] second: Option<usize>,
) {
    let row = |place: usize, outcome| LeftOut {
        condition: is(place),
        outcome,
        why: String::new(),
        basis: Vec::new(),
        origin: origin(),
    };
    let flat =
        Flat { in_force, covers: vec![based(is(0))], left_out: vec![row(1, first), row(2, second)], ..asking(3) };
    let ways: Vec<Way> = coverages().into_iter().map(|coverage| way(coverage, nothing())).collect();
    let accepted: Vec<usize> = vehicles(3).iter().map(|it| only_the_truth(&flat, it, &ways)).collect();
    assert!(accepted.iter().all(|it| *it < ways.len()), "{accepted:?}");
}

// An outcome may become others, and where several rules hold the gravest new one stands; of a vehicle left out with an
// outcome too (`program::flat`). Outcomes: pass, tailpipe, reject, fail.
#[rstest]
#[case::the_lesser_first([(0, 1), (0, 2), (3, 0)], None)]
#[case::the_graver_first([(0, 3), (0, 1), (0, 2)], None)]
#[case::of_another_outcome([(1, 3), (0, 1), (2, 0)], None)]
#[case::twice_the_same([(0, 2), (0, 2), (1, 3)], None)]
#[case::of_a_vehicle_left_out([(1, 2), (1, 3), (0, 3)], Some(1))]
#[case::of_a_vehicle_left_out_to_less([(2, 0), (1, 0), (2, 1)], Some(2))]
fn no_claim_about_relabelling_proves_another_verdict(
    #[case] rules: [(usize, usize); 3],
    #[case] left_out: Option<usize>,
) {
    let rule =
        |(place, (from, to)): (usize, (usize, usize))| Becomes { from, to, condition: is(place), basis: Vec::new() };
    let row = LeftOut {
        condition: Condition::always(),
        outcome: left_out,
        why: String::new(),
        basis: Vec::new(),
        origin: origin(),
    };
    let flat = Flat {
        becomes: rules.into_iter().enumerate().map(rule).collect(),
        left_out: left_out.map(|_| row).into_iter().collect(),
        ..asking(3)
    };
    let always = Tested { place: 0, tests: Vec::new() };
    let coverage = match left_out {
        None => Coverage::Covered { block: always, rows: Vec::new() },
        Some(_) => Coverage::LeftOut { block: Some(always.clone()), row: always, graver: Vec::new() },
    };
    let ways: Vec<Way> = relabellings(3).into_iter().map(|becomes| way(coverage.clone(), becomes)).collect();
    vehicles(3).iter().for_each(|snapshot| {
        only_the_truth(&flat, snapshot, &ways);
    });
}

/// A claim that a line bites.
fn bites(line: usize, stands_before: Vec<Unyielding>) -> Live {
    Live { line, clause: format!("line-{line}"), concerns: vec![0], unmet: vec![0], stands_before }
}

/// Every claim about why one of three lines does not bite: that it is met, or of the first that it does not concern the vehicle,
/// or that it gives way to one of the others.
fn blocks(place: usize) -> Vec<Blocked> {
    let own = if place == 0 { By::NotConcerned(vec![0]) } else { By::Met(vec![0]) };
    let aside = |to| By::SetAside { gives_way: tested(0), to: Box::new(bites(to, Vec::new())) };
    let by = std::iter::once(own).chain((0..3).filter(|to| *to != place).map(aside));
    by.map(|by| Blocked { line: place, clause: format!("line-{place}"), by }).collect()
}

// A line is set aside if a line it gives way to is unmet and not itself set aside (`program::flat`). The first line here may give
// way to the second; what is shown of the third says nothing of that.
#[rstest]
#[case::the_graver_gives_way(3, 2)]
#[case::the_lesser_gives_way(2, 3)]
#[case::of_one_outcome(3, 3)]
fn no_claim_about_lines_proves_another_verdict(#[case] first: usize, #[case] second: usize) {
    let mut lines =
        vec![line("line-0", first, Condition::always()), line("line-1", second, is(1)), line("line-2", 1, is(2))];
    lines[0].concerns = is(0);
    lines[0].gives_way = vec![(1, is(3))];
    let flat = Flat { lines, ..asking(4) };
    let unyielding = blocks(1).into_iter().chain(blocks(2)).map(Unyielding::Blocked);
    let unyielding = std::iter::once(Unyielding::NotUnder(vec![0])).chain(unyielding);
    let mut deciding = vec![None];
    deciding.extend((0..3).map(|line| Some(bites(line, Vec::new()))));
    deciding.extend(unyielding.map(|one| Some(bites(0, vec![one]))));
    let one_of = |list: Vec<Blocked>| std::iter::once(None).chain(list.into_iter().map(Some)).collect::<Vec<_>>();
    let covered = Coverage::Covered { block: Tested { place: 0, tests: Vec::new() }, rows: Vec::new() };
    let mut ways = Vec::new();
    for decides in &deciding {
        for first in one_of(blocks(0)) {
            for second in one_of(blocks(1).into_iter().take(1).collect()) {
                for third in one_of(blocks(2).into_iter().take(1).collect()) {
                    let blocked = first.iter().chain(&second).chain(&third).cloned().collect();
                    ways.push(Way { deciding: decides.clone(), blocked, ..way(covered.clone(), nothing()) });
                }
            }
        }
    }
    vehicles(4).iter().for_each(|snapshot| {
        only_the_truth(&flat, snapshot, &ways);
    });
}

/// Each line gives way to the next, and all are unmet: the last stands, the one before it is set aside, and so on. However
/// long the chain, a proof is found.
#[rstest]
fn chains_of_lines_are_proved(#[values(1, 2, 3, 4, 5, 8, 13)] lines: usize) {
    let mut flat = asking(1);
    for place in 0..lines {
        let mut one = line(&format!("line-{place}"), if place == 0 { 3 } else { 2 }, is(0));
        one.gives_way = (place + 1 < lines).then(|| (place + 1, Condition::always())).into_iter().collect();
        flat.lines.push(one);
    }
    let snapshot = vehicles(1).pop().unwrap();
    let proof = certificate(&flat, &snapshot).unwrap().expect("a proof is found");
    assert_eq!(proof.verdict, if lines % 2 == 1 { "fail" } else { "reject" });
    assert_eq!(verify(&proof, &flat, &snapshot), Ok(()));
}

/// Lines that give way in a circle, which the readings of a question part: while it is open the search ends without a proof;
/// reading by reading there is one.
#[test]
fn a_circle_that_readings_part_ends_the_search() {
    let question = |id: &str| FlatQuestion {
        id: id.to_owned(),
        text: String::new(),
        readings: vec!["first".to_owned(), "second".to_owned()],
        taken: None,
    };
    let reading = |reading| Condition::Test(Test::Reading { question: 0, reading });
    let mut flat = Flat { questions: vec![question("one")], ..asking(1) };
    for place in 0..4 {
        let mut one = line(&format!("line-{place}"), 3, is(0));
        let under = if place % 2 == 0 { reading(place / 2) } else { Condition::always() };
        one.gives_way = vec![((place + 1) % 4, under)];
        flat.lines.push(one);
    }
    let snapshot = vehicles(1).pop().unwrap();
    // Some line stands under either reading, so that it fails: proved reading by reading.
    let proof = certificate(&flat, &snapshot).unwrap().expect("a proof is found");
    assert_eq!((proof.verdict.as_str(), proof.ways.len()), ("fail", 2));
}

/// The verdict turns on some of the open questions by the line that brings it, not by its name: each way of reading those is
/// proved, and no other question is read.
#[rstest]
#[case::none(&[])]
#[case::the_first(&[0])]
#[case::the_second(&[1])]
#[case::the_last(&[3])]
#[case::two(&[0, 2])]
#[case::two_others(&[1, 3])]
#[case::three(&[1, 2, 3])]
#[case::all(&[0, 1, 2, 3])]
fn no_more_questions_are_read_than_must_be(#[case] asked: &[usize]) {
    let many = [2, 3, 2, 2];
    let question = |(place, many): (usize, &usize)| FlatQuestion {
        id: format!("question-{place}"),
        text: String::new(),
        readings: (0..*many).map(|reading| format!("reading-{reading}")).collect(),
        taken: None,
    };
    let mut flat = Flat { questions: many.iter().enumerate().map(question).collect(), ..asking(1) };
    // A line for each way of reading the questions that are asked.
    let mut ways: Vec<Vec<Condition<usize>>> = vec![vec![is(0)]];
    for place in asked {
        let read = |reading| Condition::Test(Test::Reading { question: *place, reading });
        let with = |way: &Vec<Condition<usize>>, reading| [way.clone(), vec![read(reading)]].concat();
        ways = ways.iter().flat_map(|way| (0..many[*place]).map(move |reading| with(way, reading))).collect();
    }
    for (place, way) in ways.iter().enumerate() {
        let mut one = line(&format!("line-{place}"), 3, Condition::always());
        one.concerns = Condition::All(way.clone());
        flat.lines.push(one);
    }
    let snapshot = vehicles(1).pop().unwrap();
    let proof = certificate(&flat, &snapshot).unwrap().expect("a proof is found");
    assert_eq!((proof.verdict.as_str(), proof.ways.len()), ("fail", ways.len()));
    let read: BTreeSet<Vec<String>> = proof.ways.iter().map(|way| way.readings.keys().cloned().collect()).collect();
    let named: Vec<String> = asked.iter().map(|place| format!("question-{place}")).collect();
    assert_eq!(read, BTreeSet::from([named]));
    // Without one of the ways, with one of them twice, or with one in place of another, it is none.
    for place in 0..proof.ways.len() {
        let mut fewer = proof.clone();
        let gone = fewer.ways.remove(place);
        assert!(verify(&fewer, &flat, &snapshot).is_err(), "without {gone:?}");
        let mut twice = proof.clone();
        twice.ways.push(gone);
        assert!(verify(&twice, &flat, &snapshot).is_err());
        let mut other = proof.clone();
        other.ways[place] = proof.ways[(place + 1) % proof.ways.len()].clone();
        assert_eq!(verify(&other, &flat, &snapshot).is_err(), proof.ways.len() > 1);
    }
}

/// What a proof rests on is all that its tests ask for: the rest may be forgotten. Where a test is settled by a reading of
/// something else, since both cannot be at once (`model::exclusion`), that reading is kept.
#[rstest]
#[case::as_read(&[(Fact::Ignition, "spark"), (Fact::Connector, "intact")], &["vehicle.ignition"])]
#[case::by_a_monitor_of_spark_engines(&[(Fact::Monitor(Monitor::Catalyst), "complete")], &["monitors.catalyst"])]
#[case::by_the_fuel(&[(Fact::Fuel, "gasoline")], &["vehicle.fuel"])]
#[case::by_nothing(&[(Fact::Connector, "intact")], &[])]
fn a_proof_rests_on_what_settles_its_tests(#[case] read: &[(Fact, &str)], #[case] expected: &[&str]) {
    let spark = Condition::Test(Test::Word {
        fact: FactRef::Known(Fact::Ignition),
        words: Fact::Ignition.word_bit("spark").unwrap(),
    });
    let flat = Flat { lines: vec![line("spark", 3, spark)], ..asking(0) };
    let mut snapshot = Snapshot::default();
    read.iter().for_each(|(fact, word)| snapshot.set_word(*fact, word));
    snapshot.set(Fact::TestDate, Value::Date(flat.test_date));
    let proof = certificate(&flat, &snapshot).unwrap();
    if expected.is_empty() {
        return assert_eq!(proof, None);
    }
    let proof = proof.expect("a proof is found");
    let named: Vec<&str> = proof.rests_on.iter().map(String::as_str).collect();
    assert_eq!((proof.verdict.as_str(), named.as_slice()), ("fail", expected));
    // It is a proof of the part that it rests on too, and none of less.
    snapshot.readings.retain(|fact, _| expected.contains(&key_of(*fact).as_str()));
    assert_eq!(verify(&proof, &flat, &snapshot), Ok(()));
    for place in 0..proof.rests_on.len() {
        let mut less = proof.clone();
        less.rests_on.remove(place);
        assert!(verify(&less, &flat, &snapshot).is_err());
    }
    let mut more = proof.clone();
    more.rests_on.push("codes.stored".to_owned());
    assert!(verify(&more, &flat, &snapshot).is_err(), "what was not read cannot be rested on");
}

/// A test of codes on the vehicle's own list: of a vehicle that is in no row with codes none is on it, whether or not its codes
/// were read, so that its verdict is settled and proved. Where it is in such a row, its codes tell.
#[rstest]
#[case::in_no_row("other", None, Some("pass"))]
#[case::in_a_row_without_codes("bare", None, Some("pass"))]
#[case::in_a_row("listed", None, None)]
#[case::in_a_row_and_read("listed", Some("P0420"), Some("fail"))]
#[case::in_a_row_and_another_code("listed", Some("P0171"), Some("pass"))]
#[case::in_no_row_and_read("other", Some("P0420"), Some("pass"))]
fn codes_that_no_row_lists_for_the_vehicle_need_not_be_read(
    #[case] make: &str,
    #[case] code: Option<&str>,
    #[case] verdict: Option<&str>,
) {
    let row = |make: &str, codes: &[CodeRange]| FlatRow {
        condition: Condition::Test(Test::Text { fact: Fact::Make, among: vec![make.to_owned()], is: true }),
        excused: MonitorSet::EMPTY,
        codes: codes.to_vec(),
    };
    let p0420 = CodeRange { first: 0x0420, last: 0x0420, digits_only: false };
    let table = FlatTable { id: "table".to_owned(), rows: vec![row("listed", &[p0420]), row("bare", &[])] };
    let listed = Condition::Test(Test::CodesOfTable { list: Fact::StoredCodes, how: How::Any, table: 0 });
    let flat = Flat { tables: vec![table], lines: vec![line("codes", 3, listed)], ..asking(0) };
    let mut snapshot = Snapshot::default();
    snapshot.set(Fact::Make, Value::Text(make.to_owned()));
    if let Some(code) = code {
        let codes = [TroubleCode::parse(code).unwrap()].into();
        snapshot.set(Fact::StoredCodes, Value::Codes(CodeList { codes, may_hold_more: false }));
    }
    let found = certificate(&flat, &snapshot).unwrap().map(|proof| proof.verdict);
    assert_eq!(found.as_deref(), verdict);
    // That a vehicle is in a row with codes says nothing of codes that were not read.
    let only = Condition::Test(Test::CodesOfTable { list: Fact::StoredCodes, how: How::Only, table: 0 });
    let flat = Flat { lines: vec![line("codes", 3, only)], ..flat };
    assert_eq!(certificate(&flat, &snapshot).unwrap().is_some(), code.is_some());
}

/// Ways that read different questions are not all ways of reading one of them, though there are as many; and a question that
/// is taken, or that there is not, is not read.
#[test]
fn ways_are_those_of_the_same_open_questions() {
    let question = |id: &str| FlatQuestion {
        id: id.to_owned(),
        text: String::new(),
        readings: vec!["first".to_owned(), "second".to_owned()],
        taken: None,
    };
    let mut flat = Flat { questions: vec![question("one"), question("two")], ..asking(1) };
    for place in 0..2 {
        let mut line = line(&format!("line-{place}"), 3, is(0));
        line.concerns = Condition::Test(Test::Reading { question: place, reading: 0 });
        flat.lines.push(line);
    }
    let snapshot = vehicles(1).pop().unwrap();
    // Read as the second of each it passes: nothing is settled.
    assert_eq!(certificate(&flat, &snapshot).unwrap(), None);
    let covered = Coverage::Covered { block: Tested { place: 0, tests: Vec::new() }, rows: Vec::new() };
    let failing = |line: usize, read: &[(&str, &str)]| Way {
        readings: read.iter().map(|(id, reading)| ((*id).to_owned(), (*reading).to_owned())).collect(),
        deciding: Some(bites(line, Vec::new())),
        ..way(covered.clone(), nothing())
    };
    let claim =
        |ways: Vec<Way>| Certificate { verdict: "fail".to_owned(), rests_on: vec!["declared.fact-0".to_owned()], ways };
    let forged = claim(vec![failing(0, &[("one", "first")]), failing(1, &[("two", "first")])]);
    assert_eq!(verify(&forged, &flat, &snapshot), Err(Refusal::Ways));
    flat.questions[0].taken = Some(0);
    assert_eq!(verify(&claim(vec![failing(0, &[])]), &flat, &snapshot), Ok(()));
    for strange in [[("one", "first"), ("one", "second")], [("three", "first"), ("three", "second")]] {
        let forged = claim(strange.map(|read| failing(0, &[read])).to_vec());
        assert_eq!(verify(&forged, &flat, &snapshot), Err(Refusal::Ways));
    }
    let forged = claim(vec![failing(0, &[("two", "third")]), failing(0, &[("two", "first")])]);
    assert_eq!(verify(&forged, &flat, &snapshot), Err(Refusal::Ways));
    assert_eq!(verify(&claim(Vec::new()), &flat, &snapshot), Err(Refusal::Ways));
}

/// Texts of programs of which each adopts the next, by their names; the last adopts `to`, where that is given.
fn chain(levels: usize, to: Option<&str>) -> BTreeMap<String, String> {
    let one = |place: usize| {
        let own = "source ex \"invented\" memory\nin force from 2002-01-01 per ex\noutcomes pass, fail\n\
                   covers where every vehicle per ex\n";
        let adopts = match (place == levels, to) {
            (false, _) => format!("adopts link-{} as amended\n", place + 1),
            (true, Some(id)) => format!("adopts {id} as amended\n"),
            (true, None) => own.to_owned(),
        };
        let head = format!("program link-{place} \"Link\"\n  authority \"A\"\n  language 2\n  standing checked\n");
        (format!("link-{place}.wherefore"), head + &adopts)
    };
    (0..=levels).map(one).collect()
}

/// Texts make a program as far as adoption may go (`check::limits`), and none where one is missing or leads back.
#[rstest]
#[case::alone(0, None, None)]
#[case::one_level(1, None, None)]
#[case::the_deepest(limits::ADOPTION_DEPTH, None, None)]
#[case::too_deep(limits::ADOPTION_DEPTH + 1, None, Some("has errors"))]
#[case::far_too_deep(40, None, Some("has errors"))]
#[case::to_what_is_not_there(2, Some("elsewhere"), Some("has errors"))]
#[case::back_to_itself(0, Some("link-0"), Some("has errors"))]
#[case::in_a_circle(2, Some("link-0"), Some("has errors"))]
fn texts_make_a_program_as_deep_as_adoption_goes(
    #[case] levels: usize,
    #[case] to: Option<&str>,
    #[case] fault: Option<&str>,
) {
    let texts = chain(levels, to);
    let found = program_of("link-0", &texts);
    match (found, fault) {
        (Ok(program), None) => {
            assert_eq!((program.id.as_str(), program.outcomes.len()), ("link-0", 2));
            // What it adopts, asked for alone, has its ladder too.
            let next = program_of(&format!("link-{levels}"), &texts).unwrap();
            assert_eq!(next.outcomes, program.outcomes);
        }
        (Err(error), Some(fault)) => assert!(error.to_string().contains(fault), "{error}"),
        (found, _) => panic!("{found:?}"),
    }
    assert_eq!(program_of("no-such", &texts).unwrap_err(), TextsError::Missing("no-such".to_owned()));
}
