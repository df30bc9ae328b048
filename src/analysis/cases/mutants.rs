//! Programs that differ from a flat program in one place: the mistakes that a set of vectors must show. Every place is
//! taken, none is drawn by chance: a test negated; a bound moved by one reading unit either way; a part of a condition
//! left out; a line, a row, a covering block, an excuse, a rule of the count, a relabelling, a *gives way*, a presumption,
//! a rule of when a vehicle is due, a consequence left out; an outcome moved one step on the ladder; the count of a limit
//! moved by one, its list of monitors left out; and in lists (`named`) a word or monitor too few or too many, a run of
//! codes one longer or shorter. What changes the program as a whole (dates, readings) is in `suite`.

use super::list_mutants;
use crate::model::{Date, Fact, FactType, spec};
use crate::program::block::{Allowance, DeclaredType};
use crate::program::{Condition, FactRef, Flat, Test};

/// Which condition of a program.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Site {
    /// A covering block.
    Covers(usize),
    /// A row that leaves vehicles out.
    LeftOut(usize),
    /// Whom a line concerns.
    Concerns(usize),
    /// Where a line is unmet.
    Unmet(usize),
    /// Under which reading a line gives way to another.
    GivesWay(usize, usize),
    /// A relabelling.
    Becomes(usize),
    /// A named condition.
    Finding(usize),
    /// A row of a limit.
    LimitRow(usize, usize),
    /// A rule of the count.
    Count(usize),
    /// An excuse.
    Excuse(usize),
    /// A row of a table.
    TableRow(usize, usize),
    /// A rule of when a vehicle is due.
    Due(usize),
    /// Something that follows a verdict.
    Consequence(usize),
    /// A presumption.
    Presumption(usize),
    /// A group of codes.
    Group(usize),
    /// No condition: the dates of a block, the reading of a question, the value of an option.
    Text,
}

/// What was changed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Change {
    /// A test was negated: the test, and its place among the tests of its condition.
    Negated(usize, Test<usize>),
    /// A bound was moved by one reading unit.
    Shifted,
    /// A part of a condition was left out.
    PartDropped,
    /// A line, row, block, rule or excuse was left out.
    Dropped,
    /// A line no longer gives way to another.
    GivesWayDropped,
    /// An outcome was moved on the ladder.
    OutcomeMoved,
    /// What a limit allows was changed.
    LimitChanged,
    /// A word of a test was left out of its list.
    WordChanged,
    /// A monitor was left out of a list or added to it.
    MonitorChanged,
    /// A run of codes was made one longer or shorter, or left out.
    CodesChanged,
    /// A presumption was left out.
    PresumptionDropped,
    /// A question was read, or an option taken, another way.
    OtherReading,
    /// A block came into force or ended a day earlier or later: the one day on which it tells.
    DateMoved(Date),
}

impl Change {
    /// The day on which alone the change tells; `None`: on each day of its epoch.
    #[must_use]
    pub fn day(&self) -> Option<Date> {
        match self {
            Change::DateMoved(day) => Some(*day),
            _ => None,
        }
    }

    /// Whether it changes a list that the program names.
    #[must_use]
    pub fn is_of_a_list(&self) -> bool {
        matches!(self, Change::WordChanged | Change::MonitorChanged | Change::CodesChanged)
    }
}

/// One change to a program.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Mutant {
    /// In words: `clause lamp, condition: test 1 negated`.
    pub what: String,
    /// Its place in the text.
    pub site: Site,
    /// What.
    pub change: Change,
    /// The changed program.
    pub flat: Flat,
}

