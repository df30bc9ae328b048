//! What hosts in other languages stand on: conformance lines, requests as JSON, plans, questions, comparisons and errors of
//! the front door, and record batches. Expected values come from the modules beneath or from ruling one by one.

use serde_json::{Value, json};
use wherefore::internals::catalog::{BuiltIn, Catalog};
use wherefore::internals::document;
use wherefore::internals::record::{self, Record};
use wherefore::{CONFORMANCE, Class, Date, Error, Programs, Request, Snapshot, Vehicles};

fn dated() -> Snapshot {
    Snapshot::from_json(br#"{"format": "wherefore-snapshot/1", "visit": {"date": "2026-11-28"}}"#).unwrap()
}

#[test]
fn conformance_lines_hold_the_rulings_of_the_modules_beneath() {
    let programs = Programs::built_in();
    let catalog = Catalog::new(vec![&BuiltIn]);
    for id in ["us-il", "us-model", "us-ca", "eu", "jp"] {
        let entry = catalog.find(id).unwrap();
        let program = entry.program.as_ref().unwrap();
        let lines = programs.conformance(id, Vehicles::Worked).unwrap();
        assert_eq!(lines.lines().count(), program.cases.len(), "{id}");
        for (line, case) in lines.lines().zip(&program.cases) {
            let line: Value = serde_json::from_str(line).unwrap();
            assert_eq!((&line["format"], &line["program"]), (&json!(CONFORMANCE), &json!(id)));
            assert_eq!(line["case"], json!(case.title));
            let document = document::read(line["snapshot"].to_string().as_bytes()).unwrap();
            assert_eq!(document.snapshot, case.facts, "{id}: {}", case.title);
            let request =
                record::Request { known_on: case.known_on, takes: case.takes.clone(), ..record::Request::default() };
            let record = Record::of(program, &entry.texts, &document, &request).unwrap();
            let wanted = record::json_line(&record);
            assert_eq!(line["ruling"].as_str().unwrap(), wanted.trim_end(), "{id}: {}", case.title);
            // A host that reads the line and asks anew gets the same.
            let asked = Request::from_json(&line["request"].to_string()).unwrap();
            let read = Snapshot::from_json(line["snapshot"].to_string().as_bytes()).unwrap();
            let ruling = programs.get(id).unwrap().judge_with(&read, &asked).unwrap();
            assert_eq!(ruling.to_json(), wanted.trim_end());
        }
    }
}

/// Vectors get the one verdict that they were made for.
#[test]
fn vectors_are_ruled_on_as_they_were_made_for() {
    let programs = Programs::built_in();
    let all = programs.cases("gb", Vehicles::All).unwrap();
    let worked = programs.cases("gb", Vehicles::Worked).unwrap();
    assert_eq!(all.get(..worked.len()), Some(worked.as_slice()));
    let catalog = Catalog::new(vec![&BuiltIn]);
    let entry = catalog.find("gb").unwrap();
    let suite = wherefore::internals::analysis::cases::suite(entry.program.as_ref().unwrap()).unwrap();
    let vectors = suite.parts.iter().flat_map(|part| part.set.vectors.iter().map(move |vector| (&part.flat, vector)));
    let program = programs.get("gb").unwrap();
    let mut seen = 0;
    for (case, (flat, vector)) in all.iter().skip(worked.len()).zip(vectors) {
        let ruling = program.judge_with(&case.snapshot, &case.request).unwrap();
        let mut possible: Vec<&str> = ruling.possible().map(|verdict| verdict.name()).collect();
        let mut wanted: Vec<&str> = vector.expected.iter().map(|verdict| verdict.name(flat)).collect();
        possible.sort_unstable();
        wanted.sort_unstable();
        assert_eq!(possible, wanted, "{}", case.name);
        seen += 1;
    }
    assert_eq!(seen + worked.len(), all.len());
    assert!(seen > 1, "{seen}");
}

#[test]
fn requests_go_through_json() {
    let request = Request::new()
        .as_of(Date::constant(2024, 3, 1))
        .known_on(Date::constant(2025, 1, 2))
        .take("a", "b")
        .with_proof();
    let text = serde_json::to_string(&request).unwrap();
    assert_eq!(text, r#"{"as_of":"2024-03-01","known_on":"2025-01-02","proof":true,"takes":{"a":"b"}}"#);
    assert_eq!(Request::from_json(&text).unwrap(), request);
    assert_eq!(Request::from_json("{}").unwrap(), Request::new());
    for wrong in ["", "[]", r#"{"as_of": "soon"}"#, r#"{"as_off": "2024-03-01"}"#, r#"{"takes": {"a": 1}}"#] {
        let error = Request::from_json(wrong).unwrap_err();
        assert!(error.to_string().starts_with("request: "), "{error}");
    }
}

#[test]
fn errors_are_data_for_hosts() {
    let of = |error: &Error| -> Value { serde_json::from_str(&error.to_json()).unwrap() };
    let error = Programs::built_in().get("tx").unwrap_err();
    assert_eq!(of(&error)["kind"], "no-such-program");
    let error = Snapshot::from_json(br#"{"vehicle": {"wheels": 4}}"#).unwrap_err();
    let value = of(&error);
    assert_eq!((&value["kind"], &value["message"]), (&json!("snapshot"), &json!(error.to_string())));
    assert!(value["faults"].as_array().unwrap().iter().any(|fault| fault["path"] == "vehicle"), "{value}");
    let error = Programs::from_text("program x \"y\"\ncovers where nothing known\noutcomes pass,, fail\n").unwrap_err();
    let value = of(&error);
    assert_eq!(value["kind"], "program-text");
    assert!(value["faults"].as_array().unwrap().iter().all(|fault| fault["places"][0]["end"].is_u64()), "{value}");
}

#[test]
fn plans_questions_and_comparisons() {
    let programs = Programs::built_in();
    let program = programs.get("us-il").unwrap();
    let plan = program.next(&dated(), &Request::new(), Class::Pass).unwrap();
    let value: Value = serde_json::from_str(&plan.to_json()).unwrap();
    assert_eq!((&value["format"], &value["state"]), (&json!("wherefore-plans/2"), &json!(plan.state())));
    // Each question is the interview's, whoever is asked.
    let flat = {
        let entry = Catalog::new(vec![&BuiltIn]).find("us-il").unwrap();
        let document = document::read(dated().to_json().as_bytes()).unwrap();
        record::flat(entry.program.as_ref().unwrap(), &document, &record::Request::default()).unwrap()
    };
    let document = document::read(dated().to_json().as_bytes()).unwrap();
    let mut interview = wherefore::internals::report::interview::Interview::new(&flat, document.snapshot).unwrap();
    let mut questions = program.ask(&dated(), &Request::new()).unwrap();
    let mut asked = 0;
    while let Some(question) = questions.question().unwrap() {
        let fact = interview.turn().fact.clone().unwrap();
        assert_eq!(question.key, wherefore::internals::report::questions::key(&flat, &fact));
        assert_eq!(question.at_most, interview.turn().at_most);
        for no_answer in ["back", "why", "stop", "no such answer"] {
            assert!(questions.answer(no_answer).is_err(), "{no_answer}");
        }
        let word = question.answers.split([' ', ',']).next().unwrap();
        let line = if questions.answer(word).is_ok() { word } else { "?" };
        if line == "?" {
            questions.not_known().unwrap();
        }
        interview.hear(line);
        assert_eq!(
            document::read(questions.snapshot().to_json().as_bytes()).unwrap().snapshot,
            *interview.snapshot(),
            "{}",
            question.key
        );
        asked += 1;
        assert!(asked < 80);
    }
    assert!(asked > 3 && interview.turn().fact.is_none());
    let day = Some(Date::constant(2026, 11, 28));
    assert!(program.compare(&program, day).unwrap().is_equal());
    assert!(!program.compare(&programs.get("us-wa").unwrap(), day).unwrap().is_equal());
}

#[cfg(feature = "arrow")]
mod batches {
    use super::*;
    use arrow_array::{ArrayRef, Int64Array, RecordBatch, StringArray};
    use std::sync::Arc;

    const MAPPING: &str = "format = \"wherefore-mapping/1\"\n[columns]\nid = {holds = \"record-id\"}\n\
                           date = \"visit.date\"\nyear = \"vehicle.model_year\"\n\
                           lamp = {fact = \"lamp.commanded\", words = {Y = \"yes\", N = \"no\"}}\n";

    fn batch(rows: &[(&str, i64, Option<&str>)]) -> RecordBatch {
        let ids: Vec<String> = (0..rows.len()).map(|row| format!("r{row}")).collect();
        let columns: Vec<(&str, ArrayRef)> = vec![
            ("lamp", Arc::new(rows.iter().map(|row| row.2).collect::<StringArray>())),
            ("id", Arc::new(StringArray::from(ids))),
            ("unmapped", Arc::new(Int64Array::from(vec![7; rows.len()]))),
            ("year", Arc::new(rows.iter().map(|row| Some(row.1)).collect::<Int64Array>())),
            ("date", Arc::new(rows.iter().map(|row| Some(row.0)).collect::<StringArray>())),
        ];
        RecordBatch::try_from_iter(columns).unwrap()
    }

    fn texts(batch: &RecordBatch, name: &str) -> Vec<Option<String>> {
        let column = batch.column_by_name(name).unwrap();
        let words = arrow_array::cast::as_dictionary_array::<arrow_array::types::Int32Type>(column);
        let words = words.downcast_dict::<StringArray>().unwrap();
        words.into_iter().map(|word| word.map(str::to_owned)).collect()
    }

    #[test]
    fn each_row_is_ruled_on_as_by_itself() {
        let programs = Programs::built_in();
        let mut rows = Vec::new();
        for date in ["2019-06-01", "2026-11-28"] {
            for year in [1995, 2001, 2016, 2026] {
                for lamp in [None, Some("Y"), Some("N")] {
                    rows.push((date, year, lamp));
                }
            }
        }
        // More than a lot.
        let many: Vec<_> = rows.iter().copied().cycle().take(9000).collect();
        for id in ["us-il", "us-model", "de"] {
            let batches = programs.batches(MAPPING, Some(id), &Request::new()).unwrap();
            let made = batches.judge(&batch(&many)).unwrap();
            assert_eq!(made.num_rows(), many.len());
            assert_eq!(made.schema().as_ref(), &wherefore::batches_schema());
            let (possible, class, aside) = (texts(&made, "possible"), texts(&made, "class"), texts(&made, "set_aside"));
            for (row, (date, year, lamp)) in rows.iter().enumerate() {
                let mut document =
                    json!({"format": "wherefore-snapshot/1", "visit": {"date": date}, "vehicle": {"model_year": year}});
                if let Some(lamp) = lamp {
                    document["lamp"] = json!({"commanded": *lamp == "Y"});
                }
                let snapshot = Snapshot::from_json(document.to_string().as_bytes()).unwrap();
                let ruling = programs.get(id).unwrap().judge(&snapshot).unwrap();
                let names: Vec<&str> = ruling.possible().map(|verdict| verdict.name()).collect();
                for at in (row..many.len()).step_by(rows.len()) {
                    assert_eq!(aside[at], None);
                    assert_eq!(possible[at].as_deref(), Some(names.join(" ").as_str()), "{id} {document}");
                    if names.len() == 1 {
                        assert_eq!(class[at].as_deref(), Some(ruling.verdict().class().word()), "{id} {document}");
                    }
                }
            }
        }
    }

    #[test]
    fn rows_that_cannot_be_judged_say_why() {
        let programs = Programs::built_in();
        let batches = programs.batches(MAPPING, Some("us-il"), &Request::new()).unwrap();
        let made = batches
            .judge(&batch(&[("soon", 2016, None), ("2026-11-28", 1, None), ("2026-11-28", 2016, None)]))
            .unwrap();
        let aside = texts(&made, "set_aside");
        assert!(aside[0].as_ref().is_some_and(|why| why.contains("date") && why.contains("soon")), "{aside:?}");
        assert!(aside[1].as_ref().is_some_and(|why| why.contains("year")), "{aside:?}");
        assert_eq!(aside[2], None);
        let verdicts = texts(&made, "verdict");
        assert_eq!((&verdicts[0], &verdicts[1]), (&None, &None));
        assert!(verdicts[2].is_some());
        assert_eq!(batches.judge(&batch(&[])).unwrap().num_rows(), 0);
    }

    #[test]
    fn what_does_not_fit_is_refused() {
        let programs = Programs::built_in();
        let refused =
            |mapping: &str, program: Option<&str>| programs.batches(mapping, program, &Request::new()).unwrap_err();
        assert_eq!(refused("columns = 3", Some("us-il")).kind(), "mapping");
        assert!(refused(MAPPING, None).to_string().contains("which program"));
        assert_eq!(refused(MAPPING, Some("us-none")).kind(), "no-such-program");
        let dateless = MAPPING.replace("date = \"visit.date\"\n", "");
        assert!(refused(&dateless, Some("us-il")).to_string().contains("visit.date"));
        let batches = programs.batches(MAPPING, Some("us-il"), &Request::new()).unwrap();
        let other = RecordBatch::try_from_iter([("Year", Arc::new(Int64Array::from(vec![1])) as ArrayRef)]).unwrap();
        let refused = batches.judge(&other).unwrap_err().to_string();
        assert!(refused.lines().any(|fault| fault.contains("\"year\"") && fault.contains("\"Year\"")), "{refused}");
    }
}

/// Pages of hosts are made of the sentences that the texts are made of.
#[test]
fn answers_in_brief_are_those_of_the_texts() {
    let words = |text: &str| text.split_whitespace().collect::<Vec<_>>().join(" ");
    let program = Programs::built_in().get("us-model").unwrap();
    for name in ["wagon-3", "van-7", "pickup-9"] {
        let path = format!("{}/examples/larkspur/{name}.json", env!("CARGO_MANIFEST_DIR"));
        let snapshot = Snapshot::from_json(&std::fs::read(path).unwrap()).unwrap();
        let ruling = program.judge(&snapshot).unwrap();
        let plan = program.next(&snapshot, &Request::new(), Class::Pass).unwrap();
        let shown = [(ruling.brief_json(), ruling.to_string()), (plan.brief_json(), plan.to_string())];
        for (brief, text) in shown {
            let (brief, text): (Value, String) = (serde_json::from_str(&brief).unwrap(), words(&text));
            let lists = ["unsure", "cautions", "after"].map(|key| brief[key].as_array().unwrap().clone());
            let parts = ["why", "steps"].map(|key| brief[key].as_array().unwrap().clone());
            let own = ["vehicle", "program", "headline"].map(|key| brief[key].clone());
            let sentences = lists.concat().into_iter().chain(own);
            let sentences = sentences.chain(parts.concat().into_iter().map(|part| part["text"].clone()));
            for sentence in sentences {
                assert!(text.contains(&words(sentence.as_str().unwrap())), "{name}: {sentence}: {text}");
            }
        }
        assert!(plan.to_text_in_full().contains(&plan_headline(&plan)), "{name}");
    }
}

/// The first words of the headline, which no line of eighty columns cuts.
fn plan_headline(plan: &wherefore::Plan) -> String {
    let brief: Value = serde_json::from_str(&plan.brief_json()).unwrap();
    brief["headline"].as_str().unwrap().split_whitespace().take(3).collect::<Vec<_>>().join(" ")
}

/// The row of a table of programs is the table's own.
#[test]
fn rows_of_a_ruling_are_those_of_the_table() {
    let programs = Programs::built_in();
    let row = |json: &str, id: &str| -> Value {
        let snapshot = Snapshot::from_json(json.as_bytes()).unwrap();
        let ruling = programs.get(id).unwrap().judge(&snapshot).unwrap();
        serde_json::from_str::<Value>(&ruling.brief_json()).unwrap()["row"].clone()
    };
    // The README's table: `ca-bc` ended in 2014, and its file cites what ended it.
    let pickup =
        std::fs::read_to_string(format!("{}/examples/larkspur/pickup-9.json", env!("CARGO_MANIFEST_DIR"))).unwrap();
    assert_eq!(row(&pickup, "ca-bc")["headline"], json!("no test asked"));
    assert_eq!(row(&pickup, "at")["missing"], json!("emission-stage"));
    assert_eq!(row(&pickup, "at")["weakest"], json!("guidance, secondary"));
}

/// What a program declares comes in the vocabulary's form, and a snapshot takes each of it.
#[test]
fn programs_say_what_they_ask_besides() {
    let programs = Programs::built_in();
    let mut kinds = std::collections::BTreeSet::new();
    for id in programs.ids() {
        let program = programs.get(&id).unwrap();
        let form: Value = serde_json::from_str(&program.to_json()).unwrap();
        assert_eq!((form["id"].as_str(), form["title"].as_str()), (Some(id.as_str()), Some(program.title())));
        for fact in form["facts"].as_array().unwrap() {
            let name = fact["key"].as_str().unwrap().strip_prefix("declared.").unwrap();
            assert!(fact["question"].as_str().unwrap().ends_with('?'), "{id}: {name}: {fact}");
            kinds.insert(fact["type"].as_str().unwrap().to_owned());
            let last = fact["words"].as_array().and_then(|words| words.last());
            let value = match fact["type"].as_str().unwrap() {
                "yes-no" => json!(true),
                "word" => last.unwrap().clone(),
                _ => fact["most"].clone(),
            };
            let document = json!({
                "format": "wherefore-snapshot/1", "visit": {"date": "2026-11-28"}, "declared": {name: value},
            });
            let snapshot = Snapshot::from_json(document.to_string().as_bytes()).unwrap();
            program.judge(&snapshot).unwrap_or_else(|error| panic!("{id}: {name}: {error}"));
        }
    }
    assert!(kinds.contains("yes-no") && kinds.contains("word"), "{kinds:?}");
}

#[test]
fn names_are_told_in_plain_words() {
    let programs = Programs::built_in();
    let told: Value = serde_json::from_str(&programs.explain_json("EVAP").unwrap()).unwrap();
    assert_eq!((&told["name"], &told["kind"]), (&json!("evaporative"), &json!("monitor")));
    assert!(told["more"].as_array().unwrap().iter().all(|pair| pair.as_array().unwrap().len() == 2));
    // What a trouble code means on a vehicle is for those who repair it.
    assert_eq!((programs.explain_json("P0420"), programs.explain_json("catalist")), (None, None));
}

/// What a form needs of a program: what may be taken, each of which the program takes; what a station can record, each of which
/// a request takes. Of each monitor the engines: service $01 PID $01 has three continuous ones of both, and EGR/VVT in both
/// tables; seven of spark alone in that of B3 = 0, five of compression alone in that of B3 = 1 (the digest of vehicle data, 1.2).
#[test]
fn forms_are_made_of_what_the_library_tells() {
    let programs = Programs::built_in();
    let van = std::fs::read(format!("{}/examples/larkspur/van-7.json", env!("CARGO_MANIFEST_DIR"))).unwrap();
    let van = Snapshot::from_json(&van).unwrap();
    let mut taken = 0;
    for (place, id) in programs.ids().into_iter().enumerate() {
        let program = programs.get(&id).unwrap();
        let form: Value = serde_json::from_str(&program.to_json()).unwrap();
        for take in form["takes"].as_array().unwrap() {
            // One program in six is judged by each of its readings: each takes a ruling.
            for value in take["values"].as_array().unwrap().iter().filter(|_| place % 6 == 0) {
                let (name, value) = (take["name"].as_str().unwrap(), value["value"].as_str().unwrap());
                let ruling = program.judge_with(&van, &Request::new().take(name, value)).unwrap();
                let json: Value = serde_json::from_str(&ruling.to_json()).unwrap();
                assert_eq!(json["takes"][name], json!(value), "{id}");
                taken += 1;
            }
            let named = take["taken"].as_str();
            let there = |value: &Value| value["value"].as_str() == named;
            assert!(named.is_none() || take["values"].as_array().unwrap().iter().any(there), "{id}: {take}");
        }
        for result in form["results"].as_array().unwrap() {
            let request = Request::from_json(&json!({"recorded": result["class"]}).to_string()).unwrap();
            assert_eq!(json!(request), json!({"recorded": result["class"]}));
            if place % 6 != 0 {
                continue;
            }
            let ruling = program.judge_with(&van, &request).unwrap();
            let json: Value = serde_json::from_str(&ruling.to_json()).unwrap();
            assert_eq!(json["recorded"]["class"], result["class"], "{id}");
        }
    }
    assert!(taken > 20, "{taken}");
    let facts: Value = serde_json::from_str(&wherefore::facts_json()).unwrap();
    let mut counted = std::collections::BTreeMap::new();
    for fact in facts["facts"].as_array().unwrap() {
        let is_monitor = fact["key"].as_str().unwrap().starts_with("monitors.");
        assert_eq!(is_monitor, fact["engines"].is_array() && fact["spoken"].is_string(), "{fact}");
        if is_monitor {
            *counted.entry(fact["engines"].to_string()).or_insert(0) += 1;
        }
    }
    let wanted = [(r#"["compression"]"#, 5), (r#"["spark","compression"]"#, 4), (r#"["spark"]"#, 7), ("[]", 16)];
    assert_eq!(counted, wanted.map(|(engines, many)| (engines.to_owned(), many)).into());
}

/// A plan backwards from a visit is the one for that day, with its days, in every form of it.
#[test]
fn a_plan_backwards_from_a_visit() {
    let wagon = std::fs::read(format!("{}/examples/larkspur/wagon-3.json", env!("CARGO_MANIFEST_DIR"))).unwrap();
    let wagon = Snapshot::from_json(&wagon).unwrap();
    let program = Programs::built_in().get("us-ca").unwrap();
    let visit = Date::constant(2026, 12, 20);
    let plan = program.next_by(&wagon, &Request::new(), Class::Pass, visit).unwrap();
    let json: Value = serde_json::from_str(&plan.to_json()).unwrap();
    let brief: Value = serde_json::from_str(&plan.brief_json()).unwrap();
    // By hand in tests/it/counter.rs: five days.
    assert_eq!((&json["schedule"]["begin"], &json["as_of"]), (&json!("2026-12-15"), &json!("2026-12-20")));
    assert!(brief["days"]["lead"].as_str().unwrap().contains("begin on 2026-12-15"), "{brief}");
    let flat = |text: String| text.split_whitespace().collect::<Vec<_>>().join(" ");
    for text in [flat(plan.to_string()), flat(plan.to_text_in_full())] {
        assert!(
            text.contains("begin on 2026-12-15") && text.contains("Look again with a scan tool on 2026-12-18"),
            "{text}"
        );
    }
    let without = program.next(&wagon, &Request::new(), Class::Pass).unwrap();
    assert!(!without.to_json().contains("schedule") && !without.to_string().contains("begin on"));
}
