//! The answer first: of a ruling, and of what leads to a pass, what a person at the counter needs, in some twenty lines of
//! eighty columns. The vehicle, the headline, readiness, the reasons with their law, what to do, what is unsure (the
//! weightiest first), the cautions that fit. All the rest is in the long form (`text`, `plan`).

use crate::analysis::next::{Action, End, Plan};
use crate::model::Monitor;
use crate::program::{Class, Topic};
use crate::record::Record;
use crate::ruling::{
    DOUBTS, Due, Ground, HeadlineKind, Lean, NO_START, NoteShown, Part, Prospect, Ruling, VerdictShown, advice_on,
    minutes,
};
use crate::wording::checks;
use crate::wording::headline::{self, Provisos};
use crate::wording::plan::{self, Told};
use crate::wording::words;
use crate::wording::wrap::{joined, wrapped};
use serde::Serialize;
use std::collections::BTreeSet;

/// The most reasons that are told.
const MOST_REASONS: usize = 3;
/// The most lines of what is unsure, unless its first point alone takes more.
const MOST_LINES: usize = 4;
/// The most facts, or presumptions, that are named in one line.
const MOST_NAMED: usize = 3;

const AGAIN: &str = "Then scan it again: go once these are complete, with no new code.";
/// The same behind a repair.
const AGAIN_REPAIRED: &str = "Then scan it again: go once these are complete, lamp off, no code come back.";
/// The name under which it is explained how a plug-in stays ready.
const PLUG_IN: &str = "plug-in-hybrid";

/// What is asked for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Purpose {
    /// Whether it passes: what to do in few words.
    Judge,
    /// What leads to a pass: also how each step is usually done.
    Next,
}

impl Purpose {
    /// The most points on what is unsure.
    fn most_unsure(self) -> usize {
        match self {
            Purpose::Judge => 3,
            Purpose::Next => 1,
        }
    }
}

/// How a line stands out on a terminal that can show it. The text says the same without.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Emphasis {
    /// The answer itself.
    Strong,
    /// What stands behind.
    Faint,
    /// All else.
    Plain,
}

/// A reason with its law.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Reason {
    /// The program's sentence.
    pub text: String,
    /// The citation it rests on first.
    pub law: Option<String>,
}

/// Something to do.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Step {
    /// What.
    pub text: String,
    /// How it is usually done.
    pub how: Vec<String>,
}

/// The answer in brief.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Brief {
    /// The vehicle and the date of the visit.
    pub vehicle: String,
    /// The program.
    pub program: String,
    /// The headline.
    pub headline: String,
    /// Whether a test is due.
    pub due: Option<String>,
    /// Readiness, where the headline does not tell it.
    pub readiness: Option<String>,
    /// The reason, in words.
    pub why: Vec<Reason>,
    /// How many reasons more there are.
    pub more_reasons: usize,
    /// What stands before the steps: that any as many monitors will do, that these are the least.
    pub before: Option<String>,
    /// What to do, in order.
    pub steps: Vec<Step>,
    /// How long all of it takes, or what else there is to do.
    pub after: Vec<String>,
    /// A name that tells, explained, how such a vehicle stays ready.
    pub stay_ready: Option<&'static str>,
    /// What is unsure, the weightiest first.
    pub unsure: Vec<String>,
    /// How much more there is to know.
    pub more: usize,
    /// What the long form tells besides, in words.
    pub rest: String,
    /// Cautions that fit, each once.
    pub cautions: Vec<String>,
}

impl Record {
    /// The answer in brief.
    #[must_use]
    pub fn brief(&self, purpose: Purpose) -> Brief {
        brief(&self.ruling, self.told(Provisos::Weightiest).as_ref(), purpose)
    }
}

