//! From sets of vehicles to answers: what holds of all of them, on which provisos, and where they need different plans
//! the shortest list of cases.

use super::assume::{Proviso, taken};
use super::case::Case;
use super::{Accept, Action, Branch, End, Search, Stopped, choice};
use crate::diagram::level::{Class as Cell, Members, Var};
use crate::diagram::words::{describe, or_list};
use crate::model::Fact;
use crate::model::facts::Possible;
use crate::program::{Class, FactRef, Flat, Given, Verdict};
use std::collections::BTreeSet;

/// The most branches.
const MOST_BRANCHES: usize = 4;
/// The most facts that one list of cases turns on.
const MOST_SPLITS: usize = 2;

/// What tells cases apart, in the order in which the trade asks; what is not named comes after it.
const ORDER: [Var; 8] = [
    Var::Known(Fact::LampCommanded),
    Var::Known(Fact::GrossWeight),
    Var::Known(Fact::Visit),
    Var::Known(Fact::Area),
    Var::Known(Fact::Class),
    Var::Known(Fact::Fuel),
    Var::Known(Fact::ModelYear),
    Var::Known(Fact::Purpose),
];

/// A condition that tells some vehicles from others.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Split {
    /// What it is about.
    pub var: Var,
    /// In words.
    pub text: String,
    /// The classes of values that meet it.
    pub classes: Vec<Cell>,
    /// Texts that other classes name: a class of all other texts holds none of them.
    named_elsewhere: Vec<String>,
}

impl Split {
    /// The fact that it is about, if it is about one.
    #[must_use]
    pub fn fact(&self, flat: &Flat) -> Option<FactRef<usize>> {
        fact_of(flat, &self.var)
    }

    /// Whether a vehicle may meet it; a question may always be read so.
    #[must_use]
    pub fn may_hold(&self, flat: &Flat, given: &Given) -> bool {
        let Some(possible) = self.fact(flat).and_then(|fact| given.possible(&fact).cloned()) else {
            return true;
        };
        self.classes.iter().any(|class| match (&possible, &class.members) {
            (Possible::Text(Some(text)), Members::Texts { named, others: false }) => named.contains(text),
            (Possible::Text(Some(text)), Members::Texts { .. }) => !self.named_elsewhere.contains(text),
            _ => crate::diagram::allowed::fits(&possible, class),
        })
    }
}

fn fact_of(flat: &Flat, var: &Var) -> Option<FactRef<usize>> {
    match var {
        Var::Known(fact) => Some(FactRef::Known(*fact)),
        Var::Present(fact) | Var::Holds(fact, _) | Var::Member(fact, _) => Some(FactRef::Known(*fact)),
        Var::Listed => Some(FactRef::Known(Fact::Make)),
        Var::Declared { .. } => {
            (0..flat.facts.len()).find(|place| Var::declared(flat, *place).as_ref() == Some(var)).map(FactRef::Declared)
        }
        Var::Question { .. } | Var::UnreadCodes(_) | Var::UnreadLimit { .. } => None,
    }
}

/// An answer for a set of vehicles, and what it accepts.
#[derive(Debug, Clone, PartialEq, Eq)]
struct Answer {
    end: End,
    accept: Accept,
}

/// The answers for all vehicles of a case.
pub(super) fn branches(search: &Search<'_>, all: &Case, presumed: &[Proviso]) -> Vec<Branch> {
    let tries = [false, true].map(|no_codes| taken(search.flat, &all.given, presumed, no_codes));
    let mut best: Option<Vec<Branch>> = None;
    for provisos in tries {
        let found = match settled(search, all, &provisos, &[]) {
            Ok(found) => found,
            Err(Stopped) => vec![branch(search, all, &provisos, &[], End::TooMany, Accept::Goal)],
        };
        let is_answered = found.iter().all(|branch| !is_open(&branch.end));
        let is_better = is_answered || best.is_none();
        if is_better {
            best = Some(found);
        }
        if is_answered {
            break;
        }
    }
    best.unwrap_or_default()
}

