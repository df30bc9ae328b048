//! What rulings, pages and citations of every shipped program must tell, whatever their law says.

use super::every::{entries, programs};
use rstest::rstest;
use wherefore::internals::model::{Date, Fact, Snapshot, Value};
use wherefore::internals::program::{Citation, Class, InForce, Item, Program, Seen, Selection, select};
use wherefore::internals::report::pages::{self, Page};
use wherefore::internals::report::{text, warning::Shares};
use wherefore::internals::ruling::{Due, Ruling, judge};

fn day(text: &str) -> Date {
    text.parse().unwrap()
}

fn on(program: &Program, car: &Snapshot, day: Date) -> Ruling {
    let mut car = car.clone();
    car.set(Fact::TestDate, Value::Date(day));
    judge(&select(program, &Selection::on(day)).unwrap(), program, &car).unwrap()
}

// On 1 January 1900 no inspection of on-board diagnostics existed: a file that has a first day says that it holds no law.
#[test]
fn before_its_first_day_no_program_says_not_subject() {
    let old = day("1900-01-01");
    let mut dated = 0;
    for program in programs() {
        let flat = select(&program, &Selection::on(old)).unwrap();
        if flat.in_force.is_yes() {
            continue;
        }
        dated += 1;
        assert!(matches!(flat.in_force, InForce::NotYet { .. }), "{}: {:?}", program.id, flat.in_force);
        let ruling = on(&program, &Snapshot::default(), old);
        assert_eq!((ruling.class, ruling.verdict.as_str()), (Class::NoLaw, "no-law-in-file"), "{}", program.id);
        assert_eq!(ruling.due.due, Due::NotSaid, "{}", program.id);
    }
    assert!(dated > 40, "only {dated} programs have a first day");
}

// After the last day of a program the ruling names the day and cites what ended it.
#[test]
fn a_program_that_has_ended_cites_what_ended_it() {
    let far = day("2199-01-01");
    let mut ended = Vec::new();
    for program in programs() {
        let ruling = on(&program, &Snapshot::default(), far);
        let flat = select(&program, &Selection::on(far)).unwrap();
        match flat.in_force {
            InForce::Yes => continue,
            InForce::Ended { last } => {
                assert_eq!((ruling.class, ruling.coverage.state), (Class::NotSubject, "ended"), "{}", program.id);
                assert!(ruling.coverage.message.contains(&last.to_string()), "{}", ruling.coverage.message);
                assert!(!ruling.coverage.law.is_empty() && !ruling.grounds[0].law.is_empty(), "{}", program.id);
                ended.push(program.id.clone());
            }
            other => assert_eq!(ruling.class, Class::NoLaw, "{}: {other:?}", program.id),
        }
    }
    // The digests have these as ended.
    for id in ["us-wa", "us-id", "us-ky", "ca-on", "ca-bc"] {
        assert!(ended.iter().any(|it| it == id), "{id} has ended: {ended:?}");
    }
}

// 40 CFR 86.1806-05(d)(1): a flashing lamp is misfire that can ruin the catalyst. Any lamp that is on is spoken of.
#[rstest]
#[case::commanded(&[(Fact::LampCommanded, "yes")])]
#[case::lit(&[(Fact::LampLitRunning, "yes")])]
#[case::flashing(&[(Fact::LampLitRunning, "yes"), (Fact::LampFlashing, "yes")])]
fn no_program_meets_a_lamp_that_is_on_with_silence(#[case] lamp: &[(Fact, &str)]) {
    let mut car = Snapshot::default();
    car.set(Fact::ModelYear, Value::Number(2014));
    lamp.iter().for_each(|(fact, word)| car.set_word(*fact, word));
    for program in programs() {
        let ruling = on(&program, &car, day("2026-11-28"));
        let told = text::text(&ruling, text::Detail::Short);
        assert!(told.contains("\nCaution: "), "{}: {told}", program.id);
        assert_eq!(ruling.cautions.first().copied(), ruling.lamp.as_ref().map(|lamp| lamp.caution), "{}", program.id);
        let flashes = lamp.len() == 2;
        assert_eq!(ruling.cautions[0].contains("ruin the catalyst"), flashes, "{}", program.id);
    }
}

/// A reading of ours is an inference, never read (the words of kinds of basis in `policies/README.md`).
#[test]
fn what_is_our_reading_is_not_marked_read() {
    let mut wrong = Vec::new();
    for program in programs() {
        let mut look = |citations: &[Citation]| {
            let ours = citations.iter().filter(|it| it.locator.contains("our reading") && it.seen < Seen::Inferred);
            wrong.extend(ours.map(|it| format!("{}: {}", program.id, it.locator)));
        };
        for block in &program.blocks {
            look(&block.basis);
            match &block.item {
                Item::Clause(clause) => clause.lines.iter().for_each(|line| look(&line.basis)),
                Item::Limit { rows, .. } => rows.iter().for_each(|row| look(&row.basis)),
                _ => {}
            }
        }
    }
    wrong.sort();
    wrong.dedup();
    assert_eq!(wrong, Vec::<String>::new());
}

/// The page of a program shows each part that stands, in the words of its file, with what it rests on: Delaware's limit is
/// from memory (states-a.md), and the page says so.
#[rstest]
#[case::delaware("us-de", &["Limits on incomplete monitors", "at most 1", "from memory]", "Vehicles covered", "Presumed where not known"])]
#[case::california("us-ca", &["Vehicles left out", "Limits on incomplete monitors", "Presumed where not known"])]
#[case::strict("us-model-strict", &["as the file of us-model has it", "Dates in force"])]
fn a_page_shows_what_a_program_rests_on(#[case] id: &str, #[case] wanted: &[&str]) {
    let entries = entries();
    let entry = entries.iter().find(|entry| entry.program.as_ref().is_some_and(|program| program.id == id)).unwrap();
    let program = entry.program.as_ref().unwrap();
    let shares = Shares::default();
    let page = Page { program, source: &entry.source, messages: &[], shares: &shares, adopted: &[] };
    let html = pages::program(&[page]).unwrap();
    for words in wanted {
        assert!(html.contains(words), "{id}: the page does not say `{words}`");
    }
    assert!(!html.contains("was not seen</td>\n<td>") || html.contains("not seen]"), "{id}");
    for block in program.blocks.iter().filter(|block| block.origin.program == id) {
        if let (Item::LeavesOut { why, .. }, true) = (&block.item, block.window.holds(day("2026-11-25"))) {
            let escaped = why.replace('\'', "&#x27;");
            assert!(block.draft || html.contains(why) || html.contains(&escaped), "{id}: {why}");
        }
    }
}
