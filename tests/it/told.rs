//! What a ruling tells besides the verdict: that a file holds no law, what was not read, the weakest source, a lamp that is
//! on, monitors left out of the count, the vehicle and its readiness in a line. The program is invented; each expected value
//! is worked out by hand from its text beside it.

use crate::check::read;
use crate::every;
use proptest::prelude::*;
use rstest::rstest;
use std::collections::BTreeSet;
use std::sync::LazyLock;
use wherefore::internals::analysis::compare;
use wherefore::internals::diagram::exact;
use wherefore::internals::evaluate::{Walk, verdict};
use wherefore::internals::model::{
    CodeList, Date, Fact, FactType, Monitor, MonitorSet, Snapshot, TroubleCode, Unit, Value, spec,
};
use wherefore::internals::program::unread::{moot, unread_alone};
use wherefore::internals::program::{Class, Given, Program, Selection, Topic, Verdict, select};
use wherefore::internals::report::{table, text};
use wherefore::internals::ruling::{Due, Part, Ruling, judge};
use wherefore::internals::wording::words;

pub const TEXT: &str = r#"program told "Told"
  authority "A"
  language 1
  standing checked
source law "1 EX 2" law, read 2026-11-25
source page "page on readiness" guidance, secondary
source memory "recollection" memory
in force from 2002-01-01 through 2019-12-31
  per law "(a)"
outcomes pass, idle (other-test), reject, fail
covers where model year 1996 or later
  per law "(b)"
leaves out where class is bus: idle "buses idle"
  per law "(c)"
due where model year is even
  per law "(d)"
counts supported monitors
  per law "(e)"
excuses each monitor incomplete earlier where visit is retest
  per law "(e)(2)", inferred
limit
  - every vehicle: at most 1
  per page "table"
clause readiness on readiness
  reject where over the limit
  per law "(f)"
clause codes on stored-codes
  fail where any stored code
  per law "(g)"
clause sent on other
  idle where hybrid
  per law "(h)"
silent on lamp
  per memory
unread on connector, permanent-codes
  per law "(i)"
"#;

fn program() -> Program {
    let (_, checked) = read("told", TEXT, &());
    let messages: Vec<_> = checked.diagnostics.iter().map(|found| found.message.clone()).collect();
    checked.program.unwrap_or_else(|| panic!("{messages:?}"))
}

fn day(text: &str) -> Date {
    text.parse().unwrap()
}

/// A sound car of 2011 on a first visit, looked at and read; permanent codes were not read.
fn car() -> Snapshot {
    let mut car = Snapshot::default();
    car.set(Fact::ModelYear, Value::Number(2011));
    car.set(Fact::Make, Value::Text("Example".to_owned()));
    car.set(Fact::Model, Value::Text("Wagon".to_owned()));
    car.set(Fact::GrossWeight, Value::Number(Unit::Pound.to_base(4400).unwrap()));
    let facts = [
        (Fact::Fuel, "gasoline"),
        (Fact::Ignition, "spark"),
        (Fact::Class, "light-duty"),
        (Fact::Hybrid, "no"),
        (Fact::Visit, "initial"),
        (Fact::Connector, "intact"),
        (Fact::Communication, "established"),
        (Fact::LampCommanded, "no"),
        (Fact::LampLitRunning, "no"),
        (Fact::LampFlashing, "no"),
    ];
    facts.into_iter().for_each(|(fact, word)| car.set_word(fact, word));
    for list in [Fact::StoredCodes, Fact::PendingCodes] {
        car.set(list, Value::Codes(CodeList::default()));
    }
    for monitor in Monitor::all() {
        let has = [Monitor::Catalyst, Monitor::Evaporative, Monitor::EgrVvt].contains(&monitor);
        car.set_word(Fact::Monitor(monitor), if has { "complete" } else { "unsupported" });
    }
    car
}

