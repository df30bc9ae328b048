//! The walk over planes: where a condition surely holds and where perhaps, in Kleene's three values, for one way of reading
//! the open questions. How conditions are joined is the walk's own ([`Meaning`]); here is what single tests and the count are
//! as functions of the columns.

use super::facts::Builder;
use super::graph::{Bit, Graph, Tri};
use super::shape::Ask;
use crate::evaluate::{Logic, Meaning};
use crate::model::{Fact, Monitor, MonitorSet, MonitorState};
use crate::program::block::Allowance;
use crate::program::flat::{FlatExcused, FlatLimitRow};
use crate::program::{FactRef, How, Quantifier, Test};
use std::cell::{Cell, RefCell};
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

/// A number of monitors: the least and the most there can be, as binary digits.
#[derive(Debug, Clone)]
struct Number {
    least: Vec<Bit>,
    most: Vec<Bit>,
}

/// The functions that are made, and what was counted.
#[derive(Debug)]
pub(super) struct Planes<'b, 'a> {
    builder: RefCell<&'b mut Builder<'a>>,
    counted: RefCell<Option<Vec<Counted>>>,
    numbers: RefCell<BTreeMap<u64, Number>>,
    is_counting: Cell<bool>,
}

/// A walk over planes.
pub(super) type Walk<'w, 'b, 'a> = Meaning<'w, Planes<'b, 'a>>;

