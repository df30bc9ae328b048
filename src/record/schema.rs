//! The JSON Schema (draft 2020-12) of a ruling. It declares every key that `record` writes and leaves room for more:
//! later versions add keys and rename none.

use super::form::{FORMAT, classes};
use crate::document::Node;
use crate::model::Observer;
use crate::program::block::{ChangeKind, ConsequenceKind};
use crate::program::{Class, Currency, Kind, Seen, Topic};
use crate::ruling::{Follows, HeadlineKind};
use serde_json::{Map, Value, json};

/// The keys that the design page fixes, in its order.
pub const FIXED_KEYS: [&str; 19] = [
    "format",
    "program",
    "as_of",
    "verdict",
    "class",
    "possible",
    "provided",
    "grounds",
    "deciding",
    "sufficient",
    "unknown",
    "questions",
    "notes",
    "consequences",
    "due",
    "cautions",
    "snapshot",
    "digest",
    "trace",
];

/// The schema.
#[must_use]
pub fn schema() -> Node {
    let properties = properties();
    let text = |text: &str| Node::Text(text.to_owned());
    let required = FIXED_KEYS.iter().map(|key| text(key)).collect();
    Node::Map(vec![
        ("$schema".to_owned(), text("https://json-schema.org/draft/2020-12/schema")),
        ("title".to_owned(), text(&format!("Ruling on a snapshot ({FORMAT})"))),
        ("description".to_owned(), text("One ruling a line. A ruling is advice; the official inspection decides.")),
        ("type".to_owned(), text("object")),
        ("required".to_owned(), Node::List(required)),
        ("properties".to_owned(), Node::Map(properties)),
        ("$defs".to_owned(), Node::from(&definitions())),
    ])
}

/// The schema of what `next` answers.
#[must_use]
pub fn plans() -> Node {
    let text_node = |text: &str| Node::Text(text.to_owned());
    let states = ["passes-already", "plans", "none", "other-test", "not-asked", "by-case", "facts-missing"];
    let common = object(&[("action", text()), ("text", text())]);
    let form = object(&[
        ("format", json!({"const": super::plan_form::FORMAT})),
        ("program", text()),
        ("as_of", named("date")),
        ("verdict", text()),
        ("class", with_note(json!({"enum": classes()}), "the class to lead to")),
        ("state", json!({"enum": states})),
        ("headline", named("headline")),
        ("common", with_note(json!({"type": "array", "items": common}), "steps that every branch begins with")),
        ("branches", list("branch")),
        ("further_advice", json!({"type": "array", "items": texts()})),
        (
            "unknown",
            json!({"type": "array", "items": object(&[("fact", text()), ("question", text()), ("observer", text())])}),
        ),
        ("questions", texts()),
        ("not_to_do", text()),
        ("cautions", texts()),
    ]);
    let form = with_schedule(form);
    let mut list = vec![
        ("$schema".to_owned(), text_node("https://json-schema.org/draft/2020-12/schema")),
        ("title".to_owned(), text_node(&format!("What leads to a pass ({})", super::plan_form::FORMAT))),
    ];
    if let Some(form) = form.as_object() {
        list.extend(form.iter().map(|(key, value)| (key.clone(), Node::from(value))));
    }
    list.push(("$defs".to_owned(), Node::from(&definitions())));
    Node::Map(list)
}

/// The days backwards from a visit, there where a visit was told; null where no plan can be told in days.
fn with_schedule(mut form: Value) -> Value {
    let days = json!({"type": "integer", "minimum": 0});
    let mut schedule = object(&[
        ("visit", named("date")),
        ("begin", named("date")),
        ("look_again", named("date")),
        ("days", days.clone()),
        ("parts", json!({"type": "array", "items": object(&[("what", text()), ("days", days)])})),
        ("rests_on", json!({"const": "practice"})),
    ]);
    if let Some(keys) = schedule.as_object_mut() {
        keys.insert("type".to_owned(), json!(["object", "null"]));
    }
    if let Some(keys) = form.get_mut("properties").and_then(Value::as_object_mut) {
        keys.insert("schedule".to_owned(), with_note(schedule, "the days backwards from the visit that was told"));
    }
    form
}

