//! A record as JSON (`wherefore-ruling/1`): the only place where its keys are spelt. The keys of the design page come
//! first and in its order; those after them say more and may grow.

use super::change_form::{ChangeForm, change_form};
use super::parts_form::values;
use super::{Record, digest, parts_form, plan_form};
use crate::certificate::Certificate;
use crate::document::{self, Node};
use crate::program::Class;
use crate::ruling::{Basis, Due, Ground, Law, Margin, Standing, TraceLine, VerdictShown};
use crate::wording::headline::Provisos;
use crate::wording::words;
use serde::Serialize;
use std::collections::BTreeMap;

/// The format that every ruling names.
pub const FORMAT: &str = "wherefore-ruling/1";

/// Keys that rulings of earlier versions lack.
pub(super) const LATER_KEYS: [&str; 2] = ["headline", "branches"];

#[derive(Serialize)]
struct Form<'a> {
    format: &'static str,
    program: &'a str,
    as_of: String,
    verdict: &'a str,
    class: &'static str,
    possible: Vec<&'a str>,
    provided: Vec<FactForm<'a>>,
    grounds: Vec<GroundForm<'a>>,
    deciding: &'a [String],
    sufficient: BTreeMap<&'a str, Node>,
    unknown: Vec<UnknownForm<'a>>,
    questions: Vec<QuestionForm<'a>>,
    notes: Vec<NoteForm<'a>>,
    consequences: Vec<ConsequenceForm<'a>>,
    due: &'static str,
    cautions: &'a [&'static str],
    snapshot: Node,
    digest: DigestForm<'a>,
    trace: Vec<TraceForm<'a>>,
    title: &'a str,
    summary: String,
    test_date: String,
    known_on: Option<String>,
    takes: BTreeMap<&'a str, &'a str>,
    options: BTreeMap<&'a str, &'a str>,
    exact: bool,
    provided_verdict: Option<&'a str>,
    so_far_as_read: Vec<&'static str>,
    unread_could_change: bool,
    identity: Option<&'a str>,
    readiness: Option<parts_form::ReadinessForm<'a>>,
    lamp: Option<parts_form::LampForm>,
    excused: Option<parts_form::ExcusedForm<'a>>,
    weakest: Option<String>,
    coverage: CoverageForm<'a>,
    alternatives: Vec<AlternativeForm<'a>>,
    weak: Vec<WeakForm<'a>>,
    presumptions: Vec<parts_form::PresumptionForm<'a>>,
    due_rules: Vec<&'a str>,
    due_from: Option<String>,
    changes: Vec<ChangeForm<'a>>,
    may_turn: bool,
    advice: Vec<AdviceForm<'a>>,
    remarks: &'a [String],
    engine: &'static str,
    #[serde(skip_serializing_if = "Option::is_none")]
    headline: Option<serde_json::Value>,
    #[serde(skip_serializing_if = "Option::is_none")]
    branches: Option<serde_json::Value>,
    #[serde(skip_serializing_if = "Option::is_none")]
    recorded: Option<parts_form::RecordedForm>,
    #[serde(skip_serializing_if = "Option::is_none")]
    certificate: Option<&'a Certificate>,
}

#[derive(Serialize)]
struct DigestForm<'a> {
    snapshot: String,
    files: &'a BTreeMap<String, String>,
    law: &'a str,
    /// Of the whole record but this key, keys sorted: finds accidents and careless changes, not forgery.
    #[serde(skip_serializing_if = "Option::is_none")]
    record: Option<String>,
}

#[derive(Serialize)]
struct FactForm<'a> {
    fact: &'a str,
    value: &'a str,
    text: &'a str,
}

#[derive(Serialize)]
pub(super) struct LawForm<'a> {
    citation: String,
    kind: &'static str,
    seen: &'static str,
    #[serde(skip_serializing_if = "Option::is_none")]
    currency: Option<&'static str>,
    #[serde(skip_serializing_if = "Option::is_none")]
    at: Option<&'a str>,
}

#[derive(Serialize)]
struct MarginForm<'a> {
    what: &'a str,
    value: &'a str,
    limit: &'a str,
    distance: &'a str,
    holds: bool,
}

#[derive(Serialize)]
struct GroundForm<'a> {
    clause: &'a str,
    topic: &'static str,
    outcome: &'a str,
    message: &'a str,
    law: Vec<LawForm<'a>>,
    basis: String,
    facts: BTreeMap<&'a str, Node>,
    margins: Vec<MarginForm<'a>>,
    origin: &'a str,
    #[serde(skip_serializing_if = "<[String]>::is_empty")]
    under: &'a [String],
}

#[derive(Serialize)]
struct TraceForm<'a> {
    clause: &'a str,
    topic: &'static str,
    outcome: &'a str,
    state: &'static str,
    why: &'a [String],
    facts: BTreeMap<&'a str, Node>,
    margins: Vec<MarginForm<'a>>,
    message: &'a str,
    law: Vec<LawForm<'a>>,
    basis: String,
    origin: &'a str,
}