/// A walk for one way of reading the open questions.
pub(super) fn walk<'w, 'b, 'a: 'w>(builder: &'b mut Builder<'a>, assumed: &'w [Option<usize>]) -> Walk<'w, 'b, 'a> {
    let flat = builder.flat;
    let planes = Planes {
        builder: RefCell::new(builder),
        counted: RefCell::new(None),
        numbers: RefCell::new(BTreeMap::new()),
        is_counting: Cell::new(false),
    };
    Meaning::over(flat, assumed, planes)
}

impl<'a> Planes<'_, 'a> {
    /// Makes functions. Nothing is asked of the walk meanwhile.
    pub(super) fn build<T>(&self, make: impl FnOnce(&mut Builder<'a>) -> T) -> T {
        make(&mut self.builder.borrow_mut())
    }

    /// The same of the graph alone.
    pub(super) fn graph<T>(&self, make: impl FnOnce(&mut Graph) -> T) -> T {
        make(&mut self.builder.borrow_mut().graph)
    }
}

impl Logic for Planes<'_, '_> {
    type Truth = Tri;
    const FALSE: Tri = Tri::FALSE;
    const UNKNOWN: Tri = Tri::UNKNOWN;
    const TRUE: Tri = Tri::TRUE;

    fn not(truth: Tri) -> Tri {
        truth.not()
    }

    fn and(&self, one: Tri, other: Tri) -> Tri {
        self.graph(|graph| graph.and3(one, other))
    }

    fn or(&self, one: Tri, other: Tri) -> Tri {
        self.graph(|graph| graph.or3(one, other))
    }

    fn test(walk: &Meaning<'_, Self>, test: &Test<usize>) -> Tri {
        walk.test(test)
    }

    fn allows(walk: &Meaning<'_, Self>, row: &FlatLimitRow) -> Tri {
        walk.allows(row)
    }

    fn row(walk: &Meaning<'_, Self>, table: usize, place: usize) -> Tri {
        let row = walk.flat().tables.get(table).and_then(|table| table.rows.get(place));
        let truth = row.map_or(Tri::FALSE, |row| walk.truth(&row.condition));
        walk.logic().build(|builder| {
            let none = builder.unlisted.get(&table).copied().unwrap_or(Bit::NEVER);
            let graph = &mut builder.graph;
            let doubtful = graph.but_not(truth.perhaps, truth.surely);
            let dropped = graph.and(doubtful, none);
            Tri { surely: truth.surely, perhaps: graph.but_not(truth.perhaps, dropped) }
        })
    }
}

impl<'a> Meaning<'_, Planes<'_, 'a>> {
    fn build<T>(&self, make: impl FnOnce(&mut Builder<'a>) -> T) -> T {
        self.logic().build(make)
    }

    fn graph<T>(&self, make: impl FnOnce(&mut Graph) -> T) -> T {
        self.logic().graph(make)
    }

    /// What planes do not express: unknown here, and every record is left open.
    fn beyond(&self) -> Tri {
        self.build(|builder| builder.is_beyond = true);
        Tri::UNKNOWN
    }

    fn test(&self, test: &Test<usize>) -> Tri {
        match test {
            Test::Word { fact, words } => self.build(|builder| builder.word(fact, *words)),
            Test::Number { fact, .. } => self.build(|builder| builder.test(fact, test)),
            Test::Text { fact, .. } | Test::Codes { list: fact, .. } => self.known(*fact, test),
            Test::Dated(none) => match *none {},
            Test::ModelYearIsEven(_) => self.known(Fact::ModelYear, test),
            Test::Present { fact, is } if !fact.words().is_empty() => {
                let has = self.build(|builder| builder.has_word(&FactRef::Known(*fact)));
                if *is { has } else { has.not() }
            }
            Test::Present { fact, .. } => self.known(*fact, test),
            Test::CodesOfTable { how: How::Only, .. } => self.beyond(),
            Test::CodesOfTable { list, how, table } => self.codes_of_table(*list, *how, *table),
            Test::Count { states, least, most } => self.is_within(&self.how_many(*states), *least, *most),
            Test::CountOf { monitors, states, least, most } => {
                let number = self.build(|builder| {
                    let one_each = monitors.iter().map(|monitor| builder.word(&monitor_fact(monitor), *states));
                    let (surely, perhaps): (Vec<Bit>, Vec<Bit>) = one_each.map(|tri| (tri.surely, tri.perhaps)).unzip();
                    Number { least: builder.graph.sum(surely), most: builder.graph.sum(perhaps) }
                });
                self.is_within(&number, *least, *most)
            }
            Test::Pair { quantifier, earlier, states } => self.pair(*quantifier, *earlier, *states),
            Test::NotMoreIncompleteThanEarlier => self.not_more_than_earlier(),
            Test::Limit { limit, within } => {
                let (inside, over) = self.limit(*limit);
                if *within { inside } else { over }
            }
            Test::Finding(place) => self.finding(*place),
            Test::Listed(table) => self.listed(*table),
            Test::Reading { question, reading } => self.is_read(*question, *reading),
        }
    }

    /// A test of one fact of the table that is none of words.
    fn known(&self, fact: Fact, test: &Test<usize>) -> Tri {
        self.build(|builder| builder.test(&FactRef::Known(fact), test))
    }

    /// Whether the least there can be reaches a bound, and whether the most does.
    fn reaches(&self, number: &Number, bound: i64) -> (Bit, Bit) {
        self.graph(|graph| (graph.at_least(&number.least, bound), graph.at_least(&number.most, bound)))
    }

    fn is_within(&self, number: &Number, least: Option<i64>, most: Option<i64>) -> Tri {
        let low = least.map_or((Bit::ALWAYS, Bit::ALWAYS), |least| self.reaches(number, least));
        let over = most.map_or((Bit::NEVER, Bit::NEVER), |most| self.reaches(number, most.saturating_add(1)));
        self.graph(|graph| Tri { surely: graph.but_not(low.0, over.1), perhaps: graph.but_not(low.1, over.0) })
    }

    fn allows(&self, row: &FlatLimitRow) -> Tri {
        match &row.limit {
            Allowance::AtMost { count, only } => {
                let number = self.is_within(&self.how_many(INCOMPLETE), None, Some(*count));
                let Some(only) = only else {
                    return number;
                };
                let others = self.which(INCOMPLETE).into_iter().filter(|(monitor, _)| !only.contains(*monitor));
                let (surely, perhaps): (Vec<Bit>, Vec<Bit>) = others.map(|(_, tri)| (tri.surely, tri.perhaps)).unzip();
                self.graph(|graph| {
                    let none = Tri { surely: graph.any(perhaps).not(), perhaps: graph.any(surely).not() };
                    graph.and3(number, none)
                })
            }
            Allowance::AtLeastComplete(count) => self.is_within(&self.how_many(COMPLETE), Some(*count), None),
            Allowance::NotRead => {
                let (_, some) = self.reaches(&self.how_many(INCOMPLETE), 1);
                Tri { surely: some.not(), perhaps: Bit::ALWAYS }
            }
        }
    }

    fn codes_of_table(&self, list: Fact, how: How, table: usize) -> Tri {
        let fact = FactRef::Known(list);
        let [more, present, absent] = self.build(|builder| {
            [Ask::MayHoldMore, Ask::MayBePresent, Ask::MayBeAbsent].map(|ask| builder.ask(&fact, ask))
        });
        let mut any = Tri::FALSE;
        for (place, row) in self.rows(table).filter(|(_, row)| !row.codes.is_empty()) {
            let hit = self.build(|builder| {
                let hit = builder.ask(&fact, Ask::HoldsCode(row.codes.clone()));
                Tri { surely: hit, perhaps: builder.graph.or(hit, more) }
            });
            let row = self.row_holds(table, place);
            any = self.graph(|graph| {
                let both = graph.and3(row, hit);
                graph.or3(any, both)
            });
        }
        let told = if how == How::Any { any } else { any.not() };
        self.graph(|graph| {
            let surely = graph.but_not(told.surely, absent);
            Tri { surely: graph.and(surely, present), perhaps: graph.and(told.perhaps, present) }
        })
    }

    fn pair(&self, quantifier: Quantifier, earlier: Fact, states: u64) -> Tri {
        let states = if quantifier == Quantifier::Every { !states } else { states };
        let fact = FactRef::Known(earlier);
        let mut any = Tri::FALSE;
        for monitor in Monitor::all() {
            let member = self.member(&fact, monitor);
            if member == Tri::FALSE {
                continue;
            }
            any = self.build(|builder| {
                let now = builder.word(&monitor_fact(monitor), states);
                let here = builder.graph.and3(member, now);
                builder.graph.or3(any, here)
            });
        }
        if quantifier == Quantifier::Any { any } else { any.not() }
    }

    fn member(&self, fact: &FactRef<usize>, monitor: Monitor) -> Tri {
        self.build(|builder| Tri {
            surely: builder.ask(fact, Ask::Member(monitor)),
            perhaps: builder.ask(fact, Ask::MayBeMember(monitor)),
        })
    }

    /// Counted incomplete now against a number: for every number there can be, then at least it or now below it.
    fn not_more_than_earlier(&self) -> Tri {
        let now = self.how_many(INCOMPLETE);
        let fact = FactRef::Known(Fact::EarlierIncompleteCount);
        let then = |least: i64| Test::Number { fact: fact.clone(), least: Some(least), most: None };
        let mut truth = self.build(|builder| builder.test(&fact, &then(i64::MIN)));
        for number in 1..=32 {
            let at_least = self.build(|builder| builder.test(&fact, &then(number)));
            let (least, most) = self.reaches(&now, number);
            truth = self.graph(|graph| {
                // Where the vehicle may be without the fact `surely` is never, as `truth` has it from the start.
                let within = Tri {
                    surely: graph.or(at_least.surely, most.not()),
                    perhaps: graph.or(at_least.perhaps, least.not()),
                };
                graph.and3(truth, within)
            });
        }
        truth
    }

    /// The monitors that may count, as the count has them. Where its rules go round in a circle it is not known.
    fn counted(&self) -> Vec<Counted> {
        let planes = self.logic();
        if let Some(counted) = &*planes.counted.borrow() {
            return counted.clone();
        }
        if planes.is_counting.replace(true) {
            self.beyond();
            return Vec::new();
        }
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
            for (truth, _, is_flagged) in rules.iter().filter(|(_, monitors, _)| monitors.contains(monitor)) {
                counts = planes.or(counts, *truth);
                if *is_flagged {
                    flagged = planes.or(flagged, *truth);
                }
            }
            if counts == Tri::FALSE {
                continue;
            }
            for (truth, which) in &excuses {
                let named = self.excused(*which, monitor);
                counts = planes.and(counts, planes.and(*truth, named).not());
            }
            let may = self.build(|builder| {
                let [unsupported, complete, incomplete] =
                    STATES.map(|state| builder.word(&monitor_fact(monitor), state).perhaps);
                let graph = &mut builder.graph;
                let also = graph.and(unsupported, flagged.perhaps);
                [graph.but_not(unsupported, flagged.surely), complete, graph.or(incomplete, also)]
            });
            list.push(Counted { monitor, counts, may });
        }
        planes.is_counting.set(false);
        *planes.counted.borrow_mut() = Some(list.clone());
        list
    }

    /// Whether an excuse names a monitor.
    fn excused(&self, which: FlatExcused, monitor: Monitor) -> Tri {
        match which {
            FlatExcused::Monitors(set) => Tri::of(set.contains(monitor)),
            FlatExcused::EarlierIncomplete => self.member(&FactRef::Known(Fact::EarlierIncomplete), monitor),
            FlatExcused::Table(table) => {
                let rows = self.rows(table).filter(|(_, row)| row.excused.contains(monitor));
                rows.fold(Tri::FALSE, |any, (place, _)| self.logic().or(any, self.row_holds(table, place)))
            }
        }
    }

    /// Each counted monitor: whether it counts and is in one of the states.
    fn which(&self, states: u64) -> Vec<(Monitor, Tri)> {
        let counted = self.counted();
        self.build(|builder| {
            let each = counted.iter().map(|one| {
                let is_settled = builder.is_settled(&monitor_fact(one.monitor));
                let pick = |wanted: bool| {
                    let states = STATES.iter().zip(one.may).filter(move |(state, _)| (**state & states != 0) == wanted);
                    states.map(|(_, may)| may)
                };
                let graph = &mut builder.graph;
                let (perhaps, otherwise) = (graph.any(pick(true)), graph.any(pick(false)));
                let surely = if is_settled { perhaps } else { graph.but_not(perhaps, otherwise) };
                (one.monitor, graph.and3(one.counts, Tri { surely, perhaps }))
            });
            each.collect()
        })
    }

    fn how_many(&self, states: u64) -> Number {
        if let Some(number) = self.logic().numbers.borrow().get(&states) {
            return number.clone();
        }
        let (surely, perhaps): (Vec<Bit>, Vec<Bit>) =
            self.which(states).into_iter().map(|(_, tri)| (tri.surely, tri.perhaps)).unzip();
        let number = self.graph(|graph| {
            let least = graph.sum(surely.iter().copied());
            let most = if surely == perhaps { least.clone() } else { graph.sum(perhaps) };
            Number { least, most }
        });
        if !self.logic().is_counting.get() {
            self.logic().numbers.borrow_mut().insert(states, number.clone());
        }
        number
    }
}

fn monitor_fact(monitor: Monitor) -> FactRef<usize> {
    FactRef::Known(Fact::Monitor(monitor))
}
