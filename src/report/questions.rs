//! Trees of questions as people and programs read them: numbered questions, each answer with the ruling it leads to or
//! the number of the next question, so that what is alike stands once. Nothing is chosen here.

use crate::analysis::ask::{MOST_PLACES, Step, Tree, cost};
use crate::model::table::key_of;
use crate::model::{Fact, spec};
use crate::program::{FactRef, Flat, Verdict};
use crate::wording::wrap::{joined, wrapped};
use serde_json::{Value, json};
use std::collections::BTreeSet;

/// The format of a tree as JSON.
pub const FORMAT: &str = "wherefore-questions/1";

/// The question that is put for a fact.
#[must_use]
pub fn question(flat: &Flat, fact: &FactRef<usize>) -> String {
    match fact {
        FactRef::Known(Fact::Monitor(monitor)) => {
            format!("Is the {} monitor complete, incomplete or unsupported?", monitor.name())
        }
        FactRef::Known(fact) => spec(*fact).question.to_owned(),
        FactRef::Declared(place) => flat.facts.get(*place).map_or(String::new(), |it| it.question.clone()),
    }
}

/// The question for one fact, or for make, model and engine together.
pub(super) fn question_for(flat: &Flat, facts: &[FactRef<usize>]) -> String {
    match facts {
        [fact] => question(flat, fact),
        [] => "Too many ways to tell.".to_owned(),
        many => {
            let names: Vec<String> = many.iter().map(|fact| name(flat, fact)).collect();
            format!("Which {} is it?", joined(&names, "and"))
        }
    }
}

fn name(flat: &Flat, fact: &FactRef<usize>) -> String {
    match fact {
        FactRef::Known(fact) => spec(*fact).name.to_owned(),
        FactRef::Declared(place) => flat.facts.get(*place).map_or(String::new(), |it| it.name.clone()),
    }
}

/// The key of a fact in a snapshot.
#[must_use]
pub fn key(flat: &Flat, fact: &FactRef<usize>) -> String {
    match fact {
        FactRef::Known(fact) => key_of(*fact),
        FactRef::Declared(_) => format!("declared.{}", name(flat, fact)),
    }
}

/// Who can tell a fact, in words.
#[must_use]
pub fn told_by(flat: &Flat, fact: &FactRef<usize>) -> &'static str {
    let observer = match fact {
        FactRef::Known(fact) => Some(spec(*fact).observer),
        FactRef::Declared(place) => flat.facts.get(*place).map(|fact| fact.observer),
    };
    observer.map_or("", crate::model::Observer::word)
}

/// Verdicts in words, joined by "or".
#[must_use]
pub fn verdicts(flat: &Flat, verdicts: &BTreeSet<Verdict>) -> String {
    joined(&names(flat, verdicts), "or")
}

fn names(flat: &Flat, verdicts: &BTreeSet<Verdict>) -> Vec<String> {
    verdicts.iter().map(|verdict| verdict.name(flat).to_owned()).collect()
}

/// How many questions there are, in words.
#[must_use]
pub fn at_most(count: usize) -> String {
    match count {
        0 => "nothing has to be asked".to_owned(),
        1 => "at most 1 question".to_owned(),
        many => format!("at most {many} questions"),
    }
}

/// What a reader of a tree must know beside it.
pub(super) fn remarks(tree: &Tree) -> Vec<String> {
    let mut remarks = Vec::new();
    if !tree.is_best {
        remarks.push(
            "There are too many ways to look for the best order; the cheapest question that can still matter comes \
             first, and the tree may ask more than it must."
                .to_owned(),
        );
    }
    if tree.cuts() > 0 {
        remarks.push(format!(
            "The tree is cut at {MOST_PLACES} questions; \"more to ask\" marks the {} ways that go on. Answer what is \
             known in a snapshot first, or let `ask` put the questions one by one.",
            tree.cuts()
        ));
    }
    remarks
}

/// Where an answer leads, in words.
pub(super) fn leads_to(flat: &Flat, step: &Step) -> String {
    match step {
        Step::Done(left) => verdicts(flat, left),
        Step::Ask(place) => format!("go to {}", place + 1),
        Step::Cut(left) => format!("{} (more to ask)", verdicts(flat, left)),
    }
}