fn incomplete(mut car: Snapshot, monitors: &[Monitor]) -> Snapshot {
    monitors.iter().for_each(|monitor| car.set_word(Fact::Monitor(*monitor), "incomplete"));
    car
}

fn with(mut car: Snapshot, fact: Fact, word: &str) -> Snapshot {
    car.set_word(fact, word);
    car
}

fn on(program: &Program, car: &Snapshot, date: &str) -> Ruling {
    let mut car = car.clone();
    car.set(Fact::TestDate, Value::Date(day(date)));
    let flat = select(program, &Selection::on(day(date))).unwrap();
    judge(&flat, program, &car).unwrap()
}

/// The ruling as text, in one line.
fn unwrapped(ruling: &Ruling) -> String {
    text::text(ruling, text::Detail::Short).split_whitespace().collect::<Vec<_>>().join(" ")
}

fn ruled(car: &Snapshot) -> Ruling {
    on(&program(), car, "2015-06-01")
}

// In force 2002-01-01 through 2019-12-31, cited: before, nothing is known; after, the program has ended.
#[rstest]
#[case::before("2001-12-31", "no-law-in-file", "told: No law in this file for 2001-12-31.")]
#[case::after("2020-01-01", "not-subject", "told: Not subject to this program. The program ended on 2019-12-31.")]
fn a_file_without_law_for_the_date_says_so(#[case] date: &str, #[case] verdict: &str, #[case] first: &str) {
    let ruling = on(&program(), &car(), date);
    assert_eq!((ruling.verdict.as_str(), ruling.class.word()), (verdict, verdict));
    assert_eq!(ruling.due.due, Due::NotSaid);
    let told = text::text(&ruling, text::Detail::Short);
    assert_eq!(told.lines().next(), Some(first));
    // What ended it, or says when it begins, is cited.
    assert!(told.contains("law     1 EX 2 (a) [law, read]"), "{told}");
    assert_eq!(table::table([(&ruling, None)]).lines().nth(1).unwrap().split_whitespace().nth(1), Some(verdict));
}

// The program has ended on the one date and not begun on the other: that is not the same, though no vehicle is judged.
#[test]
fn a_comparison_tells_an_end_from_no_law() {
    let flat = |date: &str| select(&program(), &Selection::on(day(date))).unwrap();
    let found = compare(&flat("2001-12-31"), &flat("2020-01-01")).unwrap();
    let changes: Vec<_> = found.changes.iter().map(|it| (it.from.as_str(), it.to.as_str())).collect();
    assert_eq!(changes, [("no-law-in-file", "not-subject")]);
    assert!(compare(&flat("2001-12-31"), &flat("2001-06-01")).unwrap().is_equal());
}

// (a) to (i): the connector is intact, so that what was not read of connectors is moot; permanent codes are not.
#[rstest]
#[case::pass(car(), "pass", &[Topic::PermanentCodes])]
#[case::reject(incomplete(car(), &[Monitor::Catalyst, Monitor::EgrVvt]), "reject", &[Topic::PermanentCodes])]
#[case::other_test(with(car(), Fact::Hybrid, "yes"), "idle", &[Topic::PermanentCodes])]
#[case::connector(with(car(), Fact::Connector, "tampered"), "pass", &[Topic::Connector, Topic::PermanentCodes])]
#[case::left_out(with(car(), Fact::Class, "bus"), "idle", &[])]
fn what_was_not_read_is_told_whatever_the_outcome(
    #[case] car: Snapshot,
    #[case] verdict: &str,
    #[case] expected: &[Topic],
) {
    let ruling = ruled(&car);
    assert_eq!((ruling.verdict.as_str(), ruling.so_far_as_read.as_slice()), (verdict, expected));
    let told = unwrapped(&ruling);
    assert_eq!(told.contains("still stand in the way"), !expected.is_empty(), "{told}");
}

