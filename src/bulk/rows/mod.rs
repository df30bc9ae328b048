//! One record at a time, for any program: a row of typed values in, the verdict and every line that stands out, without
//! allocation. A flat program becomes a short list of masked comparisons ([`gates`], [`code`]), run once with one bit a
//! question where all that is asked is known, and else with two, *surely* and *perhaps*, in Kleene's values as the
//! interpreter's; then the verdicts are a bound, and [`RowEngine::exact`] tells the exact set by the diagrams.
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
mod presume;
mod run;
mod tables;
#[cfg(test)]
mod tests;
mod turns;
mod verdict;
mod whole;

pub use build::Refused;
pub use layout::Row;
pub use verdict::RowResult;

use super::exact::{Answer, Rules};
use super::judged::RowError;
use crate::evaluate::States;
use crate::program::Topic;
use code::Code;
use layout::{Layout, VALUES};
use presume::Presumptions;
use std::sync::Arc;
use verdict::Verdicts;

/// A flat program ready for rows; shared by threads as it is.
#[derive(Debug)]
pub struct RowEngine {
    rules: Arc<Rules>,
    layout: Arc<Layout>,
    code: Code,
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
        let code = Code::of(&built, &layout, &readings)?;
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
        let Ok((classes, gone)) = row.classes.narrowed(row.monitors) else { return Err(self.contradiction(row)) };
        let states = without(row.monitors, gone);
        if self.code.monitors_are_known(states)
            && let Some(result) = self.known(&row.values, states)
        {
            return Ok(result);
        }
        self.partly(row, classes, states, u64::MAX)
    }

    /// Where all that is asked is known; `None`: something is not.
    #[inline]
    fn known(&self, values: &[i64], states: States) -> Option<RowResult> {
        let mut words = code::Words::NONE;
        self.code.start_known(&mut words, values, states)?;
        if self.code.all_readings == 0 {
            self.code.end_known(&mut words, values, states)?;
            return Some(self.verdicts.known(&self.code, &words));
        }
        if self.code.questions.is_empty() {
            return None;
        }
        // Under every way at once: what is settled then is so in each, and the rest turns on some questions alone.
        let pair = self.code.end_open(&words, values, states)?;
        let questions = self.code.questions_of(self.verdicts.open(&self.code, &pair));
        if questions == 0 {
            return Some(self.verdicts.known(&self.code, &pair.surely));
        }
        let (mut words, mut found) = (pair.surely, None::<RowResult>);
        self.code.ways(questions, |way| {
            self.code.known_again(&mut words, values, states, way)?;
            let one = self.verdicts.known(&self.code, &words);
            found = Some(found.map_or(one, |before| before.or(one)));
            Some(())
        })?;
        found
    }

    /// With two bits a question, under the presumptions that are kept.
    fn partly(&self, row: &Row, classes: exist::Classes, states: States, kept: u64) -> Result<RowResult, RowError> {
        let mut room = [0; VALUES];
        let Prepared { states, used, .. } = self.prepare(row, classes, states, kept, &mut room)?;
        let values = room.get(..row.values.len()).unwrap_or_default();
        let mut pair = self.code.start_both(values, states);
        self.code.end_both(&mut pair, values, states, used.unlisted);
        let is_whole = self.code.all_readings == 0 || !self.code.questions.is_empty();
        let questions = match self.code.questions.is_empty() {
            true => 0,
            false => self.code.questions_of(self.verdicts.open(&self.code, &pair)),
        };
        let mut found: Option<RowResult> = None;
        if questions != 0 {
            self.code.ways(questions, |way| {
                self.code.both_again(&mut pair, values, states, way, used.unlisted);
                let one = self.verdicts.both(&self.code, &pair);
                found = Some(found.map_or(one, |before| before.or(one)));
                Some(())
            });
        }
        let found = found.unwrap_or_else(|| self.verdicts.both(&self.code, &pair));
        let is_exact = found.possible.len() == 1 || is_whole && found.each_is_single;
        Ok(RowResult { is_exact, presumed: used.presumed, ..found })
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
            |kept: u64| self.partly(row, classes, states, kept).is_ok_and(|less| less.possible == whole.possible);
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
        self.kept.answer(&self.code, values, &prepared, || self.rules.answer(&whole::given(&self.rules, row)?))
    }

    /// What contradicts what, found fact by fact.
    fn contradiction(&self, row: &Row) -> RowError {
        match whole::given(&self.rules, row) {
            Err(error) => error,
            Ok(_) => RowError::NoVehicle,
        }
    }

    /// How many masked comparisons a row takes, and how many words of bits. For people who measure.
    #[must_use]
    pub fn size(&self) -> (usize, usize) {
        let runs = self.code.before.iter().chain(&self.code.after).chain(&self.code.roots);
        (runs.map(|run| run.gates.len()).sum(), self.code.loads.len())
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