/// The answer in brief; `told` where a plan was looked for.
#[must_use]
pub fn brief(ruling: &Ruling, told: Option<&Told<'_>>, purpose: Purpose) -> Brief {
    let headline = match told {
        Some(told) => headline::sentence(told.prospect, ruling, told.provisos),
        None => words::summary(ruling),
    };
    let mut readiness = ruling.readiness.as_ref().filter(|_| !headline.contains(" incomplete (")).map(words::readiness);
    if told.is_some_and(|told| plan::actions(told).contains(&Action::RepairFault)) {
        readiness =
            readiness.map(|now| format!("{}; the repair makes every monitor incomplete.", now.trim_end_matches('.')));
    }
    let above = checks::minded(ruling, told);
    let (mut unsure, presumed) = unsure(ruling, told, above);
    let told_of = fitting(&unsure, purpose.most_unsure());
    let more = unsure.len().saturating_sub(told_of) + usize::from(presumed);
    unsure.truncate(told_of);
    let (before, steps, mut after) = told.map(|told| to_do(told, purpose)).unwrap_or_default();
    let mind = |note: &NoteShown| format!("Mind as well what cannot be checked here: {}.", first(&note.text));
    after.extend(above.map(mind));
    // What stands against it leads the headline of a plan.
    let (why, more_reasons) = match (purpose, told) {
        (Purpose::Next, Some(told)) if !told.prospect.branches.iter().all(|it| it.against.is_empty()) => {
            (Vec::new(), 0)
        }
        _ => why(ruling, told),
    };
    let is_plan = !steps.is_empty() || !after.is_empty();
    let is_plug_in = purpose == Purpose::Next && told.is_some_and(|told| told.prospect.is_plug_in);
    let mut brief = Brief {
        vehicle: vehicle(ruling),
        program: format!("{} ({})", ruling.title, ruling.program),
        due: due(ruling, purpose),
        readiness,
        why,
        more_reasons,
        before,
        steps,
        after,
        stay_ready: (is_plan && is_plug_in).then_some(PLUG_IN),
        unsure,
        more,
        rest: super::brief_text::rest(
            more,
            told.is_some_and(|told| purpose == Purpose::Next && plan::has_special(told)),
        ),
        cautions: super::cautions::cautions(ruling, told),
        headline,
    };
    words::gloss_lamp(brief.texts());
    brief
}

/// How many points are told: as many as fit, and always the first.
fn fitting(unsure: &[String], most: usize) -> usize {
    let lines = |text: &String| wrapped("  - ", Some(4), text).lines().count();
    let mut left = MOST_LINES;
    let fits = |text: &&String| {
        let fits = lines(text) <= left;
        left = left.saturating_sub(lines(text));
        fits
    };
    unsure.iter().take(most).take_while(fits).count().max(usize::from(!unsure.is_empty()))
}

fn vehicle(ruling: &Ruling) -> String {
    let vehicle = ruling.identity.as_deref().unwrap_or("vehicle not named");
    let law = if ruling.as_of == ruling.test_date { String::new() } else { format!(" · law of {}", ruling.as_of) };
    let known = ruling.known_on.map_or(String::new(), |day| format!(" as published by {day}"));
    format!("{vehicle} · visit {}{law}{known}", ruling.test_date)
}

/// Beside a plan it is told only that none is due.
fn due(ruling: &Ruling, purpose: Purpose) -> Option<String> {
    let is_told = match purpose {
        Purpose::Judge => {
            let is_asked = |verdict: &VerdictShown| !matches!(verdict.class, Class::NotSubject | Class::NoLaw);
            ruling.due.due != Due::NotSaid || ruling.possible.iter().any(is_asked)
        }
        Purpose::Next => ruling.due.due == Due::No,
    };
    let why: Vec<String> = match ruling.due.due {
        // What is not known of each rule is told in the long form.
        Due::NotKnown => {
            let first = |why: &String| {
                let rule = why.split([',', ':']).next().unwrap_or_default();
                let start = if why.contains(NO_START) { "; last test not known" } else { "" };
                format!("{rule}{start}")
            };
            ruling.due.why.iter().map(first).take(1).collect()
        }
        _ => ruling.due.why.clone(),
    };
    let why = if why.is_empty() { String::new() } else { format!(" ({})", why.join("; ")) };
    let due = match ruling.due.due {
        Due::Yes => "due",
        Due::No => "not due",
        Due::NotKnown => "perhaps due",
        // Silence would be taken for an answer.
        Due::NotSaid => "due? see its papers",
    };
    is_told.then(|| format!("{due}{why}"))
}