/// Every change to one place of the program, in a fixed order.
#[must_use]
pub fn mutants(flat: &Flat) -> Vec<Mutant> {
    let mut all = Vec::new();
    for site in sites(flat) {
        let Some(condition) = condition(flat, site) else { continue };
        for (change, words, new) in variants(flat, condition, &mut 0) {
            add(&mut all, flat, site, change, &words, |flat| put(flat, site, new));
        }
        if !matches!(site, Site::GivesWay(..) | Site::Finding(_) | Site::Concerns(_)) {
            add(&mut all, flat, site, Change::Dropped, "left out", |flat| put(flat, site, Condition::never()));
        }
    }
    for (place, line) in flat.lines.iter().enumerate() {
        let site = Site::Unmet(place);
        for outcome in steps(line.outcome, flat.outcomes.len()) {
            add(&mut all, flat, site, Change::OutcomeMoved, &moved(flat, outcome), |flat| {
                if let Some(line) = flat.lines.get_mut(place) {
                    line.outcome = outcome;
                }
            });
        }
        for at in 0..line.gives_way.len() {
            let site = Site::GivesWay(place, at);
            add(&mut all, flat, site, Change::GivesWayDropped, "left out", |flat| put(flat, site, Condition::never()));
        }
    }
    for (place, row) in flat.left_out.iter().enumerate() {
        let others: Vec<Option<usize>> = match row.outcome {
            None => vec![(flat.outcomes.len() > 1).then_some(1)],
            Some(outcome) => steps(outcome, flat.outcomes.len()).into_iter().map(Some).chain([None]).collect(),
        };
        for outcome in others.into_iter().filter(|outcome| *outcome != row.outcome) {
            let words = outcome.map_or("leads to not-subject".to_owned(), |outcome| moved(flat, outcome));
            add(&mut all, flat, Site::LeftOut(place), Change::OutcomeMoved, &words, |flat| {
                if let Some(row) = flat.left_out.get_mut(place) {
                    row.outcome = outcome;
                }
            });
        }
    }
    for (place, rule) in flat.becomes.iter().enumerate() {
        for outcome in steps(rule.to, flat.outcomes.len()) {
            add(&mut all, flat, Site::Becomes(place), Change::OutcomeMoved, &moved(flat, outcome), |flat| {
                if let Some(rule) = flat.becomes.get_mut(place) {
                    rule.to = outcome;
                }
            });
        }
    }
    limits(flat, &mut all);
    list_mutants::lists(flat, &mut all);
    for place in 0..flat.presumptions.len() {
        let site = Site::Presumption(place);
        add(&mut all, flat, site, Change::PresumptionDropped, "left out", |flat| {
            flat.presumptions.remove(place);
        });
    }
    all
}

fn limits(flat: &Flat, all: &mut Vec<Mutant>) {
    for (place, limit) in flat.limits.iter().enumerate() {
        for (at, row) in limit.rows.iter().enumerate() {
            for (words, allowance) in allowances(&row.limit).into_iter().chain(list_mutants::only(&row.limit)) {
                add(all, flat, Site::LimitRow(place, at), Change::LimitChanged, &words, |flat| {
                    if let Some(row) = flat.limits.get_mut(place).and_then(|limit| limit.rows.get_mut(at)) {
                        row.limit = allowance;
                    }
                });
            }
        }
    }
}

fn allowances(limit: &Allowance) -> Vec<(String, Allowance)> {
    match limit {
        Allowance::AtMost { count, only } => {
            let counts = [count - 1, count + 1].into_iter().filter(|count| *count >= 0);
            let mut new: Vec<(String, Allowance)> =
                counts.map(|count| (format!("allows {count}"), Allowance::AtMost { count, only: *only })).collect();
            if only.is_some() {
                new.push(("allows any monitor".to_owned(), Allowance::AtMost { count: *count, only: None }));
            }
            new
        }
        Allowance::AtLeastComplete(count) => [count - 1, count + 1]
            .into_iter()
            .filter(|count| *count >= 0)
            .map(|count| (format!("asks for {count}"), Allowance::AtLeastComplete(count)))
            .collect(),
        Allowance::NotRead => Vec::new(),
    }
}

pub(super) fn add(
    all: &mut Vec<Mutant>,
    flat: &Flat,
    site: Site,
    change: Change,
    words: &str,
    edit: impl FnOnce(&mut Flat),
) {
    let mut new = flat.clone();
    edit(&mut new);
    all.push(Mutant { what: format!("{}: {words}", name(flat, site)), site, change, flat: new });
}

