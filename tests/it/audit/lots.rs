//! One lot of records, worked on by itself: each outcome told once, each reason once, examples up to their number, and what
//! stands so far as texts were read. Invented programs; expected values follow from `grammar/language.md`.

use rstest::rstest;
use wherefore::internals::audit::mapping::read;
use wherefore::internals::audit::{Done, Fields, Judging, LISTED, Tally, Worker, json};
use wherefore::internals::bulk::{Engine, Options};
use wherefore::internals::program::Program;
use wherefore::internals::program::unread::unread_alone;
use wherefore::internals::{check, source::Source, syntax};

const MAPPING: &str = "format = \"wherefore-mapping/1\"\n[columns]\nid = {holds = \"record-id\"}\nday = \"visit.date\"\n\
    connector = \"connector\"\nlamp = \"lamp.commanded\"\nresult = {holds = \"recorded-result\", classes = {P = \"pass\", \
    F = \"fail\"}}\n";

/// A lamp and a connector under a ladder, with more behind them.
fn program(ladder: &str, more: &str) -> Program {
    let text = format!(
        "program zz \"Invented\"\n  authority \"Example authority\"\n  language 2\n  standing checked\n\
         source r1 \"1 EX\" law, read 2026-11-25\nin force from 2020-01-01\n  per r1\noutcomes {ladder}\n\
         covers where every vehicle\n  per r1\n\
         clause plug on connector\n  sent where connector is missing\n  \"No connector.\"\n  per r1\n\
         clause light on lamp\n  fail where lamp commanded on\n  \"The lamp is commanded on.\"\n  per r1\n{more}"
    );
    let parsed = syntax::parse(&Source::new("zz", &text));
    assert!(parsed.diagnostics.is_empty(), "{:#?}", parsed.diagnostics);
    let checked = check::check(&parsed.file, &());
    checked.program.unwrap_or_else(|| panic!("{:#?}", checked.diagnostics))
}

/// What comes of some lines, and the tally.
fn worked(program: &Program, lines: &str) -> (Done, Tally) {
    let mapping = read(MAPPING).unwrap();
    let (keys, places) = json::Keys::of(&mapping);
    let made = json::flat(lines.as_bytes(), &keys);
    let mut lot = Fields::new(&mapping).read(&made.table, &places);
    json::set_aside(&mut lot, made.faults);
    let engine = |program: &Program| Engine::new(program, Options::default()).unwrap();
    let unread = unread_alone(program).map(|unread| engine(&unread));
    let id = program.id.clone();
    let judging = Judging { id, engine: engine(program), open: None, against: None, unread, announced: Vec::new() };
    let mut worker = Worker::default();
    let len = lot.store.len;
    let done = worker.work(&[judging], &mut lot, true);
    assert_eq!(done.adds_up(len), Ok(()));
    let [tally] = <[Tally; 1]>::try_from(worker.tallies()).unwrap();
    (done, tally)
}

fn record(day: &str, connector: &str, lamp: &str, result: &str) -> String {
    format!(r#"{{"id": "a", "day": "{day}", "connector": "{connector}", "lamp": "{lamp}", "result": "{result}"}}"#)
        + "\n"
}

const LADDER: &str = "pass, sent (reject), fail";

/// Passes and was recorded so; passes and was not; is sent away and was not.
fn three() -> [String; 3] {
    [("intact", "no", "P"), ("intact", "no", "F"), ("missing", "no", "P")]
        .map(|(connector, lamp, result)| record("2026-11-25", connector, lamp, result))
}

/// However many records have an outcome, the lot tells it once, and each record has the place of its own.
#[rstest]
#[case::one_after_the_other(|at: usize| at % 3)]
#[case::in_runs(|at: usize| at / 100)]
fn an_outcome_is_told_once(#[case] kind: fn(usize) -> usize) {
    let records = three();
    let lines: String = (0..300).map(|at| records[kind(at)].as_str()).collect();
    let (done, tally) = worked(&program(LADDER, ""), &lines);
    assert_eq!((done.outcomes.len(), done.judged, tally.judged), (3, 300, 300));
    assert_eq!(tally.said.values().copied().collect::<Vec<_>>(), [100, 100, 100]);
    for (at, place) in done.places.iter().enumerate() {
        let outcome = &done.outcomes[usize::try_from(*place).unwrap()];
        assert_eq!(outcome.said.verdict, ["pass", "pass", "sent"][kind(at)], "record {at}");
        assert_eq!(outcome.standing.differs(), [false, true, true][kind(at)], "record {at}");
    }
}

/// Of each kind of difference as many records are named as a summary lists, the first ones, and no more.
#[test]
fn examples_of_a_difference_have_a_number() {
    let records = three();
    let most = LISTED;
    let lines: String = records.iter().map(|record| record.repeat(most + 50)).collect();
    let (done, _) = worked(&program(LADDER, ""), &lines);
    let rows: Vec<usize> = done.examples.iter().map(|(row, _)| *row).collect();
    let of_kind = |kind: usize| (most + 50) * kind..(most + 50) * kind + most;
    assert_eq!(rows, of_kind(1).chain(of_kind(2)).collect::<Vec<_>>());
}

/// A reason why a record is set aside is told once, however often the record gives it; two reasons are told both.
#[rstest]
#[case::a_key_twice(r#""lamp": "no", "lamp": "no""#, &["lamp: is a key that the object has twice"])]
#[case::a_key_four_times(r#""lamp": "no", "lamp": "no", "lamp": "yes", "lamp": "no""#, &["lamp: is a key that the object has twice"])]
#[case::two_keys(r#""lamp": "no", "lamp": "no", "connector": "intact", "connector": "intact""#,
    &["connector: is a key that the object has twice", "lamp: is a key that the object has twice"])]
