//! Parts of rulings that a person reads beside the verdict: cautions, margins, the vehicle in a line, what a headline claims of
//! a vehicle that nobody connected a reader to; and rulings for a table of many programs. Programs are invented; expected
//! values are worked out by hand from their texts.

use crate::agree;
use crate::bulk::records::{Dice, Records, Vocabulary, in_terms_of};
use crate::bulk::{days, flat_on};
use crate::check;
use rstest::rstest;
use wherefore::internals::analysis::next::{Action, End};
use wherefore::internals::model::{Date, Fact, Monitor, Observer, Snapshot, Unit, Value};
use wherefore::internals::program::{Class, Flat, Program, Selection, select};
use wherefore::internals::ruling::{CAUTIONS, HeadlineKind, Ruling, identity, judge, judge_briefly, prospect};

const HEAD: &str = "program example \"Example\"\n  authority \"A\"\n  language 2\n  standing checked\n\
     source ex \"1 EX 2\" law, read 2026-11-25\nin force from 2002-01-01 per ex\noutcomes pass, fail\n\
     covers where model year 1996 or later per ex\ncounts supported monitors among catalyst, evaporative per ex\n";

fn program(body: &str) -> Program {
    check::program("example", &format!("{HEAD}{body}"))
}

/// The same that turns away whoever is over its limit.
fn turning_away(body: &str) -> Program {
    let text = format!("{HEAD}{body}{OVER_IT}");
    check::program("example", &text.replace("outcomes pass, fail", "outcomes pass, reject, fail"))
}

fn day() -> Date {
    Date::constant(2026, 11, 25)
}

fn on_the_day(program: &Program) -> Flat {
    select(program, &Selection::on(day())).unwrap()
}

/// A car of 2011 of which every fact that the programs here ask is known, in good order.
fn car() -> Snapshot {
    let mut car = Snapshot::default();
    car.set(Fact::TestDate, Value::Date(day()));
    car.set(Fact::ModelYear, Value::Number(2011));
    car.set_word(Fact::Connector, "intact");
    car.set_word(Fact::LampCommanded, "no");
    for monitor in Monitor::all() {
        let has = [Monitor::Catalyst, Monitor::Evaporative].contains(&monitor);
        car.set_word(Fact::Monitor(monitor), if has { "complete" } else { "unsupported" });
    }
    car
}

fn without(mut car: Snapshot, fact: Fact) -> Snapshot {
    car.readings.remove(&fact);
    car
}

fn with(mut car: Snapshot, fact: Fact, word: &str) -> Snapshot {
    car.set_word(fact, word);
    car
}

const CATALYST: Fact = Fact::Monitor(Monitor::Catalyst);
const EVAPORATIVE: Fact = Fact::Monitor(Monitor::Evaporative);

fn both_incomplete(car: Snapshot) -> Snapshot {
    with(with(car, CATALYST, "incomplete"), EVAPORATIVE, "incomplete")
}

const RULES: &str = "limit\n  - every vehicle: at most 1\n  per ex\n\
     clause connector on connector\n  fail where connector is missing or tampered\n  \"Connector.\"\n  per ex\n\
     clause lamp on lamp\n  fail where lamp commanded on\n  \"Lamp.\"\n  per ex\n\
     clause readiness on readiness\n  fail where over the limit\n  \"Monitors.\"\n  per ex\n\
     source pr \"practice\" practice\nadvice on catalyst\n  \"steady driving\"\n  per pr\n";

