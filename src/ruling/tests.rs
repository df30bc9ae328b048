//! Tests of rulings: margins, what a person reads, what is sufficient, provided, unknown, weak.
#![allow(clippy::unwrap_used, clippy::indexing_slicing, reason = "tests may stop at the first wrong thing")]

use super::*;
use crate::model::{CodeList, Date, Fact, Monitor, MonitorSet, Snapshot, TroubleCode, Unit, Value};
use crate::program::block::{Advice, Allowance, Consequence, ConsequenceKind, Presumed, Standing as FileStanding};
use crate::program::examples::{example, line, origin, word};
use crate::program::flat::{
    Based, CountRule, DueRule, Excuse, FlatExcused, FlatLimitRow, FlatQuestion, FlatRow, FlatTable, Limit, Note,
    Presumption, Silence,
};
use crate::program::{
    Citation, Class, Condition, Currency, FactRef, Flat, InForce, Kind, Program, Seen, Source, Test, Topic, Window,
};
use rstest::rstest;
use std::collections::BTreeSet;

const DAY: Date = Date::constant(2001, 12, 31);

fn source(title: &str, kind: Kind, seen: Seen) -> Source {
    let (id, program) = (title.to_lowercase(), "example".to_owned());
    Source { id, title: title.to_owned(), kind, seen, on: None, currency: Currency::Current, place: None, program }
}

pub(super) fn cited(source: usize, locator: &str, seen: Seen) -> Vec<Citation> {
    vec![Citation { source, locator: locator.to_owned(), seen, window: Window::default() }]
}

/// The whole program: nothing in it but sources and one piece of advice.
pub(super) fn program() -> Program {
    let advice = Advice {
        monitors: [Monitor::Evaporative, Monitor::EgrVvt].into_iter().collect(),
        text: "usually completes after a cold start".to_owned(),
        minutes: Some((10, 30)),
        preconditions: Vec::new(),
        cautions: vec!["Have a passenger watch the reader.".to_owned()],
        condition: Condition::always(),
        basis: cited(1, "", Seen::FromMemory),
        origin: origin(),
    };
    Program {
        id: "example".to_owned(),
        title: "Example program".to_owned(),
        authority: "Example authority".to_owned(),
        standing: FileStanding::Checked,
        language: 1,
        reviewed: None,
        adopted_only: false,
        areas: std::sync::Arc::default(),
        sources: sources(),
        outcomes: example().outcomes,
        facts: Vec::new(),
        questions: Vec::new(),
        options: Vec::new(),
        tables: Vec::new(),
        blocks: Vec::new(),
        ordinary: Snapshot::default(),
        cases: Vec::new(),
        advice: vec![advice],
        acknowledged: Vec::new(),
        adopted: Vec::new(),
    }
}

fn sources() -> Vec<Source> {
    vec![source("1 EX 2.3", Kind::Law, Seen::Read), source("Common practice", Kind::Practice, Seen::FromMemory)]
}

/// Lamp and bulb fail, more than one incomplete monitor is rejected; invented.
pub(super) fn flat() -> Flat {
    let mut flat = example();
    flat.sources = sources();
    flat.covers[0].item =
        Condition::Test(Test::Number { fact: FactRef::Known(Fact::ModelYear), least: Some(1996), most: None });
    flat.covers[0].basis = cited(0, "(a)", Seen::Read);
    flat.counts = vec![CountRule {
        condition: Condition::always(),
        monitors: [Monitor::Catalyst, Monitor::Evaporative, Monitor::EgrVvt].into_iter().collect(),
        unsupported_as_incomplete: false,
        basis: cited(0, "(b)", Seen::Read),
    }];
    let limit = Allowance::AtMost { count: 1, only: None };
    let row = FlatLimitRow {
        condition: Condition::always(),
        limit,
        basis: cited(0, "(c)", Seen::Secondary),
        origin: origin(),
    };
    flat.limits = vec![Limit { id: "standard".to_owned(), rows: vec![row] }];
    let mut lamp = line("lamp", 2, word(Fact::LampCommanded, "yes"));
    lamp.basis = cited(0, "(d)", Seen::Read);
    let mut bulb = line("bulb", 2, word(Fact::LampLitKeyOn, "no"));
    bulb.basis = cited(0, "(e)", Seen::Read);
    let mut readiness = line("readiness", 1, Condition::Test(Test::Limit { limit: 0, within: false }));
    readiness.topic = Topic::Readiness;
    readiness.basis = cited(0, "(f)", Seen::Read);
    flat.lines = vec![lamp, bulb, readiness];
    flat
}

