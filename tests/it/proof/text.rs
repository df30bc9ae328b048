//! Flat programs, what is known of vehicles, and certificates as the machine-checked model reads them (`tests/proof`): lists in
//! brackets, names as numbers. A monitor's number is the key of the fact that its state is.

use std::collections::BTreeMap;
use wherefore::internals::certificate::{Blocked, By, Certificate, Coverage, Live, Tested, Unyielding, Way};
use wherefore::internals::model::facts::{ABSENT, Possible};
use wherefore::internals::model::table::all_facts;
use wherefore::internals::model::{CodeRange, Constraint, Fact, Monitor, MonitorSet, TroubleCode};
use wherefore::internals::program::block::{Allowance, Presumed};
use wherefore::internals::program::flat::{FlatExcused, FlatLimitRow, Presumption};
use wherefore::internals::program::{Condition, FactRef, Flat, How, Quantifier, Test, Verdict};

/// Keys of facts that are no monitor's begin here, those of declared facts there.
const OTHERS: usize = 100;
const DECLARED: usize = 1_000;
/// A place that no list has: what a forged certificate names wrongly.
const NOWHERE: usize = 9_999;

/// The numbers that texts go by.
#[derive(Default)]
pub struct Names {
    texts: BTreeMap<String, usize>,
    places: Option<BTreeMap<Fact, usize>>,
}

pub fn list(parts: impl IntoIterator<Item = String>) -> String {
    format!("({})", parts.into_iter().collect::<Vec<_>>().join(" "))
}

pub fn of(word: &str, parts: impl IntoIterator<Item = String>) -> String {
    list(std::iter::once(word.to_owned()).chain(parts))
}

pub fn bit(is: bool) -> String {
    usize::from(is).to_string()
}

fn open<T: ToString>(value: Option<T>) -> String {
    value.map_or_else(|| "-".to_owned(), |value| value.to_string())
}

/// The words of a mask, absence left out.
fn words(mask: u64) -> String {
    list((0..63).filter(|place| mask >> place & 1 == 1).map(|place: u32| place.to_string()))
}

fn monitors(set: MonitorSet) -> String {
    list(set.iter().map(|monitor| monitor.index().to_string()))
}

fn places(tests: &[usize]) -> String {
    list(tests.iter().map(usize::to_string))
}

fn range(range: &CodeRange) -> String {
    list([range.first.to_string(), range.last.to_string(), bit(range.digits_only)])
}

fn code(code: &TroubleCode) -> String {
    open(code.two_bytes())
}

pub fn verdict(verdict: Verdict) -> String {
    match verdict {
        Verdict::NotSubject => "none".to_owned(),
        Verdict::Outcome(place) => place.to_string(),
    }
}

impl Names {
    pub fn key(&mut self, fact: Fact) -> usize {
        if let Fact::Monitor(monitor) = fact {
            return usize::from(monitor.index());
        }
        let places = self.places.get_or_insert_with(|| all_facts().enumerate().map(|(at, fact)| (fact, at)).collect());
        OTHERS + places[&fact]
    }

    pub fn declared(place: usize) -> usize {
        DECLARED + place
    }

    fn fact(&mut self, fact: &FactRef<usize>) -> String {
        match fact {
            FactRef::Known(fact) => self.key(*fact).to_string(),
            FactRef::Declared(place) => Names::declared(*place).to_string(),
        }
    }

    fn text(&mut self, text: &str) -> String {
        let next = self.texts.len();
        self.texts.entry(text.to_owned()).or_insert(next).to_string()
    }

    pub fn possible(&mut self, possible: &Possible) -> String {
        match possible {
            Possible::Words(mask) => of("w", [words(*mask), bit(mask & ABSENT != 0)]),
            Possible::Number(span) => of("n", [span.least.to_string(), span.most.to_string(), bit(span.may_be_absent)]),
            Possible::Text(text) => of("t", [text.as_ref().map_or_else(|| "-".to_owned(), |text| self.text(text))]),
            Possible::Monitors { surely, perhaps } => of("s", [monitors(*surely), monitors(*perhaps)]),
            Possible::Codes { list: read, may_be_absent, may_be_present } => {
                let read = read.as_ref().map_or_else(
                    || "-".to_owned(),
                    |read| list([list(read.codes.iter().map(code)), bit(read.may_hold_more)]),
                );
                of("c", [read, bit(*may_be_absent), bit(*may_be_present)])
            }
        }
    }

    pub fn constraint(&mut self, constraint: Constraint) -> String {
        let key = self.key(constraint.fact()).to_string();
        match constraint {
            Constraint::Word(_, mask) => of("word", [key, words(mask)]),
            Constraint::AtLeast(_, bound) => of("atleast", [key, bound.to_string()]),
            Constraint::NotEmpty(_) => of("notempty", [key]),
        }
    }

    fn condition(&mut self, condition: &Condition<usize>) -> String {
        match condition {
            Condition::All(parts) => of("all", parts.iter().map(|part| self.condition(part)).collect::<Vec<_>>()),
            Condition::Any(parts) => of("any", parts.iter().map(|part| self.condition(part)).collect::<Vec<_>>()),
            Condition::Not(inner) => of("not", [self.condition(inner)]),
            Condition::Test(test) => self.test(test),
        }
    }

