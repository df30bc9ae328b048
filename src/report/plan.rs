//! The least that leads to a pass, as people and programs read it. Nothing is searched here.

use super::wrap::wrapped;
use crate::diagram::next::{Action, Next, Plan};
use crate::model::table::key_of;
use crate::model::{Fact, Monitor, spec};
use crate::program::Program;
use crate::ruling::{AdviceShown, CAUTIONS, Ruling};
use serde_json::{Value, json};

/// What no plan ever holds, told with every plan.
const NOT_TO_DO: &str = "Do not clear codes to put out the lamp: that hides the fault and makes every supported monitor \
                         incomplete. Codes are cleared only as part of a repair.";

/// The minutes that the advice given in a ruling tells for a monitor, from and to: the narrowest that names it.
#[must_use]
pub fn minutes(ruling: &Ruling, monitor: Monitor) -> Option<(i64, i64)> {
    advice(ruling, monitor).and_then(|advice| advice.minutes)
}

fn advice(ruling: &Ruling, monitor: Monitor) -> Option<&AdviceShown> {
    let of_it = ruling.advice.iter().filter(|it| it.monitors.iter().any(|name| name == monitor.name()));
    of_it.min_by_key(|it| it.monitors.len())
}

fn step(ruling: &Ruling, action: Action) -> String {
    match action {
        Action::RepairFault => "have the fault that the lamp or the codes tell of found and repaired by a qualified \
                                person; codes are cleared as part of that repair, and every supported monitor is then \
                                incomplete"
            .to_owned(),
        Action::RepairConnector => "have the diagnostic connector repaired".to_owned(),
        Action::RepairCommunication => {
            "have the fault found that keeps the vehicle from answering on its connector".to_owned()
        }
        Action::RepairLamp => "have the malfunction lamp repaired, so that it lights with the key on".to_owned(),
        Action::RepairLampWiring => {
            "have the lamp's wiring repaired, so that it is dark while it is not commanded on".to_owned()
        }
        Action::DriveUntilComplete(monitor) => {
            let told = advice(ruling, monitor);
            let how = told.map(|it| format!(": {}", it.text)).unwrap_or_default();
            let long = told.and_then(|it| it.minutes).map(|(least, most)| format!("; {least} to {most} minutes"));
            format!("drive until the {} monitor completes{how}{}", monitor.name(), long.unwrap_or_default())
        }
        Action::DriveUntil(fact, number) => {
            let unit = super::facts::unit_of(fact);
            format!("drive until {} is {}", spec(fact).name, unit.show(number))
        }
    }
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

/// The answer of `next` as text of eighty columns.
#[must_use]
pub fn text(program: &Program, ruling: &Ruling, next: &Next) -> String {
    let line = |text: &str| wrapped(&format!("{}: ", program.id), Some(2), text);
    match next {
        Next::Already => line("Passes already; nothing has to change."),
        Next::FactsMissing => {
            let mut out = line("What is known does not settle the ruling; find out first:");
            for unknown in &ruling.unknown {
                out.push_str(&wrapped("  - ", None, &format!("{}: {}", unknown.key, unknown.question)));
            }
            out
        }
        Next::NoPlan => line(
            "Nothing that a person can do to this vehicle leads to a pass here. Another date or place is no plan; \
             ask the official inspection what it offers.",
        ),
        Next::TooMany => line("There are too many ways to look at; no plan is told rather than a wrong one."),
        Next::Plans(plans) => plans_text(ruling, plans, line("does not pass now. The least that leads to a pass:")),
    }
}

fn plans_text(ruling: &Ruling, plans: &[Plan], mut out: String) -> String {
    for (place, plan) in plans.iter().enumerate() {
        if place > 0 {
            out.push_str("\n  or, as quickly:\n");
        }
        for (number, action) in plan.steps.iter().enumerate() {
            out.push_str(&wrapped(&format!("{:>3}. ", number + 1), None, &step(ruling, *action)));
        }
    }
    out.push('\n');
    for caution in std::iter::once(NOT_TO_DO).chain(CAUTIONS.iter().copied()) {
        out.push_str(&wrapped("  - ", None, caution));
    }
    out
}

/// The answer of `next` as JSON.
#[must_use]
pub fn json(program: &Program, ruling: &Ruling, next: &Next) -> Value {
    let (state, plans): (&str, &[Plan]) = match next {
        Next::Already => ("passes-already", &[]),
        Next::FactsMissing => ("facts-missing", &[]),
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
        json!({"action": slug(*action), "fact": of, "until": until, "text": step(ruling, *action)})
    };
    json!({
        "format": "wherefore-plans/1",
        "program": program.id,
        "as_of": ruling.as_of.to_string(),
        "verdict": ruling.verdict,
        "state": state,
        "plans": plans.iter().map(|plan| json!({"steps": plan.steps.iter().map(one).collect::<Vec<_>>()})).collect::<Vec<_>>(),
        "unknown": ruling.unknown.iter().map(|it| json!({"fact": it.key, "question": it.question})).collect::<Vec<_>>(),
        "not_to_do": NOT_TO_DO,
        "cautions": CAUTIONS,
    })
}
