//! What a writer of program files is given: a file to fill in, what is open in one, cases that are missing.

use std::collections::BTreeMap;
use std::sync::Arc;
use wherefore::internals::catalog::{BuiltIn, Catalog, Entry, Files};
use wherefore::internals::desk::{self, Missing};
use wherefore::internals::diagnostic::Severity;
use wherefore::internals::model::{Fact, Snapshot};
use wherefore::internals::program::{Program, Selection, select};
use wherefore::internals::ruling::judge;
use wherefore::internals::syntax::words;

const HEATH: &str = include_str!("../../examples/exact/heath.wherefore");

struct Texts(BTreeMap<String, String>);

impl Files for Texts {
    fn names(&self) -> Vec<String> {
        self.0.keys().cloned().collect()
    }
    fn text(&self, name: &str) -> Result<String, String> {
        self.0.get(name).cloned().ok_or_else(|| name.to_owned())
    }
    fn beside(&self, _name: &str, _table: &str) -> Option<String> {
        None
    }
    fn tables(&self, _name: &str) -> Vec<String> {
        Vec::new()
    }
}

fn entry(text: &str) -> Arc<Entry> {
    let files = Texts(BTreeMap::from([("x.wherefore".to_owned(), text.to_owned())]));
    let catalog = Catalog::new(vec![&files, &BuiltIn]);
    catalog.file("x.wherefore").unwrap()
}

fn program(text: &str) -> Arc<Program> {
    let entry = entry(text);
    assert!(!entry.is_faulty(), "{:?}\n{text}", entry.diagnostics);
    entry.program.clone().unwrap()
}

#[test]
fn a_new_file_is_open_until_it_is_filled_in() {
    let text = desk::begin("zz-heath").unwrap();
    let told = desk::told(&entry(&text), None);
    let errors = told.messages.iter().filter(|one| one.severity == Severity::Error).count();
    assert!(errors >= 6, "what is blank is an error: {errors}");
    // Filled in, by what the comments ask for, nothing is wrong with it.
    let mut filled = text.clone();
    for (blank, with) in [
        ("program zz-heath \"\"", "program zz-heath \"Heath\""),
        ("authority \"\"", "authority \"Heath council\""),
        ("source r1 \"\" law", "source r1 \"1 HC 2\" law, read 2026-11-25"),
        ("in force from\n", "in force from 2020-01-01\n"),
        ("covers where\n", "covers where fuel is gasoline\n"),
        ("every vehicle: at most  incomplete\n", "every vehicle: at most 1 incomplete\n"),
        (
            "text silent on\n",
            "text silent on stored-codes, pending-codes, permanent-codes, since-clearing, readiness-at-retest\n",
        ),
        ("no rule applied on , text", "no rule applied on connector, communication, identity, bulb-check, text"),
        ("case \"\" on\n", "case \"sound\" on 2021-01-01\n"),
        ("expect\n", "expect pass\n"),
    ] {
        assert_eq!(filled.matches(blank).count(), 1, "{blank}");
        filled = filled.replace(blank, with);
    }
    program(&filled);
    for (id, is_one) in [
        ("us-tx", true),
        ("x2", true),
        ("", false),
        ("US-TX", false),
        ("us tx", false),
        ("../x", false),
        ("us-", false),
    ] {
        assert_eq!(desk::begin(id).is_ok(), is_one, "{id}");
    }
    // Every topic is named, so that none is forgotten.
    for topic in words::TOPICS.iter().filter(|topic| **topic != "other") {
        assert!(text.contains(topic), "{topic}");
    }
}

#[test]
fn what_is_open_is_told_in_the_order_of_the_guide() {
    let text = HEATH
        .replace("too many monitors are incomplete", "too many monitors aer incomplete")
        .replace("standing checked", "standing draft")
        .replace("from 2020-01-01", "from 2020-13-01");
    let told = desk::todo(&desk::told(&entry(&text), None));
    let steps = ["Mend what cannot be read: 1 open", "Start the file"];
    let places: Vec<Option<usize>> = steps.iter().map(|step| told.find(step)).collect();
    assert!(places.iter().all(Option::is_some), "{told}");
    assert!(places[0] < places[1], "{told}");
    let sound = desk::todo(&desk::told(&entry(HEATH), None));
    assert!(sound.contains("Describe an ordinary vehicle, and write worked cases: "), "{sound}");
    assert!(sound.contains("no worked case reaches clause `lamp-heavy`"), "{sound}");
}

