//! One vehicle for each slip of an engine or of the checker that a change by hand once got past every test: what is only
//! perhaps so is not surely so, a list or a number that the vehicle lacks is not an empty one, a number that was not read
//! is not met, each way of an open question needs its proof. All engines, documents and proofs are asked. Expected by the
//! program's text; the programs are invented.

use crate::bulk::documents::{came, written};
use crate::bulk::{Came, by_engine, by_snapshot};
use rstest::rstest;
use std::collections::BTreeSet;
use wherefore::internals::bulk::{Batch, Codes, Column, Dates, Documents, Engine, Options, Room};
use wherefore::internals::certificate::{By, Certificate, Coverage, Refusal, Unyielding, verify};
use wherefore::internals::check::check;
use wherefore::internals::model::facts::Possible;
use wherefore::internals::model::table::key_of;
use wherefore::internals::model::{CodeList, Date, Fact, Monitor, MonitorSet, Reading, Snapshot, TroubleCode, Value};
use wherefore::internals::program::{FactRef, Flat, Program, Selection, select};
use wherefore::internals::ruling::certificate;
use wherefore::internals::source::Source;
use wherefore::internals::syntax::parse;

const HEAD: &str = "program slips \"Slips, invented\"
  authority \"Nobody\"
  language 1
  standing checked
source text \"t\" memory
in force from 2000-01-01
  per text
outcomes pass, reject, fail
covers where every vehicle
  per text
";
const COUNTS: &str = "counts supported monitors\n  per text\n";
const NONE: &str =
    "limit\n  - every vehicle: none\n  per text\nclause ready on readiness\n  fail where over the limit\n  per text\n";
const NOT_READ: &str = "limit\n  - every vehicle: not read\n  per text\nclause ready on readiness\n  fail where over the limit\n  per text\n";
const DOUBT: &str = "question doubt \"Which?\"
  - reading first \"as written\"
    per text
  - reading second \"as practised\"
    per text
  taken none \"two texts disagree\"
";
const DAY: Date = Date::constant(2026, 11, 25);

fn program(body: &str) -> Program {
    let text = format!("{HEAD}{body}");
    let parsed = parse(&Source::new("slips", &text));
    assert!(parsed.diagnostics.is_empty(), "{:?}\n{text}", parsed.diagnostics);
    let checked = check(&parsed.file, &());
    checked.program.unwrap_or_else(|| panic!("{:?}\n{text}", checked.diagnostics))
}

fn flat(program: &Program) -> Flat {
    select(program, &Selection::on(DAY)).unwrap()
}

fn clause(id: &str, line: &str) -> String {
    format!("clause {id} on other\n  {line}\n  per text\n")
}

/// Every classic monitor of a spark engine complete, but those named.
fn car(incomplete: &[Monitor], unknown: &[Monitor]) -> Snapshot {
    let mut car = Snapshot::default();
    car.set(Fact::TestDate, Value::Date(DAY));
    car.set_word(Fact::Ignition, "spark");
    car.set_word(Fact::Protocol, "classic");
    car.set(Fact::Make, Value::Text("Example".to_owned()));
    for monitor in Monitor::all().filter(|monitor| !unknown.contains(monitor)) {
        let state = match monitor {
            _ if monitor.is_compression_only() || monitor.is_j1939() => "unsupported",
            _ if incomplete.contains(&monitor) => "incomplete",
            _ => "complete",
        };
        car.set_word(Fact::Monitor(monitor), state);
    }
    car
}

fn with(mut car: Snapshot, fact: Fact, value: Value) -> Snapshot {
    car.set(fact, value);
    car
}

fn without(mut car: Snapshot, fact: Fact) -> Snapshot {
    car.readings.insert(fact, Reading::NotOnVehicle);
    car
}

fn codes(texts: &[&str], may_hold_more: bool) -> Value {
    let codes = texts.iter().map(|text| TroubleCode::parse(text).unwrap()).collect();
    Value::Codes(CodeList { codes, may_hold_more })
}

fn ten() -> Vec<Monitor> {
    let classic = Monitor::all().filter(|monitor| !monitor.is_compression_only() && !monitor.is_j1939());
    classic.take(10).collect()
}

