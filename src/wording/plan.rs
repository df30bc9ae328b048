//! The least that leads to a pass, as people and programs read it. Nothing is searched here.

use super::headline::{self, Provisos};
use super::provisos::alike_once;
use super::wrap::{joined, wrapped};
use crate::analysis::next::{Action, Branch, End, Plan};
use crate::model::{Monitor, Observer};
use crate::ruling::{AdviceShown, BranchShown, CAUTIONS, Prospect, Ruling, advice_on};

/// What no plan ever holds, told with every plan.
pub(crate) const NOT_TO_DO: &str = "Do not clear codes or disconnect the battery to put out the lamp: that hides the fault and \
                         makes every supported monitor incomplete. Codes are cleared only as part of a repair.";

/// The most plans of the same cost that a person is told.
const MOST_TOLD: usize = 3;

/// What a plan is told with.
#[derive(Debug, Clone, Copy)]
pub struct Told<'a> {
    /// The ruling now.
    pub ruling: &'a Ruling,
    /// What the vehicle has before it.
    pub prospect: &'a Prospect,
    /// How much of the provisos to tell.
    pub provisos: Provisos,
}

impl<'a> Told<'a> {
    /// The one branch, where there is only one, as calculated and in words.
    #[must_use]
    pub fn only(&self) -> Option<(&'a Branch, &'a BranchShown)> {
        Some((self.prospect.next.only()?, self.prospect.branches.first()?))
    }
}

/// The plans that are told: of each branch the first ones, and the least of what cannot be said.
fn plans<'a>(told: &Told<'a>) -> Vec<&'a Plan> {
    let branches = told.prospect.next.branches.iter();
    let of = |branch: &'a Branch| match &branch.end {
        End::Plans(plans) => plans.iter().take(MOST_TOLD).collect(),
        End::FindOut { least: Some(plan), .. } => vec![plan],
        _ => Vec::new(),
    };
    branches.flat_map(of).collect()
}

/// The monitors that a plan drives for; where none was read, those that such a vehicle usually has.
fn monitors(told: &Told<'_>, plan: &Plan) -> Vec<Monitor> {
    let mut list: Vec<Monitor> = plan.driven();
    if told.prospect.is_unread && !list.is_empty() {
        return told.prospect.usual.clone();
    }
    let more: Vec<Monitor> = plan.choice.iter().copied().filter(|monitor| !list.contains(monitor)).collect();
    list.extend(more);
    list
}

/// Further advice on the monitors of the plans that is, or may be, for this vehicle: what a plug-in, a cold climate, a
/// battery lately disconnected ask for. Each once.
pub(crate) fn further<'a>(told: &Told<'a>) -> Vec<&'a AdviceShown> {
    let advice = &told.prospect.advice;
    let monitors: Vec<Monitor> = plans(told).into_iter().flat_map(|plan| monitors(told, plan)).collect();
    let names = |it: &AdviceShown| monitors.iter().any(|monitor| it.monitors.iter().any(|name| name == monitor.name()));
    let is_told = |it: &AdviceShown| {
        monitors.iter().any(|monitor| advice_on(advice, *monitor).is_some_and(|first| std::ptr::eq(first, it)))
    };
    advice.iter().filter(|it| names(it) && !is_told(it)).collect()
}

