//! What a vehicle has before it: the plan with its provisos, what stands against a pass now, and the kind of the headline.
//! Sentences are made of it elsewhere.

use super::advice::{AdviceShown, advice_for};
use super::exact::Calculated;
use super::grounds::{Ground, TraceLine};
use super::judge::{JudgeError, asked, unknown_shown};
use super::margin::Margin;
use super::phrases::{clause, first_sentence, monitors_over, spoken};
use super::reasons::{Reasons, reasons};
use super::record::{Ruling, UnknownShown};
use super::show::{self, FactShown};
use crate::analysis::next::assume::{is_unread, unpresumed};
use crate::analysis::next::{Action, Branch, End, Kind, Next, Plan, Proviso, next};
use crate::diagram::level::Var;
use crate::evaluate::Walk;
use crate::model::facts::Possible;
use crate::model::{Fact, Monitor, MonitorState, Observer, Snapshot};
use crate::program::flat::Silence;
use crate::program::{Class, FactRef, Flat, Given, Program, Test, Topic};
use std::collections::BTreeSet;

/// What a headline claims; `docs/plan.md` has the exact meaning of each.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum HeadlineKind {
    /// Every vehicle that agrees with what is known has the goal.
    Passes,
    /// Every one that meets the provisos has it.
    PassesProvided,
    /// Every one that meets the provisos has it after the plan.
    After,
    /// No monitor was read: every one that meets the provisos has it once every monitor of it is complete.
    ReadFirst,
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
    pub const ALL: [(HeadlineKind, &'static str); 12] = [
        (HeadlineKind::Passes, "passes"),
        (HeadlineKind::PassesProvided, "passes-provided"),
        (HeadlineKind::After, "passes-after"),
        (HeadlineKind::ReadFirst, "read-first"),
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
    /// The same as it stands behind *if* and *that*: `the connector is intact`.
    pub clause: String,
    /// The question that a program puts for a fact of its own; else nothing.
    pub question: String,
    /// The answer to that question, where it is a plain yes or no.
    pub answer: Option<String>,
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
    pub against: Vec<Against>,
    /// What a vehicle that is not tested here is told: why no test is asked, or which test it goes to.
    pub elsewhere: String,
    /// Topics of which no text was read that could make what its plan leads to, or the other test that it goes to, graver.
    pub unread: Vec<Topic>,
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
    /// Whether no monitor was read at all. Then its drives are told in words: until every monitor is complete.
    pub is_unread: bool,
    /// The monitors that an ordinary vehicle of this kind has, where no monitor was read: common practice.
    pub usual: Vec<Monitor>,
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
    let branches: Vec<BranchShown> = next.branches.iter().map(|branch| shown(flat, branch)).collect();
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
    let is_unread = is_unread(&given);
    Ok(Some(Prospect {
        goal,
        kind: kind(flat, ruling, &next, goal, is_unread),
        branches,
        unknown,
        questions: told,
        advice,
        codes: codes(&given),
        incomplete: Monitor::all().filter(|monitor| is_incomplete(&given, *monitor)).collect(),
        is_unread,
        usual: if is_unread { usual(&given) } else { Vec::new() },
        is_plug_in: given.facts.is_surely(Fact::PlugIn, "yes"),
        other_tests: other_tests(flat, &next),
        next,
    }))
}

/// The monitors that an ordinary vehicle has, as far as its engine is known.
fn usual(given: &Given) -> Vec<Monitor> {
    let may_be = |monitor: &Monitor| matches!(given.facts.get(Fact::Monitor(*monitor)), Possible::Words(mask) if mask & MonitorState::Incomplete.bit() != 0);
    let fits = |monitors: &[Monitor]| monitors.iter().all(may_be);
    let (spark, compression) = (Monitor::USUAL_OF_SPARK, Monitor::USUAL_OF_COMPRESSION);
    let fuel = |word: &str| given.facts.is_surely(Fact::Fuel, word);
    match (fits(&spark), fits(&compression)) {
        (true, false) => spark.to_vec(),
        (true, true) if fuel("gasoline") => spark.to_vec(),
        (false, true) => compression.to_vec(),
        (true, true) if fuel("diesel") => compression.to_vec(),
        _ => Vec::new(),
    }
}

fn kind(flat: &Flat, ruling: &Ruling, next: &Next, goal: Class, is_unread: bool) -> HeadlineKind {
    let Some(branch) = next.only() else { return HeadlineKind::ByCase };
    let passes_now = next.now.iter().any(|verdict| verdict.class(flat) <= goal);
    match &branch.end {
        End::Already if branch.provisos.is_empty() => HeadlineKind::Passes,
        End::Already => HeadlineKind::PassesProvided,
        End::Plans(_) if branch.never_the_goal => HeadlineKind::OtherTestAfter,
        End::Plans(plans) if is_unread && branch.not_now.is_none() && is_drives(plans) => HeadlineKind::ReadFirst,
        End::Plans(_) => HeadlineKind::After,
        End::NotAsked if ruling.class == Class::NoLaw => HeadlineKind::NoLaw,
        End::NotAsked => HeadlineKind::NotAsked,
        End::OtherTest => HeadlineKind::OtherTest,
        End::Nothing if passes_now && !branch.provisos.is_empty() => HeadlineKind::FailsUnless,
        End::Nothing => HeadlineKind::NoPass,
        End::FindOut { .. } | End::TooMany => HeadlineKind::CannotSay,
    }
}

/// Whether nothing but drives for monitors is done.
fn is_drives(plans: &[Plan]) -> bool {
    let mut steps = plans.first().into_iter().flat_map(|plan| &plan.steps);
    steps.all(|step| matches!(step, Action::DriveUntilComplete(_)))
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
        possible => phrase(flat, fact, possible),
    };
    let (question, observer) = asked(flat, fact);
    let question = if matches!(fact, FactRef::Declared(_)) { question.to_owned() } else { String::new() };
    let answer = Some(show::with_value(flat, fact, Some(&proviso.possible), false).value);
    let answer = answer.filter(|answer| is_answer(answer, &question));
    let (key, clause) = (show::key(flat, fact), clause(fact, &phrase));
    ProvisoShown { key, phrase, clause, question, answer, observer, kind: proviso.kind }
}

