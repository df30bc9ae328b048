//! One record at a time, for any program: a row of typed values in, the verdict and every line that stands out, without
//! allocation. A flat program becomes conjunctions ([`gates`], [`code`]); what a value rules out is looked up for all of them
//! at once. They take one bit each where all that is asked is known, and else two, *surely* and *perhaps*, in Kleene's
//! values as the interpreter's; then the verdicts are a bound, and [`RowEngine::exact`] tells the exact set by the diagrams.
//!
//! Exclusions ([`exist`]) and presumptions ([`presume`]) are those of [`crate::program::Given`]. Reads no document and keeps
//! no record; for a whole ruling with its texts there is [`crate::ruling`].

mod atoms;
mod build;
mod code;
mod codes;
mod counted;
mod exist;
mod gates;
mod lay;
mod layout;
mod plan;
mod presume;
mod run;
mod slices;
mod tables;
mod verdict;
mod whole;

pub use build::Refused;
pub use layout::Row;
pub use verdict::RowResult;

use super::exact::{Answer, Rules};
use super::judged::RowError;
use crate::evaluate::States;
use crate::program::Topic;
use code::{Both, Code, Coded, Words};
use layout::{Layout, VALUES};
use presume::Presumptions;
use slices::Slices;
use std::sync::Arc;
use verdict::Verdicts;

/// A flat program ready for rows; shared by threads as it is.
#[derive(Debug)]
pub struct RowEngine {
    rules: Arc<Rules>,
    layout: Arc<Layout>,
    code: Coded,
    presumptions: Presumptions,
    verdicts: Verdicts,
    /// Lines in the order of a ruling's reasons: the gravest first.
    order: Vec<usize>,
    kept: whole::Kept,
}

impl RowEngine {
    /// A flat program made ready for rows.
    ///
    /// # Errors
    /// Where the program cannot be taken, with the reason.
    pub fn of(rules: &Arc<Rules>) -> Result<RowEngine, Refused> {
        let flat = rules.flat();
        let built = build::build(flat)?;
        let layout = Layout::new(built.own.clone(), built.texts.clone(), Arc::clone(&flat.areas), built.codes.clone());
        let readings: Vec<usize> = flat.questions.iter().map(|question| question.readings.len()).collect();
        let code = Coded::of(&built, &layout, &readings)?;
        let presumptions = Presumptions::of(flat, &layout)?;
        let mut order: Vec<usize> = (0..flat.lines.len()).collect();
        order.sort_by_key(|line| std::cmp::Reverse(flat.lines.get(*line).map(|line| line.outcome)));
        Ok(RowEngine {
            rules: Arc::clone(rules),
            layout: Arc::new(layout),
            code,
            presumptions,
            verdicts: Verdicts::of(flat)?,
            order,
            kept: whole::Kept::default(),
        })
    }

    /// The flat program.
    #[must_use]
    pub fn rules(&self) -> &Rules {
        &self.rules
    }

    /// The place in rows of a fact that the program declares.
    pub(super) fn place_of_own(&self, name: &str) -> Option<usize> {
        self.layout.own_place(name)
    }

    /// A row of which nothing is known, to be filled.
    #[must_use]
    pub fn row(&self) -> Row {
        Row::new(&self.layout)
    }

    /// The verdict, or the bound of those that may follow, and the lines that stand.
    ///
    /// # Errors
    /// Where no vehicle that can exist shows the row, or the row is another engine's.
    #[inline]
    pub fn judge(&self, row: &Row) -> Result<RowResult, RowError> {
        if !Arc::ptr_eq(&row.layout, &self.layout) {
            return Err(RowError::OtherEngine);
        }
        match &self.code {
            Coded::One(code) => self.judge_by(code, row),
            Coded::Two(code) => self.judge_by(code, row),
            Coded::Many(code) => self.judge_by(code, row),
        }
    }

    #[inline(always)]
    fn judge_by<const K: usize>(&self, code: &Code<K>, row: &Row) -> Result<RowResult, RowError> {
        let Ok((classes, gone)) = row.classes.narrowed(row.monitors) else { return Err(self.contradiction(row)) };
        let states = without(row.monitors, gone);
        if let Some((amiss, is_incomplete)) = code.known(&row.values, states) {
            match &code.slices {
                Some(slices) => return self.known_open((code, slices), row, (classes, states), &amiss, is_incomplete),
                None if code.asked.readings || code.asked.not_read && is_incomplete => {}
                None => return Ok(self.known(code, &amiss)),
            }
        }
        self.partly(code, row, classes, states, u64::MAX)
    }