/// Further advice in lines: whether it is for this vehicle, what it says, what must hold first.
pub(crate) fn further_lines(advice: &AdviceShown) -> Vec<String> {
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

/// A monitor as a person would say it, with the trade's short form where it has one.
fn glossed(monitor: Monitor) -> String {
    match monitor {
        Monitor::Evaporative => format!("{} (EVAP)", monitor.spoken()),
        _ => monitor.spoken(),
    }
}

pub(crate) fn step(prospect: &Prospect, action: Action) -> String {
    let codes = match prospect.codes.as_slice() {
        [] => String::new(),
        codes => format!(" ({})", codes.join(", ")),
    };
    match action {
        Action::RepairFault => format!(
            "have a qualified person find and repair the fault that the lamp or the codes tell of{codes}; codes are \
             cleared as part of the repair, and every supported monitor is then incomplete"
        ),
        Action::RepairConnector => "have a qualified person repair the diagnostic connector (DLC)".to_owned(),
        Action::RepairCommunication => {
            "have a qualified person find and repair what keeps the vehicle from answering on its connector".to_owned()
        }
        Action::RepairLamp => "have the malfunction lamp repaired, so that it lights with the key on".to_owned(),
        Action::RepairLampWiring => {
            "have a qualified person find why the lamp is lit although the data do not command it: read the vehicle again first; \
             only where no fault is found is its wiring repaired"
                .to_owned()
        }
        Action::DriveUntilComplete(monitor) => format!("drive until the {} monitor completes", glossed(monitor)),
        Action::DriveUntil(..) => {
            let number = headline::number_since_clearing(action).unwrap_or_default();
            format!("drive until there are at least {number} since clearing")
        }
    }
}

/// How a step is usually done: what advice says, how long it takes, what must hold first, and what it rests on.
pub(crate) fn how(told: &Told<'_>, action: Action) -> Vec<String> {
    let Action::DriveUntilComplete(monitor) = action else {
        return Vec::new();
    };
    let Some(advice) = advice_on(&told.prospect.advice, monitor) else {
        return vec!["No advice is kept for this monitor; the maker's drive pattern tells.".to_owned()];
    };
    let long = advice.minutes.map_or(String::new(), |(least, most)| format!("; {least} to {most} minutes"));
    let mut lines = vec![format!("{}{long}", advice.text)];
    if !advice.preconditions.is_empty() {
        lines.push(format!("first: {}", advice.preconditions.join("; ")));
    }
    lines
}

/// What the advice of the drives rests on, said once.
fn rests_on(told: &Told<'_>) -> Option<String> {
    let mut list: Vec<String> = Vec::new();
    for monitor in plans(told).into_iter().flat_map(|plan| monitors(told, plan)) {
        let Some(advice) = advice_on(&told.prospect.advice, monitor) else { continue };
        let titles: Vec<String> = advice.law.iter().map(|law| law.title.clone()).collect();
        let text = format!("{} [{}]", joined(&titles, "and"), advice.basis.words());
        if !list.contains(&text) {
            list.push(text);
        }
    }
    (!list.is_empty()).then(|| format!("How it is usually done rests on {}.", joined(&list, "and")))
}

/// How long all drives of a plan take together, by the advice on each.
pub(crate) fn time(told: &Told<'_>, plan: &Plan) -> Option<String> {
    let drives: Vec<Monitor> = plan.driven();
    if told.prospect.is_unread {
        return None;
    }
    let known: Vec<(i64, i64)> =
        drives.iter().filter_map(|monitor| crate::ruling::minutes(&told.prospect.advice, *monitor)).collect();
    if known.is_empty() || (drives.len() == 1 && plan.steps.len() == 1) {
        return None;
    }
    let (least, most) = known
        .iter()
        .fold((0i64, 0i64), |(least, most), (from, to)| (least.saturating_add(*from), most.saturating_add(*to)));
    let more = if known.len() < drives.len() { ", more for monitors without advice" } else { "" };
    let repaired = plan.steps.iter().any(|step| step.is_repair()).then_some("the repair");
    let night = drives.iter().any(|monitor| wants_a_night(*monitor)).then_some("a cold night");
    let beside: Vec<String> = repaired.into_iter().chain(night).map(str::to_owned).collect();
    let beside = if beside.is_empty() { String::new() } else { format!(" besides {}", joined(&beside, "and")) };
    Some(format!("usually {least} to {most} minutes of driving over days{beside}{more}."))
}

/// The steps in the order in which they are done: repairs, then what wants the engine cold, then what may run on the same
/// drive, then numbers to drive to.
#[must_use]
pub fn in_order(steps: &[Action]) -> Vec<Action> {
    let mut list = steps.to_vec();
    list.sort_by_key(|step| match step {
        Action::DriveUntilComplete(monitor) if wants_a_night(*monitor) => 1,
        Action::DriveUntilComplete(_) => 2,
        Action::DriveUntil(..) => 3,
        _ => 0,
    });
    list
}

/// The monitors that want the engine cold, or the vehicle to stand for a night.
pub(crate) fn wants_a_night(monitor: Monitor) -> bool {
    matches!(
        monitor,
        Monitor::Evaporative
            | Monitor::SecondaryAir
            | Monitor::OxygenSensorHeater
            | Monitor::HeatedCatalyst
            | Monitor::HdEvaporative
            | Monitor::HdSecondaryAir
            | Monitor::HdExhaustGasSensorHeater
            | Monitor::HdColdStartAid
            | Monitor::HdHeatedCatalyst
    )
}

/// The monitors of a choice as a sentence: `either the catalyst or the evaporative monitor; the catalyst is usually
/// quicker`.
pub(crate) fn choice(plan: &Plan) -> Option<String> {
    let names: Vec<String> = plan.choice.iter().map(|monitor| monitor.spoken()).collect();
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

/// A choice where the monitors were just named.
#[must_use]
pub fn choice_of_those_named(plan: &Plan) -> Option<String> {
    let drives = plan.steps.iter().filter(|step| matches!(step, Action::DriveUntilComplete(_))).count();
    match (drives, plan.choice.as_slice()) {
        (_, []) => None,
        (1, [quick, _]) => Some(format!("either will do here; the {} is usually quicker.", quick.spoken())),
        (1, [quick, ..]) => Some(format!("any one will do here; the {} is usually the quickest.", quick.spoken())),
        (many, all) => Some(format!("any {many} of the {} will do here; usually these are the quickest:", all.len())),
    }
}

/// The answer of `next` as text of eighty columns.
#[must_use]
pub fn text(told: &Told<'_>) -> String {
    let Told { ruling, prospect, provisos } = told;
    let mut out = wrapped(&format!("{}: ", ruling.program), Some(2), &headline::sentence(prospect, ruling, *provisos));
    let several = prospect.next.branches.len() > 1;
    if !prospect.next.common.is_empty() {
        out.push_str("\nIn every case\n");
        steps(told, &mut out, &prospect.next.common);
    }
    for (branch, shown) in prospect.next.branches.iter().zip(&prospect.branches) {
        if several {
            let what = headline::one(prospect, ruling, branch, shown, *provisos);
            out.push_str(&wrapped("\n", Some(2), &format!("{}: {what}", capital(&headline::when(branch)))));
        }
        match &branch.end {
            End::Plans(plans) => plans_text(told, plans, several, &mut out),
            End::FindOut { least: Some(plan), .. } => {
                out.push_str("\nAt least, whatever else comes out\n");
                plan_text(told, plan, &mut out);
            }
            _ => {}
        }
    }
    if prospect.next.branches.iter().any(headline::some_not_asked) {
        out.push_str("\n  Of some vehicles that agree with what is known no test is asked at all.\n");
    }
    to_find_out(told, &mut out);
    if plans(told).is_empty() {
        lamp(told, &mut out);
        return out;
    }
    let further = further(told);
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
    let list = cautions(told).into_iter().filter(|caution| Some(caution.as_str()) != at_end);
    for caution in rests_on(told).into_iter().chain(list) {
        out.push_str(&wrapped("  - ", None, &caution));
    }
    lamp(told, &mut out);
    out
}

/// The caution on a lamp that is on, whatever the answer.
fn lamp(told: &Told<'_>, out: &mut String) {
    if let Some(lamp) = &told.ruling.lamp {
        out.push_str(&wrapped("Caution: ", Some(2), lamp.caution));
    }
}

fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or(String::new(), |first| first.to_uppercase().chain(letters).collect())
}

fn to_find_out(told: &Told<'_>, out: &mut String) {
    let open = told.prospect.next.branches.iter().any(|branch| matches!(branch.end, End::FindOut { .. }));
    let several = told.prospect.next.branches.len() > 1;
    if !open && !several {
        return;
    }
    let (unknown, questions) = (&told.prospect.unknown, &told.prospect.questions);
    if unknown.is_empty() && questions.is_empty() {
        return;
    }
    out.push_str("\nWhat would tell more\n");
    for unknown in unknown {
        let text = format!("{} ({}): {}", unknown.key, unknown.observer.word(), unknown.question);
        out.push_str(&wrapped("  - ", None, &text));
    }
    for question in questions {
        out.push_str(&wrapped("  - ", None, &format!("a question that the text leaves open: {question}")));
    }
}

fn plans_text(told: &Told<'_>, plans: &[Plan], several: bool, out: &mut String) {
    if !several {
        out.push_str("\nDo\n");
    }
    for (place, plan) in plans.iter().take(MOST_TOLD).enumerate() {
        if place > 0 {
            out.push_str("\n  or, as quickly:\n");
        }
        plan_text(told, plan, out);
    }
    if plans.len() > MOST_TOLD {
        let more = plans.len() - MOST_TOLD;
        let text = format!("There are {more} more as quick; as JSON all are told.");
        out.push_str(&wrapped("\n  ", Some(2), &text));
    }
}

/// The steps of a plan where no monitor was read: a reader first, then every monitor, however many there are. `None` where
/// a plan is told step by step.
/// The monitors that go with a step are those that such a vehicle usually has.
pub(crate) fn unread_steps<'a>(told: &Told<'a>, steps: &[Action]) -> Option<Vec<(String, &'a [Monitor])>> {
    let is_drive = |action: &Action| matches!(action, Action::DriveUntilComplete(_));
    if !told.prospect.is_unread || !steps.iter().any(is_drive) {
        return None;
    }
    let mut looks: Vec<String> = Vec::new();
    for proviso in told.prospect.branches.iter().flat_map(|branch| &branch.provisos) {
        if proviso.observer == Observer::Look && !looks.contains(&proviso.clause) {
            looks.push(proviso.clause.clone());
        }
    }
    let look =
        if looks.is_empty() { String::new() } else { format!("; make sure by a look that {}", alike_once(&looks)) };
    let read =
        "connect a scan tool: which monitors are incomplete, whether the lamp is commanded on, which codes there are";
    let usual = told.prospect.usual.as_slice();
    let these = if usual.is_empty() { "" } else { "; such a vehicle usually has these:" };
    let drive = (format!("drive until {} completes{these}", headline::unread_monitors(steps)), usual);
    let none: &[Monitor] = &[];
    let tell = |action: &Action| (step(told.prospect, *action), none);
    let (repairs, others): (Vec<Action>, Vec<Action>) = steps.iter().partition(|action| action.is_repair());
    let mut list: Vec<(String, &[Monitor])> = repairs.iter().map(tell).collect();
    list.extend([(format!("{read}{look}"), none), drive]);
    list.extend(others.iter().filter(|action| !is_drive(action)).map(tell));
    Some(list)
}

