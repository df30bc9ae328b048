//! What a person does where no repair and no drive is needed: finds out what nobody has checked, and goes.

use super::headline::other_test;
use super::provisos::alike_once;
use crate::analysis::next::{Branch, End};
use crate::model::Observer;
use crate::ruling::{BranchShown, Prospect};

/// What spoils readiness before a visit. 40 CFR 85.2222 (c) and common practice: clearing codes, and on many vehicles loss of
/// battery power, makes every supported monitor incomplete.
const KEEP: &str = "Until the visit clear no codes and leave the battery connected: else every monitor is incomplete again.";

/// In the order in which a person can do it.
const ORDER: [Observer; 4] = [Observer::Look, Observer::Papers, Observer::Reader, Observer::Visit];

/// What stands before the steps, the steps, what follows them.
type ToDo = (Option<String>, Vec<String>, Vec<String>);

/// What to find out, as steps: `make sure by a look that the connector is intact`.
fn steps(shown: &BranchShown) -> Vec<String> {
    let by = |observer: Observer| {
        let clauses: Vec<String> =
            shown.provisos.iter().filter(|one| one.observer == observer).map(|one| one.clause.clone()).collect();
        (!clauses.is_empty()).then(|| format!("{} that {}", observer.step(), alike_once(&clauses)))
    };
    ORDER.into_iter().filter_map(by).collect()
}

/// What to do where nothing has to change; nothing for any other answer.
#[must_use]
pub fn to_do(prospect: &Prospect, branch: &Branch, shown: &BranchShown) -> ToDo {
    let steps = steps(shown);
    match &branch.end {
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
            let rest = match shown.provisos.len() {
                0 => String::new(),
                1 => "; 1 point is still to be checked".to_owned(),
                many => format!("; {many} points are still to be checked"),
            };
            Some(format!("Nothing in the rules that were read stands in the way{rest}."))
        }
        End::OtherTest => {
            let why = shown.elsewhere.trim_end_matches('.');
            (!why.is_empty()).then(|| format!("The on-board check does not decide here: {why}."))
        }
        _ => None,
    }
}
