//! What need not be written again: the declared areas in a test, the facts of a sound car, sources of an adopted program, the
//! lines of a case. Each says what its long form says; version 1 has none of them.

use crate::check::{Shelf, read};
use rstest::rstest;
use std::sync::Arc;
use wherefore::internals::check::{Adopt, lint};
use wherefore::internals::diagnostic::Diagnostic;
use wherefore::internals::program::{Program, Selection, dump, select};
use wherefore::internals::source::Source;
use wherefore::internals::syntax;

const HEAD: &str = "program example \"Example\"\n  authority \"A\"\n  language 2\nsource ex \"x\" law, read 2026-11-25\n\
     in force from 2002-01-01 per ex\noutcomes pass, fail\ncounts supported monitors that are not continuous per ex\n";
const PART: &str = "program part \"Part\"\n  authority \"A\"\n  language 2\n  adopted only\n\
     source cfr \"40 CFR 1\" law, read 2026-11-25\noutcomes pass, fail\n\
     clause one on other\n  fail where hybrid\n  \"Not so.\"\n  per cfr \"(a)\"\n";

fn parts(texts: &[&str]) -> Shelf {
    Shelf(texts.iter().map(|text| Arc::new(read("part", text, &()).1.program.unwrap())).collect())
}

/// The program of a text, or what is told of it.
fn program(body: &str, adopt: &dyn Adopt) -> Result<Program, Vec<Diagnostic>> {
    let (_, checked) = read("example", &format!("{HEAD}{body}"), adopt);
    checked.program.ok_or(checked.diagnostics)
}

fn codes(found: &[Diagnostic]) -> Vec<&str> {
    found.iter().map(|one| one.code).collect()
}

/// Warnings about sources.
fn told(body: &str, adopt: &dyn Adopt) -> Vec<Diagnostic> {
    let (file, checked) = read("example", &format!("{HEAD}{body}"), adopt);
    let program = checked.program.unwrap_or_else(|| panic!("{:?}", checked.diagnostics));
    lint::lint(&program, &file).into_iter().filter(|one| one.code.starts_with("check/source-")).collect()
}

#[rstest]
#[case("area is one of the areas", "area is \"Fulton\", \"Cobb\" or \"DeKalb\"")]
#[case("area is not one of the areas", "area is not \"Fulton\", \"Cobb\" or \"DeKalb\"")]
fn the_declared_areas_are_one_test(#[case] short: &str, #[case] long: &str) {
    let areas = "areas of \"Georgia\"\n  - \"Fulton\" also \"The Capital\"\n  - \"Cobb\", \"DeKalb\"\n";
    let of = |test: &str| {
        let program = program(&format!("{areas}covers where {test} per ex\n"), &()).unwrap();
        dump(&select(&program, &Selection::on("2020-01-01".parse().unwrap())).unwrap())
    };
    assert_eq!(of(short), of(long));
    let found = program(&format!("covers where {short} per ex\n"), &()).unwrap_err();
    assert_eq!(codes(&found), ["check/no-areas"]);
}

/// The facts that 53 of the 55 shipped files with an ordinary vehicle wrote out until this form came, in their words.
const LONG: &str = "sound; fuel is gasoline; ignition is spark; class is light-duty; not hybrid; not plug-in; visit is initial; \
    earlier incomplete visits 0; lamp not commanded on; complete: misfire, fuel-system, components, catalyst, evaporative, \
    oxygen-sensor, oxygen-sensor-heater, egr-vvt; unsupported: heated-catalyst, secondary-air, air-conditioning; \
    no stored code; no pending code; no permanent code";

#[rstest]
#[case("sound car; model year 2010", &format!("model year 2010; {LONG}"))]
#[case("model year 2010; sound car", &format!("{LONG}; model year 2010"))]
#[case("sound car; fuel is diesel", &LONG.replace("gasoline", "diesel"))]
#[case("sound car; catalyst not known", &format!("{}; catalyst not known", LONG.replace("catalyst, evap", "evap")))]
fn a_sound_car_is_what_it_stands_for(#[case] short: &str, #[case] long: &str) {
    let of =
        |facts: &str| program(&format!("covers where hybrid per ex\nordinary {facts}\n"), &()).map(|it| it.ordinary);
    // A vehicle that cannot exist is refused in either form.
    match (of(short), of(long)) {
        (Ok(short), Ok(long)) => assert_eq!(short, long),
        (short, long) => assert_eq!(codes(&short.unwrap_err()), codes(&long.unwrap_err())),
    }
}

