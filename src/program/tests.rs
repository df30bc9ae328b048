//! Tests of what is told of a condition by what each fact can be, and of the values that a declared fact takes.
#![allow(clippy::unwrap_used, reason = "tests may stop at the first wrong thing")]

use super::block::DeclaredType;
use super::examples::example;
use super::given::fit;
use super::{Condition, Given, Test};
use crate::model::facts::{ABSENT, Possible, Span};
use crate::model::{DeclaredValue, Fact, Snapshot};

fn with(fact: Fact, possible: Possible) -> Given {
    let mut given = Given::of(&example(), &Snapshot::default()).unwrap();
    given.facts.put(fact, possible);
    given
}

fn number(least: i64, most: i64, may_be_absent: bool) -> Possible {
    Possible::Number(Span { least, most, may_be_absent })
}

/// The year is even or odd where it is one year, and surely on the vehicle; else nothing is told.
#[test]
fn whether_a_year_is_even_is_told_of_one_year_alone() {
    for (least, most, may_be_absent) in [(1996, 1996), (1997, 1997), (1996, 1997), (1996, 1998), (1997, 1999)]
        .into_iter()
        .flat_map(|(least, most)| [(least, most, false), (least, most, true)])
    {
        let given = with(Fact::ModelYear, number(least, most, may_be_absent));
        let expected = (least == most && !may_be_absent).then_some(least % 2 == 0);
        for even in [true, false] {
            let told = given.holds(&Condition::Test(Test::ModelYearIsEven(even)));
            assert_eq!(told, expected.map(|is| is == even), "{least} through {most}, even: {even}");
        }
    }
}

/// Whether a fact is on the vehicle is told where all that it can be says so.
#[test]
fn whether_a_fact_is_there_is_told_where_all_that_it_can_be_says_so() {
    let codes = |may_be_present, may_be_absent| Possible::Codes { list: None, may_be_absent, may_be_present };
    let all = [
        (Fact::LampLitKeyOn, Possible::Words(0b01), Some(true)),
        (Fact::LampLitKeyOn, Possible::Words(0b11), Some(true)),
        (Fact::LampLitKeyOn, Possible::Words(0b01 | ABSENT), None),
        (Fact::LampLitKeyOn, Possible::Words(ABSENT), Some(false)),
        (Fact::WarmUps, number(0, 255, false), Some(true)),
        (Fact::WarmUps, number(7, 7, true), None),
        (Fact::WarmUps, number(1, 0, true), Some(false)),
        (Fact::PermanentCodes, codes(true, false), Some(true)),
        (Fact::PermanentCodes, codes(true, true), None),
        (Fact::PermanentCodes, codes(false, true), Some(false)),
        (Fact::Area, Possible::Text(None), Some(true)),
    ];
    for (fact, possible, there) in all {
        let given = with(fact, possible.clone());
        for is in [true, false] {
            let told = given.holds(&Condition::Test(Test::Present { fact, is }));
            assert_eq!(told, there.map(|there| there == is), "{possible:?}, is: {is}");
        }
    }
}

/// `grammar/language.md`, declared facts: yes or no is told by these two words (or a truth value), and by no other.
#[test]
fn yes_or_no_is_told_by_these_words_alone() {
    let word = |text: &str| fit(&DeclaredType::YesNo, &DeclaredValue::Word(text.to_owned()));
    assert_eq!([word("no"), word("yes")], [0b01, 0b10].map(|bit| Some(Possible::Words(bit))));
    for text in ["", "No", "none", "maybe", "y", "n", "0", "false"] {
        assert_eq!(word(text), None, "{text}");
    }
    let truth = |yes| fit(&DeclaredType::YesNo, &DeclaredValue::YesNo(yes));
    assert_eq!([truth(false), truth(true)], [0b01, 0b10].map(|bit| Some(Possible::Words(bit))));
}