pub(super) fn car() -> Snapshot {
    let mut car = Snapshot::default();
    car.set(Fact::ModelYear, Value::Number(2012));
    car.set(Fact::TestDate, Value::Date(Date::constant(2026, 11, 25)));
    car.set_word(Fact::LampCommanded, "no");
    car.set_word(Fact::LampLitKeyOn, "yes");
    for monitor in [Monitor::Catalyst, Monitor::Evaporative, Monitor::EgrVvt] {
        car.set_word(Fact::Monitor(monitor), "complete");
    }
    car
}

fn keys(facts: &[FactShown]) -> Vec<&str> {
    facts.iter().map(|fact| fact.key.as_str()).collect()
}

/// How far a number is from its limit, in the unit the limit is written in. 200 miles is 321.8688 km (design, section
/// 3): 321 km is 0.8688 km short, which is 0.53984… miles.
#[rstest]
#[case::short(Fact::WarmUps, 12, Some(15), None, "at least 15", "3", false)]
#[case::on_it(Fact::WarmUps, 15, Some(15), None, "at least 15", "0", true)]
#[case::above(Fact::EarlierIncompleteVisits, 3, None, Some(1), "at most 1", "2", false)]
#[case::between(Fact::WarmUps, 20, Some(15), Some(30), "at least 15 and at most 30", "5", true)]
#[case::exactly(Fact::EarlierIncompleteVisits, 2, Some(0), Some(0), "is 0", "2", false)]
#[case::miles_short(
    Fact::DistanceSinceClear,
    321_000_000,
    Some(321_868_800),
    None,
    "at least 200 miles",
    "0.53984729 miles",
    false
)]
#[case::miles_below(
    Fact::DistanceSinceClear,
    322_000_000,
    None,
    Some(321_868_799),
    "below 200 miles",
    "0.08152390 miles",
    false
)]
#[case::own_unit_first(Fact::DistanceSinceClear, 79_000_000, Some(80_000_000), None, "at least 80 km", "1 km", false)]
#[case::above_8500_lb(Fact::GrossWeight, 385_553_514_500, Some(385_553_514_501), None, "above 8500 lb", "0 lb", false)]
#[case::hours(Fact::MinutesSinceClear, 90, Some(120), None, "at least 120 minutes", "30 minutes", false)]
fn margins(
    #[case] fact: Fact,
    #[case] value: i64,
    #[case] least: Option<i64>,
    #[case] most: Option<i64>,
    #[case] limit: &str,
    #[case] distance: &str,
    #[case] holds: bool,
) {
    let mut flat = example();
    let asked = Condition::Test(Test::Number { fact: FactRef::Known(fact), least, most });
    flat.lines = vec![line("number", 2, asked)];
    let mut car = Snapshot::default();
    car.set(fact, Value::Number(value));
    let ruling = judge(&flat, &program(), &car).unwrap();
    let margin = &ruling.trace[0].margins[0];
    let found = (margin.limit.as_str(), margin.distance.as_str(), margin.holds);
    assert_eq!(found, (limit, distance, holds), "{margin:?}");
}

/// A day is as far as it is: 2006-01-01 and 2005-12-30 are two days apart.
#[test]
fn margins_of_dates_are_days() {
    let mut flat = example();
    let least = Some(crate::model::day_number(Date::constant(2006, 1, 1)));
    let asked = Condition::Test(Test::Number { fact: FactRef::Known(Fact::FirstRegistered), least, most: None });
    flat.lines = vec![line("date", 2, asked)];
    let mut car = Snapshot::default();
    car.set(Fact::FirstRegistered, Value::Date(Date::constant(2005, 12, 30)));
    let ruling = judge(&flat, &program(), &car).unwrap();
    let margin = &ruling.trace[0].margins[0];
    let shown = (margin.value.as_str(), margin.limit.as_str(), margin.distance.as_str());
    assert_eq!(shown, ("2005-12-30", "at least 2006-01-01", "2 days"));
    assert_eq!(Unit::Day.scale(), 1440);
}