#[derive(Serialize)]
struct UnknownForm<'a> {
    fact: &'a str,
    name: &'a str,
    question: &'a str,
    observer: &'static str,
}

#[derive(Serialize)]
struct QuestionForm<'a> {
    question: &'a str,
    text: &'a str,
    taken: Option<&'a str>,
    why: &'a str,
    readings: Vec<ReadingForm<'a>>,
}

#[derive(Serialize)]
struct ReadingForm<'a> {
    reading: &'a str,
    possible: Vec<&'a str>,
}

#[derive(Serialize)]
struct NoteForm<'a> {
    text: &'a str,
    concerns: &'static str,
    could_turn: &'a [String],
    into: &'a [String],
    law: Vec<LawForm<'a>>,
}

#[derive(Serialize)]
struct ConsequenceForm<'a> {
    kind: &'static str,
    after: &'a str,
    text: &'a str,
    state: &'static str,
    law: Vec<LawForm<'a>>,
    basis: String,
}

#[derive(Serialize)]
struct CoverageForm<'a> {
    state: &'static str,
    message: &'a str,
    because: &'a [String],
    law: Vec<LawForm<'a>>,
    basis: String,
}

#[derive(Serialize)]
struct AlternativeForm<'a> {
    outcome: &'a str,
    clauses: &'a [String],
}

#[derive(Serialize)]
struct WeakForm<'a> {
    part: &'static str,
    what: String,
    law: Vec<LawForm<'a>>,
    basis: String,
}

#[derive(Serialize)]
struct AdviceForm<'a> {
    monitors: &'a [String],
    text: &'a str,
    minutes: Option<(i64, i64)>,
    preconditions: &'a [String],
    cautions: &'a [String],
    law: Vec<LawForm<'a>>,
    basis: String,
}

/// A ruling as one line of JSON, its end included.
#[must_use]
pub fn json_line(record: &Record) -> String {
    serde_json::to_string(&sealed(record)).unwrap_or_default() + "\n"
}

/// A ruling as a JSON value, for templates and hosts.
#[must_use]
pub fn json_value(record: &Record) -> serde_json::Value {
    serde_json::to_value(sealed(record)).unwrap_or_default()
}

/// The form with the digest of itself.
fn sealed(record: &Record) -> Form<'_> {
    let mut form = form(record);
    let whole = serde_json::to_value(&form).unwrap_or_default().to_string();
    form.digest.record = Some(digest::of(whole.as_bytes()));
    form
}

fn form(record: &Record) -> Form<'_> {
    let ruling = &record.ruling;
    let snapshot = document::write(&record.document);
    let facts = |facts| values(facts, &snapshot);
    Form {
        format: FORMAT,
        program: &ruling.program,
        as_of: ruling.as_of.to_string(),
        verdict: &ruling.verdict,
        class: ruling.class.word(),
        possible: names(&ruling.possible),
        provided: ruling
            .provided
            .iter()
            .flat_map(|provided| &provided.facts)
            .map(|fact| FactForm { fact: &fact.key, value: &fact.value, text: &fact.phrase })
            .collect(),
        grounds: ruling.grounds.iter().map(|ground| ground_form(ground, &snapshot)).collect(),
        deciding: &ruling.deciding,
        sufficient: facts(&ruling.sufficient),
        unknown: ruling
            .unknown
            .iter()
            .map(|unknown| UnknownForm {
                fact: &unknown.key,
                name: &unknown.name,
                question: &unknown.question,
                observer: unknown.observer.word(),
            })
            .collect(),
        questions: ruling.questions.iter().map(question_form).collect(),
        notes: ruling
            .notes
            .iter()
            .map(|note| NoteForm {
                text: &note.text,
                concerns: if note.surely { "surely" } else { "perhaps" },
                could_turn: &note.could_turn,
                into: &note.into,
                law: laws(&note.law),
            })
            .collect(),
        consequences: ruling
            .consequences
            .iter()
            .map(|consequence| ConsequenceForm {
                kind: consequence.kind.word(),
                after: &consequence.after,
                text: &consequence.text,
                state: standing(consequence.state),
                law: laws(&consequence.law),
                basis: consequence.basis.words(),
            })
            .collect(),
        due: due(ruling.due.due),
        cautions: &ruling.cautions,
        digest: DigestForm {
            snapshot: digest::of(snapshot.to_json().as_bytes()),
            files: &record.files,
            law: &record.law,
            record: None,
        },
        trace: ruling.trace.iter().map(|line| trace_form(line, &snapshot)).collect(),
        title: &ruling.title,
        summary: words::summary(ruling),
        test_date: ruling.test_date.to_string(),
        known_on: ruling.known_on.map(|date| date.to_string()),
        takes: record.takes.iter().map(|take| (take.name.as_str(), take.value.as_str())).collect(),
        options: ruling.options.iter().map(|(name, value)| (name.as_str(), value.as_str())).collect(),
        exact: ruling.exact,
        provided_verdict: ruling.provided.as_ref().map(|provided| provided.verdict.name.as_str()),
        so_far_as_read: ruling.so_far_as_read.iter().map(|topic| topic.word()).collect(),
        unread_could_change: !ruling.so_far_as_read.is_empty(),
        identity: ruling.identity.as_deref(),
        readiness: ruling.readiness.as_ref().map(parts_form::readiness),
        lamp: ruling.lamp.as_ref().map(parts_form::lamp),
        excused: ruling.excused.as_ref().map(parts_form::excused),
        weakest: ruling.weakest.map(Basis::words),
        coverage: CoverageForm {
            state: ruling.coverage.state,
            message: &ruling.coverage.message,
            because: &ruling.coverage.because,
            law: laws(&ruling.coverage.law),
            basis: ruling.coverage.basis.words(),
        },
        alternatives: ruling
            .alternatives
            .iter()
            .map(|other| AlternativeForm { outcome: &other.outcome, clauses: &other.clauses })
            .collect(),
        weak: ruling
            .weak
            .iter()
            .map(|weak| WeakForm {
                part: words::part_word(&weak.part),
                what: words::part(&weak.part),
                law: laws(&weak.law),
                basis: weak.basis.words(),
            })
            .collect(),
        presumptions: ruling.presumptions.iter().map(parts_form::presumption).collect(),
        due_rules: ruling.due.why.iter().map(String::as_str).collect(),
        due_from: ruling.due.next.map(|day| day.to_string()),
        changes: ruling.changes.iter().map(change_form).collect(),
        may_turn: !ruling.changes.is_empty() || words::could_turn(ruling).is_some(),
        advice: ruling
            .advice
            .iter()
            .map(|advice| AdviceForm {
                monitors: &advice.monitors,
                text: &advice.text,
                minutes: advice.minutes,
                preconditions: &advice.preconditions,
                cautions: &advice.cautions,
                law: laws(&advice.law),
                basis: advice.basis.words(),
            })
            .collect(),
        remarks: &ruling.remarks,
        engine: ruling.engine,
        headline: record.told(Provisos::All).map(|told| plan_form::headline_json(&told)),
        branches: record.told(Provisos::All).map(|told| plan_form::branches_json(&told)),
        recorded: record.recorded().map(parts_form::recorded),
        certificate: record.certificate.as_ref(),
        snapshot,
    }
}

