//! What a vehicle has before it: the plan with its provisos, what stands against a pass now, and the kind of the headline.
//! Sentences are made of it elsewhere.

use super::ReadinessShown;
use super::advice::{AdviceShown, advice_for};
use super::exact::Calculated;
use super::judge::{JudgeError, judge_given, unknown_shown};
use super::record::{Ruling, UnknownShown};
use super::show;
use crate::analysis::next::assume::unpresumed;
use crate::analysis::next::{Branch, End, Kind, Next, Proviso, next};
use crate::diagram::level::Var;
use crate::model::facts::Possible;
use crate::model::{Fact, Monitor, MonitorState, Observer, Snapshot};
use crate::program::{Class, FactRef, Flat, Given, Program, Topic};

/// What a headline claims; `docs/plan.md` has the exact meaning of each.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum HeadlineKind {
    /// Every vehicle that agrees with what is known has the goal.
    Passes,
    /// Every one that meets the provisos has it.
    PassesProvided,
    /// Every one that meets the provisos has it after the plan.
    After,
    /// Every one that meets them goes to another test after the plan, or is asked for none; nothing leads to the goal here.
    OtherTestAfter,
    /// No action of the table leads any one that meets the provisos there.
    NoPass,
    /// The same, and some that does not meet them has it.
    FailsUnless,
    /// Every one that meets the provisos goes to another test.
    OtherTest,
    /// None that meets the provisos is asked for a test.
    NotAsked,
    /// No law in the file for the date.
    NoLaw,
    /// It turns on what is told as cases.
    ByCase,
    /// It turns on what is not known.
    CannotSay,
}

impl HeadlineKind {
    /// All of them, with their words.
    pub const ALL: [(HeadlineKind, &'static str); 11] = [
        (HeadlineKind::Passes, "passes"),
        (HeadlineKind::PassesProvided, "passes-provided"),
        (HeadlineKind::After, "passes-after"),
        (HeadlineKind::OtherTestAfter, "other-test-after"),
        (HeadlineKind::NoPass, "no-pass"),
        (HeadlineKind::FailsUnless, "fails-unless"),
        (HeadlineKind::OtherTest, "other-test"),
        (HeadlineKind::NotAsked, "not-asked"),
        (HeadlineKind::NoLaw, "no-law"),
        (HeadlineKind::ByCase, "by-case"),
        (HeadlineKind::CannotSay, "cannot-say"),
    ];

    /// In a word.
    #[must_use]
    pub fn word(self) -> &'static str {
        Self::ALL.iter().find(|(kind, _)| *kind == self).map_or("", |(_, word)| word)
    }
}

/// A proviso in words.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ProvisoShown {
    /// Path of the fact.
    pub key: String,
    /// In words: `connector is intact`.
    pub phrase: String,
    /// Who can tell.
    pub observer: Observer,
    /// What it rests on.
    pub kind: Kind,
}

/// One branch of the answer in words.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct BranchShown {
    /// Its provisos.
    pub provisos: Vec<ProvisoShown>,
    /// What has to be so that no vehicle of the branch passes as it stands; `None` where some passes even then.
    pub not_now: Option<Vec<ProvisoShown>>,
    /// What stands against a pass as the vehicle stands, if what is ordinary and sound is so.
    pub against: Vec<String>,
    /// What a vehicle that is not tested here is told: why no test is asked, or which test it goes to.
    pub elsewhere: String,
}

/// What a vehicle has before it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Prospect {
    /// The class to lead to.
    pub goal: Class,
    /// What the headline claims.
    pub kind: HeadlineKind,
    /// The answer as calculated.
    pub next: Next,
    /// Its branches in words, in the same order.
    pub branches: Vec<BranchShown>,
    /// What to find out, what settles most first.
    pub unknown: Vec<UnknownShown>,
    /// Open questions that turn it.
    pub questions: Vec<String>,
    /// The advice that is for the vehicle.
    pub advice: Vec<AdviceShown>,
    /// Codes read: stored, then permanent, then pending ones.
    pub codes: Vec<String>,
    /// Monitors that are surely incomplete; any other may be complete already.
    pub incomplete: Vec<Monitor>,
    /// Whether it is surely a plug-in, whose engine seldom runs.
    pub is_plug_in: bool,
    /// Names of outcomes of class other-test that are possible, in the program's words.
    pub other_tests: Vec<String>,
}