/// Design, section 6: a pass says that it passes, leans on nothing weak it need not, and has no cautions.
#[test]
fn a_pass() {
    let ruling = judge(&flat(), &program(), &car()).unwrap();
    assert_eq!((ruling.verdict.as_str(), ruling.class, ruling.exact), ("pass", Class::Pass, true));
    assert!(ruling.grounds.is_empty() && ruling.deciding.is_empty() && ruling.weak.is_empty());
    assert!(ruling.unknown.is_empty() && ruling.cautions.is_empty() && ruling.provided.is_none());
    // Two monitors complete are enough to be within the limit of one: the third may be dropped.
    assert_eq!(ruling.sufficient.len(), 5);
    assert!(ruling.trace.iter().all(|line| line.state == "met"));
}

/// Design, section 6: an unmet clause with its message, law, basis, facts and margin; a sufficient set; advice with
/// cautions for the monitors that matter.
#[test]
fn a_rejection() {
    let mut car = car();
    car.set_word(Fact::Monitor(Monitor::Evaporative), "incomplete");
    car.set_word(Fact::Monitor(Monitor::EgrVvt), "incomplete");
    let ruling = judge(&flat(), &program(), &car).unwrap();
    assert_eq!((ruling.verdict.as_str(), ruling.class), ("reject", Class::Reject));
    let ground = &ruling.grounds[0];
    assert_eq!((ground.clause.as_str(), ground.outcome.as_str()), ("readiness", "reject"));
    assert_eq!(ground.law[0].text(), "1 EX 2.3 (f)");
    assert_eq!(keys(&ground.facts), ["monitors.evaporative", "monitors.egr-vvt"]);
    let margin = &ground.margins[0];
    assert_eq!((margin.value.as_str(), margin.distance.as_str()), ("2 (evaporative, egr-vvt)", "1"));
    assert_eq!(ruling.deciding, ["readiness"]);
    let sufficient = keys(&ruling.sufficient);
    let expected = [
        "vehicle.model_year",
        "lamp.commanded",
        "lamp.lit_key_on_engine_off",
        "monitors.evaporative",
        "monitors.egr-vvt",
    ];
    assert_eq!(sufficient, expected);
    assert_eq!(ruling.advice[0].monitors, ["evaporative", "egr-vvt"]);
    assert!(ruling.advice[0].basis.is_weak());
    assert_eq!(ruling.cautions, CAUTIONS);
    // The limit's row was seen in a secondary source only: the ruling leans on it and says so.
    assert_eq!(ruling.weak.len(), 1);
    assert_eq!(ruling.weak[0].part, Part::LimitRow("standard".to_owned()));
}

/// Design, promise 4: a ruling that leans on a weak line says so, and only then: an excuse from memory bears on a vehicle
/// that it can excuse something.
#[rstest]
#[case::not_in_the_table(Some("other"), false, false)]
#[case::in_the_table(Some("example"), false, true)]
#[case::make_not_known(None, false, true)]
#[case::presumed_not_listed(None, true, false)]
fn an_excuse_is_leaned_on_where_it_excuses(#[case] make: Option<&str>, #[case] presumed: bool, #[case] leans: bool) {
    let mut flat = flat();
    let condition = Condition::Test(Test::Text { fact: Fact::Make, among: vec!["example".to_owned()], is: true });
    let row = FlatRow { condition, excused: [Monitor::Catalyst].into_iter().collect(), codes: Vec::new() };
    flat.tables = vec![FlatTable { id: "special".to_owned(), rows: vec![row] }];
    flat.excuses = vec![Excuse {
        condition: Condition::always(),
        which: FlatExcused::Table(0),
        basis: cited(1, "", Seen::FromMemory),
        origin: origin(),
    }];
    if presumed {
        flat.presumptions = vec![Presumption {
            fact: FactRef::Known(Fact::Make),
            value: Presumed::NotListed("special".to_owned()),
            shown: "not listed".to_owned(),
            condition: Condition::always(),
            basis: cited(0, "", Seen::Read),
        }];
    }
    let mut car = car();
    car.set_word(Fact::Monitor(Monitor::Evaporative), "incomplete");
    if let Some(make) = make {
        car.set(Fact::Make, Value::Text(make.to_owned()));
    }
    let ruling = judge(&flat, &program(), &car).unwrap();
    assert_eq!(ruling.weak.iter().any(|weak| weak.part == Part::Excuse), leans, "{:?}", ruling.weak);
}

