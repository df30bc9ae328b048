//! Headlines where no reader was connected yet, and where the lamp is commanded on: what a technician would say first.

use crate::headline::{ROOT, cars, class, looked, programs, snapshot, today};
use serde_json::{Value as Json, json};
use std::collections::BTreeMap;
use wherefore::internals::analysis::next::End;
use wherefore::internals::program::{Class, Selection, select};
use wherefore::internals::report::brief::{self, Purpose};
use wherefore::internals::ruling::{judge, prospect};
use wherefore::internals::wording::headline::{self, Provisos};
use wherefore::internals::wording::plan::Told;
use wherefore::internals::wording::wrap::wrapped;

/// What the registration alone tells: no reader was connected yet.
pub(crate) fn unread() -> Vec<(&'static str, Json)> {
    let only = |vehicle: Json| json!({"format": "wherefore-snapshot/1", "vehicle": vehicle, "visit": {"date": today().to_string()}});
    let car = class("light-duty", "passenger-car");
    vec![
        ("gasoline car of 2016", only(json!({"model_year": 2016, "fuel": "gasoline", "class": car}))),
        ("diesel car of 2016", only(json!({"model_year": 2016, "fuel": "diesel", "class": car}))),
        ("vehicle of 2016, nothing else known", only(json!({"model_year": 2016}))),
        ("nothing known but the date", only(json!({}))),
    ]
}

// Where no reader was connected, a person is told to read first: not a list of drives for every monitor that any engine
// may have. What such a car usually has is common practice.
#[test]
fn before_a_reader_is_connected_reading_comes_first() {
    let mut page = String::new();
    for (name, car) in unread() {
        page.push_str(&format!("{name} on {}\n", today()));
        let mut same: BTreeMap<String, Vec<String>> = BTreeMap::new();
        for program in programs() {
            let flat = select(&program, &Selection::on(today())).unwrap();
            let snapshot = snapshot(&car);
            let ruling = judge(&flat, &program, &snapshot).unwrap();
            let found = prospect(&flat, &program, &snapshot, &ruling, Class::Pass).unwrap().expect("small diagrams");
            let told = Told { ruling: &ruling, prospect: &found, provisos: Provisos::All };
            let brief = brief::brief(&ruling, Some(&told), Purpose::Next);
            let (word, missing) = headline::missing(&found);
            let mut text = wrapped("  ", None, &format!("{word}; {missing}"));
            text.push_str(&wrapped("  ", None, &brief.headline));
            for step in &brief.steps {
                text.push_str(&wrapped("  - ", None, &step.text));
                step.how.iter().for_each(|how| text.push_str(&wrapped("      ", None, how)));
            }
            let drives = found.next.branches.iter().filter_map(|branch| match &branch.end {
                End::Plans(plans) => plans.first().map(|plan| plan.driven().len()),
                _ => None,
            });
            if drives.max().unwrap_or(0) > 0 {
                assert!(text.contains("connect a scan tool"), "{}: {text}", program.id);
                assert!(brief.steps.len() <= 4 && !text.contains("hd-"), "{}: {text}", program.id);
            }
            assert!(!brief.text().contains("hd-"), "{}: {}", program.id, brief.text());
            same.entry(text).or_default().push(program.id.clone());
        }
        for (text, ids) in same {
            page.push('\n');
            page.push_str(&wrapped("", None, &ids.join(" ")));
            page.push_str(&text);
        }
        page.push('\n');
    }
    let path = format!("{ROOT}/tests/headline/before-a-reader.txt");
    if std::env::var_os("WHEREFORE_BLESS").is_some() {
        std::fs::write(&path, &page).unwrap();
    }
    assert_eq!(std::fs::read_to_string(&path).unwrap_or_default(), page, "run with WHEREFORE_BLESS=1 and read it");
}

// A technician reads a lamp that is commanded on, with its code, as what it is. Federal minimum, 40 CFR 85.2207(c): a
// lamp commanded on for one or more codes fails; only where it is not lit is that told by another item, (b).
#[test]
fn a_lamp_that_is_commanded_on_is_told_as_such() {
    let cars = cars();
    let (_, car) = cars.iter().find(|(name, _)| name.starts_with("lamp commanded on")).unwrap();
    let mut told = 0;
    for program in programs() {
        let flat = select(&program, &Selection::on(today())).unwrap();
        let (found, sentence) = looked(&flat, &program, &snapshot(car));
        // Not where no test is asked, or another test is the answer, nor where it turns on more.
        let [branch] = found.next.branches.as_slice() else { continue };
        if !matches!(branch.end, End::Plans(_)) {
            continue;
        }
        // Where the text asks what is seen, that is told, on the proviso that the lamp does what it is commanded to do.
        let seen = "if the malfunction lamp is lit with the engine running (look): the malfunction lamp is ";
        let is_told = sentence.contains("has switched on its malfunction lamp (MIL, check-engine light)")
            || sentence.contains(seen);
        assert!(is_told && !sentence.contains("perhaps"), "{}: {sentence}", program.id);
        told += 1;
    }
    assert!(told >= 30, "only {told} programs test the car");
}
