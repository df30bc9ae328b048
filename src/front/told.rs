//! What hosts draw for a person in their own way: answers in brief, what a program is and asks, names in plain words. All of
//! it is told by `report`; here it becomes JSON.

use super::{Plan, Program, Programs, Ruling};
use crate::program::declared::{Choice, DeclaredFact, DeclaredType, Question};
use crate::program::{self, Class};
use crate::record::recorded_form;
use crate::report::brief::{self, Purpose};
use crate::report::explain::{ANY, Known, explain};
use crate::ruling::Follows;
use crate::wording::headline::{self, Provisos};
use crate::wording::plan::{self, Told};
use crate::wording::words::result;
use serde_json::{Value, json};

impl Ruling {
    /// The answer in brief as JSON: the sentences that the short text is made of, part by part; as `row` what a table of many
    /// programs shows, the headline in a word or two (`headline`) and what is missing for a pass (`missing`); as `recorded`
    /// what the result that a station recorded comes to, where the request told one.
    #[must_use]
    pub fn brief_json(&self) -> String {
        let (headline, missing) = headline::in_a_word(&self.record.ruling, self.record.prospect.as_ref());
        let row = json!({ "headline": headline, "missing": missing, "weakest": self.record.ruling.weakest.map(|it| it.words()) });
        let told = with(json!(self.record.brief(Purpose::Judge)), "row", row);
        let recorded = self.record.recorded().map(recorded_form);
        recorded.into_iter().fold(told, |told, recorded| with(told, "recorded", json!(recorded))).to_string()
    }
}

impl Plan {
    /// The plan in brief as JSON: the sentences that the text of `next` is made of, part by part; as `days` those of the days
    /// backwards from the visit, where they were asked for.
    #[must_use]
    pub fn brief_json(&self) -> String {
        let told = json!(brief::brief(&self.ruling, Some(&self.told()), Purpose::Next));
        self.days().into_iter().fold(told, |told, days| with(told, "days", json!(days))).to_string()
    }

    /// The text of `next --full`: every plan with its steps, how each is usually done and what must hold first.
    #[must_use]
    pub fn to_text_in_full(&self) -> String {
        let days = self.days().map_or(String::new(), |days| format!("\n{}", days.text()));
        plan::text(&Told { provisos: Provisos::All, ..self.told() }) + &days
    }
}

impl Program {
    /// The program as JSON, for hosts that make forms of it: `id`, `title`, `authority`, `standing` (`checked`,
    /// `digest-checked`, `draft` or `withdrawn`), `part` (whether it is only adopted by others and rules on nothing by itself),
    /// `areas` (the names that mean an area or a county to it; none where it asks for no area), `facts` (those it declares, in
    /// the form of the vocabulary) and `takes` (what a request may take: each question of its text that is open and each option,
    /// with `name`, `kind`, `text`, the `values` there are with what each means, and the one that is `taken`, if any) and
    /// `results` (those that a station can record here: `class` and `text`).
    #[must_use]
    pub fn to_json(&self) -> String {
        let program = self.program();
        json!({
            "id": program.id,
            "title": program.title,
            "authority": program.authority,
            "standing": program.standing.word(),
            "part": program.adopted_only,
            "areas": if program.areas.is_empty() { Vec::new() } else { program.areas.names().collect::<Vec<_>>() },
            "facts": program.facts.iter().map(declared).collect::<Vec<_>>(),
            "takes": program.questions.iter().map(question).chain(program.options.iter().map(option)).collect::<Vec<_>>(),
            "results": results(program),
        })
        .to_string()
    }
}

impl Programs {
    /// A monitor, a topic or a fact in plain words, as JSON: `name`, `kind`, `what`, `more` (pairs of a lead and a text) and
    /// `practice` (whether it rests on the practice of the trade alone). `None` where there is no such name, or it is a trouble
    /// code.
    #[must_use]
    pub fn explain_json(&self, name: &str) -> Option<String> {
        let any = self.get(ANY).ok();
        let known = any.as_ref().map(|any| Known { advice: &any.program().advice, sources: &any.program().sources });
        explain(name, known.unwrap_or_default()).ok().map(|explained| json!(explained).to_string())
    }
}

fn with(mut value: Value, key: &str, more: Value) -> Value {
    if let Some(object) = value.as_object_mut() {
        object.insert(key.to_owned(), more);
    }
    value
}

/// What a station can record: the classes of the program's outcomes, and that no test is asked.
fn results(program: &program::Program) -> Vec<Value> {
    let is_there = |class: &Class| *class == Class::NotSubject || program.outcomes.iter().any(|it| it.class == *class);
    let those = Follows::RESULTS.into_iter().filter(is_there);
    those.map(|class| json!({"class": class.word(), "text": result(class)})).collect()
}

fn question(question: &Question) -> Value {
    let values = question.readings.iter().map(|(id, meaning, _)| json!({"value": id, "text": meaning}));
    let taken = question.taken.and_then(|place| question.readings.get(place)).map(|(id, ..)| id);
    json!({
        "name": question.id, "kind": "question", "text": question.text, "values": values.collect::<Vec<_>>(),
        "taken": taken,
    })
}

fn option(option: &Choice) -> Value {
    let values = option.values.iter().map(|value| json!({"value": value, "text": ""}));
    json!({
        "name": option.id, "kind": "option", "text": option.text, "values": values.collect::<Vec<_>>(),
        "taken": option.values.get(option.chosen),
    })
}

/// A declared fact in the form that `facts_json` gives the others.
fn declared(fact: &DeclaredFact) -> Value {
    let form = json!({
        "key": format!("declared.{}", fact.name),
        "name": fact.name,
        "observer": fact.observer.word(),
        "question": fact.question,
    });
    match &fact.kind {
        DeclaredType::YesNo => with(with(form, "type", json!("yes-no")), "words", json!(fact.kind.words())),
        DeclaredType::Words(words) => with(with(form, "type", json!("word")), "words", json!(words)),
        DeclaredType::Number { unit, least, most } => {
            let bounds = [("unit", json!(unit.word())), ("least", json!(least)), ("most", json!(most))];
            bounds.into_iter().fold(with(form, "type", json!("number")), |form, (key, value)| with(form, key, value))
        }
    }
}