/// By one vehicle at a time, columns, and documents; all must say the same.
fn told(program: &Program, car: &Snapshot) -> BTreeSet<String> {
    let flat = flat(program);
    let expected = by_snapshot(&flat, car);
    let meanings: Vec<(Fact, [Possible; 1])> = car
        .readings
        .iter()
        .filter(|(fact, _)| **fact != Fact::TestDate)
        .map(|(fact, reading)| {
            let mut facts = wherefore::internals::model::Facts::unknown();
            facts.learn(*fact, reading);
            (*fact, [facts.get(*fact).clone()])
        })
        .collect();
    let mut batch = Batch::new(1, Dates::One(DAY)).unwrap();
    for (fact, meaning) in &meanings {
        let column = Column::Coded { codes: Codes::U8(&[0]), meaning, known: None };
        batch = batch.with(FactRef::Known(*fact), column).unwrap();
    }
    let engine = Engine::new(program, Options::default()).unwrap();
    assert_eq!(by_engine(&engine.judge(&batch), 0), expected, "{car:?}");
    let documents = Documents::new(Engine::new(program, Options::default()).unwrap());
    assert_eq!(came(&documents, &written(car), &mut Room::default(), &mut 0), expected, "{car:?}");
    let Came::To { possible, .. } = expected else { panic!("{expected:?}") };
    let names: BTreeSet<String> = possible.iter().map(|verdict| verdict.name(&flat).to_owned()).collect();
    if let Some(proof) = certificate(&flat, car).unwrap() {
        assert_eq!(verify(&proof, &flat, car), Ok(()), "{car:?}");
        assert_eq!(names, BTreeSet::from([proof.verdict]), "{car:?}");
    } else {
        assert!(names.len() > 1, "settled without a proof: {names:?} {car:?}");
    }
    names
}

const CATALYST: &[Monitor] = &[Monitor::Catalyst];
const LISTED: &str = "table odd\n  - make is \"Example\" and hybrid: excuses catalyst; codes P0420\n  per text\n";

#[rstest]
#[case::excused_perhaps(COUNTS.to_owned() + "excuses catalyst where hybrid\n  per text\n" + NONE, car(CATALYST, &[]), &["fail", "pass"])]
#[case::excused_perhaps_by_a_table(COUNTS.to_owned() + LISTED + "excuses monitors excused by odd\n  per text\n" + NONE,
    car(CATALYST, &[]), &["fail", "pass"])]
#[case::unsupported_perhaps_as_incomplete(
    DOUBT.to_owned() + COUNTS + "counts monitors that are not continuous, unsupported as incomplete\n  under doubt second\n  per text\n" + NONE,
    with(car(&[], &[]), Fact::Monitor(Monitor::SecondaryAir), Value::Word(0)), &["fail", "pass"])]
#[case::listed_code_of_a_row_that_is_perhaps_its_own(
    LISTED.to_owned() + &clause("listed", "fail where any stored code on the list of odd"),
    with(car(&[], &[]), Fact::StoredCodes, codes(&["P0420"], false)), &["fail", "pass"])]
#[case::no_code_of_a_list_that_is_not_there(clause("none", "fail where no permanent code"),
    without(car(&[], &[]), Fact::PermanentCodes), &["pass"])]
#[case::no_code_of_an_empty_list(clause("none", "fail where no permanent code"),
    with(car(&[], &[]), Fact::PermanentCodes, codes(&[], false)), &["fail"])]
#[case::no_code_of_a_table_of_a_list_that_is_perhaps_not_there(
    LISTED.to_owned() + &clause("none", "fail where no permanent code on the list of odd"),
    hybrid(car(&[], &[]), "no"), &["fail", "pass"])]
#[case::only_codes_of_a_list_that_is_not_there(
    "code group some: P0420\n  per text\n".to_owned() + &clause("only", "fail where only permanent codes among some"),
    without(car(&[], &[]), Fact::PermanentCodes), &["pass"])]
#[case::a_number_that_is_not_there(clause("few", "fail where warm-ups since clearing at most 14"),
    without(car(&[], &[]), Fact::WarmUps), &["pass"])]
#[case::a_list_with_more_to_come(clause("none", "fail where no stored code"),
    with(car(&[], &[]), Fact::StoredCodes, codes(&[], true)), &["fail", "pass"])]
