//! Every message and what an editor offers for it, over the example that `explain` shows: a quick fix, an acknowledgement
//! alone, or nothing, with the reason. Each fix that is offered takes the message away, or leaves a blank that is an error.

use super::client::{Client, Texts, edited};
use crate::explained::{names, within};
use serde_json::{Value, json};
use std::collections::{BTreeMap, BTreeSet};
use wherefore::internals::report::explain::{Known, explain};

const URI: &str = "file:///desk/example.wherefore";

/// Messages for which nothing is offered, each with the reason.
const NOTHING: &[(&str, &str)] = &[
    ("analysis/too-large", "no change of one place makes a program smaller"),
    ("case/fails", "the clause or the case is wrong, and only the law tells which"),
    ("check/adopted-faulty", "what is to be mended stands in another file"),
    ("check/adopted-not-in-force", "which day is meant is the writer's to say"),
    ("check/adoption-cycle", "which of the files stands on its own is the writer's to say"),
    ("check/bad-code", "no code is so near that it is meant for sure"),
    ("check/bad-date", "which day is meant is the writer's to say"),
    ("check/cannot-exist", "which of two facts is wrong is the writer's to say"),
    ("check/cases-unread", "the error that keeps the cases from being read has its own remedy"),
    ("check/count-out-of-range", "which number is meant is the law's to say"),
    ("check/ends-before-it-begins", "either day may be wrong, and only the law tells which"),
    ("check/every-word", "which of the words are meant is the law's to say"),
    ("check/first-not-pass", "which outcome lets a vehicle pass is the law's to say"),
    ("check/give-way-in-a-ring", "which clause comes first is the law's to say"),
    ("check/guard-not-here", "what depends on the question has to be said elsewhere"),
    ("check/leads-back", "which of the findings stands on its own is the writer's to say"),
    ("check/left-out-outcome", "which outcome is meant is the law's to say"),
    ("check/mixed-lines", "which properties belong to which line is the writer's to say"),
    ("check/monitor-misplaced", "the syntax tells it first, with the states that there are"),
    ("check/name-taken", "another name is the writer's to find"),
    ("check/name-twice", "which of the two is to be called otherwise, and how, is the writer's to say"),
    ("check/never-absent", "the test has to be left out together with what joins it"),
    ("check/not-in-a-table", "the test moves into the clause, and which clause is the writer's to say"),
    ("check/not-there-then", "either date may be wrong, and only the law tells which"),
    ("check/only-needs-a-group", "which group of codes is meant is the law's to say"),
    ("check/out-of-range", "which number is meant is the law's to say"),
    ("check/outcome-reserved", "another name is the writer's to find"),
    ("check/pass-line", "which graver outcome is meant is the law's to say"),
    ("check/presumption-condition", "what cannot be tested here has to be said in the clause"),
    ("check/presumption-forbidden", "nothing takes the place of a reading"),
    ("check/program-twice", "the other program needs a file of its own"),
    ("check/reading-gone", "what the adopter means instead is the writer's to say"),
    ("check/readings-clash", "which reading is meant is the writer's to say"),
    ("check/reason-missing", "a reason is never written for the writer"),
    ("check/saturated", "how far a reader counts is no matter of words"),
    ("check/several-areas", "which of the counties is meant is the law's to say"),
    ("check/source-ambiguous", "offered as for a source that is not declared; its example needs two more files"),
    ("check/strikes-in-part", "what is to stay of the block has to be written anew"),
    ("check/struck-but-used", "what takes the place of what is struck is the writer's to say"),
    ("check/table-file", "what is to be mended stands in another file"),
    ("check/table-file-missing", "the file has to be put beside the program"),
    ("check/too-many", "no change of one place makes a program smaller"),
    ("check/unit-missing", "which unit is meant is the law's to say"),
    ("check/unit-wrong", "the number has to be reckoned anew from the law's own"),
    ("check/unknown-topic", "the syntax tells it first, with the nearest topic"),
    ("check/unknown-unit", "the syntax tells it first, with the units that there are"),
    ("check/variant-twice", "which days each version holds is the law's to say"),
    ("check/wrong-type", "how the fact is compared with what is the law's to say"),
    ("limit/bullets", "no change of one place makes a file smaller"),
    ("limit/depth", "the inner condition needs a name, which is the writer's to find"),
    ("limit/errors", "each of the errors has its own remedy"),
    ("limit/file", "no change of one place makes a file smaller"),
    ("limit/items", "no change of one place makes a file smaller"),
    ("limit/name", "a shorter name is the writer's to find"),
    ("limit/number", "which number is meant is the law's to say"),
    ("limit/text", "a shorter text is the writer's to find"),
    ("syntax/bullet-place", "what the line before it means is not known"),
    ("syntax/date", "which of the figures is the month is the writer's to say"),
    ("syntax/ends-early", "what follows is the writer's to say"),
    ("syntax/escape", "what was meant by the mark is the writer's to say"),
    ("syntax/item", "no better message is known, and no remedy"),
    ("syntax/nested-bullet", "whether it is joined or stands beside is the writer's to say"),
    ("syntax/nested-group", "the inner condition needs a name, which is the writer's to find"),
    ("syntax/not-text", "the file has to be saved anew by what wrote it"),
    ("syntax/number", "whether a mark parts thousands or decimals is the writer's to say"),
    ("syntax/older-words", "`fmt --upgrade` alone says it, of a row that would not rule alike in the words of today"),
    ("syntax/or", "what `or` and `and` hold together is the writer's to say"),
    ("syntax/unexpected", "what was meant is not known"),
    ("syntax/unit", "whether the number is meant in that unit is the writer's to say"),
];

