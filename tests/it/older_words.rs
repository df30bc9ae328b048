//! Older words are read for ever: every shipped file, and every example of the reference, said in them is the same tree and the
//! same program; the formatter writes the words of today. What leaves vehicles out is said by what becomes of them where that
//! is proven to change nothing, and else left.

use crate::check::read;
use crate::syntax::fenced_blocks;
use crate::syntax_format::without_places;
use rstest::rstest;
use std::path::Path;
use wherefore::internals::catalog::{BuiltIn, Catalog, Files, Over};
use wherefore::internals::desk::{Upgraded, upgraded};
use wherefore::internals::program::{Selection, dump, epochs, select};
use wherefore::internals::record::{Record, Request, digest, json_value, replay::Stored};
use wherefore::internals::source::Source;
use wherefore::internals::syntax;

/// Today's words and older ones, where the words after decide nothing; the longer first.
const WORDS: [(&str, &str); 13] = [
    ("not too many monitors are incomplete by limit ", "within the limit "),
    ("not too many monitors are incomplete", "within the limit"),
    ("too many monitors are incomplete by limit ", "over the limit "),
    ("too many monitors are incomplete", "over the limit"),
    ("text silent on ", "silent on "),
    ("in force during ", "in "),
    (" during ", " in "),
    ("left open", "taken none"),
    ("note after ", "consequence record after "),
    ("brings note", "brings record"),
    ("brings no note", "brings no record"),
    (", not in this file", ""),
    (" overlaps ", " partly "),
];

/// How words of a text that was not seen were written at a time: of topics, of a row of a limit, of a list of codes.
struct Unseen {
    topics: &'static str,
    row: &'static str,
    codes: &'static str,
}

const UNSEEN: [Unseen; 2] = [
    Unseen { topics: "unread on ", row: "not read", codes: "not read" },
    Unseen { topics: "text not seen on ", row: "text not seen", codes: "text not seen" },
];

/// A file in older words: what stands outside of texts and comments, item by item.
fn older(text: &str, unseen: &Unseen) -> String {
    // What older words have no place for may stand alone on its line.
    let text = &text.replace(",\n  text not seen", ", text not seen");
    let mut item = String::new();
    let mut out = String::new();
    for line in text.split_inclusive('\n') {
        if !line.starts_with([' ', '#', '\n']) {
            item = line.split([' ', '\n']).next().unwrap_or("").to_owned();
        }
        let mut in_text = false;
        for (at, part) in line.split('"').enumerate() {
            if at > 0 {
                out.push('"');
            }
            // A quote within a text is escaped; the part behind it is of the text too.
            match in_text {
                true => out.push_str(part),
                false => match part.split_once('#') {
                    Some((code, comment)) => {
                        out.push_str(&older_part(&item, code, unseen));
                        out.push('#');
                        out.push_str(comment);
                    }
                    None => out.push_str(&older_part(&item, part, unseen)),
                },
            }
            in_text = if in_text && part.ends_with('\\') { true } else { !in_text };
        }
    }
    out
}

fn older_part(item: &str, part: &str, unseen: &Unseen) -> String {
    let mut said = part.to_owned();
    if item == "code" && unseen.codes != "text not seen" {
        said = said.replace("text not seen on ", "not read ").replace("text not seen", "not read");
    }
    if item == "no" {
        said = said.replace(", text not seen", "");
    }
    said = said.replace("no rule applied on ", unseen.topics).replace("number not seen", unseen.row);
    for (today, older) in WORDS {
        said = said.replace(today, older);
    }
    if item == "limit" {
        said = without_incomplete(&said);
    }
    // At the margin `in force` is an item.
    if !said.starts_with("in force") {
        for end in ["from ", "through "] {
            said = said.replace(&format!("in force {end}"), end);
        }
    }
    for way in [" is read as ", " is chosen as "] {
        if let Some((before, after)) = said.clone().split_once("only if ")
            && let Some((name, value)) = after.split_once(way)
        {
            said = format!("{before}under {name} {value}");
        }
    }
    said
}

/// `at most 1 incomplete` as `at most 1`, `none incomplete` as `none`; tests of counted monitors stay.
fn without_incomplete(said: &str) -> String {
    let mut words: Vec<String> = Vec::new();
    for word in said.split(' ') {
        let last = words.last_mut();
        let is_count = |before: &String| before == "none" || before.bytes().all(|byte| byte.is_ascii_digit());
        match (last.filter(|before| !before.is_empty() && is_count(before)), word.strip_prefix("incomplete")) {
            (Some(before), Some(rest)) if rest.is_empty() || rest.starts_with([',', '\n']) => before.push_str(rest),
            _ => words.push(word.to_owned()),
        }
    }
    words.join(" ")
}

