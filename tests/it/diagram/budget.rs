//! Programs that no order of facts keeps small: each question asked of the diagrams ends with the budget's message, before
//! the machine is filled (conditions over pairs of facts that stand apart in the order double the diagram with each pair).

use std::collections::BTreeSet;
use std::fmt::Write as _;
use std::sync::Arc;
use wherefore::internals::analysis::ask::ask;
use wherefore::internals::analysis::cases::suite;
use wherefore::internals::analysis::compare;
use wherefore::internals::analysis::warnings::analyse;
use wherefore::internals::bulk::{RowError, Rules};
use wherefore::internals::diagram::{BUDGET, Compiled, Error, Exact, TooLarge};
use wherefore::internals::model::{Date, DeclaredValue, Fact, Snapshot, Value};
use wherefore::internals::program::{Flat, Given, Program, Selection, Verdict, select};
use wherefore::internals::ruling::judge_briefly;
use wherefore::internals::{check, source::Source, syntax};

/// Forty declared facts, and the lines of one clause or of many.
fn text(clauses: &str) -> String {
    let mut text = String::from(
        "program pairs \"Pairs\"\n  authority \"Nobody\"\n  language 1\n  standing draft\n\nsource text \"Text, invented\" \
         memory\n\nin force from 2020-01-01\n  per text\n\noutcomes pass, fail\n\ncovers where fuel is gasoline\n  per text\n\n",
    );
    for fact in 0..40 {
        writeln!(text, "fact b{fact}: yes or no\n  asks \"Is b{fact} so?\"\n  observed by papers\n").unwrap();
    }
    text.push_str(clauses);
    text
}

fn program(text: &str) -> Arc<Program> {
    let source = Source::new("pairs", text);
    let parsed = syntax::parse(&source);
    assert!(parsed.diagnostics.is_empty(), "{:?}\n{text}", parsed.diagnostics);
    let checked = check::check(&parsed.file, &());
    Arc::new(checked.program.unwrap_or_else(|| panic!("{:?}", checked.diagnostics)))
}

/// One clause: any of the pairs of a fact and the one twenty further.
fn pairs() -> String {
    let parts: String = (0..20).fold(String::new(), |mut all, at| {
        writeln!(all, "    - b{at} is yes and b{} is yes", at + 20).unwrap();
        all
    });
    text(&format!("clause pairs on other\n  - fail where any of\n{parts}  per text\n"))
}

/// Four hundred clauses of three facts each, spread over all of them.
fn triples() -> String {
    let all = (0..40).flat_map(|a| (a + 1..40).flat_map(move |b| (b + 1..40).map(move |c| (a, b, c))));
    let spread = all.filter(|(a, b, c)| (a * 7 + b * 11 + c * 13) % 17 == 0).take(400);
    text(&spread.enumerate().fold(String::new(), |mut all, (at, (a, b, c))| {
        write!(all, "clause x{at} on other\n  fail where b{a} is yes and b{b} is no and b{c} is yes\n  per text\n\n")
            .unwrap();
        all
    }))
}

fn is_spent<T>(found: Result<T, Error>) -> bool {
    matches!(found, Err(Error::TooLarge(TooLarge { nodes: BUDGET })))
}

#[rstest::rstest]
#[case::forty_facts_in_pairs(pairs())]
#[case::four_hundred_clauses(triples())]
fn the_budget_holds_for_every_question(#[case] text: String) {
    let program = program(&text);
    let date = Date::constant(2026, 11, 25);
    let flat: Flat = select(&program, &Selection::on(date)).unwrap();
    let mut visit = Snapshot::default();
    visit.set(Fact::TestDate, Value::Date(date));
    assert!(is_spent(Compiled::whole(&flat)), "diagrams");
    assert!(is_spent(analyse(&program)), "findings");
    assert!(is_spent(suite(&program)), "vectors: by the program itself, before its mutants are made");
    let asked = ask(&flat, &visit).expect_err("questions");
    assert!(asked.to_string().contains(&BUDGET.to_string()), "{asked}");
    assert!(is_spent(compare(&flat, &flat)), "comparison");
}

/// A ruling is given all the same, by the interpreter's bound, and says that it is not exact.
#[test]
fn a_ruling_beyond_the_budget_is_a_bound() {
    let program = program(&pairs());
    let date = Date::constant(2026, 11, 25);
    let flat: Flat = select(&program, &Selection::on(date)).unwrap();
    let mut visit = Snapshot::default();
    visit.set(Fact::TestDate, Value::Date(date));
    let found = judge_briefly(&flat, &program, &visit).unwrap();
    assert_eq!((found.verdict.as_str(), found.possible.len(), found.exact), ("undecided", 3, false));
}