#[test]
fn findings_about_one_thing_are_one_line() {
    let told = desk::told(&entry(HEATH), None);
    let finding = told.messages.iter().find(|one| one.code == "check/no-case-reaches").unwrap();
    let mut later = finding.clone();
    later.labels[0].span.start += 40;
    let entry = entry(HEATH);
    let text = desk::folded(&entry.source, [finding, &later, finding].into_iter());
    let joined = text.split_whitespace().collect::<Vec<_>>().join(" ");
    assert_eq!(
        joined,
        "x.wherefore:17: no worked case reaches clause `lamp-light`, and 2 more like it [check/no-case-reaches]"
    );
    assert_eq!(desk::folded(&entry.source, std::iter::empty()), "");
}

/// The file with its missing cases, each with the outcome that the program gives: for this test alone, which asks whether
/// the cases say what they are meant to and catch what they are said to.
fn completed(text: &str, missing: &Missing) -> String {
    let program = program(text);
    let mut whole = text.to_owned();
    for (at, case) in missing.cases.iter().enumerate() {
        let titled = case.replacen("case \"\"", &format!("case \"{at}\""), 1);
        let provisional = titled.replacen("expect\n", "expect pass\n", 1).replacen("\n  per\n", "\n  per text\n", 1);
        let facts = self::program(&format!("{text}\n{provisional}")).cases.last().unwrap().facts.clone();
        let flat = select(&program, &Selection::on(facts.test_date().unwrap())).unwrap();
        let ruling = judge(&flat, &program, &facts).unwrap();
        let outcome = &ruling.possible[0].name;
        assert_eq!(ruling.possible.len(), 1);
        let filled = titled.replacen("expect\n", &format!("expect {outcome}\n"), 1);
        whole.push_str(&format!("\n{}", filled.replacen("\n  per\n", "\n  per text\n", 1)));
    }
    whole
}

#[test]
fn missing_cases_catch_what_no_case_catches() {
    let before = desk::missing(&program(HEATH)).unwrap();
    assert_eq!(before.caught, 0, "the file has no case");
    assert_eq!(before.would_catch, before.changes);
    assert!(before.changes > 5 && before.cases.len() < before.changes, "{before:?}");
    for case in &before.cases {
        assert!(case.contains("\n  expect\n") && case.contains("\n  per\n"), "an outcome was filled in: {case}");
        let parsed = entry(&format!("{HEATH}\n{case}"));
        assert!(parsed.is_faulty(), "a case without an outcome passes: {case}");
    }
    // Asked for fewer, those that catch most are told, and what they alone would catch.
    let (most, many) = (*before.catches.iter().max().unwrap(), before.catches.iter().sum::<usize>());
    assert_eq!((before.catches.len(), many), (before.cases.len(), before.would_catch));
    let one = before.clone().most(1);
    assert_eq!((one.cases.len(), one.would_catch, one.changes), (1, most, before.changes));
    assert!(one.cases[0].starts_with(&format!("# catches {most} ")), "{}", one.cases[0]);
    let two = before.clone().most(2);
    assert!(two.catches[0] >= two.catches[1] && two.catches.iter().sum::<usize>() == two.would_catch);
    assert_eq!(before.clone().most(usize::MAX).would_catch, before.would_catch);
    let whole = completed(HEATH, &before);
    let after = desk::missing(&program(&whole)).unwrap();
    assert_eq!(after.cases, Vec::<String>::new());
    assert_eq!((after.changes, after.caught), (before.changes, before.changes));
    // One case taken out again, the slips that it alone catches are told.
    let fewer = whole.rsplit_once("\n# catches").unwrap().0;
    let again = desk::missing(&program(fewer)).unwrap();
    assert_eq!(again.caught + again.would_catch, again.changes);
    assert_eq!(again.cases.len(), 1);
}

#[test]
fn facts_are_written_as_a_case_reads_them() {
    let full = "ordinary sound; model year 2010; fuel is gasoline; hybrid; make is \"A \\\"B\\\"\"; gross weight 4500 kg;\n  \
         first registered 2006-02-03; visit is retest; odometer 12 miles; earlier incomplete visits 2;\n  \
         time since the previous test 30 hours; incomplete earlier: catalyst, evaporative; lit the lamp earlier: none;\n  \
         lamp commanded on; stored codes P0420, P0171; no pending code; permanent code not on this vehicle;\n  \
         warm-ups since clearing 15; complete: catalyst; incomplete: evaporative; unsupported: secondary-air\n";
    let text = format!("{HEATH}\n{full}");
    let own = program(&text);
    let written = desk::facts(&own, &own.ordinary, &Snapshot::default()).unwrap();
    let again = program(&format!("{HEATH}\nordinary {}\n", written.join("; ")));
    assert_eq!(again.ordinary, own.ordinary, "{written:?}");
    // Beside another vehicle only the differences are written, and what is not known is said.
    let mut other = own.ordinary.clone();
    other.set_word(Fact::Fuel, "diesel");
    other.readings.remove(&Fact::Make);
    let written = desk::facts(&own, &other, &own.ordinary).unwrap();
    assert_eq!(written, ["fuel is diesel", "make not known"]);
}