fn parsed(name: &str, text: &str) -> syntax::Parsed {
    let parsed = syntax::parse(&Source::new(name, text));
    assert_eq!(parsed.diagnostics, [], "{name}\n{text}");
    parsed
}

fn formatted(name: &str, text: &str) -> String {
    let source = Source::new(name, text);
    syntax::format(&syntax::parse(&source), &source).unwrap()
}

/// The words that no file has any more that the formatter wrote.
const GONE: [&str; 12] = [
    "over the limit",
    "within the limit",
    " not read",
    "\nunread on",
    "strikes unread on",
    "\ntext not seen on",
    "strikes text not seen on",
    "\nsilent on",
    "\n  under ",
    "taken none",
    "consequence record",
    "\" partly \"",
];

/// What stands outside of texts and comments.
fn code(text: &str) -> String {
    let plain = |line: &str| {
        let parts = line.split('"').enumerate().map(|(at, part)| if at % 2 == 0 { part } else { "…" });
        parts.collect::<Vec<_>>().join("\"").split('#').next().unwrap_or("").to_owned()
    };
    text.lines().map(plain).collect::<Vec<_>>().join("\n")
}

#[test]
fn every_shipped_file_in_older_words_is_the_same_tree() {
    let mut changed = 0;
    for path in BuiltIn.names() {
        let text = BuiltIn.text(&path).unwrap();
        for unseen in &UNSEEN {
            let before = older(&text, unseen);
            changed += before.lines().zip(text.lines()).filter(|(older, today)| older != today).count();
            let (one, other) = (parsed(&path, &text), parsed(&path, &before));
            assert_eq!(without_places(&one.file.items), without_places(&other.file.items), "{path}");
            assert_eq!(formatted(&path, &before), text, "{path}");
        }
        assert!(GONE.iter().all(|word| !code(&text).contains(word)), "{path}");
        // Of codes these are the words of today; no row of a limit has them.
        let code = code(&text);
        let mut limits = code.split("\nlimit").skip(1).map(|rest| rest.split("\n\n").next().unwrap());
        assert!(limits.all(|limit| !limit.contains("text not seen")), "{path}");
    }
    assert!(changed > 800, "{changed} lines have older words");
}

#[test]
fn the_examples_of_the_reference_in_older_words_are_the_same_tree() {
    let page = std::fs::read_to_string(concat!(env!("CARGO_MANIFEST_DIR"), "/grammar/language.md")).unwrap();
    let blocks = fenced_blocks(&page);
    let mut changed = 0;
    for block in &blocks {
        let today = formatted("language.md", block);
        for unseen in &UNSEEN {
            let before = older(&today, unseen);
            changed += usize::from(before != today);
            let (one, other) = (parsed("language.md", &today), parsed("language.md", &before));
            assert_eq!(without_places(&one.file.items), without_places(&other.file.items), "{before}");
        }
    }
    assert!(changed >= 12, "{changed} of {} blocks", blocks.len());
}