/// What stands against it, without what another reason says already: that a lamp which is commanded on is lit.
fn said_once(ruling: &Ruling) -> impl Iterator<Item = &Ground> {
    let is_about = |ground: &Ground, key: &str| ground.facts.iter().any(|fact| fact.key == key);
    let commanded = |ground: &&Ground| is_about(ground, "lamp.commanded") && ruling.lamp.is_some();
    let says_it_all = ruling.grounds.iter().any(|ground| commanded(&ground));
    let seen_lit = move |ground: &Ground| {
        is_about(ground, "lamp.lit_engine_running") && !is_about(ground, "lamp.commanded") && says_it_all
    };
    ruling.grounds.iter().filter(move |ground| !seen_lit(ground))
}

/// The first reasons, and how many more there are.
fn why(ruling: &Ruling, told: Option<&Told<'_>>) -> (Vec<Reason>, usize) {
    let mut list: Vec<Reason> = Vec::new();
    let only = told.and_then(Told::only);
    if ruling.grounds.is_empty()
        && let Some(text) = only.and_then(|(branch, shown)| checks::why(branch, shown))
    {
        return (vec![Reason { text, law: None }], 0);
    }
    if ruling.class == Class::Pass && ruling.grounds.is_empty() {
        let text = format!("{}.", checks::NOTHING_AGAINST);
        return (vec![Reason { text, law: None }], 0);
    }
    for ground in said_once(ruling) {
        let law = ground.law.first().map(words::law);
        let text = if ground.message.is_empty() { words::clause(ground) } else { ground.message.clone() };
        if !list.iter().any(|known| known.text == text) {
            list.push(Reason { text, law });
        }
    }
    // Where readings of a question decide which line stands against it, each of the deciding clauses may.
    if list.is_empty() && !matches!(ruling.class, Class::Pass | Class::NotSubject | Class::NoLaw) {
        let deciding = ruling.trace.iter().filter(|line| ruling.deciding.contains(&line.clause));
        for line in deciding.filter(|line| line.state == "undetermined" && !line.message.is_empty()) {
            if !list.iter().any(|known| known.text == line.message) {
                list.push(Reason { text: line.message.clone(), law: line.law.first().map(words::law) });
            }
        }
    }
    // Reasons of one law that stand together name it once, behind the last of them.
    let next: Vec<Option<String>> = list.iter().skip(1).map(|reason| reason.law.clone()).collect();
    for (reason, next) in list.iter_mut().zip(next) {
        if reason.law == next {
            reason.law = None;
        }
    }
    let more = list.len().saturating_sub(MOST_REASONS);
    list.truncate(MOST_REASONS);
    (list, more)
}

/// What stands before the steps, the steps, and what follows them.
type ToDo = (Option<String>, Vec<Step>, Vec<String>);