/// Such steps, numbered, with how each monitor is usually completed.
fn numbered(told: &Told<'_>, list: &[(String, &[Monitor])], out: &mut String) {
    for (number, (text, monitors)) in list.iter().enumerate() {
        out.push_str(&wrapped(&format!("{:>3}. ", number + 1), None, text));
        for monitor in *monitors {
            let how = how(told, Action::DriveUntilComplete(*monitor)).into_iter().next().unwrap_or_default();
            let how = how.strip_prefix("usually completes ").unwrap_or(&how);
            out.push_str(&wrapped("     - ", None, &format!("{}: {how}", monitor.name())));
        }
    }
}

fn plan_text(told: &Told<'_>, plan: &Plan, out: &mut String) {
    if let Some(list) = unread_steps(told, &plan.steps) {
        numbered(told, &list, out);
        return;
    }
    let (repairs, drives): (Vec<Action>, Vec<Action>) =
        in_order(&plan.steps).into_iter().partition(|step| step.is_repair());
    steps(told, out, &repairs);
    if let Some(choice) = choice(plan) {
        let then = if repairs.is_empty() { String::new() } else { "Then drive: ".to_owned() };
        out.push_str(&wrapped("  ", None, &format!("{then}{choice}")));
    }
    steps_from(told, out, &drives, repairs.len());
    if let Some(time) = time(told, plan) {
        out.push_str(&wrapped("  ", None, &time));
    }
}