/// Where the diagrams over every vehicle are too large, a record is answered by those of its own within a smaller budget: one
/// of which most is known is, one of which nothing is known is set aside; a budget that is spent is told.
#[test]
fn a_record_has_a_smaller_budget_of_its_own() {
    let program = program(&pairs());
    let date = Date::constant(2026, 11, 25);
    let flat: Flat = select(&program, &Selection::on(date)).unwrap();
    let rules = Rules::of(flat.clone(), true);
    let mut visit = Snapshot::default();
    visit.set(Fact::TestDate, Value::Date(date));
    let nothing = Given::of(&flat, &visit).unwrap();
    assert_eq!(rules.answer(&nothing), Err(RowError::TooLarge));
    for fact in 0..20 {
        visit.declared.insert(format!("b{fact}"), DeclaredValue::Word("no".to_owned()));
    }
    let known = Given::of(&flat, &visit).unwrap();
    let verdicts = BTreeSet::from([Verdict::NotSubject, Verdict::Outcome(0)]);
    assert_eq!(rules.answer(&known).unwrap().possible, verdicts);
    assert!(Exact::within(&flat, &known, 25_000).is_ok());
    assert_eq!(Exact::within(&flat, &known, 1).err(), Some(Error::TooLarge(TooLarge { nodes: 1 })));
}

/// The commands, each with what it must say: the budget's message, or that the analysis was left out for it.
#[cfg(all(feature = "cli", target_os = "linux"))]
const COMMANDS: [&[&str]; 13] = [
    &["check", "FILE"],
    &["check", "--format", "json", "FILE"],
    &["judge", "--rules", "FILE", "--program", "pairs", "VISIT"],
    &["judge", "--full", "--rules", "FILE", "--program", "pairs", "VISIT"],
    &["judge", "--format", "html", "--rules", "FILE", "--program", "pairs", "VISIT"],
    &["next", "--rules", "FILE", "--program", "pairs", "VISIT"],
    &["ask", "--tree", "--rules", "FILE", "--program", "pairs", "--as-of", "2026-11-25"],
    &["compare", "FILE", "FILE"],
    &["cases", "FILE"],
    &["cases", "--as-of", "2026-11-25", "FILE"],
    &["cases", "--missing", "FILE"],
    &["cases", "--exercise", "3", "--as-of", "2026-11-25", "FILE"],
    &["fmt", "--check", "FILE"],
];

/// Every command by itself, with so much memory and so many seconds of the processor and no more: the program for tests takes
/// some three times as long as the one that is released.
#[cfg(all(feature = "cli", target_os = "linux"))]
#[rstest::rstest]
#[case::forty_facts_in_pairs("forty", pairs())]
#[case::four_hundred_clauses("clauses", triples())]
fn every_command_keeps_the_budget(#[case] name: &str, #[case] text: String) {
    use std::process::Command;
    const LIMITS: &str = "ulimit -v 500000 && ulimit -t 15 && exec \"$0\" \"$@\"";
    let folder = std::path::Path::new(env!("CARGO_TARGET_TMPDIR")).join(format!("budget-{name}"));
    std::fs::create_dir_all(&folder).unwrap();
    let (file, visit) = (folder.join("pairs.wherefore"), folder.join("visit.json"));
    std::fs::write(&file, text).unwrap();
    let snapshot =
        r#"{"format": "wherefore-snapshot/1", "visit": {"date": "2026-11-25"}, "vehicle": {"model_year": 2015}}"#;
    std::fs::write(&visit, snapshot).unwrap();
    for command in COMMANDS {
        let arguments = command.iter().map(|word| match *word {
            "FILE" => file.as_os_str(),
            "VISIT" => visit.as_os_str(),
            word => word.as_ref(),
        });
        let mut limited = Command::new("sh");
        limited.args(["-c", LIMITS, env!("CARGO_BIN_EXE_wherefore")]).args(arguments);
        // One arena: others reserve room that nobody uses, and the limit is on what is reserved.
        let output = limited.env_clear().env("MALLOC_ARENA_MAX", "1").output().unwrap();
        let said = String::from_utf8_lossy(&output.stdout).into_owned() + &String::from_utf8_lossy(&output.stderr);
        assert!(output.status.code().is_some_and(|code| code <= 3), "{command:?} {:?}: {said}", output.status);
        if !matches!(command.first(), Some(&"judge" | &"fmt")) {
            let is_told = said.contains("400000 nodes") || said.contains("diagrams are too large");
            assert!(is_told, "{command:?}: {said}");
        }
    }
}
