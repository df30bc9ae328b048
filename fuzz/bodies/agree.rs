//! A random flat program and vehicles made from bytes; the interpreter and the diagrams must agree. What a vehicle shows
//! is drawn from both sides of every number that the program names, in the values people report; how the diagrams put
//! values into classes is not looked at. On a vehicle of which everything is known both tell the very same verdicts;
//! where facts are left out, what the diagrams reach is within the interpreter's bound, and equal where that says it is
//! exact; what a whole vehicle gets is among what is possible before everything is known.

use std::collections::BTreeSet;
use wherefore::internals::diagram::{self, exact};
use wherefore::internals::evaluate;
use wherefore::internals::model::{
    CodeGroup, CodeList, CodeRange, Date, Fact, Monitor, MonitorSet, Reading, Snapshot, TroubleCode, Unit, Value,
};
use wherefore::internals::program::block::{Allowance, Origin};
use wherefore::internals::program::flat::{Based, CountRule, FlatLimitRow, FlatQuestion, LeftOut, Limit, Line};
use wherefore::internals::program::{Class, Condition, FactRef, Flat, Given, How, Outcome, Test, Topic, Verdict};
use wherefore::internals::source::Span;

type Cond = Condition<usize>;

const MONITORS: [Monitor; 4] =
    [Monitor::Catalyst, Monitor::Evaporative, Monitor::OxygenSensor, Monitor::ParticulateFilter];
const WORDS: [Fact; 7] = [
    Fact::LampCommanded,
    Fact::LampLitRunning,
    Fact::Communication,
    Fact::Connector,
    Fact::Ignition,
    Fact::Fuel,
    Fact::Visit,
];
const CODES: [u16; 3] = [0x0420, 0x0500, UNREAD];
/// The code of which the text does not tell whether it belongs to the group.
const UNREAD: u16 = 0x0442;

/// The input, byte by byte; 0 after its end.
struct Bytes<'a>(std::slice::Iter<'a, u8>);