fn is_open(end: &End) -> bool {
    matches!(end, End::FindOut { .. } | End::TooMany | End::Nothing)
}

/// Steps that every branch begins with: all repairs and drives that all first plans share.
pub(super) fn common(branches: &[Branch]) -> Vec<Action> {
    let plans: Option<Vec<&[Action]>> = branches
        .iter()
        .map(|branch| match &branch.end {
            End::Plans(plans) => plans.first().map(|plan| plan.steps.as_slice()),
            _ => None,
        })
        .collect();
    match plans.as_deref() {
        Some([first, others @ ..]) if !others.is_empty() => {
            first.iter().copied().filter(|step| others.iter().all(|plan| plan.contains(step))).collect()
        }
        _ => Vec::new(),
    }
}

fn with(case: &Case, provisos: &[Proviso]) -> Case {
    let mut case = case.clone();
    for proviso in provisos {
        if let Some(given) = proviso.put(&case.given) {
            case.given = given;
        }
    }
    case
}

/// One answer for all vehicles that meet the provisos, else a list of cases, else what to find out.
fn settled(search: &Search<'_>, all: &Case, provisos: &[Proviso], when: &[Split]) -> Result<Vec<Branch>, Stopped> {
    let case = with(all, provisos);
    if let Some(answer) = answer(search, &case, Accept::Goal)? {
        return Ok(vec![branch(search, all, provisos, when, answer.end, answer.accept)]);
    }
    if when.len() < MOST_SPLITS
        && let Some(list) = split(search, all, &case, provisos, when)?
    {
        return Ok(list);
    }
    if let Some(answer) = answer(search, &case, Accept::OrElsewhere)? {
        return Ok(vec![branch(search, all, provisos, when, answer.end, answer.accept)]);
    }
    let end = find_out(search, &case)?;
    Ok(vec![branch(search, all, provisos, when, end, Accept::Goal)])
}

/// What holds of every vehicle of a case.
fn answer(search: &Search<'_>, case: &Case, accept: Accept) -> Result<Option<Answer>, Stopped> {
    let found = |end| Ok(Some(Answer { end, accept }));
    let now = search.verdicts(case);
    if now.is_empty() {
        return Ok(None);
    }
    if now.iter().all(|verdict| *verdict == Verdict::NotSubject) {
        return found(End::NotAsked);
    }
    let elsewhere = |verdict: &Verdict| {
        *verdict == Verdict::NotSubject || (verdict.class(search.flat) == Class::OtherTest && !search.is_fine(*verdict))
    };
    let is_elsewhere = now.iter().all(elsewhere);
    if !is_elsewhere && now.iter().all(|verdict| search.is_accepted(*verdict, accept)) {
        return found(End::Already);
    }
    let plans = search.cheapest(case, Accept::Goal)?;
    if !plans.is_empty() {
        return Ok(Some(Answer { end: End::Plans(plans), accept: Accept::Goal }));
    }
    let helps = search.least_for_any(case)?.is_some();
    match (helps, is_elsewhere) {
        (false, true) => return found(End::OtherTest),
        (true, _) if accept == Accept::Goal => return Ok(None),
        (_, _) => {}
    }
    // Where nothing leads to the goal, what leads to another test is worth doing.
    let plans = search.cheapest(case, Accept::OrElsewhere)?;
    match (plans.is_empty(), helps) {
        (false, _) => Ok(Some(Answer { end: End::Plans(plans), accept: Accept::OrElsewhere })),
        (true, false) => found(End::Nothing),
        (true, true) => Ok(None),
    }
}

