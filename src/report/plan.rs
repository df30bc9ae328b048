//! The least that leads to a pass, as people and programs read it. Nothing is searched here.

use super::words;
use super::wrap::{joined, wrapped};
use crate::diagram::next::{Action, Next, Plan};
use crate::model::table::key_of;
use crate::model::{Fact, Monitor, spec};
use crate::program::Class;
use crate::ruling::{AdviceShown, CAUTIONS, Ruling, UnknownShown};
use serde_json::{Value, json};

/// What no plan ever holds, told with every plan.
const NOT_TO_DO: &str = "Do not clear codes or disconnect the battery to put out the lamp: that hides the fault and \
                         makes every supported monitor incomplete. Codes are cleared only as part of a repair.";

/// The most plans of the same cost that a person is told.
const MOST_TOLD: usize = 3;

/// What a plan is told with.
#[derive(Debug, Clone, Copy)]
pub struct Told<'a> {
    /// The ruling now.
    pub ruling: &'a Ruling,
    /// The advice that is for this vehicle.
    pub advice: &'a [AdviceShown],
    /// Facts to find out first.
    pub unknown: &'a [UnknownShown],
    /// The class to lead to.
    pub goal: Class,
}

/// The minutes that advice tells for a monitor, from and to: the first that names it.
#[must_use]
pub fn minutes(advice: &[AdviceShown], monitor: Monitor) -> Option<(i64, i64)> {
    advice_on(advice, monitor).and_then(|advice| advice.minutes)
}

fn advice_on(advice: &[AdviceShown], monitor: Monitor) -> Option<&AdviceShown> {
    advice.iter().find(|it| it.monitors.iter().any(|name| name == monitor.name()))
}

/// Further advice on the monitors of these plans that is, or may be, for this vehicle: what a plug-in, a cold climate, a
/// battery lately disconnected ask for. Each once.
fn further<'a>(told: &Told<'a>, plans: &[Plan]) -> Vec<&'a AdviceShown> {
    let steps = || plans.iter().take(MOST_TOLD).flat_map(|plan| plan.steps.iter());
    let monitors: Vec<Monitor> = steps()
        .filter_map(|step| match step {
            Action::DriveUntilComplete(monitor) => Some(*monitor),
            _ => None,
        })
        .collect();
    let names = |it: &AdviceShown| monitors.iter().any(|monitor| it.monitors.iter().any(|name| name == monitor.name()));
    let is_told = |it: &AdviceShown| {
        monitors.iter().any(|monitor| advice_on(told.advice, *monitor).is_some_and(|first| std::ptr::eq(first, it)))
    };
    told.advice.iter().filter(|it| names(it) && !is_told(it)).collect()
}

/// Further advice in lines: whether it is for this vehicle, what it says, what must hold first.
fn further_lines(advice: &AdviceShown) -> Vec<String> {
    let about = match advice.turns_on.as_slice() {
        [] => String::new(),
        facts => format!("perhaps ({} not known): ", joined(facts, "and")),
    };
    let long = advice.minutes.map_or(String::new(), |(least, most)| format!("; {least} to {most} minutes"));
    let mut lines = vec![format!("{about}{}{long}", advice.text)];
    if !advice.preconditions.is_empty() {
        lines.push(format!("first: {}", advice.preconditions.join("; ")));
    }
    lines
}

fn step(action: Action) -> String {
    match action {
        Action::RepairFault => "have the fault that the lamp or the codes tell of found and repaired by a qualified \
                                person; codes are cleared as part of that repair, and every supported monitor is then \
                                incomplete"
            .to_owned(),
        Action::RepairConnector => "have the diagnostic connector repaired by a qualified person".to_owned(),
        Action::RepairCommunication => {
            "have the fault found and repaired, by a qualified person, that keeps the vehicle \
                                        from answering on its connector"
                .to_owned()
        }
        Action::RepairLamp => "have the malfunction lamp repaired, so that it lights with the key on".to_owned(),
        Action::RepairLampWiring => {
            "have the lamp's wiring repaired, so that it is dark while it is not commanded on".to_owned()
        }
        Action::DriveUntilComplete(monitor) => format!("drive until the {} monitor completes", monitor.name()),
        Action::DriveUntil(fact, number) => {
            let unit = super::facts::unit_of(fact).telling(number);
            format!("drive until {} is {}", spec(fact).name, unit.show(number))
        }
    }
}

