//! The headline: one of a small set of sentences with an exact meaning (`docs/plan.md`), leading with what is certain.

pub use super::provisos::Provisos;
use super::provisos::{in_words, provided};
use super::words::BY_RULES_SEEN as READ;
use super::wrap::joined;
use crate::analysis::next::{Action, Branch, End, Plan};
use crate::diagram::level::Var;
use crate::model::table::unit_of;
use crate::model::{Fact, Monitor};
use crate::program::{Class, Verdict};
use crate::ruling::{BranchShown, HeadlineKind, Prospect, Ruling};
use std::collections::BTreeSet;

/// What comes first where no monitor was read.
const READ_FIRST: &str = "No monitor was read: connect a scan tool first. ";

/// A sentence that goes on behind a colon.
fn lower(sentence: &str) -> String {
    let mut letters = sentence.chars();
    letters.next().map_or(String::new(), |first| first.to_lowercase().chain(letters).collect())
}

/// What reaching the goal is called.
fn reaches(goal: Class) -> &'static str {
    match goal {
        Class::Pass => "Passes",
        Class::Conditional => "Passes, perhaps only for now and on conditions",
        _ => "Passes or goes to another test",
    }
}

fn a_pass(goal: Class) -> &'static str {
    match goal {
        Class::Pass => "a pass",
        Class::Conditional => "a pass for now, on conditions, or better",
        _ => "another test, or better",
    }
}

fn no_pass(goal: Class) -> &'static str {
    match goal {
        Class::Pass => "No pass as it is now",
        Class::Conditional => "Not even a pass for now as it is now",
        _ => "Neither a pass nor another test as it is now",
    }
}

/// The headline.
#[must_use]
pub fn sentence(prospect: &Prospect, ruling: &Ruling, told: Provisos) -> String {
    match (prospect.next.branches.as_slice(), prospect.branches.as_slice()) {
        ([branch], [shown]) => one(prospect, ruling, branch, shown, told),
        (branches, shown) => by_case(prospect, branches, shown),
    }
}

/// The answer of one branch in sentences.
#[must_use]
pub fn one(prospect: &Prospect, ruling: &Ruling, branch: &Branch, shown: &BranchShown, told: Provisos) -> String {
    let goal = prospect.goal;
    let provisos = provided(&shown.provisos, told);
    let unread = match branch.end {
        End::Plans(_) | End::OtherTest => !shown.unread.is_empty(),
        _ => !ruling.so_far_as_read.is_empty(),
    };
    let read = match (unread, provisos.is_empty()) {
        (false, _) => String::new(),
        (true, true) => READ.to_owned(),
        (true, false) => format!("{READ},"),
    };
    // What turns on something that nobody has checked must not begin like an answer.
    let open = ruling.class == Class::Undecided && !shown.provisos.is_empty();
    let said = |sentence: String| if open { format!("Not settled yet: {}", lower(&sentence)) } else { sentence };
    match &branch.end {
        End::Already => said(format!("{}{}{read}{provisos}.", reaches(goal), elsewhere(branch))),
        End::Plans(plans) => {
            let now = stands(prospect, ruling, shown, told);
            let what = plans.first().map(|plan| actions_after(prospect, plan, &now)).unwrap_or_default();
            if prospect.kind == HeadlineKind::ReadFirst {
                format!(
                    "{READ_FIRST}{}{} as it is now if none is incomplete, else after \
                     {what}{read}{provisos}.",
                    reaches(goal),
                    elsewhere(branch)
                )
            } else if branch.never_the_goal {
                format!("{now} Goes to {}, which then decides, after {what}{read}{provisos}.", other_test(prospect))
            } else {
                format!("{now} {}{} after {what}{read}{provisos}.", reaches(goal), elsewhere(branch))
            }
        }
        End::NotAsked if prospect.kind == HeadlineKind::NoLaw => {
            format!("No law in this file for {}.", ruling.as_of)
        }
        End::NotAsked => {
            let why = match shown.elsewhere.trim_end_matches('.') {
                "" | "The program does not cover the vehicle" => String::new(),
                why => format!(" ({})", why.strip_prefix("The ").map_or(why.to_owned(), |rest| format!("the {rest}"))),
            };
            said(format!("No test is asked of this vehicle here{why}{provisos}."))
        }
        End::OtherTest => said(format!("Goes to {} here{read}{provisos}. That test decides.", other_test(prospect))),
        End::Nothing => {
            let now = stands(prospect, ruling, shown, Provisos::Weightiest);
            let end = if prospect.kind == HeadlineKind::FailsUnless {
                format!("No repair and no drive leads to {} as long as {}.", a_pass(goal), in_words(&shown.provisos))
            } else {
                format!(
                    "No repair and no drive leads this vehicle to {} here{provisos}; ask the official inspection what it \
                     offers.",
                    a_pass(goal)
                )
            };
            format!("{now} {end}")
        }
        End::FindOut { least, .. } => {
            let now = match &shown.not_now {
                Some(_) => format!("{} ", stands(prospect, ruling, shown, told)),
                None => String::new(),
            };
            // What a vehicle that does not answer would tell is known only once it does.
            if let Some(plan) = least.as_ref().filter(|plan| is_silent(plan)) {
                return format!("{now}It takes at least {}{provisos}. {READ_AGAIN}", actions(prospect, plan));
            }
            let least = least
                .as_ref()
                .map_or(String::new(), |plan| format!(" It takes at least {}{provisos}.", actions(prospect, plan)));
            format!("{now}{}{least}", cannot_say(prospect))
        }
        End::TooMany => "There are too many ways to look at: no plan, rather than a wrong one.".to_owned(),
    }
}

