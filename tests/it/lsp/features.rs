//! Every feature of the server over one small county, invented.

use super::client::{Client, Texts, at, cut, edited};
use serde_json::{Value, json};
use std::collections::BTreeMap;

pub const URI: &str = "file:///desk/zz-heath.wherefore";
pub const OTHER: &str = "file:///desk/zz-moor.wherefore";

/// An invented county; `𝄞` is two units of UTF-16, so that columns counted otherwise are found out.
pub const HEATH: &str = r#"# An invented county.
# No such law exists.
program zz-heath "Heath 𝄞 County, invented"
  authority "Nobody"
  language 2
  standing draft

source text "Heath 𝄞 code 1.2" law, read 2026-11-25

in force from 2020-01-01
  per text

outcomes pass, fail

fact sealed: whole, broken
  asks "Is the seal whole?"
  observed by look

covers where fuel is gasoline
  per text

counts supported monitors among catalyst, evaporative
  per text

limit
  - model year 2000 or earlier: at most 2 incomplete
  - model year 2001 or later: at most 1 incomplete, only evaporative
  per text "(b)"

finding tampered where sealed is broken

clause lamp on lamp
  fail where lamp commanded on
  gives way to readiness
  per text "𝄞 (a)", secondary
clause readiness on readiness
  fail where too many monitors are incomplete and not tampered
  per text

text silent on identity, bulb-check, stored-codes, pending-codes, permanent-codes, connector,
    communication, since-clearing, readiness-at-retest
  per text, by absence

ordinary sound; model year 2010; fuel is gasoline; sealed is whole; lamp not commanded on;
  complete: catalyst, evaporative; no stored code; no pending code; no permanent code
case "lamp"
  on 2021-05-01
  facts lamp commanded on; otherwise ordinary
  expect fail by lamp
  follows from text
"#;

pub const MOOR: &str = r#"program zz-moor "Moor County, invented"
  authority "Nobody"
  language 2
  standing draft

source text "Moor code" law, read 2026-11-25

outcomes pass, fail

in force from 2021-01-01
  per text

adopts zz-heath as amended
  strikes clause lamp
"#;

fn client() -> Client {
    let files = [
        ("/desk/zz-heath.wherefore".to_owned(), HEATH.to_owned()),
        ("/desk/zz-moor.wherefore".to_owned(), MOOR.to_owned()),
    ];
    let mut client = Client::new(Texts(BTreeMap::from(files)));
    client.open(URI, HEATH);
    client
}

fn here(place: Value) -> Value {
    json!({"textDocument": {"uri": URI}, "position": place})
}

pub fn with(mut params: Value, more: Value) -> Value {
    params.as_object_mut().unwrap().extend(more.as_object().unwrap().clone());
    params
}

fn hover(client: &mut Client, words: &str, into: usize) -> String {
    let answer = client.ask("textDocument/hover", here(at(HEATH, words, into))).unwrap();
    answer["contents"]["value"].as_str().unwrap_or_default().to_owned()
}

pub fn labels(client: &mut Client, uri: &str, text: &str, place: Value) -> Vec<String> {
    let _ = text;
    let params = json!({"textDocument": {"uri": uri}, "position": place});
    let answer = client.ask("textDocument/completion", params).unwrap();
    answer.as_array().unwrap().iter().map(|item| item["label"].as_str().unwrap().to_owned()).collect()
}

/// What is offered where a line is typed at the end of the county's file.
fn typed(lines: &str) -> Vec<String> {
    let mut client = client();
    let text = format!("{HEATH}\n{lines}");
    client.open(URI, &text);
    let end = json!({"line": text.matches('\n').count(), "character": text.rsplit('\n').next().unwrap().encode_utf16().count()});
    labels(&mut client, URI, &text, end)
}