fn steps(outcome: usize, outcomes: usize) -> Vec<usize> {
    outcome.checked_sub(1).into_iter().chain([outcome + 1]).filter(|outcome| *outcome < outcomes).collect()
}

fn moved(flat: &Flat, outcome: usize) -> String {
    format!("leads to {}", flat.outcomes.get(outcome).map_or("", |outcome| outcome.name.as_str()))
}

/// Every condition of the program, in its order.
#[must_use]
pub fn sites(flat: &Flat) -> Vec<Site> {
    let mut sites: Vec<Site> = (0..flat.covers.len()).map(Site::Covers).collect();
    sites.extend((0..flat.left_out.len()).map(Site::LeftOut));
    for (place, line) in flat.lines.iter().enumerate() {
        sites.extend([Site::Concerns(place), Site::Unmet(place)]);
        sites.extend((0..line.gives_way.len()).map(|at| Site::GivesWay(place, at)));
    }
    sites.extend((0..flat.becomes.len()).map(Site::Becomes));
    sites.extend((0..flat.findings.len()).map(Site::Finding));
    for (place, limit) in flat.limits.iter().enumerate() {
        sites.extend((0..limit.rows.len()).map(|at| Site::LimitRow(place, at)));
    }
    sites.extend((0..flat.counts.len()).map(Site::Count));
    sites.extend((0..flat.excuses.len()).map(Site::Excuse));
    for (place, table) in flat.tables.iter().enumerate() {
        sites.extend((0..table.rows.len()).map(|at| Site::TableRow(place, at)));
    }
    let due = flat.due.iter().enumerate().filter(|(_, rule)| rule.every.is_none());
    sites.extend(due.map(|(place, _)| Site::Due(place)));
    sites.extend((0..flat.consequences.len()).map(Site::Consequence));
    sites
}

/// The condition at a place.
#[must_use]
pub fn condition(flat: &Flat, site: Site) -> Option<&Condition<usize>> {
    match site {
        Site::Covers(at) => flat.covers.get(at).map(|it| &it.item),
        Site::LeftOut(at) => flat.left_out.get(at).map(|it| &it.condition),
        Site::Concerns(at) => flat.lines.get(at).map(|it| &it.concerns),
        Site::Unmet(at) => flat.lines.get(at).map(|it| &it.unmet_where),
        Site::GivesWay(at, to) => flat.lines.get(at)?.gives_way.get(to).map(|it| &it.1),
        Site::Becomes(at) => flat.becomes.get(at).map(|it| &it.condition),
        Site::Finding(at) => flat.findings.get(at).map(|it| &it.1),
        Site::LimitRow(at, row) => flat.limits.get(at)?.rows.get(row).map(|it| &it.condition),
        Site::Count(at) => flat.counts.get(at).map(|it| &it.condition),
        Site::Excuse(at) => flat.excuses.get(at).map(|it| &it.condition),
        Site::TableRow(at, row) => flat.tables.get(at)?.rows.get(row).map(|it| &it.condition),
        Site::Due(at) => flat.due.get(at).map(|it| &it.condition),
        Site::Consequence(at) => flat.consequences.get(at).map(|it| &it.item.condition),
        Site::Presumption(_) | Site::Group(_) | Site::Text => None,
    }
}