/// What is driven for where no monitor was read: a repair makes every monitor incomplete.
pub(crate) fn unread_monitors(steps: &[Action]) -> &'static str {
    if steps.contains(&Action::RepairFault) { "every monitor" } else { "each monitor that is incomplete" }
}

/// What follows the repair of a vehicle that did not answer.
pub(crate) const READ_AGAIN: &str = "Then read it again: only then is known what else it takes.";

/// Whether a plan begins with a vehicle that does not answer.
pub(crate) fn is_silent(plan: &Plan) -> bool {
    plan.steps.contains(&Action::RepairCommunication)
}

/// Another test as the other way in which a branch ends.
fn elsewhere(branch: &Branch) -> &'static str {
    if branch.goes_elsewhere { " or goes to another test" } else { "" }
}

/// Whether some vehicles of a branch are asked for no test, beside those of which the answer is told.
#[must_use]
pub fn some_not_asked(branch: &Branch) -> bool {
    let told = matches!(branch.end, End::Already | End::Plans(_) | End::Nothing | End::OtherTest);
    told && branch.then.contains(&Verdict::NotSubject) && branch.then.len() > 1
}

/// What stands against a pass, each once, as the end of a sentence.
fn why<'a>(against: impl Iterator<Item = &'a str>) -> String {
    let mut list: Vec<&str> = Vec::new();
    for one in against {
        if !list.contains(&one) {
            list.push(one);
        }
    }
    if list.is_empty() { String::new() } else { format!(": {}", list.join("; ")) }
}

/// How the vehicle stands without any action.
fn stands(prospect: &Prospect, ruling: &Ruling, shown: &BranchShown, told: Provisos) -> String {
    let goal = prospect.goal;
    let why = why(shown.against.iter().map(|one| one.text.as_str()));
    match &shown.not_now {
        Some(list) => {
            let word = match (list.is_empty() && prospect.branches.len() == 1, ruling.class, goal) {
                (true, Class::Fail, _) => "Fails as it is now",
                (true, Class::Reject, _) => "Turned away (rejected) as it is now",
                (true, Class::OtherTest, Class::Pass | Class::Conditional) => "Goes to another test as it is now",
                (true, Class::Conditional, Class::Pass) => "Passes for now, on conditions, as it is now",
                _ => no_pass(goal),
            };
            format!("{word}{}{why}.", provided(list, told))
        }
        None => format!("Not sure of {} as it is now{why}.", a_pass(goal)),
    }
}

