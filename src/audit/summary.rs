//! The summary of an audit as data: what an auditor looks at. Texts, JSON and pages are made of it in `report`.

use super::difference::Standing;
use super::federal::{self, Counts};
use super::lot::Judging;
use super::table::Aside;
use super::tally::{Place, Tally, class_place};
use crate::model::Fact;
use crate::program::Class;
use std::collections::BTreeMap;

/// What is counted while records are taken in order.
#[derive(Debug, Clone, Default)]
pub struct Counted {
    /// Records read.
    pub read: u64,
    /// Records set aside.
    pub set_aside: u64,
    /// Remarks by kind of reason.
    pub reasons: BTreeMap<String, Remarks>,
    /// Records whose id a record before them has, and the first of them.
    pub repeated: Repeated,
    /// Files that were given more than once, each read once.
    pub given_twice: Vec<String>,
    /// The first records of each kind of difference.
    pub examples: BTreeMap<Standing, Vec<Example>>,
    /// The first records that differ, whatever the kind.
    pub listed: Vec<(Standing, Example)>,
}

/// The most examples of a kind of difference that are named.
const EXAMPLES: usize = 3;
/// The most records that differ that are listed.
pub const LISTED: usize = 200;

impl Counted {
    /// Whether another record of a kind of difference is named.
    #[must_use]
    pub fn wants(&self, standing: &Standing) -> bool {
        self.listed.len() < LISTED || self.examples.get(standing).is_none_or(|some| some.len() < EXAMPLES)
    }

    /// Names a record that differs, if another is wanted; records come in their order.
    pub fn name(&mut self, standing: &Standing, example: Example) {
        let kind = self.examples.entry(standing.clone()).or_default();
        if kind.len() < EXAMPLES {
            kind.push(example.clone());
        }
        if self.listed.len() < LISTED {
            self.listed.push((standing.clone(), example));
        }
    }
}

/// Remarks of one kind.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Remarks {
    /// How many.
    pub count: u64,
    /// Values that they are about, the first few different ones, with how often each occurs.
    pub values: BTreeMap<String, u64>,
}

/// The most values of a kind of remark that are counted one by one.
const COUNTED_VALUES: usize = 200;
/// The most of them that are shown.
const SHOWN_VALUES: usize = 4;

impl Remarks {
    /// Counts one.
    pub fn add(&mut self, value: &str) {
        self.count += 1;
        if !value.is_empty() && (self.values.contains_key(value) || self.values.len() < COUNTED_VALUES) {
            *self.values.entry(value.to_owned()).or_default() += 1;
        }
    }

    /// The most frequent values.
    #[must_use]
    pub fn most(&self) -> Vec<(String, u64)> {
        let mut all = most_first(self.values.iter().map(|(value, count)| (value.clone(), *count)).collect());
        all.truncate(SHOWN_VALUES);
        all
    }
}

/// Records whose id a record before them has.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Repeated {
    /// How many.
    pub count: u64,
    /// The first of them: file and number of the record.
    pub first: Option<(String, u64)>,
    /// Records whose ids were not compared, since as many as are kept stood before.
    pub beyond: u64,
}

/// A record named as an example.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Example {
    /// File.
    pub file: String,
    /// Number of the record in it, from 1.
    pub row: u64,
    /// The line on which it begins, from 1, in a file that has lines.
    pub line: Option<u64>,
    /// Its own id, if there is one.
    pub record: Option<String>,
    /// Clauses that decide.
    pub deciding: Vec<String>,
    /// Why, with the law.
    pub reasons: Vec<String>,
}

impl Aside {
    /// The column and the reason without the values in it, for counting.
    #[must_use]
    pub fn reason_kind(&self) -> String {
        let reason = self.reason.split([':', ';', '"']).next().unwrap_or("").trim();
        if self.column.is_empty() { reason.to_owned() } else { format!("{}: {reason}", self.column) }
    }
}

/// Records by class of outcome, in the order of [`Class::ALL`].
pub type ByClass = [u64; 8];

/// A kind of difference.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Difference {
    /// In words.
    pub kind: String,
    /// Records.
    pub count: u64,
    /// The clauses that decide most of them.
    pub deciding: Vec<(String, u64)>,
    /// Why: sentences with their law, the most frequent first.
    pub reasons: Vec<(String, u64)>,
    /// The first of them.
    pub examples: Vec<Example>,
}

/// What another program would change.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Change {
    /// What the records are ruled now, and then.
    pub from: String,
    /// Then.
    pub to: String,
    /// Records.
    pub count: u64,
}

