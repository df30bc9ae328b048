//! What is kept between rulings changes none of them.

use crate::every;
use std::sync::Arc;
use wherefore::internals::document::Document;
use wherefore::internals::model::{Date, Fact, Value};
use wherefore::internals::program::{Program, Under};
use wherefore::internals::record::{Ready, Record, Request, flat, json_line};
use wherefore::internals::ruling::{judge, judge_briefly};

/// Vehicles of the program's worked cases, each also with a fact less than is known; and one of them on more days than are
/// kept.
fn documents(program: &Program) -> Vec<Document> {
    let mut all = Vec::new();
    for (place, case) in program.cases.iter().enumerate().step_by(program.cases.len().div_ceil(4).max(1)) {
        let mut less = case.facts.clone();
        let known: Vec<Fact> = less.readings.keys().copied().filter(|fact| *fact != Fact::TestDate).collect();
        if let Some(fact) = known.get(place % known.len().max(1)) {
            less.readings.remove(fact);
        }
        all.extend([case.facts.clone(), less]);
    }
    let mut day = Date::constant(2026, 9, 1);
    for _ in 0..18 {
        let mut visit = program.cases[0].facts.clone();
        visit.set(Fact::TestDate, Value::Date(day));
        all.push(visit);
        day = day.tomorrow().unwrap();
    }
    all.into_iter().map(|snapshot| Document { snapshot, extra: Vec::new() }).collect()
}

/// The request of a document: as it is; with a question left open, or a question or option taken in another way; by the law
/// of another day; in brief; with a proof.
fn request(program: &Program, place: usize) -> Request {
    let of = |name: &str, value: &str| Under { name: name.to_owned(), value: value.to_owned() };
    let questions = program.questions.iter().map(|it| (&it.id, it.readings.iter().map(|it| it.0.as_str()).collect()));
    let options = program.options.iter().map(|it| (&it.id, it.values.iter().map(String::as_str).collect()));
    let names: Vec<(&String, Vec<&str>)> = questions.chain(options).collect();
    let taken = names.get(place / 6 % names.len().max(1));
    let is_question = place / 6 % names.len().max(1) < program.questions.len();
    let mut request = Request::default();
    match (place % 6, taken) {
        (1, Some((name, _))) if is_question => request.takes = vec![of(name, "none")],
        (2, Some((name, values))) => request.takes.extend(values.last().map(|value| of(name, value))),
        (3, _) => request.as_of = Some(Date::constant(2026, 6, 1)),
        (4, _) => request.brief = true,
        (5, _) => request.certificate = true,
        _ => {}
    }
    request
}

#[test]
fn a_program_made_ready_rules_as_one_that_is_not() {
    let entries: Vec<_> =
        every::entries().iter().filter(|it| it.program.as_ref().is_some_and(|it| !it.adopted_only)).collect();
    let tried = every::side_by_side(&entries, |entry| {
        let program = entry.program.as_ref().unwrap();
        let ready = Ready::new(Arc::clone(program), Arc::clone(&entry.texts));
        let documents = documents(program);
        let (mut open, mut lines) = (0, Vec::new());
        for (place, document) in documents.iter().enumerate() {
            let request = request(program, place);
            let kept = ready.rule(document, &request);
            let Ok(kept) = kept else {
                assert_eq!(Record::of(program, &entry.texts, document, &request), kept);
                continue;
            };
            let flat = flat(program, document, &request).unwrap();
            if request.brief {
                assert_eq!(kept.ruling, judge_briefly(&flat, program, &document.snapshot).unwrap(), "{}", program.id);
            } else if place % 2 == 0 {
                assert_eq!(kept.ruling, judge(&flat, program, &document.snapshot).unwrap(), "{}", program.id);
            } else {
                let apart = Record::of(program, &entry.texts, document, &request).unwrap();
                assert_eq!(json_line(&kept), json_line(&apart), "{}: {:?}", program.id, document.snapshot);
            }
            open += kept.ruling.questions.len();
            lines.push((place, json_line(&kept)));
        }
        // From two threads, one of them backwards: what was kept last is asked for first, and what was given up is made again.
        let again = |place: usize, line: &str| {
            let again = ready.rule(&documents[place], &request(program, place)).unwrap();
            assert_eq!(json_line(&again), line, "{}: {place}", program.id);
        };
        std::thread::scope(|scope| {
            scope.spawn(|| lines.iter().for_each(|(place, line)| again(*place, line)));
            lines.iter().rev().for_each(|(place, line)| again(*place, line));
        });
        open
    });
    assert!(tried.iter().sum::<usize>() > 50, "{} questions", tried.iter().sum::<usize>());
}
