//! What a flat program means, for all vehicles at once: each condition the set of vehicles of which it is true.

use super::world::{Key, Val, World};
use biodivine_lib_bdd::Bdd;
use std::collections::BTreeMap;
use wherefore::internals::model::{CodeGroup, Fact, Monitor, MonitorSet, TroubleCode, day_number};
use wherefore::internals::program::block::Allowance;
use wherefore::internals::program::flat::{FlatExcused, FlatLimitRow};
use wherefore::internals::program::{Condition, FactRef, Flat, How, Quantifier, Test};

/// The sets that the kernel speaks of.
pub struct Kernel {
    pub covered: Bdd,
    pub left_out: Vec<Bdd>,
    pub concerned: Vec<Bdd>,
    pub unmet: Vec<Bdd>,
    pub standing: Vec<Bdd>,
    pub not_subject: Bdd,
    pub verdicts: Vec<Bdd>,
}

/// A program with its variables.
pub struct Meaning<'a> {
    flat: &'a Flat,
    world: &'a World,
    findings: BTreeMap<usize, Bdd>,
    counted: Option<Vec<(Monitor, Bdd, Bdd)>>,
    counts: BTreeMap<u64, Vec<Bdd>>,
}

impl<'a> Meaning<'a> {
    pub fn of(flat: &'a Flat, world: &'a World) -> Meaning<'a> {
        Meaning { flat, world, findings: BTreeMap::new(), counted: None, counts: BTreeMap::new() }
    }

    fn any(&self, sets: impl IntoIterator<Item = Bdd>) -> Bdd {
        sets.into_iter().fold(self.world.truth(false), |any, set| any.or(&set))
    }

    pub fn kernel(&mut self) -> Kernel {
        let (flat, nobody) = (self.flat, self.world.truth(false));
        let mut named = nobody.clone();
        for covers in flat.covers.iter().filter(|_| flat.in_force.is_yes()) {
            named = named.or(&self.holds(&covers.item));
        }
        let left_out: Vec<Bdd> = flat.left_out.iter().map(|row| named.and(&self.holds(&row.condition))).collect();
        let covered = named.and_not(&self.any(left_out.clone()));
        let concerned: Vec<Bdd> = flat.lines.iter().map(|line| self.holds(&line.concerns)).collect();
        let unmet: Vec<Bdd> = flat
            .lines
            .iter()
            .zip(&concerned)
            .map(|(line, concerned)| covered.and(concerned).and(&self.holds(&line.unmet_where)))
            .collect();
        let everywhere = self.world.truth(true);
        let standing: Vec<Bdd> = (0..unmet.len()).map(|place| self.stands(&unmet, place, &everywhere)).collect();
        let sent = |place: usize| {
            let rows = flat.left_out.iter().zip(&left_out).filter(|(row, _)| row.outcome == Some(place));
            rows.map(|(_, taken)| taken.clone()).collect::<Vec<_>>()
        };
        let mut ladder = vec![nobody.clone(); flat.outcomes.len()];
        let (mut graver_sent, mut graver_stands) = (nobody.clone(), nobody);
        for place in (0..flat.outcomes.len()).rev() {
            let lines = flat.lines.iter().zip(&standing).filter(|(line, _)| line.outcome == place);
            let stands = if place == 0 { covered.clone() } else { self.any(lines.map(|(_, node)| node.clone())) };
            let taken = self.any(sent(place));
            ladder[place] = stands.and_not(&graver_stands).or(&taken.and_not(&graver_sent));
            (graver_sent, graver_stands) = (graver_sent.or(&taken), graver_stands.or(&stands));
        }
        let not_subject = named.not().or(&self.any(left_out.clone()).and_not(&graver_sent));
        let verdicts = self.relabelled(&ladder);
        Kernel { covered, left_out, concerned, unmet, standing, not_subject, verdicts }
    }

    /// Where a line is unmet and no line it gives way to stands, within a set of vehicles. Lines may give way in a ring
    /// that readings part: then the set is empty before the ring closes.
    fn stands(&mut self, unmet: &[Bdd], place: usize, within: &Bdd) -> Bdd {
        let flat = self.flat;
        let mut stands = unmet[place].and(within);
        for (other, condition) in &flat.lines[place].gives_way {
            let here = within.and(&self.holds(condition));
            if !here.is_false() {
                stands = stands.and_not(&self.stands(unmet, *other, &here));
            }
        }
        stands
    }

    fn relabelled(&mut self, ladder: &[Bdd]) -> Vec<Bdd> {
        let flat = self.flat;
        let mut verdicts = vec![self.world.truth(false); ladder.len()];
        for (from, here) in ladder.iter().enumerate() {
            let mut left = here.clone();
            for to in (0..ladder.len()).rev() {
                for rule in flat.becomes.iter().filter(|rule| rule.from == from && rule.to == to) {
                    let moved = left.and(&self.holds(&rule.condition));
                    verdicts[to] = verdicts[to].or(&moved);
                    left = left.and_not(&moved);
                }
            }
            verdicts[from] = verdicts[from].or(&left);
        }
        verdicts
    }

    fn holds(&mut self, condition: &Condition<usize>) -> Bdd {
        match condition {
            Condition::All(parts) => parts.iter().fold(self.world.truth(true), |all, part| all.and(&self.holds(part))),
            Condition::Any(parts) => parts.iter().fold(self.world.truth(false), |any, part| any.or(&self.holds(part))),
            Condition::Not(inner) => self.holds(inner).not(),
            Condition::Test(test) => self.test(test),
        }
    }

    fn number(&self, fact: &FactRef<usize>, least: Option<i64>, most: Option<i64>) -> Bdd {
        let within = |number: i64| least.is_none_or(|least| number >= least) && most.is_none_or(|most| number <= most);
        if *fact == FactRef::Known(Fact::TestDate) {
            return self.world.truth(within(day_number(self.flat.test_date)));
        }
        self.world.literal(key(fact), |value| matches!(value, Val::Number(number) if within(*number)))
    }

    fn test(&mut self, test: &Test<usize>) -> Bdd {
        let (flat, world) = (self.flat, self.world);
        let even = |wanted: bool| {
            let odd = |value: &Val| matches!(value, Val::Number(year) if (year % 2 == 0) == wanted);
            world.literal(Key::Fact(Fact::ModelYear), odd)
        };
        match test {
            Test::Word { fact, words } => {
                world.literal(key(fact), |value| matches!(value, Val::Word(bit) if bit & words != 0))
            }
            Test::Number { fact, least, most } => self.number(fact, *least, *most),
            Test::Text { fact, among, is } => world.literal(Key::Fact(*fact), |value| match value {
                Val::Text(text) => among.iter().any(|one| one.to_lowercase() == *text) == *is,
                _ => false,
            }),
            Test::Dated(none) => match *none {},
            Test::ModelYearIsEven(wanted) => even(*wanted),
            Test::Present { fact, is } => {
                let key = Key::Fact(*fact);
                let there = if world.values(key).is_empty() {
                    world.present(*fact)
                } else {
                    world.literal(key, |value| *value != Val::Absent)
                };
                if *is { there } else { there.not() }
            }
            Test::Codes { list, how, among } => {
                let group = among.map(|place| (place, &flat.groups[place].1));
                self.codes(*list, *how, |_, code| match group {
                    None => world.truth(true),
                    Some((place, group)) => match group.contains(code) {
                        Some(inside) => world.truth(inside),
                        None => world.literal(Key::Group(place), |value| *value == Val::Truth(true)),
                    },
                })
            }
            Test::CodesOfTable { list, how, table } => self.codes(*list, *how, |meaning, code| {
                let mut inside = world.truth(false);
                for row in &flat.tables[*table].rows {
                    let group = CodeGroup { ranges: row.codes.clone(), unread: Vec::new() };
                    if group.contains(code) == Some(true) {
                        inside = inside.or(&meaning.holds(&row.condition));
                    }
                }
                inside
            }),
            Test::Count { states, least, most } => self.counted_within(*states, *least, *most),
            Test::CountOf { monitors, states, least, most } => {
                let sets: Vec<Bdd> = monitors.iter().map(|monitor| self.state(monitor, *states)).collect();
                let exactly = self.exactly(&sets);
                self.within(&exactly, *least, *most)
            }
            Test::Pair { quantifier, earlier, states } => {
                let mut failing = world.truth(false);
                let mut any = world.truth(false);
                for monitor in Monitor::all() {
                    let member = self.member(*earlier, monitor);
                    let state = self.state(monitor, *states);
                    any = any.or(&member.and(&state));
                    failing = failing.or(&member.and_not(&state));
                }
                match quantifier {
                    Quantifier::Any => any,
                    Quantifier::No => any.not(),
                    Quantifier::Every => failing.not(),
                }
            }
            Test::NotMoreIncompleteThanEarlier => {
                let key = Key::Fact(Fact::EarlierIncompleteCount);
                let mut holds = world.truth(false);
                for value in world.values(key) {
                    if let Val::Number(number) = value {
                        let few = self.counted_within(4, None, Some(*number));
                        holds = holds.or(&world.literal(key, |other| other == value).and(&few));
                    }
                }
                holds
            }
            Test::Limit { limit, within } => {
                let mut holds = world.truth(false);
                for (place, row) in flat.limits[*limit].rows.iter().enumerate() {
                    let allowed = self.allowed((*limit, place), row);
                    let reached = self.holds(&row.condition);
                    holds = holds.or(&if *within { reached.and(&allowed) } else { reached.and_not(&allowed) });
                }
                holds
            }
            Test::Finding(place) => {
                if let Some(known) = self.findings.get(place) {
                    return known.clone();
                }
                let holds = self.holds(&flat.findings[*place].1);
                self.findings.insert(*place, holds.clone());
                holds
            }
            Test::Listed(table) => {
                let rows: Vec<Bdd> = flat.tables[*table].rows.iter().map(|row| self.holds(&row.condition)).collect();
                self.any(rows)
            }
            Test::Reading { question, reading } => match flat.questions[*question].taken {
                Some(taken) => world.truth(taken == *reading),
                None => world.literal(Key::Question(*question), |value| *value == Val::Place(*reading)),
            },
        }
    }

    fn codes(&mut self, list: Fact, how: How, mut inside: impl FnMut(&mut Self, TroubleCode) -> Bdd) -> Bdd {
        let (mut some, mut stray) = (self.world.truth(false), self.world.truth(false));
        for (place, code) in self.world.codes.iter().enumerate() {
            let held = self.world.literal(Key::Code(list, place), |value| *value == Val::Truth(true));
            let belongs = inside(self, *code);
            some = some.or(&held.and(&belongs));
            stray = stray.or(&held.and_not(&belongs));
        }
        let present = self.world.present(list);
        match how {
            How::Any => present.and(&some),
            How::No => present.and_not(&some),
            How::Only => present.and_not(&stray),
        }
    }

    fn state(&self, monitor: Monitor, states: u64) -> Bdd {
        self.world
            .literal(Key::Fact(Fact::Monitor(monitor)), |value| matches!(value, Val::Word(bit) if bit & states != 0))
    }

    fn member(&self, list: Fact, monitor: Monitor) -> Bdd {
        self.world.literal(Key::Member(list, monitor), |value| *value == Val::Truth(true))
    }

    /// Each monitor with where it counts and where an unsupported one counts as incomplete.
    fn counted(&mut self) -> Vec<(Monitor, Bdd, Bdd)> {
        if let Some(known) = &self.counted {
            return known.clone();
        }
        let flat = self.flat;
        let mut list = Vec::new();
        for monitor in Monitor::all() {
            let (mut counts, mut strict) = (self.world.truth(false), self.world.truth(false));
            for rule in flat.counts.iter().filter(|rule| rule.monitors.contains(monitor)) {
                let applies = self.holds(&rule.condition);
                counts = counts.or(&applies);
                if rule.unsupported_as_incomplete {
                    strict = strict.or(&applies);
                }
            }
            for excuse in &flat.excuses {
                let named = match excuse.which {
                    FlatExcused::Monitors(set) => self.world.truth(set.contains(monitor)),
                    FlatExcused::EarlierIncomplete => self.member(Fact::EarlierIncomplete, monitor),
                    FlatExcused::Table(table) => {
                        let rows = flat.tables[table].rows.iter().filter(|row| row.excused.contains(monitor));
                        let rows: Vec<Bdd> = rows.map(|row| self.holds(&row.condition)).collect();
                        self.any(rows)
                    }
                };
                counts = counts.and_not(&self.holds(&excuse.condition).and(&named));
            }
            if !counts.is_false() {
                list.push((monitor, counts, strict));
            }
        }
        self.counted = Some(list.clone());
        list
    }

    /// Where each monitor counts in one of the states.
    fn counted_in(&mut self, states: u64) -> Vec<(Monitor, Bdd)> {
        let counted = self.counted();
        let one = |(monitor, counts, strict): (Monitor, Bdd, Bdd)| {
            let mut holds = self.world.truth(false);
            for state in [1, 2, 4] {
                let shown = self.state(monitor, state);
                let as_incomplete = state == 1 && states & 4 != 0;
                if states & state != 0 && state == 1 {
                    holds = holds.or(&shown.and_not(&strict));
                } else if states & state != 0 {
                    holds = holds.or(&shown);
                }
                if as_incomplete {
                    holds = holds.or(&shown.and(&strict));
                }
            }
            (monitor, holds.and(&counts))
        };
        counted.into_iter().map(one).collect()
    }

    /// Place *k*: exactly *k* of the sets.
    fn exactly(&self, sets: &[Bdd]) -> Vec<Bdd> {
        let mut exactly = vec![self.world.truth(true)];
        for set in sets.iter().rev() {
            let mut next = vec![self.world.truth(false); exactly.len() + 1];
            for (place, node) in exactly.iter().enumerate() {
                next[place] = next[place].or(&node.and_not(set));
                next[place + 1] = node.and(set);
            }
            exactly = next;
        }
        exactly
    }

    fn within(&self, exactly: &[Bdd], least: Option<i64>, most: Option<i64>) -> Bdd {
        let places = exactly.iter().enumerate().filter(|(place, _)| {
            let number = *place as i64;
            least.is_none_or(|least| number >= least) && most.is_none_or(|most| number <= most)
        });
        self.any(places.map(|(_, node)| node.clone()))
    }

    fn counted_within(&mut self, states: u64, least: Option<i64>, most: Option<i64>) -> Bdd {
        if !self.counts.contains_key(&states) {
            let sets: Vec<Bdd> = self.counted_in(states).into_iter().map(|(_, set)| set).collect();
            let exactly = self.exactly(&sets);
            self.counts.insert(states, exactly);
        }
        self.within(&self.counts[&states], least, most)
    }

    fn allowed(&mut self, at: (usize, usize), row: &FlatLimitRow) -> Bdd {
        match &row.limit {
            Allowance::AtMost { count, only } => {
                let few = self.counted_within(4, None, Some(*count));
                let named = only.unwrap_or(MonitorSet::ALL);
                let others = self.counted_in(4).into_iter().filter(|(monitor, _)| !named.contains(*monitor));
                let others: Vec<Bdd> = others.map(|(_, set)| set).collect();
                few.and_not(&self.any(others))
            }
            Allowance::AtLeastComplete(least) => self.counted_within(2, Some(*least), None),
            Allowance::NotRead => {
                let key = Key::Row(at.0, at.1);
                let mut holds = self.world.truth(false);
                for value in self.world.values(key) {
                    if let Val::Place(most) = value {
                        let few = self.counted_within(4, None, Some(*most as i64));
                        holds = holds.or(&self.world.literal(key, |other| other == value).and(&few));
                    }
                }
                holds
            }
        }
    }
}

fn key(fact: &FactRef<usize>) -> Key {
    match fact {
        FactRef::Known(fact) => Key::Fact(*fact),
        FactRef::Declared(place) => Key::Declared(*place),
    }
}