/// By hand, each older form alone and what the formatter writes for it.
#[rstest]
#[case("limit\n  - every vehicle: none\n", "limit\n  - every vehicle: none incomplete\n")]
#[case("limit\n  - every vehicle: at most 1\n", "limit\n  - every vehicle: at most 1 incomplete\n")]
#[case(
    "limit\n  - every vehicle: at most 1, only catalyst\n",
    "limit\n  - every vehicle: at most 1 incomplete, only catalyst\n"
)]
#[case("limit\n  - every vehicle: not read\n", "limit\n  - every vehicle: number not seen\n")]
#[case("limit\n  - every vehicle: text not seen\n", "limit\n  - every vehicle: number not seen\n")]
#[case("finding a where over the limit\n", "finding a where too many monitors are incomplete\n")]
#[case("finding a where within the limit b\n", "finding a where not too many monitors are incomplete by limit b\n")]
#[case("unread on lamp, other\n", "no rule applied on lamp, other, text not seen\n")]
#[case("text not seen on lamp, other\n", "no rule applied on lamp, other, text not seen\n")]
#[case("silent on lamp\n", "text silent on lamp\n")]
#[case("code group a: P0420; not read P0430\n", "code group a: P0420; text not seen on P0430\n")]
#[case("code group a: not read P0430\n", "code group a: text not seen on P0430\n")]
#[case("code group a: not read\n", "code group a: text not seen\n")]
#[case("covers where hybrid\n  under a b\n", "covers where hybrid\n  only if a is read as b\n")]
#[case(
    "option a \"A?\": b, c\n  chosen b\ncovers where hybrid\n  under a b\n",
    "option a \"A?\": b, c\n  chosen b\n\ncovers where hybrid\n  only if a is chosen as b\n"
)]
#[case("question a \"A?\"\n  taken none \"why\"\n", "question a \"A?\"\n  left open \"why\"\n")]
#[case("covers where hybrid\n  from 2012-07-01\n", "covers where hybrid\n  in force from 2012-07-01\n")]
#[case("covers where hybrid\n  through 2012-07-01\n", "covers where hybrid\n  in force through 2012-07-01\n")]
#[case(
    "covers where hybrid\n  from 2012-07-01\n  through 2013-06-30\n",
    "covers where hybrid\n  in force from 2012-07-01 through 2013-06-30\n"
)]
#[case("covers where hybrid\n  in p\n", "covers where hybrid\n  in force during p\n")]
#[case("covers where hybrid\n  per r1 \"a\" in p\n", "covers where hybrid per r1 \"a\" during p\n")]
#[case("in force\n  from 2012-07-01\n", "in force from 2012-07-01\n")]
#[case("period a from 2012-07-01 through 2013-06-30\n", "period a from 2012-07-01 through 2013-06-30\n")]
#[case("change a adopted \"b\"\n  from 2012-07-01\n", "change a adopted, not in this file \"b\"\n  from 2012-07-01\n")]
#[case("consequence record after fail \"b\"\n", "note after fail \"b\"\n")]
#[case("areas\n  - \"a\" partly \"b\"\n", "areas\n  - \"a\" overlaps \"b\"\n")]
#[case("adopts a as amended\n  strikes unread on lamp\n", "adopts a as amended\n  strikes no rule applied on lamp\n")]
#[case(
    "adopts a as amended\n  strikes text not seen on lamp\n",
    "adopts a as amended\n  strikes no rule applied on lamp\n"
)]
fn an_older_form_is_written_in_the_words_of_today(#[case] before: &str, #[case] today: &str) {
    assert_eq!(formatted("file", before), today);
    assert_eq!(formatted("file", today), today);
    let (one, other) = (parsed("file", before), parsed("file", today));
    assert_eq!(without_places(&one.file.items), without_places(&other.file.items));
}

/// What is chosen is said of an option that another file declares as it is written: only the reader of that file can tell.
#[test]
fn of_an_option_of_another_file_the_written_word_stays() {
    for said in ["only if a is chosen as b", "only if a is read as b"] {
        let text = format!("covers where hybrid\n  {said}\n");
        assert_eq!(formatted("file", &text), text);
    }
}

const HEAD: &str = "program example \"Example\"\n  authority \"A\"\n  language 2\n\nsource ex \"x\" law, read 2026-11-25\n\n\
     in force from 2002-01-01 per ex\n\noutcomes pass, tailpipe (other-test) \"tailpipe test\", reject, fail\n\n\
     covers where every vehicle per ex\n\ncounts supported monitors that are not continuous per ex\n\n";

struct One(Vec<(String, String)>);

impl Files for One {
    fn names(&self) -> Vec<String> {
        self.0.iter().map(|(name, _)| name.clone()).collect()
    }
    fn text(&self, name: &str) -> Result<String, String> {
        let found = self.0.iter().find(|(known, _)| known == name);
        found.map(|(_, text)| text.clone()).ok_or_else(|| name.to_owned())
    }
    fn beside(&self, _: &str, _: &str) -> Option<String> {
        None
    }
    fn tables(&self, _: &str) -> Vec<String> {
        Vec::new()
    }
}

fn rewritten(body: &str) -> Upgraded {
    upgraded("example.wherefore", &format!("{HEAD}{body}"), &One(Vec::new())).unwrap()
}

const SENT: &str = "leaves out where gross weight above 8500 lb: tailpipe \"too heavy\"\n  per ex\n";

