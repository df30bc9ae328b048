//! Headline, plans and the answer of `next` as JSON.

use crate::analysis::next::{Action, End, Kind, Plan};
use crate::model::Fact;
use crate::model::table::{key_of, unit_of};
use crate::ruling::{HeadlineKind, Prospect, ProvisoShown};
use crate::wording::headline::{self, Provisos};
use crate::wording::plan::{NOT_TO_DO, Told, cautions, choice, further, further_lines, how, step, time};
use serde_json::{Value, json};

/// The format of the answer of `next`.
pub const FORMAT: &str = "wherefore-plans/2";

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

/// The headline as JSON.
#[must_use]
pub fn headline_json(told: &Told<'_>) -> Value {
    let prospect = told.prospect;
    let provisos: &[ProvisoShown] =
        prospect.branches.first().filter(|_| prospect.branches.len() == 1).map_or(&[], |it| it.provisos.as_slice());
    json!({
        "kind": prospect.kind.word(),
        "sentence": headline::sentence(prospect, told.ruling, Provisos::All),
        "provisos": provisos.iter().map(proviso_json).collect::<Vec<_>>(),
    })
}

fn proviso_json(proviso: &ProvisoShown) -> Value {
    let kind = match proviso.kind {
        Kind::Sound => "sound",
        Kind::NoCodes => "no-codes",
        Kind::Ordinary => "practice",
        Kind::Federal => "federal-class",
        Kind::Presumed => "presumed",
    };
    json!({
        "fact": proviso.key, "text": proviso.phrase, "observer": proviso.observer.word(), "rests_on": kind,
    })
}

/// The branches as JSON: what tells each, its provisos, its plans.
#[must_use]
pub fn branches_json(told: &Told<'_>) -> Value {
    let prospect = told.prospect;
    let branches = prospect.next.branches.iter().zip(&prospect.branches).map(|(branch, shown)| {
        let (state, plans): (&str, &[Plan]) = match &branch.end {
            End::Already => ("already", &[]),
            End::Plans(plans) => ("plans", plans),
            End::NotAsked => ("not-asked", &[]),
            End::OtherTest => ("other-test", &[]),
            End::Nothing => ("none", &[]),
            End::FindOut { .. } => ("find-out", &[]),
            End::TooMany => ("too-many", &[]),
        };
        let least = match &branch.end {
            End::FindOut { least: Some(plan), .. } => plan_json(told, plan),
            _ => Value::Null,
        };
        json!({
            "when": branch.when.iter().map(|split| split.text.clone()).collect::<Vec<_>>(),
            "state": state,
            "text": headline::one(prospect, told.ruling, branch, shown, Provisos::All),
            "provisos": shown.provisos.iter().map(proviso_json).collect::<Vec<_>>(),
            "some_not_asked": headline::some_not_asked(branch),
            "against": shown.against.iter().map(|one| &one.text).collect::<Vec<_>>(),
            "plans": plans.iter().map(|plan| plan_json(told, plan)).collect::<Vec<_>>(),
            "least": least,
        })
    });
    Value::Array(branches.collect())
}

fn plan_json(told: &Told<'_>, plan: &Plan) -> Value {
    let one = |action: &Action| {
        let (of, until) = match action {
            Action::DriveUntilComplete(monitor) => (Some(key_of(Fact::Monitor(*monitor))), Some("complete".to_owned())),
            Action::DriveUntil(fact, number) => (Some(key_of(*fact)), Some(unit_of(*fact).show(*number))),
            _ => (None, None),
        };
        json!({
            "action": slug(*action), "fact": of, "until": until, "text": step(told.prospect, *action),
            "how": how(told, *action),
        })
    };
    let names: Vec<&str> = plan.choice.iter().map(|monitor| monitor.name()).collect();
    json!({
        "steps": plan.steps.iter().map(one).collect::<Vec<_>>(),
        "any_as_many_of": names,
        "text": choice(plan),
        "time": time(told, plan),
    })
}

/// What the answer of `next` is called in one word: whether a plan exists, none is needed, none can be.
#[must_use]
pub fn state(prospect: &Prospect) -> &'static str {
    state_of(prospect.kind)
}

/// The same by the kind of the headline.
#[must_use]
pub fn state_of(kind: HeadlineKind) -> &'static str {
    match kind {
        HeadlineKind::Passes | HeadlineKind::PassesProvided => "passes-already",
        HeadlineKind::After | HeadlineKind::ReadFirst | HeadlineKind::OtherTestAfter => "plans",
        HeadlineKind::NoPass | HeadlineKind::FailsUnless => "none",
        HeadlineKind::OtherTest => "other-test",
        HeadlineKind::NotAsked | HeadlineKind::NoLaw => "not-asked",
        HeadlineKind::ByCase => "by-case",
        HeadlineKind::CannotSay => "facts-missing",
    }
}

/// The answer of `next` as JSON.
#[must_use]
pub fn json(told: &Told<'_>) -> Value {
    let Told { ruling, prospect, .. } = told;
    let one = |action: &Action| json!({"action": slug(*action), "text": step(prospect, *action)});
    json!({
        "format": FORMAT,
        "program": ruling.program,
        "as_of": ruling.as_of.to_string(),
        "verdict": ruling.verdict,
        "class": prospect.goal.word(),
        "state": state(prospect),
        "headline": headline_json(told),
        "common": prospect.next.common.iter().map(one).collect::<Vec<_>>(),
        "branches": branches_json(told),
        "further_advice": further(told).into_iter().map(further_lines).collect::<Vec<_>>(),
        "unknown": prospect.unknown.iter()
            .map(|it| json!({"fact": it.key, "question": it.question, "observer": it.observer.word()}))
            .collect::<Vec<_>>(),
        "questions": prospect.questions,
        "not_to_do": NOT_TO_DO,
        "cautions": cautions(told),
    })
}