#[case::not_read_and_nothing_incomplete(COUNTS.to_owned() + NOT_READ, car(&[], &[]), &["pass"])]
#[case::not_read_and_one_incomplete(COUNTS.to_owned() + NOT_READ, car(CATALYST, &[]), &["fail", "pass"])]
#[case::not_read_and_one_perhaps(COUNTS.to_owned() + NOT_READ, car(&[], CATALYST), &["fail", "pass"])]
#[case::incomplete_earlier_not_known(clause("again", "fail where any monitor incomplete earlier is incomplete"),
    car(CATALYST, &[]), &["fail", "pass"])]
#[case::incomplete_earlier(clause("again", "fail where any monitor incomplete earlier is incomplete"),
    with(with(car(CATALYST, &[]), Fact::Visit, Value::Word(1)), Fact::EarlierIncomplete,
        Value::Monitors(MonitorSet::EMPTY.with(Monitor::Catalyst))), &["fail"])]
#[case::ten_now_and_nine_earlier(COUNTS.to_owned() + &clause("more", "requires no more counted monitors are incomplete than earlier, or else fail"),
    with(with(car(&ten(), &[]), Fact::Visit, Value::Word(1)), Fact::EarlierIncompleteCount, Value::Number(9)), &["fail"])]
#[case::ten_now_and_ten_earlier(COUNTS.to_owned() + &clause("more", "requires no more counted monitors are incomplete than earlier, or else fail"),
    with(with(car(&ten(), &[]), Fact::Visit, Value::Word(1)), Fact::EarlierIncompleteCount, Value::Number(10)), &["pass"])]
fn what_is_not_sure_is_not_told_as_sure(#[case] body: String, #[case] car: Snapshot, #[case] expected: &[&str]) {
    assert_eq!(told(&program(&body), &car).iter().map(String::as_str).collect::<Vec<_>>(), expected);
}

/// The true proof of one vehicle is none of another, of which what it leans on is less sure.
#[rstest]
#[case::a_list_with_more_to_come(clause("none", "fail where no stored code"),
    with(car(&[], &[]), Fact::StoredCodes, codes(&[], false)), with(car(&[], &[]), Fact::StoredCodes, codes(&[], true)))]
#[case::a_code_that_may_come(clause("any", "fail where any stored code"),
    with(car(&[], &[]), Fact::StoredCodes, codes(&[], false)), with(car(&[], &[]), Fact::StoredCodes, codes(&[], true)))]
#[case::a_list_that_is_not_there(clause("none", "fail where no permanent code"),
    with(car(&[], &[]), Fact::PermanentCodes, codes(&[], false)), without(car(&[], &[]), Fact::PermanentCodes))]
#[case::a_number_that_is_not_there(clause("few", "fail where warm-ups since clearing at most 14"),
    with(car(&[], &[]), Fact::WarmUps, Value::Number(3)), without(car(&[], &[]), Fact::WarmUps))]
#[case::a_limit_that_was_not_read(COUNTS.to_owned() + NOT_READ, car(&[], &[]), car(CATALYST, &[]))]
fn a_proof_of_a_surer_vehicle_is_refused(#[case] body: String, #[case] surer: Snapshot, #[case] other: Snapshot) {
    let flat = flat(&program(&body));
    let proof = certificate(&flat, &surer).unwrap().unwrap();
    assert_eq!(verify(&proof, &flat, &surer), Ok(()));
    assert!(verify(&proof, &flat, &other).is_err(), "{proof:?}");
}

fn lit() -> Snapshot {
    let mut car = car(CATALYST, &[]);
    car.set_word(Fact::LampCommanded, "yes");
    car.set_word(Fact::Connector, "missing");
    car
}

/// An open question of which each reading fails the vehicle by another line: each has its own proof.
#[test]
fn each_way_of_an_open_question_is_proved_once() {
    let body = DOUBT.to_owned()
        + "clause one on lamp\n  fail where lamp commanded on\n  under doubt first\n  per text\n"
        + "clause two on connector\n  fail where connector is missing\n  under doubt second\n  per text\n";
    let flat = flat(&program(&body));
    let proof = certificate(&flat, &lit()).unwrap().unwrap();
    assert_eq!((proof.ways.len(), verify(&proof, &flat, &lit())), (2, Ok(())));
    for (dropped, doubled) in [(0, 1), (1, 0)] {
        let mut one = proof.clone();
        one.ways.remove(dropped);
        assert!(verify(&one, &flat, &lit()).is_err(), "way {dropped} dropped");
        let mut twice = proof.clone();
        twice.ways[dropped] = twice.ways[doubled].clone();
        assert!(verify(&twice, &flat, &lit()).is_err(), "way {doubled} in place of way {dropped}");
        let mut thrice = proof.clone();
        thrice.ways.push(proof.ways[doubled].clone());
        assert!(verify(&thrice, &flat, &lit()).is_err(), "way {doubled} twice");
    }
}