/// The grammar for editors that read such grammars knows the keywords that the language has.
#[test]
fn the_textmate_grammar_has_every_keyword() {
    let text = include_str!("../../docs/editor/wherefore.tmLanguage.json");
    let grammar: serde_json::Value = serde_json::from_str(text).unwrap();
    let words_of = |name: &str| {
        let all = grammar["patterns"].as_array().unwrap().iter();
        let rule = all.clone().find(|rule| rule["name"] == name).unwrap()["match"].as_str().unwrap().to_owned();
        rule.split(['(', ')']).flat_map(|part| part.split('|')).map(str::to_owned).collect::<Vec<String>>()
    };
    let items = words_of("meta.item.wherefore");
    let properties = words_of("keyword.other.property.wherefore");
    for keyword in words::ITEMS.iter().filter(|keyword| keyword.word != "replaces") {
        assert!(items.iter().any(|word| word == keyword.word), "{}", keyword.word);
    }
    for keyword in words::PROPERTIES {
        assert!(properties.iter().any(|word| word == keyword.word), "{}", keyword.word);
    }
}

/// So does the one for tree-sitter, and its lists hold no item that the language has not.
#[test]
fn the_tree_sitter_grammar_has_every_keyword() {
    let text = include_str!("../../docs/editor/tree-sitter/grammar.js");
    let list = |name: &str| -> Vec<String> {
        let (_, rest) = text.split_once(&format!("const {name} = [")).unwrap();
        let words = rest.split_once("];").unwrap().0.split('"').skip(1).step_by(2);
        words.map(str::to_owned).collect()
    };
    let mut items: Vec<String> =
        [list("NAMED"), list("UNNAMED"), vec!["limit".to_owned(), "replaces".to_owned()]].concat();
    let mut known: Vec<String> = words::ITEMS.iter().map(|keyword| keyword.word.to_owned()).collect();
    // Older files are coloured too.
    known
        .extend(words::OLDER.iter().map(|(older, _)| *older).filter(|older| older.ends_with(" on")).map(str::to_owned));
    items.sort();
    known.sort();
    assert_eq!(items, known);
    let properties = list("PROPERTIES");
    for keyword in words::PROPERTIES {
        assert!(properties.iter().any(|word| word == keyword.word), "{}", keyword.word);
    }
}

/// Rules as sentences, for one who does not know the language: who, what, and what it gives way to.
#[test]
fn a_clause_is_told_in_sentences() {
    let text = HEATH.replace(
        "clause readiness on readiness\n  fail where too many monitors are incomplete\n",
        "clause readiness on readiness\n  concerns model year 1996 or later\n  - fail where too many monitors are incomplete\n  \
         - requires any of\n    - lamp not commanded on\n    - model year 2000 or earlier and hybrid\n    or else fail\n",
    );
    let entry = entry(&text);
    let said = wherefore::internals::report::sentences::sentences(&entry.file, &entry.source);
    let readiness = said.iter().find(|one| one.clause == "readiness").unwrap();
    let lines: Vec<&str> = readiness.lines.iter().map(|(_, line)| line.as_str()).collect();
    assert_eq!(
        lines,
        [
            "Where the model year is 1996 or later, a vehicle gets fail if too many monitors are incomplete.",
            "Where the model year is 1996 or later, required is that at least one of these holds: (the lamp is not commanded \
             on), (the model year is 2000 or earlier and it is a hybrid); or else a vehicle gets fail.",
        ]
    );
}

/// A case of another day, whose rules are others, counts for what it catches on its day: the slip in a clause that stands on
/// both days is the same slip.
#[test]
fn cases_of_other_days_count_for_what_they_catch() {
    let text = HEATH;
    // From 2025 on one clause more: the rules of the days before and after differ.
    let more = "\nclause heavy on other\n  fail where gross weight above 9000 lb\n  \"Too heavy.\"\n  from 2025-01-01\n  per text\n";
    let case = |on: &str| {
        format!(
            "\ncase \"lamp\"\n  on {on}\n  facts fuel is gasoline; gross weight 4000 lb; model year 2010; lamp commanded on; \
             complete: catalyst, evaporative\n  expect fail by lamp-light\n  follows from text\n"
        )
    };
    let caught = |on: &str| desk::missing(&program(&format!("{text}{more}{}", case(on)))).unwrap();
    let (old, new) = (caught("2022-06-01"), caught("2026-06-01"));
    assert!(old.caught > 0 && old.changes == new.changes, "{} {}", old.caught, new.caught);
    assert_eq!(old.caught, new.caught, "the case shows the same of the clause on both days");
}