/// Dropping any fact of the sufficient set leaves more than one verdict possible; the set alone does not.
#[test]
fn a_sufficient_set_is_sufficient_and_least() {
    let mut car = car();
    car.set_word(Fact::LampCommanded, "yes");
    car.set_word(Fact::Monitor(Monitor::Evaporative), "incomplete");
    let ruling = judge(&flat(), &program(), &car).unwrap();
    assert_eq!(keys(&ruling.sufficient), ["vehicle.model_year", "lamp.commanded"]);
    let with = |facts: &[Fact]| {
        let mut part = Snapshot::default();
        for fact in facts {
            part.readings.insert(*fact, car.get(*fact).unwrap().clone());
        }
        judge(&flat(), &program(), &part).unwrap().verdict
    };
    assert_eq!(with(&[Fact::ModelYear, Fact::LampCommanded]), "fail");
    assert_eq!(with(&[Fact::ModelYear]), "undecided");
    assert_eq!(with(&[Fact::LampCommanded]), "undecided");
}

/// Design, section 6: "passes, provided the lamp lights with the key on", while the verdict stays undecided.
#[test]
fn a_pass_provided_that_facts_are_sound() {
    let mut car = car();
    car.readings.remove(&Fact::LampLitKeyOn);
    let ruling = judge(&flat(), &program(), &car).unwrap();
    assert_eq!((ruling.verdict.as_str(), ruling.class), ("undecided", Class::Undecided));
    let provided = ruling.provided.unwrap();
    assert_eq!(provided.verdict.name, "pass");
    assert_eq!(provided.facts.len(), 1);
    assert_eq!(provided.facts[0].phrase, "lamp lit with the key on");
    assert_eq!(ruling.unknown.len(), 1);
    assert_eq!(ruling.unknown[0].key, "lamp.lit_key_on_engine_off");
    assert_eq!(ruling.alternatives, [Alternative { outcome: "fail".to_owned(), clauses: vec!["bulb".to_owned()] }]);
    assert!(ruling.deciding.is_empty() && !ruling.cautions.is_empty());
}

/// The lamp command has no sound value (design, section 6): nothing is provided, and it is what matters.
#[test]
fn the_lamp_command_has_no_sound_value() {
    let mut car = car();
    car.readings.remove(&Fact::LampCommanded);
    let ruling = judge(&flat(), &program(), &car).unwrap();
    assert_eq!((ruling.verdict.as_str(), ruling.provided), ("undecided", None));
    assert_eq!(ruling.unknown.iter().map(|fact| fact.key.as_str()).collect::<Vec<_>>(), ["lamp.commanded"]);
    // With the command on it fails, whatever else is not known: then nothing matters any more.
    car.set_word(Fact::LampCommanded, "yes");
    car.readings.remove(&Fact::LampLitKeyOn);
    assert!(judge(&flat(), &program(), &car).unwrap().unknown.is_empty());
}

/// A program that has ended asks nothing of a vehicle; a file without law for the date says nothing of it, not even that;
/// a vehicle not covered names why.
#[rstest]
#[case::ended(InForce::Ended { last: DAY }, 2012, "not-subject", "ended")]
#[case::before(InForce::NotYet { first: DAY }, 2012, "no-law-in-file", "no-law-in-file")]
#[case::hole(InForce::Hole { last: DAY, next: DAY }, 2012, "no-law-in-file", "no-law-in-file")]
#[case::not_said(InForce::NotSaid, 2012, "no-law-in-file", "no-law-in-file")]
#[case::too_old(InForce::Yes, 1995, "not-subject", "not-covered")]
fn not_subject(#[case] in_force: InForce, #[case] model_year: i64, #[case] verdict: &str, #[case] ground: &str) {
    let flat = Flat { in_force, ..flat() };
    let mut car = car();
    car.set(Fact::ModelYear, Value::Number(model_year));
    let ruling = judge(&flat, &program(), &car).unwrap();
    assert_eq!((ruling.verdict.as_str(), ruling.class.word()), (verdict, verdict));
    assert_eq!(ruling.due.due, Due::NotSaid);
    assert_eq!(ruling.grounds.iter().map(|ground| ground.clause.as_str()).collect::<Vec<_>>(), [ground]);
    assert_eq!(ruling.coverage.state, ground);
    if in_force.is_yes() {
        assert_eq!(ruling.coverage.because, ["model year 1995"]);
        assert_eq!(keys(&ruling.sufficient), ["vehicle.model_year"]);
    }
    assert!(ruling.trace.iter().all(|line| line.state == "not-covered"));
}