fn text() -> Value {
    json!({"type": "string"})
}

fn texts() -> Value {
    json!({"type": "array", "items": text()})
}

fn optional_text() -> Value {
    json!({"type": ["string", "null"]})
}

fn list(of: &str) -> Value {
    json!({"type": "array", "items": {"$ref": format!("#/$defs/{of}")}})
}

fn named(of: &str) -> Value {
    json!({"$ref": format!("#/$defs/{of}")})
}

/// An object with these keys, all required.
fn object(keys: &[(&str, Value)]) -> Value {
    let required: Vec<&str> = keys.iter().map(|(key, _)| *key).collect();
    let properties: Map<String, Value> = keys.iter().map(|(key, form)| ((*key).to_owned(), form.clone())).collect();
    json!({"type": "object", "required": required, "properties": properties})
}

fn or_null(form: &Value) -> Value {
    json!({"anyOf": [{"type": "null"}, form]})
}

fn with_note(mut form: Value, note: &str) -> Value {
    if let Some(object) = form.as_object_mut() {
        object.insert("description".to_owned(), Value::String(note.to_owned()));
    }
    form
}

fn properties() -> Vec<(String, Node)> {
    let taken = json!({"type": "object", "additionalProperties": {"type": "string"}});
    let form = [
        ("format", json!({"const": FORMAT})),
        ("program", with_note(text(), "id of the program")),
        ("as_of", with_note(named("date"), "the date whose law applies")),
        ("verdict", with_note(text(), "an outcome of the program, not-subject, no-law-in-file, or undecided")),
        ("class", with_note(json!({"enum": classes()}), "the common class of possible, else undecided")),
        ("possible", with_note(texts(), "the outcomes that are possible")),
        ("provided", with_note(list("fact"), "sound values that would leave the one outcome provided_verdict")),
        ("grounds", with_note(list("ground"), "unmet clauses that give way to none, the gravest first")),
        ("deciding", with_note(texts(), "clauses that decide in every case still possible")),
        ("sufficient", with_note(named("facts"), "known facts that alone lead to the verdict; none can be dropped")),
        ("unknown", with_note(list("unknown"), "facts not known that still matter")),
        ("questions", with_note(list("question"), "questions whose reading matters")),
        ("notes", with_note(list("note"), "what is not expressible and touches this vehicle")),
        ("consequences", list("consequence")),
        ("due", with_note(json!({"enum": ["yes", "no", "not-known", "not-said"]}), "whether it is due for a test")),
        ("cautions", texts()),
        ("snapshot", with_note(json!({"type": "object", "required": ["format"]}), "the document ruled on")),
        (
            "digest",
            object(&[
                ("snapshot", named("digest")),
                ("files", json!({"type": "object", "additionalProperties": {"$ref": "#/$defs/digest"}})),
                ("law", with_note(named("digest"), "of the program as selected by the dates, readings and options")),
                ("record", with_note(named("digest"), "of this record without this key, compact, keys sorted")),
            ]),
        ),
        ("trace", with_note(list("line"), "every clause line with its state and why")),
        ("title", text()),
        ("summary", with_note(text(), "the verdict in one sentence")),
        ("test_date", named("date")),
        ("known_on", json!({"anyOf": [{"type": "null"}, {"$ref": "#/$defs/date"}]})),
        ("takes", with_note(taken.clone(), "readings and options that the request took")),
        ("options", with_note(taken, "options with the values they stand at")),
        ("exact", with_note(json!({"type": "boolean"}), "whether possible is exact, or holds the exact set")),
        ("provided_verdict", optional_text()),
        (
            "so_far_as_read",
            with_note(
                json!({"type": "array", "items": topics()}),
                "topics whose text was not seen and could make it graver",
            ),
        ),
        (
            "unread_could_change",
            with_note(json!({"type": "boolean"}), "whether so_far_as_read names any: exact is then so too"),
        ),
        ("identity", with_note(optional_text(), "the vehicle in a line")),
        ("readiness", with_note(named("readiness"), "how it stands to the one limit on incomplete monitors")),
        ("lamp", with_note(named("lamp"), "the malfunction lamp, where it is on")),
        ("excused", with_note(named("excused"), "excused monitors that are or may be incomplete")),
        ("weakest", with_note(optional_text(), "the weakest source that the outcome leans on")),
        (
            "coverage",
            object(&[
                (
                    "state",
                    json!({"enum": ["covered", "not-covered", "left-out", "ended", "no-law-in-file", "undetermined"]}),
                ),
                ("message", text()),
                ("because", texts()),
                ("law", list("law")),
                ("basis", text()),
            ]),
        ),
        ("alternatives", json!({"type": "array", "items": object(&[("outcome", text()), ("clauses", texts())])})),
        ("weak", with_note(list("rests"), "weak texts that the ruling leans on")),
        ("presumptions", list("presumption")),
        ("due_rules", texts()),
        (
            "due_from",
            with_note(
                json!({"anyOf": [{"type": "null"}, {"$ref": "#/$defs/date"}]}),
                "by a time since the previous test, the first day",
            ),
        ),
        ("changes", with_note(list("change"), "announced changes that could turn a possible outcome")),
        (
            "may_turn",
            with_note(json!({"type": "boolean"}), "an announced change, or what is not expressible, could turn this"),
        ),
        ("advice", list("advice")),
        ("remarks", texts()),
        ("engine", with_note(text(), "version of the engine")),
        ("headline", with_note(named("headline"), "what is certain, in one sentence")),
        ("branches", with_note(list("branch"), "the plan: one answer for all vehicles that agree, or one a case")),
        (
            "recorded",
            with_note(named("recorded"), "whether the result that a station recorded follows; where one was told"),
        ),
        ("certificate", with_note(json!({"type": "object"}), "a proof that replay checks; where it was asked for")),
    ];
    form.into_iter().map(|(key, form)| (key.to_owned(), Node::from(&form))).collect()
}