/// The summary.
#[derive(Debug, Clone, Default)]
pub struct Summary {
    /// Files, in the order they were read.
    pub files: Vec<String>,
    /// Programs that judged records, with their titles and how many.
    pub programs: Vec<(String, String, u64)>,
    /// Records read.
    pub read: u64,
    /// Records judged.
    pub judged: u64,
    /// Records set aside.
    pub set_aside: u64,
    /// Remarks on those set aside, by kind, the most frequent first.
    pub reasons: Vec<(String, Remarks)>,
    /// Records whose id a record before them has.
    pub repeated: Repeated,
    /// Files that were given more than once, each read once.
    pub given_twice: Vec<String>,
    /// Records with a recorded result.
    pub recorded: u64,
    /// Records whose recorded result is what the program says.
    pub same: u64,
    /// Records with more than one possible outcome, the recorded one among them.
    pub possible: u64,
    /// Records with a recorded result for whose date the program's file holds no law.
    pub no_law: u64,
    /// Records whose recorded result is not what the program says.
    pub differing: u64,
    /// Kinds of difference, the most frequent first.
    pub differences: Vec<Difference>,
    /// The first records that differ, at most [`LISTED`], with the kind in words.
    pub listed: Vec<(String, Example)>,
    /// Records by recorded result of the on-board check and of the whole inspection, the most frequent first.
    pub overall: Vec<((String, String), u64)>,
    /// By class of outcome.
    pub classes: ByClass,
    /// By model year; `None` is not known.
    pub by_year: Vec<(Option<u16>, ByClass)>,
    /// By fuel.
    pub by_fuel: Vec<(String, ByClass)>,
    /// By month.
    pub by_month: Vec<(String, ByClass)>,
    /// Clauses that decide, with the program, the most frequent first.
    pub deciding: Vec<(String, String, u64)>,
    /// Records whose outcome depends on how an open question is read; `None` where no program has questions.
    pub on_questions: Option<u64>,
    /// Names of areas that their program does not know, with how many records, the most frequent first.
    pub strangers: Vec<(String, u64)>,
    /// Records of vehicles that did not answer and whose columns of a reader were left unread.
    pub silent: u64,
    /// Records whose outcome stands so far as texts were read: one that was not could make it graver.
    pub so_far_as_read: u64,
    /// Records that each announced change could turn, by its id.
    pub announced: Vec<(String, u64)>,
    /// Records decided by a line that rests on secondary sources, practice or memory alone.
    pub leaning: u64,
    /// What it was compared with.
    pub against: Option<String>,
    /// What that would change, the most frequent first; what stays the same is left out.
    pub changes: Vec<Change>,
    /// The cells of the federal report by model year and class of vehicle.
    pub cells: BTreeMap<Place, Counts>,
}

impl Summary {
    /// Sums up the tallies of the programs.
    #[must_use]
    pub fn of(
        programs: &[Judging],
        names: &[String],
        files: &[String],
        counted: Counted,
        tallies: &[Tally],
        against: Option<&str>,
    ) -> Summary {
        let mut all = Tally::default();
        tallies.iter().for_each(|tally| all.join(tally));
        let mut summary = Summary {
            files: files.to_vec(),
            read: counted.read,
            judged: all.judged,
            set_aside: counted.set_aside,
            reasons: {
                let mut reasons: Vec<(String, Remarks)> = counted.reasons.into_iter().collect();
                reasons.sort_by(|one, other| other.1.count.cmp(&one.1.count).then_with(|| one.0.cmp(&other.0)));
                reasons
            },
            repeated: counted.repeated,
            given_twice: counted.given_twice,
            on_questions: programs.iter().any(|it| it.open.is_some()).then_some(all.on_questions),
            strangers: most_first(all.strangers.clone().into_iter().collect()),
            silent: all.silent,
            so_far_as_read: all.so_far_as_read,
            announced: all.announced.clone().into_iter().collect(),
            against: against.map(str::to_owned),
            cells: federal::cells(&all),
            ..Summary::default()
        };
        for ((judging, name), tally) in programs.iter().zip(names).zip(tallies).filter(|(_, tally)| tally.judged > 0) {
            summary.programs.push((name.clone(), judging.engine.program().title.clone(), tally.judged));
            summary.decided(name, tally);
        }
        summary.deciding.sort_by(|one, other| other.2.cmp(&one.2).then_with(|| one.cmp(other)));
        summary.broken_down(&all);
        summary.overall = all.overall.iter().map(|(results, count)| (results.clone(), *count)).collect();
        summary.overall.sort_by(|one, other| other.1.cmp(&one.1).then_with(|| one.0.cmp(&other.0)));
        summary.compared(&all, counted.examples);
        summary.listed = counted.listed.into_iter().map(|(standing, example)| (standing.words(), example)).collect();
        let changed = all.against.iter().filter(|((from, to), _)| from != to);
        summary.changes =
            changed.map(|((from, to), count)| Change { from: from.clone(), to: to.clone(), count: *count }).collect();
        summary.changes.sort_by(|one, other| {
            other.count.cmp(&one.count).then_with(|| (&one.from, &one.to).cmp(&(&other.from, &other.to)))
        });
        summary
    }