/// Design, section 8: readings that contradict each other are an error that names both paths, never an answer.
#[test]
fn a_contradiction_names_both_paths() {
    let mut car = car();
    car.set_word(Fact::Ignition, "compression");
    let message = judge(&flat(), &program(), &car).unwrap_err().to_string();
    assert!(message.contains("vehicle.ignition") && message.contains("monitors.catalyst"), "{message}");
}

/// What was not read is never silently a pass (design, promise 4).
#[test]
fn a_pass_so_far_as_read() {
    let mut flat = flat();
    flat.silences =
        vec![Silence { topic: Topic::PermanentCodes, unread: true, condition: Condition::always(), basis: Vec::new() }];
    assert_eq!(judge(&flat, &program(), &car()).unwrap().so_far_as_read, [Topic::PermanentCodes]);
    let mut lit = car();
    lit.set_word(Fact::LampCommanded, "yes");
    assert!(judge(&flat, &program(), &lit).unwrap().so_far_as_read.is_empty());
}

/// Encodings, section 7, risk 9: a deciding line from memory is named; one that plays no part is not.
#[rstest]
#[case::the_lamp_decides(0, vec![Part::Clause("lamp".to_owned())])]
#[case::the_bulb_plays_no_part(1, Vec::new())]
fn a_weak_line_that_decides_is_named(#[case] tainted: usize, #[case] expected: Vec<Part>) {
    let mut flat = flat();
    flat.lines[tainted].basis = cited(1, "", Seen::FromMemory);
    let mut lit = car();
    lit.set_word(Fact::LampCommanded, "yes");
    let ruling = judge(&flat, &program(), &lit).unwrap();
    assert_eq!(ruling.weak.iter().map(|weak| weak.part.clone()).collect::<Vec<_>>(), expected);
}

/// A question left open that changes the outcome is told with what each reading leads to; one that changes nothing is
/// not.
#[test]
fn an_open_question_that_matters() {
    let mut flat = flat();
    let readings = vec!["strict".to_owned(), "lenient".to_owned()];
    let text = "Which reading of (d)?".to_owned();
    flat.questions = vec![FlatQuestion { id: "doubt".to_owned(), text, readings, taken: None }];
    let strict = Condition::Test(Test::Reading { question: 0, reading: 0 });
    flat.lines[0].concerns = strict;
    assert!(judge(&flat, &program(), &car()).unwrap().questions.is_empty());
    let mut lit = car();
    lit.set_word(Fact::LampCommanded, "yes");
    let ruling = judge(&flat, &program(), &lit).unwrap();
    assert_eq!((ruling.verdict.as_str(), ruling.exact), ("undecided", true));
    let question = &ruling.questions[0];
    assert_eq!((question.id.as_str(), &question.taken), ("doubt", &None));
    let leads: Vec<_> = question.readings.iter().map(|it| (it.id.as_str(), it.possible[0].name.as_str())).collect();
    assert_eq!(leads, [("strict", "fail"), ("lenient", "pass")]);
    assert!(ruling.trace[0].why.contains(&"open question `doubt`".to_owned()));
}

/// A clause whose lines stand under the readings of an open question decides however the question is read (as the lamp
/// clause of the federal model: federal digest, section 10, G4); with two such clauses neither decides in every case.
#[test]
fn one_clause_decides_under_every_reading() {
    let mut flat = flat();
    let readings = vec!["strict".to_owned(), "lenient".to_owned()];
    flat.questions = vec![FlatQuestion { id: "doubt".to_owned(), text: String::new(), readings, taken: None }];
    let under = |reading| Condition::Test(Test::Reading { question: 0, reading });
    let mut second = flat.lines[0].clone();
    (flat.lines[0].concerns, second.concerns) = (under(0), under(1));
    flat.lines.push(second);
    let mut lit = car();
    lit.set_word(Fact::LampCommanded, "yes");
    let ruling = judge(&flat, &program(), &lit).unwrap();
    assert_eq!((ruling.verdict.as_str(), ruling.deciding), ("fail", vec!["lamp".to_owned()]));
    assert!(ruling.alternatives.is_empty());
    flat.lines[3].clause = "other-lamp".to_owned();
    let ruling = judge(&flat, &program(), &lit).unwrap();
    assert_eq!((ruling.verdict.as_str(), ruling.deciding.len()), ("fail", 0));
    assert_eq!(ruling.alternatives[0].clauses, ["lamp", "other-lamp"]);
}