/// Who has an engine to come near is warned of it: where there is something to do at the vehicle, or to be read or looked at.
/// Where nothing but papers is to be looked up, the last caution alone is said, which is about the advice itself.
#[rstest]
#[case::a_pass(car(), 0)]
#[case::a_look_is_missing(without(car(), Fact::Connector), 5)]
#[case::a_reading_is_missing(without(car(), Fact::LampCommanded), 5)]
#[case::papers_are_missing(without(car(), Fact::ModelYear), 1)]
#[case::papers_and_a_look(without(without(car(), Fact::ModelYear), Fact::Connector), 5)]
#[case::papers_and_something_to_drive(both_incomplete(without(car(), Fact::ModelYear)), 5)]
#[case::a_failure(with(car(), Fact::Connector, "missing"), 5)]
fn who_comes_near_an_engine_is_warned(#[case] car: Snapshot, #[case] cautions: usize) {
    let program = program(RULES);
    let ruling = judge(&on_the_day(&program), &program, &car).unwrap();
    assert_eq!(ruling.cautions, CAUTIONS[CAUTIONS.len() - cautions..], "{:?}", ruling.unknown);
    let papers_alone = ruling.unknown.iter().all(|one| one.observer == Observer::Papers);
    assert_eq!(cautions == 1, papers_alone && ruling.class == Class::Undecided && ruling.advice.is_empty());
}

/// The margins of the one line of a program.
fn margins(condition: &str, limit: &str, car: &Snapshot) -> Vec<(String, String, String, bool)> {
    let body = format!(
        "limit\n  - every vehicle: {limit}\n  per ex\nlimit other\n  - every vehicle: none\n  per ex\n\
         clause one on readiness\n  fail where {condition}\n  \"No.\"\n  per ex\n"
    );
    let program = program(&body);
    let ruling = judge(&on_the_day(&program), &program, car).unwrap();
    let margins = ruling.trace[0].margins.iter();
    margins.map(|it| (it.value.clone(), it.limit.clone(), it.distance.clone(), it.holds)).collect()
}

/// How far a count is from its limit is told where the count is known; where a monitor that counts is not known, nothing is.
/// Evaporative is incomplete; of earlier tests one monitor was.
#[rstest]
#[case::at_most("at most 1 counted monitor is incomplete", "none",
    ("1 (evaporative)", "at most 1", "0", true), ("2 (catalyst, evaporative)", "at most 1", "1", false))]
#[case::exactly("exactly 2 counted monitors are incomplete", "none",
    ("1 (evaporative)", "is 2", "1", false), ("2 (catalyst, evaporative)", "is 2", "0", true))]
#[case::complete("at least 1 counted monitor is supported and complete", "none",
    ("1 (catalyst)", "at least 1", "0", true), ("0", "at least 1", "1", false))]
#[case::over_a_limit("over the limit", "at most 1",
    ("1 (evaporative)", "at most 1", "0", true), ("2 (catalyst, evaporative)", "at most 1", "1", false))]
#[case::within_a_limit("within the limit", "none",
    ("1 (evaporative)", "at most 0", "1", false), ("2 (catalyst, evaporative)", "at most 0", "2", false))]
#[case::a_floor("over the limit", "at least 1 complete",
    ("1 (catalyst)", "at least 1", "0", true), ("0", "at least 1", "1", false))]
#[case::than_earlier("no more counted monitors are incomplete than earlier", "none",
    ("1 (evaporative)", "at most 1", "0", true), ("2 (catalyst, evaporative)", "at most 1", "1", false))]
fn a_count_is_told_where_it_is_known(
    #[case] condition: &str,
    #[case] limit: &str,
    #[case] complete: (&str, &str, &str, bool),
    #[case] incomplete: (&str, &str, &str, bool),
) {
    let mut car = with(with(car(), EVAPORATIVE, "incomplete"), Fact::Visit, "retest");
    car.set(Fact::EarlierIncompleteCount, Value::Number(1));
    for (state, (value, limit_told, distance, holds)) in [("complete", complete), ("incomplete", incomplete)] {
        let expected = (value.to_owned(), limit_told.to_owned(), distance.to_owned(), holds);
        assert_eq!(margins(condition, limit, &with(car.clone(), CATALYST, state)), [expected], "{state}");
    }
    assert_eq!(margins(condition, limit, &without(car.clone(), CATALYST)), [], "catalyst is not known");
    // A monitor that does not count may be unknown.
    let uncounted = without(with(car, CATALYST, "complete"), Fact::Monitor(Monitor::EgrVvt));
    assert_eq!(margins(condition, limit, &uncounted).len(), 1);
}