#[test]
fn the_county_is_clean_and_messages_come_and_go_with_the_typing() {
    let mut client = client();
    assert_eq!(client.codes(URI), Vec::<String>::new());
    let word = at(HEATH, "lamp commanded on\n", 0);
    let end = at(HEATH, "lamp commanded on\n", 4);
    client.change(URI, 2, json!({"start": word, "end": end}), "lmap");
    let messages = client.diagnostics[URI].clone();
    assert_eq!(client.codes(URI), ["syntax/unknown-fact"]);
    let text = HEATH.replacen("lamp commanded on\n", "lmap commanded on\n", 1);
    assert_eq!(cut(&text, &messages[0]["range"]), "lmap commanded on");
    client.change(URI, 3, json!({"start": word, "end": end}), "lamp");
    assert_eq!(client.codes(URI), Vec::<String>::new());
    client.tell("textDocument/didClose", json!({"textDocument": {"uri": URI}}));
    assert!(client.diagnostics[URI].is_empty());
    assert!(client.ask("textDocument/hover", here(json!({"line": 0, "character": 0}))).unwrap().is_null());
    assert!(client.ask("textDocument/noSuch", json!({})).is_err());
    assert!(client.ask("textDocument/hover", json!({"nothing": 1})).is_err());
}

#[test]
fn findings_follow_when_the_file_has_been_studied() {
    let mut client = client();
    client.study();
    // No case reaches readiness, and a vehicle that supports no monitor passes: `check` says the same of the file.
    let codes = client.codes(URI);
    assert!(codes.contains(&"check/no-case-reaches".to_owned()), "{codes:?}");
    assert!(codes.contains(&"analysis/passes-unmonitored".to_owned()), "{codes:?}");
}

#[test]
fn a_clause_is_told_with_its_law_and_a_fact_with_its_question() {
    let mut client = client();
    client.study();
    let lamp = hover(&mut client, "clause lamp on lamp", 8);
    assert!(lamp.contains("**clause lamp** on lamp"), "{lamp}");
    assert!(lamp.contains("Heath 𝄞 code 1.2, 𝄞 (a) [law, secondary]"), "{lamp}");
    assert!(lamp.contains("worked cases that it decides: 1"), "{lamp}");
    let weight = hover(&mut client, "model year 2000", 3);
    assert!(
        weight.contains("a number from 1900 through 2100") && weight.contains("What is the model year?"),
        "{weight}"
    );
    assert!(hover(&mut client, "lamp commanded on\n", 2).contains("`lamp not commanded on`"));
    assert!(hover(&mut client, "sealed is broken", 1).contains("Is the seal whole?"));
    assert!(hover(&mut client, "among catalyst", 8).contains("not continuous"));
    assert!(hover(&mut client, "standing draft", 2).contains("**standing**"));
    assert_eq!(hover(&mut client, "# An invented", 4), "");
}

#[test]
fn how_much_a_clause_decides_stands_above_it_and_runs_its_cases() {
    let mut client = client();
    let asked = json!({"textDocument": {"uri": URI}});
    assert_eq!(
        client.ask("textDocument/codeLens", asked.clone()).unwrap(),
        json!([]),
        "nothing is made up before the study"
    );
    client.study();
    let lenses = client.ask("textDocument/codeLens", asked).unwrap();
    let titles: Vec<&str> =
        lenses.as_array().unwrap().iter().map(|lens| lens["command"]["title"].as_str().unwrap()).collect();
    // By hand: of the covered vehicles, half command the lamp on; `lamp` gives way to `readiness`, so it decides half less
    // those with too many incomplete.
    assert_eq!(titles.len(), 2);
    assert!(
        titles[0].starts_with("decides ") && titles[0].ends_with("of covered vehicles · 1 case · run"),
        "{titles:?}"
    );
    assert!(titles[1].ends_with("· 0 cases · run"), "{titles:?}");
    let command = &lenses[0]["command"];
    let asked = json!({"command": command["command"], "arguments": command["arguments"]});
    assert_eq!(client.ask("workspace/executeCommand", asked).unwrap(), "\"lamp\": holds");
    assert!(client.ask("workspace/executeCommand", json!({"command": "another", "arguments": []})).is_err());
}