/// A line that gives way to two others: each of them must be shown not to set it aside.
#[test]
fn every_line_that_could_set_the_deciding_one_aside_is_answered() {
    let body = "clause lamp on lamp\n  fail where lamp commanded on\n  gives way to hybrid-one\n  gives way to flashing\n  per text\n"
        .to_owned()
        + "clause hybrid-one on other\n  reject where hybrid\n  per text\n"
        + "clause flashing on other\n  reject where lamp flashing\n  per text\n";
    let flat = flat(&program(&body));
    let mut car = lit();
    car.set_word(Fact::Hybrid, "no");
    car.set_word(Fact::LampFlashing, "no");
    let proof = certificate(&flat, &car).unwrap().unwrap();
    assert_eq!(verify(&proof, &flat, &car), Ok(()));
    let deciding = |proof: &mut Certificate| proof.ways[0].deciding.clone().unwrap();
    assert_eq!(deciding(&mut proof.clone()).stands_before.len(), 2);
    for (left_out, why) in [(0, "the first"), (1, "the second")] {
        let mut changed = proof.clone();
        changed.ways[0].deciding.as_mut().unwrap().stands_before.remove(left_out);
        assert!(verify(&changed, &flat, &car).is_err(), "{why} left out");
    }
    let mut more = proof.clone();
    let again = deciding(&mut more).stands_before[0].clone();
    more.ways[0].deciding.as_mut().unwrap().stands_before.push(again);
    assert!(verify(&more, &flat, &car).is_err(), "one more");
    // The vehicle that flashes is rejected; the proof that it fails answers for the wrong line.
    car.set_word(Fact::LampFlashing, "yes");
    for (place, other) in [(0, 1), (1, 0)] {
        let mut swapped = proof.clone();
        let stands = &mut swapped.ways[0].deciding.as_mut().unwrap().stands_before;
        stands[place] = stands[other].clone();
        assert!(matches!(stands[place], Unyielding::Blocked(_)));
        assert!(verify(&swapped, &flat, &car).is_err(), "answered for another line");
    }
}

/// A graver line that is set aside: by the line that it gives way to, and by no other.
#[test]
fn a_line_is_set_aside_only_by_one_that_it_gives_way_to() {
    let body = "clause lamp on lamp\n  fail where lamp commanded on\n  gives way to flashing\n  per text\n".to_owned()
        + "clause flashing on other\n  reject where lamp flashing\n  per text\n"
        + "clause plug on connector\n  reject where connector is missing\n  per text\n";
    let flat = flat(&program(&body));
    let mut car = lit();
    car.set_word(Fact::LampFlashing, "yes");
    let proof = certificate(&flat, &car).unwrap().unwrap();
    assert_eq!((proof.verdict.as_str(), verify(&proof, &flat, &car)), ("reject", Ok(())));
    let plug = flat.lines.iter().position(|line| line.clause == "plug").unwrap();
    let mut changed = proof.clone();
    let aside = changed.ways[0].blocked.iter_mut().find_map(|blocked| match &mut blocked.by {
        By::SetAside { to, .. } => Some(to),
        _ => None,
    });
    let to = aside.expect("the lamp is set aside");
    assert_ne!(to.line, plug);
    (to.line, to.clause) = (plug, "plug".to_owned());
    // The plug does bite, and the proof may look at it.
    changed.rests_on.push(key_of(Fact::Connector));
    assert!(verify(&changed, &flat, &car).is_err(), "set aside by a line that it does not give way to");
    // Without the flashing nothing sets it aside, whatever the proof says.
    car.set_word(Fact::LampFlashing, "no");
    assert!(verify(&proof, &flat, &car).is_err() && verify(&changed, &flat, &car).is_err());
}