fn steps(told: &Told<'_>, out: &mut String, list: &[Action]) {
    match unread_steps(told, list) {
        Some(list) => numbered(told, &list, out),
        None => steps_from(told, out, list, 0),
    }
}

fn steps_from(told: &Told<'_>, out: &mut String, list: &[Action], from: usize) {
    for (number, action) in list.iter().enumerate() {
        out.push_str(&wrapped(&format!("{:>3}. ", from + number + 1), None, &step(told.prospect, *action)));
        for line in how(told, *action) {
            out.push_str(&wrapped("       ", None, &line));
        }
    }
}

/// What not to do, the cautions that go with every plan, and those of the advice it uses; each once.
pub(crate) fn cautions(told: &Told<'_>) -> Vec<String> {
    let lamp = told.ruling.lamp.iter().map(|lamp| lamp.caution.to_owned());
    let mut list: Vec<String> = std::iter::once(NOT_TO_DO.to_owned()).chain(lamp).collect();
    let own = own_cautions(told).into_iter().chain(of_advice(further(told)));
    let (last, first) = CAUTIONS.split_last().map_or((None, &CAUTIONS[..]), |(last, first)| (Some(last), first));
    let standing = |text: &&str| (*text).to_owned();
    for caution in first.iter().map(standing).chain(own).chain(last.iter().map(|text| standing(text))) {
        // A caution that says in other words what one before it says is not told twice.
        let same =
            |known: &String| *known == caution || (subject(known).is_some() && subject(known) == subject(&caution));
        let is_told = list.iter().any(same);
        if !is_told {
            list.push(caution);
        }
    }
    list
}