#[test]
fn the_limit_in_force_stands_beside_its_test() {
    let mut client = client();
    let whole = json!({"start": {"line": 0, "character": 0}, "end": {"line": 99, "character": 0}});
    let hints = client.ask("textDocument/inlayHint", json!({"textDocument": {"uri": URI}, "range": whole})).unwrap();
    let hints = hints.as_array().unwrap();
    assert_eq!(hints.len(), 1);
    assert_eq!(
        hints[0]["label"],
        "(model year 2000 or earlier: at most 2 incomplete; model year 2001 or later: at most 1 incomplete, only evaporative)"
    );
    assert_eq!(
        hints[0]["position"],
        at(HEATH, "too many monitors are incomplete", "too many monitors are incomplete".len())
    );
}

#[test]
fn what_can_be_typed_depends_on_the_place() {
    let has = |found: &[String], words: &[&str]| {
        for word in words {
            assert!(found.iter().any(|label| label == word), "{word} is missing: {found:?}");
        }
    };
    has(&typed("cl"), &["clause"]);
    has(&typed(""), &["clause", "not expressible here", "acknowledges"]);
    assert_eq!(typed("# cl"), Vec::<String>::new());
    has(&typed("clause x on lamp\n  "), &["fail", "requires", "concerns", "gives way to", "per"]);
    has(&typed("clause x on "), &["lamp", "readiness-at-retest"]);
    has(&typed("clause x on lamp\n  per "), &["text"]);
    has(&typed("clause x on lamp\n  gives way to "), &["lamp", "readiness", "any"]);
    has(
        &typed("clause x on lamp\n  fail where "),
        &["lamp commanded on", "catalyst is", "tampered", "too many monitors are incomplete", "sealed is"],
    );
    has(&typed("clause x on lamp\n  fail where lamp comm"), &["lamp commanded on"]);
    has(&typed("clause x on lamp\n  fail where fuel is "), &["gasoline", "diesel"]);
    has(&typed("clause x on lamp\n  fail where fuel is gasoline or d"), &["diesel"]);
    has(&typed("clause x on lamp\n  fail where sealed is "), &["whole", "broken"]);
    has(&typed("clause x on lamp\n  fail where catalyst is "), &["incomplete", "complete wherever supported"]);
    has(&typed("limit x\n  - every vehicle: "), &["none incomplete", "at most", "number not seen"]);
    has(&typed("no rule applied on "), &["lamp", "readiness-at-retest"]);
    has(&typed("no rule applied on lamp, "), &["readiness-at-retest", "text not seen"]);
    has(&typed("no r"), &["no rule applied on"]);
    has(&typed("source r \"T\" "), &["law", "guidance"]);
    has(&typed("source r \"T\" law, "), &["read", "secondary", "older text"]);
    has(&typed("case \"x\"\n  "), &["on", "facts", "expect", "per"]);
    has(&typed("case \"x\"\n  expect "), &["pass", "fail", "not-subject"]);
    has(&typed("case \"x\"\n  expect fail by "), &["lamp", "readiness"]);
    has(&typed("case \"x\"\n  facts lamp"), &["lamp commanded on"]);
    has(&typed("case \"x\"\n  facts incomplete: "), &["catalyst", "hd-evaporative"]);
    has(&typed("case \"x\" on 2021-05-01\n  facts sound "), &["sound car"]);
    has(&typed("case \"x\"\n  expect fail by lamp per "), &["text"]);
    has(&typed("clause x on lamp\n  fail where area is one"), &["area is one of the areas"]);
    has(&typed("adopts us-least as amended\nclause x on lamp\n  per "), &["text"]);
    has(&typed("adopts "), &["us-model"]);
    has(&typed("areas of \""), &["Texas"]);
    has(&typed("areas of \"Texas\"\n  - \""), &["Harris"]);
    assert!(!typed("clause x on lamp\n  per ").contains(&"lamp".to_owned()));
}

#[test]
fn what_is_taken_is_put_in_the_place_of_what_was_typed() {
    let text = format!("{HEATH}\nclause x on lamp\n  fail where lamp comm");
    let mut client = client();
    client.open(URI, &text);
    let place = json!({"line": text.matches('\n').count(), "character": "  fail where lamp comm".len()});
    let items =
        client.ask("textDocument/completion", json!({"textDocument": {"uri": URI}, "position": place})).unwrap();
    let item = items.as_array().unwrap().iter().find(|item| item["label"] == "lamp commanded on").unwrap().clone();
    let after = edited(&text, &json!([item["textEdit"]]));
    assert!(after.ends_with("\n  fail where lamp commanded on"), "{after}");
}