fn cannot_say(prospect: &Prospect) -> String {
    match (prospect.unknown.first(), prospect.questions.first()) {
        (Some(unknown), _) => {
            format!("Cannot be said without {} ({}): {}", unknown.name, unknown.observer.spoken(), unknown.question)
        }
        (None, Some(question)) => format!("Cannot be said: the text leaves a question open. {question}"),
        (None, None) => "Cannot be said: it turns on a text that was not seen.".to_owned(),
    }
}

/// The other test by its name.
#[must_use]
pub fn other_test(prospect: &Prospect) -> String {
    let named = |name: &String| {
        let is_named = ["test", "inspection", "check"].iter().any(|word| name.contains(word));
        let is_led = name.starts_with("the ") || name.starts_with("The ");
        if is_led {
            name.clone()
        } else if is_named {
            format!("the {name}")
        } else {
            format!("another test ({name})")
        }
    };
    let names: Vec<String> = prospect.other_tests.iter().map(named).collect();
    if names.is_empty() { "another test".to_owned() } else { joined(&names, "or") }
}

fn by_case(prospect: &Prospect, branches: &[Branch], shown: &[BranchShown]) -> String {
    let surely = shown.iter().all(|branch| branch.not_now.as_ref().is_some_and(Vec::is_empty));
    let now = if surely {
        let sure = shown.iter().flat_map(|branch| &branch.against).filter(|one| one.surely);
        let why = why(sure.map(|one| one.text.as_str()));
        format!("{}{why}. ", no_pass(prospect.goal))
    } else {
        String::new()
    };
    let common = match prospect.next.common.as_slice() {
        [] => String::new(),
        steps => {
            let plan = Plan { steps: steps.to_vec(), cost: 0, choice: Vec::new() };
            format!("In every case {} first. ", actions(prospect, &plan))
        }
    };
    let cases: Vec<String> =
        branches.iter().map(|branch| format!("{}: {}", when(branch), short(prospect, branch))).collect();
    let drives =
        |branch: &Branch| matches!(&branch.end, End::Plans(plans) if plans.iter().any(|it| !it.driven().is_empty()));
    let read = if prospect.is_unread && branches.iter().any(drives) { READ_FIRST } else { "" };
    format!("{read}{now}{common}It turns on {}: {}.", turns_on(prospect, branches), cases.join("; "))
}

/// What tells the branches apart, in words.
fn turns_on(prospect: &Prospect, branches: &[Branch]) -> String {
    let splits = || branches.iter().flat_map(|branch| &branch.when);
    let mut list: Vec<String> = Vec::new();
    // Facts that tell branches apart lead the list of what is not known.
    let facts: BTreeSet<&Var> = splits().map(|split| &split.var).filter(|var| !is_question(var)).collect();
    list.extend(prospect.unknown.iter().take(facts.len()).map(|unknown| unknown.name.clone()));
    if splits().any(|split| is_question(&split.var)) {
        list.push("a question that the law leaves open".to_owned());
    }
    joined(&list, "and")
}

fn is_question(var: &Var) -> bool {
    matches!(var, Var::Question { .. })
}

/// What tells a branch from the others: `if visit is retest`.
#[must_use]
pub fn when(branch: &Branch) -> String {
    let parts: Vec<String> = branch.when.iter().map(|split| split.text.clone()).collect();
    format!("if {}", joined(&parts, "and"))
}

/// A branch in a few words.
#[must_use]
pub fn short(prospect: &Prospect, branch: &Branch) -> String {
    let provided = if branch.provisos.is_empty() { "" } else { " if all else is sound and as usual" };
    match &branch.end {
        End::Already => format!("passes{provided}"),
        End::Plans(plans) => {
            let what = plans.first().map(|plan| actions(prospect, plan)).unwrap_or_default();
            let ends = if branch.never_the_goal { "goes to another test" } else { "passes" };
            format!("{ends} after {what}")
        }
        End::NotAsked => "no test is asked".to_owned(),
        End::OtherTest => format!("goes to {}", other_test(prospect)),
        End::Nothing => "no repair and no drive helps".to_owned(),
        End::FindOut { .. } | End::TooMany => "turns on more".to_owned(),
    }
}