fn to_do(told: &Told<'_>, purpose: Purpose) -> ToDo {
    let prospect = told.prospect;
    let steps = |list: &[Action]| match plan::unread_steps(told, list) {
        Some(list) => list.into_iter().map(|(text, monitors)| unread_step(prospect, text, monitors)).collect(),
        None => list.iter().map(|action| step(told, *action, purpose)).collect::<Vec<_>>(),
    };
    let mut after: Vec<String> = Vec::new();
    let [branch] = prospect.next.branches.as_slice() else {
        if let Some(unknown) = prospect.unknown.first() {
            after.push(format!("Find out ({}): {}", unknown.observer.word(), unknown.question));
        }
        return (None, steps(&prospect.next.common), after);
    };
    let (plan, least): (&Plan, bool) = match &branch.end {
        End::Plans(plans) => match plans.first() {
            Some(plan) => (plan, false),
            None => return ToDo::default(),
        },
        End::FindOut { least: Some(plan), .. } => (plan, true),
        _ => {
            let Some(shown) = prospect.branches.first() else { return ToDo::default() };
            let (before, list, after) = checks::to_do(told, branch, shown);
            return (before, list.into_iter().map(|text| Step { text, how: Vec::new() }).collect(), after);
        }
    };
    if !plan.driven().is_empty() && !prospect.is_unread {
        let is_repaired = plan.steps.contains(&Action::RepairFault);
        after.push(if is_repaired { AGAIN_REPAIRED } else { AGAIN }.to_owned());
    }
    if least && headline::is_silent(plan) {
        after.push(headline::READ_AGAIN.to_owned());
        return (None, steps(&plan.steps), after);
    }
    let none = || (Vec::new(), Vec::new());
    let checked = prospect.branches.first().filter(|_| !least && !prospect.is_unread);
    let (first, last) = checked.map_or_else(none, checks::steps_beside_drives);
    let told_so = |text: String| Step { text, how: Vec::new() };
    let repairs = plan.steps.iter().filter(|step| step.is_repair()).count();
    let before_drives = (first.len() + repairs).checked_sub(1);
    let mut list: Vec<Step> = first.into_iter().map(told_so).collect();
    list.extend(steps(&plan::in_order(&plan.steps)));
    list.extend(last.into_iter().map(told_so));
    let before = match (plan::choice_of_those_named(plan), before_drives) {
        (Some(choice), Some(place)) => {
            let is_named = repairs > 0 && !prospect.codes.is_empty();
            let repaired =
                if is_named { " the repairer knows which one watches the repair: let it be one of them;" } else { "" };
            list.get_mut(place).into_iter().for_each(|step| step.how.push(format!("Then drive;{repaired} {choice}")));
            None
        }
        (choice, _) => choice,
    };
    let before = before.or_else(|| least.then(|| "At least, whatever else comes out:".to_owned()));
    // How long all of it takes stands above the steps where nothing else does.
    let before = match plan::time(told, plan) {
        time @ Some(_) if before.is_none() => time,
        time => {
            after.splice(0..0, time);
            before
        }
    };
    (before, list, after)
}

/// A step where no monitor was read: the monitors that such a vehicle usually has, each with its time, in a line. How each
/// is completed stands in the long form.
fn unread_step(prospect: &Prospect, text: String, monitors: &[Monitor]) -> Step {
    let one = |monitor: &Monitor| {
        let long = minutes(&prospect.advice, *monitor);
        let long = long.map_or(String::new(), |range| format!(" ({})", words::minutes(range)));
        format!("{}{long}", monitor.spoken())
    };
    let names: Vec<String> = monitors.iter().map(one).collect();
    let text = if names.is_empty() { text } else { format!("{text} {}", joined(&names, "and")) };
    Step { text, how: Vec::new() }
}

fn step(told: &Told<'_>, action: Action, purpose: Purpose) -> Step {
    let text = plan::step(told.prospect, action);
    let advice = match action {
        Action::DriveUntilComplete(monitor) => advice_on(&told.prospect.advice, monitor),
        _ => None,
    };
    match (purpose, advice) {
        (Purpose::Judge, Some(advice)) => {
            let long = advice.minutes.map_or(String::new(), |range| format!(", {}", words::minutes(range)));
            let night = match action {
                Action::DriveUntilComplete(Monitor::Evaporative) => {
                    ", after a night standing cold with the tank half full; if not done, another"
                }
                Action::DriveUntilComplete(monitor) if plan::wants_a_night(monitor) => {
                    ", after a night of standing cold"
                }
                _ => "",
            };
            Step { text: format!("{text}{long}{night}"), how: Vec::new() }
        }
        (Purpose::Judge, None) => Step { text, how: Vec::new() },
        // What must hold first is told in the long form, and what follows the first part of the advice.
        (Purpose::Next, _) => match plan::how(told, action).into_iter().next() {
            Some(how) => {
                let how = match (how.split_once("; "), how.rsplit_once("; ")) {
                    (Some((first, _)), Some((_, minutes))) => format!("{first}; {minutes}"),
                    _ => how,
                };
                let text = match how.strip_prefix("usually completes ") {
                    Some(usually) => format!("{text}, usually {usually}"),
                    None => format!("{text}: {how}"),
                };
                Step { text, how: Vec::new() }
            }
            None => Step { text, how: Vec::new() },
        },
    }
}

/// A text up to the end of its first sentence.
fn first(text: &str) -> &str {
    let end = text.find(". ").unwrap_or(text.len());
    text.get(..end).unwrap_or(text).trim_end_matches('.')
}

