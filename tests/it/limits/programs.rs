//! Limits of a program file's meaning: at each nothing is said of it, one beyond it is told with both numbers.

use rstest::rstest;
use std::sync::Arc;
use wherefore::internals::check::{Adopt, Adoption, Checked, check, limits};
use wherefore::internals::program::Program;
use wherefore::internals::source::Source;
use wherefore::internals::syntax;

const HEAD: &str = "program example \"Example\"
  authority \"Example authority\"
  language 2
  standing checked
source ex \"invented text\" memory
in force from 2002-01-01
  per ex
";
const LADDER: &str = "outcomes pass, reject, fail\n";

/// A table beside the file, and a program that stands at the end of a chain of adoptions.
struct Beside {
    table: String,
    adopted: Option<(Arc<Program>, usize)>,
}

impl Adopt for Beside {
    fn program(&self, id: &str) -> Adoption {
        match &self.adopted {
            Some((program, depth)) if id == "deep" => Adoption::Found { program: Arc::clone(program), depth: *depth },
            _ => Adoption::Missing { known: Vec::new() },
        }
    }

    fn table(&self, name: &str) -> Option<String> {
        (name == "many.csv").then(|| self.table.clone())
    }

    fn tables(&self) -> Vec<String> {
        vec!["many.csv".to_owned()]
    }
}

fn checked(text: &str, beside: &Beside) -> (usize, Checked) {
    let parsed = syntax::parse(&Source::new("example", text));
    assert!(parsed.diagnostics.is_empty(), "{:?}", parsed.diagnostics.first());
    (parsed.file.items.len(), check(&parsed.file, beside))
}

/// What is said of limits.
fn told(text: &str, table: String) -> Vec<String> {
    let (_, checked) = checked(text, &Beside { table, adopted: None });
    let too_many = checked.diagnostics.iter().filter(|one| one.code == "check/too-many");
    too_many.map(|one| one.message.clone()).collect()
}

fn repeated(count: usize, one: impl Fn(usize) -> String) -> String {
    (0..count).map(one).collect()
}

fn outcomes(count: usize) -> String {
    let names: Vec<String> = (1..count).map(|at| format!("o{at} (reject)")).collect();
    format!("outcomes pass, {}\n", names.join(", "))
}

fn lines(count: usize) -> String {
    let lines = repeated(count, |_| "  - fail where lamp commanded on\n".to_owned());
    format!("clause big on other\n  \"No.\"\n  per ex\n{lines}")
}

fn limit_rows(count: usize) -> String {
    format!("limit\n{}  per ex\n", repeated(count, |at| format!("  - model year {}: none\n", 1900 + at)))
}

fn patterns(count: usize) -> String {
    let codes: Vec<String> = (0..count).map(|at| format!("P{at:04}")).collect();
    format!("code group many: {}\n  per ex\n", codes.join(", "))
}

fn findings(count: usize) -> String {
    repeated(count, |at| format!("finding f{at} where lamp commanded on\n  per ex\n"))
}

fn clauses(count: usize) -> String {
    repeated(count, |at| format!("clause c{at} on other\n  fail where lamp commanded on\n  \"No.\"\n  per ex\n"))
}

fn questions(count: usize) -> String {
    repeated(count, |at| {
        format!("question q{at} \"Which?\"\n  - reading one \"a\"\n    per ex\n  - reading two \"b\"\n    per ex\n")
    })
}

fn readings(count: usize) -> String {
    let rows = repeated(count, |at| format!("  - reading r{at} \"a\"\n    per ex\n"));
    format!("question q \"Which?\"\n{rows}")
}

fn options(count: usize) -> String {
    repeated(count, |at| format!("option o{at} \"Which?\": a, b\n  chosen a\n  per ex\n"))
}

fn facts(count: usize) -> String {
    repeated(count, |at| format!("fact f{at}: yes or no\n  asks \"Is it?\"\n  observed by papers\n"))
}

fn words(count: usize) -> String {
    let words: Vec<String> = (0..count).map(|at| format!("w{at}")).collect();
    format!("fact f: {}\n  asks \"Which?\"\n  observed by papers\n", words.join(", "))
}

fn tests(count: usize) -> String {
    let rows = repeated(count, |at| format!("  - model year {}\n", 1900 + at));
    format!("finding f where any of\n{rows}  per ex\n")
}

fn turns(count: usize) -> String {
    let rows = repeated(count, |at| format!("  could turn pass into fail where model year {}\n", 1990 + at));
    format!("change c adopted \"More is to come.\" from 2030-01-01\n{rows}  per ex\n")
}

fn cases(count: usize) -> String {
    repeated(count, |at| format!("case \"c{at}\"\n  on 2020-01-01\n  facts lamp commanded on\n  expect pass\n"))
}