/// What is done, as the end of `passes after`.
#[must_use]
pub fn actions(prospect: &Prospect, plan: &Plan) -> String {
    actions_after(prospect, plan, "")
}

/// The same behind what was told before: monitors that it lists are not listed again.
fn actions_after(prospect: &Prospect, plan: &Plan, before: &str) -> String {
    let mut parts: Vec<String> = plan.steps.iter().filter_map(|step| repair(prospect, *step)).collect();
    parts.extend(drives(prospect, plan, before));
    let numbers: Vec<String> = plan.steps.iter().filter_map(|step| number_since_clearing(*step)).collect();
    if !numbers.is_empty() {
        parts.push(format!("driving until there are at least {} since clearing", joined(&numbers, "and")));
    }
    joined(&parts, "and")
}

/// `15 warm-ups`, `200 miles`: the number that is driven to, counted since codes were cleared.
pub(crate) fn number_since_clearing(step: Action) -> Option<String> {
    let Action::DriveUntil(fact, number) = step else { return None };
    let shown = unit_of(fact).telling(number).show(number);
    Some(match (fact, number) {
        (Fact::WarmUps, 1) => "1 warm-up".to_owned(),
        (Fact::WarmUps, _) => format!("{shown} warm-ups"),
        (Fact::MinutesSinceClear, _) => format!("{shown} of running"),
        _ => shown,
    })
}

fn repair(prospect: &Prospect, step: Action) -> Option<String> {
    Some(match step {
        Action::RepairFault if prospect.codes.is_empty() => "repair of the fault".to_owned(),
        Action::RepairFault => format!("repair of the fault ({})", prospect.codes.join(", ")),
        Action::RepairConnector => "repair of the diagnostic connector".to_owned(),
        Action::RepairCommunication => "repair of what keeps it from answering".to_owned(),
        Action::RepairLamp => "repair of the lamp".to_owned(),
        Action::RepairLampWiring => "repair of what keeps the lamp lit".to_owned(),
        Action::DriveUntilComplete(_) | Action::DriveUntil(..) => return None,
    })
}

/// The drives of a plan: which monitors, and of which any as many do. A monitor that was not read may be complete already,
/// save after a repair, which makes all incomplete.
fn drives(prospect: &Prospect, plan: &Plan, before: &str) -> Option<String> {
    let driven = plan.driven();
    if driven.is_empty() {
        return None;
    }
    if prospect.is_unread {
        return Some(format!("drives that complete {}", unread_monitors(&plan.steps)));
    }
    let name = |list: &[Monitor]| list.iter().map(|monitor| monitor.spoken()).collect::<Vec<_>>();
    let text = match (name(&driven).as_slice(), name(&plan.choice).as_slice()) {
        ([], _) => return None,
        ([one], []) => format!("a drive that completes the {one} monitor"),
        (many, []) => format!("drives that complete the {} monitors", joined(many, "and")),
        ([_], [one, other]) => format!("a drive that completes either the {one} or the {other} monitor"),
        ([_], some) => format!("a drive that completes any one of the {} monitors", joined(some, "and")),
        (many, some) => format!("drives that complete any {} of the {} monitors", many.len(), joined(some, "and")),
    };
    if is_listed(before, driven.iter().chain(&plan.choice)) {
        return Some(match (driven.len(), plan.choice.len()) {
            (1, 0) => "a drive that completes it".to_owned(),
            (_, 0) => "drives that complete them".to_owned(),
            (1, 2) => "a drive that completes either of them".to_owned(),
            (many, _) => format!("drives that complete any {many} of them"),
        });
    }
    let starts_anew = plan.steps.contains(&Action::RepairFault);
    let is_needed = |monitor: &Monitor| starts_anew || prospect.incomplete.contains(monitor);
    Some(match (driven.iter().chain(&plan.choice).all(is_needed), driven.len()) {
        (true, _) => text,
        (false, 1) => format!("{text} (if it is not complete yet)"),
        (false, _) => format!("{text} (those that are not complete yet)"),
    })
}

