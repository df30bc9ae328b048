//! Tests of the mapping file that need its inside.

use super::ahead_of_utc;
use rstest::rstest;

// ISO 8601, 4.2.5.1: sign, hours, minutes. India is +05:30, Newfoundland -03:30 (time zone database).
#[rstest]
#[case::utc("UTC", Some(0))]
#[case::india("+05:30", Some(19_800))]
#[case::india_without_colon("+0530", Some(19_800))]
#[case::newfoundland("-03:30", Some(-12_600))]
#[case::line_islands("+1400", Some(50_400))]
#[case::no_such_hour("+1500", None)]
#[case::no_such_minute("+0160", None)]
#[case::minute_short_of_an_hour("+0159", Some(7_140))]
#[case::three_digits("+530", None)]
#[case::with_rules_of_its_own("Europe/Berlin", None)]
fn a_fixed_distance_from_utc(#[case] named: &str, #[case] seconds: Option<i64>) {
    assert_eq!(ahead_of_utc(named), seconds);
}
