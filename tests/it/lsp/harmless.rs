//! Quick fixes do no harm: over every text of the tests that gets a message, a fix leaves no more errors than there were,
//! and takes out a date or a citation only where its title says so.

use super::client::{Client, Texts, edited};
use crate::explained::{names, within};
use rstest::rstest;
use serde_json::{Value, json};
use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;
use wherefore::internals::report::explain::{Known, explain};

const URI: &str = "file:///desk/example.wherefore";

/// Fixes after which an error is told that was none before, each with the reason.
const ELSEWHERE: &[(&str, &str)] = &[(
    "check/area-not-in-list",
    "the name is mended where it is declared, and each test of it is then told, with the same fix",
)];

struct Fix {
    title: String,
    code: String,
    after: String,
    /// The lines that it adds, first and last, where it adds whole lines: a blank that it leaves stands there.
    added: Option<(u64, u64)>,
}

fn client(text: &str) -> Client {
    let mut client = Client::new(Texts(BTreeMap::from([("/desk/example.wherefore".to_owned(), text.to_owned())])));
    client.open(URI, text);
    client
}

/// The errors of a text: the line of each, and its words.
fn errors(text: &str) -> Vec<(u64, String)> {
    let client = client(text);
    let all = client.diagnostics[URI].iter().filter(|one| one["severity"] == 1);
    let line = |one: &Value| one["range"]["start"]["line"].as_u64().unwrap();
    all.map(|one| (line(one), format!("{} {}", one["code"], one["message"]))).collect()
}

/// The lines that an edit adds.
fn added(edit: &Value) -> Option<(u64, u64)> {
    let (text, first) = (edit["newText"].as_str().unwrap(), edit["range"]["start"]["line"].as_u64().unwrap());
    let is_added = edit["range"]["start"] == edit["range"]["end"] && text.contains('\n');
    is_added.then(|| (first, first + text.matches('\n').count() as u64))
}

/// Every quick fix that is offered anywhere in a text.
fn fixes(text: &str, is_studied: bool) -> Vec<Fix> {
    let mut client = client(text);
    if is_studied {
        client.study();
    }
    let range = json!({"start": {"line": 0, "character": 0}, "end": {"line": 99_999, "character": 0}});
    let params = json!({"textDocument": {"uri": URI}, "range": range, "context": {"diagnostics": []}});
    let found = client.ask("textDocument/codeAction", params).unwrap();
    let is_fix = |action: &&Value| action["kind"] == "quickfix";
    let one = |action: &Value| Fix {
        title: action["title"].as_str().unwrap().to_owned(),
        code: action["diagnostics"][0]["code"].as_str().unwrap_or("").to_owned(),
        after: edited(text, &action["edit"]["documentChanges"][0]["edits"]),
        added: added(&action["edit"]["documentChanges"][0]["edits"][0]),
    };
    found.as_array().unwrap().iter().filter(is_fix).map(one).collect()
}

/// Dates of a text, each as often as it stands there, and how many citations it has.
fn law(text: &str) -> BTreeMap<String, usize> {
    let mut law = BTreeMap::new();
    let is_date = |word: &str| word.len() == 10 && word.split('-').count() == 3 && word.starts_with(['1', '2']);
    for line in text.lines() {
        let words: Vec<&str> = line.split(|mark: char| mark.is_whitespace() || mark == ',').collect();
        for (at, word) in words.iter().enumerate() {
            let cited = *word == "per" && words.get(at + 1).is_some_and(|next| !next.is_empty());
            if is_date(word) {
                *law.entry((*word).to_owned()).or_insert(0) += 1;
            } else if cited {
                *law.entry("per".to_owned()).or_insert(0) += 1;
            }
        }
    }
    law
}

/// What a fix took out of the law that its title does not name.
fn lost(before: &str, fix: &Fix) -> Vec<String> {
    let after = law(&fix.after);
    let is_gone = |(what, many): &(String, usize)| after.get(what).copied().unwrap_or(0) < *many;
    let is_told = |what: &str| fix.title.contains(what) || fix.title.contains(", all of its ");
    law(before).into_iter().filter(is_gone).map(|(what, _)| what).filter(|what| !is_told(what)).collect()
}

/// The texts of the tests: where each is from, the text, whether its lints and analyses are asked as well.
fn texts() -> Vec<(String, String, bool)> {
    let mut all: Vec<(String, String, bool)> = Vec::new();
    for folder in ["tests/check/errors", "tests/check/patterns", "tests/check/points", "tests/syntax/err"] {
        let path = Path::new(env!("CARGO_MANIFEST_DIR")).join(folder);
        let mut files: Vec<_> = std::fs::read_dir(path).unwrap().map(|entry| entry.unwrap().path()).collect();
        files.sort();
        for file in files.iter().filter(|file| file.extension().is_some_and(|ending| ending == "wherefore")) {
            let Ok(text) = std::fs::read_to_string(file) else { continue };
            all.push((file.file_name().unwrap().to_string_lossy().into_owned(), text, false));
        }
    }
    for one in crate::first_tries::tries() {
        all.push((one.written.to_owned(), crate::first_tries::text(&one), false));
    }
    for code in names() {
        if let Some(before) = explain(&code, Known::default()).unwrap().before {
            all.push((code, within(&before), true));
        }
    }
    all
}