/// A fact that a program declares, with its value: a question of yes or no with its answer.
pub(super) fn answered(flat: &Flat, fact: &FactRef<usize>, shown: &FactShown) -> String {
    let (question, _) = asked(flat, fact);
    match shown.value.as_str() {
        value if is_answer(value, question) => format!("the answer to \"{question}\" is {value}"),
        value => format!("{} is {value}", shown.name.replace('-', " ")),
    }
}

/// Whether a value is told as the answer to a question.
fn is_answer(value: &str, question: &str) -> bool {
    matches!(value, "yes" | "no") && !question.is_empty()
}

/// A fact with its value.
fn phrase(flat: &Flat, fact: &FactRef<usize>, possible: &Possible) -> String {
    let shown = show::with_value(flat, fact, Some(possible), false);
    match fact {
        FactRef::Declared(_) => answered(flat, fact, &shown),
        FactRef::Known(Fact::EarlierCodes) if shown.value == "none" => "no code at the inspection before".to_owned(),
        FactRef::Known(_) => match shown.phrase.strip_prefix("lamp ") {
            Some(rest) => format!("malfunction lamp {rest}"),
            None => shown.phrase,
        },
    }
}

fn shown(flat: &Flat, branch: &Branch) -> BranchShown {
    let list = |provisos: &[Proviso]| provisos.iter().map(|one| proviso(flat, one)).collect();
    let walk = Walk::new(flat, &branch.ordinary, &[]);
    let told = reasons(&walk, &Calculated::brief(flat, &branch.ordinary));
    let elsewhere = match &branch.end {
        // Why, where one reason surely holds.
        End::NotAsked | End::OtherTest if told.coverage.state != "undetermined" => told.coverage.message.clone(),
        _ => String::new(),
    };
    // A plan changes readings: no topic is moot for what they are today. Of a vehicle that goes elsewhere, what bears on it
    // once what is ordinary and sound is so.
    let unread: BTreeSet<Topic> = match &branch.end {
        End::OtherTest => told.so_far_as_read.iter().copied().collect(),
        End::Plans(_) => {
            let bears = |silence: &&Silence| silence.unread && !walk.truth(&silence.condition).is_false();
            flat.silences.iter().filter(bears).map(|silence| silence.topic).collect()
        }
        _ => BTreeSet::new(),
    };
    BranchShown {
        unread: unread.into_iter().collect(),
        provisos: list(&branch.provisos),
        not_now: branch.not_now.as_deref().map(list),
        against: against(flat, branch, &told),
        elsewhere,
    }
}