    #[inline(always)]
    fn known<const K: usize>(&self, code: &Code<K>, amiss: &Words<K>) -> RowResult {
        self.verdicts.known(code.root(amiss), code.lines(amiss))
    }

    fn both<const K: usize>(&self, code: &Code<K>, amiss: &Both<K>) -> RowResult {
        let [surely, perhaps] = amiss;
        let roots = [code.root(surely), code.root(perhaps)];
        self.verdicts.both(roots, [code.lines(surely), code.lines(perhaps)])
    }

    /// Where all facts that are asked are known, but not how the text is read.
    fn known_open<const K: usize>(
        &self,
        (code, slices): (&Code<K>, &Slices),
        row: &Row,
        (classes, states): (exist::Classes, States),
        amiss: &Words<K>,
        is_incomplete: bool,
    ) -> Result<RowResult, RowError> {
        if !slices.turns_on_coverage() && code.root(amiss) & 1 == 0 {
            return Ok(self.known(code, amiss));
        }
        let mut found: Option<RowResult> = None;
        let mut add = |one: RowResult| found = Some(found.map_or(one, |before| before.or(one)));
        let said = (row.values.as_slice(), states);
        let is_limit_open = slices.has_limit && is_incomplete;
        if !is_limit_open && slices.each(amiss, [true; 2], said, |one| add(self.known(code, one))).is_some() {
            return Ok(found.unwrap_or_default());
        }
        found = None;
        let mut add = |one: RowResult| found = Some(found.map_or(one, |before: RowResult| before.or(one)));
        let _ = slices.each(&[*amiss; 2], [!is_incomplete, true], said, |one| add(self.both(code, one)));
        let found = found.unwrap_or_default();
        let is_exact = found.possible.len() == 1 || found.each_is_single;
        if is_exact || self.presumptions.is_empty() {
            return Ok(RowResult { is_exact, ..found });
        }
        let mut room = [0; VALUES];
        let presumed = self.prepare(row, classes, states, u64::MAX, &mut room)?.used.presumed;
        Ok(RowResult { is_exact, presumed, ..found })
    }

    /// With two bits a question, under the presumptions that are kept.
    fn partly<const K: usize>(
        &self,
        code: &Code<K>,
        row: &Row,
        classes: exist::Classes,
        states: States,
        kept: u64,
    ) -> Result<RowResult, RowError> {
        let mut room = [0; VALUES];
        let Prepared { states, used, .. } = self.prepare(row, classes, states, kept, &mut room)?;
        let values = room.get(..row.values.len()).unwrap_or_default();
        let (amiss, is_incomplete) = code.both(values, states, used.unlisted);
        let mut found: Option<RowResult> = None;
        if let Some(slices) = &code.slices {
            let _ = slices.each(&amiss, [!is_incomplete, true], (values, states), |one| {
                let one = self.both(code, one);
                found = Some(found.map_or(one, |before| before.or(one)));
            });
        }
        let found = found.unwrap_or_else(|| self.both(code, &amiss));
        let is_whole = !code.asked.readings || code.slices.is_some();
        let is_exact = found.possible.len() == 1 || is_whole && found.each_is_single;
        Ok(RowResult { is_exact, presumed: used.presumed, ..found })
    }

    /// The same, whatever the width.
    fn partly_of(&self, row: &Row, classes: exist::Classes, states: States, kept: u64) -> Result<RowResult, RowError> {
        match &self.code {
            Coded::One(code) => self.partly(code, row, classes, states, kept),
            Coded::Two(code) => self.partly(code, row, classes, states, kept),
            Coded::Many(code) => self.partly(code, row, classes, states, kept),
        }
    }

    /// The values of a row as the program sees them: narrowed by exclusions, and what is presumed filled in.
    fn prepare(
        &self,
        row: &Row,
        classes: exist::Classes,
        states: States,
        kept: u64,
        room: &mut [i64; VALUES],
    ) -> Result<Prepared, RowError> {
        let values = room.get_mut(..row.values.len()).unwrap_or_default();
        values.iter_mut().zip(&row.values).for_each(|(slot, value)| *slot = *value);
        if classes != row.classes {
            classes.narrow(values);
        }
        let mut prepared = Prepared { classes, states, used: presume::Used::default() };
        if self.presumptions.is_empty() {
            return Ok(prepared);
        }
        prepared.used = self.presumptions.apply(row, states, values, kept);
        if prepared.used.presumed == 0 {
            return Ok(prepared);
        }
        for (place, value) in values.iter().enumerate() {
            prepared.classes.put(place, *value);
        }
        let narrowed = prepared.classes.narrowed(states);
        let (classes, gone) = narrowed.map_err(|_| self.contradiction(row))?;
        classes.narrow(values);
        (prepared.classes, prepared.states) = (classes, without(states, gone));
        Ok(prepared)
    }