/// The minutes that advice tells for a monitor, from and to: the first that names it.
#[must_use]
pub fn minutes(advice: &[AdviceShown], monitor: Monitor) -> Option<(i64, i64)> {
    advice_on(advice, monitor).and_then(|advice| advice.minutes)
}

/// The advice on a monitor: the first that names it.
#[must_use]
pub fn advice_on(advice: &[AdviceShown], monitor: Monitor) -> Option<&AdviceShown> {
    advice.iter().find(|it| it.monitors.iter().any(|name| name == monitor.name()))
}

/// What a vehicle has before it; `None` where a diagram outgrows its budget.
///
/// # Errors
/// Where readings contradict each other or a declared value does not fit the program.
pub fn prospect(
    flat: &Flat,
    program: &Program,
    snapshot: &Snapshot,
    ruling: &Ruling,
    goal: Class,
) -> Result<Option<Prospect>, JudgeError> {
    let given = Given::of(flat, snapshot)?;
    let advice = advice_for(flat, &given, program);
    let Some((open, presumed)) = unpresumed(flat, snapshot) else { return Ok(None) };
    let Ok(next) = next(flat, &open, &presumed, goal, &|monitor| minutes(&advice, monitor)) else {
        return Ok(None);
    };
    let branches: Vec<BranchShown> =
        next.branches.iter().map(|branch| shown(flat, program, snapshot, branch)).collect();
    let (mut unknown, mut questions) = (Vec::new(), Vec::new());
    let mut know = |fact: &FactRef<usize>| {
        let one = unknown_shown(flat, fact);
        if !unknown.contains(&one) {
            unknown.push(one);
        }
    };
    for branch in &next.branches {
        branch.when.iter().filter_map(|split| split.fact(flat)).for_each(|fact| know(&fact));
        for split in &branch.when {
            let asked = flat.questions.iter().find(|it| matches!(&split.var, Var::Question { id, .. } if *id == it.id));
            questions.extend(asked.map(|it| it.text.clone()));
        }
        if let End::FindOut { facts, questions: asked, .. } = &branch.end {
            facts.iter().for_each(&mut know);
            questions.extend(asked.iter().filter_map(|place| flat.questions.get(*place)).map(|it| it.text.clone()));
        }
    }
    let mut told: Vec<String> = Vec::new();
    for text in questions {
        if !told.contains(&text) {
            told.push(text);
        }
    }
    Ok(Some(Prospect {
        goal,
        kind: kind(flat, ruling, &next, goal),
        branches,
        unknown,
        questions: told,
        advice,
        codes: codes(&given),
        incomplete: Monitor::all().filter(|monitor| is_incomplete(&given, *monitor)).collect(),
        is_plug_in: Fact::PlugIn
            .word_bit("yes")
            .is_some_and(|yes| *given.facts.get(Fact::PlugIn) == Possible::Words(yes)),
        other_tests: other_tests(flat, &next),
        next,
    }))
}

fn kind(flat: &Flat, ruling: &Ruling, next: &Next, goal: Class) -> HeadlineKind {
    let Some(branch) = next.only() else { return HeadlineKind::ByCase };
    let passes_now = next.now.iter().any(|verdict| verdict.class(flat) <= goal);
    match &branch.end {
        End::Already if branch.provisos.is_empty() => HeadlineKind::Passes,
        End::Already => HeadlineKind::PassesProvided,
        End::Plans(_) if branch.never_the_goal => HeadlineKind::OtherTestAfter,
        End::Plans(_) => HeadlineKind::After,
        End::NotAsked if ruling.class == Class::NoLaw => HeadlineKind::NoLaw,
        End::NotAsked => HeadlineKind::NotAsked,
        End::OtherTest => HeadlineKind::OtherTest,
        End::Nothing if passes_now && !branch.provisos.is_empty() => HeadlineKind::FailsUnless,
        End::Nothing => HeadlineKind::NoPass,
        End::FindOut { .. } | End::TooMany => HeadlineKind::CannotSay,
    }
}