#[test]
fn a_line_shows_its_parts_and_which_is_written() {
    let active = |line: &str| {
        let text = format!("{HEATH}\n{line}");
        let mut client = client();
        client.open(URI, &text);
        let lines = text.matches('\n').count();
        let place = json!({"line": lines, "character": text.rsplit('\n').next().unwrap().len()});
        let help =
            client.ask("textDocument/signatureHelp", json!({"textDocument": {"uri": URI}, "position": place})).unwrap();
        let signature = &help["signatures"][0];
        let active = help["activeParameter"].as_u64().unwrap_or(99) as usize;
        let label = signature["label"].as_str().unwrap_or_default().to_owned();
        (label, signature["parameters"][active]["label"].as_str().unwrap_or_default().to_owned())
    };
    assert_eq!(active("clause "), ("clause ID on TOPIC".into(), "ID".into()));
    assert_eq!(active("clause x on "), ("clause ID on TOPIC".into(), "on TOPIC".into()));
    assert_eq!(active("leaves out where age at most 3: ").1, "OUTCOME");
    assert_eq!(
        active("clause x on lamp\n  requires tampered, or else "),
        ("requires CONDITION, or else OUTCOME".into(), "or else OUTCOME".into())
    );
    assert_eq!(active("clause x on lamp\n  fail where "), ("OUTCOME where CONDITION".into(), "where CONDITION".into()));
    assert_eq!(active("case \"x\" on ").1, "on DATE");
    assert_eq!(active("# clause ").0, "");
}

#[test]
fn names_lead_to_their_declarations_and_back_across_files() {
    let mut client = client();
    let found = client.ask("textDocument/definition", here(at(HEATH, "gives way to readiness", 14))).unwrap();
    assert_eq!(cut(HEATH, &found[0]["range"]), "readiness");
    assert_eq!(found[0]["range"]["start"], at(HEATH, "clause readiness", 7));
    let found = client.ask("textDocument/definition", here(at(HEATH, "too many monitors are incomplete", 6))).unwrap();
    assert_eq!(cut(HEATH, &found[0]["range"]), "limit");
    // From an adopter into the file that it adopts, which is on the disk alone.
    client.tell("textDocument/didClose", json!({"textDocument": {"uri": URI}}));
    client.open(OTHER, MOOR);
    let place = json!({"textDocument": {"uri": OTHER}, "position": at(MOOR, "strikes clause lamp", 16)});
    let found = client.ask("textDocument/definition", place).unwrap();
    assert_eq!(found[0]["uri"], URI);
    assert_eq!(cut(HEATH, &found[0]["range"]), "lamp");
    client.open(URI, HEATH);
    let asked =
        |declared: bool| with(here(at(HEATH, "clause lamp", 8)), json!({"context": {"includeDeclaration": declared}}));
    let all = client.ask("textDocument/references", asked(true)).unwrap();
    let all = all.as_array().unwrap();
    assert_eq!(all.len(), 3, "the clause, the case and the adopter: {all:?}");
    assert_eq!(all.iter().filter(|one| one["uri"] == OTHER).count(), 1);
    assert_eq!(client.ask("textDocument/references", asked(false)).unwrap().as_array().unwrap().len(), 2);
}