/// Messages whose remedy leaves a blank to fill, which is an error of its own until it is filled.
const BLANKS: &[&str] = &["check/no-areas", "check/part-missing", "check/unknown-period"];

/// Warnings for which an acknowledgement with a reason is all that is offered: they tell what the rules do, and only the
/// law can say whether they should.
const ACKNOWLEDGED: &[&str] = &[
    "analysis/always-set-aside",
    "analysis/concerns-nobody",
    "analysis/doing-better-is-graver",
    "analysis/due-for-nobody",
    "analysis/excuses-nobody",
    "analysis/gap",
    "analysis/leaves-out-nobody",
    "analysis/left-out-overlap",
    "analysis/limit-always-met",
    "analysis/limit-hole",
    "analysis/limit-overlap",
    "analysis/never-decides",
    "analysis/never-unmet",
    "analysis/nobody-passes",
    "analysis/passes-unmonitored",
    "analysis/passes-without-communication",
    "analysis/question-changes-nothing",
    "analysis/ranked-by-ladder",
    "analysis/row-reaches-nobody",
    "analysis/version-hole",
    "check/absence-not-said",
    "check/duplicate-clause",
    "check/read-before-published",
    "check/replaces-published",
    "check/source-differs",
];

struct Offered {
    title: String,
    after: String,
}

/// What is offered for the first message of a code, and all messages.
fn offered(code: &str, text: &str) -> (Vec<Offered>, Vec<String>) {
    let mut client = Client::new(Texts(BTreeMap::from([("/desk/example.wherefore".to_owned(), text.to_owned())])));
    client.open(URI, text);
    client.study();
    let messages = client.diagnostics[URI].clone();
    let of_code: Vec<&Value> = messages.iter().filter(|one| one["code"] == code).collect();
    let all = messages.iter().map(|one| format!("{} {}", one["code"], one["message"])).collect::<Vec<_>>();
    let Some(first) = of_code.first() else { return (Vec::new(), all) };
    let params = json!({"textDocument": {"uri": URI}, "range": first["range"], "context": {"diagnostics": []}});
    let found = client.ask("textDocument/codeAction", params).unwrap();
    let is_for = |action: &&Value| action["diagnostics"][0]["code"] == code;
    let one = |action: &Value| Offered {
        title: action["title"].as_str().unwrap().to_owned(),
        after: edited(text, &action["edit"]["documentChanges"][0]["edits"]),
    };
    (found.as_array().unwrap().iter().filter(is_for).map(one).collect(), all)
}

#[test]
fn every_message_has_a_remedy_or_a_reason_for_none() {
    let (mut fixed, mut acknowledged, mut nothing) = (BTreeSet::new(), BTreeSet::new(), BTreeSet::new());
    let mut faults = String::new();
    for code in names() {
        let Some(text) = explain(&code, Known::default()).unwrap().before.as_deref().map(within) else {
            nothing.insert(code);
            continue;
        };
        let (offers, before) = offered(&code, &text);
        let (reasons, fixes): (Vec<&Offered>, Vec<&Offered>) =
            offers.iter().partition(|offer| offer.title.starts_with("Acknowledge"));
        for fix in &fixes {
            let (_, after) = offered(&code, &fix.after);
            let of_code = |all: &[String]| all.iter().filter(|one| one.starts_with(&format!("\"{code}\""))).count();
            let is_open = BLANKS.contains(&code.as_str()) && after.iter().any(|one| !before.contains(one));
            if of_code(&after) >= of_code(&before) && !is_open {
                faults.push_str(&format!("{code}: `{}` does not help\n{}\n", fix.title, fix.after));
            }
        }
        let list = match (fixes.is_empty(), reasons.is_empty()) {
            (false, _) => &mut fixed,
            (true, false) => &mut acknowledged,
            (true, true) => &mut nothing,
        };
        list.insert(code);
    }
    assert!(faults.is_empty(), "{faults}");
    let reasons: BTreeSet<String> = NOTHING.iter().map(|(code, _)| (*code).to_owned()).collect();
    assert!(NOTHING.iter().all(|(_, reason)| reason.len() > 20));
    let known: BTreeSet<String> = ACKNOWLEDGED.iter().map(|code| (*code).to_owned()).collect();
    let differ = [
        ("no remedy and no reason", nothing.difference(&reasons)),
        ("a reason and a remedy", reasons.difference(&nothing)),
        ("acknowledged alone and not listed so", acknowledged.difference(&known)),
        ("listed as acknowledged alone", known.difference(&acknowledged)),
    ];
    let differ = differ.map(|(what, codes)| (what, codes.collect::<Vec<_>>()));
    assert!(differ.iter().all(|(_, codes)| codes.is_empty()), "{differ:?}");
    // As many as there were when this was written: their number only grows.
    assert!(fixed.len() >= 71, "{}", fixed.len());
}