    fn test(&mut self, test: &Test<usize>) -> String {
        let how = |how: How| match how {
            How::Any => "any".to_owned(),
            How::No => "no".to_owned(),
            How::Only => "only".to_owned(),
        };
        match test {
            Test::Word { fact, words: mask } => of("word", [self.fact(fact), words(*mask)]),
            Test::Number { fact, least, most } => of("number", [self.fact(fact), open(*least), open(*most)]),
            Test::Text { fact, among, is } => {
                let among = list(among.iter().map(|text| self.text(text)).collect::<Vec<_>>());
                of("text", [self.key(*fact).to_string(), among, bit(*is)])
            }
            Test::Dated(none) => match *none {},
            Test::ModelYearIsEven(even) => of("even", [self.key(Fact::ModelYear).to_string(), bit(*even)]),
            Test::Present { fact, is } => of("present", [self.key(*fact).to_string(), bit(*is)]),
            Test::Codes { list, how: asked, among } => {
                of("codes", [self.key(*list).to_string(), how(*asked), open(*among)])
            }
            Test::CodesOfTable { list, how: asked, table } => {
                of("codesoftable", [self.key(*list).to_string(), how(*asked), table.to_string()])
            }
            Test::Count { states, least, most } => of("count", [words(*states), open(*least), open(*most)]),
            Test::CountOf { monitors: set, states, least, most } => {
                of("countof", [monitors(*set), words(*states), open(*least), open(*most)])
            }
            Test::Pair { quantifier, earlier, states } => {
                let word = match quantifier {
                    Quantifier::Any => "some",
                    Quantifier::Every => "every",
                    Quantifier::No => "none",
                };
                of("pair", [word.to_owned(), self.key(*earlier).to_string(), words(*states)])
            }
            Test::NotMoreIncompleteThanEarlier => of("notmore", [self.key(Fact::EarlierIncompleteCount).to_string()]),
            Test::Limit { limit, within } => of("limit", [limit.to_string(), bit(*within)]),
            Test::Finding(place) => of("finding", [place.to_string()]),
            Test::Listed(table) => of("listed", [table.to_string()]),
            Test::Reading { question, reading } => of("reading", [question.to_string(), reading.to_string()]),
        }
    }

    pub fn program(&mut self, name: &str, flat: &Flat) -> String {
        let mut slot = 0;
        let mut allowance = |row: &FlatLimitRow| match &row.limit {
            Allowance::AtMost { count, only } => {
                of("atmost", [count.to_string(), only.map_or_else(|| "-".to_owned(), monitors)])
            }
            Allowance::AtLeastComplete(count) => of("atleast", [count.to_string()]),
            Allowance::NotRead => {
                slot += 1;
                of("notread", [(slot - 1).to_string()])
            }
        };
        let at = |place: usize, parts: Vec<String>| list(std::iter::once(place.to_string()).chain(parts));
        let questions = flat.questions.iter().enumerate();
        let questions = questions.map(|(q, it)| at(q, vec![it.readings.len().to_string(), open(it.taken)]));
        let groups = flat.groups.iter().enumerate().flat_map(|(g, (_, group))| {
            let sure = group.ranges.iter().map(move |it| at(g, vec![bit(false), range(it)]));
            sure.chain(group.unread.iter().map(move |it| at(g, vec![bit(true), range(it)]))).collect::<Vec<_>>()
        });
        let mut said = vec![
            format!("{name:?}"),
            bit(flat.in_force.is_yes()),
            list(Monitor::all().map(|monitor| monitor.index().to_string())),
            list(questions),
            list(groups),
        ];
        let all = |rows: Vec<String>| list(rows);
        said.push(all(flat.findings.iter().enumerate().map(|(f, (_, c))| at(f, vec![self.condition(c)])).collect()));
        let mut rows = Vec::new();
        for (table, it) in flat.tables.iter().enumerate() {
            for (place, row) in it.rows.iter().enumerate() {
                let codes = list(row.codes.iter().map(range));
                let row = vec![place.to_string(), self.condition(&row.condition), monitors(row.excused), codes];
                rows.push(at(table, row));
            }
        }
        said.push(all(rows));
        let mut rows = Vec::new();
        for (limit, it) in flat.limits.iter().enumerate() {
            rows.extend(it.rows.iter().map(|row| at(limit, vec![self.condition(&row.condition), allowance(row)])));
        }
        said.push(all(rows));
        let counts = flat.counts.iter().map(|rule| {
            list([self.condition(&rule.condition), monitors(rule.monitors), bit(rule.unsupported_as_incomplete)])
        });
        said.push(all(counts.collect()));
        let mut rows = Vec::new();
        for excuse in &flat.excuses {
            let which = match excuse.which {
                FlatExcused::Monitors(set) => of("monitors", [monitors(set)]),
                FlatExcused::EarlierIncomplete => of("earlier", [self.key(Fact::EarlierIncomplete).to_string()]),
                FlatExcused::Table(table) => of("table", [table.to_string()]),
            };
            rows.push(list([self.condition(&excuse.condition), which]));
        }
        said.push(all(rows));
        said.push(all(flat.covers.iter().map(|covers| self.condition(&covers.item)).collect()));
        said.push(all(flat.left_out.iter().map(|r| list([self.condition(&r.condition), open(r.outcome)])).collect()));
        let mut rows = Vec::new();
        for (place, line) in flat.lines.iter().enumerate() {
            let ways = line.gives_way.iter().map(|(to, under)| list([to.to_string(), self.condition(under)])).collect();
            let said = [self.condition(&line.concerns), self.condition(&line.unmet_where), line.outcome.to_string()];
            rows.push(at(place, said.into_iter().chain([all(ways)]).collect()));
        }
        said.push(all(rows));
        let becomes = flat.becomes.iter();
        let becomes = becomes.map(|r| list([r.from.to_string(), r.to.to_string(), self.condition(&r.condition)]));
        said.push(all(becomes.collect()));
        let presumed: Vec<String> = flat.presumptions.iter().map(|one| self.presumption(flat, one)).collect();
        said.push(all(presumed));
        of("program", said)
    }