/// Whether nothing else than incomplete is possible.
fn is_incomplete(given: &Given, monitor: Monitor) -> bool {
    *given.facts.get(Fact::Monitor(monitor)) == Possible::Words(MonitorState::Incomplete.bit())
}

/// Codes read, each once.
fn codes(given: &Given) -> Vec<String> {
    let mut found: Vec<String> = Vec::new();
    for fact in [Fact::StoredCodes, Fact::PermanentCodes, Fact::PendingCodes] {
        if let Possible::Codes { list: Some(list), .. } = given.facts.get(fact) {
            for code in list.codes.iter().map(ToString::to_string) {
                if !found.contains(&code) {
                    found.push(code);
                }
            }
        }
    }
    found
}

fn other_tests(flat: &Flat, next: &Next) -> Vec<String> {
    let verdicts = next.branches.iter().flat_map(|branch| branch.now.iter().chain(&branch.then));
    let mut names: Vec<String> = Vec::new();
    for verdict in verdicts.filter(|verdict| verdict.class(flat) == Class::OtherTest) {
        let label = match verdict {
            crate::program::Verdict::Outcome(place) => flat.outcomes.get(*place).and_then(|it| it.label.clone()),
            crate::program::Verdict::NotSubject => None,
        };
        let name = label.unwrap_or_else(|| verdict.name(flat).to_owned());
        if !names.contains(&name) {
            names.push(name);
        }
    }
    names
}

fn proviso(flat: &Flat, proviso: &Proviso) -> ProvisoShown {
    let fact = &proviso.fact;
    let phrase = match &proviso.possible {
        Possible::Number(span) if span.least < span.most => {
            format!("{} at most {}", show::name(flat, fact), show::number(flat, fact, span.most))
        }
        possible => show::with_value(flat, fact, Some(possible), false).phrase,
    };
    let observer = unknown_shown(flat, fact).observer;
    ProvisoShown { key: show::key(flat, fact), phrase, observer, kind: proviso.kind }
}

fn shown(flat: &Flat, program: &Program, snapshot: &Snapshot, branch: &Branch) -> BranchShown {
    let list = |provisos: &[Proviso]| provisos.iter().map(|one| proviso(flat, one)).collect();
    let told = judge_given(flat, program, snapshot, &branch.ordinary, &Calculated::brief(flat, &branch.ordinary));
    let elsewhere = match &branch.end {
        End::NotAsked | End::OtherTest => told.coverage.message.clone(),
        _ => String::new(),
    };
    BranchShown {
        provisos: list(&branch.provisos),
        not_now: branch.not_now.as_deref().map(list),
        against: against(branch, &told),
        elsewhere,
    }
}