#[test]
fn what_was_not_read_is_not_told_of_the_gravest_outcome_nor_where_all_is_moot() {
    let mut failing = car();
    failing.set(
        Fact::StoredCodes,
        Value::Codes(CodeList { codes: [TroubleCode::parse("P0420").unwrap()].into(), may_hold_more: false }),
    );
    assert_eq!(ruled(&failing).verdict, "fail");
    assert!(ruled(&failing).so_far_as_read.is_empty());
    let mut read = car();
    read.set(Fact::PermanentCodes, Value::Codes(CodeList::default()));
    assert!(ruled(&read).so_far_as_read.is_empty());
}

// No incomplete monitor: only dates, coverage and count are leaned on, all law that was read. One incomplete: the number too
// (guidance, secondary). The lamp lit: that there is no rule on it too (memory); before, that was moot.
#[test]
fn the_weakest_source_is_the_weakest_of_all() {
    let weakest = |car: &Snapshot| ruled(car).weakest.unwrap().words();
    assert_eq!(weakest(&car()), "law, read");
    let one = incomplete(car(), &[Monitor::Catalyst]);
    assert_eq!(weakest(&one), "guidance, secondary");
    let lit = with(one, Fact::LampLitRunning, "yes");
    assert_eq!(weakest(&lit), "memory, from memory");
    let ruling = ruled(&lit);
    let parts: Vec<&Part> = ruling.weak.iter().map(|lean| &lean.part).collect();
    assert_eq!(parts, [&Part::LimitRow("standard".to_owned()), &Part::Silence(Topic::Lamp)]);
    let told = text::text(&ruling, text::Detail::Short);
    assert!(told.contains("Weakest point: no rule found on the malfunction lamp [recollection, no source]."), "{told}");
    let row = table::table([(&ruling, None)]);
    assert!(row.lines().nth(1).unwrap().ends_with("recollection, no source"), "{row}");
}

// The program has no rule on the lamp (memory), so that each of these passes; 40 CFR 86.1806-05(d)(1) on what flashing means.
#[rstest]
#[case::commanded(Fact::LampCommanded, Some("commands its malfunction lamp on"))]
#[case::lit(Fact::LampLitRunning, Some("is lit with the engine running"))]
#[case::flashing(Fact::LampFlashing, Some("can ruin the catalyst (40 CFR 86.1806-05(d)(1))"))]
fn a_lamp_that_is_on_is_never_met_with_silence(#[case] fact: Fact, #[case] says: Option<&str>) {
    let mut car = with(car(), fact, "yes");
    if fact == Fact::LampFlashing {
        car = with(car, Fact::LampLitRunning, "yes");
    }
    let ruling = ruled(&car);
    assert_eq!(ruling.verdict, "pass");
    let lamp = ruling.lamp.as_ref().unwrap();
    assert!(says.is_some_and(|says| lamp.caution.contains(says)), "{}", lamp.caution);
    assert!(lamp.says.unwrap().contains("no rule on the lamp"));
    assert_eq!(ruling.cautions, [lamp.caution]);
    assert!(ruling.weak.iter().any(|lean| lean.part == Part::Silence(Topic::Lamp)));
    let told = text::text(&ruling, text::Detail::Short);
    assert_eq!(told.matches("Caution:").count(), 1, "{told}");
}

const BOTH: [Monitor; 2] = [Monitor::Catalyst, Monitor::EgrVvt];

