//! What is kept between rulings changes none of them.

use crate::every;
use std::sync::Arc;
use wherefore::internals::document::Document;
use wherefore::internals::model::{Date, Fact, Value};
use wherefore::internals::program::{Program, Under};
use wherefore::internals::record::{Ready, Record, Request, flat, json_line, names_to_take};
use wherefore::internals::ruling::judge;

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

/// The request of a document: as it is, or with one of the questions left open.
fn request(program: &Program, place: usize) -> Request {
    let names: Vec<&str> =
        names_to_take(program).filter(|name| program.questions.iter().any(|it| it.id == *name)).collect();
    let open = names.get(place / 3 % names.len().max(1)).filter(|_| place % 3 == 2);
    let takes = open.map(|name| Under { name: (*name).to_owned(), value: "none".to_owned() });
    Request { takes: takes.into_iter().collect(), ..Request::default() }
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
            if place % 3 != 1 {
                let apart = Record::of(program, &entry.texts, document, &request).unwrap();
                assert_eq!(json_line(&kept), json_line(&apart), "{}: {:?}", program.id, document.snapshot);
            } else {
                let flat = flat(program, document, &request).unwrap();
                assert_eq!(kept.ruling, judge(&flat, program, &document.snapshot).unwrap(), "{}", program.id);
            }
            open += kept.ruling.questions.len();
            lines.push((place, json_line(&kept)));
        }
        // Backwards: what was kept last is asked for first, and what was given up is made again.
        for (place, line) in lines.iter().rev() {
            let again = ready.rule(&documents[*place], &request(program, *place)).unwrap();
            assert_eq!(json_line(&again), *line, "{}: {place}", program.id);
        }
        open
    });
    assert!(tried.iter().sum::<usize>() > 50, "{} questions", tried.iter().sum::<usize>());
}