/// Something that stands against a pass.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Against {
    /// What, as a person would say it.
    pub text: String,
    /// Whether it surely does; the text says *perhaps* where it does not.
    pub surely: bool,
}

/// What stands against a pass, as a person would say it; each once.
fn against(flat: &Flat, branch: &Branch, reasons: &Reasons) -> Vec<Against> {
    let mut list: Vec<String> = Vec::new();
    let lamp_is_on = branch.ordinary.facts.is_surely(Fact::LampCommanded, "yes");
    let is_about = |ground: &Ground, key: &str| ground.facts.iter().any(|fact| fact.key == key);
    let commanded = |ground: &Ground| lamp_is_on && is_about(ground, "lamp.commanded");
    // That a lamp which is commanded on is seen lit is taken to be so, and says nothing more.
    let says_it_all = reasons.grounds.iter().any(commanded);
    let seen_lit = |ground: &Ground| is_about(ground, "lamp.lit_engine_running") || is_about(ground, "lamp.flashing");
    for ground in reasons.grounds.iter().filter(|it| commanded(it) || !says_it_all || !seen_lit(it)) {
        let failed = ground.margins.iter().find(|margin| !margin.holds);
        let counted = failed.and_then(|margin| count_over(flat, branch, reasons, margin, &ground.margins));
        let codes = ground.facts.iter().find(|fact| fact.key.starts_with("codes.") && fact.value != "none");
        let phrase = match (counted, commanded(ground), codes) {
            (Some(counted), _, _) => counted,
            (None, true, _) => COMMANDED.to_owned(),
            (None, false, Some(codes)) => codes.phrase.clone(),
            (None, false, None) => first_sentence(&ground.message),
        };
        if !phrase.is_empty() && !list.contains(&phrase) {
            list.push(phrase);
        }
    }
    if !list.is_empty() {
        return list.into_iter().map(|text| Against { text, surely: true }).collect();
    }
    // No line surely stands against it, as where a question decides which does: a number that is over its limit is over
    // it all the same, and a lamp that is commanded on is so; else what may stand against it is told.
    let perhaps = reasons.alternatives.iter().flat_map(|other| &other.clauses);
    let decides = reasons.deciding.iter().map(|clause| (clause, true));
    // What stands against it, whether it surely does, and whether it is a number of monitors that may be too great.
    let mut told: Vec<(String, bool, bool)> = Vec::new();
    for (clause, surely) in decides.chain(perhaps.map(|clause| (clause, false))) {
        let lines = reasons.trace.iter().filter(|line| line.clause == *clause && line.state == "undetermined");
        for line in lines {
            let failed = line.margins.iter().find(|margin| !margin.holds);
            let counted = failed.and_then(|margin| count_over(flat, branch, reasons, margin, &line.margins));
            let is_count = line.topic == Topic::Readiness && counts(flat, &line.clause, &line.message);
            let phrase = match counted.or_else(|| is_count.then(|| over_limit(flat, branch, reasons)).flatten()) {
                Some(counted) => (counted, true, false),
                None if lamp_is_on && line.topic == Topic::Lamp => (COMMANDED.to_owned(), true, false),
                None if is_count && !incomplete(flat, branch).is_empty() => (
                    format!(
                        "{} incomplete ({})",
                        monitors(incomplete(flat, branch).len()),
                        spoken(&incomplete(flat, branch).join(", "))
                    ),
                    surely,
                    true,
                ),
                None => (first_sentence(&line.message), surely, false),
            };
            if !phrase.0.is_empty() && !told.iter().any(|(known, ..)| *known == phrase.0) {
                told.push(phrase);
            }
        }
    }
    // Something stands against it in every case, and where one thing alone may, it does.
    let alone = told.len() == 1 && branch.not_now.is_some();
    let one = |(text, surely, is_number): (String, bool, bool)| {
        let surely = surely || alone;
        let text = match (is_number, surely) {
            (true, true) => format!("{text}, more than allowed"),
            (true, false) => format!("{text}, perhaps more than allowed"),
            (false, true) => text,
            (false, false) => format!("perhaps {text}"),
        };
        Against { text, surely }
    };
    told.into_iter().map(one).collect()
}