/// How a step is usually done: what advice says, how long it takes, what must hold first, and what it rests on.
fn how(advice: &[AdviceShown], action: Action) -> Vec<String> {
    let Action::DriveUntilComplete(monitor) = action else {
        return Vec::new();
    };
    let Some(told) = advice_on(advice, monitor) else {
        return vec!["No advice is kept for this monitor; the maker's drive pattern tells.".to_owned()];
    };
    let long = told.minutes.map_or(String::new(), |(least, most)| format!("; {least} to {most} minutes"));
    let mut lines = vec![format!("{}{long}", told.text)];
    if !told.preconditions.is_empty() {
        lines.push(format!("first: {}", told.preconditions.join("; ")));
    }
    let titles: Vec<String> = told.law.iter().map(|law| law.title.clone()).collect();
    lines.push(format!("rests on {} [{}]", joined(&titles, "and"), told.basis.words()));
    lines
}

fn slug(action: Action) -> &'static str {
    match action {
        Action::RepairFault => "repair-fault",
        Action::RepairConnector => "repair-connector",
        Action::RepairCommunication => "repair-communication",
        Action::RepairLamp => "repair-lamp",
        Action::RepairLampWiring => "repair-lamp-wiring",
        Action::DriveUntilComplete(_) => "drive-until-complete",
        Action::DriveUntil(..) => "drive-until",
    }
}

fn goal_words(goal: Class) -> &'static str {
    match goal {
        Class::Pass => "a pass",
        Class::Conditional => "a pass for now, on conditions, or better",
        _ => "another test, or better",
    }
}

/// The monitors of a choice as a sentence: `either the catalyst or the evaporative monitor; the catalyst is usually
/// quicker`.
fn choice(plan: &Plan) -> Option<String> {
    let names: Vec<String> = plan.choice.iter().map(|monitor| monitor.name().to_owned()).collect();
    let drives = plan.steps.iter().filter(|step| matches!(step, Action::DriveUntilComplete(_))).count();
    match (drives, names.as_slice()) {
        (_, []) => None,
        (1, [quick, other]) => {
            Some(format!("Complete either the {quick} or the {other} monitor; the {quick} is usually quicker."))
        }
        (1, [quick, ..]) => Some(format!(
            "Complete any one of the {} monitors; the {quick} is usually the quickest.",
            joined(&names, "and")
        )),
        (many, _) => Some(format!(
            "Complete any {many} of the {} monitors; those below are usually the quickest.",
            joined(&names, "and")
        )),
    }
}

/// The answer of `next` as text of eighty columns.
#[must_use]
pub fn text(told: &Told<'_>, next: &Next) -> String {
    let mut out = answer(told, next);
    if let Some(lamp) = &told.ruling.lamp {
        out.push_str(&wrapped("Caution: ", Some(2), lamp.caution));
    }
    out
}

fn answer(told: &Told<'_>, next: &Next) -> String {
    let ruling = told.ruling;
    let goal = goal_words(told.goal);
    let line = |text: &str| wrapped(&format!("{}: ", ruling.program), Some(2), text);
    match next {
        _ if matches!(ruling.class, Class::NoLaw | Class::NotSubject) => line(&words::summary(ruling)),
        Next::Already if told.goal == Class::Pass => line("Passes already; nothing has to change."),
        Next::Already => line(&format!("{} already; nothing has to change for {goal}.", ruling.verdict)),
        Next::FactsMissing => {
            let mut out = line("What is known does not settle the ruling; find out first:");
            to_find_out(told, &mut out);
            if told.unknown.is_empty() {
                let what = "nothing about the vehicle; the ruling turns on a question of law that is open, or on a \
                            text that was not read. `judge` tells which.";
                out.push_str(&wrapped("  - ", None, what));
            }
            out
        }
        Next::FactsFirst(_) => {
            let mut out = line(&format!(
                "{} as it stands. Whether a repair or a drive leads this vehicle to {goal} turns on what is not known; find \
                 out first:",
                ruling.verdict
            ));
            to_find_out(told, &mut out);
            out
        }
        Next::NoPlan => line(&format!(
            "{} as it stands. No repair and no drive leads this vehicle to {goal} here. Another date or place is no plan; ask \
             the official inspection what it offers.",
            ruling.verdict
        )),
        Next::TooMany => line("There are too many ways to look at; no plan is told rather than a wrong one."),
        Next::Plans(plans) => {
            let repair = plans.iter().all(|plan| plan.steps.iter().any(|step| step.is_repair()));
            let only = if repair { " Nothing but repair helps." } else { "" };
            let head = format!("{} as it stands.{only} The least that leads to {goal}:", ruling.verdict);
            plans_text(told, plans, line(&head))
        }
    }
}

fn to_find_out(told: &Told<'_>, out: &mut String) {
    for unknown in told.unknown {
        let text = format!("{} ({}): {}", unknown.key, unknown.observer.word(), unknown.question);
        out.push_str(&wrapped("  - ", None, &text));
    }
}