/// Of a limit that names the monitors which may be incomplete two numbers are told, or none.
#[test]
fn a_limit_on_which_monitors_is_told_in_two_numbers() {
    let limit = "at most 1, only evaporative";
    let told = |car: &Snapshot| {
        let found = margins("over the limit", limit, car);
        found.into_iter().map(|(value, _, _, holds)| (value, holds)).collect::<Vec<_>>()
    };
    let of = |value: &str, holds| (value.to_owned(), holds);
    let evaporative = with(car(), EVAPORATIVE, "incomplete");
    assert_eq!(told(&evaporative), [of("1 (evaporative)", true), of("0", true)]);
    assert_eq!(told(&with(car(), CATALYST, "incomplete")), [of("1 (catalyst)", true), of("1 (catalyst)", false)]);
    assert_eq!(told(&without(evaporative, CATALYST)), []);
    // Over the limit by the catalyst, whatever the other is: how many there are is not known.
    assert_eq!(told(&without(with(car(), CATALYST, "incomplete"), EVAPORATIVE)), []);
}

/// The rating in a line has its thousands parted by commas, as people write numbers in the United States.
#[rstest]
#[case::hundreds(Unit::Pound, 900, "900 lb")]
#[case::just_below(Unit::Pound, 999, "999 lb")]
#[case::a_thousand(Unit::Pound, 1_000, "1,000 lb")]
#[case::thousands(Unit::Pound, 4_400, "4,400 lb")]
#[case::ten_thousands(Unit::Pound, 14_000, "14,000 lb")]
#[case::hundred_thousands(Unit::Pound, 123_456, "123,456 lb")]
#[case::one_digit(Unit::Pound, 7, "7 lb")]
#[case::kilograms(Unit::Kilogram, 3_856, "3,856 kg")]
#[case::few_kilograms(Unit::Kilogram, 907, "907 kg")]
fn a_rating_in_a_line(#[case] unit: Unit, #[case] weight: i64, #[case] expected: &str) {
    let mut car = Snapshot::default();
    assert_eq!(identity(&car), None);
    car.set(Fact::GrossWeight, Value::Number(unit.to_base(weight).unwrap()));
    assert_eq!(identity(&car).as_deref(), Some(expected));
    car.set(Fact::Make, Value::Text("Example".to_owned()));
    assert_eq!(identity(&car), Some(format!("Example, {expected}")));
}

const READINESS: &str = "limit\n  - every vehicle: none\n  per ex\n\
     clause readiness on readiness\n  fail where over the limit\n  \"Monitors.\"\n  per ex\n";
const WARM_UPS: &str = "clause cleared on since-clearing\n  fail where warm-ups since clearing below 15\n  \"Cleared lately.\"\n  per ex\n";

/// *Read first* says that the vehicle passes once every monitor of it is complete (`HeadlineKind`): of a vehicle whose monitors
/// nobody read, and only where nothing else has to be done.
#[rstest]
#[case::nothing_but_monitors(READINESS.to_owned(), Snapshot::default(), HeadlineKind::ReadFirst)]
#[case::warm_ups_beside(format!("{READINESS}{WARM_UPS}"), Snapshot::default(), HeadlineKind::After)]
#[case::warm_ups_alone(WARM_UPS.to_owned(), Snapshot::default(), HeadlineKind::After)]
#[case::monitors_that_were_read(READINESS.to_owned(), both_incomplete(car()), HeadlineKind::After)]
#[case::some_that_were_read(READINESS.to_owned(), without(car(), EVAPORATIVE), HeadlineKind::After)]
fn reading_comes_first_where_nothing_else_is_to_be_done(
    #[case] body: String,
    #[case] mut car: Snapshot,
    #[case] expected: HeadlineKind,
) {
    let program = program(&body);
    let flat = on_the_day(&program);
    car.set(Fact::TestDate, Value::Date(day()));
    car.set(Fact::ModelYear, Value::Number(2011));
    car.set_word(Fact::Fuel, "gasoline");
    let ruling = judge(&flat, &program, &car).unwrap();
    let found = prospect(&flat, &program, &car, &ruling, Class::Pass).unwrap().unwrap();
    let End::Plans(plans) = &found.next.branches[0].end else { panic!("{:?}", found.next.branches) };
    let others = plans[0].steps.iter().filter(|step| !matches!(step, Action::DriveUntilComplete(_))).count();
    assert_eq!((found.kind, others > 0), (expected, body.contains("warm-ups")), "{plans:?}");
}