// Two monitors are incomplete. Where both were on the earlier test neither counts (inferred), and without that both would;
// where neither was, nothing is excused; where one was, one counts, which is within the limit, two would not be.
#[rstest]
#[case::both(&BOTH, "pass", true)]
#[case::one(&[Monitor::Catalyst], "pass", true)]
#[case::neither(&[], "reject", false)]
fn an_excuse_that_carries_the_outcome_is_named(
    #[case] earlier: &[Monitor],
    #[case] verdict: &str,
    #[case] excused: bool,
) {
    let mut car = with(incomplete(car(), &BOTH), Fact::Visit, "retest");
    let set: MonitorSet = earlier.iter().copied().collect();
    car.set(Fact::EarlierIncomplete, Value::Monitors(set));
    let ruling = ruled(&car);
    assert_eq!(ruling.verdict, verdict);
    assert_eq!(ruling.excused.as_ref().is_some_and(|shown| shown.carries), excused);
    assert_eq!(ruling.weak.iter().any(|lean| lean.part == Part::Excuse), excused);
    let told = unwrapped(&ruling);
    assert_eq!(told.contains("Counted, they would lead to another outcome"), excused, "{told}");
}

// At most 1: none, one and two incomplete.
#[rstest]
#[case::none(&[], Some("Readiness: 0 monitors incomplete, 1 allowed."))]
#[case::one(&[Monitor::Evaporative], Some("Readiness: 1 monitor incomplete (evaporative), 1 allowed; with one more it is turned away (rejected)."))]
#[case::two(&[Monitor::Evaporative, Monitor::Catalyst], None)]
fn readiness_is_told_in_a_line(#[case] monitors: &[Monitor], #[case] line: Option<&str>) {
    let ruling = ruled(&incomplete(car(), monitors));
    assert_eq!(words::readiness_line(&ruling).as_deref(), line);
    let told = text::text(&ruling, text::Detail::Short);
    assert_eq!(told.contains("2 incomplete (catalyst, evaporative); 1 allowed; 1 too many"), line.is_none(), "{told}");
    assert!(told.contains("\n2011 Example Wagon, gasoline, 4,400 lb\n"), "{told}");
}

// A bus is sent on, and due for that; 2010 is an even model year.
#[rstest]
#[case::covered(2010, "light-duty", Due::Yes)]
#[case::sent_on(2010, "bus", Due::Yes)]
#[case::odd(2011, "light-duty", Due::No)]
#[case::too_old(1990, "light-duty", Due::NotSaid)]
fn what_no_test_is_asked_of_is_not_due(#[case] year: i64, #[case] class: &str, #[case] due: Due) {
    let mut car = with(car(), Fact::Class, class);
    car.set(Fact::ModelYear, Value::Number(year));
    assert_eq!(ruled(&car).due.due, due);
}

/// Every topic of which something is moot names facts that exist with words that they have.
#[test]
fn what_is_moot_is_moot_of_a_sound_car_alone() {
    let flat = select(&program(), &Selection::on(day("2015-06-01"))).unwrap();
    let mut sound = car();
    sound.set_word(Fact::LampLitKeyOn, "yes");
    sound.set_word(Fact::VinInData, "yes");
    sound.set_word(Fact::VinMatches, "yes");
    sound.set(Fact::PermanentCodes, Value::Codes(CodeList::default()));
    let (sound, blank) = (Given::of(&flat, &sound).unwrap(), Given::of(&flat, &Snapshot::default()).unwrap());
    for (topic, word) in Topic::ALL {
        let never = matches!(topic, Topic::SinceClearing | Topic::Other);
        let truth = |given: &Given| Walk::new(&flat, given, &[]).truth(&moot(topic));
        assert_eq!(truth(&sound).is_true(), !never, "{word}");
        assert!(!truth(&blank).is_true(), "{word}: nothing is known");
    }
}