#[test]
fn no_quick_fix_makes_a_text_worse() {
    let (mut faults, mut tried) = (String::new(), 0);
    let mut codes = BTreeSet::new();
    for (name, text, is_studied) in texts() {
        let before = errors(&text);
        for fix in fixes(&text, is_studied) {
            tried += 1;
            codes.insert(fix.code.clone());
            let after = errors(&fix.after);
            // What a fix leaves blank is an error until it is filled, and stands in the lines that it adds.
            let is_blank = |line: u64| fix.added.is_some_and(|(first, last)| (first..=last).contains(&line));
            let kept = after.iter().filter(|(line, _)| !is_blank(*line)).count();
            let is_told = ELSEWHERE.iter().any(|(code, _)| *code == fix.code);
            if kept > before.len() && !is_told {
                let known = |text: &String| before.iter().any(|(_, one)| one == text);
                let new: Vec<&String> = after.iter().map(|(_, one)| one).filter(|one| !known(one)).collect();
                faults.push_str(&format!("{name}: {} `{}` makes {new:?}\n", fix.code, fix.title));
            }
            let lost = lost(&text, &fix);
            if !lost.is_empty() {
                faults.push_str(&format!("{name}: {} `{}` takes out {lost:?}\n", fix.code, fix.title));
            }
        }
    }
    assert!(faults.is_empty(), "{faults}");
    assert!(ELSEWHERE.iter().all(|(code, reason)| codes.contains(*code) && reason.len() > 20));
    // As many as there were when this was written; their number only grows.
    assert!(tried >= 520 && codes.len() >= 96, "{tried} fixes of {} messages", codes.len());
}

/// A clause, a limit or a table in a small sound file, and what is offered for it: titles, and the line that each leaves.
#[rstest]
#[case::not_complete("clause x on other\n  fail where catalyst is not complete\n  per ex\n", &["Write `incomplete`"],
    "  fail where catalyst is incomplete\n")]
#[case::not_supported("clause x on other\n  fail where catalyst is not supported\n  per ex\n", &["Write `unsupported`"],
    "  fail where catalyst is unsupported\n")]
#[case::supported_and_incomplete("clause x on other\n  fail where catalyst is supported and incomplete\n  per ex\n",
    &["Write `incomplete`"], "  fail where catalyst is incomplete\n")]
#[case::two_states("clause x on other\n  fail where hybrid and catalyst is incomplete and unsupported\n  per ex\n",
    &["Write `catalyst is unsupported`"], "  fail where hybrid and catalyst is incomplete and catalyst is unsupported\n")]
#[case::a_fact("fact proved: yes or no\n  asks \"Proved?\"\n  observed by papers\nclause x on other\n  fail where not proved\n  per ex\n",
    &["Write `proved is no`"], "  fail where proved is no\n")]
#[case::a_word("clause x on other\n  fail where class is light duty\n  per ex\n", &["Write `light-duty`"],
    "  fail where class is light-duty\n")]
#[case::the_lamp("clause x on other\n  fail where lamp is dark with the key on\n  per ex\n",
    &["Write `lamp dark with the key on`"], "  fail where lamp dark with the key on\n")]
#[case::dates_of_a_row("limit new\n  - model year 1996 or later: at most 1\n    from 2024-07-01\n  per ex\n", &[], "")]
#[case::period_of_a_row("period old from 2019-01-01 through 2024-06-30\nlimit new\n  - every vehicle: at most 1\n    in old\n  per ex\n", &[], "")]
#[case::date_of_a_citation("source two \"Two\" law, read 2026-01-01\n  per ex from 2020-01-01\n", &[], "")]
fn what_is_offered(#[case] item: &str, #[case] titles: &[&str], #[case] line: &str) {
    let text = within(item);
    let found: Vec<Fix> = fixes(&text, false).into_iter().filter(|fix| !fix.title.starts_with("Acknowledge")).collect();
    assert!(!errors(&text).is_empty(), "{text}");
    assert_eq!(found.iter().map(|fix| fix.title.as_str()).collect::<Vec<_>>(), titles);
    for fix in &found {
        assert!(fix.after.contains(line), "{}", fix.after);
        let left = errors(&fix.after);
        assert!(left.is_empty(), "{left:?}\n{}", fix.after);
    }
}
