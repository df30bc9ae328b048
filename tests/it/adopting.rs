//! What an adopter is told and takes over: near names of what it strikes, whose ladder of outcomes stands, where a message
//! about an adopted block is put; and the answers of a worked case as documents have them. `grammar/language.md`, "Items".

use crate::check::{Shelf, read};
use rstest::rstest;
use std::sync::Arc;
use wherefore::internals::diagnostic::Diagnostic;
use wherefore::internals::document;
use wherefore::internals::model::DeclaredValue;
use wherefore::internals::program::Program;

fn head(id: &str, more: &str) -> String {
    format!(
        "program {id} \"Program\"\n  authority \"A\"\n  language 2\n  standing checked\n{more}\
         source cfr \"40 CFR 1\" law, read 2026-11-25\n"
    )
}

const BASE: &str = "in force from 2002-01-01 per cfr
outcomes pass, reject, fail
covers where every vehicle per cfr
counts supported monitors that are not continuous per cfr
limit trucks
  - every vehicle: at most 1
  per cfr
limit
  - every vehicle: at most 1
  per cfr
finding heavy where gross weight above 8500 lb
code group catalyst-codes: P0420
  per cfr
question doubt \"Which?\"
  - reading strict \"s\"
    per cfr
  - reading lenient \"l\"
    per cfr
  left open \"unclear\"
clause lamp on lamp
  fail where lamp commanded on and heavy
  \"The lamp is commanded on.\"
  per cfr
clause bulb on bulb-check
  fail where lamp dark with the key on under doubt strict
  \"The bulb is out.\"
  per cfr
";

fn shelf(texts: &[String]) -> Shelf {
    let programs = texts.iter().map(|text| {
        let checked = read("shelf", text, &()).1;
        Arc::new(checked.program.unwrap_or_else(|| panic!("{:?}\n{text}", checked.diagnostics)))
    });
    Shelf(programs.collect())
}

fn base() -> String {
    head("base", "") + &BASE.replace(" under doubt strict\n", "\n")
}

fn told(body: &str, shelf: &Shelf) -> (String, Result<Program, Vec<Diagnostic>>) {
    let text = head("example", "") + body;
    let checked = read("example", &text, shelf).1;
    (text, checked.program.ok_or(checked.diagnostics))
}

/// A name that is nearly one of the same kind is pointed out; what has the name and is of another kind is not meant.
#[rstest]
#[case::clause("clause lampp", "did you mean `lamp`?")]
#[case::limit("limit truks", "did you mean `trucks`?")]
#[case::finding("finding havy", "did you mean `heavy`?")]
#[case::code_group("code group catalyst-code", "did you mean `catalyst-codes`?")]
#[case::question("question dout", "did you mean `doubt`?")]
#[case::of_another_kind("finding lamp", "leave the line out")]
#[case::of_another_kind_too("clause heavy", "leave the line out")]
#[case::nothing_like_it("clause exhaust", "leave the line out")]
#[case::a_topic("text silent on lamp", "leave the line out")]
fn what_is_struck_by_a_slip_is_pointed_out(#[case] what: &str, #[case] help: &str) {
    let (_, found) = told(&format!("adopts base as amended\n  strikes {what}\n"), &shelf(&[base()]));
    let found: Vec<_> = found.unwrap_err().into_iter().filter(|one| one.code == "check/strikes-nothing").collect();
    assert_eq!(found.len(), 1, "{found:?}");
    assert_eq!(found[0].help.as_deref(), Some(help), "{}", found[0].message);
}

const SHORT: &str = "in force from 2002-01-01 per cfr\ncovers where every vehicle per cfr\n";

fn part(id: &str, outcomes: &str) -> String {
    head(id, "  adopted only\n") + &format!("outcomes {outcomes}\n")
}

fn whole(id: &str, outcomes: &str) -> String {
    head(id, "") + &format!("outcomes {outcomes}\n{SHORT}")
}

const NONE: &str = "the program has no outcomes";
const DIFFERENT: &str = "the adopted programs have different outcomes";

/// The ladder is the program's own, or that of the programs it adopts, which must have the same one. A part gives none beside
/// a program. Of a program whose adoption failed nobody knows whether it would have had one.
#[rstest]
#[case::nothing_adopted("", &[], Err(NONE))]
#[case::what_cannot_be_had("adopts elsewhere as amended\n", &[], Err("there is no program `elsewhere`"))]
#[case::of_one("adopts one as amended\n", &[whole("one", "pass, fail")], Ok("pass fail"))]
#[case::of_two_alike("adopts one as amended\nadopts two as amended\n",
    &[whole("one", "pass, fail"), whole("two", "pass, fail")], Ok("pass fail"))]