impl Bytes<'_> {
    fn below(&mut self, many: usize) -> usize {
        usize::from(self.0.next().copied().unwrap_or(0)) % many.max(1)
    }

    fn is_one_in(&mut self, many: usize) -> bool {
        self.below(many) == many - 1
    }

    fn number(&mut self) -> (Fact, i64) {
        match self.below(3) {
            0 => (Fact::ModelYear, 1995 + self.below(8) as i64),
            1 => (Fact::WarmUps, [0, 1, 14, 15, 254, 255][self.below(6)]),
            _ => {
                let unit = [Unit::Mile, Unit::Kilometre][self.below(2)];
                (Fact::DistanceSinceClear, unit.to_base([0, 200, 322][self.below(3)]).unwrap_or(0))
            }
        }
    }

    fn monitors(&mut self) -> MonitorSet {
        let bits = self.below(16);
        MONITORS
            .iter()
            .enumerate()
            .filter(|(at, _)| bits >> at & 1 == 1)
            .fold(MonitorSet::EMPTY, |set, (_, it)| set.with(*it))
    }

    fn bounds(&mut self, at: i64) -> (Option<i64>, Option<i64>) {
        match self.below(3) {
            0 => (Some(at), None),
            1 => (None, Some(at)),
            _ => (Some(at), Some(at + self.below(3) as i64)),
        }
    }

    fn test(&mut self, findings: usize) -> Test<usize> {
        match self.below(12) {
            0..=2 => {
                let fact = WORDS[self.below(WORDS.len())];
                Test::Word { fact: FactRef::Known(fact), words: self.below(256) as u64 & fact.all_words() }
            }
            3 => {
                let fact = Fact::Monitor(MONITORS[self.below(4)]);
                Test::Word { fact: FactRef::Known(fact), words: self.below(8) as u64 }
            }
            4 => {
                let (fact, at) = self.number();
                let (least, most) = self.bounds(at);
                Test::Number { fact: FactRef::Known(fact), least, most }
            }
            5 => Test::ModelYearIsEven(self.is_one_in(2)),
            6 => {
                let how = [How::Any, How::No, How::Only][self.below(3)];
                Test::Codes { list: Fact::StoredCodes, how, among: (!self.is_one_in(3)).then_some(0) }
            }
            7 => {
                let at = self.below(4) as i64;
                let (least, most) = self.bounds(at);
                Test::Count { states: 1 << self.below(3), least, most }
            }
            8 => {
                let (monitors, at) = (self.monitors(), self.below(3) as i64);
                let (least, most) = self.bounds(at);
                Test::CountOf { monitors, states: self.below(8) as u64, least, most }
            }
            9 => Test::Limit { limit: 0, within: self.is_one_in(2) },
            10 if findings > 0 => Test::Finding(self.below(findings)),
            10 => Test::Present { fact: Fact::WarmUps, is: self.is_one_in(2) },
            _ => Test::Reading { question: 0, reading: self.below(2) },
        }
    }

    fn condition(&mut self, findings: usize, depth: usize) -> Cond {
        match self.below(if depth == 0 { 5 } else { 8 }) {
            0..=4 => Condition::Test(self.test(findings)),
            5 => Condition::All(vec![self.condition(findings, depth - 1), self.condition(findings, depth - 1)]),
            6 => Condition::Any(vec![self.condition(findings, depth - 1), self.condition(findings, depth - 1)]),
            _ => Condition::Not(Box::new(self.condition(findings, depth - 1))),
        }
    }

    fn mostly_always(&mut self) -> Cond {
        if self.is_one_in(3) { self.condition(0, 1) } else { Condition::always() }
    }

    fn allowance(&mut self) -> Allowance {
        match self.below(6) {
            0..=3 => {
                Allowance::AtMost { count: self.below(4) as i64, only: self.is_one_in(3).then(|| self.monitors()) }
            }
            4 => Allowance::AtLeastComplete(1 + self.below(3) as i64),
            _ => Allowance::NotRead,
        }
    }

    fn program(&mut self) -> Flat {
        let mut flat = empty();
        flat.questions[0].taken = (!self.is_one_in(3)).then(|| self.below(2));
        flat.counts.push(CountRule {
            condition: Condition::always(),
            monitors: self.monitors().with(Monitor::Catalyst),
            unsupported_as_incomplete: self.is_one_in(4),
            basis: Vec::new(),
        });
        let rows = (0..=self.below(2)).map(|at| FlatLimitRow {
            condition: if self.is_one_in(2) { plain(self) } else { Condition::always() },
            limit: self.allowance(),
            basis: Vec::new(),
            origin: Origin { program: "random".to_owned(), span: Span { start: at as u32, end: at as u32 } },
        });
        flat.limits.push(Limit { id: "standard".to_owned(), rows: rows.collect() });
        for at in 0..self.below(3) {
            let condition = self.condition(at, 1);
            flat.findings.push((format!("finding-{at}"), condition));
        }
        let findings = flat.findings.len();
        flat.covers.push(Based { item: self.mostly_always(), basis: Vec::new(), origin: origin() });
        if self.is_one_in(3) {
            let outcome = self.is_one_in(2).then(|| self.below(3));
            flat.left_out.push(LeftOut {
                condition: plain(self),
                outcome,
                why: String::new(),
                basis: Vec::new(),
                origin: origin(),
            });
        }
        for at in 0..=self.below(4) {
            let gives_way = (at > 0 && self.is_one_in(3)).then(|| (self.below(at), Condition::always()));
            flat.lines.push(Line {
                clause: format!("line-{at}"),
                topic: Topic::Other,
                concerns: self.mostly_always(),
                unmet_where: self.condition(findings, 2),
                requires: false,
                outcome: self.below(3),
                message: String::new(),
                gives_way: gives_way.into_iter().collect(),
                basis: Vec::new(),
                origin: origin(),
            });
        }
        flat
    }

    /// A vehicle of which everything is known, and the same with some facts left out.
    fn vehicle(&mut self) -> (Snapshot, Snapshot) {
        let mut full = Snapshot::default();
        for fact in WORDS {
            let words: Vec<u8> = (0..64).filter(|at| fact.all_words() >> at & 1 == 1).collect();
            full.set(fact, Value::Word(words[self.below(words.len())]));
        }
        for monitor in Monitor::all() {
            let state = if MONITORS.contains(&monitor) { self.below(3) as u8 } else { 0 };
            full.set(Fact::Monitor(monitor), Value::Word(state));
        }
        full.set(Fact::ModelYear, Value::Number(1994 + self.below(11) as i64));
        full.set(Fact::WarmUps, Value::Number([0, 1, 2, 13, 14, 15, 16, 253, 254, 255][self.below(10)]));
        let unit = [Unit::Mile, Unit::Kilometre][self.below(2)];
        let distance = [0, 1, 199, 200, 201, 321, 322, 323][self.below(8)];
        full.set(Fact::DistanceSinceClear, Value::Number(unit.to_base(distance).unwrap_or(0)));
        let mut codes = CodeList::default();
        for code in CODES {
            if self.is_one_in(3) {
                codes.codes.insert(TroubleCode::obd(code));
            }
        }
        full.set(Fact::StoredCodes, Value::Codes(codes));
        let mut partial = full.clone();
        partial.readings.retain(|_, _| !self.is_one_in(5));
        (full, partial)
    }
}

