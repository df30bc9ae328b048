//! After the visit: whether a result that a station recorded follows from the facts, by which clause, or what to ask there.

use crate::program::Class;
use crate::ruling::Ruling;
use crate::wording::words;
use crate::wording::wrap::{joined, wrapped};

/// The most questions to put to a station.
const MOST_ASKED: usize = 6;

/// How a recorded result stands to a ruling.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Follows {
    /// Every possible outcome is of that class.
    Surely,
    /// Some are.
    Perhaps,
    /// None is.
    No,
}

impl Follows {
    /// How a result of a class stands to a ruling.
    #[must_use]
    pub fn of(ruling: &Ruling, recorded: Class) -> Follows {
        let hits = ruling.possible.iter().filter(|verdict| verdict.class == recorded).count();
        match hits {
            0 => Follows::No,
            all if all == ruling.possible.len() => Follows::Surely,
            _ => Follows::Perhaps,
        }
    }
}

/// What a class is called as a result.
fn called(class: Class) -> &'static str {
    match class {
        Class::Pass => "a pass",
        Class::Conditional => "a pass on conditions",
        Class::OtherTest => "another test",
        Class::Reject => "being turned away",
        Class::Fail => "a fail",
        Class::NotSubject => "no test asked",
        Class::NoLaw | Class::Undecided => "no result",
    }
}

/// What is told of a recorded result, as text of eighty columns.
#[must_use]
pub fn text(ruling: &Ruling, recorded: Class) -> String {
    let result = called(recorded);
    let mut out = String::new();
    match Follows::of(ruling, recorded) {
        Follows::Surely => {
            out.push_str(&wrapped(
                "Recorded: ",
                Some(2),
                &format!("{result}. It follows from the facts as they were given."),
            ));
            for ground in ruling.grounds.iter().filter(|ground| ruling.deciding.contains(&ground.clause)) {
                let law = ground.law.first().map_or(String::new(), |law| format!(" ({})", words::law(law)));
                out.push_str(&wrapped("  - ", None, &format!("{}: {}{law}", words::clause(ground), ground.message)));
            }
        }
        Follows::Perhaps => {
            let because = ruling.alternatives.iter().filter(|other| {
                ruling.possible.iter().any(|verdict| verdict.class == recorded && verdict.name == other.outcome)
            });
            let clauses: Vec<String> = because.flat_map(|other| other.clauses.iter().cloned()).collect();
            let by = match clauses.is_empty() {
                true => String::new(),
                false => format!(" by {}", joined(&clauses, "or")),
            };
            out.push_str(&wrapped(
                "Recorded: ",
                Some(2),
                &format!("{result}. It may follow{by}; what was given does not settle it."),
            ));
            to_ask(&mut out, ruling);
        }
        Follows::No => {
            let names: Vec<String> = ruling.possible.iter().map(|verdict| called(verdict.class).to_owned()).collect();
            let mut once: Vec<String> = Vec::new();
            names.into_iter().filter(|name| name != result).for_each(|name| {
                if !once.contains(&name) {
                    once.push(name);
                }
            });
            out.push_str(&wrapped(
                "Recorded: ",
                Some(2),
                &format!(
                    "{result}. It does not follow from the facts as they were given: they lead to {}. Either the station \
                     saw something else, or it went by something that this file does not hold.",
                    joined(&once, "or")
                ),
            ));
            to_ask(&mut out, ruling);
        }
    }
    out
}

/// What to ask the station: first what is not known here and matters, then what the outcome rests on.
fn to_ask(out: &mut String, ruling: &Ruling) {
    out.push_str("Ask the station, and the report it printed:\n");
    let unknown = ruling.unknown.iter().map(|unknown| unknown.question.clone());
    let rests = ruling.sufficient.iter().map(|fact| format!("Was it so that {}?", fact.phrase));
    for question in unknown.chain(rests).take(MOST_ASKED) {
        out.push_str(&wrapped("  - ", None, &question));
    }
    out.push_str("  - Which rule the result was given by.\n");
}