    /// Whether what was read is what was judged and what was set aside.
    ///
    /// # Errors
    /// With what does not add up, which is a mistake of this program.
    pub fn adds_up(&self) -> Result<(), String> {
        let by_class: u64 = self.classes.iter().sum();
        let compared = self.same + self.possible + self.no_law + self.differing;
        if self.read == self.judged + self.set_aside && by_class == self.judged && compared == self.recorded {
            return Ok(());
        }
        Err(format!(
            "{} records were read, {} judged ({by_class} by class; {} with a recorded result, {compared} compared) and {} \
             set aside, which does not add up; this is a mistake of wherefore, and nothing was written",
            self.read, self.judged, self.recorded, self.set_aside
        ))
    }

    fn decided(&mut self, program: &str, tally: &Tally) {
        let mut clauses: BTreeMap<&str, u64> = BTreeMap::new();
        for ((said, _), count) in &tally.said {
            for clause in &said.deciding {
                *clauses.entry(clause).or_default() += count;
            }
            if said.leans {
                self.leaning += count;
            }
        }
        self.deciding.extend(clauses.into_iter().map(|(clause, count)| (program.to_owned(), clause.to_owned(), count)));
    }

    fn broken_down(&mut self, all: &Tally) {
        let mut years: BTreeMap<Option<u16>, ByClass> = BTreeMap::new();
        for (place, results, count) in all.results() {
            add(years.entry(place.year).or_default(), results.ruled, count);
            add(&mut self.classes, results.ruled, count);
            if results.recorded.is_some() {
                self.recorded += count;
            }
        }
        self.by_year = years.into_iter().collect();
        let mut fuels: BTreeMap<Option<usize>, ByClass> = BTreeMap::new();
        all.fuels().for_each(|(fuel, class, count)| add(fuels.entry(fuel).or_default(), class, count));
        let word = |fuel: Option<usize>| fuel.and_then(|at| Fact::Fuel.words().get(at)).copied().unwrap_or("not known");
        self.by_fuel = fuels.into_iter().map(|(fuel, counts)| (word(fuel).to_owned(), counts)).collect();
        let mut months: BTreeMap<Option<(usize, usize)>, ByClass> = BTreeMap::new();
        all.months().for_each(|(month, class, count)| add(months.entry(month).or_default(), class, count));
        let name = |month: Option<(usize, usize)>| {
            month.map_or("not known".to_owned(), |(year, month)| format!("{year}-{month:02}"))
        };
        self.by_month = months.into_iter().map(|(month, counts)| (name(month), counts)).collect();
    }

    fn compared(&mut self, all: &Tally, mut examples: BTreeMap<Standing, Vec<Example>>) {
        type Counts<'t> = BTreeMap<&'t str, u64>;
        let mut kinds: BTreeMap<&Standing, (u64, Counts<'_>, Counts<'_>)> = BTreeMap::new();
        for ((said, standing), count) in &all.said {
            match standing {
                Standing::NotRecorded => {}
                Standing::Same => self.same += count,
                Standing::Possible => self.possible += count,
                Standing::NoLaw => self.no_law += count,
                Standing::Differs(..) => {
                    self.differing += count;
                    let kind = kinds.entry(standing).or_default();
                    kind.0 += count;
                    for clause in &said.deciding {
                        *kind.1.entry(clause).or_default() += count;
                    }
                    for reason in &said.reasons {
                        *kind.2.entry(reason).or_default() += count;
                    }
                }
            }
        }
        self.differences = kinds
            .into_iter()
            .map(|(standing, (count, clauses, reasons))| Difference {
                kind: standing.words(),
                count,
                deciding: most_first(owned(clauses)),
                reasons: most_first(owned(reasons)),
                examples: examples.remove(standing).unwrap_or_default(),
            })
            .collect();
        self.differences.sort_by(|one, other| other.count.cmp(&one.count).then_with(|| one.kind.cmp(&other.kind)));
    }
}

fn add(counts: &mut ByClass, class: Class, count: u64) {
    if let Some(slot) = counts.get_mut(class_place(class)) {
        *slot += count;
    }
}

fn owned(counts: BTreeMap<&str, u64>) -> Vec<(String, u64)> {
    counts.into_iter().map(|(name, count)| (name.to_owned(), count)).collect()
}

fn most_first(mut list: Vec<(String, u64)>) -> Vec<(String, u64)> {
    list.sort_by(|one, other| other.1.cmp(&one.1).then_with(|| one.0.cmp(&other.0)));
    list
}
