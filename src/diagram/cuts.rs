//! What programs ask of each fact: every test that could change a verdict, gathered by fact, so that the values of the
//! fact can be put into classes. Gathers only; it decides nothing about any vehicle.

use super::level::Var;
use crate::model::{CodeGroup, Constraint, Exclusion, Fact, Monitor, MonitorSet, MonitorState, exclusions};
use crate::program::block::Allowance;
use crate::program::flat::FlatExcused;
use crate::program::{Condition, FactRef, Flat, Test};
use std::collections::{BTreeMap, BTreeSet};

/// One condition on make, model and engine: which texts, and whether it must be one of them; sorted.
pub type Unit = Vec<(Fact, Vec<String>, bool)>;

/// What is asked of one fact.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Asked {
    /// Masks of accepted words.
    pub masks: BTreeSet<u64>,
    /// Bounds, both included.
    pub bounds: BTreeSet<(Option<i64>, Option<i64>)>,
    /// Whether a test asks if the number is even.
    pub parity: bool,
    /// Lists of texts.
    pub texts: BTreeSet<Vec<String>>,
    /// Whether a test asks if the vehicle has it at all.
    pub presence: bool,
    /// How many values there are, for questions and unread limits.
    pub places: usize,
}

/// What is asked of all facts.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Cuts {
    /// By fact.
    pub asked: BTreeMap<Var, Asked>,
    /// Sets of monitors: which members are asked for.
    pub members: BTreeMap<Fact, MonitorSet>,
    /// Lists of codes: which groups they are held against.
    pub codes: BTreeMap<Fact, Vec<CodeGroup>>,
    /// Conditions on make, model and engine.
    pub units: BTreeSet<Unit>,
}

/// Whether the fact is one of the three that the listed-vehicle level joins.
pub(crate) fn is_listed_text(fact: Fact) -> bool {
    matches!(fact, Fact::Make | Fact::Model | Fact::Engine)
}

/// The condition that the direct text tests among these parts make together, if any asks make, model or engine.
pub(crate) fn unit_of(parts: &[Condition<usize>]) -> Option<Unit> {
    let mut unit: Unit = parts.iter().filter_map(unit_part).collect();
    unit.sort();
    unit.dedup();
    (!unit.is_empty()).then_some(unit)
}

/// The text test on make, model or engine that a condition is, if it is one.
pub(crate) fn unit_part(condition: &Condition<usize>) -> Option<(Fact, Vec<String>, bool)> {
    match condition {
        Condition::Test(Test::Text { fact, among, is }) if is_listed_text(*fact) => {
            let mut texts: Vec<String> = among.iter().map(|text| text.to_lowercase()).collect();
            texts.sort();
            texts.dedup();
            Some((*fact, texts, *is))
        }
        _ => None,
    }
}

impl Cuts {
    /// Everything that could change a verdict of the program; call once for each program.
    pub fn gather(&mut self, flat: &Flat) {
        let mut gather =
            Gather { flat, cuts: self, findings: BTreeSet::new(), tables: BTreeSet::new(), counted: false };
        for covers in &flat.covers {
            gather.condition(&covers.item);
        }
        for left_out in &flat.left_out {
            gather.condition(&left_out.condition);
        }
        for line in &flat.lines {
            gather.condition(&line.concerns);
            gather.condition(&line.unmet_where);
            line.gives_way.iter().for_each(|(_, condition)| gather.condition(condition));
        }
        for becomes in &flat.becomes {
            gather.condition(&becomes.condition);
        }
        for silence in &flat.silences {
            gather.condition(&silence.condition);
        }
        for presumption in &flat.presumptions {
            gather.condition(&presumption.condition);
        }
    }

    /// Whether any test asks the fact.
    #[must_use]
    pub fn uses(&self, fact: Fact) -> bool {
        self.asked.contains_key(&Var::Known(fact)) || self.members.contains_key(&fact) || self.codes.contains_key(&fact)
    }

