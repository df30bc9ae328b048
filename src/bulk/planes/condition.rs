//! Conditions of a flat program as planes: where each surely holds and where perhaps, in Kleene's three values, for one
//! way of reading the open questions. Named conditions, limits and the count are made once.

use super::facts::Builder;
use super::graph::{Bit, Tri};
use super::shape::{Ask, Leaf};
use crate::model::{CodeRange, Fact, Monitor, MonitorSet, MonitorState};
use crate::program::block::Allowance;
use crate::program::flat::{FlatExcused, FlatLimitRow, FlatRow};
use crate::program::{Condition, FactRef, Flat, How, Quantifier, Test};
use std::collections::BTreeMap;

const UNSUPPORTED: u64 = MonitorState::Unsupported.bit();
const COMPLETE: u64 = MonitorState::Complete.bit();
const INCOMPLETE: u64 = MonitorState::Incomplete.bit();
const STATES: [u64; 3] = [UNSUPPORTED, COMPLETE, INCOMPLETE];

/// One counted monitor: whether it counts, and where it may be in each state for the count.
#[derive(Debug, Clone, Copy)]
struct Counted {
    monitor: Monitor,
    counts: Tri,
    may: [Bit; 3],
}

/// A number of monitors.
#[derive(Debug, Clone)]
enum Number {
    /// The least and the most there can be, as binary digits.
    Between { least: Vec<Bit>, most: Vec<Bit> },
    /// Of a single record: the number of a set, by what the set turns on.
    Of(Vec<(Bit, usize)>),
}

/// The conditions of one way of reading the open questions.
#[derive(Debug)]
pub(super) struct Walk<'b, 'a> {
    pub(super) builder: &'b mut Builder<'a>,
    assumed: &'b [Option<usize>],
    findings: BTreeMap<usize, Option<Tri>>,
    limits: BTreeMap<usize, Option<(Tri, Tri)>>,
    counted: Option<Vec<Counted>>,
    numbers: BTreeMap<u64, Number>,
    is_counting: bool,
}

impl<'b, 'a> Walk<'b, 'a> {
    pub(super) fn new(builder: &'b mut Builder<'a>, assumed: &'b [Option<usize>]) -> Walk<'b, 'a> {
        Walk {
            builder,
            assumed,
            findings: BTreeMap::new(),
            limits: BTreeMap::new(),
            counted: None,
            numbers: BTreeMap::new(),
            is_counting: false,
        }
    }

