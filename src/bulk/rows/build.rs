//! A flat program to a graph of conjunctions over what a row answers by itself ([`super::gates`], [`super::atoms`]). The
//! meaning is that of [`crate::program::flat`], part by part; what cannot be said so is refused with a reason.

use super::atoms::{Asked, Atom, OfCodes};
use super::codes::Classes;
use super::exist::FACTS;
use super::gates::{Edge, Gates, Node};
use super::layout::{FIRST_TEXT, Own, VALUES};
use crate::model::{CodeGroup, Fact, FactType, spec};
use crate::program::block::{Allowance, Presumed};
use crate::program::flat::{FlatExcused, FlatRow, Line};
use crate::program::given::may_condition_a_presumption;
use crate::program::unread::moot;
use crate::program::{Condition, FactRef, Flat, How, Quantifier, Test};
use std::collections::{BTreeMap, BTreeSet};

/// Why a flat program is not taken. It is answered by the interpreter and the diagrams all the same.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
#[error("the row engine does not take the program: {0}")]
pub struct Refused(pub &'static str);

/// Masks of the states of monitors.
const STATES: u64 = 7;
const COMPLETE: u64 = 2;
const INCOMPLETE: u64 = 4;

/// A rule of the count.
#[derive(Debug, Clone)]
pub(super) struct Counts {
    pub(super) when: Edge,
    pub(super) monitors: u32,
    pub(super) is_flagged: bool,
}

/// Monitors left out of the count.
#[derive(Debug, Clone)]
pub(super) enum Excuses {
    /// These.
    Monitors(Edge, u32),
    /// Those of the set at a place.
    Earlier(Edge, usize),
    /// Those of rows of a table.
    Rows(Edge, Vec<(Edge, u32)>),
}

/// What is asked for: places of the roots.
#[derive(Debug, Clone, Default)]
pub(super) struct Roots {
    pub(super) covered: Option<Edge>,
    pub(super) left_out: Vec<Edge>,
    pub(super) becomes: Vec<Edge>,
    /// For each topic that was not read: that the text may trouble the vehicle.
    pub(super) unread: Vec<Edge>,
    /// Lines that are unmet and not set aside.
    pub(super) lines: Vec<Edge>,
}

/// The graph of a flat program.
#[derive(Debug)]
pub(super) struct Built {
    pub(super) gates: Gates,
    pub(super) atoms: Vec<Atom>,
    pub(super) counts: Vec<Counts>,
    pub(super) excuses: Vec<Excuses>,
    pub(super) roots: Roots,
    pub(super) codes: Classes,
    pub(super) texts: BTreeMap<usize, BTreeMap<String, i64>>,
    pub(super) own: Vec<Own>,
}

struct Builder<'a> {
    flat: &'a Flat,
    gates: Gates,
    atoms: Vec<Atom>,
    known: BTreeMap<Atom, usize>,
    findings: Vec<Edge>,
    limits: Vec<Step<(Edge, Edge)>>,
    rows: BTreeMap<(usize, usize), Edge>,
    /// Tables that a vehicle may be presumed not to be in.
    unlisted: BTreeSet<usize>,
    codes: Classes,
}

/// How far a part that others refer to has come.
#[derive(Debug, Clone, Copy)]
enum Step<T> {
    Not,
    Entered,
    Done(T),
}