fn names(verdicts: &[VerdictShown]) -> Vec<&str> {
    verdicts.iter().map(|verdict| verdict.name.as_str()).collect()
}

pub(super) fn laws(laws: &[Law]) -> Vec<LawForm<'_>> {
    let form = |law: &'_ Law| (law.text(), law.kind.word(), law.seen.words());
    laws.iter()
        .map(|law| {
            let (citation, kind, seen) = form(law);
            LawForm { citation, kind, seen, currency: law.currency.words(), at: law.place.as_deref() }
        })
        .collect()
}

fn margins(margins: &[Margin]) -> Vec<MarginForm<'_>> {
    margins
        .iter()
        .map(|margin| MarginForm {
            what: &margin.what,
            value: &margin.value,
            limit: &margin.limit,
            distance: &margin.distance,
            holds: margin.holds,
        })
        .collect()
}

fn ground_form<'a>(ground: &'a Ground, snapshot: &Node) -> GroundForm<'a> {
    GroundForm {
        clause: &ground.clause,
        topic: ground.topic.word(),
        outcome: &ground.outcome,
        message: &ground.message,
        law: laws(&ground.law),
        basis: ground.basis.words(),
        facts: values(&ground.facts, snapshot),
        margins: margins(&ground.margins),
        origin: &ground.origin,
        under: &ground.under,
    }
}

fn trace_form<'a>(line: &'a TraceLine, snapshot: &Node) -> TraceForm<'a> {
    TraceForm {
        clause: &line.clause,
        topic: line.topic.word(),
        outcome: &line.outcome,
        state: line.state,
        why: &line.why,
        facts: values(&line.facts, snapshot),
        margins: margins(&line.margins),
        message: &line.message,
        law: laws(&line.law),
        basis: line.basis.words(),
        origin: &line.origin,
    }
}

fn question_form(question: &crate::ruling::QuestionShown) -> QuestionForm<'_> {
    QuestionForm {
        question: &question.id,
        text: &question.text,
        taken: question.taken.as_deref(),
        why: &question.why,
        readings: question
            .readings
            .iter()
            .map(|reading| ReadingForm { reading: &reading.id, possible: names(&reading.possible) })
            .collect(),
    }
}

/// States and answers as words without blanks.
fn standing(state: Standing) -> &'static str {
    match state {
        Standing::Open => "open",
        Standing::Closed => "closed",
        Standing::NotKnown => "not-known",
    }
}

fn due(due: Due) -> &'static str {
    match due {
        Due::Yes => "yes",
        Due::No => "no",
        Due::NotKnown => "not-known",
        Due::NotSaid => "not-said",
    }
}

/// The words of every class, for the schema.
pub(super) fn classes() -> Vec<&'static str> {
    Class::ALL.iter().map(|class| class.word()).collect()
}