/// What a proof does not rest on is forgotten: without the reading nothing is proved, though the vehicle shows nothing else.
#[rstest]
#[case::a_number_that_every_vehicle_with_it_meets(clause("few", "fail where warm-ups since clearing at least 0"),
    with(car(&[], &[]), Fact::WarmUps, Value::Number(3)), car(&[], &[]))]
#[case::a_row_that_is_perhaps_the_vehicles(LISTED.to_owned() + &clause("listed", "fail where not listed in odd"),
    hybrid(car(&[], &[]), "no"), car(&[], &[]))]
#[case::monitors_that_were_perhaps_incomplete(clause("again", "fail where any monitor incomplete earlier is incomplete"),
    with(with(car(CATALYST, &[]), Fact::Visit, Value::Word(1)), Fact::EarlierIncomplete,
        Value::Monitors(MonitorSet::EMPTY.with(Monitor::Catalyst))), car(CATALYST, &[]))]
fn a_reading_that_is_left_out_proves_nothing(#[case] body: String, #[case] read: Snapshot, #[case] unread: Snapshot) {
    let flat = flat(&program(&body));
    let mut proof = certificate(&flat, &read).unwrap().unwrap();
    assert_eq!((proof.verdict.as_str(), verify(&proof, &flat, &read)), ("fail", Ok(())));
    proof.rests_on.retain(|key| unread.readings.keys().any(|fact| key_of(*fact) == *key));
    for car in [&read, &unread] {
        assert!(verify(&proof, &flat, car).is_err(), "{proof:?}");
    }
}

fn hybrid(mut car: Snapshot, word: &str) -> Snapshot {
    car.set_word(Fact::Hybrid, word);
    car
}

/// Ways that read different questions are not all ways: here the second clause turns on another question than the first, and
/// with both read the second way the vehicle passes.
#[test]
fn ways_of_different_questions_are_not_all_ways() {
    let body = |second: &str| {
        let other = DOUBT.replace("question doubt", "question other");
        let one = "clause one on lamp\n  fail where lamp commanded on\n  under doubt first\n  per text\n";
        let two = format!("clause two on connector\n  fail where connector is missing\n  under {second}\n  per text\n");
        format!("{DOUBT}{other}{one}{two}")
    };
    let proof = certificate(&flat(&program(&body("doubt second"))), &lit()).unwrap().unwrap();
    let flat = flat(&program(&body("other first")));
    assert_eq!(certificate(&flat, &lit()).unwrap(), None, "it is not settled");
    let mut forged = proof.clone();
    let way = forged.ways.iter_mut().find(|way| way.readings["doubt"] == "second").unwrap();
    way.readings = [("other".to_owned(), "first".to_owned())].into();
    assert_eq!(verify(&forged, &flat, &lit()), Err(Refusal::Ways), "{forged:?}");
}

/// A version that is in force is not told away.
#[test]
fn a_version_in_force_is_not_told_away() {
    let flat = flat(&program(&clause("lamp", "fail where lamp commanded on")));
    let mut proof = certificate(&flat, &lit()).unwrap().unwrap();
    proof.verdict = "not-subject".to_owned();
    proof.ways[0].coverage = Coverage::NotInForce;
    proof.ways[0].deciding = None;
    assert!(verify(&proof, &flat, &lit()).is_err());
}

/// A line that gives way under one reading of an open question is not set aside under both.
#[test]
fn a_line_gives_way_only_under_its_reading() {
    let body = |doubt: &str, way: &str| {
        let lamp = format!("clause lamp on lamp\n  fail where lamp commanded on\n{way}  per text\n");
        format!("{doubt}{lamp}clause flashing on other\n  reject where lamp flashing\n  per text\n")
    };
    let mut car = lit();
    car.set_word(Fact::LampFlashing, "yes");
    let always = flat(&program(&body(DOUBT, "  gives way to flashing\n")));
    let proof = certificate(&always, &car).unwrap().unwrap();
    assert_eq!((proof.verdict.as_str(), verify(&proof, &always, &car)), ("reject", Ok(())));
    let doubt = DOUBT.replacen("\"as written\"\n", "\"as written\"\n    lamp gives way to flashing\n", 1);
    let under = flat(&program(&body(&doubt, "")));
    assert_eq!(told(&program(&body(&doubt, "")), &car), BTreeSet::from(["fail", "reject"].map(str::to_owned)));
    assert!(verify(&proof, &under, &car).is_err(), "{proof:?}");
}