/// The graph of a flat program that is in force.
///
/// # Errors
/// Where the program cannot be said so.
pub(super) fn build(flat: &Flat) -> Result<Built, Refused> {
    if FACTS + flat.facts.len() > VALUES {
        return Err(Refused("it declares too many facts"));
    }
    if flat.lines.len() > 128 {
        return Err(Refused("it has more than 128 lines"));
    }
    let unlisted = flat.presumptions.iter().filter_map(|presumption| match &presumption.value {
        Presumed::NotListed(id) => flat.tables.iter().position(|table| table.id == *id),
        _ => None,
    });
    let mut builder = Builder {
        flat,
        gates: Gates::new(),
        atoms: Vec::new(),
        known: BTreeMap::new(),
        findings: Vec::new(),
        limits: vec![Step::Not; flat.limits.len()],
        rows: BTreeMap::new(),
        unlisted: unlisted.collect(),
        codes: Classes::default(),
    };
    for (_, condition) in &flat.findings {
        let edge = builder.condition(condition)?;
        builder.findings.push(edge);
    }
    let (counts, excuses) = builder.counted()?;
    let roots = builder.roots()?;
    builder.codes.settle();
    let own = flat.facts.iter().map(|fact| Own { name: fact.name.clone(), kind: fact.kind.clone() }).collect();
    let texts = builder.texts();
    Ok(Built { gates: builder.gates, atoms: builder.atoms, counts, excuses, roots, codes: builder.codes, texts, own })
}