/// Whether an answer holds of the vehicles of a case; of plans, those that do.
fn holds(search: &Search<'_>, case: &Case, end: &End, accept: Accept) -> bool {
    let now = || search.verdicts(case);
    match end {
        End::Already => search.reached(case, accept),
        End::Plans(plans) => plans.first().is_some_and(|plan| search.reached(&case.after(&plan.steps), accept)),
        End::NotAsked => now().iter().all(|verdict| *verdict == Verdict::NotSubject),
        End::OtherTest | End::Nothing => {
            let all_same = *end == End::Nothing
                || now()
                    .iter()
                    .all(|verdict| *verdict == Verdict::NotSubject || verdict.class(search.flat) == Class::OtherTest);
            all_same && matches!(search.least_for_any(case), Ok(None))
        }
        // That no vehicle gets there for less.
        End::FindOut { least: Some(plan), .. } => {
            let least = search.least_for_any(case);
            matches!(least, Ok(Some(least)) if least.cost == plan.cost)
        }
        End::FindOut { least: None, .. } | End::TooMany => true,
    }
}

/// A branch with no proviso more than it needs.
fn branch(
    search: &Search<'_>,
    all: &Case,
    provisos: &[Proviso],
    when: &[Split],
    mut end: End,
    accept: Accept,
) -> Branch {
    let mut needed = provisos.to_vec();
    // What is ordinary is dropped first, so that what somebody can look at stays.
    for place in (0..needed.len()).rev() {
        let mut fewer = needed.clone();
        fewer.remove(place);
        if holds(search, &with(all, &fewer), &end, accept) {
            needed = fewer;
        }
    }
    let case = with(all, &needed);
    if let End::Plans(plans) = &mut end {
        plans.retain(|plan| search.reached(&case.after(&plan.steps), accept));
        if let Some(first) = plans.first_mut() {
            first.choice = choice(search, &case, &first.steps, accept);
        }
    }
    let after = match &end {
        End::Plans(plans) => plans.first().map_or(case.clone(), |plan| case.after(&plan.steps)),
        _ => case.clone(),
    };
    let now = search.verdicts(&case).into_iter().collect();
    let then: BTreeSet<Verdict> = search.verdicts(&after).into_iter().collect();
    let goes_elsewhere =
        then.iter().any(|verdict| verdict.class(search.flat) == Class::OtherTest && !search.is_fine(*verdict));
    let never_the_goal = !then.iter().any(|verdict| search.is_fine(*verdict));
    let not_now = not_now(search, all, provisos);
    let ordinary = with(all, provisos).given;
    Branch {
        when: when.to_vec(),
        provisos: needed,
        end,
        now,
        then,
        not_now,
        goes_elsewhere,
        never_the_goal,
        given: case.given,
        ordinary,
    }
}

/// The fewest provisos under which no vehicle has the goal as it stands.
fn not_now(search: &Search<'_>, all: &Case, provisos: &[Proviso]) -> Option<Vec<Proviso>> {
    let none =
        |provisos: &[Proviso]| !search.verdicts(&with(all, provisos)).iter().any(|verdict| search.is_fine(*verdict));
    if !none(provisos) {
        return None;
    }
    let mut needed = provisos.to_vec();
    for place in (0..needed.len()).rev() {
        let mut fewer = needed.clone();
        fewer.remove(place);
        if none(&fewer) {
            needed = fewer;
        }
    }
    Some(needed)
}

