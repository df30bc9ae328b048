//! The slip that a vehicle catches, told as a sentence: what somebody does wrong, and what they get. The slips are the
//! changes of one place of `analysis::cases`; what is got is what the interpreter says of the vehicle under the change.

use crate::analysis::cases::mutants::condition;
use crate::analysis::cases::{Change, Mutant, Site};
use crate::diagram::words::{counted_monitors_are, or_list};
use crate::model::{Fact, FactType, Monitor, MonitorState, date_of, spec};
use crate::program::block::{Allowance, DeclaredType};
use crate::program::{Condition, FactRef, Flat, Test};

/// Somebody's slip and where it leads.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Mistake {
    /// Who does what: `whoever counts continuous monitors, such as misfire`.
    pub who: String,
    /// What they get.
    pub outcome: String,
}

impl Mistake {
    /// In a sentence.
    #[must_use]
    pub fn sentence(&self) -> String {
        let mut letters = self.who.chars();
        let first = letters.next().map(|it| it.to_uppercase().to_string()).unwrap_or_default();
        format!("{first}{} gets *{}*.", letters.as_str(), self.outcome)
    }
}

/// How likely a person makes a slip, the likeliest least.
pub(super) fn rank(mutant: &Mutant) -> usize {
    match (&mutant.change, mutant.site) {
        (Change::LimitChanged, _) => 0,
        (Change::MonitorChanged, Site::Count(_)) => 1,
        (Change::GivesWayDropped, _) => 2,
        (Change::Dropped, Site::Excuse(_) | Site::LeftOut(_) | Site::Becomes(_) | Site::TableRow(..)) => 3,
        (Change::Shifted, _) => 4,
        (Change::PartDropped, _) => 5,
        (Change::WordChanged | Change::CodesChanged | Change::MonitorChanged, _) => 6,
        (Change::Dropped, _) => 7,
        _ => 9,
    }
}

/// What somebody does who makes a slip; `None` where it cannot be told in a sentence.
pub(super) fn who(flat: &Flat, mutant: &Mutant) -> Option<String> {
    let clause = |at: usize| flat.lines.get(at).map(|line| line.clause.as_str());
    // The words behind the place: `with misfire too`.
    let said = mutant.what.rsplit_once(": ").map_or("", |(_, said)| said);
    match (&mutant.change, mutant.site) {
        (Change::LimitChanged, Site::LimitRow(limit, row)) => allowance(flat, mutant, limit, row),
        (Change::MonitorChanged, Site::Count(_)) => counted(said),
        (Change::GivesWayDropped, Site::GivesWay(line, to)) => {
            let other = flat.lines.get(line)?.gives_way.get(to)?.0;
            Some(format!(
                "whoever lets clause `{}` stand beside `{}`, to which it gives way,",
                clause(line)?,
                clause(other)?
            ))
        }
        (Change::Dropped, Site::LeftOut(at)) => {
            Some(format!("whoever forgets who is left out here (\"{}\")", flat.left_out.get(at)?.why))
        }
        (Change::Dropped, Site::Excuse(_)) => Some("whoever forgets that a monitor is excused here".to_owned()),
        (Change::Dropped, Site::Becomes(at)) => {
            let rule = flat.becomes.get(at)?;
            let name = |place: usize| flat.outcomes.get(place).map(|it| it.name.as_str());
            Some(format!("whoever forgets that {} becomes {} here", name(rule.from)?, name(rule.to)?))
        }
        (Change::Dropped, Site::TableRow(table, _)) => {
            Some(format!("whoever does not look into the table `{}`", flat.tables.get(table)?.id))
        }
        (Change::Dropped, Site::Unmet(at)) => Some(format!("whoever overlooks clause `{}`", clause(at)?)),
        (Change::OutcomeMoved, Site::Unmet(at)) => {
            let to = said.strip_prefix("leads to ")?;
            Some(format!("whoever takes clause `{}` for a matter of {to}", clause(at)?))
        }
        (Change::CodesChanged, Site::Group(at)) => {
            Some(format!("whoever begins or ends the codes of `{}` one code off", flat.groups.get(at)?.0))
        }
        (Change::Shifted | Change::WordChanged | Change::MonitorChanged | Change::PartDropped, site) => {
            match difference(condition(flat, site)?, condition(&mutant.flat, site)?)? {
                (Condition::Test(old), Some(Condition::Test(new))) => {
                    let (old, new) = (test_in_words(flat, old)?, test_in_words(flat, new)?);
                    Some(format!("whoever reads \"{old}\" as \"{new}\""))
                }
                (Condition::Test(old), None) => {
                    Some(format!("whoever leaves out the condition \"{}\"", test_in_words(flat, old)?))
                }
                _ => None,
            }
        }
        _ => None,
    }
}

/// Where two conditions part that differ in one place: the old part, and the new one where there is one.
fn difference<'c>(
    old: &'c Condition<usize>,
    new: &'c Condition<usize>,
) -> Option<(&'c Condition<usize>, Option<&'c Condition<usize>>)> {
    match (old, new) {
        (Condition::All(olds), Condition::All(news)) | (Condition::Any(olds), Condition::Any(news)) => {
            if olds.len() == news.len() {
                let (old, new) = olds.iter().zip(news).find(|(old, new)| old != new)?;
                return difference(old, new);
            }
            let place = olds.iter().zip(news).position(|(old, new)| old != new).unwrap_or(news.len());
            Some((olds.get(place)?, None))
        }
        (Condition::Not(old), Condition::Not(new)) => difference(old, new),
        _ => Some((old, Some(new))),
    }
}