    /// Adds what the exclusions ask of facts that are used, and the facts of `candidates` without which an exclusion
    /// between used facts would be lost.
    pub fn exclude(&mut self, must_be_known: impl Fn(&Cuts, Fact) -> bool) {
        let rules = exclusions();
        loop {
            let linked: BTreeSet<Fact> = rules
                .iter()
                .flat_map(|rule| [(rule.first.fact(), rule.second.fact()), (rule.second.fact(), rule.first.fact())])
                .filter(|(one, other)| !self.uses(*one) && self.uses(*other) && must_be_known(self, *one))
                .map(|(one, _)| one)
                .collect();
            if linked.is_empty() {
                break;
            }
            linked.into_iter().for_each(|fact| {
                self.asked.entry(Var::Known(fact)).or_default();
            });
        }
        for rule in rules {
            if self.uses(rule.first.fact()) && self.uses(rule.second.fact()) {
                self.ask(rule);
            }
        }
    }

    fn ask(&mut self, rule: &Exclusion) {
        for part in [rule.first, rule.second] {
            match part {
                Constraint::Word(fact, words) => {
                    self.asked.entry(Var::Known(fact)).or_default().masks.insert(words);
                }
                Constraint::AtLeast(fact, bound) => {
                    self.asked.entry(Var::Known(fact)).or_default().bounds.insert((Some(bound), None));
                }
                Constraint::NotEmpty(_) => {}
            }
        }
    }
}

/// The monitors that any rule of the count names.
pub(crate) fn counted(flat: &Flat) -> MonitorSet {
    flat.counts.iter().fold(MonitorSet::EMPTY, |set, rule| set.or(rule.monitors))
}

struct Gather<'a> {
    flat: &'a Flat,
    cuts: &'a mut Cuts,
    findings: BTreeSet<usize>,
    tables: BTreeSet<usize>,
    counted: bool,
}