    pub(super) fn flat(&self) -> &'a Flat {
        self.builder.flat
    }

    pub(super) fn truth(&mut self, condition: &Condition<usize>) -> Tri {
        match condition {
            Condition::All(parts) => parts.iter().fold(Tri::TRUE, |all, part| {
                let truth = self.truth(part);
                self.builder.graph.and3(all, truth)
            }),
            Condition::Any(parts) => parts.iter().fold(Tri::FALSE, |any, part| {
                let truth = self.truth(part);
                self.builder.graph.or3(any, truth)
            }),
            Condition::Not(inner) => self.truth(inner).not(),
            Condition::Test(test) => self.test(test),
        }
    }

    /// What planes do not express: unknown here, and every record is left open.
    fn beyond(&mut self) -> Tri {
        self.builder.is_beyond = true;
        Tri::UNKNOWN
    }

    fn test(&mut self, test: &Test<usize>) -> Tri {
        match test {
            Test::Word { fact, words } => self.builder.word(fact, *words),
            Test::Number { fact, .. } => self.builder.test(fact, test),
            Test::Text { fact, .. } => self.builder.test(&FactRef::Known(*fact), test),
            Test::ModelYearIsEven(_) => self.builder.test(&FactRef::Known(Fact::ModelYear), test),
            Test::Present { fact, is } => {
                let fact = FactRef::Known(*fact);
                if !matches!(fact, FactRef::Known(fact) if fact.words().is_empty()) {
                    let has = self.builder.has_word(&fact);
                    return if *is { has } else { has.not() };
                }
                self.builder.test(&fact, test)
            }
            Test::Codes { list, .. } => self.builder.test(&FactRef::Known(*list), test),
            Test::Dated(none) => match *none {},
            Test::CodesOfTable { how: How::Only, .. } => self.beyond(),
            Test::CodesOfTable { list, how, table } => self.codes_of_table(*list, *how, *table),
            Test::Count { states, least, most } => {
                let number = self.how_many(*states);
                self.is_within(&number, *least, *most)
            }
            Test::CountOf { monitors, states, least, most } => {
                let one_each = monitors.iter().map(|monitor| self.builder.word(&monitor_fact(monitor), *states));
                let (surely, perhaps): (Vec<Bit>, Vec<Bit>) = one_each.map(|tri| (tri.surely, tri.perhaps)).unzip();
                let number =
                    Number::Between { least: self.builder.graph.sum(surely), most: self.builder.graph.sum(perhaps) };
                self.is_within(&number, *least, *most)
            }
            Test::Pair { quantifier, earlier, states } => self.pair(*quantifier, *earlier, *states),
            Test::NotMoreIncompleteThanEarlier => self.not_more_than_earlier(),
            Test::Limit { limit, within } => {
                let (inside, over) = self.limit(*limit);
                if *within { inside } else { over }
            }
            Test::Finding(place) => self.finding(*place),
            Test::Listed(table) => {
                let rows = self.rows(*table);
                rows.iter().fold(Tri::FALSE, |any, row| {
                    let holds = self.row_holds(*table, row);
                    self.builder.graph.or3(any, holds)
                })
            }
            Test::Reading { question, reading } => {
                let taken = self.flat().questions.get(*question).and_then(|question| question.taken);
                match taken.or_else(|| self.assumed.get(*question).copied().flatten()) {
                    Some(known) => Tri::of(known == *reading),
                    None => Tri::UNKNOWN,
                }
            }
        }
    }

    /// Whether the least there can be reaches a bound, and whether the most does.
    fn reaches(&mut self, number: &Number, bound: i64) -> (Bit, Bit) {
        match number {
            Number::Between { least, most } => {
                let graph = &mut self.builder.graph;
                (graph.at_least(least, bound), graph.at_least(most, bound))
            }
            Number::Of(_) if bound <= 0 => (Bit::ALWAYS, Bit::ALWAYS),
            Number::Of(sets) => {
                let mut any = Bit::NEVER;
                for (here, set) in sets {
                    let leaf = self.builder.leaf(Leaf::Counted(*set, bound));
                    let both = self.builder.graph.and(*here, leaf);
                    any = self.builder.graph.or(any, both);
                }
                (any, any)
            }
        }
    }

    fn is_within(&mut self, number: &Number, least: Option<i64>, most: Option<i64>) -> Tri {
        let low = least.map_or((Bit::ALWAYS, Bit::ALWAYS), |least| self.reaches(number, least));
        let over = most.map_or((Bit::NEVER, Bit::NEVER), |most| self.reaches(number, most.saturating_add(1)));
        let graph = &mut self.builder.graph;
        Tri { surely: graph.but_not(low.0, over.1), perhaps: graph.but_not(low.1, over.0) }
    }

    fn finding(&mut self, place: usize) -> Tri {
        let flat = self.flat();
        let Some((_, condition)) = flat.findings.get(place) else {
            return Tri::UNKNOWN;
        };
        match self.findings.get(&place) {
            Some(Some(done)) => *done,
            Some(None) => Tri::UNKNOWN,
            None => {
                self.findings.insert(place, None);
                let truth = self.truth(condition);
                self.findings.insert(place, Some(truth));
                truth
            }
        }
    }

    /// Whether the vehicle is within a limit, and whether it is over it.
    fn limit(&mut self, place: usize) -> (Tri, Tri) {
        let flat = self.flat();
        let Some(limit) = flat.limits.get(place) else {
            return (Tri::UNKNOWN, Tri::UNKNOWN);
        };
        match self.limits.get(&place) {
            Some(Some(done)) => return *done,
            Some(None) => return (Tri::UNKNOWN, Tri::UNKNOWN),
            None => {}
        }
        self.limits.insert(place, None);
        let (mut within, mut over) = (Tri::FALSE, Tri::FALSE);
        for row in &limit.rows {
            let holds = self.truth(&row.condition);
            let allows = self.allows(row);
            let graph = &mut self.builder.graph;
            let (inside, beyond) = (graph.and3(holds, allows), graph.and3(holds, allows.not()));
            (within, over) = (graph.or3(within, inside), graph.or3(over, beyond));
        }
        self.limits.insert(place, Some((within, over)));
        (within, over)
    }

    fn allows(&mut self, row: &FlatLimitRow) -> Tri {
        match &row.limit {
            Allowance::AtMost { count, only } => {
                let incomplete = self.how_many(INCOMPLETE);
                let number = self.is_within(&incomplete, None, Some(*count));
                let Some(only) = only else {
                    return number;
                };
                let others = self.which(INCOMPLETE).into_iter().filter(|(monitor, _)| !only.contains(*monitor));
                let (surely, perhaps): (Vec<Bit>, Vec<Bit>) = others.map(|(_, tri)| (tri.surely, tri.perhaps)).unzip();
                let graph = &mut self.builder.graph;
                let none = Tri { surely: graph.any(perhaps).not(), perhaps: graph.any(surely).not() };
                graph.and3(number, none)
            }
            Allowance::AtLeastComplete(count) => {
                let complete = self.how_many(COMPLETE);
                self.is_within(&complete, Some(*count), None)
            }
            Allowance::NotRead => {
                let incomplete = self.how_many(INCOMPLETE);
                let (_, some) = self.reaches(&incomplete, 1);
                Tri { surely: some.not(), perhaps: Bit::ALWAYS }
            }
        }
    }

    fn rows(&self, table: usize) -> &'a [FlatRow] {
        self.flat().tables.get(table).map_or(&[], |table| table.rows.as_slice())
    }

    /// Whether a row of a table is the vehicle's; where it is presumed not to be in the table, only a row that surely is.
    fn row_holds(&mut self, table: usize, row: &FlatRow) -> Tri {
        let truth = self.truth(&row.condition);
        let none = self.builder.unlisted.get(&table).copied().unwrap_or(Bit::NEVER);
        let graph = &mut self.builder.graph;
        let doubtful = graph.but_not(truth.perhaps, truth.surely);
        let dropped = graph.and(doubtful, none);
        Tri { surely: truth.surely, perhaps: graph.but_not(truth.perhaps, dropped) }
    }

    fn codes_of_table(&mut self, list: Fact, how: How, table: usize) -> Tri {
        let fact = FactRef::Known(list);
        let (more, present, absent) = (
            self.builder.ask(&fact, Ask::MayHoldMore),
            self.builder.ask(&fact, Ask::MayBePresent),
            self.builder.ask(&fact, Ask::MayBeAbsent),
        );
        let mut any = Tri::FALSE;
        for row in self.rows(table).iter().filter(|row| !row.codes.is_empty()) {
            let codes: Vec<CodeRange> = row.codes.clone();
            let hit = self.builder.ask(&fact, Ask::HoldsCode(codes));
            let perhaps = self.builder.graph.or(hit, more);
            let row = self.row_holds(table, row);
            let graph = &mut self.builder.graph;
            let both = graph.and3(row, Tri { surely: hit, perhaps });
            any = graph.or3(any, both);
        }
        let told = if how == How::Any { any } else { any.not() };
        let graph = &mut self.builder.graph;
        let surely = graph.but_not(told.surely, absent);
        Tri { surely: graph.and(surely, present), perhaps: graph.and(told.perhaps, present) }
    }

    fn pair(&mut self, quantifier: Quantifier, earlier: Fact, states: u64) -> Tri {
        let states = if quantifier == Quantifier::Every { !states } else { states };
        let fact = FactRef::Known(earlier);
        let mut any = Tri::FALSE;
        for monitor in Monitor::all() {
            let member = self.member(&fact, monitor);
            if member == Tri::FALSE {
                continue;
            }
            let now = self.builder.word(&monitor_fact(monitor), states);
            let graph = &mut self.builder.graph;
            let here = graph.and3(member, now);
            any = graph.or3(any, here);
        }
        if quantifier == Quantifier::Any { any } else { any.not() }
    }

    fn member(&mut self, fact: &FactRef<usize>, monitor: Monitor) -> Tri {
        Tri {
            surely: self.builder.ask(fact, Ask::Member(monitor)),
            perhaps: self.builder.ask(fact, Ask::MayBeMember(monitor)),
        }
    }

    /// Counted incomplete now against a number: for every number there can be, then at least it or now below it.
    fn not_more_than_earlier(&mut self) -> Tri {
        let now = self.how_many(INCOMPLETE);
        let fact = FactRef::Known(Fact::EarlierIncompleteCount);
        let then = |least: i64| Test::Number {
            fact: FactRef::Known(Fact::EarlierIncompleteCount),
            least: Some(least),
            most: None,
        };
        let mut truth = self.builder.test(&fact, &then(i64::MIN));
        for number in 1..=32 {
            let at_least = self.builder.test(&fact, &then(number));
            let (least, most) = self.reaches(&now, number);
            let graph = &mut self.builder.graph;
            // Where the vehicle may be without the fact `surely` is never, as `truth` has it from the start.
            let within =
                Tri { surely: graph.or(at_least.surely, most.not()), perhaps: graph.or(at_least.perhaps, least.not()) };
            truth = graph.and3(truth, within);
        }
        truth
    }

    /// The monitors that may count, as the count has them. Where its rules go round in a circle it is not known.
    fn counted(&mut self) -> Vec<Counted> {
        if let Some(counted) = &self.counted {
            return counted.clone();
        }
        if self.is_counting {
            self.builder.is_beyond = true;
            return Vec::new();
        }
        self.is_counting = true;
        let flat = self.flat();
        let rules: Vec<(Tri, MonitorSet, bool)> = flat
            .counts
            .iter()
            .map(|rule| (self.truth(&rule.condition), rule.monitors, rule.unsupported_as_incomplete))
            .collect();
        let excuses: Vec<(Tri, FlatExcused)> =
            flat.excuses.iter().map(|excuse| (self.truth(&excuse.condition), excuse.which)).collect();
        let mut list = Vec::new();
        for monitor in Monitor::all() {
            let (mut counts, mut flagged) = (Tri::FALSE, Tri::FALSE);
            for (truth, monitors, is_flagged) in &rules {
                if monitors.contains(monitor) {
                    counts = self.builder.graph.or3(counts, *truth);
                    if *is_flagged {
                        flagged = self.builder.graph.or3(flagged, *truth);
                    }
                }
            }
            if counts == Tri::FALSE {
                continue;
            }
            for (truth, which) in &excuses {
                let named = self.excused(*which, monitor);
                let graph = &mut self.builder.graph;
                let both = graph.and3(*truth, named);
                counts = graph.and3(counts, both.not());
            }
            let may = STATES.map(|state| self.builder.word(&monitor_fact(monitor), state).perhaps);
            let [unsupported, complete, incomplete] = may;
            let graph = &mut self.builder.graph;
            let also = graph.and(unsupported, flagged.perhaps);
            let may = [graph.but_not(unsupported, flagged.surely), complete, graph.or(incomplete, also)];
            list.push(Counted { monitor, counts, may });
        }
        self.is_counting = false;
        self.counted = Some(list.clone());
        list
    }

    /// Whether an excuse names a monitor.
    fn excused(&mut self, which: FlatExcused, monitor: Monitor) -> Tri {
        match which {
            FlatExcused::Monitors(set) => Tri::of(set.contains(monitor)),
            FlatExcused::EarlierIncomplete => self.member(&FactRef::Known(Fact::EarlierIncomplete), monitor),
            FlatExcused::Table(place) => {
                let rows = self.rows(place).iter().filter(|row| row.excused.contains(monitor));
                rows.fold(Tri::FALSE, |any, row| {
                    let holds = self.row_holds(place, row);
                    self.builder.graph.or3(any, holds)
                })
            }
        }
    }

    /// Each counted monitor: whether it counts and is in one of the states.
    fn which(&mut self, states: u64) -> Vec<(Monitor, Tri)> {
        let counted = self.counted();
        let mut list = Vec::with_capacity(counted.len());
        for one in counted {
            let is_settled = self.builder.is_settled(&monitor_fact(one.monitor));
            let pick = |wanted: bool| {
                let states = STATES.iter().zip(one.may).filter(move |(state, _)| (**state & states != 0) == wanted);
                states.map(|(_, may)| may)
            };
            let graph = &mut self.builder.graph;
            let (perhaps, otherwise) = (graph.any(pick(true)), graph.any(pick(false)));
            let surely = if is_settled { perhaps } else { graph.but_not(perhaps, otherwise) };
            list.push((one.monitor, graph.and3(one.counts, Tri { surely, perhaps })));
        }
        list
    }

    fn how_many(&mut self, states: u64) -> Number {
        if let Some(number) = self.numbers.get(&states) {
            return number.clone();
        }
        if let Some(number) = self.of_single(states) {
            return number;
        }
        let (surely, perhaps): (Vec<Bit>, Vec<Bit>) =
            self.which(states).into_iter().map(|(_, tri)| (tri.surely, tri.perhaps)).unzip();
        let graph = &mut self.builder.graph;
        let least = graph.sum(surely.iter().copied());
        let most = if surely == perhaps { least.clone() } else { graph.sum(perhaps) };
        let number = Number::Between { least, most };
        if !self.is_counting {
            self.numbers.insert(states, number.clone());
        }
        number
    }
}