/// What stands against a pass, as a person would say it; each once.
fn against(branch: &Branch, ruling: &Ruling) -> Vec<String> {
    let mut list: Vec<String> = Vec::new();
    for ground in &ruling.grounds {
        let failed = ground.margins.iter().find(|margin| !margin.holds);
        let counted = failed.and_then(|margin| monitors_over(&margin.what, &margin.value, &margin.limit));
        let codes = ground.facts.iter().find(|fact| fact.key.starts_with("codes.") && fact.value != "none");
        let lamp = ground.facts.iter().any(|fact| fact.key == "lamp.commanded")
            && *branch.ordinary.facts.get(Fact::LampCommanded) == Possible::Words(0b10);
        let phrase = match (counted, lamp, codes) {
            (Some(counted), _, _) => counted,
            (None, true, _) => "the malfunction lamp (MIL) is commanded on".to_owned(),
            (None, false, Some(codes)) => codes.phrase.clone(),
            (None, false, None) => first_sentence(&ground.message),
        };
        if !phrase.is_empty() && !list.contains(&phrase) {
            list.push(phrase);
        }
    }
    if !list.is_empty() {
        return list;
    }
    // No line surely stands against it, as where a question decides which does: a number that is over its limit is over
    // it all the same; else what may stand against it is told.
    let perhaps = ruling.alternatives.iter().flat_map(|other| &other.clauses);
    let decides = ruling.deciding.iter().map(|clause| (clause, true));
    for (clause, surely) in decides.chain(perhaps.map(|clause| (clause, false))) {
        let lines = ruling.trace.iter().filter(|line| line.clause == *clause && line.state == "undetermined");
        for line in lines {
            let over = ruling.readiness.as_ref().filter(|_| line.topic == Topic::Readiness).and_then(over_limit);
            let failed = line.margins.iter().find(|margin| !margin.holds);
            let counted = failed.and_then(|margin| monitors_over(&margin.what, &margin.value, &margin.limit));
            let message = first_sentence(&line.message);
            let phrase = match counted.or(over) {
                Some(counted) => counted,
                None if message.is_empty() => continue,
                None if surely => message,
                None => format!("perhaps {message}"),
            };
            if !list.contains(&phrase) {
                list.push(phrase);
            }
        }
    }
    // Something stands against it in every case, and this alone may.
    if let ([only], Some(_)) = (list.as_mut_slice(), &branch.not_now)
        && let Some(surely) = only.strip_prefix("perhaps ")
    {
        *only = surely.to_owned();
    }
    list
}

/// The same of how the vehicle stands to its limit.
fn over_limit(shown: &ReadinessShown) -> Option<String> {
    let many = i64::try_from(shown.incomplete.len()).unwrap_or(i64::MAX);
    let value = format!("{many} ({})", shown.incomplete.join(", "));
    let over = many > shown.allowed;
    over.then(|| monitors_over("incomplete counted monitors", &value, &format!("at most {}", shown.allowed))).flatten()
}

/// `2 monitors incomplete (catalyst, evaporative); 1 is allowed`, of a count over its limit.
fn monitors_over(what: &str, value: &str, limit: &str) -> Option<String> {
    let (number, names) = value.split_once(' ').unwrap_or((value, ""));
    let count: i64 = number.parse().ok()?;
    let many = if count == 1 { "monitor" } else { "monitors" };
    let names = if names.is_empty() { String::new() } else { format!(" {names}") };
    let is = |most: &str| match most {
        "0" => "none is allowed".to_owned(),
        "1" => "1 is allowed".to_owned(),
        most => format!("{most} are allowed"),
    };
    if let Some(others) = what.strip_prefix("incomplete counted monitors other than ") {
        return Some(format!("{count} {many} incomplete{names}; only {others} may be"));
    }
    match (what, limit.strip_prefix("at most "), limit.strip_prefix("at least ")) {
        ("incomplete counted monitors" | "counted monitors that are incomplete", Some(most), _) => {
            Some(format!("{count} {many} incomplete{names}; {}", is(most)))
        }
        ("complete counted monitors" | "counted monitors that are complete", _, Some(least)) => {
            Some(format!("{count} {many} complete{names}; at least {least} must be"))
        }
        _ => None,
    }
}

/// The first sentence, to go on from a colon.
fn first_sentence(message: &str) -> String {
    let end = message.find(". ").unwrap_or(message.len());
    let text = message.get(..end).unwrap_or(message).trim_end_matches('.');
    let mut letters = text.chars();
    let Some(first) = letters.next() else { return String::new() };
    // A name or a word of capitals keeps its capital.
    let next_is_small = letters.clone().next().is_none_or(|next| next.is_lowercase() || next == ' ');
    if next_is_small { first.to_lowercase().chain(letters).collect() } else { text.to_owned() }
}
