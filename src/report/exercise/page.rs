//! A worksheet as a page to print: questions with room to write, the answer key on a page of its own.

use super::{Exercise, SCENE, answer, read_as};
use crate::report::pages::environment;
use crate::ruling::CAUTIONS;
use minijinja::context;
use serde_json::{Value, json};

/// The page.
///
/// # Errors
/// Where the template cannot be drawn, which the tests rule out.
pub fn page(exercise: &Exercise<'_>) -> Result<String, minijinja::Error> {
    let items: Vec<Value> = exercise
        .items
        .iter()
        .map(|item| {
            let answer = answer(&item.ruling);
            let why = |why: &super::Why| json!({"text": why.text, "because": why.because, "law": why.law});
            json!({
                "unit": item.unit,
                "level": item.level.about(),
                "told": item.told.iter().cloned().chain(item.takes.iter().map(read_as)).collect::<Vec<_>>(),
                "line": answer.line,
                "why": answer.why.iter().map(why).collect::<Vec<_>>(),
                "ask": answer.settles,
                "mistakes": item.mistakes.iter().map(|it| it.sentence().replace('*', "")).collect::<Vec<_>>(),
            })
        })
        .collect();
    let context = context! {
        title => exercise.program.title,
        head => exercise.head(),
        scene => SCENE,
        cautions => CAUTIONS,
        asked => exercise.asked(),
        items,
    };
    environment()?.get_template("exercise.html")?.render(context)
}