/// Whether a sentence lists, as incomplete, these monitors and no others.
fn is_listed<'a>(before: &str, monitors: impl Iterator<Item = &'a Monitor>) -> bool {
    let Some((_, list)) = before.split_once(" incomplete (") else { return false };
    let Some((list, rest)) = list.split_once(')') else { return false };
    let listed: BTreeSet<&str> = list.split(", ").collect();
    let names: BTreeSet<String> = monitors.map(|monitor| monitor.spoken()).collect();
    !rest.contains(" incomplete (")
        && listed.len() == names.len()
        && names.iter().all(|name| listed.contains(name.as_str()))
}

/// The headline in a word or two, and what is missing for a pass, for a table; the verdict where no prospect was worked out.
#[must_use]
pub fn in_a_word(ruling: &Ruling, prospect: Option<&Prospect>) -> (String, String) {
    prospect.map_or_else(|| (ruling.verdict.clone(), "-".to_owned()), missing)
}

/// The headline of what was worked out in a word or two, and what is missing for a pass.
#[must_use]
pub fn missing(prospect: &Prospect) -> (String, String) {
    let none = || "-".to_owned();
    match prospect.next.branches.as_slice() {
        [branch] => match &branch.end {
            End::Already if branch.provisos.is_empty() => ("passes".to_owned(), none()),
            End::Already => ("passes if".to_owned(), looks(branch)),
            End::Plans(_) if prospect.kind == HeadlineKind::ReadFirst => {
                ("read first".to_owned(), "the monitors".to_owned())
            }
            End::Plans(plans) => {
                let plan = plans.first();
                ("not yet".to_owned(), plan.map_or_else(none, |plan| plan_in_words(plan, prospect.is_unread)))
            }
            End::NotAsked if prospect.kind == HeadlineKind::NoLaw => ("no law".to_owned(), none()),
            End::NotAsked => ("no test asked".to_owned(), none()),
            End::OtherTest => ("other test".to_owned(), none()),
            End::Nothing => ("no pass".to_owned(), "no plan".to_owned()),
            End::FindOut { .. } => {
                ("cannot say".to_owned(), prospect.unknown.first().map_or_else(none, |unknown| unknown.name.clone()))
            }
            End::TooMany => ("cannot say".to_owned(), none()),
        },
        _ => {
            let question = || if prospect.questions.is_empty() { none() } else { "a question of law".to_owned() };
            ("it depends".to_owned(), prospect.unknown.first().map_or_else(question, |unknown| unknown.name.clone()))
        }
    }
}

fn looks(branch: &Branch) -> String {
    match branch.provisos.len() {
        1 => "1 point to check".to_owned(),
        many => format!("{many} points to check"),
    }
}

fn plan_in_words(plan: &Plan, is_unread: bool) -> String {
    let repairs = plan.steps.iter().filter(|step| step.is_repair()).count();
    let drives = plan.steps.iter().filter(|step| matches!(step, Action::DriveUntilComplete(_))).count();
    let mut parts = Vec::new();
    match repairs {
        0 => {}
        1 => parts.push("repair".to_owned()),
        many => parts.push(format!("{many} repairs")),
    }
    match drives {
        0 => {}
        _ if is_unread => parts.push("monitors".to_owned()),
        1 => parts.push("1 monitor".to_owned()),
        many => parts.push(format!("{many} monitors")),
    }
    if plan.steps.iter().any(|step| matches!(step, Action::DriveUntil(..))) {
        parts.push("driving".to_owned());
    }
    parts.join(", ")
}