/// Levels that cases may be told apart by, in the order of the trade, with the classes that are left.
fn candidates(search: &Search<'_>, case: &Case, when: &[Split]) -> Vec<(usize, Vec<usize>)> {
    let space = &search.compiled.compiler.space;
    let support = search.compiled.compiler.forest.support(search.nodes.ruled);
    let rows = case.allowed(search.compiled, search.flat);
    let mut found: Vec<(usize, usize, Vec<usize>)> = Vec::new();
    for (place, level) in space.levels.iter().enumerate() {
        let is_one = match &level.var {
            Var::Known(Fact::Monitor(_)) => false,
            Var::Known(_) | Var::Declared { .. } | Var::Question { .. } => true,
            _ => false,
        };
        let left: Vec<usize> = rows
            .get(place)
            .map_or(&[][..], Vec::as_slice)
            .iter()
            .enumerate()
            .filter(|(_, open)| **open)
            .map(|(class, _)| class)
            .collect();
        if !is_one || left.len() < 2 || !support.contains(&place) || when.iter().any(|split| split.var == level.var) {
            continue;
        }
        let rank = ORDER.iter().position(|var| *var == level.var).unwrap_or(ORDER.len());
        found.push((rank, place, left));
    }
    found.sort();
    found.into_iter().map(|(_, place, left)| (place, left)).collect()
}

/// Classes of a level with one answer.
struct Group {
    classes: BTreeSet<usize>,
    end: Option<Answer>,
}

fn groups(search: &Search<'_>, case: &Case, level: usize, left: &[usize]) -> Result<Vec<Group>, Stopped> {
    let mut groups: Vec<Group> = Vec::new();
    for class in left {
        let one = case.with(search.compiled, search.flat, level, &BTreeSet::from([*class]));
        if search.verdicts(&one).is_empty() {
            continue;
        }
        let end = answer(search, &one, Accept::Goal)?;
        match groups.iter_mut().find(|group| group.end == end) {
            Some(group) => {
                group.classes.insert(*class);
            }
            None => groups.push(Group { classes: BTreeSet::from([*class]), end }),
        }
    }
    Ok(groups)
}

/// How good a list of cases is: how many groups it leaves open, whether it turns on a question, how many groups it has.
type Score = (usize, bool, usize);

/// The shortest list of cases by one fact, and by a second one for the vehicles that the first leaves open.
fn split(
    search: &Search<'_>,
    all: &Case,
    case: &Case,
    provisos: &[Proviso],
    when: &[Split],
) -> Result<Option<Vec<Branch>>, Stopped> {
    let mut best: Option<(Score, usize, Vec<Group>)> = None;
    for (level, left) in candidates(search, case, when) {
        let groups = groups(search, case, level, &left)?;
        let open = groups.iter().filter(|group| group.end.is_none()).count();
        if groups.len() < 2 || groups.len() + when.len() > MOST_BRANCHES || open == groups.len() {
            continue;
        }
        // A fact can be found out; a question of the text cannot.
        let is_question =
            matches!(search.compiled.compiler.space.levels.get(level).map(|it| &it.var), Some(Var::Question { .. }));
        let score = (open, is_question, groups.len());
        if best.as_ref().is_none_or(|(least, _, _)| score < *least) {
            best = Some((score, level, groups));
        }
    }
    let Some((_, level, groups)) = best else { return Ok(None) };
    let space = &search.compiled.compiler.space;
    let mut list = Vec::new();
    for group in groups {
        let Some(one) = space.levels.get(level) else { continue };
        let others = one.classes.iter().enumerate().filter(|(class, _)| !group.classes.contains(class));
        let named_elsewhere = others.flat_map(|(_, class)| match &class.members {
            Members::Texts { named, .. } => named.clone(),
            _ => Vec::new(),
        });
        let this = Split {
            named_elsewhere: named_elsewhere.collect(),
            var: one.var.clone(),
            text: in_words(search, level, &group.classes),
            classes: group.classes.iter().filter_map(|class| one.classes.get(*class).cloned()).collect(),
        };
        let when = [when, &[this]].concat();
        let inside = all.with(search.compiled, search.flat, level, &group.classes);
        // What is taken may not go with this case: then it is left away here.
        let fitting: Vec<Proviso> = fitting(&inside, provisos);
        match group.end {
            Some(found) => list.push(branch(search, &inside, &fitting, &when, found.end, found.accept)),
            None => list.extend(settled(search, &inside, &fitting, &when)?),
        }
    }
    Ok((list.len() <= MOST_BRANCHES).then_some(list))
}

