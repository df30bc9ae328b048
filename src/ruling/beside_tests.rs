//! Tests of what is told beside the outcome: the reason of a question, and relabellings that a ruling leans on.
#![allow(clippy::unwrap_used, clippy::indexing_slicing, reason = "tests may stop at the first wrong thing")]

use super::tests::{car, cited, flat, program};
use super::*;
use crate::model::{Fact, Monitor};
use crate::program::declared::Question;
use crate::program::examples::{origin, word};
use crate::program::flat::{Becomes, FlatQuestion};
use crate::program::{Condition, Program, Seen, Test};
use rstest::rstest;

/// The reason that a file gives is that of its own choice: of a question that the file answers and that is opened again, it says
/// nothing.
#[rstest]
#[case::left_open_by_the_file(None, "Unclear.")]
#[case::answered_by_the_file(Some(0), "")]
fn the_reason_of_a_question_goes_with_the_files_own_choice(#[case] taken: Option<usize>, #[case] expected: &str) {
    let ids = ["strict".to_owned(), "lenient".to_owned()];
    let mut flat = flat();
    let (id, text) = ("doubt".to_owned(), "Which?".to_owned());
    let readings = ids.to_vec();
    flat.questions = vec![FlatQuestion { id: id.clone(), text: text.clone(), readings, taken: None }];
    flat.lines[0].concerns = Condition::Test(Test::Reading { question: 0, reading: 0 });
    let readings = ids.into_iter().map(|id| (id, String::new(), Vec::new())).collect();
    let question = Question { id, text, readings, taken, why: "Unclear.".to_owned(), origin: origin() };
    let program = Program { questions: vec![question], ..program() };
    let mut lit = car();
    lit.set_word(Fact::LampCommanded, "yes");
    let ruling = judge(&flat, &program, &lit).unwrap();
    let told: Vec<_> = ruling.questions.iter().map(|asked| (asked.taken.as_deref(), asked.why.as_str())).collect();
    assert_eq!(told, [(None, expected)]);
}

/// Design, promise 4: a ruling leans on a relabelling from memory where the vehicle may be relabelled to an outcome that is
/// possible, and only then.
#[rstest]
#[case::relabelled(Some("yes"), "yes", true)]
#[case::perhaps_relabelled(None, "yes", true)]
#[case::another_vehicle(Some("no"), "yes", false)]
#[case::the_outcome_by_another_way(Some("no"), "no", false)]
fn a_relabelling_is_leaned_on_where_it_may_relabel(
    #[case] hybrid: Option<&str>,
    #[case] lamp: &str,
    #[case] leans: bool,
) {
    let mut flat = flat();
    let basis = cited(1, "", Seen::FromMemory);
    flat.becomes = vec![Becomes { from: 2, to: 1, condition: word(Fact::Hybrid, "yes"), basis }];
    let mut car = car();
    car.set_word(Fact::LampCommanded, lamp);
    hybrid.into_iter().for_each(|hybrid| car.set_word(Fact::Hybrid, hybrid));
    // Two are one more than the limit allows: turned away, unless the lamp fails the vehicle.
    for monitor in [Monitor::Catalyst, Monitor::Evaporative] {
        car.set_word(Fact::Monitor(monitor), "incomplete");
    }
    let ruling = judge(&flat, &program(), &car).unwrap();
    assert_eq!(ruling.weak.iter().any(|weak| weak.part == Part::Relabelling), leans, "{:?}", ruling.weak);
}