    /// The lines that surely stand, in the order of a ruling's reasons: places in the flat program.
    pub fn reasons(&self, result: RowResult) -> impl Iterator<Item = usize> + '_ {
        let standing = result.surely;
        self.order.iter().copied().filter(move |line| is_set(standing, *line))
    }

    /// The lines that decide: the gravest of those that stand. `None` where that is not settled: more than one verdict may
    /// follow, or a line that is as grave may stand or not.
    #[must_use]
    pub fn deciding(&self, result: RowResult) -> Option<u128> {
        self.verdicts.deciding(&result)
    }

    /// The presumptions without which other verdicts would be possible, a bit each: none of them can be dropped. Of the
    /// bounds, as [`RowEngine::judge`] has them.
    ///
    /// # Errors
    /// As [`RowEngine::judge`].
    pub fn turning(&self, row: &Row) -> Result<u64, RowError> {
        let whole = self.judge(row)?;
        if whole.presumed == 0 {
            return Ok(0);
        }
        let Ok((classes, gone)) = row.classes.narrowed(row.monitors) else { return Err(self.contradiction(row)) };
        let states = without(row.monitors, gone);
        let same =
            |kept: u64| self.partly_of(row, classes, states, kept).is_ok_and(|less| less.possible == whole.possible);
        if same(0) {
            return Ok(0);
        }
        let mut kept = whole.presumed;
        for bit in (0..64).map(|at| 1u64 << at).filter(|bit| whole.presumed & bit != 0) {
            if same(kept & !bit) {
                kept &= !bit;
            }
        }
        Ok(kept)
    }

    /// Topics of texts that were not read and that could make the outcome graver.
    pub fn so_far_as_read(&self, result: RowResult) -> impl Iterator<Item = Topic> + '_ {
        let unread = result.unread;
        Topic::ALL
            .iter()
            .map(|(topic, _)| *topic)
            .filter(move |topic| unread >> self.verdicts.place_of(*topic) & 1 == 1)
    }

    /// The exact verdicts, and the lines that decide in every case and in some: by the diagrams, and kept for rows that say
    /// the same.
    ///
    /// # Errors
    /// As [`RowEngine::judge`] and [`Rules::answer`].
    pub fn exact(&self, row: &Row) -> Result<Arc<Answer>, RowError> {
        if !Arc::ptr_eq(&row.layout, &self.layout) {
            return Err(RowError::OtherEngine);
        }
        let Ok((classes, gone)) = row.classes.narrowed(row.monitors) else { return Err(self.contradiction(row)) };
        let mut room = [0; VALUES];
        let prepared = self.prepare(row, classes, without(row.monitors, gone), u64::MAX, &mut room)?;
        let values = room.get(..row.values.len()).unwrap_or_default();
        self.kept.answer(self.code.asked(), values, &prepared, || self.rules.answer(&whole::given(&self.rules, row)?))
    }

    /// What contradicts what, found fact by fact.
    fn contradiction(&self, row: &Row) -> RowError {
        match whole::given(&self.rules, row) {
            Err(error) => error,
            Ok(_) => RowError::NoVehicle,
        }
    }

    /// How many conjunctions a program asks for, and how many words their bits take. For people who measure.
    #[must_use]
    pub fn size(&self) -> (usize, usize) {
        (self.code.asked().conjunctions, self.code.words())
    }
}

/// A row as the program sees it.
#[derive(Debug, Clone, Copy)]
struct Prepared {
    classes: exist::Classes,
    states: States,
    used: presume::Used,
}

/// The states without those of monitors that no such vehicle supports.
#[inline]
fn without(states: States, gone: u32) -> States {
    States { complete: states.complete & !gone, incomplete: states.incomplete & !gone, ..states }
}

fn is_set(lines: u128, line: usize) -> bool {
    u32::try_from(line).ok().and_then(|line| lines.checked_shr(line)).is_some_and(|bit| bit & 1 == 1)
}
