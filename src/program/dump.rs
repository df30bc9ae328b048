//! A flat program as text: everything that can change a ruling, nothing that cannot. Two programs with the same text
//! rule alike on every snapshot and say the same of it; digests and tests of equality are taken of this text. Dates
//! asked for, places in files and the order of items in a file are left out on purpose.

use super::block::{Allowance, DeclaredType, Presumed};
use super::flat::FlatExcused;
use super::{Citation, Condition, FactRef, Flat, How, InForce, Quantifier, Test};
use crate::model::{CodeRange, MonitorSet, code::show_two_bytes, table::key_of};
use std::fmt::Write;

/// The flat program as text, one thought a line.
#[must_use]
pub fn dump(flat: &Flat) -> String {
    let mut text = Text { flat, out: String::new() };
    text.head();
    text.names();
    text.coverage();
    text.lines();
    text.rest();
    text.out
}

struct Text<'a> {
    flat: &'a Flat,
    out: String,
}

impl Text<'_> {
    fn line(&mut self, words: &str, basis: &[Citation]) {
        self.out.push_str(words);
        for citation in basis {
            let (program, id) =
                self.flat.sources.get(citation.source).map_or(("", ""), |source| (&*source.program, &*source.id));
            // Writing to a string cannot fail.
            let _ = write!(self.out, " per {program}/{id} {:?} {}", citation.locator, citation.seen.words());
            let currency = self.flat.sources.get(citation.source).and_then(|source| source.currency.words());
            let _ = currency.map(|words| write!(self.out, " {words}"));
        }
        self.out.push('\n');
    }

    fn head(&mut self) {
        let flat = self.flat;
        self.line(&format!("program {} {:?}", flat.program, flat.title), &[]);
        let in_force = match flat.in_force {
            InForce::Yes => "in force".to_owned(),
            InForce::Ended { last } => format!("ended {last}"),
            InForce::NotYet { first } => format!("not in force before {first}"),
            InForce::Hole { last, next } => format!("not in force between {last} and {next}"),
            InForce::NotSaid => "not in force".to_owned(),
        };
        self.line(&in_force, &flat.in_force_basis);
        for area in flat.areas.all() {
            let words = format!("area {:?} also {:?} partly {:?}", area.name, area.also, area.partly);
            self.line(&words, &[]);
        }
        if flat.areas.is_declared() {
            self.line(&format!("areas of {}", flat.areas.state().map_or("no state", |state| state.name)), &[]);
        }
        for outcome in &flat.outcomes {
            let label = outcome.label.as_deref().unwrap_or("");
            self.line(&format!("outcome {} ({}) {label:?}", outcome.name, outcome.class.word()), &[]);
        }
        for fact in &flat.facts {
            let kind = match &fact.kind {
                DeclaredType::YesNo => "yes or no".to_owned(),
                DeclaredType::Words(words) => words.join(", "),
                DeclaredType::Number { unit, least, most } => format!("{least} through {most} {}", unit.word()),
            };
            let observer = fact.observer.word();
            let result = if fact.is_result { "result" } else { "fact" };
            self.line(&format!("{result} {}: {kind}, {observer}, {:?}", fact.name, fact.question), &[]);
        }
        for question in &flat.questions {
            let taken = question.taken.and_then(|place| question.readings.get(place)).map_or("none", String::as_str);
            let readings = question.readings.join(", ");
            self.line(&format!("question {} {:?}: {readings}; taken {taken}", question.id, question.text), &[]);
        }
        for (option, value) in &flat.options {
            self.line(&format!("option {option} {value}"), &[]);
        }
    }

    fn names(&mut self) {
        let flat = self.flat;
        for (id, group) in &flat.groups {
            let words = format!("code group {id}: {}; not read {}", ranges(&group.ranges), ranges(&group.unread));
            self.line(&words, &[]);
        }
        for table in &flat.tables {
            self.line(&format!("table {}", table.id), &[]);
            for row in &table.rows {
                let condition = self.condition(&row.condition);
                let (excused, codes) = (monitors(row.excused), ranges(&row.codes));
                self.line(&format!("  row {condition}: excuses {excused}; codes {codes}"), &[]);
            }
        }
        for (id, condition) in &flat.findings {
            self.line(&format!("finding {id} {}", self.condition(condition)), &[]);
        }
        for limit in &flat.limits {
            self.line(&format!("limit {}", limit.id), &[]);
            for row in &limit.rows {
                let words = format!("  row {}: {}", self.condition(&row.condition), allowance(&row.limit));
                self.line(&words, &row.basis);
            }
        }
        for rule in &flat.counts {
            let unsupported = if rule.unsupported_as_incomplete { ", unsupported as incomplete" } else { "" };
            let words =
                format!("counts {}{unsupported} where {}", monitors(rule.monitors), self.condition(&rule.condition));
            self.line(&words, &rule.basis);
        }
        for excuse in &flat.excuses {
            let which = match excuse.which {
                FlatExcused::Monitors(set) => monitors(set),
                FlatExcused::EarlierIncomplete => "each monitor incomplete earlier".to_owned(),
                FlatExcused::Table(place) => {
                    format!("monitors excused by {}", flat.tables.get(place).map_or("", |table| &table.id))
                }
            };
            self.line(&format!("excuses {which} where {}", self.condition(&excuse.condition)), &excuse.basis);
        }
    }

    fn coverage(&mut self) {
        let flat = self.flat;
        for covers in &flat.covers {
            self.line(&format!("covers {}", self.condition(&covers.item)), &covers.basis);
        }
        for out in &flat.left_out {
            let outcome = out.outcome.map_or("not-subject", |place| self.outcome(place));
            let words = format!("leaves out {}: {outcome} {:?}", self.condition(&out.condition), out.why);
            self.line(&words, &out.basis);
        }
        for due in &flat.due {
            let every = due.every.map(|every| format!("every {} ", every.words())).unwrap_or_default();
            self.line(&format!("due {every}{} {:?}", self.condition(&due.condition), due.why), &due.basis);
        }
    }

    fn lines(&mut self) {
        let flat = self.flat;
        for (place, line) in flat.lines.iter().enumerate() {
            let requires = if line.requires { " (requires)" } else { "" };
            let words = format!(
                "line {place} of {} on {}: {} where {}{requires} concerns {} {:?}",
                line.clause,
                line.topic.word(),
                self.outcome(line.outcome),
                self.condition(&line.unmet_where),
                self.condition(&line.concerns),
                line.message
            );
            self.line(&words, &line.basis);
            for (other, reading) in &line.gives_way {
                self.line(&format!("  gives way to line {other} where {}", self.condition(reading)), &[]);
            }
        }
        for silence in &flat.silences {
            let word = if silence.unread { "unread" } else { "silent" };
            let words = format!("{word} on {} where {}", silence.topic.word(), self.condition(&silence.condition));
            self.line(&words, &silence.basis);
        }
    }

    fn rest(&mut self) {
        let flat = self.flat;
        for becomes in &flat.becomes {
            let (from, to) = (self.outcome(becomes.from), self.outcome(becomes.to));
            let words = format!("outcome {from} becomes {to} where {}", self.condition(&becomes.condition));
            self.line(&words, &becomes.basis);
        }
        for consequence in &flat.consequences {
            let item = &consequence.item;
            let by = item.by.as_ref().map_or(String::new(), |by| format!(" by {by}"));
            let alone = if item.alone { " alone" } else { "" };
            let words = format!(
                "consequence {} after {}{by}{alone} where {} {:?}",
                item.kind.word(),
                self.outcome(item.after),
                self.condition(&item.condition),
                item.text
            );
            self.line(&words, &consequence.basis);
        }
        for note in &flat.notes {
            let (from, into) = (note.could_turn.join(", "), note.into.join(", "));
            let concerns = self.condition(&note.concerns);
            self.line(&format!("not expressible {:?} {from} into {into} where {concerns}", note.text), &note.basis);
        }
        for change in &flat.changes {
            let from = change.from.map(|day| day.to_string()).unwrap_or_default();
            self.line(&format!("change {} {} {from} {:?}", change.id, change.kind.word(), change.text), &change.basis);
            for turn in &change.turns {
                let (turned, into) = (turn.could_turn.join(", "), turn.into.join(", "));
                let concerns = self.condition(&turn.concerns);
                self.line(&format!("  could turn {turned} into {into} where {concerns}"), &[]);
            }
        }
        for presumption in &flat.presumptions {
            let words = match presumption.value {
                Presumed::NotListed(_) => format!("presumes {}", presumption.shown),
                _ => format!("presumes {} is {}", self.fact(&presumption.fact), presumption.shown),
            };
            let words = match presumption.condition.is_always() {
                true => words,
                false => format!("{words} where {}", self.condition(&presumption.condition)),
            };
            self.line(&words, &presumption.basis);
        }
    }

    fn outcome(&self, place: usize) -> &str {
        self.flat.outcomes.get(place).map_or("", |outcome| outcome.name.as_str())
    }

    fn fact(&self, fact: &FactRef<usize>) -> String {
        match fact {
            FactRef::Known(fact) => key_of(*fact),
            FactRef::Declared(place) => {
                format!("declared.{}", self.flat.facts.get(*place).map_or("", |fact| fact.name.as_str()))
            }
        }
    }

    fn condition(&self, condition: &Condition<usize>) -> String {
        let list = |word: &str, parts: &[Condition<usize>]| {
            let parts: Vec<String> = parts.iter().map(|part| self.condition(part)).collect();
            format!("{word}({})", parts.join(", "))
        };
        match condition {
            Condition::All(parts) => list("all", parts),
            Condition::Any(parts) => list("any", parts),
            Condition::Not(inner) => format!("not({})", self.condition(inner)),
            Condition::Test(test) => self.test(test),
        }
    }

    fn test(&self, test: &Test<usize>) -> String {
        match test {
            Test::Word { fact, words } => format!("{} in {words:b}", self.fact(fact)),
            Test::Number { fact, least, most } => format!("{} {}", self.fact(fact), bounds(*least, *most)),
            Test::Text { fact, among, is } => format!("{} {is} {among:?}", key_of(*fact)),
            Test::Dated(none) => match *none {},
            Test::ModelYearIsEven(even) => format!("model year even {even}"),
            Test::Present { fact, is } => format!("{} present {is}", key_of(*fact)),
            Test::Codes { list, how, among } => {
                let group = match among {
                    None => "all codes".to_owned(),
                    Some(place) => {
                        format!("group {place} {}", self.flat.groups.get(*place).map_or("", |(id, _)| id.as_str()))
                    }
                };
                format!("{} {} {group}", how_word(*how), key_of(*list))
            }
            Test::CodesOfTable { list, how, table } => {
                format!("{} {} listed by {}", how_word(*how), key_of(*list), self.table(*table))
            }
            Test::Count { states, least, most } => format!("counted in {states:b} {}", bounds(*least, *most)),
            Test::CountOf { monitors: set, states, least, most } => {
                format!("of [{}] in {states:b} {}", monitors(*set), bounds(*least, *most))
            }
            Test::Pair { quantifier, earlier, states } => {
                let word = match quantifier {
                    Quantifier::Any => "any",
                    Quantifier::Every => "every",
                    Quantifier::No => "no",
                };
                format!("{word} of {} in {states:b}", key_of(*earlier))
            }
            Test::NotMoreIncompleteThanEarlier => "not more incomplete than earlier".to_owned(),
            Test::Limit { limit, within } => {
                let word = if *within { "within" } else { "over" };
                format!("{word} limit {}", self.flat.limits.get(*limit).map_or("", |limit| limit.id.as_str()))
            }
            Test::Finding(place) => {
                format!("finding {}", self.flat.findings.get(*place).map_or("", |(id, _)| id.as_str()))
            }
            Test::Listed(table) => format!("listed in {}", self.table(*table)),
            Test::Reading { question, reading } => {
                let question = self.flat.questions.get(*question);
                let reading = question.and_then(|question| question.readings.get(*reading));
                let id = question.map_or("", |question| question.id.as_str());
                format!("reading {id} {}", reading.map_or("", String::as_str))
            }
        }
    }

    fn table(&self, place: usize) -> &str {
        self.flat.tables.get(place).map_or("", |table| table.id.as_str())
    }
}

fn bounds(least: Option<i64>, most: Option<i64>) -> String {
    let end = |end: Option<i64>| end.map_or("open".to_owned(), |end| end.to_string());
    format!("{} through {}", end(least), end(most))
}

fn how_word(how: How) -> &'static str {
    match how {
        How::Any => "any",
        How::No => "no",
        How::Only => "only",
    }
}

fn monitors(set: MonitorSet) -> String {
    let names: Vec<&str> = set.iter().map(crate::model::Monitor::name).collect();
    names.join(", ")
}

fn ranges(ranges: &[CodeRange]) -> String {
    let shown = ranges.iter().map(|range| {
        let digits = if range.digits_only { " digits only" } else { "" };
        format!("{} through {}{digits}", show_two_bytes(range.first), show_two_bytes(range.last))
    });
    shown.collect::<Vec<_>>().join(", ")
}

fn allowance(allowance: &Allowance) -> String {
    match allowance {
        Allowance::AtMost { count, only: None } => format!("at most {count}"),
        Allowance::AtMost { count, only: Some(set) } => format!("at most {count}, only {}", monitors(*set)),
        Allowance::AtLeastComplete(count) => format!("at least {count} complete"),
        Allowance::NotRead => "not read".to_owned(),
    }
}