#[test]
fn a_thing_is_renamed_everywhere_or_not_at_all() {
    let mut client = client();
    let rename = |client: &mut Client, words: &str, into: usize, to: &str| {
        client.ask("textDocument/rename", with(here(at(HEATH, words, into)), json!({"newName": to})))
    };
    let edit = rename(&mut client, "expect fail by lamp", 16, "lit-lamp").unwrap();
    let files = edit["documentChanges"].as_array().unwrap();
    assert_eq!(files.len(), 2);
    let of = |uri: &str| files.iter().find(|file| file["textDocument"]["uri"] == uri).unwrap();
    let after = edited(HEATH, &of(URI)["edits"]);
    assert_eq!(
        after,
        HEATH.replace("clause lamp on lamp", "clause lit-lamp on lamp").replace("by lamp", "by lit-lamp")
    );
    assert!(edited(MOOR, &of(OTHER)["edits"]).contains("strikes clause lit-lamp"));
    client.open(URI, &after);
    assert_eq!(client.codes(URI), Vec::<String>::new());
    client.open(URI, HEATH);
    // The text of a source is untouched by the name of one, and a fact is renamed in tests and facts alike.
    let edit = rename(&mut client, "sealed: whole", 2, "seal-state").unwrap();
    let after = edited(HEATH, &edit["documentChanges"][0]["edits"]);
    assert_eq!(after, HEATH.replace("sealed", "seal-state"));
    for (words, into, to, why) in [
        ("clause lamp", 8, "readiness", "already"),
        ("clause lamp", 8, "Lit Lamp", "lower-case"),
        ("clause lamp", 8, "where", "does not do"),
        ("among catalyst", 8, "cat", "of the language"),
        ("fuel is gasoline", 1, "petrol", "of the language"),
        ("# An invented", 4, "x", "has a name"),
    ] {
        let refused = rename(&mut client, words, into, to).unwrap_err();
        assert!(refused.contains(why), "{words} to {to}: {refused}");
    }
    let range = client.ask("textDocument/prepareRename", here(at(HEATH, "clause lamp", 9))).unwrap();
    assert_eq!(cut(HEATH, &range), "lamp");
    client.open(OTHER, MOOR);
    let place =
        json!({"textDocument": {"uri": OTHER}, "position": at(MOOR, "strikes clause lamp", 16), "newName": "x"});
    assert!(client.ask("textDocument/rename", place).unwrap_err().contains("declared in `zz-heath`"));
}

#[test]
fn the_outline_the_folds_and_the_colours() {
    let mut client = client();
    let asked = json!({"textDocument": {"uri": URI}});
    let symbols = client.ask("textDocument/documentSymbol", asked.clone()).unwrap();
    let symbols = symbols.as_array().unwrap();
    let names: Vec<&str> = symbols.iter().map(|one| one["name"].as_str().unwrap()).collect();
    assert_eq!(
        names,
        ["zz-heath", "text", "outcomes", "sealed", "covers", "limit", "tampered", "lamp", "readiness", "lamp"]
    );
    assert_eq!(cut(HEATH, &symbols[7]["selectionRange"]), "lamp");
    assert!(cut(HEATH, &symbols[7]["range"]).ends_with("\"𝄞 (a)\", secondary"));
    let folds = client.ask("textDocument/foldingRange", asked.clone()).unwrap();
    let lines: Vec<(u64, u64)> = folds
        .as_array()
        .unwrap()
        .iter()
        .map(|fold| (fold["startLine"].as_u64().unwrap(), fold["endLine"].as_u64().unwrap()))
        .collect();
    assert!(lines.starts_with(&[(0, 1), (2, 5)]), "{lines:?}");
    let tokens = client.ask("textDocument/semanticTokens/full", asked).unwrap();
    let data: Vec<u64> = tokens["data"].as_array().unwrap().iter().map(|number| number.as_u64().unwrap()).collect();
    let (mut line, mut column, mut found) = (0, 0, Vec::new());
    for token in data.chunks(5) {
        column = if token[0] == 0 { column + token[1] } else { token[1] };
        line += token[0];
        let range = json!({"start": {"line": line, "character": column}, "end": {"line": line, "character": column + token[2]}});
        found.push((cut(HEATH, &range), token[3], token[4]));
    }
    let has = |words: &str, kind: u64, declares: u64| {
        assert!(found.contains(&(words.into(), kind, declares)), "{words}: {found:?}")
    };
    has("# An invented county.", 0, 0);
    has("\"Heath 𝄞 code 1.2\"", 1, 0);
    has("2001", 2, 0);
    has("clause", 3, 0);
    has("readiness", 7, 1);
    has("readiness", 7, 0);
    has("catalyst", 11, 0);
}