#[test]
fn a_source_of_what_is_adopted_is_cited_as_it_is() {
    let parts = parts(&[PART]);
    let cites = "adopts part as amended\ncovers where hybrid per cfr \"(b)\"\n";
    let program = program(cites, &parts).unwrap();
    let cited = program.blocks.iter().flat_map(|block| &block.basis).find(|one| one.locator == "(b)").unwrap();
    let source = &program.sources[cited.source];
    assert_eq!((source.title.as_str(), source.program.as_str()), ("40 CFR 1", "part"));
    assert_eq!(codes(&told(cites, &parts)), Vec::<&str>::new());
    // In version 1 it is not known, as it was not.
    let (_, old) = read("example", &format!("{HEAD}{cites}").replace("language 2", "language 1"), &parts);
    assert_eq!(codes(&old.diagnostics), ["check/unknown-source"]);
}

#[test]
fn a_source_that_is_declared_again_or_otherwise_is_told() {
    let parts = parts(&[PART]);
    let again = "source cfr \"40 CFR 1\" law, read 2026-11-25\n";
    let rest = "adopts part as amended\ncovers where hybrid per cfr \"(b)\"\n";
    let found = told(&format!("{again}{rest}"), &parts);
    assert_eq!(codes(&found), ["check/source-again"]);
    let fix = found[0].fix.clone().unwrap();
    let mut text = format!("{HEAD}{again}{rest}");
    text.replace_range(fix.span.start as usize..fix.span.end as usize, &fix.text);
    assert_eq!(text, format!("{HEAD}{rest}"), "the remedy takes the line out");
    let other = again.replace("read 2026-11-25", "secondary 2026-11-25");
    assert_eq!(codes(&told(&format!("{other}{rest}"), &parts)), ["check/source-differs"]);
    // The file's own is what its citations mean.
    let program = program(&format!("{other}{rest}"), &parts).unwrap();
    let cited = program.blocks.iter().flat_map(|block| &block.basis).find(|one| one.locator == "(b)").unwrap();
    assert_eq!(program.sources[cited.source].program, "example");
}

#[test]
fn a_name_of_two_texts_is_not_cited() {
    let second = PART.replace("program part", "program second").replace("clause one", "clause two");
    let other = second.replace("40 CFR 1", "40 CFR 2");
    let body = "adopts part as amended\nadopts second as amended\ncovers where plug-in per cfr\n";
    let found = program(body, &parts(&[PART, &other])).unwrap_err();
    assert_eq!(codes(&found), ["check/source-ambiguous"]);
    assert!(found[0].message.contains("`part` and `second`"), "{}", found[0].message);
    program(body, &parts(&[PART, &second])).unwrap();
    let declared = format!("source cfr \"mine\" law, read 2026-11-25\n{body}");
    program(&declared, &parts(&[PART, &other])).unwrap();
}

#[test]
fn version_1_has_none_of_them() {
    let text = format!(
        "{HEAD}areas of \"Georgia\"\n  - \"Fulton\"\ncovers where area is one of the areas per ex\nordinary sound car\n"
    );
    let (_, checked) = read("example", &text.replace("language 2", "language 1"), &());
    assert_eq!(codes(&checked.diagnostics), ["check/needs-language-2", "check/needs-language-2"]);
}