fn plans_text(told: &Told<'_>, plans: &[Plan], mut out: String) -> String {
    for (place, plan) in plans.iter().take(MOST_TOLD).enumerate() {
        if place > 0 {
            out.push_str("\n  or, as quickly:\n");
        }
        if let Some(choice) = choice(plan) {
            out.push_str(&wrapped("  ", None, &choice));
        }
        for (number, action) in plan.steps.iter().enumerate() {
            out.push_str(&wrapped(&format!("{:>3}. ", number + 1), None, &step(*action)));
            for line in how(told.advice, *action) {
                out.push_str(&wrapped("       ", None, &line));
            }
        }
    }
    if plans.len() > MOST_TOLD {
        let more = plans.len() - MOST_TOLD;
        let text = format!("There are {more} more as quick; `--format json` tells them all.");
        out.push_str(&wrapped("\n  ", Some(2), &text));
    }
    let further = further(told, plans);
    if !further.is_empty() {
        out.push_str("\n  For vehicles that need special care:\n");
    }
    for advice in further {
        for (place, line) in further_lines(advice).into_iter().enumerate() {
            out.push_str(&wrapped(if place == 0 { "  - " } else { "    " }, None, &line));
        }
    }
    out.push('\n');
    let at_end = told.ruling.lamp.as_ref().map(|lamp| lamp.caution);
    for caution in cautions(told, plans).into_iter().filter(|it| Some(it.as_str()) != at_end) {
        out.push_str(&wrapped("  - ", None, &caution));
    }
    out
}

/// What not to do, the cautions that go with every plan, and those of the advice it uses; each once.
fn cautions(told: &Told<'_>, plans: &[Plan]) -> Vec<String> {
    let lamp = told.ruling.lamp.iter().map(|lamp| lamp.caution.to_owned());
    let mut list: Vec<String> = std::iter::once(NOT_TO_DO.to_owned()).chain(lamp).collect();
    let steps = plans.iter().take(MOST_TOLD).flat_map(|plan| plan.steps.iter());
    let own = steps.filter_map(|step| match step {
        Action::DriveUntilComplete(monitor) => advice_on(told.advice, *monitor),
        _ => None,
    });
    let own: Vec<String> = own.chain(further(told, plans)).flat_map(|advice| advice.cautions.iter().cloned()).collect();
    let (last, first) = CAUTIONS.split_last().map_or((None, &CAUTIONS[..]), |(last, first)| (Some(last), first));
    let standing = |text: &&str| (*text).to_owned();
    for caution in first.iter().map(standing).chain(own).chain(last.iter().map(|text| standing(text))) {
        // A caution of advice that says in other words what a standing one says is not told twice.
        let head: String = caution.chars().take(16).collect();
        if !list.iter().any(|known| known.starts_with(&head)) {
            list.push(caution);
        }
    }
    list
}

/// The answer of `next` as JSON.
#[must_use]
pub fn json(told: &Told<'_>, next: &Next) -> Value {
    let ruling = told.ruling;
    let (state, plans): (&str, &[Plan]) = match next {
        Next::Already => ("passes-already", &[]),
        Next::FactsMissing | Next::FactsFirst(_) => ("facts-missing", &[]),
        Next::NoPlan => ("none", &[]),
        Next::TooMany => ("too-many", &[]),
        Next::Plans(plans) => ("plans", plans),
    };
    let one = |action: &Action| {
        let (of, until) = match action {
            Action::DriveUntilComplete(monitor) => (Some(key_of(Fact::Monitor(*monitor))), Some("complete".to_owned())),
            Action::DriveUntil(fact, number) => (Some(key_of(*fact)), Some(super::facts::unit_of(*fact).show(*number))),
            _ => (None, None),
        };
        let how = how(told.advice, *action);
        json!({"action": slug(*action), "fact": of, "until": until, "text": step(*action), "how": how})
    };
    let plan = |plan: &Plan| {
        let names: Vec<&str> = plan.choice.iter().map(|monitor| monitor.name()).collect();
        json!({
            "steps": plan.steps.iter().map(one).collect::<Vec<_>>(),
            "any_as_many_of": names,
            "text": choice(plan),
        })
    };
    json!({
        "format": "wherefore-plans/1",
        "program": ruling.program,
        "as_of": ruling.as_of.to_string(),
        "verdict": ruling.verdict,
        "class": told.goal.word(),
        "state": state,
        "plans": plans.iter().map(plan).collect::<Vec<_>>(),
        "further_advice": further(told, plans).into_iter().map(further_lines).collect::<Vec<_>>(),
        "unknown": told.unknown.iter().map(|it| json!({"fact": it.key, "question": it.question})).collect::<Vec<_>>(),
        "not_to_do": NOT_TO_DO,
        "cautions": cautions(told, plans),
    })
}