/// A ruling for a table of many programs is the whole ruling without the sufficient facts and the unknown ones that matter
/// (`judge_briefly`). Cautions go by what is not known, and of an undecided vehicle no presumption is said to carry it.
#[test]
fn a_brief_ruling_is_the_whole_one_but_for_what_is_left_out() {
    let (mut tried, mut undecided, mut left_out) = (0, 0, 0);
    for seed in 0..10 {
        let Ok((program, text)) = agree::program(seed) else { continue };
        let mut dice = Dice(seed + 77);
        let date = days(&program, &mut dice).into_iter().next_back().unwrap();
        let flat = flat_on(&program, date);
        let vocabulary = Vocabulary::of(std::slice::from_ref(&flat), vec![date], &mut dice);
        for snapshot in Records::roll(&vocabulary, 4, 20, &mut dice).snapshots {
            let snapshot = in_terms_of(&flat, &snapshot);
            let Ok(whole) = judge(&flat, &program, &snapshot) else { continue };
            let brief = judge_briefly(&flat, &program, &snapshot).unwrap();
            assert!(brief.unknown.is_empty() && brief.sufficient.is_empty(), "{snapshot:?}\n{text}");
            let is_undecided = whole.possible.len() > 1;
            left_out += usize::from(!whole.unknown.is_empty());
            let mut expected = Ruling { unknown: Vec::new(), sufficient: Vec::new(), ..whole };
            if is_undecided {
                expected.cautions.clone_from(&brief.cautions);
                expected.presumptions.iter_mut().for_each(|one| one.turns = false);
            }
            assert_eq!(brief, expected, "{text}");
            tried += 1;
            undecided += usize::from(is_undecided);
        }
    }
    assert!(tried > 10 && undecided > 3 && left_out > 3, "{tried} tried, {undecided} undecided, {left_out} left out");
}

const AT_MOST_ONE: &str = "limit\n  - every vehicle: at most 1\n  per ex\n";
const OVER_IT: &str = "clause readiness on readiness\n  reject where over the limit\n  \"Monitors.\"\n  per ex\n";
const LAMP: &str = "clause lamp on lamp\n  reject where lamp commanded on\n  \"Lamp.\"\n  per ex\n";
const GRAVER: &str = "clause graver on readiness\n  fail where catalyst is incomplete\n  \"Catalyst.\"\n  per ex\n";

/// Another limit with a clause of its own.
fn second(allowance: &str, concerns: &str) -> String {
    format!(
        "limit second\n  - every vehicle: {allowance}\n  per ex\n\
         clause second on readiness-at-retest\n{concerns}  reject where over the limit second\n  \"More.\"\n  per ex\n"
    )
}

fn limit(rows: &str) -> String {
    format!("limit\n{rows}  per ex\n")
}

fn one_incomplete() -> Snapshot {
    with(with(car(), EVAPORATIVE, "incomplete"), Fact::Fuel, "gasoline")
}

/// A car that does not answer, of which only the papers are known.
fn silent() -> Snapshot {
    let mut car = with(car(), Fact::Communication, "none");
    car.readings.retain(|fact, _| !matches!(fact, Fact::Monitor(_) | Fact::LampCommanded));
    car
}

/// How a vehicle stands to the limit is told in a line where one number is the limit that surely concerns it, and the monitors
/// that count are known; what one more would bring, where it is on the limit, and where that is the same whichever it is
/// (`ruling::ReadinessShown`).
#[rstest]
#[case::on_the_limit(AT_MOST_ONE.to_owned(), one_incomplete(), Some((1, 1, Some("reject"))))]
#[case::within_it(AT_MOST_ONE.to_owned(), car(), Some((0, 1, None)))]
#[case::over_it(AT_MOST_ONE.to_owned(), both_incomplete(car()), Some((2, 1, None)))]
#[case::within_it_and_one_more_is_graver(format!("{AT_MOST_ONE}{GRAVER}"), with(car(), EVAPORATIVE, "unsupported"),
    Some((0, 1, None)))]