/// Consequences are open, closed or not known, and never change the verdict; notes that could change it are touched;
/// due is apart.
#[test]
fn what_goes_with_a_verdict() {
    let mut flat = flat();
    let consequence = |by: &str, alone| Based {
        item: Consequence {
            kind: ConsequenceKind::Extension,
            after: 1,
            by: Some(by.to_owned()),
            alone,
            condition: Condition::always(),
            text: format!("30 days more by {by}"),
        },
        basis: Vec::new(),
        origin: origin(),
    };
    flat.consequences = vec![consequence("readiness", true), consequence("lamp", false)];
    let note = |turn: &str| Note {
        text: format!("drawn at random from {turn}"),
        concerns: Condition::always(),
        could_turn: vec![turn.to_owned()],
        into: vec!["fail".to_owned()],
        basis: Vec::new(),
    };
    flat.notes = vec![note("pass"), note("reject")];
    let even = Condition::Test(Test::ModelYearIsEven(true));
    let why = "even years".to_owned();
    flat.due = vec![DueRule { condition: even, every: None, why, basis: Vec::new(), origin: origin() }];
    let mut car = car();
    car.set_word(Fact::Monitor(Monitor::Evaporative), "incomplete");
    car.set_word(Fact::Monitor(Monitor::EgrVvt), "incomplete");
    let ruling = judge(&flat, &program(), &car).unwrap();
    assert_eq!(ruling.verdict, "reject");
    let states: Vec<_> = ruling.consequences.iter().map(|it| it.state).collect();
    assert_eq!(states, [Standing::Open, Standing::Closed]);
    assert_eq!(ruling.notes.iter().map(|it| it.text.as_str()).collect::<Vec<_>>(), ["drawn at random from reject"]);
    assert_eq!(ruling.due.due, Due::Yes);
    car.readings.remove(&Fact::LampCommanded);
    let states: Vec<_> = judge(&flat, &program(), &car).unwrap().consequences.iter().map(|it| it.state).collect();
    assert_eq!(states, [Standing::NotKnown, Standing::NotKnown]);
}

/// Values as people read them; absence, partial lists and what is not known are told apart.
#[test]
fn facts_in_words() {
    let flat = example();
    let mut car = Snapshot::default();
    car.set_word(Fact::LampCommanded, "yes");
    car.set(Fact::DistanceSinceClear, Value::Number(80_000_000));
    car.readings.insert(Fact::WarmUps, crate::model::Reading::NotOnVehicle);
    let codes =
        |may_hold_more| Value::Codes(CodeList { codes: BTreeSet::from([TroubleCode::obd(0x0420)]), may_hold_more });
    car.set(Fact::StoredCodes, codes(true));
    car.set(Fact::PendingCodes, codes(false));
    car.set(Fact::PermanentCodes, Value::Codes(CodeList::default()));
    car.set(Fact::EarlierIncomplete, Value::Monitors([Monitor::Catalyst].into_iter().collect::<MonitorSet>()));
    let given = crate::program::Given::of(&flat, &car).unwrap();
    let phrase = |fact| show::fact(&flat, &given, &FactRef::Known(fact)).phrase;
    let expected = [
        (Fact::LampCommanded, "lamp commanded on"),
        (Fact::DistanceSinceClear, "distance since clearing 80 km"),
        (Fact::WarmUps, "warm-ups since clearing not on this vehicle"),
        (Fact::StoredCodes, "stored codes P0420, perhaps others"),
        (Fact::PendingCodes, "pending codes P0420"),
        (Fact::PermanentCodes, "no permanent code"),
        (Fact::EarlierIncomplete, "incomplete earlier: catalyst"),
        (Fact::Fuel, "fuel not known"),
    ];
    for (fact, text) in expected {
        assert_eq!(phrase(fact), text);
    }
    // The exclusions rule out compression ignition once a catalyst monitor is supported.
    car.set_word(Fact::Monitor(Monitor::Catalyst), "complete");
    let given = crate::program::Given::of(&flat, &car).unwrap();
    assert_eq!(show::fact(&flat, &given, &FactRef::Known(Fact::Ignition)).value, "spark");
}