fn a_reason_is_told_once(#[case] keys: &str, #[case] expected: &[&str]) {
    let lines = format!("{{\"day\": \"2026-11-25\", {keys}}}\n{}", three()[0]);
    let (done, _) = worked(&program(LADDER, ""), &lines);
    let told: Vec<String> = done.aside.iter().map(|aside| format!("{}: {}", aside.column, aside.reason)).collect();
    assert_eq!(told, expected);
    assert_eq!((done.set_aside, done.judged), (1, 1));
    assert!(done.aside.iter().all(|aside| aside.row == 0));
}

/// A text that was not seen may make an outcome graver, unless it is the gravest of the ladder, or a failure (contributors'
/// guide, "No outcome hides what was not read"); where the readings make the topic moot it may not either. Every vehicle of a
/// topic of since-clearing may be concerned.
#[rstest]
#[case::passes(LADDER, "since-clearing", ("intact", "no"), true)]
#[case::between(LADDER, "since-clearing", ("missing", "no"), true)]
#[case::fails(LADDER, "since-clearing", ("intact", "yes"), false)]
#[case::the_gravest_is_no_failure("pass, fail, sent (other-test)", "since-clearing", ("missing", "no"), false)]
#[case::before_one_that_is_none("pass, fail, sent (other-test)", "since-clearing", ("intact", "no"), true)]
#[case::moot(LADDER, "connector", ("intact", "no"), false)]
#[case::not_moot(LADDER, "connector", ("inaccessible", "no"), true)]
fn an_outcome_may_stand_so_far_as_texts_were_read(
    #[case] ladder: &str,
    #[case] topic: &str,
    #[case] readings: (&str, &str),
    #[case] is_open: bool,
) {
    let program = program(ladder, &format!("no rule applied on {topic}, text not seen\n  per r1\n"));
    let line = record("2026-11-25", readings.0, readings.1, "P");
    let (done, tally) = worked(&program, &line.repeat(3));
    assert_eq!((tally.judged, tally.so_far_as_read), (3, if is_open { 3 } else { 0 }));
    assert_eq!(done.unread, [is_open; 3]);
}

/// A record of a program that is judged by is its own; of another, or of none, the record is set aside with the reason, and once:
/// of a record that is set aside already the program is not looked at.
#[test]
fn a_record_of_no_program_here_is_set_aside() {
    let mapping = read(&format!("{MAPPING}program = {{holds = \"program\"}}\n")).unwrap();
    let (keys, places) = json::Keys::of(&mapping);
    let record = |day: &str, program: &str| format!("{{\"day\": \"{day}\", \"program\": \"{program}\"}}\n");
    let lines = [
        record("2026-11-25", "larkspur"),
        record("2026-11-25", "larkspurr"),
        record("2026-11-25", "motor-pool"),
        record("2026-11-25", "aster"),
        "{\"day\": \"2026-11-25\"}\n".to_owned(),
        record("yesterday", "motor-pool"),
    ];
    let made = json::flat(lines.concat().as_bytes(), &keys);
    let mut lot = Fields::new(&mapping).read(&made.table, &places);
    let program = program(LADDER, "");
    let judging = |id: &str| Judging {
        id: id.to_owned(),
        engine: Engine::new(&program, Options::default()).unwrap(),
        open: None,
        against: None,
        unread: None,
        announced: Vec::new(),
    };
    let mut worker = Worker::default();
    let done = worker.work(&[judging("larkspur"), judging("aster")], &mut lot, true);
    assert_eq!(done.adds_up(6), Ok(()));
    let told: Vec<(usize, &str, &str)> =
        done.aside.iter().map(|aside| (aside.row, aside.value.as_str(), aside.reason.as_str())).collect();
    let expected = [
        (1, "larkspurr", "there is no program of this id; did you mean `larkspur`?"),
        (2, "motor-pool", "there is no program of this id"),
        (4, "", "the program is not known"),
    ];
    assert_eq!(told.get(..3), Some(expected.as_slice()), "{told:?}");
    let others: Vec<(usize, &str)> = told.iter().skip(3).map(|(row, value, _)| (*row, *value)).collect();
    assert_eq!(others, [(5, "yesterday")]);
    let judged: Vec<u64> = worker.tallies().iter().map(|tally| tally.judged).collect();
    assert_eq!((done.set_aside, judged), (4, vec![1, 1]));
}