    fn presumption(&mut self, flat: &Flat, one: &Presumption) -> String {
        let value = match &one.value {
            Presumed::Word(mask) => of("word", [mask.trailing_zeros().to_string()]),
            Presumed::Number(number) => of("number", [number.to_string()]),
            Presumed::Text(text) => of("text", [self.text(&text.to_lowercase())]),
            Presumed::NotListed(id) => {
                let table = flat.tables.iter().position(|table| table.id == *id).unwrap_or(NOWHERE);
                let asked = [Fact::Make, Fact::Model, Fact::Engine].map(|fact| self.key(fact).to_string());
                of("notlisted", [table.to_string(), list(asked)])
            }
        };
        list([self.fact(&one.fact), value, self.condition(&one.condition)])
    }
}

/// A certificate in places; what it names that the program does not have stands nowhere.
pub fn certificate(flat: &Flat, it: &Certificate) -> Option<String> {
    let names = |place: usize| flat.outcomes[place].name == it.verdict;
    let says = if it.verdict == Verdict::NotSubject.name(flat) {
        "none".to_owned()
    } else {
        (0..flat.outcomes.len()).find(|place| names(*place)).unwrap_or(NOWHERE).to_string()
    };
    let ways = it.ways.iter().map(|it| way(flat, it)).collect::<Option<Vec<_>>>()?;
    Some(list([says, list(ways)]))
}

/// `None` where it names readings that there are not, which is no matter of the proof.
fn way(flat: &Flat, it: &Way) -> Option<String> {
    let mut readings = Vec::new();
    for (id, reading) in &it.readings {
        let question = flat.questions.iter().position(|question| question.id == *id && question.taken.is_none())?;
        let reading = flat.questions[question].readings.iter().position(|known| known == reading)?;
        readings.push(list([question.to_string(), reading.to_string()]));
    }
    let coverage = match &it.coverage {
        Coverage::NotInForce => of("notinforce", []),
        Coverage::NotCovered { blocks } => of("notcovered", [all_tested(blocks)]),
        Coverage::LeftOut { block, row, graver } => {
            of("leftout", [block.as_ref().map_or_else(|| "-".to_owned(), tested), tested(row), all_tested(graver)])
        }
        Coverage::Covered { block, rows } => of("covered", [tested(block), all_tested(rows)]),
    };
    let deciding = it.deciding.as_ref().map_or_else(|| "-".to_owned(), |it| live(flat, it));
    let rule = it.becomes.rule.as_ref().map_or_else(|| "-".to_owned(), tested);
    let kept = list(it.blocked.iter().map(|it| blocked(flat, it)));
    Some(list([list(readings), coverage, deciding, kept, rule, all_tested(&it.becomes.graver)]))
}

fn tested(it: &Tested) -> String {
    list([it.place.to_string(), places(&it.tests)])
}

fn all_tested(all: &[Tested]) -> String {
    list(all.iter().map(tested))
}

/// The place of a line, if the clause named is its own.
fn line(flat: &Flat, place: usize, clause: &str) -> String {
    let is_its = flat.lines.get(place).is_some_and(|line| line.clause == clause);
    if is_its { place } else { NOWHERE }.to_string()
}

fn live(flat: &Flat, it: &Live) -> String {
    let before = it.stands_before.iter().map(|one| match one {
        Unyielding::NotUnder(tests) => of("notunder", [places(tests)]),
        Unyielding::Blocked(it) => of("blocked", [blocked(flat, it)]),
    });
    list([line(flat, it.line, &it.clause), places(&it.concerns), places(&it.unmet), list(before)])
}

fn blocked(flat: &Flat, it: &Blocked) -> String {
    let by = match &it.by {
        By::NotConcerned(tests) => of("notconcerned", [places(tests)]),
        By::Met(tests) => of("met", [places(tests)]),
        By::SetAside { gives_way, to } => of("setaside", [tested(gives_way), live(flat, to)]),
    };
    list([line(flat, it.line, &it.clause), by])
}