#[test]
fn formatting_gives_the_canonical_text_and_leaves_a_faulty_one() {
    let mut client = client();
    let options = json!({"textDocument": {"uri": URI}, "options": {"tabSize": 2, "insertSpaces": true}});
    let loose = HEATH.replace(
        "  fail where too many monitors are incomplete and not tampered",
        "    fail   where over the limit\n        and not tampered",
    );
    client.open(URI, &loose);
    let edits = client.ask("textDocument/formatting", options.clone()).unwrap();
    let source = wherefore::internals::source::Source::new("x", &loose);
    let canonical =
        wherefore::internals::syntax::format(&wherefore::internals::syntax::parse(&source), &source).unwrap();
    assert_eq!(edited(&loose, &edits), canonical);
    client.open(URI, &canonical);
    assert_eq!(client.ask("textDocument/formatting", options.clone()).unwrap(), json!([]));
    client.open(URI, "clause\n");
    assert!(client.ask("textDocument/formatting", options).unwrap().is_null());
}

fn actions(client: &mut Client, text: &str, words: &str) -> Vec<(String, String)> {
    let place = at(text, words, 0);
    let range = json!({"start": place, "end": place});
    let params = json!({"textDocument": {"uri": URI}, "range": range, "context": {"diagnostics": []}});
    let found = client.ask("textDocument/codeAction", params).unwrap();
    let done = |action: &Value| {
        let edits = &action["edit"]["documentChanges"][0]["edits"];
        (action["title"].as_str().unwrap().to_owned(), edited(text, edits))
    };
    found.as_array().unwrap().iter().map(done).collect()
}

#[test]
fn a_message_with_a_remedy_offers_it() {
    let mut client = client();
    let text = HEATH.replace("where lamp commanded on", "where lmap commanded on");
    client.open(URI, &text);
    let offered = actions(&mut client, &text, "lmap");
    assert_eq!(offered[0], ("Write `lamp commanded on`".to_owned(), HEATH.to_owned()));
    // A source that is not declared: offered with what only the writer knows left blank, so that it is not clean yet.
    let text = HEATH.replace("per text \"(b)\"", "per annex \"(b)\"");
    client.open(URI, &text);
    let (_, after) =
        actions(&mut client, &text, "annex").into_iter().find(|(title, _)| title == "Add source `annex`").unwrap();
    client.open(URI, &after);
    assert!(!client.codes(URI).contains(&"check/unknown-source".to_owned()), "{after}");
    assert!(!client.codes(URI).is_empty(), "how it was seen is still to be said: {after}");
    client.open(URI, HEATH);
    client.study();
    let offered = actions(&mut client, HEATH, "clause readiness on");
    let (_, after) = offered.iter().find(|(title, _)| title.starts_with("Add a case for clause `readiness`")).unwrap();
    client.open(URI, after);
    assert!(!client.codes(URI).is_empty(), "the outcome is left to the writer");
    let (_, after) =
        offered.iter().find(|(title, _)| title.starts_with("Acknowledge `check/no-case-reaches`")).unwrap();
    assert!(after.ends_with("\nacknowledges check/no-case-reaches of readiness \"\"\n"), "{after}");
    client.open(URI, after);
    assert!(
        client.codes(URI).contains(&"check/reason-missing".to_owned()),
        "a reason is owed: {:?}",
        client.codes(URI)
    );
    // An older version of the language is rewritten.
    let text = HEATH.replace("language 2", "language 1").replace("𝄞", "x");
    client.open(URI, &text);
    let offered = actions(&mut client, &text, "authority");
    assert!(
        offered.iter().any(|(title, after)| title.contains("newest version") && after.contains("language 2")),
        "{offered:?}"
    );
}

#[test]
fn a_change_in_an_adopted_file_is_seen_by_its_adopter() {
    let mut client = client();
    client.open(OTHER, MOOR);
    let before = client.codes(OTHER);
    assert!(!before.contains(&"check/adopted-faulty".to_owned()), "{before:?}");
    let name = at(HEATH, "clause lamp", 7);
    let end = at(HEATH, "clause lamp", 11);
    client.change(URI, 2, json!({"start": name, "end": end}), "lantern");
    // The worked case of the adopted file names a clause that is gone: it has an error, and its adopter says so.
    assert!(client.codes(OTHER).contains(&"check/adopted-faulty".to_owned()), "{:?}", client.codes(OTHER));
    client.open(URI, HEATH);
    assert_eq!(client.codes(OTHER), before);
}