#[case::over_it_and_one_more_is_graver(format!("{}{GRAVER}", limit("  - every vehicle: none\n")),
    with(car(), EVAPORATIVE, "incomplete"), Some((1, 0, None)))]
#[case::a_monitor_is_not_known(AT_MOST_ONE.to_owned(), without(one_incomplete(), CATALYST), None)]
#[case::another_is_not_known(AT_MOST_ONE.to_owned(), without(one_incomplete(), Fact::Monitor(Monitor::EgrVvt)),
    Some((1, 1, Some("reject"))))]
#[case::it_does_not_answer(AT_MOST_ONE.to_owned(), silent(), None)]
#[case::two_limits_alike(format!("{AT_MOST_ONE}{}", second("at most 1", "")), one_incomplete(), Some((1, 1, Some("reject"))))]
#[case::two_limits_that_differ(format!("{AT_MOST_ONE}{}", second("at most 2", "")), one_incomplete(), None)]
#[case::one_is_of_others(format!("{AT_MOST_ONE}{}", second("at most 2", "  concerns fuel is diesel\n")), one_incomplete(),
    Some((1, 1, Some("reject"))))]
#[case::one_may_be_of_others(format!("{AT_MOST_ONE}{}", second("at most 2", "  concerns hybrid\n")), one_incomplete(),
    Some((1, 1, Some("reject"))))]
#[case::by_a_row_that_is_known(limit("  - fuel is gasoline: at most 1\n  - fuel is not gasoline: none\n"), one_incomplete(),
    Some((1, 1, Some("reject"))))]
#[case::by_rows_that_may_be(limit("  - hybrid: at most 1\n  - not hybrid: none\n"), one_incomplete(), None)]
#[case::a_floor(limit("  - every vehicle: at least 1 complete\n"), one_incomplete(), None)]
#[case::only_some_monitors(limit("  - every vehicle: at most 1, only evaporative\n"), one_incomplete(), None)]
#[case::whichever_it_is(format!("{}{GRAVER}", limit("  - every vehicle: none\n")), car(), Some((0, 0, None)))]
#[case::rejected_already(format!("{AT_MOST_ONE}{LAMP}"), with(one_incomplete(), Fact::LampCommanded, "yes"), Some((1, 1, None)))]
fn how_it_stands_to_the_limit(
    #[case] body: String,
    #[case] car: Snapshot,
    #[case] expected: Option<(usize, i64, Option<&str>)>,
) {
    let program = turning_away(&body);
    let ruling = judge(&on_the_day(&program), &program, &car).unwrap();
    let found = ruling.readiness.as_ref();
    let found = found.map(|shown| (shown.incomplete.len(), shown.allowed, shown.beyond.as_deref()));
    assert_eq!(found, expected, "{:?}", ruling.readiness);
}

fn enough(body: &str, car: &Snapshot) -> Vec<String> {
    let program = program(body);
    let ruling = judge(&on_the_day(&program), &program, car).unwrap();
    assert_eq!(ruling.verdict, "fail");
    ruling.sufficient.into_iter().map(|fact| fact.key).collect()
}

/// What is presumed rests on what the condition of the presumption turns on; where the fact itself is known, it does not.
#[rstest]
#[case::presumed(None, &["lamp.commanded", "vehicle.class", "vehicle.model_year", "visit.purpose"])]
#[case::known(Some("light-duty"), &["lamp.commanded", "vehicle.class", "vehicle.model_year"])]
fn a_presumption_rests_on_its_condition(#[case] class: Option<&str>, #[case] expected: &[&str]) {
    let body = "presumes class is light-duty where not known and purpose is renewal per ex\n\
                clause lamp on lamp\n  fail where class is light-duty and lamp commanded on\n  \"The lamp is on.\"\n  per ex\n";
    let mut car = with(with(car(), Fact::LampCommanded, "yes"), Fact::Purpose, "renewal");
    if let Some(class) = class {
        car.set_word(Fact::Class, class);
    }
    let mut found = enough(body, &car);
    found.sort();
    assert_eq!(found, expected);
}

