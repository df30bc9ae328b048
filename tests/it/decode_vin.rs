//! VINs: the worked examples of 49 CFR 565, and what a check digit proves.
#![allow(
    clippy::unwrap_used,
    clippy::panic,
    clippy::indexing_slicing,
    clippy::string_slice,
    clippy::wildcard_enum_match_arm,
    reason = "a test that does not find what it looks for has to stop there"
)]

use proptest::prelude::*;
use rstest::rstest;
use wherefore::internals::decode::vin::{CheckDigit, Vin, VinError};

/// 49 CFR 565.15(c) and NHTSA's outline, as copied in obd-data.md section 4: the digit at position
/// 9 was left open there and is put in here.
#[rstest]
#[case::sum_411("1G4AH59H?5G118341", '4')]
#[case::sum_314("1J9RP1A3?A1644345", '6')]
#[case::sum_351("1M8GDM9A?KP042788", 'X')]
#[case::sum_373("1FACP45E?LF192944", 'X')]
fn worked_examples(#[case] open: &str, #[case] digit: char) {
    let vin = Vin::parse(&open.replace('?', &digit.to_string())).unwrap();
    assert_eq!(vin.expected_check_digit(), digit);
    assert_eq!(vin.check_digit(), CheckDigit::Agrees);
    for wrong in "0123456789X".chars().filter(|c| *c != digit) {
        let vin = Vin::parse(&open.replace('?', &wrong.to_string())).unwrap();
        assert_eq!(vin.check_digit(), CheckDigit::Differs { expected: digit }, "{wrong}");
    }
}

/// obd-data.md section 4. The Chinese one: 351 - 8 + 3 * 8 = 367, which leaves 4 by 11.
#[rstest]
#[case::european_mismatch("WP0ZZZ99ZTS392124", CheckDigit::NoEvidence, '8')]
#[case::european_misread("SGZCZ43D13S812715", CheckDigit::NoEvidence, 'X')]
#[case::same_value_letters_pass("1M8GDM9AXKP042788", CheckDigit::Agrees, 'X')]
#[case::swapped_values_undetected("1M8GDM9AXSP042788", CheckDigit::Agrees, 'X')]
#[case::china_by_a_secondary_source("LM8GDM9A0KP042788", CheckDigit::Differs { expected: '4' }, '4')]
fn what_the_check_digit_tells(#[case] text: &str, #[case] expected: CheckDigit, #[case] digit: char) {
    let vin = Vin::parse(text).unwrap();
    assert_eq!(vin.expected_check_digit(), digit);
    assert_eq!(vin.check_digit(), expected);
}

/// Year codes and position 7 (49 CFR 565.15(b), obd-data.md section 4).
#[rstest]
#[case::digit_at_7("1M8GDM9AXKP042788", Some((1989, 2019)), Some(1989))]
#[case::letter_at_7("1M8GDMAAXKP042788", Some((1989, 2019)), Some(2019))]
#[case::code_a("1M8GDMAAXAP042788", Some((1980, 2010)), Some(2010))]
#[case::code_y("1M8GDM9AXYP042788", Some((2000, 2030)), Some(2000))]
#[case::code_1("1M8GDM9AX1P042788", Some((2001, 2031)), Some(2001))]
#[case::code_9("1M8GDMAAX9P042788", Some((2009, 2039)), Some(2039))]
#[case::code_t_both_plausible("1M8GDMAAXTP042788", Some((1996, 2026)), Some(2026))]
#[case::code_0_is_none("1M8GDM9AX0P042788", None, None)]
#[case::code_u_is_none("1M8GDM9AXUP042788", None, None)]
#[case::code_z_is_none("1M8GDM9AXZP042788", None, None)]
fn model_years(#[case] text: &str, #[case] candidates: Option<(u16, u16)>, #[case] by_position_7: Option<u16>) {
    let years = Vin::parse(text).unwrap().model_years();
    assert_eq!(years.candidates, candidates);
    assert_eq!(years.by_position_7, by_position_7);
}

#[rstest]
#[case::short("1M8GDM9AXKP04278", VinError::Length(16))]
#[case::long("1M8GDM9AXKP0427888", VinError::Length(18))]
#[case::letter_i("1M8GDM9AXKPI42788", VinError::Character { position: 12, found: 'I' })]
#[case::letter_o("OM8GDM9AXKP042788", VinError::Character { position: 1, found: 'O' })]
#[case::letter_q("1M8GDM9AXKP04278Q", VinError::Character { position: 17, found: 'Q' })]
#[case::small_letter("1m8GDM9AXKP042788", VinError::Character { position: 2, found: 'm' })]
#[case::umlaut("1Ü8GDM9AXKP042788", VinError::Character { position: 2, found: 'Ü' })]
#[case::zeros("00000000000000000", VinError::AllSame('0'))]
#[case::ones_pass_the_check_but_are_fill("11111111111111111", VinError::AllSame('1'))]
fn no_vin(#[case] text: &str, #[case] expected: VinError) {
    assert_eq!(Vin::parse(text), Err(expected));
}

proptest! {
    /// One changed character changes the expected digit unless both have the same value
    /// (obd-data.md section 4) or the position has weight 0.
    #[test]
    fn a_misread_character_is_caught_unless_values_agree(
        text in "1[A-HJ-NPR-Z0-9]{16}", place in 0usize..17, other in "[A-HJ-NPR-Z0-9]",
    ) {
        let changed: String = text
            .chars()
            .enumerate()
            .map(|(i, c)| if i == place { other.chars().next().unwrap_or(c) } else { c })
            .collect();
        let group = |c: char| {
            ["0", "1AJ", "2BKS", "3CLT", "4DMU", "5ENV", "6FW", "7GPX", "8HY", "9RZ"]
                .iter()
                .position(|g| g.contains(c))
        };
        let (Ok(before), Ok(after)) = (Vin::parse(&text), Vin::parse(&changed)) else {
            return Ok(());
        };
        let same = group(text.chars().nth(place).unwrap()) == group(changed.chars().nth(place).unwrap());
        prop_assert_eq!(
            before.expected_check_digit() == after.expected_check_digit(),
            same || place == 8
        );
    }
}
