//! Vectors: every shipped program's set catches every change of one place that changes a verdict, by the interpreter
//! alone; pairs differ in their condition and in the verdict; hand-made programs with results that can be worked out.
//! What a set must hold: issue 3, item 8; the measure (mutants, decided exactly): language anchors, idea 9.

use super::diagram::build::{flat, line, number, word};
use rstest::rstest;
use std::collections::BTreeSet;
use wherefore::catalog::{BuiltIn, Catalog, Files};
use wherefore::diagram::cases::mutants::mutants;
use wherefore::diagram::cases::{Change, Vectors, vectors};
use wherefore::evaluate::{Truth, Walk};
use wherefore::model::{Fact, Reading, Value};
use wherefore::program::{Condition, Flat, Given, Selection, Topic, Verdict, epochs, select};
use wherefore::report::vectors::{draw, splitmix64};
use wherefore::ruling::vectors::{as_read, score};

/// Each built-in program in its newest epoch.
fn newest() -> Vec<Flat> {
    let catalog = Catalog::new(vec![&BuiltIn as &dyn Files]);
    let entries = catalog.shelf(0).into_iter().map(|entry| entry.unwrap());
    let programs: Vec<_> = entries.filter(|entry| !entry.is_advice).filter_map(|entry| entry.program.clone()).collect();
    programs
        .iter()
        .filter_map(|program| {
            let flats =
                epochs(program).into_iter().rev().map(|epoch| select(program, &Selection::on(epoch.from)).unwrap());
            flats.into_iter().find(|flat| flat.in_force)
        })
        .collect()
}

fn assert_good(flat: &Flat, set: &Vectors) {
    let score = score(flat, set).unwrap();
    let id = &flat.program;
    assert!(score.missed.is_empty(), "{id}: {} of {} missed: {:#?}", score.missed.len(), score.effective, score.missed);
    assert!(score.disputed.is_empty(), "{id}: the interpreter says otherwise of {:?}", score.disputed);
    assert_eq!(score.effective + score.equivalent, mutants(flat).len(), "{id}: each mutant is one or the other");
    for pair in &set.pairs {
        let [holds, fails] = [pair.holds, pair.fails].map(|at| &set.vectors[at]);
        assert_ne!(holds.expected, fails.expected, "{id}: {}", pair.condition);
        for (vector, truth) in [(holds, Truth::True), (fails, Truth::False)] {
            let read = as_read(flat, &vector.example.readings);
            let given = Given::of(&read, &vector.example.snapshot).unwrap();
            let found = Walk::new(&read, &given, &[]).truth(&Condition::Test(pair.test.clone()));
            assert!(found == truth || found == Truth::Unknown, "{id}: {}: {found:?}", pair.condition);
        }
    }
    let reached: BTreeSet<Verdict> = set.vectors.iter().flat_map(|it| it.expected.clone()).collect();
    assert!(reached.len() > 1, "{id}: {reached:?}");
}

// Issue 3, item 8: for every shipped program the set catches all first-order mutants that are not equivalent. In four
// parts, so that they run side by side.
#[rstest]
#[case::first(0)]
#[case::second(1)]
#[case::third(2)]
#[case::fourth(3)]
fn every_shipped_program_has_vectors_that_catch_every_change(#[case] part: usize) {
    let flats = newest();
    assert!(flats.len() >= 40, "{}", flats.len());
    for flat in flats.iter().skip(part).step_by(4) {
        let set = vectors(flat).unwrap();
        assert!(!set.effective.is_empty() && !set.vectors.is_empty(), "{}", flat.program);
        assert_good(flat, &set);
    }
}

fn lamp_on() -> Condition<usize> {
    word(Fact::LampCommanded, &["yes"])
}

// Worked by hand: `fail where lamp commanded on and warm-ups at most 14`. Three vehicles show both conditions: lamp on
// and 14 fails; lamp off and 14, lamp on and 15 pass. The mutants at 13 and 15 need 14 and 15, which are these.
#[test]
fn two_conditions_need_three_vehicles_at_the_threshold() {
    let mut flat = flat();
    let condition = Condition::All(vec![lamp_on(), number(Fact::WarmUps, None, Some(14))]);
    flat.lines.push(line("lamp", Topic::Lamp, 2, condition));
    let set = vectors(&flat).unwrap();
    assert_good(&flat, &set);
    assert_eq!(set.pairs.len(), 2, "{:?}", set.pairs);
    assert_eq!((set.without_effect.len(), set.one_sided.len()), (0, 0));
    let warm_ups: BTreeSet<i64> = set
        .vectors
        .iter()
        .filter_map(|it| match it.example.snapshot.get(Fact::WarmUps) {
            Some(Reading::Known(Value::Number(number))) => Some(*number),
            _ => None,
        })
        .collect();
    assert!(warm_ups.contains(&14) && warm_ups.contains(&15), "{warm_ups:?}");
    assert!(set.vectors.len() <= 5, "{}", set.vectors.len());
}

// A condition that another of the same clause implies changes nothing, and is said to.
#[test]
fn a_condition_without_effect_is_proved_so() {
    let mut flat = flat();
    let condition =
        Condition::All(vec![number(Fact::WarmUps, None, Some(5)), number(Fact::WarmUps, None, Some(20)), lamp_on()]);
    flat.lines.push(line("lamp", Topic::Lamp, 2, condition));
    let set = vectors(&flat).unwrap();
    assert_good(&flat, &set);
    // Leaving out "at most 20" is equivalent; negating it makes the clause dead, which is not.
    assert!(set.equivalent.iter().any(|what| what.ends_with("part 2 left out")), "{:?}", set.equivalent);
    flat.lines.push(line("never", Topic::Lamp, 1, lamp_on()));
    flat.lines[1].outcome = 2;
    flat.lines[0].unmet_where = lamp_on();
    let set = vectors(&flat).unwrap();
    assert_good(&flat, &set);
    assert!(!set.without_effect.is_empty() || !set.equivalent.is_empty());
}