fn plain(bytes: &mut Bytes) -> Cond {
    let (fact, at) = bytes.number();
    let (least, most) = bytes.bounds(at);
    Condition::Test(Test::Number { fact: FactRef::Known(fact), least, most })
}

fn origin() -> Origin {
    Origin { program: "random".to_owned(), span: Span::default() }
}

fn empty() -> Flat {
    let outcome = |name: &str, class| Outcome { name: name.to_owned(), class, label: None };
    let group = CodeGroup {
        ranges: vec![CodeRange { first: 0x0420, last: 0x0439, digits_only: false }],
        unread: vec![CodeRange { first: UNREAD, last: UNREAD, digits_only: false }],
    };
    let question = FlatQuestion {
        id: "question".to_owned(),
        text: String::new(),
        readings: vec!["first".to_owned(), "second".to_owned()],
        taken: None,
    };
    Flat {
        outcomes: vec![outcome("pass", Class::Pass), outcome("reject", Class::Reject), outcome("fail", Class::Fail)],
        questions: vec![question],
        groups: vec![("group".to_owned(), group)],
        ..Flat::bare("random", "Random program", Date::constant(2026, 11, 25))
    }
}

/// What both engines say of a vehicle; `None` where no such vehicle can exist.
fn agreed(flat: &Flat, snapshot: &Snapshot) -> Option<BTreeSet<Verdict>> {
    let given = Given::of(flat, snapshot).ok()?;
    let (bound, is_exact) = evaluate::outlook(flat, &given);
    let reached = match exact::possible(flat, &given) {
        Ok(reached) => reached,
        Err(diagram::Error::Contradiction) => return None,
        Err(error) => panic!("so small a program has small diagrams: {error}"),
    };
    let bound = bound.to_set();
    assert!(!reached.is_empty() && reached.is_subset(&bound), "{reached:?} beyond {bound:?}: {flat:#?} {snapshot:?}");
    if is_exact {
        assert_eq!(reached, bound, "{flat:#?} {snapshot:?}");
    }
    Some(reached)
}

/// Compares on one input.
pub fn one(data: &[u8]) {
    let mut bytes = Bytes(data.iter());
    let flat = bytes.program();
    for _ in 0..4 {
        let (full, partial) = bytes.vehicle();
        let Some(whole) = agreed(&flat, &full) else { continue };
        let unread = flat.limits.iter().flat_map(|limit| &limit.rows).any(|row| row.limit == Allowance::NotRead);
        let open = unread || flat.questions.iter().any(|question| question.taken.is_none());
        let doubtful = matches!(
            full.get(Fact::StoredCodes),
            Some(Reading::Known(Value::Codes(list))) if list.codes.contains(&TroubleCode::obd(UNREAD))
        );
        assert!(open || doubtful || whole.len() == 1, "everything is known: {whole:?} {flat:#?} {full:?}");
        let before = agreed(&flat, &partial);
        assert!(
            before.is_some_and(|before| whole.is_subset(&before)),
            "knowing more adds no verdict: {flat:#?} {full:?}"
        );
    }
}
