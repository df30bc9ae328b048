//! What a person may answer and how a date may be written: what is told is what is taken, and nothing beside it is guessed.
//! Ranges and words are those of the table of facts; forms of dates are common practice in the United States.

use rstest::rstest;
use std::collections::BTreeSet;
use wherefore::internals::document::answer::{answer, answers, iso};
use wherefore::internals::document::{parse_date, read};
use wherefore::internals::model::table::all_facts;
use wherefore::internals::model::{Fact, FactType, Reading, Unit, Value, spec};

/// The words of a list as people write it: `a, b or c`.
fn listed(text: &str) -> Vec<&str> {
    let words =
        text.split([',', ';']).flat_map(|part| part.trim().strip_prefix("or ").unwrap_or(part.trim()).split(" or "));
    words.map(str::trim).filter(|word| !word.is_empty()).collect()
}

/// Each word that may be answered is told, and each that is told is taken for another value of the fact.
#[test]
fn what_may_be_answered_is_told_and_taken() {
    let mut tried = 0;
    for fact in all_facts() {
        let (told, spec) = (answers(fact), spec(fact));
        let (told, absence) = match told.strip_suffix("; or not on this vehicle") {
            Some(rest) => (rest.to_owned(), true),
            None => (told, false),
        };
        assert_eq!(absence, spec.may_be_absent, "{fact:?}: {told}");
        let is_absent = answer(fact, "not on this vehicle") == Ok(Reading::NotOnVehicle);
        assert_eq!(is_absent, absence, "{fact:?}");
        match spec.kind {
            FactType::YesNo { .. } | FactType::Words(_) => {
                let words = told.split(';').next().unwrap();
                let taken: BTreeSet<Reading> = listed(words)
                    .iter()
                    .map(|word| answer(fact, word).unwrap_or_else(|why| panic!("{fact:?}: {word}: {why}")))
                    .collect();
                assert_eq!(listed(words).len(), taken.len(), "no two words for one value: {told}");
                let all =
                    (0..fact.words().len()).map(|place| Reading::Known(Value::Word(u8::try_from(place).unwrap())));
                assert_eq!(taken, all.collect(), "{fact:?}: {told}");
            }
            FactType::Number { unit, least, most, saturates } => {
                assert!(told.starts_with(&format!("a whole number from {least} through {most}")), "{told}");
                assert_eq!(told.contains(&format!("{most} means that or more")), saturates, "{fact:?}: {told}");
                for number in [least - 1, least, most, most + 1] {
                    let value = Reading::Known(Value::Number(unit.to_base(number).unwrap()));
                    let expected = (least..=most).contains(&number).then_some(value);
                    assert_eq!(answer(fact, &number.to_string()).ok(), expected, "{fact:?} {number}");
                    if unit != Unit::One {
                        let told = format!("{number} {}", unit.word());
                        assert_eq!(answer(fact, &told).ok(), expected, "{fact:?} {told}");
                    }
                }
            }
            FactType::Date => {
                let examples: Vec<&str> = told.trim_start_matches("a date such as ").split(" or ").collect();
                let read: BTreeSet<Reading> = examples.iter().map(|text| answer(fact, text).unwrap()).collect();
                assert_eq!((examples.len(), read.len()), (2, 1), "two forms of one day: {told}");
            }
            FactType::Monitors | FactType::Codes => {
                assert!(told.contains("none") && answer(fact, "none").is_ok(), "{told}");
                assert!(answer(fact, "").is_err() && answer(fact, " ; ").is_err(), "nothing is not none");
            }
            FactType::Text => assert!(answer(fact, "Larkspur").is_ok() && answer(fact, " ").is_err()),
        }
        tried += 1;
    }
    assert!(tried > 70, "{tried}");
}

#[rstest]
#[case::slashes("11/28/2026", Some("2026-11-28"))]
#[case::slashes_short("3/1/2012", Some("2012-03-01"))]
#[case::no_thirteenth_month("13/1/2012", None)]
#[case::no_thirtieth_of_february("2/30/2012", None)]
#[case::leap_day("2/29/2012", Some("2012-02-29"))]
#[case::no_leap_day("2/29/2011", None)]
#[case::two_digits_of_a_year("3/1/12", None)]
#[case::a_sign("+3/1/2012", None)]
#[case::four_parts("3/1/2012/1", None)]
#[case::day_first("28 Nov 2026", Some("2026-11-28"))]
#[case::month_first("Nov 28, 2026", Some("2026-11-28"))]
#[case::whole_month("November 28, 2026", Some("2026-11-28"))]
#[case::capitals("28 NOVEMBER 2026", Some("2026-11-28"))]
#[case::september("Sept 3, 2012", Some("2012-09-03"))]
#[case::full_stop("Nov. 28, 2026", Some("2026-11-28"))]
#[case::two_full_stops("Nov.. 28, 2026", None)]
#[case::two_letters_and_a_full_stop("No. 28, 2026", None)]
#[case::may("may 3 2012", Some("2012-05-03"))]
#[case::two_letters("no 28, 2026", None)]
#[case::june_or_july("Ju 4, 2026", None)]
#[case::neither_june_nor_july("Juny 4, 2026", None)]
#[case::a_slip("Novembre 28, 2026", None)]
#[case::no_month("marble 3, 2012", None)]
#[case::a_month_and_more("nov2 28, 2026", None)]
#[case::two_months("Nov Dec 2026", None)]
#[case::no_month_at_all("3 1 2012", None)]
#[case::dots("1.3.2012", None)]
#[case::first_year("1/1/1900", Some("1900-01-01"))]
#[case::before_it("12/31/1899", None)]
fn dates_as_people_write_them(#[case] text: &str, #[case] expected: Option<&str>) {
    assert_eq!(iso(text).as_deref(), expected);
}