#[case::of_two_that_differ("adopts one as amended\nadopts two as amended\n",
    &[whole("one", "pass, fail"), whole("two", "pass, reject, fail")], Err(DIFFERENT))]
#[case::of_two_in_another_order("adopts one as amended\nadopts two as amended\n",
    &[whole("one", "pass, reject, fail"), whole("two", "pass, fail, reject")], Err(DIFFERENT))]
#[case::of_two_of_other_classes("adopts one as amended\nadopts two as amended\n",
    &[whole("one", "pass, worse (reject)"), whole("two", "pass, worse (fail)")], Err(DIFFERENT))]
#[case::its_own_stands_for_both("outcomes pass, reject, fail\nadopts one as amended\nadopts two as amended\n",
    &[whole("one", "pass, fail"), whole("two", "pass, reject, fail")], Ok("pass reject fail"))]
#[case::of_a_program_beside_a_part("adopts one as amended\nadopts two as amended\n",
    &[part("one", "pass, reject"), whole("two", "pass, fail")], Ok("pass fail"))]
#[case::of_parts_alone("adopts one as amended\nadopts two as amended\n",
    &[part("one", "pass, fail"), part("two", "pass, fail")], Ok("pass fail"))]
#[case::of_parts_that_differ("adopts one as amended\nadopts two as amended\n",
    &[part("one", "pass, fail"), part("two", "pass, reject")], Err(DIFFERENT))]
fn whose_ladder_stands(#[case] body: &str, #[case] texts: &[String], #[case] expected: Result<&str, &str>) {
    let (text, found) = told(&format!("{SHORT}{body}"), &shelf(texts));
    match (found, expected) {
        (Ok(program), Ok(names)) => {
            let found: Vec<&str> = program.outcomes.iter().map(|outcome| outcome.name.as_str()).collect();
            assert_eq!(found.join(" "), names);
        }
        (Err(found), Err(message)) => {
            let messages: Vec<&str> = found.iter().map(|one| one.message.as_str()).collect();
            assert_eq!(messages, [message], "one message, not more");
            let span = found[0].labels[0].span;
            let place = text.get(span.start as usize..span.end as usize).unwrap();
            let last = body.lines().last().unwrap_or_default();
            assert!(last.contains(place) && place.is_empty() == last.is_empty(), "{place:?} is where it is said");
        }
        (found, _) => panic!("{found:?}"),
    }
}

/// An adopted block that refers to what does not stand on its dates is told at the adoption, since its own text is in another
/// file; a block of the file itself where it stands, with what it refers to.
#[rstest]
#[case::adopted("adopts base as amended\n  strikes finding heavy\n", "adopts base as amended", &[])]
#[case::own(
    "outcomes pass, fail\ncovers where every vehicle per cfr\nclause own on other\n  fail where heavy\n  \"No.\"\n  per cfr\n",
    "fail where heavy",
    &["finding heavy where"]
)]
fn what_does_not_stand_is_told_where_it_is_written(#[case] body: &str, #[case] place: &str, #[case] beside: &[&str]) {
    let later = "finding heavy where gross weight above 9000 lb\n  from 2010-01-01\n";
    let (text, found) = told(&format!("in force from 2002-01-01 per cfr\n{body}{later}"), &shelf(&[base()]));
    let found: Vec<_> = found.unwrap_err().into_iter().filter(|one| one.code == "check/not-there-then").collect();
    assert_eq!(found.len(), 1, "{found:?}");
    assert_eq!(found[0].message, "finding heavy does not stand on 2002-01-01, and this does");
    let at = |span: wherefore::internals::source::Span| text.get(span.start as usize..span.end as usize).unwrap();
    let places: Vec<&str> = found[0].labels.iter().map(|label| at(label.span)).collect();
    assert_eq!(places.len(), 1 + beside.len(), "{places:?}");
    for (found, expected) in places.iter().zip(std::iter::once(&place).chain(beside)) {
        assert!(found.starts_with(expected), "{places:?}");
    }
}