const COMMANDED: &str = "the vehicle's computer has switched on its malfunction lamp (MIL, check-engine light)";

/// Whether a line of a clause counts monitors.
fn counts(flat: &Flat, clause: &str, message: &str) -> bool {
    flat.lines.iter().filter(|line| line.clause == clause && line.message == message).any(|line| {
        let mut found = false;
        line.unmet_where.each_test(&mut |test| {
            found |= matches!(test, Test::Limit { .. } | Test::Count { .. });
        });
        found
    })
}

/// The counted monitors that are surely incomplete in a branch.
fn incomplete(flat: &Flat, branch: &Branch) -> Vec<String> {
    let walk = Walk::new(flat, &branch.ordinary, &[]);
    let (surely, _) = walk.counted().which(MonitorState::Incomplete.bit());
    surely.iter().map(|monitor| monitor.name().to_owned()).collect()
}

fn monitors(count: usize) -> String {
    if count == 1 { "1 monitor".to_owned() } else { format!("{count} monitors") }
}

/// How the vehicle stands to the one limit that concerns it.
fn over_limit(flat: &Flat, branch: &Branch, reasons: &Reasons) -> Option<String> {
    let shown = reasons.readiness.as_ref()?;
    let many = i64::try_from(shown.incomplete.len()).unwrap_or(i64::MAX);
    let margin = Margin {
        what: "incomplete counted monitors".to_owned(),
        value: format!("{many} ({})", shown.incomplete.join(", ")),
        limit: format!("at most {}", shown.allowed),
        distance: String::new(),
        holds: false,
        allowed: Some(shown.allowed),
    };
    if many > shown.allowed { count_over(flat, branch, reasons, &margin, &[]) } else { None }
}

/// A count over its limit. Where another limit may concern the vehicle as well, and the plan completes more than this one
/// asks for, fewer may be allowed.
fn count_over(flat: &Flat, branch: &Branch, reasons: &Reasons, margin: &Margin, all: &[Margin]) -> Option<String> {
    let told = monitors_over(&margin.what, &margin.value, &margin.limit)?;
    let Some(allowed) = margin.allowed else { return Some(told) };
    // A repair makes every monitor incomplete: nothing is told by what is driven then.
    let drives = match &branch.end {
        End::Plans(plans) => plans.first().filter(|plan| !plan.steps.contains(&Action::RepairFault)),
        _ => None,
    };
    let Some(drives) = drives.map(|plan| plan.driven().len()) else { return Some(told) };
    let left = incomplete(flat, branch).len().saturating_sub(drives);
    let is_open = |line: &TraceLine| line.state == "undetermined" && counts(flat, &line.clause, &line.message);
    let is_less = |other: &Margin| other.allowed.is_some_and(|other| other < allowed);
    let is_open = all.iter().any(is_less) || reasons.trace.iter().any(is_open);
    let fewer = is_open && i64::try_from(left).is_ok_and(|left| left < allowed);
    Some(if fewer { format!("{told}, perhaps fewer") } else { told })
}
