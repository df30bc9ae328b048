//! After the visit: what is told of a result that a station recorded. Whether it follows from the facts, by which clause, or
//! what to ask there.

use super::words::{self, result};
use super::wrap::{joined, wrapped};
use crate::program::Class;
use crate::ruling::{Follows, Law, Ruling};

/// The most questions to put to a station.
const MOST_ASKED: usize = 6;

/// What is told of a recorded result.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Recorded {
    /// The result, as a class.
    pub class: Class,
    /// How it stands to the ruling.
    pub follows: Follows,
    /// The same in sentences.
    pub says: String,
    /// By which clauses it follows, or may.
    pub by: Vec<String>,
    /// Where it does not: what to ask the station, first what is not known here and matters.
    pub ask: Vec<String>,
}

/// What is told of a recorded result.
#[must_use]
pub fn recorded(ruling: &Ruling, class: Class) -> Recorded {
    let follows = Follows::of(ruling, class);
    let name = result(class);
    let (says, by) = match follows {
        Follows::Surely => {
            let deciding = ruling.grounds.iter().filter(|ground| ruling.deciding.contains(&ground.clause));
            let by = deciding.map(|ground| rule(&ground.clause, &ground.message, &ground.law));
            (format!("{name}. It follows from the facts as they were given."), by.collect())
        }
        Follows::Perhaps => perhaps(ruling, class),
        Follows::No => (not(ruling, name), Vec::new()),
    };
    let ask = if follows == Follows::Surely { Vec::new() } else { to_ask(ruling) };
    Recorded { class, follows, says: format!("Recorded: {says}"), by, ask }
}

/// That it may follow, and from which clauses.
fn perhaps(ruling: &Ruling, class: Class) -> (String, Vec<String>) {
    let is_it = |name: &String| ruling.possible.iter().any(|verdict| verdict.class == class && verdict.name == *name);
    let those = ruling.alternatives.iter().filter(|other| is_it(&other.outcome)).flat_map(|other| &other.clauses);
    let of = |clause: &String| match ruling.trace.iter().find(|line| line.clause == *clause) {
        Some(line) => rule(clause, &line.message, &line.law),
        None => rule(clause, "", &[]),
    };
    let by: Vec<String> = those.map(of).collect();
    let how = if by.is_empty() { "" } else { ", by one of these" };
    (format!("{}. It may follow{how}; what was given does not settle it.", result(class)), by)
}

fn not(ruling: &Ruling, recorded: &str) -> String {
    let mut once: Vec<String> = Vec::new();
    for name in ruling.possible.iter().map(|verdict| result(verdict.class)).filter(|name| *name != recorded) {
        if !once.iter().any(|known| known == name) {
            once.push(name.to_owned());
        }
    }
    format!(
        "{recorded}. It does not follow from the facts as they were given: they lead to {}. Either the station saw \
         something else, or it went by something that this file does not hold.",
        joined(&once, "or")
    )
}

/// A clause as a person reads it: its sentence with its law, or its name where it has none.
fn rule(clause: &str, message: &str, law: &[Law]) -> String {
    let law = law.first().map_or(String::new(), |law| format!(" ({})", words::law(law)));
    format!("{}{law}", if message.is_empty() { clause } else { message })
}

/// What to ask the station: first what is not known here and matters, then what the outcome rests on.
fn to_ask(ruling: &Ruling) -> Vec<String> {
    let mut list: Vec<String> =
        ruling.unknown.iter().take(MOST_ASKED).map(|unknown| unknown.question.clone()).collect();
    let rests: Vec<&str> = ruling.sufficient.iter().map(|fact| fact.phrase.as_str()).collect();
    if !rests.is_empty() {
        list.push(format!("Did it find the same as was given here? {}.", rests.join("; ")));
    }
    list.push("Which rule was the result given by?".to_owned());
    list
}

impl Recorded {
    /// As text of eighty columns.
    #[must_use]
    pub fn text(&self) -> String {
        let mut out = wrapped("", Some(2), &self.says);
        self.by.iter().for_each(|line| out.push_str(&wrapped("  - ", None, line)));
        if !self.ask.is_empty() {
            out.push_str("Ask the station, and look at the report that it printed:\n");
            self.ask.iter().for_each(|line| out.push_str(&wrapped("  - ", None, line)));
        }
        out
    }
}
