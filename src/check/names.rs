//! The names in scope: what the file and the programs it adopts declare.

use super::context::Context;
use crate::diagnostic::nearest;
use crate::model::{Fact, FactType, Monitor, spec, table::all_facts};
use crate::program::block::DeclaredType;
use crate::program::{Outcome, Window};
use crate::syntax::ast::{Kind, Word};
use std::collections::{BTreeMap, BTreeSet};

/// The id of a limit without a name.
pub(super) const STANDARD_LIMIT: &str = "standard";

/// Names, by kind.
#[derive(Debug, Default)]
pub(super) struct Names {
    /// Sources that can be cited, this file's and those of the programs that it adopts: place in the program's list.
    pub(super) sources: BTreeMap<String, usize>,
    /// Names of sources that mean different texts in the programs that are adopted, with those programs.
    pub(super) ambiguous_sources: BTreeMap<String, String>,
    pub(super) facts: BTreeMap<String, DeclaredType>,
    pub(super) questions: BTreeMap<String, Vec<String>>,
    pub(super) options: BTreeMap<String, Vec<String>>,
    pub(super) clauses: BTreeSet<String>,
    pub(super) findings: BTreeSet<String>,
    pub(super) limits: BTreeSet<String>,
    pub(super) groups: BTreeSet<String>,
    pub(super) tables: BTreeSet<String>,
    /// Periods of this file with their dates.
    pub(super) periods: BTreeMap<String, Window>,
    /// Announced changes.
    pub(super) changes: BTreeSet<String>,
}

/// What a test or an assignment is about.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum Subject {
    /// A fact of the table.
    Known(Fact),
    /// A declared fact.
    Declared(DeclaredType),
    /// `age`
    Age,
}

impl Context {
    /// What the words mean.
    pub(super) fn subject(&mut self, word: &Word) -> Option<Subject> {
        if word.node == "age" {
            return Some(Subject::Age);
        }
        if let Some(kind) = self.names.facts.get(&word.node) {
            return Some(Subject::Declared(kind.clone()));
        }
        if let Some(fact) = fact_named(&word.node) {
            return Some(Subject::Known(fact));
        }
        if Monitor::named(&word.node).is_some() {
            let message = format!("`{}` is a monitor, and a fact is wanted here", word.node);
            let help = format!("a monitor is tested by its state: `{} is incomplete`", word.node);
            self.error("check/monitor-misplaced", word.span, message, help);
            return None;
        }
        let declared: Vec<String> = self.names.facts.keys().cloned().collect();
        let mut known: Vec<&str> = fact_names().chain(Monitor::all().map(Monitor::name)).collect();
        known.push("age");
        known.extend(declared.iter().map(String::as_str));
        self.unknown("check/unknown-fact", "fact", word, known);
        None
    }

    /// The outcome's place on the ladder.
    pub(super) fn outcome(&mut self, word: &Word) -> Option<usize> {
        let place = self.program.outcomes.iter().position(|outcome| outcome.name == word.node);
        if place.is_none() && !self.program.outcomes.is_empty() {
            let known: Vec<Outcome> = self.program.outcomes.clone();
            self.unknown("check/unknown-outcome", "outcome", word, known.iter().map(|outcome| outcome.name.as_str()));
        }
        place
    }

    /// The clause's id.
    pub(super) fn clause(&mut self, word: &Word) -> Option<String> {
        let known = self.names.clauses.clone();
        self.member("check/unknown-clause", "clause", word, &known)
    }

    /// The table's id.
    pub(super) fn table(&mut self, word: &Word) -> Option<String> {
        let known = self.names.tables.clone();
        self.member("check/unknown-table", "table", word, &known)
    }

    /// The name, if the set holds it.
    pub(super) fn member(
        &mut self,
        code: &'static str,
        what: &str,
        word: &Word,
        known: &BTreeSet<String>,
    ) -> Option<String> {
        if known.contains(&word.node) {
            return Some(word.node.clone());
        }
        self.unknown(code, what, word, known.iter().map(String::as_str));
        None
    }
}

/// The fact the table calls so; monitors are not among them.
pub(super) fn fact_named(name: &str) -> Option<Fact> {
    all_facts().filter(|fact| !matches!(fact, Fact::Monitor(_))).find(|fact| spec(*fact).name == name)
}

/// Names of the table's facts, monitors left out.
pub(super) fn fact_names() -> impl Iterator<Item = &'static str> {
    all_facts().filter(|fact| !matches!(fact, Fact::Monitor(_))).map(|fact| spec(fact).name)
}

/// The yes/no fact and the word that a phrase means.
pub(super) fn phrase(words: &str) -> Option<(Fact, bool)> {
    all_facts().find_map(|fact| match spec(fact).kind {
        FactType::YesNo { yes, .. } if yes == words => Some((fact, true)),
        FactType::YesNo { no, .. } if no == words => Some((fact, false)),
        _ => None,
    })
}

/// How a fact is tested, in words: for messages about the wrong way.
pub(super) fn how_tested(kind: &FactType, name: &str) -> String {
    match kind {
        FactType::YesNo { yes, no } => format!("say `{yes}` or `{no}`"),
        FactType::Words(words) => {
            format!("say `{name} is {}`; its words: {}", words.first().unwrap_or(&""), words.join(", "))
        }
        FactType::Number { unit, least, .. } => {
            let amount = format!("{least} {}", unit.word());
            format!("say `{name} at least {}`", amount.trim_end())
        }
        FactType::Date => format!("say `{name} 2006-01-01 or later`"),
        FactType::Text => format!("say `{name} is \"…\"`"),
        FactType::Monitors => format!("say `any monitor {} is incomplete`", name.replacen("lit", "that lit", 1)),
        FactType::Codes => format!("say `any {name}` or `no {name}`"),
    }
}

/// How a declared fact is tested, in words.
pub(super) fn how_declared(kind: &DeclaredType, name: &str) -> String {
    match kind {
        DeclaredType::Number { unit, least, .. } => {
            let amount = format!("{least} {}", unit.word());
            format!("say `{name} at least {}`", amount.trim_end())
        }
        DeclaredType::YesNo => format!("say `{name} is yes` or `{name} is no`"),
        words => {
            let words = words.words();
            format!("say `{name} is {}`; its words: {}", words.first().unwrap_or(&""), words.join(", "))
        }
    }
}

/// The nearest of the ids that items of one kind have, for messages.
pub(super) fn near<'a>(name: &str, known: impl IntoIterator<Item = &'a str>) -> Option<String> {
    nearest(name, known).map(|near| format!("did you mean `{near}`?"))
}

/// The program's title for an item of the tree in messages: `clause lamp`.
pub(super) fn item_name(kind: &Kind) -> Option<(&'static str, String)> {
    Some(match kind {
        Kind::Clause { id, .. } => ("clause", id.node.clone()),
        Kind::Limit { id } => ("limit", id.as_ref().map_or(STANDARD_LIMIT.to_owned(), |id| id.node.clone())),
        Kind::Finding { id, .. } => ("finding", id.node.clone()),
        Kind::CodeGroup { id, .. } => ("code group", id.node.clone()),
        Kind::Question { id, .. } => ("question", id.node.clone()),
        Kind::Option { id, .. } => ("option", id.node.clone()),
        Kind::Table { id } => ("table", id.node.clone()),
        Kind::Fact { name, .. } | Kind::Result { name, .. } => ("fact", name.node.clone()),
        _ => return None,
    })
}