/// Every month by its name and by each beginning that is told from others by its first three letters.
#[test]
fn months_by_their_names() {
    // ISO 8601 numbers the months from 01.
    let months = "January February March April May June July August September October November December";
    for (place, month) in months.split(' ').enumerate() {
        for long in 3..=month.len() {
            let expected = format!("2012-{:02}-09", place + 1);
            for text in [format!("9 {} 2012", &month[..long]), format!("{} 9, 2012", &month[..long])] {
                assert_eq!(iso(&text).as_ref(), Some(&expected), "{text}");
            }
        }
    }
}

/// A document has year, month and day with hyphens, and no other form that a standard allows.
#[rstest]
#[case::plain("2026-11-25", true)]
#[case::basic("20261125", false)]
#[case::week("2026-W48-3", false)]
#[case::ordinal("2026-330", false)]
#[case::time("2026-11-25T10:00:00", false)]
#[case::time_beside("2026-11-25 10:00", false)]
#[case::hour("20261125T1", false)]
#[case::six_digits_of_a_year("+002026-11-25", false)]
#[case::short_month("2026-1-25", false)]
#[case::short_day("2026-11-2", false)]
#[case::month_alone("2026-11", false)]
#[case::more_digits("2026-11-255", false)]
#[case::blank_before(" 2026-11-2", false)]
#[case::blank_behind("2026-11-2 ", false)]
#[case::zone("2026-11-25[America/Denver]", false)]
#[case::slashes("2026/11/25", false)]
#[case::no_such_day("2026-02-30", false)]
#[case::no_such_month("2026-13-01", false)]
#[case::a_sign_before_the_year("+026-11-25", false)]
#[case::a_sign_before_the_month("2026-+1-25", false)]
#[case::before_our_era("-2026-11-25", false)]
#[case::three_digits_of_a_year("202-11-25", false)]
#[case::five_digits_of_a_year("02026-11-25", false)]
#[case::three_digits_of_a_month("2026-011-25", false)]
#[case::a_part_too_many("2026-11-25-01", false)]
#[case::nothing_behind_a_hyphen("2026-11-25-", false)]
#[case::no_day_of_zero("2026-11-00", false)]
#[case::leap_day("2024-02-29", true)]
#[case::other_digits("٢٠٢٦-11-25", false)]
#[case::nothing("", false)]
fn a_date_of_a_document(#[case] text: &str, #[case] is_read: bool) {
    let expected = is_read.then(|| text.parse().unwrap());
    assert_eq!(parse_date(text), expected);
}

/// The years that a document's dates may be of (the schema's and the table's): no vehicle of the road is older, and a later
/// one is a slip.
#[rstest]
#[case::before("1899-12-31", false)]
#[case::first_day("1900-01-01", true)]
#[case::last_day("2199-12-31", true)]
#[case::after("2200-01-01", false)]
fn years_of_a_document(#[case] date: &str, #[case] is_read: bool) {
    for (fact, members) in [
        (Fact::FirstRegistered, format!("\"vehicle\": {{\"first_registered\": \"{date}\"}}")),
        (Fact::TestDate, format!("\"visit\": {{\"date\": \"{date}\"}}")),
    ] {
        let text = format!("{{\"format\": \"wherefore-snapshot/1\", {members}}}");
        match read(text.as_bytes()) {
            Ok(document) => {
                assert!(is_read, "{text}");
                let expected = Reading::Known(Value::Date(date.parse().unwrap()));
                assert_eq!(document.snapshot.get(fact), Some(&expected));
            }
            Err(faults) => {
                assert!(!is_read, "{faults:?}");
                let told = faults[0].to_string();
                assert!(told.contains(&format!("{date} is out of range")), "{told}");
            }
        }
        assert_eq!(answer(fact, date).is_ok(), is_read, "{fact:?} {date}");
    }
}