#[rstest]
#[case::nobody_is_sent("", "leaves out where hybrid: not-subject \"why\"\n  per ex\n", true)]
#[case::no_one_vehicle_is_both(
    SENT,
    "leaves out where gross weight at most 6000 lb: not-subject \"why\"\n  per ex\n",
    true
)]
#[case::a_heavy_hybrid_is_both(SENT, "leaves out where hybrid: not-subject \"why\"\n  per ex\n", false)]
#[case::they_are_on_some_days(
    SENT,
    "leaves out where hybrid: not-subject \"why\"\n  from 2010-01-01\n  per ex\n",
    false
)]
#[case::they_are_under_a_reading_that_is_not_taken(
    "question q \"Which?\"\n  - reading a \"a\"\n  - reading b \"b\"\n  taken a \"so\"\n  per ex\n\
     leaves out where hybrid: tailpipe \"why\"\n  under q b\n  per ex\n",
    "leaves out where hybrid: not-subject \"why\"\n  per ex\n",
    false
)]
#[case::they_are_with_a_value_that_is_not_chosen(
    "option q \"Which?\": a, b\n  chosen a\n  per ex\nleaves out where hybrid: tailpipe \"why\"\n  under q b\n  per ex\n",
    "leaves out where hybrid: not-subject \"why\"\n  per ex\n",
    false
)]
#[case::they_are_in_a_draft(
    "leaves out where hybrid: tailpipe \"why\"\n  draft\n  per ex\n",
    "leaves out where hybrid: not-subject \"why\"\n  per ex\n",
    false
)]
#[case::they_are_as_was_known_before(
    "leaves out where hybrid: tailpipe \"why\"\n  through 2009-12-31\n  per ex\n",
    "leaves out where hybrid: not-subject \"why\"\n  from 2010-01-01\n  per ex\n",
    true
)]
fn who_is_left_out_is_exempted_where_that_rules_alike(#[case] others: &str, #[case] row: &str, #[case] exempts: bool) {
    let clause = "clause one on lamp\n  fail where lamp commanded on\n  \"Not so.\"\n  per ex\n";
    let before = format!("{HEAD}{others}{row}{clause}");
    let found = rewritten(&format!("{others}{row}{clause}"));
    assert_eq!(found.text.contains("\nexempts where"), exempts, "{}", found.text);
    assert_eq!(found.text.contains(": not-subject"), !exempts, "{}", found.text);
    assert!(!found.text.contains(": tailpipe"), "{}", found.text);
    assert_eq!(found.left.len(), usize::from(!exempts), "{:?}", found.left);
    // What is told is told where it stands.
    for left in &found.left {
        let span = left.labels[0].span;
        assert!(found.text[span.start as usize..].starts_with("leaves out"), "{left:?}");
    }
    let (_, one) = read("example", &before, &());
    let (_, other) = read("example", &found.text, &());
    let (one, other) = (one.program.unwrap(), other.program.unwrap());
    for epoch in epochs(&one).into_iter().chain(epochs(&other)) {
        let flat = |program| select(program, &Selection::on(epoch.from)).unwrap();
        assert!(wherefore::internals::analysis::compare(&flat(&one), &flat(&other)).unwrap().is_equal());
    }
    // Once more changes nothing.
    let again = upgraded("example.wherefore", &found.text, &One(Vec::new())).unwrap();
    assert_eq!(again.text, found.text);
}

/// Of two rows the one that may be said otherwise is, and the other stays.
#[test]
fn rows_are_looked_at_one_by_one() {
    let found = rewritten(&format!(
        "{SENT}leaves out where hybrid: not-subject \"a\"\n  per ex\nleaves out where gross weight at most 6000 lb: \
         not-subject \"b\"\n  per ex\nclause one on lamp\n  fail where lamp commanded on\n  \"Not so.\"\n  per ex\n"
    ));
    assert!(found.text.contains("exempts where gross weight at most 6000 lb \"b\""), "{}", found.text);
    assert!(found.text.contains("leaves out where hybrid: not-subject \"a\""), "{}", found.text);
    assert_eq!(found.left.len(), 1);
}