/// The answers that a worked case gives to questions of the program, as a document has them: yes and no as `true` and `false`
/// (docs: the snapshot). The document of a case is read as the case.
#[rstest]
#[case::yes("special is yes", "special", DeclaredValue::YesNo(true), "true")]
#[case::no("special is no", "special", DeclaredValue::YesNo(false), "false")]
#[case::a_word("exhaust is leaking", "exhaust", DeclaredValue::Word("leaking".to_owned()), "\"leaking\"")]
#[case::a_number("days is 2 days", "days", DeclaredValue::Number(2), "2")]
#[case::hours_in_days("days is 48 hours", "days", DeclaredValue::Number(2), "2")]
#[case::a_result("tail is passed", "tail", DeclaredValue::Word("passed".to_owned()), "\"passed\"")]
fn answers_of_a_case_are_those_of_its_document(
    #[case] facts: &str,
    #[case] name: &str,
    #[case] value: DeclaredValue,
    #[case] written: &str,
) {
    let body = format!(
        "{SHORT}outcomes pass, fail\nfact special: yes or no\n  asks \"Special?\"\n  observed by papers\n\
         fact exhaust: sound, leaking, missing\n  asks \"Sound?\"\n  observed by look\n\
         fact days: 0 through 3 days\n  asks \"How many?\"\n  observed by papers\n\
         result tail: passed, failed\n  asks \"How did it end?\"\n  observed by papers\n\
         case \"one\"\n  on 2020-01-01\n  facts {facts}\n  expect pass\n"
    );
    let (_, found) = told(&body, &Shelf(Vec::new()));
    let case = found.unwrap().cases.remove(0);
    assert_eq!(case.facts.declared.get(name), Some(&value));
    let whole = document::Document { snapshot: case.facts, extra: Vec::new() };
    let text = serde_json::to_string(&document::write(&whole)).unwrap();
    assert!(text.contains(&format!("\"declared\":{{\"{name}\":{written}}}")), "{text}");
    assert_eq!(document::read(text.as_bytes()).unwrap(), whole);
}

fn area_names(program: &Program) -> Vec<&str> {
    program.areas.all().iter().map(|area| area.name.as_str()).collect()
}

/// A program that declares no areas knows those that it tests or presumes, adopted ones too; one that declares them may adopt
/// nothing that names another (`grammar/language.md`, "Items").
#[test]
fn areas_of_what_is_adopted() {
    let base = head("base", "")
        + "in force from 2002-01-01 per cfr\noutcomes pass, fail\ncovers where area is \"Larkspur\" or \"Aster\" per cfr\n";
    let shelf = shelf(&[base]);
    let adopts = "adopts base as amended\n";
    let own = "leaves out where area is not \"Vetch\": not-subject \"outside\"\n  per cfr\n\
               presumes area is \"Bluestem\" where not known\n  per cfr\n";
    let implied = told(&format!("{adopts}{own}"), &shelf).1.unwrap();
    assert_eq!(area_names(&implied), ["aster", "bluestem", "larkspur", "vetch"]);
    let declared = told(&format!("{adopts}areas\n  - \"Larkspur\", \"Aster\"\n"), &shelf).1.unwrap();
    assert_eq!(area_names(&declared), ["Larkspur", "Aster"]);
    let found = told(&format!("{adopts}areas\n  - \"Larkspur\"\n"), &shelf).1.unwrap_err();
    let found: Vec<(&str, &str)> = found.iter().map(|one| (one.code, one.message.as_str())).collect();
    let message = "what is adopted names the area \"aster\", which is not declared here";
    assert_eq!(found, [("check/unknown-area", message)]);
}

/// Where both variants are adopted, the message is put where the later one is, in the order of their ids, however the file writes
/// them (the order of items means nothing), and never at a program that has no part in it.
#[rstest]
#[case::in_their_order(["early", "one", "two", "unlike"])]
#[case::the_other_way(["unlike", "two", "one", "early"])]
fn two_adopted_variants_are_told_where_the_later_is_adopted(#[case] adopts: [&str; 4]) {
    let head = |id: &str| head(id, "") + "in force from 2002-01-01\n  per cfr\noutcomes pass, reject, fail\n";
    let texts = adopts.map(|id| {
        let clause = if ["one", "two"].contains(&id) { "lamp" } else { id };
        let clause =
            format!("clause {clause} on lamp\n  fail where lamp commanded on\n  \"As {id} says.\"\n  per cfr\n");
        format!("{}covers where every vehicle\n  per cfr\n{clause}", head(id))
    });
    let adopts = adopts.map(|id| format!("adopts {id} as amended\n")).concat();
    let text = format!("{}{adopts}", head("example"));
    let found = read("example", &text, &shelf(&texts)).1.diagnostics;
    let twice: Vec<_> = found.iter().filter(|one| one.code == "check/variant-twice").collect();
    assert_eq!(twice.len(), 1, "{found:?}");
    let place = text.find("adopts two").unwrap();
    let at = usize::try_from(twice[0].labels[0].span.start).unwrap();
    assert!((place..place + "adopts two as amended\n".len()).contains(&at), "{at}, not at {place}");
    assert_eq!(twice[0].help.as_deref(), Some("strike one of them under `adopts`"));
}