fn put(flat: &mut Flat, site: Site, new: Condition<usize>) {
    let slot = match site {
        Site::Covers(at) => flat.covers.get_mut(at).map(|it| &mut it.item),
        Site::LeftOut(at) => flat.left_out.get_mut(at).map(|it| &mut it.condition),
        Site::Concerns(at) => flat.lines.get_mut(at).map(|it| &mut it.concerns),
        Site::Unmet(at) => flat.lines.get_mut(at).map(|it| &mut it.unmet_where),
        Site::GivesWay(at, to) => {
            flat.lines.get_mut(at).and_then(|line| line.gives_way.get_mut(to)).map(|it| &mut it.1)
        }
        Site::Becomes(at) => flat.becomes.get_mut(at).map(|it| &mut it.condition),
        Site::Finding(at) => flat.findings.get_mut(at).map(|it| &mut it.1),
        Site::LimitRow(at, row) => {
            flat.limits.get_mut(at).and_then(|limit| limit.rows.get_mut(row)).map(|it| &mut it.condition)
        }
        Site::Count(at) => flat.counts.get_mut(at).map(|it| &mut it.condition),
        Site::Excuse(at) => flat.excuses.get_mut(at).map(|it| &mut it.condition),
        Site::TableRow(at, row) => {
            flat.tables.get_mut(at).and_then(|table| table.rows.get_mut(row)).map(|it| &mut it.condition)
        }
        Site::Due(at) => flat.due.get_mut(at).map(|it| &mut it.condition),
        Site::Consequence(at) => flat.consequences.get_mut(at).map(|it| &mut it.item.condition),
        Site::Presumption(_) | Site::Group(_) | Site::Text => None,
    };
    if let Some(slot) = slot {
        *slot = new;
    }
}

/// A place in words.
#[must_use]
pub fn name(flat: &Flat, site: Site) -> String {
    let clause = |at: usize| flat.lines.get(at).map_or("", |line| line.clause.as_str());
    match site {
        Site::Covers(at) => format!("covering block {}", at + 1),
        Site::LeftOut(at) => format!("row {} of vehicles left out", at + 1),
        Site::Concerns(at) => format!("clause {}, line {}, whom it concerns", clause(at), at + 1),
        Site::Unmet(at) => format!("clause {}, line {}", clause(at), at + 1),
        Site::GivesWay(at, to) => {
            let other = flat.lines.get(at).and_then(|line| line.gives_way.get(to)).map_or(0, |it| it.0);
            format!("clause {}, line {}, giving way to {}", clause(at), at + 1, clause(other))
        }
        Site::Becomes(at) => format!("relabelling {}", at + 1),
        Site::Finding(at) => format!("finding {}", flat.findings.get(at).map_or("", |it| it.0.as_str())),
        Site::LimitRow(at, row) => {
            format!("limit {}, row {}", flat.limits.get(at).map_or("", |it| it.id.as_str()), row + 1)
        }
        Site::Count(at) => format!("rule {} of the count", at + 1),
        Site::Excuse(at) => format!("excuse {}", at + 1),
        Site::TableRow(at, row) => {
            format!("table {}, row {}", flat.tables.get(at).map_or("", |it| it.id.as_str()), row + 1)
        }
        Site::Due(at) => format!("rule {} of when a vehicle is due", at + 1),
        Site::Consequence(at) => {
            format!("{} {}", flat.consequences.get(at).map_or("", |it| it.item.kind.word()), at + 1)
        }
        Site::Presumption(at) => {
            let (fact, shown) = flat
                .presumptions
                .get(at)
                .map_or((String::new(), ""), |it| (in_words(flat, [it.fact.clone()]).concat(), it.shown.as_str()));
            format!("presumption {}: {fact} {shown}", at + 1)
        }
        Site::Group(at) => format!("code group {}", flat.groups.get(at).map_or("", |it| it.0.as_str())),
        Site::Text => String::new(),
    }
}

type Variant = (Change, String, Condition<usize>);

/// The condition with one change, for every change there is.
fn variants(flat: &Flat, condition: &Condition<usize>, next: &mut usize) -> Vec<Variant> {
    match condition {
        Condition::All(parts) => parts_changed(flat, parts, next, Condition::All),
        Condition::Any(parts) => parts_changed(flat, parts, next, Condition::Any),
        Condition::Not(inner) => variants(flat, inner, next)
            .into_iter()
            .map(|(change, words, new)| (change, words, Condition::Not(Box::new(new))))
            .collect(),
        Condition::Test(test) => {
            let place = *next;
            *next += 1;
            let negated = Condition::Not(Box::new(condition.clone()));
            let words = format!("test {} negated", place + 1);
            let mut all = vec![(Change::Negated(place, test.clone()), words, negated)];
            let moved = shifts(flat, test).into_iter().map(|(words, moved)| (Change::Shifted, words, moved));
            for (change, words, new) in moved.chain(list_mutants::tests(flat, test)) {
                all.push((change, format!("test {}, {words}", place + 1), Condition::Test(new)));
            }
            all
        }
    }
}