/// Of two facts that are each enough the one is told that the clause asks which stands, though another clause, which does not
/// stand, asks the other: a hybrid is not electric, so that either fact shows that a car is not the other kind (list of exclusions).
/// A lamp that flashes is not seen dark by the same list, and that alone shows nothing of a clause that asks whether it was lit.
#[rstest]
#[case::fuel("fuel is not electric", "hybrid", [(Fact::Fuel, "gasoline"), (Fact::Hybrid, "yes")], "vehicle.fuel")]
#[case::hybrid("not hybrid", "fuel is electric", [(Fact::Fuel, "electric"), (Fact::Hybrid, "no")], "vehicle.hybrid")]
#[case::lit("lamp lit with the engine running", "lamp flashing",
    [(Fact::LampLitRunning, "yes"), (Fact::LampFlashing, "yes")], "lamp.lit_engine_running")]
#[case::flashing("lamp flashing", "lamp lit with the engine running",
    [(Fact::LampLitRunning, "yes"), (Fact::LampFlashing, "yes")], "lamp.flashing")]
fn what_the_clause_asks_is_told(
    #[case] condition: &str,
    #[case] other: &str,
    #[case] facts: [(Fact, &str); 2],
    #[case] key: &str,
) {
    let one = format!("clause asks on other\n  fail where {condition}\n  \"It is so.\"\n  per ex\n");
    let both = format!(
        "{one}clause other on other\n  fail where {other} and connector is missing or tampered\n  \"Both.\"\n  per ex\n"
    );
    // No monitor is read: an electric vehicle has none.
    let mut car = car();
    car.readings.retain(|fact, _| !matches!(fact, Fact::Monitor(_)));
    let car = facts.into_iter().fold(car, |car, (fact, word)| with(car, fact, word));
    for body in [one, both] {
        let mut found = enough(&body, &car);
        found.sort();
        assert_eq!(found, [key, "vehicle.model_year"], "{body}");
    }
}

const EXTRA: &str = "fact extra: yes or no\n  asks \"Is it of the extra kind?\"\n  observed by papers\n";
const EACH: &str = "clause each on readiness\n  - fail where any of\n    - catalyst is incomplete\n    \
     - evaporative is incomplete\n  \"Each.\"\n  per ex\n";

/// Of a count over its limit *perhaps fewer* are allowed where another limit may concern the vehicle and the plan completes more
/// than this one asks for; of a plan that completes more for another reason, or no more, nothing of the kind is said.
#[rstest]
#[case::no_other(String::new(), false)]
#[case::more_for_another_reason(EACH.to_owned(), false)]
#[case::another_that_asks_no_more(format!("{EXTRA}{}", second("at most 1", "  concerns extra is yes\n")), false)]
#[case::another_that_asks_for_more(format!("{EXTRA}{}", second("none", "  concerns extra is yes\n")), true)]
fn perhaps_fewer_are_allowed(#[case] other: String, #[case] fewer: bool) {
    let program = turning_away(&format!("{other}{AT_MOST_ONE}"));
    let (flat, car) = (on_the_day(&program), both_incomplete(car()));
    let ruling = judge(&flat, &program, &car).unwrap();
    let found = prospect(&flat, &program, &car, &ruling, Class::Pass).unwrap().unwrap();
    assert_eq!(found.branches.len(), 1, "{:?}", found.next.branches);
    let against: Vec<&str> = found.branches[0].against.iter().map(|one| one.text.as_str()).collect();
    let counted = "2 monitors incomplete (catalyst, evaporative); 1 is allowed";
    let expected = if fewer { format!("{counted}, perhaps fewer") } else { counted.to_owned() };
    assert!(against.contains(&expected.as_str()), "{against:?}");
}