impl Gather<'_> {
    fn condition(&mut self, condition: &Condition<usize>) {
        match condition {
            Condition::All(parts) => {
                self.cuts.units.extend(unit_of(parts));
                parts.iter().filter(|part| unit_part(part).is_none()).for_each(|part| self.condition(part));
            }
            Condition::Any(parts) => parts.iter().for_each(|part| self.condition(part)),
            Condition::Not(inner) => self.condition(inner),
            Condition::Test(test) => {
                self.cuts.units.extend(unit_part(condition).map(|part| vec![part]));
                self.test(test);
            }
        }
    }

    fn asked(&mut self, fact: &FactRef<usize>) -> Option<&mut Asked> {
        if *fact == FactRef::Known(Fact::TestDate) {
            return None;
        }
        Some(self.cuts.asked.entry(Var::of(self.flat, fact)?).or_default())
    }

    fn test(&mut self, test: &Test<usize>) {
        match test {
            Test::Word { fact, words } => {
                if let Some(asked) = self.asked(fact) {
                    asked.masks.insert(*words);
                }
            }
            Test::Number { fact, least, most } => {
                if let Some(asked) = self.asked(fact) {
                    asked.bounds.insert((*least, *most));
                }
            }
            Test::Text { fact, among, .. } if !is_listed_text(*fact) => {
                let texts = among.iter().map(|text| text.to_lowercase()).collect();
                self.cuts.asked.entry(Var::Known(*fact)).or_default().texts.insert(texts);
            }
            Test::Text { .. } => {}
            Test::Dated(none) => match *none {},
            Test::ModelYearIsEven(_) => {
                self.cuts.asked.entry(Var::Known(Fact::ModelYear)).or_default().parity = true;
            }
            Test::Present { fact, .. } => {
                if crate::model::spec(*fact).kind == crate::model::FactType::Codes {
                    self.cuts.codes.entry(*fact).or_default();
                } else {
                    self.cuts.asked.entry(Var::Known(*fact)).or_default().presence = true;
                }
            }
            Test::Codes { list, among, .. } => {
                let group = among.and_then(|place| self.flat.groups.get(place));
                if let Some((id, group)) = group
                    && !group.unread.is_empty()
                {
                    self.cuts.asked.entry(Var::UnreadCodes(id.clone())).or_default();
                }
                self.codes(*list, group.map(|(_, group)| group.clone()));
            }
            Test::CodesOfTable { list, table, .. } => {
                self.codes(*list, None);
                for row in self.flat.tables.get(*table).into_iter().flat_map(|table| &table.rows) {
                    self.codes(*list, Some(CodeGroup { ranges: row.codes.clone(), unread: Vec::new() }));
                }
                self.table(*table);
            }
            Test::Count { .. } => self.count(),
            Test::CountOf { monitors, states, .. } => {
                monitors.iter().for_each(|monitor| self.monitor(monitor, *states));
            }
            Test::Pair { earlier, states, .. } => {
                self.cuts.members.insert(*earlier, MonitorSet::ALL);
                Monitor::all().for_each(|monitor| self.monitor(monitor, *states));
            }
            Test::NotMoreIncompleteThanEarlier => {
                let most = i64::from(counted(self.flat).count());
                let asked = self.cuts.asked.entry(Var::Known(Fact::EarlierIncompleteCount)).or_default();
                asked.bounds.extend((1..=most).map(|bound| (Some(bound), None)));
                self.count();
            }
            Test::Limit { limit, .. } => self.limit(*limit),
            Test::Finding(place) => {
                if self.findings.insert(*place)
                    && let Some((_, condition)) = self.flat.findings.get(*place)
                {
                    self.condition(condition);
                }
            }
            Test::Listed(table) => self.table(*table),
            Test::Reading { question, .. } => {
                let open = self.flat.questions.get(*question).filter(|question| question.taken.is_none());
                if let (Some(open), Some(var)) = (open, Var::question(self.flat, *question)) {
                    self.cuts.asked.entry(var).or_default().places = open.readings.len();
                }
            }
        }
    }

    fn monitor(&mut self, monitor: Monitor, states: u64) {
        self.cuts.asked.entry(Var::Known(Fact::Monitor(monitor))).or_default().masks.insert(states);
    }

    fn codes(&mut self, list: Fact, group: Option<CodeGroup>) {
        let groups = self.cuts.codes.entry(list).or_default();
        if let Some(group) = group
            && !groups.contains(&group)
        {
            groups.push(group);
        }
    }

    fn table(&mut self, place: usize) {
        if self.tables.insert(place) {
            for row in self.flat.tables.get(place).into_iter().flat_map(|table| &table.rows) {
                self.condition(&row.condition);
            }
        }
    }

    fn limit(&mut self, place: usize) {
        self.count();
        let most = usize::try_from(counted(self.flat).count()).unwrap_or(0);
        let Some(limit) = self.flat.limits.get(place) else {
            return;
        };
        for (at, row) in limit.rows.iter().enumerate() {
            self.condition(&row.condition);
            if row.limit == Allowance::NotRead {
                let asked = self.cuts.asked.entry(Var::unread_limit(&limit.id, at, row)).or_default();
                asked.places = asked.places.max(most + 1);
            }
        }
    }

    fn count(&mut self) {
        if std::mem::replace(&mut self.counted, true) {
            return;
        }
        for rule in &self.flat.counts {
            self.condition(&rule.condition);
            for monitor in rule.monitors.iter() {
                for state in MonitorState::ALL {
                    self.monitor(monitor, state.bit());
                }
            }
        }
        for excuse in &self.flat.excuses {
            self.condition(&excuse.condition);
            match excuse.which {
                FlatExcused::Monitors(_) => {}
                FlatExcused::EarlierIncomplete => {
                    let counted = counted(self.flat);
                    let asked = self.cuts.members.entry(Fact::EarlierIncomplete).or_default();
                    *asked = asked.or(counted);
                }
                FlatExcused::Table(table) => self.table(table),
            }
        }
    }
}
