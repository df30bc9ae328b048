//! Tests of why a condition is not reached: only what takes some of its vehicles out is named.
#![allow(clippy::unwrap_used, reason = "tests may stop at the first wrong thing")]

use super::Study;
use crate::model::Fact;
use crate::program::examples::{example, origin, word};
use crate::program::flat::LeftOut;
use crate::program::{Condition, Flat};

/// Three rows leave vehicles out; the condition is met by those of one or two of them, and covered by nothing else.
#[test]
fn only_rows_that_take_out_some_of_the_vehicles_are_named() {
    let conditions = [
        ("old", Condition::All(vec![word(Fact::Hybrid, "yes"), word(Fact::Visit, "initial")])),
        ("other", word(Fact::Hybrid, "no")),
        ("new", Condition::All(vec![word(Fact::Hybrid, "yes"), word(Fact::Visit, "retest")])),
    ];
    let row = |(why, condition): &(&str, Condition<usize>)| LeftOut {
        condition: condition.clone(),
        outcome: None,
        why: (*why).to_owned(),
        basis: Vec::new(),
        origin: origin(),
    };
    let flat = Flat { left_out: conditions.iter().map(row).collect(), ..example() };
    for (place, (why, condition)) in conditions.iter().enumerate() {
        let near = Study::of(&flat).unwrap().nearest_of(condition).unwrap();
        let told: Vec<&str> = near.notes.iter().filter_map(|note| note.split('"').nth(1)).collect();
        assert_eq!(told, [*why], "row {place}: {:?}", near.notes);
        assert!(!near.notes.iter().any(|note| note.starts_with("0 of them")), "{:?}", near.notes);
    }
}