impl Builder<'_> {
    fn atom(&mut self, atom: Atom) -> Edge {
        let place = match self.known.get(&atom) {
            Some(place) => *place,
            None => {
                self.atoms.push(atom.clone());
                self.known.insert(atom, self.atoms.len() - 1);
                self.atoms.len() - 1
            }
        };
        self.gates.node(Node::Input(place))
    }

    fn value(&mut self, place: usize, asked: Asked) -> Edge {
        self.atom(Atom::Value(place, asked))
    }

    fn condition(&mut self, condition: &Condition<usize>) -> Result<Edge, Refused> {
        match condition {
            Condition::All(parts) => {
                let parts = parts.iter().map(|part| self.condition(part)).collect::<Result<Vec<_>, _>>()?;
                Ok(self.gates.all(parts))
            }
            Condition::Any(parts) => {
                let parts = parts.iter().map(|part| self.condition(part)).collect::<Result<Vec<_>, _>>()?;
                Ok(self.gates.any(parts))
            }
            Condition::Not(inner) => Ok(self.condition(inner)?.not()),
            Condition::Test(test) => self.test(test),
        }
    }

    fn test(&mut self, test: &Test<usize>) -> Result<Edge, Refused> {
        let constant = |holds: bool| Ok(if holds { Edge::ALWAYS } else { Edge::NEVER });
        match test {
            Test::Word { fact: FactRef::Known(Fact::Monitor(monitor)), words } => {
                let mut state = |at: usize| self.atom(Atom::Monitor(at, monitor.index()));
                Ok(match words & STATES {
                    0 => Edge::NEVER,
                    1 => state(0),
                    2 => state(1),
                    4 => state(2),
                    3 => state(2).not(),
                    5 => state(1).not(),
                    6 => state(0).not(),
                    _ => Edge::ALWAYS,
                })
            }
            Test::Word { fact, words } => Ok(self.value(place_of(fact)?, Asked::Word(*words))),
            Test::Number { fact, least, most } => Ok(self.value(place_of(fact)?, Asked::Number(*least, *most))),
            Test::Text { fact, among, is } => Ok(self.value(fact.place(), Asked::Text(among.clone(), *is))),
            Test::ModelYearIsEven(even) => Ok(self.parity(*even)),
            Test::Dated(none) => match *none {},
            Test::Present { fact, is } => {
                let edge = self.present(*fact);
                Ok(if *is { edge } else { edge.not() })
            }
            Test::Codes { list, how, among } => self.of_codes(*list, *how, *among),
            Test::CodesOfTable { list, how, table } => self.of_table(*list, *how, *table),
            Test::Count { states, least, most } => Ok(self.atom(Atom::Count(*states & STATES, *least, *most))),
            Test::CountOf { monitors, states, least, most } => {
                Ok(self.atom(Atom::CountOf(monitors.bits(), *states & STATES, *least, *most)))
            }
            Test::Pair { quantifier, earlier, states } => Ok(match quantifier {
                Quantifier::Any => self.atom(Atom::Pair(earlier.place(), *states & STATES)),
                Quantifier::No => self.atom(Atom::Pair(earlier.place(), *states & STATES)).not(),
                Quantifier::Every => self.atom(Atom::Pair(earlier.place(), !*states & STATES)).not(),
            }),
            Test::NotMoreIncompleteThanEarlier => Ok(self.atom(Atom::NotMore(Fact::EarlierIncompleteCount.place()))),
            Test::Limit { limit, within } => {
                let (inside, over) = self.limit(*limit)?;
                Ok(if *within { inside } else { over })
            }
            // A finding refers only to those before it.
            Test::Finding(place) => self.findings.get(*place).copied().ok_or(Refused("a finding comes too late")),
            Test::Listed(table) => {
                let rows = self.flat.tables.get(*table).map_or(0, |table| table.rows.len());
                let rows = (0..rows).map(|row| self.row(*table, row)).collect::<Result<Vec<_>, _>>()?;
                Ok(self.gates.any(rows))
            }
            Test::Reading { question, reading } => match self.flat.questions.get(*question) {
                Some(known) => match known.taken {
                    Some(taken) => constant(taken == *reading),
                    None => Ok(self.atom(Atom::Reading(*question, *reading))),
                },
                None => Err(Refused("a question is missing")),
            },
        }
    }

    fn parity(&mut self, even: bool) -> Edge {
        self.value(Fact::ModelYear.place(), if even { Asked::Even } else { Asked::Odd })
    }

    fn present(&mut self, fact: Fact) -> Edge {
        let row = spec(fact);
        match row.kind {
            _ if !row.may_be_absent => Edge::ALWAYS,
            FactType::Codes => self.atom(Atom::Codes(fact.place(), OfCodes::Present)),
            _ => self.value(fact.place(), Asked::Present),
        }
    }

    fn group(&self, place: usize) -> Result<CodeGroup, Refused> {
        self.flat.groups.get(place).map(|(_, group)| group.clone()).ok_or(Refused("a group of codes is missing"))
    }

    fn of_codes(&mut self, list: Fact, how: How, among: Option<usize>) -> Result<Edge, Refused> {
        const TOO_MANY: Refused = Refused("it tells too many groups of codes apart");
        let group = among.map(|place| self.group(place)).transpose()?;
        let asked = match (&group, how) {
            (None, How::Any | How::No) => OfCodes::Some,
            (None, How::Only) => OfCodes::Only(0, 0, false),
            (Some(group), How::Only) => {
                let (_, unread) = self.codes.of_group(group).ok_or(TOO_MANY)?;
                OfCodes::Only(self.codes.out_of(group).ok_or(TOO_MANY)?, unread, true)
            }
            // Of a group without codes no list holds any, whole or not.
            (Some(group), _) if group.ranges.is_empty() && group.unread.is_empty() => {
                return Ok(if how == How::Any { Edge::NEVER } else { self.present(list) });
            }
            (Some(group), _) => {
                let (inside, unread) = self.codes.of_group(group).ok_or(TOO_MANY)?;
                OfCodes::Any(inside, unread)
            }
        };
        let edge = self.atom(Atom::Codes(list.place(), asked));
        let present = self.present(list);
        Ok(if how == How::No { self.gates.all([present, edge.not()]) } else { edge })
    }

    fn of_table(&mut self, list: Fact, how: How, table: usize) -> Result<Edge, Refused> {
        if how == How::Only {
            return Err(Refused("it asks for codes that are on a table alone"));
        }
        let rows: Vec<FlatRow> = self.flat.tables.get(table).map(|table| table.rows.clone()).unwrap_or_default();
        let mut hits = Vec::new();
        for (place, row) in rows.iter().enumerate().filter(|(_, row)| !row.codes.is_empty()) {
            let class = self.codes.of_row(&row.codes).ok_or(Refused("it tells too many lists of codes apart"))?;
            let hit = self.atom(Atom::Codes(list.place(), OfCodes::Any(class, 0)));
            let row = self.row(table, place)?;
            hits.push(self.gates.all([row, hit]));
        }
        let any = self.gates.any(hits);
        let present = self.present(list);
        Ok(if how == How::No { self.gates.all([present, any.not()]) } else { any })
    }

    /// Whether a row of a table is the vehicle's.
    fn row(&mut self, table: usize, place: usize) -> Result<Edge, Refused> {
        if let Some(edge) = self.rows.get(&(table, place)) {
            return Ok(*edge);
        }
        let row = self.flat.tables.get(table).and_then(|table| table.rows.get(place));
        let row = row.ok_or(Refused("a table is missing"))?;
        let mut edge = self.condition(&row.condition)?;
        if self.unlisted.contains(&table) {
            let mut is_single = true;
            row.condition.each_test(&mut |test| is_single &= may_condition_a_presumption(test));
            if !is_single || table >= 64 {
                return Err(Refused("a table that vehicles are presumed not to be in asks more than single facts"));
            }
            edge = self.gates.node(Node::Row(table, edge));
        }
        self.rows.insert((table, place), edge);
        Ok(edge)
    }

    /// Whether the vehicle is within a limit, and whether it is over it.
    fn limit(&mut self, place: usize) -> Result<(Edge, Edge), Refused> {
        let limit = self.flat.limits.get(place).ok_or(Refused("a limit is missing"))?;
        match self.limits.get(place) {
            Some(Step::Done(found)) => return Ok(*found),
            Some(Step::Not) => {}
            _ => return Err(Refused("a limit asks for itself")),
        }
        self.set_limit(place, Step::Entered);
        let (mut within, mut over) = (Vec::new(), Vec::new());
        for row in &limit.rows {
            let holds = self.condition(&row.condition)?;
            let allows = match &row.limit {
                Allowance::AtMost { count, only } => {
                    let number = self.atom(Atom::Count(INCOMPLETE, None, Some(*count)));
                    let only = only.map_or(Edge::ALWAYS, |only| self.atom(Atom::Only(only.bits())));
                    self.gates.all([number, only])
                }
                Allowance::AtLeastComplete(count) => self.atom(Atom::Count(COMPLETE, Some(*count), None)),
                Allowance::NotRead => self.atom(Atom::NotRead),
            };
            within.push(self.gates.all([holds, allows]));
            over.push(self.gates.all([holds, allows.not()]));
        }
        let found = (self.gates.any(within), self.gates.any(over));
        self.set_limit(place, Step::Done(found));
        Ok(found)
    }

    fn set_limit(&mut self, place: usize, step: Step<(Edge, Edge)>) {
        if let Some(slot) = self.limits.get_mut(place) {
            *slot = step;
        }
    }

    fn counted(&mut self) -> Result<(Vec<Counts>, Vec<Excuses>), Refused> {
        let (mut counts, mut excuses) = (Vec::new(), Vec::new());
        for rule in &self.flat.counts {
            let when = self.condition(&rule.condition)?;
            counts.push(Counts { when, monitors: rule.monitors.bits(), is_flagged: rule.unsupported_as_incomplete });
        }
        for excuse in &self.flat.excuses {
            let when = self.condition(&excuse.condition)?;
            excuses.push(match excuse.which {
                FlatExcused::Monitors(set) => Excuses::Monitors(when, set.bits()),
                FlatExcused::EarlierIncomplete => Excuses::Earlier(when, Fact::EarlierIncomplete.place()),
                FlatExcused::Table(table) => {
                    let rows = self.flat.tables.get(table).map(|table| table.rows.as_slice()).unwrap_or_default();
                    let wanted = rows.iter().enumerate().filter(|(_, row)| !row.excused.is_empty());
                    let rows = wanted.map(|(place, row)| Ok((self.row(table, place)?, row.excused.bits())));
                    Excuses::Rows(when, rows.collect::<Result<_, Refused>>()?)
                }
            });
        }
        Ok((counts, excuses))
    }

    fn roots(&mut self) -> Result<Roots, Refused> {
        let flat = self.flat;
        let covers = flat.covers.iter().map(|covers| self.condition(&covers.item)).collect::<Result<Vec<_>, _>>()?;
        let covered = self.gates.any(covers);
        let mut roots = Roots { covered: Some(covered), ..Roots::default() };
        for row in &flat.left_out {
            roots.left_out.push(self.condition(&row.condition)?);
        }
        for rule in &flat.becomes {
            roots.becomes.push(self.condition(&rule.condition)?);
        }
        for silence in flat.silences.iter().filter(|silence| silence.unread) {
            let holds = self.condition(&silence.condition)?;
            let moot = self.condition(&moot(silence.topic))?;
            roots.unread.push(self.gates.all([holds, moot.not()]));
        }
        roots.lines = self.lines()?;
        Ok(roots)
    }

    /// Lines that are unmet and not set aside, those that others give way to first.
    fn lines(&mut self) -> Result<Vec<Edge>, Refused> {
        let flat = self.flat;
        let mut done: Vec<Option<Edge>> = vec![None; flat.lines.len()];
        for _ in 0..=flat.lines.len() {
            let ready = |line: &Line, done: &[Option<Edge>]| {
                line.gives_way.iter().all(|(to, _)| done.get(*to).is_none_or(Option::is_some))
            };
            let Some(place) = flat
                .lines
                .iter()
                .enumerate()
                .find(|(at, line)| done.get(*at) == Some(&None) && ready(line, &done))
                .map(|(at, _)| at)
            else {
                break;
            };
            let Some(line) = flat.lines.get(place) else { break };
            let mut parts = vec![self.condition(&line.concerns)?, self.condition(&line.unmet_where)?];
            for (to, condition) in &line.gives_way {
                let Some(Some(other)) = done.get(*to).copied() else { continue };
                let under = self.condition(condition)?;
                parts.push(self.gates.all([other, under]).not());
            }
            let live = self.gates.all(parts);
            if let Some(slot) = done.get_mut(place) {
                *slot = Some(live);
            }
        }
        done.into_iter().collect::<Option<_>>().ok_or(Refused("lines give way to each other in a circle"))
    }

    /// The texts that are told apart, by the place of the fact.
    fn texts(&self) -> BTreeMap<usize, BTreeMap<String, i64>> {
        let mut found: BTreeMap<usize, BTreeSet<String>> = BTreeMap::new();
        for atom in &self.atoms {
            if let Atom::Value(place, Asked::Text(among, _)) = atom {
                found.entry(*place).or_default().extend(among.iter().cloned());
            }
        }
        let mut named = |fact: &FactRef<usize>, text: &str| {
            if let FactRef::Known(fact) = fact {
                found.entry(fact.place()).or_default().insert(text.to_lowercase());
            }
        };
        for presumption in &self.flat.presumptions {
            if let Presumed::Text(text) = &presumption.value {
                named(&presumption.fact, text);
            }
            presumption.condition.each_test(&mut |test| {
                if let Test::Text { fact, among, .. } = test {
                    among.iter().for_each(|text| named(&FactRef::Known(*fact), text));
                }
            });
        }
        found.into_iter().map(|(place, texts)| (place, texts.into_iter().zip(FIRST_TEXT..).collect())).collect()
    }
}

/// The place of a fact among the values of a row.
pub(super) fn place_of(fact: &FactRef<usize>) -> Result<usize, Refused> {
    match fact {
        FactRef::Known(Fact::TestDate) => Err(Refused("a test of the visit's day was not resolved")),
        FactRef::Known(Fact::Monitor(_)) => Err(Refused("a monitor is no value")),
        FactRef::Known(fact) => Ok(fact.place()),
        FactRef::Declared(place) => Ok(FACTS + place),
    }
}