fn of_advice<'a>(advice: impl IntoIterator<Item = &'a AdviceShown>) -> Vec<String> {
    advice.into_iter().flat_map(|advice| advice.cautions.iter().cloned()).collect()
}

/// The cautions of the advice on the monitors that are driven.
pub(crate) fn own_cautions(told: &Told<'_>) -> Vec<String> {
    let monitors: Vec<Monitor> = plans(told).into_iter().flat_map(|plan| monitors(told, plan)).collect();
    of_advice(monitors.iter().filter_map(|monitor| advice_on(&told.prospect.advice, *monitor)))
}

/// What a caution is about, of those that several say in other words.
pub(crate) fn subject(caution: &str) -> Option<&'static str> {
    let says = |word: &str| caution.to_lowercase().contains(word);
    if says("closed space") {
        Some("air")
    } else if says("clear") && says("codes") {
        Some("clearing")
    } else if says("traffic law") {
        Some("traffic")
    } else {
        None
    }
}

/// The first line of a plan, for a ruling: what to do first.
#[must_use]
pub fn first_line(told: &Told<'_>) -> Option<String> {
    let plan = plans(told).into_iter().next()?;
    let action = *in_order(&plan.steps).first()?;
    if let Some((first, more)) = unread_steps(told, &plan.steps).as_deref().and_then(<[_]>::split_first)
        && !action.is_repair()
    {
        let then =
            if more.len() == 1 { "; then 1 step more".to_owned() } else { format!("; then {} steps more", more.len()) };
        return Some(format!("{}{then}. `next` tells all.", first.0));
    }
    let how = match action {
        Action::DriveUntilComplete(monitor) => advice_on(&told.prospect.advice, monitor),
        _ => None,
    };
    let long = how.and_then(|advice| advice.minutes).map(|(least, most)| format!(", {least} to {most} minutes"));
    let how = how.map_or(String::new(), |advice| format!(" ({}{})", advice.text, long.unwrap_or_default()));
    let more = match plan.steps.len() - 1 {
        0 => String::new(),
        1 => "; then 1 step more".to_owned(),
        more => format!("; then {more} steps more"),
    };
    Some(format!("{}{how}{more}. `next` tells all.", step(told.prospect, action)))
}

/// Every action of the plans that are told.
pub(crate) fn actions(told: &Told<'_>) -> Vec<Action> {
    plans(told).into_iter().flat_map(|plan| plan.steps.iter().copied()).collect()
}

/// Whether there is further advice that is surely for a vehicle such as this: a plug-in, codes cleared lately.
pub(crate) fn has_special(told: &Told<'_>) -> bool {
    further(told).into_iter().any(|advice| advice.is_special && advice.turns_on.is_empty())
}