/// What stands on one line, and what keeps a line of its own.
#[rstest]
#[case::a_case(
    "case \"a\"\n  on 2020-01-01\n  facts hybrid\n  expect pass\n  follows from r \"(a)\"\n  follows from r \"(b)\"\n",
    "case \"a\" on 2020-01-01\n  facts hybrid\n  expect pass per r \"(a)\"\n  per r \"(b)\"\n"
)]
#[case::due(
    "case \"a\"\n  on 2020-01-01\n  facts hybrid\n  expect pass\n  is due\n  per r\n",
    "case \"a\" on 2020-01-01\n  facts hybrid\n  expect pass\n  is due\n  per r\n"
)]
#[case::the_law_of_an_item("covers where hybrid\n  per r \"(a)\"\n", "covers where hybrid per r \"(a)\"\n")]
#[case::two_laws("covers where hybrid\n  per r\n  per s\n", "covers where hybrid\n  per r\n  per s\n")]
#[case::dates_before(
    "covers where hybrid\n  from 2020-01-01\n  per r\n",
    "covers where hybrid in force from 2020-01-01 per r\n"
)]
#[case::dates_after(
    "covers where hybrid\n  per r\n  from 2020-01-01\n",
    "covers where hybrid\n  per r\n  in force from 2020-01-01\n"
)]
#[case::dates_of_the_citation(
    "covers where hybrid\n  per r from 2020-01-01\n",
    "covers where hybrid per r from 2020-01-01\n"
)]
#[case::after_bullets(
    "covers where any of\n  - hybrid\n  - plug-in\n  per r\n",
    "covers where any of\n  - hybrid\n  - plug-in\n  per r\n"
)]
#[case::a_comment_between("covers where hybrid\n  # why\n  per r\n", "covers where hybrid\n  # why\n  per r\n")]
#[case::a_comment_behind("covers where hybrid  # why\n  per r\n", "covers where hybrid  # why\n  per r\n")]
#[case::a_row(
    "limit\n  - every vehicle: at most 1\n    per r\n",
    "limit\n  - every vehicle: at most 1 incomplete per r\n"
)]
#[case::a_finding("finding x\n  where hybrid\n", "finding x where hybrid\n")]
#[case::a_finding_with_its_law("finding x\n  where hybrid\n  per r\n", "finding x where hybrid per r\n")]
#[case::a_question(
    "fact x: yes or no\n  asks \"Is it?\"\n  observed by look\n",
    "fact x: yes or no\n  asks \"Is it?\" observed by look\n"
)]
fn layout(#[case] text: &str, #[case] laid_out: &str) {
    let format = |text: &str| {
        let source = Source::new("file", text);
        let parsed = syntax::parse(&source);
        assert_eq!(parsed.diagnostics, [], "{text}");
        syntax::format(&parsed, &source).unwrap()
    };
    assert_eq!(format(text), laid_out);
    assert_eq!(format(laid_out), laid_out);
}

/// A line of at most a hundred characters, else the old layout.
#[test]
fn what_does_not_fit_stays_on_its_line() {
    let format = |text: &str| {
        let source = Source::new("file", text);
        syntax::format(&syntax::parse(&source), &source).unwrap()
    };
    for length in 1..120 {
        let long = "x".repeat(length);
        for text in
            [format!("covers where hybrid\n  per r \"{long}\"\n"), format!("finding x\n  where make is \"{long}\"\n")]
        {
            let once = format(&text);
            let fits = text.trim_end().chars().count() - 2 <= syntax::WIDTH;
            assert_eq!(once.lines().count(), if fits { 1 } else { 2 }, "{once}");
            assert_eq!(format(&once), once);
        }
    }
}

/// `fmt --upgrade` writes the short forms for the long ones, in either version, and only where they say the same.
#[test]
fn long_forms_are_shortened() {
    let upgrade = |text: &str| {
        let source = Source::new("file", text);
        syntax::upgrade(&syntax::parse(&source), &source).unwrap()
    };
    let areas = "areas of \"Georgia\"\n  - \"Fulton\", \"Cobb\"\n";
    let text = format!(
        "{HEAD}{areas}covers where area is \"cobb\" or \"Fulton\"\n  per ex\nordinary {LONG}; area is \"Cobb\"\n"
    );
    let short = upgrade(&text);
    assert_eq!(
        short,
        format!("{HEAD}{areas}covers where area is one of the areas\n  per ex\nordinary sound car; area is \"Cobb\"\n")
    );
    assert_eq!(upgrade(&short), short);
    for other in [
        text.replace("\"cobb\" or \"Fulton\"", "\"Cobb\"").replace("no stored code; ", ""),
        text.replace("\"cobb\" or", "# why\n    \"cobb\" or").replace("sound; ", "sound;  # why\n  "),
    ] {
        assert_eq!(upgrade(&other), other);
    }
}