/// The most conditions that the counted monitors of a single record turn on.
const MOST_SPLITS: usize = 3;

impl Walk<'_, '_> {
    /// How many counted monitors are in one of the states, of a single record: counted at once, for every way in which
    /// the conditions of the count may hold.
    fn of_single(&mut self, states: u64) -> Option<Number> {
        if !self.builder.shape.monitor_states {
            return None;
        }
        let counted = self.counted();
        let mut conditions: Vec<Bit> = Vec::new();
        for one in &counted {
            let flagged = self.flagged(one.monitor);
            for tri in [one.counts, flagged] {
                if tri.surely != tri.perhaps {
                    return None;
                }
                let (node, _) = tri.surely.parts();
                if node != 0 && !conditions.iter().any(|known| known.parts().0 == node) {
                    conditions.push(if tri.surely.parts().1 { tri.surely.not() } else { tri.surely });
                }
            }
        }
        if conditions.len() > MOST_SPLITS {
            return None;
        }
        let mut ways = Vec::new();
        for way in 0..1u32 << conditions.len() {
            let holds = |bit: Bit| match bit.parts() {
                (0, negated) => negated,
                (node, negated) => {
                    let place = conditions.iter().position(|known| known.parts().0 == node).unwrap_or(0);
                    (way >> place & 1 == 1) != negated
                }
            };
            let mut set = [0u32; 3];
            for one in counted.iter().filter(|one| holds(one.counts.surely)) {
                let bit = 1u32 << one.monitor.index();
                let is_flagged = holds(self.flagged(one.monitor).surely);
                for (slot, state) in set.iter_mut().zip(STATES) {
                    let counts_as = if is_flagged && state == UNSUPPORTED { INCOMPLETE } else { state };
                    if counts_as & states != 0 {
                        *slot |= bit;
                    }
                }
            }
            let mut here = Bit::ALWAYS;
            for (place, condition) in conditions.iter().enumerate() {
                let part = if way >> place & 1 == 1 { *condition } else { condition.not() };
                here = self.builder.graph.and(here, part);
            }
            let sets = &mut self.builder.sets;
            let place = sets.iter().position(|known| *known == set).unwrap_or_else(|| {
                sets.push(set);
                sets.len() - 1
            });
            ways.push((here, place));
        }
        Some(Number::Of(ways))
    }

    /// Whether an unsupported one counts as incomplete.
    fn flagged(&mut self, monitor: Monitor) -> Tri {
        let rules = self.flat().counts.iter().filter(|rule| rule.unsupported_as_incomplete);
        rules.filter(|rule| rule.monitors.contains(monitor)).fold(Tri::FALSE, |any, rule| {
            let truth = self.truth(&rule.condition);
            self.builder.graph.or3(any, truth)
        })
    }
}

fn monitor_fact(monitor: Monitor) -> FactRef<usize> {
    FactRef::Known(Fact::Monitor(monitor))
}
