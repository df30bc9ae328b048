//! Rulings as one page to print: a single HTML file with its style inside, nothing from outside and no scripts. States
//! are told in words; the page would say the same without any colour.

use super::brief::Purpose;
use super::pages::environment;
use super::schedule::Days;
use crate::record::{Record, json_value};
use crate::wording::wrap::joined;
use crate::wording::{headline, words};
use minijinja::context;
use serde_json::{Value, json};

/// The page in its long form: every reason, source and clause.
///
/// # Errors
/// Where the template cannot be drawn, which the tests rule out.
pub fn page(records: &[Record]) -> Result<String, minijinja::Error> {
    drawn(records, Purpose::Judge, true)
}

/// A page of a text of eighty columns, with a title: what has no page of its own is printed so.
///
/// # Errors
/// Where the template cannot be drawn, which the tests rule out.
pub fn of_text(title: &str, text: &str) -> Result<String, minijinja::Error> {
    environment()?.get_template("plain.html")?.render(context! { title, text })
}

/// The page of the answers in brief; where there are several rulings, a table of them first.
///
/// # Errors
/// Where the template cannot be drawn, which the tests rule out.
pub fn in_brief(records: &[Record], purpose: Purpose) -> Result<String, minijinja::Error> {
    drawn(records, purpose, false)
}

/// The page of what leads to a pass; with the days backwards from a visit, where they were asked for.
///
/// # Errors
/// Where the template cannot be drawn, which the tests rule out.
pub fn plan(record: &Record, days: Option<&Days>) -> Result<String, minijinja::Error> {
    let mut value = ruling(record, Purpose::Next);
    if let (Some(object), Some(days)) = (value.as_object_mut(), days) {
        object.insert("days".to_owned(), json!(days));
    }
    rendered(&[value], false)
}

fn drawn(records: &[Record], purpose: Purpose, full: bool) -> Result<String, minijinja::Error> {
    let rulings: Vec<Value> = records.iter().map(|record| ruling(record, purpose)).collect();
    rendered(&rulings, full)
}

fn rendered(rulings: &[Value], full: bool) -> Result<String, minijinja::Error> {
    environment()?.get_template("ruling.html")?.render(context! { rulings, full })
}

/// The record with the sentences that text and page share.
fn ruling(record: &Record, purpose: Purpose) -> Value {
    let ruling = &record.ruling;
    let mut value = json_value(record);
    let sentences = json!({
        "provided": ruling.provided.as_ref().map(words::provided),
        "bound": words::BOUND,
        "weak": words::weak(ruling),
        "weakest": words::weakest(ruling),
        "could_turn": words::could_turn(ruling),
        "readiness": words::readiness_line(ruling),
        "excused": ruling.excused.as_ref().map(words::excused),
        "unread": words::unread(&ruling.so_far_as_read),
        "alternatives": ruling.alternatives.iter().map(|it| format!("{} by {}", it.outcome, joined(&it.clauses, "or")))
            .collect::<Vec<_>>(),
        "dates": words::dates(ruling),
        "announced": words::announced(ruling),
        "changes": ruling.changes.iter().map(words::change).collect::<Vec<_>>(),
        "sufficient": ruling.sufficient.iter().map(|fact| fact.phrase.as_str()).collect::<Vec<_>>(),
        "questions": ruling.questions.iter().map(words::question).collect::<Vec<_>>(),
        "clauses": ruling.grounds.iter().map(words::clause).collect::<Vec<_>>(),
        "margins": ruling.grounds.iter().map(|ground| ground.margins.iter().map(words::margin).collect::<Vec<_>>())
            .collect::<Vec<_>>(),
        "because": ruling.grounds.iter().map(|ground| {
            ground.facts.iter().map(|fact| fact.phrase.as_str()).collect::<Vec<_>>()
        }).collect::<Vec<_>>(),
        "times": ruling.advice.iter().map(|advice| advice.minutes.map(words::minutes)).collect::<Vec<_>>(),
    });
    let (headline, missing) = headline::in_a_word(ruling, record.prospect.as_ref());
    if let Some(object) = value.as_object_mut() {
        object.insert("sentences".to_owned(), sentences);
        object.insert("brief".to_owned(), json!(record.brief(purpose)));
        object.insert("row".to_owned(), json!({"headline": headline, "missing": missing}));
    }
    value
}
