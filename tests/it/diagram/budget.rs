//! Programs that no order of facts keeps small: each question asked of the diagrams ends with the budget's message, before
//! the machine is filled (conditions over pairs of facts that stand apart in the order double the diagram with each pair).

use std::fmt::Write as _;
use std::sync::Arc;
use wherefore::internals::analysis::ask::ask;
use wherefore::internals::analysis::cases::suite;
use wherefore::internals::analysis::compare;
use wherefore::internals::analysis::warnings::analyse;
use wherefore::internals::diagram::{BUDGET, Compiled, Error, TooLarge};
use wherefore::internals::model::{Date, Fact, Snapshot, Value};
use wherefore::internals::program::{Flat, Program, Selection, select};
use wherefore::internals::{check, source::Source, syntax};

/// Forty declared facts, and the lines of one clause or of many.
fn program(clauses: &str) -> Arc<Program> {
    let mut text = String::from(
        "program pairs \"Pairs\"\n  authority \"Nobody\"\n  language 1\n  standing draft\n\nsource text \"Text, invented\" \
         memory\n\nin force from 2020-01-01\n  per text\n\noutcomes pass, fail\n\ncovers where fuel is gasoline\n  per text\n\n",
    );
    for fact in 0..40 {
        writeln!(text, "fact b{fact}: yes or no\n  asks \"Is b{fact} so?\"\n  observed by papers\n").unwrap();
    }
    text.push_str(clauses);
    let source = Source::new("pairs", &text);
    let parsed = syntax::parse(&source);
    assert!(parsed.diagnostics.is_empty(), "{:?}\n{text}", parsed.diagnostics);
    let checked = check::check(&parsed.file, &());
    Arc::new(checked.program.unwrap_or_else(|| panic!("{:?}", checked.diagnostics)))
}

/// One clause: any of the pairs of a fact and the one twenty further.
fn pairs() -> Arc<Program> {
    let parts: String = (0..20).fold(String::new(), |mut all, at| {
        writeln!(all, "    - b{at} is yes and b{} is yes", at + 20).unwrap();
        all
    });
    program(&format!("clause pairs on other\n  - fail where any of\n{parts}  per text\n"))
}

/// Four hundred clauses of three facts each, spread over all of them.
fn triples() -> Arc<Program> {
    let all = (0..40).flat_map(|a| (a + 1..40).flat_map(move |b| (b + 1..40).map(move |c| (a, b, c))));
    let spread = all.filter(|(a, b, c)| (a * 7 + b * 11 + c * 13) % 17 == 0).take(400);
    program(&spread.enumerate().fold(String::new(), |mut all, (at, (a, b, c))| {
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
fn the_budget_holds_for_every_question(#[case] program: Arc<Program>) {
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