/// The most areas that are named one by one.
const MOST_NAMED: usize = 6;

/// A case in words: a question as one, areas by their names.
pub(super) fn in_words(search: &Search<'_>, level: usize, classes: &BTreeSet<usize>) -> String {
    let space = &search.compiled.compiler.space;
    let Some(one) = space.levels.get(level) else { return String::new() };
    let told = describe(space, level, classes);
    match &one.var {
        Var::Question { id, .. } => told.replacen(&format!("{id} read as "), &format!("`{id}` is read as "), 1),
        Var::Known(Fact::Area) => {
            let named = |is_in: bool| -> Vec<String> {
                let those = one.classes.iter().enumerate().filter(|(class, _)| classes.contains(class) == is_in);
                let names = those.flat_map(|(_, class)| match &class.members {
                    Members::Texts { named, .. } => named.clone(),
                    _ => Vec::new(),
                });
                names.map(|name| search.flat.areas.shown(&name).to_owned()).collect()
            };
            let is_rest = one.classes.iter().enumerate().any(|(class, it)| {
                classes.contains(&class) && matches!(it.members, Members::Texts { others: true, .. })
            });
            let names = named(!is_rest);
            match (is_rest, names.as_slice()) {
                (_, []) => told,
                (true, names) if names.len() > MOST_NAMED => {
                    format!("area is none of the {} that the program names", names.len())
                }
                (true, names) => format!("area is not {}", or_list(names)),
                (false, [first, second, .., last]) if names.len() > MOST_NAMED => {
                    format!("area is one of {} ({first}, {second}, … {last})", names.len())
                }
                (false, names) => format!("area is {}", or_list(names)),
            }
        }
        _ => told,
    }
}

/// The provisos that go with a case, taken in order.
fn fitting(case: &Case, provisos: &[Proviso]) -> Vec<Proviso> {
    let mut now = case.given.clone();
    let mut list = Vec::new();
    for proviso in provisos {
        if let Some(with) = proviso.put(&now) {
            now = with;
            list.push(proviso.clone());
        }
    }
    list
}

/// What turns the answer, what settles most first.
fn find_out(search: &Search<'_>, case: &Case) -> Result<End, Stopped> {
    let space = &search.compiled.compiler.space;
    let mut found: Vec<((usize, usize), Var)> = Vec::new();
    for (level, left) in candidates(search, case, &[]) {
        let groups = groups(search, case, level, &left)?;
        let open: usize = groups.iter().filter(|group| group.end.is_none()).map(|group| group.classes.len()).sum();
        let Some(one) = space.levels.get(level) else { continue };
        if open < left.len() {
            found.push(((open * 1000 / left.len(), found.len()), one.var.clone()));
        }
    }
    found.sort_by_key(|(score, _)| *score);
    let support = search.compiled.compiler.forest.support(search.nodes.ruled);
    let rows = case.allowed(search.compiled, search.flat);
    let is_open = |level: usize| rows.get(level).is_some_and(|row| row.iter().filter(|open| **open).count() > 1);
    let others = space.levels.iter().enumerate().filter(|(level, _)| support.contains(level) && is_open(*level));
    let vars = found.into_iter().map(|(_, var)| var).chain(others.map(|(_, level)| level.var.clone()));
    let (mut facts, mut questions) = (Vec::new(), Vec::new());
    for var in vars {
        if let Some(fact) = fact_of(search.flat, &var).filter(|fact| !facts.contains(fact)) {
            facts.push(fact);
        }
        if let Var::Question { id, .. } = &var {
            let place = search.flat.questions.iter().position(|question| question.id == *id);
            questions.extend(place.filter(|place| !questions.contains(place)));
        }
    }
    let least = search.least_for_any(case)?.filter(|plan| !plan.steps.is_empty());
    Ok(End::FindOut { facts, questions, least })
}