/// What is unsure, the weightiest first: what was not understood, what will change, what the law leaves open, what the file
/// cannot say, what was not read, what is not known, what was presumed, what rests on weak texts. Besides, whether something
/// is presumed on which nothing turns: the long form alone tells it. What is told above, beside what to do, is left out.
fn unsure(ruling: &Ruling, told: Option<&Told<'_>>, above: Option<&NoteShown>) -> (Vec<String>, bool) {
    let is_doubt = |remark: &String| DOUBTS.iter().any(|first| remark.starts_with(first));
    let (doubts, remarks): (Vec<String>, Vec<String>) = ruling.remarks.iter().cloned().partition(is_doubt);
    let mut list = doubts;
    list.extend(ruling.changes.iter().map(words::change_in_brief));
    for question in &ruling.questions {
        let taken = words::taken(question);
        list.push(format!("The law leaves this open (ask the station): {}{taken}", question.text));
    }
    let is_proviso = |key: &str| {
        let provisos = told.into_iter().flat_map(|told| &told.prospect.branches).flat_map(|it| &it.provisos);
        provisos.into_iter().any(|proviso| proviso.key == key)
    };
    let presumed = |turns: bool| {
        let those = ruling.presumptions.iter().filter(|it| it.turns == turns && !is_proviso(&it.key));
        those.collect::<Vec<_>>()
    };
    let is_spared = told.is_some_and(|told| told.prospect.next.branches.iter().any(headline::some_not_asked));
    let then = if is_spared { "; else it may need no test" } else { "; else the answer may change" };
    match words::presumptions(&presumed(true), then) {
        None if is_spared => {
            list.push("It may need no test at all: that depends on what is not known of it.".to_owned())
        }
        turning => list.extend(turning),
    }
    let only = told.and_then(Told::only);
    // Of a vehicle that is tested elsewhere, what bears on it there.
    let unread = match only {
        Some((branch, shown)) if branch.end == End::OtherTest => &shown.unread,
        _ => &ruling.so_far_as_read,
    };
    list.extend(words::unread(unread));
    let of_plans = told.into_iter().flat_map(|told| &told.prospect.branches).flat_map(|branch| &branch.unread);
    let later: BTreeSet<Topic> = of_plans.filter(|topic| !ruling.so_far_as_read.contains(topic)).copied().collect();
    list.extend(words::unread_later(&later.into_iter().collect::<Vec<_>>()));
    let named = |name: &String| ruling.possible.iter().any(|verdict| verdict.name == *name);
    let is_above = |note: &NoteShown| above.is_some_and(|it| std::ptr::eq(it, note));
    let turning = |note: &&NoteShown| !is_above(note) && note.into.iter().any(|name| !named(name));
    let mut notes = ruling.notes.iter().filter(turning).map(|note| {
        let into: Vec<String> = note.into.iter().filter(|name| !named(name)).map(|name| words::outcome(name)).collect();
        format!("This cannot be checked here, and may mean {}: {}.", joined(&into, "or"), first(&note.text))
    });
    list.extend(notes.next());
    let other_notes: Vec<String> = notes.collect();
    list.extend(ruling.excused.iter().filter(|excused| excused.carries).map(words::excused));
    let is_open = told.is_none_or(|told| matches!(told.prospect.kind, HeadlineKind::ByCase | HeadlineKind::CannotSay));
    if is_open && ruling.possible.len() > 1 && !ruling.unknown.is_empty() {
        let name = |it: &crate::ruling::UnknownShown| format!("{} ({})", it.name, it.observer.spoken());
        let mut names: Vec<String> = ruling.unknown.iter().take(MOST_NAMED).map(name).collect();
        if ruling.unknown.len() > MOST_NAMED {
            names.push(format!("{} more", ruling.unknown.len() - MOST_NAMED));
        }
        list.push(format!("Not known, and it matters: {}.", joined(&names, "and")));
    }
    // What is presumed is told above and below.
    let of_presumption = |lean: &Lean| matches!(lean.part, Part::Presumption(_)) && Some(lean.basis) == ruling.weakest;
    if !ruling.weak.iter().any(of_presumption) {
        list.extend(words::weakest(ruling));
    }
    list.extend(remarks);
    list.extend(other_notes);
    (list, words::presumptions(&presumed(false), "").is_some())
}