/// `strikes leaves out` goes on to strike what an adopted file says in today's words, and is said in them.
#[rstest]
#[case("leaves out where hybrid: not-subject \"a\"\n  per ex\n", "strikes exempts")]
#[case("exempts where hybrid \"a\"\n  per ex\n", "strikes exempts")]
#[case("sends to tailpipe where hybrid \"a\"\n  per ex\n", "strikes sends")]
#[case(
    "exempts where hybrid \"a\"\n  per ex\nsends to tailpipe where plug-in \"a\"\n  per ex\n",
    "strikes exempts\n  strikes sends"
)]
fn what_is_struck_is_said_in_the_words_of_today(#[case] rows: &str, #[case] said: &str) {
    let adopted = format!("{HEAD}{rows}clause one on lamp\n  fail where lamp commanded on\n  \"Not so.\"\n  per ex\n");
    let adopter = "program adopter \"Adopter\"\n  authority \"A\"\n  language 2\n\nin force from 2002-01-01 per ex\n\n\
                   outcomes pass, tailpipe (other-test), reject, fail\n\nadopts example as amended\n  strikes leaves out\n";
    let files =
        One(vec![("example.wherefore".to_owned(), adopted), ("adopter.wherefore".to_owned(), adopter.to_owned())]);
    let found = upgraded("adopter.wherefore", adopter, &files).unwrap();
    assert!(found.text.contains(&format!("adopts example as amended\n  {said}\n")), "{}\n{:?}", found.text, found.left);
    let of = |text: &str| {
        let over = Over { under: &files, texts: [("adopter.wherefore", text)].into() };
        let entry = Catalog::new(vec![&over, &BuiltIn]).file("adopter.wherefore").unwrap();
        let program = entry.program.clone().unwrap_or_else(|| panic!("{:?}", entry.diagnostics));
        dump(&select(&program, &Selection::on("2010-01-01".parse().unwrap())).unwrap())
    };
    assert_eq!(of(adopter), of(&found.text));
    assert!(!of(adopter).contains("leaves out"), "{}", of(adopter));
}

/// Files of version 1 that were kept are read, and mean in today's words what they meant.
#[test]
fn kept_files_mean_what_they_meant() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/records/0.1.0/rules");
    let mut files = 0;
    for entry in std::fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.extension().is_none_or(|ending| ending != "wherefore") {
            continue;
        }
        let text = std::fs::read_to_string(&path).unwrap();
        let name = path.to_string_lossy().into_owned();
        let today = formatted(&name, &text);
        let (one, other) = (parsed(&name, &text), parsed(&name, &today));
        assert_eq!(without_places(&one.file.items), without_places(&other.file.items), "{name}");
        files += 1;
    }
    assert!(files >= 6, "{files}");
}

/// A record of an earlier build under this version's number tells in older words of a limit that nobody saw: it is the same.
/// The other words of the line are compared.
#[test]
fn a_record_in_older_words_of_a_text_not_seen_replays() {
    let body = "limit\n  - every vehicle: number not seen\n  per ex\nclause one on readiness\n  \
                reject where too many monitors are incomplete\n  \"Not so.\"\n  per ex\n";
    let text = format!("{HEAD}{body}");
    let program = read("example", &text, &()).1.program.unwrap();
    let texts = [("example.wherefore".to_owned(), text)].into();
    let document = serde_json::json!({
        "format": "wherefore-snapshot/1",
        "vehicle": {"model_year": 2010, "fuel": "gasoline"},
        "visit": {"date": "2021-01-01"},
        "monitors": {"catalyst": "incomplete", "evaporative": "complete"},
    });
    let document = wherefore::internals::document::read(document.to_string().as_bytes()).unwrap();
    let line = |old: &str, new: &str| {
        let record = Record::of(&program, &texts, &document, &Request::default()).unwrap();
        let mut text = json_value(&record).to_string();
        assert!(text.contains(old), "{text}");
        text = text.replace(old, new);
        let mut value: serde_json::Value = serde_json::from_str(&text).unwrap();
        value["digest"].as_object_mut().unwrap().remove("record");
        value["digest"]["record"] = serde_json::Value::from(digest::of(value.to_string().as_bytes()));
        value.to_string()
    };
    let today = "the text of the limit `standard` was not seen";
    let replayed = |line: &str| Stored::read(line).unwrap().replay(&program, &texts).unwrap();
    assert_eq!(replayed(&line(today, today)).differences, []);
    assert_eq!(replayed(&line(today, "the limit `standard` was not read")).differences, []);
    let other = replayed(&line(today, "the limit `other` was not read"));
    assert!(
        other.differences.iter().all(|one| one.field.contains("why")) && !other.differences.is_empty(),
        "{other:?}"
    );
}