fn topics() -> Value {
    let words: Vec<&str> = Topic::ALL.iter().map(|(_, word)| *word).collect();
    json!({"enum": words})
}

fn definitions() -> Value {
    let kinds: Vec<&str> = Kind::ALL.iter().map(|(_, word)| *word).collect();
    let seen: Vec<&str> = Seen::ALL.iter().map(|(_, word)| *word).collect();
    let consequences: Vec<&str> = ConsequenceKind::ALL.iter().map(|(_, word)| *word).collect();
    let changes: Vec<&str> = ChangeKind::ALL.iter().map(|(_, word)| *word).collect();
    let currencies: Vec<&str> = Currency::MARKS.iter().map(|(_, words)| *words).collect();
    let observers = [Observer::Reader, Observer::Look, Observer::Papers, Observer::Visit].map(Observer::word);
    let states = ["met", "unmet", "set-aside", "not-concerned", "not-covered", "undetermined"];
    let ground = [
        ("clause", text()),
        ("topic", topics()),
        ("outcome", text()),
        ("message", text()),
        ("law", list("law")),
        ("basis", text()),
        ("facts", named("facts")),
        ("margins", list("margin")),
        ("origin", text()),
    ];
    let mut line = ground.to_vec();
    line.extend([("state", json!({"enum": states})), ("why", texts())]);
    let mut law = object(&[("citation", text()), ("kind", json!({"enum": kinds})), ("seen", json!({"enum": seen}))]);
    if let Some(properties) = law.get_mut("properties").and_then(Value::as_object_mut) {
        properties.insert("at".to_owned(), text());
        properties.insert("currency".to_owned(), json!({"enum": currencies}));
    }
    let mut ground = object(&ground);
    if let Some(properties) = ground.get_mut("properties").and_then(Value::as_object_mut) {
        properties.insert("under".to_owned(), texts());
    }
    let kinds_of_headline: Vec<&str> = HeadlineKind::ALL.iter().map(|(_, word)| *word).collect();
    let results = Follows::RESULTS.map(Class::word);
    let follows = Follows::ALL.map(|(_, word)| word);
    let rests_on = ["sound", "no-codes", "practice", "federal-class", "presumed"];
    let ends = ["already", "plans", "not-asked", "other-test", "none", "find-out", "too-many"];
    json!({
        "headline": object(&[
            ("kind", json!({"enum": kinds_of_headline})), ("sentence", text()), ("provisos", list("proviso")),
        ]),
        "proviso": object(&[
            ("fact", text()), ("text", text()), ("observer", json!({"enum": observers})),
            ("rests_on", json!({"enum": rests_on})),
        ]),
        "branch": object(&[
            ("when", texts()), ("state", json!({"enum": ends})), ("text", text()), ("provisos", list("proviso")),
            ("some_not_asked", json!({"type": "boolean"})), ("against", texts()), ("plans", list("plan")),
            ("least", json!({"anyOf": [{"type": "null"}, {"$ref": "#/$defs/plan"}]})),
        ]),
        "plan": object(&[
            ("steps", list("step")), ("any_as_many_of", texts()), ("text", optional_text()), ("time", optional_text()),
        ]),
        "step": object(&[
            ("action", text()), ("fact", optional_text()), ("until", optional_text()), ("text", text()), ("how", texts()),
        ]),
        "date": {"type": "string", "pattern": "^[0-9]{4}-[0-9]{2}-[0-9]{2}$"},
        "digest": {"type": "string", "pattern": "^sha256:[0-9a-f]{64}$"},
        "facts": {"description": "facts by path, as they stand in the snapshot", "type": "object"},
        "fact": object(&[("fact", text()), ("value", text()), ("text", text())]),
        "law": law,
        "margin": object(&[
            ("what", text()), ("value", text()), ("limit", text()), ("distance", text()),
            ("holds", json!({"type": "boolean"})),
        ]),
        "ground": ground,
        "line": object(&line),
        "unknown": object(&[
            ("fact", text()), ("name", text()), ("question", text()), ("observer", json!({"enum": observers})),
        ]),
        "question": object(&[
            ("question", text()), ("text", text()), ("taken", optional_text()), ("why", text()),
            ("readings", json!({"type": "array", "items": object(&[("reading", text()), ("possible", texts())])})),
        ]),
        "note": object(&[
            ("text", text()), ("concerns", json!({"enum": ["surely", "perhaps"]})), ("could_turn", texts()),
            ("into", texts()), ("law", list("law")),
        ]),
        "change": object(&[
            ("change", text()), ("kind", json!({"enum": changes})), ("text", text()),
            ("from", json!({"anyOf": [{"type": "null"}, {"$ref": "#/$defs/date"}]})), ("could_turn", texts()),
            ("into", texts()), ("concerns", json!({"enum": ["surely", "perhaps"]})), ("law", list("law")), ("basis", text()),
        ]),
        "consequence": object(&[
            ("kind", json!({"enum": consequences})), ("after", text()), ("text", text()),
            ("state", json!({"enum": ["open", "closed", "not-known"]})), ("law", list("law")), ("basis", text()),
        ]),
        "rests": object(&[("part", text()), ("what", text()), ("law", list("law")), ("basis", text())]),
        "readiness": or_null(&object(&[
            ("incomplete", texts()), ("allowed", json!({"type": "integer"})), ("one_more_brings", optional_text()),
        ])),
        "recorded": object(&[
            ("class", json!({"enum": results})), ("follows", json!({"enum": follows})), ("says", text()),
            ("by", with_note(texts(), "by which clauses it follows, or may")),
            ("ask", with_note(texts(), "what to ask the station, where it does not surely follow")),
        ]),
        "lamp": or_null(&object(&[("caution", text()), ("says", optional_text())])),
        "excused": or_null(&object(&[
            ("monitors", texts()), ("carries", json!({"type": "boolean"})), ("law", list("law")), ("basis", text()),
        ])),
        "presumption": object(&[
            ("text", text()),
            ("key", with_note(text(), "path of the fact in the snapshot document")),
            ("provided", with_note(text(), "what was presumed, as a condition")),
            ("observer", json!({"enum": observers})),
            ("turns", with_note(json!({"type": "boolean"}), "whether the possible outcomes rest on it")),
            ("law", list("law")),
            ("basis", text()),
        ]),
        "advice": object(&[
            ("monitors", texts()), ("text", text()),
            ("minutes", json!({"type": ["array", "null"], "items": {"type": "integer"}, "minItems": 2, "maxItems": 2})),
            ("preconditions", texts()), ("cautions", texts()), ("law", list("law")), ("basis", text()),
        ]),
    })
}