/// Each at its limit and one beyond. The message names the number that was written, so that what was written is what is meant.
#[rstest]
#[case::lines(lines, limits::LINES, "lines of one clause")]
#[case::limit_rows(limit_rows, limits::LIMIT_ROWS, "rows of one limit")]
#[case::patterns(patterns, limits::PATTERNS, "code patterns")]
#[case::findings(findings, limits::FINDINGS, "findings")]
#[case::clauses(clauses, limits::CLAUSES, "clauses")]
#[case::questions(questions, limits::QUESTIONS, "questions")]
#[case::readings(readings, limits::READINGS, "readings of one question")]
#[case::options(options, limits::OPTIONS, "options")]
#[case::facts(facts, limits::FACTS, "declared facts")]
#[case::words(words, limits::WORDS, "words of one fact")]
#[case::tests(tests, limits::TESTS, "tests in one condition")]
#[case::turns(turns, limits::TURNS, "turns of one change")]
#[case::cases(cases, limits::CASES, "worked cases")]
fn a_limit_of_a_program_is_told_one_beyond(#[case] made: fn(usize) -> String, #[case] most: usize, #[case] what: &str) {
    let text = |count| format!("{HEAD}{LADDER}{}", made(count));
    assert_eq!(told(&text(most), String::new()), Vec::<String>::new());
    let beyond = most + 1;
    assert_eq!(told(&text(beyond), String::new()), [format!("{beyond} {what}: at most {most} are allowed")]);
}

#[test]
fn outcomes_have_a_limit() {
    let text = |count| format!("{HEAD}{}", outcomes(count));
    assert_eq!(told(&text(limits::OUTCOMES), String::new()), Vec::<String>::new());
    assert_eq!(told(&text(limits::OUTCOMES + 1), String::new()), ["17 outcomes: at most 16 are allowed"]);
}

/// Items of other kinds make up the number: sources have no limit of their own.
#[test]
fn items_have_a_limit() {
    let base = format!("{HEAD}{LADDER}");
    let (own, _) = checked(&base, &Beside { table: String::new(), adopted: None });
    let text = |count: usize| base.clone() + &repeated(count - own, |at| format!("source s{at} \"invented\" memory\n"));
    assert_eq!(told(&text(limits::ITEMS), String::new()), Vec::<String>::new());
    assert_eq!(told(&text(limits::ITEMS + 1), String::new()), ["2001 items: at most 2000 are allowed"]);
}

#[test]
fn rows_of_a_table_have_a_limit() {
    let text = format!("{HEAD}{LADDER}table many\n  rows from \"many.csv\"\n  per ex\n");
    let rows = |count| {
        let mut table = "make,model,engine,first_year,last_year,excuses,codes\n".to_owned();
        (0..count).for_each(|at| table += &format!("Make {at},Truck,,,,catalyst,\n"));
        table
    };
    assert_eq!(told(&text, rows(limits::TABLE_ROWS)), Vec::<String>::new());
    assert_eq!(told(&text, rows(limits::TABLE_ROWS + 1)), ["2001 rows of one table: at most 2000 are allowed"]);
}

#[test]
fn adoptions_go_no_deeper_than_their_limit() {
    let deep =
        std::fs::read_to_string(format!("{}/tests/check/points/point-08-dates.wherefore", env!("CARGO_MANIFEST_DIR")));
    let (_, adopted) = checked(&deep.unwrap(), &Beside { table: String::new(), adopted: None });
    let adopted = Arc::new(adopted.program.expect("the adopted program has no error"));
    let text = format!("{HEAD}{LADDER}adopts deep as amended\n");
    let told = |depth| {
        let (_, checked) =
            checked(&text, &Beside { table: String::new(), adopted: Some((Arc::clone(&adopted), depth)) });
        let too_many = checked.diagnostics.iter().filter(|one| one.code == "check/too-many");
        too_many.map(|one| one.message.clone()).collect::<Vec<_>>()
    };
    assert_eq!(told(limits::ADOPTION_DEPTH - 1), Vec::<String>::new());
    assert_eq!(told(limits::ADOPTION_DEPTH), ["5 levels of adoption: at most 4 are allowed"]);
}

/// `due every N months`: ten years at the most.
#[test]
fn the_time_between_tests_has_a_limit() {
    let told = |months: usize| {
        let text = format!("{HEAD}{LADDER}due every {months} months\n  per ex\n");
        let (_, checked) = checked(&text, &Beside { table: String::new(), adopted: None });
        checked.diagnostics.iter().filter(|one| one.code == "check/out-of-range").count()
    };
    assert_eq!((told(120), told(121)), (0, 1));
}
