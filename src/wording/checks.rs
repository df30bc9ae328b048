//! What a person does where no repair and no drive is needed: finds out what nobody has checked, and goes.

use super::headline::other_test;
use super::plan::Told;
use super::provisos::alike_once;
use crate::analysis::next::{Branch, End};
use crate::model::Observer;
use crate::ruling::{BranchShown, NoteShown, ProvisoShown, Ruling};

/// What spoils readiness before a visit. 40 CFR 85.2222 (c) and common practice: clearing codes, and on many vehicles loss of
/// battery power, makes every supported monitor incomplete.
const KEEP: &str = "Before the visit do not clear codes and do not disconnect the battery: either makes every monitor incomplete again.";

/// The step of a lamp that is on where the program does not ask for it.
const LAMP_ON: &str =
    "have the fault found and repaired that the malfunction lamp tells of, although nothing seen here asks for it";

/// What is said where nothing stands against a vehicle.
pub const NOTHING_AGAINST: &str = "No rule seen so far stands against it";

/// In the order in which a person can do it.
const ORDER: [Observer; 4] = [Observer::Look, Observer::Papers, Observer::Reader, Observer::Visit];

/// What stands before the steps, the steps, what follows them.
type ToDo = (Option<String>, Vec<String>, Vec<String>);

/// What to find out, as steps: `make sure by a look that the connector is intact`.
fn steps(shown: &BranchShown) -> Vec<String> {
    let all: Vec<&ProvisoShown> = shown.provisos.iter().collect();
    told_by(&all, &ORDER)
}

/// The same beside drives: what is seen before anything is paid for or driven, and what is read behind, when the vehicle is
/// read again anyway.
#[must_use]
pub fn steps_beside_drives(shown: &BranchShown) -> (Vec<String>, Vec<String>) {
    // Whoever reads the vehicle again sees that it answers.
    let those: Vec<&ProvisoShown> = shown.provisos.iter().filter(|one| one.key != "communication").collect();
    (told_by(&those, &[Observer::Look, Observer::Papers]), told_by(&those, &[Observer::Reader]))
}

fn told_by(those: &[&ProvisoShown], observers: &[Observer]) -> Vec<String> {
    observers.iter().flat_map(|observer| by(those, *observer)).collect()
}

/// What one person can tell: what is so in a step, and each question of yes or no in one of its own.
fn by(those: &[&ProvisoShown], observer: Observer) -> Vec<String> {
    let of_observer = || those.iter().filter(|one| one.observer == observer);
    let so = |one: &&ProvisoShown| match one.question.as_str() {
        "" => one.clause.clone(),
        question => format!("{} ({question})", one.clause),
    };
    let clauses: Vec<String> = of_observer().filter(|one| one.answer.is_none()).map(so).collect();
    let first = (!clauses.is_empty()).then(|| format!("{} that {}", observer.step(), alike_once(&clauses)));
    let question = |one: &&ProvisoShown| {
        one.answer.as_ref().map(|answer| format!("{}: \"{}\" must be {answer}", observer.step(), one.question))
    };
    first.into_iter().chain(of_observer().filter_map(question)).collect()
}

/// What to do where nothing has to change; nothing for any other answer.
#[must_use]
pub fn to_do(told: &Told<'_>, branch: &Branch, shown: &BranchShown) -> ToDo {
    let prospect = told.prospect;
    let steps = steps(shown);
    // Whoever stops reading at the steps must not take a lamp that is on for settled.
    let lamp = told.ruling.lamp.is_some().then(|| LAMP_ON.to_owned());
    match &branch.end {
        End::Already if lamp.is_some() => (None, steps.into_iter().chain(lamp).collect(), vec![KEEP.to_owned()]),
        End::Already if steps.is_empty() => (Some("nothing more is needed.".to_owned()), steps, vec![KEEP.to_owned()]),
        End::Already => (None, steps, vec![KEEP.to_owned()]),
        End::OtherTest if steps.is_empty() => (Some(format!("go to {}.", other_test(prospect))), steps, Vec::new()),
        End::OtherTest => {
            let go = format!("Then go to {}.", other_test(prospect));
            (None, steps, vec![go])
        }
        End::NotAsked => (None, steps, Vec::new()),
        _ => ToDo::default(),
    }
}

/// Why, where nothing stands against the vehicle: that nothing which was read does, and what is still to be found out.
#[must_use]
pub fn why(branch: &Branch, shown: &BranchShown) -> Option<String> {
    match &branch.end {
        End::Already => {
            let rest = if shown.provisos.is_empty() { "" } else { ", if the points still to be checked hold" };
            Some(format!("{NOTHING_AGAINST}{rest}."))
        }
        End::OtherTest => {
            let why = shown.elsewhere.trim_end_matches('.');
            (!why.is_empty()).then(|| format!("The on-board check does not decide here: {why}."))
        }
        _ => None,
    }
}

/// Whether something that cannot be checked here is told beside what to do: a person can see to it, and the vehicle may be
/// turned away or fail where it is not so.
fn is_minded(ruling: &Ruling, told: Option<&Told<'_>>, note: &NoteShown) -> bool {
    let named = |name: &str| ruling.possible.iter().any(|verdict| verdict.name == name);
    let may_end_so = ["reject", "fail"].iter().any(|name| note.into.iter().any(|into| into == name) && !named(name));
    let goes =
        |told: &Told<'_>| told.prospect.next.only().is_some_and(|it| matches!(it.end, End::Already | End::Plans(_)));
    may_end_so && told.is_some_and(goes)
}

/// The first thing of that kind, which is told below the steps.
#[must_use]
pub fn minded<'r>(ruling: &'r Ruling, told: Option<&Told<'_>>) -> Option<&'r NoteShown> {
    ruling.notes.iter().find(|note| is_minded(ruling, told, note))
}