// A line that gives way: some vehicle shows it set aside, and leaving the *gives way* out is caught where it matters.
#[test]
fn a_line_set_aside_is_shown() {
    let mut flat = flat();
    flat.lines.push(line("lamp", Topic::Lamp, 1, lamp_on()));
    flat.lines.push(line("warm", Topic::SinceClearing, 2, number(Fact::WarmUps, None, Some(14))));
    flat.lines[1].gives_way.push((0, Condition::always()));
    let set = vectors(&flat).unwrap();
    assert_good(&flat, &set);
    assert!(set.effective.iter().any(|mutant| mutant.change == Change::GivesWayDropped));
    let both = |it: &&wherefore::diagram::cases::Vector| it.expected == BTreeSet::from([Verdict::Outcome(1)]);
    assert!(set.vectors.iter().any(|it| both(&it)), "lamp on and few warm-ups: the lamp's outcome stands");
}

// The measure can fail: without its vectors a set catches nothing, and each vector beside the pairs is needed.
#[test]
fn a_set_without_vectors_catches_nothing() {
    let mut flat = flat();
    flat.lines.push(line("lamp", Topic::Lamp, 2, lamp_on()));
    let mut set = vectors(&flat).unwrap();
    assert!(score(&flat, &set).unwrap().missed.is_empty());
    set.vectors.clear();
    let score = score(&flat, &set).unwrap();
    assert_eq!(score.missed.len(), score.effective);
    assert!(score.effective > 0);
}

// splitmix64 with seed 1234567: the first five numbers of the published test vector (memory).
#[test]
fn worksheets_are_drawn_by_seed() {
    let mut state = 1_234_567;
    let numbers: Vec<u64> = (0..5).map(|_| splitmix64(&mut state)).collect();
    let expected = [
        6_457_827_717_110_365_317,
        3_203_168_211_198_807_973,
        9_817_491_932_198_370_423,
        4_593_380_528_125_082_431,
        16_408_922_859_458_223_821,
    ];
    assert_eq!(numbers, expected);
    assert_eq!(draw(50, 10, 7), draw(50, 10, 7));
    assert_ne!(draw(50, 10, 7), draw(50, 10, 8));
    let all: BTreeSet<usize> = draw(12, 40, 3).into_iter().collect();
    assert_eq!(all, (0..12).collect());
}

fn told(arguments: &[&str]) -> (i32, String) {
    let mut command = std::process::Command::new(env!("CARGO_BIN_EXE_wherefore"));
    let output = command.args(arguments).current_dir(env!("CARGO_MANIFEST_DIR")).env_clear().output().unwrap();
    (output.status.code().unwrap(), String::from_utf8([output.stdout, output.stderr].concat()).unwrap())
}

// What is printed can be run: each snapshot of the JSON is judged again, with the readings it says, and comes to what
// it says. Keys of a snapshot: design page, section 9.
#[test]
fn printed_vectors_are_snapshots_with_their_verdicts() {
    let (exit, text) = told(&["cases", "tests/cli/rules/demo.wherefore", "--as-of", "2026-11-25", "--format", "json"]);
    assert_eq!(exit, 0, "{text}");
    let sheet: serde_json::Value = serde_json::from_str(&text).unwrap();
    let vectors = sheet["vectors"].as_array().unwrap();
    assert!(vectors.len() > 10, "{}", vectors.len());
    assert_eq!(sheet["score"]["caught"], sheet["score"]["effective"]);
    let memory = wherefore::source::Source::new("demo", include_str!("../cli/rules/demo.wherefore"));
    let program = wherefore::check::check(&wherefore::syntax::parse(&memory).file, &()).program.unwrap();
    for vector in vectors {
        let document = wherefore::document::read(vector["snapshot"].to_string().as_bytes()).unwrap();
        let takes = vector["takes"].as_object().unwrap().iter();
        let request = wherefore::report::rule::Request {
            takes: takes
                .map(|(name, value)| wherefore::program::Under {
                    name: name.clone(),
                    value: value.as_str().unwrap().to_owned(),
                })
                .collect(),
            ..Default::default()
        };
        let record = wherefore::report::rule::record(&program, &Default::default(), &document, &request).unwrap();
        assert_eq!(vector["verdict"], record.ruling.verdict.as_str());
        assert_eq!(vector["deciding"], serde_json::json!(record.ruling.deciding));
    }
}

// Design page, section 9: `cases` without `--as-of` covers every epoch, a worksheet one date; the same seed, the same
// sheet; cautions first, answers last.
#[test]
fn worksheets_are_reproducible_and_give_cautions() {
    const DEMO: &str = "tests/cli/rules/demo.wherefore";
    let sheet = |seed: &str| told(&["cases", DEMO, "--as-of", "2026-11-25", "--exercise", "5", "--seed", seed]);
    let (exit, text) = sheet("3");
    assert_eq!(exit, 0, "{text}");
    assert_eq!(sheet("3"), (0, text.clone()));
    assert_ne!(sheet("4").1, text);
    let place = |words: &str| text.find(words).unwrap_or_else(|| panic!("{words}: {text}"));
    assert!(place("carbon monoxide") < place("\n1.\n") && place("\n5.\n") < place("Answer key"));
    let (exit, text) = told(&["cases", DEMO, "--exercise", "5"]);
    assert_eq!(exit, 2, "{text}");
    assert!(text.contains("--as-of"), "{text}");
}