fn parts_changed(
    flat: &Flat,
    parts: &[Condition<usize>],
    next: &mut usize,
    joined: fn(Vec<Condition<usize>>) -> Condition<usize>,
) -> Vec<Variant> {
    let mut all = Vec::new();
    for (place, part) in parts.iter().enumerate() {
        let others = |new: Option<Condition<usize>>| {
            let before = parts.iter().take(place).cloned();
            before.chain(new).chain(parts.iter().skip(place + 1).cloned()).collect::<Vec<_>>()
        };
        for (change, words, new) in variants(flat, part, next) {
            all.push((change, words, joined(others(Some(new)))));
        }
        all.push((Change::PartDropped, format!("part {} left out", place + 1), joined(others(None))));
    }
    all
}

/// One reading unit of a fact, in base units.
fn unit(flat: &Flat, fact: &FactRef<usize>) -> i64 {
    let scale = match fact {
        FactRef::Known(fact) => match spec(*fact).kind {
            FactType::Number { unit, .. } => unit.scale(),
            _ => 1,
        },
        FactRef::Declared(place) => match flat.facts.get(*place).map(|fact| &fact.kind) {
            Some(DeclaredType::Number { unit, .. }) => unit.scale(),
            _ => 1,
        },
    };
    scale.max(1)
}

type Bounds = (Option<i64>, Option<i64>);

fn shifts(flat: &Flat, test: &Test<usize>) -> Vec<(String, Test<usize>)> {
    let moved = |least: Option<i64>, most: Option<i64>, by: i64, new: &dyn Fn(Bounds) -> Test<usize>| {
        let mut all = Vec::new();
        for (words, step) in [("lower", -by), ("higher", by)] {
            if let Some(bound) = least {
                all.push((format!("its least one {words}"), new((bound.checked_add(step), most))));
            }
            if let Some(bound) = most {
                all.push((format!("its most one {words}"), new((least, bound.checked_add(step)))));
            }
        }
        all
    };
    match test {
        Test::Number { fact, least, most } => {
            moved(*least, *most, unit(flat, fact), &|(least, most)| Test::Number { fact: fact.clone(), least, most })
        }
        Test::Count { states, least, most } => {
            moved(*least, *most, 1, &|(least, most)| Test::Count { states: *states, least, most })
        }
        Test::CountOf { monitors, states, least, most } => moved(*least, *most, 1, &|(least, most)| Test::CountOf {
            monitors: *monitors,
            states: *states,
            least,
            most,
        }),
        _ => Vec::new(),
    }
}

/// The facts that a test asks, by path; what it asks through limits and tables included.
#[must_use]
pub fn facts_in_words(flat: &Flat, test: &Test<usize>) -> Vec<String> {
    in_words(flat, crate::program::given::facts_of(flat, &Condition::Test(test.clone())))
}

/// Facts by path; of several monitors that they are monitors.
pub(super) fn in_words(flat: &Flat, facts: impl IntoIterator<Item = FactRef<usize>>) -> Vec<String> {
    let mut monitors = 0;
    let mut keys: Vec<String> = Vec::new();
    for fact in facts {
        match fact {
            FactRef::Known(Fact::Monitor(_)) if monitors > 0 => monitors += 1,
            FactRef::Known(fact) => {
                monitors += usize::from(matches!(fact, Fact::Monitor(_)));
                keys.push(crate::model::table::key_of(fact));
            }
            FactRef::Declared(place) => {
                keys.push(format!("declared.{}", flat.facts.get(place).map_or("", |fact| fact.name.as_str())));
            }
        }
    }
    if monitors > 1 {
        keys.retain(|key| !key.starts_with("monitors."));
        keys.push("monitors".to_owned());
    }
    keys
}