// Covered from 1996 on; buses are sent on, farm vehicles are not subject. Nothing of connectors and permanent codes was read.
#[rstest]
#[case::not_known_whether_it_bears(car(), &[Verdict::Outcome(0), Verdict::Outcome(1)])]
#[case::it_bears(with(car(), Fact::Connector, "missing"), &[Verdict::Outcome(1)])]
#[case::all_is_moot(no_permanent_code(car()), &[Verdict::Outcome(0)])]
#[case::sent_on(with(car(), Fact::Class, "bus"), &[Verdict::NotSubject])]
#[case::sent_on_though_it_would_bear(with(with(car(), Fact::Class, "bus"), Fact::Connector, "missing"), &[Verdict::NotSubject])]
#[case::not_subject(with(car(), Fact::Class, "farm"), &[Verdict::NotSubject])]
fn an_unread_text_bears_on_nobody_who_is_left_out(#[case] car: Snapshot, #[case] expected: &[Verdict]) {
    let farm = "leaves out where class is farm: not-subject \"farm\"\n  per law \"(c)\"\ndue where";
    let (_, checked) = read("told", &TEXT.replace("due where", farm), &());
    let alone = unread_alone(&checked.program.unwrap()).unwrap();
    let flat = select(&alone, &Selection::on(day("2015-06-01"))).unwrap();
    let given = Given::of(&flat, &car).unwrap();
    assert_eq!(exact::possible(&flat, &given).unwrap(), expected.iter().copied().collect());
    // Where nothing was left unread, there is no such program.
    let (_, checked) = read("told", &TEXT.replace("unread on", "silent on"), &());
    assert_eq!(unread_alone(&checked.program.unwrap()), None);
}

fn no_permanent_code(mut car: Snapshot) -> Snapshot {
    car.set(Fact::PermanentCodes, Value::Codes(CodeList::default()));
    car
}

static PROGRAMS: LazyLock<Vec<(Program, Program)>> = LazyLock::new(|| {
    let programs = every::entries().iter().filter_map(|entry| entry.program.clone());
    programs.filter_map(|program| Some(((*program).clone(), unread_alone(&program)?))).collect()
});

fn any_vehicle() -> impl Strategy<Value = Snapshot> {
    let picks = prop::collection::vec((any::<bool>(), any::<u8>()), 80);
    (picks, 1990i64..2027).prop_map(|(picks, year)| {
        let mut car = Snapshot::default();
        car.set(Fact::ModelYear, Value::Number(year));
        let facts = wherefore::internals::model::table::all_facts();
        for (fact, (is_known, pick)) in facts.zip(picks) {
            let words = fact.words();
            if is_known && !words.is_empty() {
                car.set_word(fact, words[usize::from(pick) % words.len()]);
            } else if is_known && spec(fact).kind == FactType::Codes {
                car.set(fact, Value::Codes(CodeList::default()));
            }
        }
        car
    })
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(400))]

    /// What audits count by, a program of the unread topics alone, says of every vehicle what its ruling says.
    #[test]
    fn unread_topics_alone_agree_with_the_ruling(mut car in any_vehicle(), place in 0usize..1000, year in 2005i16..2027) {
        let (program, alone) = &PROGRAMS[place % PROGRAMS.len()];
        let date = Date::new(year, 3, 1).unwrap();
        car.set(Fact::TestDate, Value::Date(date));
        let flat = select(program, &Selection::on(date)).unwrap();
        let unread = select(alone, &Selection::on(date)).unwrap();
        let Ok(ruling) = judge(&flat, program, &car) else { return Ok(()) };
        let given = Given::of(&unread, &car).unwrap();
        let last = flat.outcomes.len() - 1;
        let open = ruling.possible.iter().any(|it| match it.verdict {
            Verdict::NotSubject => false,
            Verdict::Outcome(at) => at < last && it.class != Class::Fail,
        });
        let expected = open && verdict(&unread, &given).contains(Verdict::Outcome(1))
            && ruling.coverage.state != "left-out";
        if ruling.coverage.state == "left-out" {
            let alone = exact::possible(&unread, &given).unwrap();
            prop_assert_eq!(alone, BTreeSet::from([Verdict::NotSubject]), "{} on {}", program.id, date);
        }
        prop_assert_eq!(!ruling.so_far_as_read.is_empty(), expected, "{} on {}: {:?}", program.id, date, ruling.so_far_as_read);
    }
}