fn allowance(flat: &Flat, mutant: &Mutant, limit: usize, row: usize) -> Option<String> {
    let of = |flat: &Flat| Some(flat.limits.get(limit)?.rows.get(row)?.limit.clone());
    let is = |count: i64| if count == 1 { "is" } else { "are" };
    let monitors = |count: i64| if count == 1 { "monitor" } else { "monitors" };
    match (of(flat)?, of(&mutant.flat)?) {
        (Allowance::AtMost { count: old, .. }, Allowance::AtMost { count: new, .. }) if old != new => {
            let allowed = if old == 0 { "none is".to_owned() } else { format!("{old} {}", is(old)) };
            let new = if new == 0 { "no".to_owned() } else { new.to_string() };
            let noun = monitors(if new == "1" { 1 } else { 2 });
            Some(format!("whoever allows {new} incomplete {noun} where {allowed} allowed"))
        }
        (Allowance::AtMost { only: Some(only), .. }, _) => {
            let names: Vec<String> = only.iter().map(|it| it.name().to_owned()).collect();
            Some(format!("whoever does not ask that {} alone may be incomplete", or_list(&names)))
        }
        (Allowance::AtLeastComplete(old), Allowance::AtLeastComplete(new)) => {
            Some(format!("whoever asks for {new} complete {} where {old} {} asked for", monitors(new), is(old)))
        }
        _ => None,
    }
}

/// The continuous monitors of light vehicles (SAE J1979, PID $01 data B): they run all the time, so that most programs do
/// not count them.
const CONTINUOUS: [&str; 3] = ["misfire", "fuel-system", "components"];

fn counted(said: &str) -> Option<String> {
    if let Some(name) = said.strip_prefix("with ").and_then(|it| it.strip_suffix(" too")) {
        let is_continuous = CONTINUOUS.contains(&name.trim_start_matches("hd-"));
        return Some(if is_continuous {
            format!("whoever counts continuous monitors, such as {name},")
        } else {
            format!("whoever counts the {name} monitor too")
        });
    }
    said.strip_prefix("without ").map(|name| format!("whoever does not count the {name} monitor"))
}

fn name(flat: &Flat, fact: &FactRef<usize>) -> Option<String> {
    match fact {
        FactRef::Known(Fact::Monitor(monitor)) => Some(monitor.name().to_owned()),
        FactRef::Known(fact) => Some(spec(*fact).name.to_owned()),
        FactRef::Declared(place) => flat.facts.get(*place).map(|it| it.name.clone()),
    }
}

fn words_of(mask: u64, words: &[&str]) -> Vec<String> {
    let is_in =
        |at: usize| u32::try_from(at).ok().and_then(|at| 1u64.checked_shl(at)).is_some_and(|bit| mask & bit != 0);
    words.iter().enumerate().filter(|(at, _)| is_in(*at)).map(|(_, word)| (*word).to_owned()).collect()
}

/// A test as program files word it; `None` for tests of lists and tables, which need more than a phrase.
fn test_in_words(flat: &Flat, test: &Test<usize>) -> Option<String> {
    match test {
        Test::Word { fact, words } => {
            if let FactRef::Known(known) = fact
                && let FactType::YesNo { yes, no } = spec(*known).kind
            {
                let held: Vec<String> = words_of(*words, &[no, yes]);
                return (held.len() == 1).then(|| held.concat());
            }
            let name = name(flat, fact)?;
            let all: Vec<&str> = match fact {
                FactRef::Known(Fact::Monitor(_)) => MonitorState::WORDS.to_vec(),
                FactRef::Known(fact) => fact.words().to_vec(),
                FactRef::Declared(place) => flat.facts.get(*place)?.kind.words(),
            };
            let (inside, outside) = (words_of(*words, &all), words_of(!*words, &all));
            Some(if inside.len() > outside.len() && !outside.is_empty() {
                format!("{name} is not {}", or_list(&outside))
            } else {
                format!("{name} is {}", or_list(&inside))
            })
        }
        Test::Number { fact, least, most } => {
            let (is_date, unit) = match fact {
                FactRef::Known(fact) => match spec(*fact).kind {
                    FactType::Date => (true, None),
                    FactType::Number { unit, .. } => (false, Some(unit)),
                    _ => (false, None),
                },
                FactRef::Declared(place) => match flat.facts.get(*place)?.kind {
                    DeclaredType::Number { unit, .. } => (false, Some(unit)),
                    _ => (false, None),
                },
            };
            let shown = |base: i64| {
                if is_date {
                    return date_of(base).map(|day| day.to_string()).unwrap_or_default();
                }
                unit.map_or_else(|| base.to_string(), |it| it.show(base))
            };
            bounds(&name(flat, fact)?, *least, *most, shown)
        }
        Test::Count { states, least, most } => {
            let place = |bound: Option<i64>, or: usize| bound.map_or(Some(or), |it| usize::try_from(it).ok());
            let top = Monitor::all().count();
            let are = counted_monitors_are(place(*least, 0)?, place(*most, top)?, top);
            Some(format!("{are} {}", or_list(&words_of(*states, &MonitorState::WORDS))))
        }
        Test::Present { fact, is } => {
            Some(format!("{} {}on this vehicle", spec(*fact).name, if *is { "" } else { "not " }))
        }
        _ => None,
    }
}

fn bounds(name: &str, least: Option<i64>, most: Option<i64>, shown: impl Fn(i64) -> String) -> Option<String> {
    match (least, most) {
        (Some(least), Some(most)) if least == most => Some(format!("{name} is {}", shown(least))),
        (Some(least), Some(most)) => Some(format!("{name} {} through {}", shown(least), shown(most))),
        (Some(least), None) => Some(format!("{name} at least {}", shown(least))),
        (None, Some(most)) => Some(format!("{name} at most {}", shown(most))),
        (None, None) => None,
    }
}