/// A tree of questions as text of eighty columns.
#[must_use]
pub fn text(flat: &Flat, tree: &Tree) -> String {
    let mut out = wrapped(&format!("{}: ", flat.program), Some(2), &format!("{}.", at_most(tree.depth())));
    out.push_str(&wrapped("", None, &format!("{}; law of {}", flat.title, flat.as_of)));
    for remark in remarks(tree) {
        out.push_str(&wrapped("  - ", None, &remark));
    }
    if let Step::Done(left) = &tree.start {
        out.push_str(&wrapped("  = ", None, &verdicts(flat, left)));
    }
    for (place, asked) in tree.questions.iter().enumerate() {
        let by = asked.facts.first().map_or("", |fact| told_by(flat, fact));
        let text = format!("{} ({by})", question_for(flat, &asked.facts));
        out.push('\n');
        out.push_str(&wrapped(&format!("{:>4}  ", place + 1), None, &text));
        for (answer, step) in &asked.answers {
            out.push_str(&wrapped("      - ", None, &format!("{answer}: {}", leads_to(flat, step))));
        }
    }
    out
}

/// A tree of questions as JSON. A question is named by its number; `then` is a number, or the verdicts that are left.
#[must_use]
pub fn json(flat: &Flat, tree: &Tree) -> Value {
    let questions = tree.questions.iter().enumerate().map(|(place, asked)| {
        let answers = asked.answers.iter().map(|(words, step)| json!({"answer": words, "then": then(flat, step)}));
        json!({
            "number": place + 1,
            "facts": asked.facts.iter().map(|fact| key(flat, fact)).collect::<Vec<_>>(),
            "question": question_for(flat, &asked.facts),
            "told_by": asked.facts.first().map_or("", |fact| told_by(flat, fact)),
            "cost": asked.facts.iter().map(|fact| cost(flat, fact)).sum::<u32>(),
            "at_most": asked.at_most,
            "answers": answers.collect::<Vec<_>>(),
        })
    });
    json!({
        "format": FORMAT,
        "program": flat.program,
        "as_of": flat.as_of.to_string(),
        "at_most": tree.depth(),
        "fewest": tree.is_best,
        "cut": tree.cuts() > 0,
        "start": then(flat, &tree.start),
        "questions": questions.collect::<Vec<_>>(),
    })
}

fn then(flat: &Flat, step: &Step) -> Value {
    match step {
        Step::Ask(place) => json!({"question": place + 1}),
        Step::Done(left) => json!({"possible": names(flat, left)}),
        Step::Cut(left) => json!({"possible": names(flat, left), "cut": true}),
    }
}

/// The JSON Schema (draft 2020-12) of a tree of questions.
#[must_use]
pub fn schema() -> Value {
    let number = json!({"type": "integer", "minimum": 1});
    let then = json!({
        "description": "the number of the next question, or the verdicts left when nothing more that can be asked would \
                        change them; with \"cut\", more would have to be asked",
        "oneOf": [
            {"type": "object", "required": ["question"], "properties": {"question": number}, "additionalProperties": false},
            {"type": "object", "required": ["possible"],
             "properties": {"possible": {"type": "array", "items": {"type": "string"}}, "cut": {"const": true}},
             "additionalProperties": false},
        ],
    });
    let answer = json!({
        "type": "object", "required": ["answer", "then"],
        "properties": {"answer": {"type": "string", "description": "the answer, in the words of program files"}, "then": then},
    });
    let question = json!({
        "type": "object",
        "required": ["number", "facts", "question", "told_by", "cost", "at_most", "answers"],
        "properties": {
            "number": number,
            "facts": {"type": "array", "items": {"type": "string"}, "description": "keys of a snapshot: one, or make, model and engine together"},
            "question": {"type": "string"},
            "told_by": {"type": "string", "description": "reader, look, papers or visit"},
            "cost": {"type": "integer", "description": "steps it takes to find out: reader 1, look 2, papers 3"},
            "at_most": {"type": "integer", "description": "the most questions from here on, this one included"},
            "answers": {"type": "array", "items": answer},
        },
    });
    json!({
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": format!("Tree of questions ({FORMAT})"),
        "type": "object",
        "required": ["format", "program", "as_of", "at_most", "fewest", "cut", "start", "questions"],
        "properties": {
            "format": {"const": FORMAT},
            "program": {"type": "string"},
            "as_of": {"type": "string", "description": "date whose law applies"},
            "at_most": {"type": "integer", "minimum": 0, "description": "the most questions on any way"},
            "fewest": {"type": "boolean", "description": "whether no other order has a cheaper dearest way"},
            "cut": {"type": "boolean", "description": "whether the tree was cut: some branches go on"},
            "start": then,
            "questions": {"type": "array", "items": question},
        },
    })
}
