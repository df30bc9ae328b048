//! One lot of records under their programs: judged, compared with what was recorded, counted. No lot knows of another, so
//! that lots can be worked on in any order and by any number of hands.

use super::consistent::inconsistent;
use super::difference::Standing;
use super::done::{Done, NO_OUTCOME, Outcome, error};
use super::mapping::Recorded;
use super::profile::Profile;
use super::said::{Combinations, Said, combine};
use super::silent::leave_unread;
use super::store::{Store, Values};
use super::table::{Aside, Lot, NONE};
use super::tally::{CLASSES, Tally, class_place};
use super::whose::{Rows, good, name_programs, rows_of};
use crate::bulk::{Engine, Judged, Plane, RowError};
use crate::model::Fact;
use crate::model::facts::Possible;
use crate::program::Class;
use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

/// A program that records are judged by.
#[derive(Debug)]
pub struct Judging {
    /// Its id.
    pub id: String,
    /// The program.
    pub engine: Engine,
    /// The same with every question open, if it has questions that were settled.
    pub open: Option<Engine>,
    /// What it is compared with.
    pub against: Option<Engine>,
    /// The program of its unread topics alone (`program::unread`), if it has some.
    pub unread: Option<Engine>,
    /// For each announced change its id, and the program that tells what it could turn (`program::announced_alone`).
    pub announced: Vec<(String, Engine)>,
}

/// The most records of a kind of difference that a lot names: as many as a summary lists.
const EXAMPLES: u16 = 200;

/// A worker. It keeps its caches from lot to lot.
#[derive(Debug, Default)]
pub struct Worker {
    programs: Vec<Kept>,
    lots: u64,
}

#[derive(Debug, Default)]
struct Kept {
    lists: Vec<Combinations>,
    other_lists: Vec<Combinations>,
    tally: Tally,
    recorded: Vec<Recorded>,
    /// Combinations with recorded results, as they were met.
    pairs: Vec<Pair>,
    /// For each list of combinations, combination and recorded result, its place in `pairs` plus one.
    place_of: Vec<Vec<u32>>,
    /// Names of areas that were met, and whether the program does not know them.
    areas: BTreeMap<String, bool>,
}

/// A list of combinations and one of it.
type Met = (u32, u32);

/// A combination with a recorded result.
#[derive(Debug)]
struct Pair {
    outcome: Outcome,
    ruled: usize,
    recorded: usize,
    differs: bool,
    /// Whether some outcome is left that a text which was not read could make graver.
    is_open: bool,
    count: u64,
    /// The lot in which it was met last, and its place there.
    lot: (u64, u32),
    /// Examples that the present lot named.
    named: u16,
}

/// How many recorded results a table of pairs has room for; none is the first.
const ROOM: usize = 64;

impl Worker {
    /// The tallies by program, in the order of the programs.
    #[must_use]
    pub fn tallies(mut self) -> Vec<Tally> {
        for kept in &mut self.programs {
            kept.settle();
        }
        self.programs.into_iter().map(|kept| kept.tally).collect()
    }

    /// Works on a lot. `wanted`: the result of each record, or only the counts.
    pub fn work(&mut self, programs: &[Judging], lot: &mut Lot, wanted: bool) -> Done {
        self.programs.resize_with(programs.len(), Kept::default);
        self.lots += 1;
        let places = if wanted { vec![NO_OUTCOME; lot.store.len] } else { Vec::new() };
        let unread = if wanted { vec![false; lot.store.len] } else { Vec::new() };
        let mut done = Done { places, unread, ..Done::default() };
        let mut bad = vec![false; lot.store.len];
        mark(&mut bad, &lot.aside);
        without_date(lot, &mut bad);
        inconsistent(lot, &mut bad);
        lot.left_unread = leave_unread(&mut lot.store);
        name_programs(programs, lot, &mut bad);
        let profile = Profile::of(&lot.store);
        for (place, judging) in programs.iter().enumerate() {
            let Some(rows) = rows_of(lot, place) else { continue };
            let Some(kept) = self.programs.get_mut(place) else { continue };
            kept.judge(judging, (place, self.lots), lot, &rows, &profile, &mut bad, &mut done);
        }
        done.examples.sort_by_key(|(row, _)| *row);
        done.aside = std::mem::take(&mut lot.aside);
        done.aside.sort();
        done.aside.dedup();
        let rows: BTreeSet<usize> = done.aside.iter().map(|aside| aside.row).collect();
        done.set_aside = u64::try_from(rows.len()).unwrap_or(0);
        done
    }
}

/// Sets every record aside where nothing gives a test date.
fn without_date(lot: &mut Lot, bad: &mut [bool]) {
    if lot.store.days.is_some() || lot.store.day.is_some() {
        return;
    }
    for (row, bad) in bad.iter_mut().enumerate().filter(|(_, bad)| !**bad) {
        *bad = true;
        lot.aside.push(error(row, &RowError::NoTestDate));
    }
}

fn mark(bad: &mut [bool], aside: &[Aside]) {
    for aside in aside {
        if let Some(slot) = bad.get_mut(aside.row) {
            *slot = true;
        }
    }
}

fn judged(engine: &Engine, store: &Store) -> Result<Judged, String> {
    let declared = store.declared_meanings(&engine.program().facts);
    let batch = store.batch(&declared).map_err(|error| error.to_string())?;
    Ok(engine.judge(&batch))
}

impl Kept {
    #[expect(clippy::too_many_arguments, reason = "one call of one caller, which holds all of them")]
    fn judge(
        &mut self,
        judging: &Judging,
        (place, number): (usize, u64),
        lot: &mut Lot,
        rows: &Rows,
        profile: &Profile,
        bad: &mut [bool],
        done: &mut Done,
    ) {
        self.misfits(judging, lot, rows, bad);
        // What a reader brought may be past being judged only where every record is set aside anyway.
        let wanted = bad.iter().enumerate().any(|(row, bad)| !bad && rows.has(row));
        let judged_here = match judged(&judging.engine, &lot.store) {
            _ if !wanted => return,
            Ok(judged) => judged,
            Err(fault) => {
                done.fault = Some(fault);
                return;
            }
        };
        for (row, fault) in judged_here.errors() {
            if rows.has(*row) && bad.get(*row) == Some(&false) {
                lot.aside.push(error(*row, fault));
            }
        }
        mark(bad, &lot.aside);
        let recorded = self.recorded(lot);
        let combinations = combine(&mut self.lists, &judged_here);
        self.place_of.resize_with(self.lists.len(), Vec::new);
        let good = good(rows, bad);
        let unread = unread(judging, lot);
        for (row, combination) in combinations.iter().enumerate() {
            let (Some((list, combination)), true) = (combination, good.is(row)) else { continue };
            let code = recorded.get(row).copied().unwrap_or(NONE);
            let at = self.pair(*list, *combination, code, place);
            let Some(pair) = self.pairs.get_mut(at) else { continue };
            pair.count += 1;
            done.judged += 1;
            self.tally.count(profile, row, pair.ruled, pair.recorded);
            if pair.is_open && unread.as_ref().is_some_and(|unread| unread.is(row)) {
                self.tally.so_far_as_read += 1;
                if let Some(slot) = done.unread.get_mut(row) {
                    *slot = true;
                }
            }
            if pair.lot.0 != number {
                pair.lot = (number, NO_OUTCOME);
                pair.named = 0;
            }
            if pair.differs && pair.named < EXAMPLES {
                pair.named += 1;
                done.examples.push((row, pair.outcome.clone()));
            }
            if let Some(slot) = done.places.get_mut(row) {
                if pair.lot.1 == NO_OUTCOME {
                    pair.lot.1 = u32::try_from(done.outcomes.len()).unwrap_or(NO_OUTCOME);
                    done.outcomes.push(pair.outcome.clone());
                }
                *slot = pair.lot.1;
            }
        }
        self.overall(lot, &good);
        self.questions(judging, lot, &good, &judged_here);
        self.announced(judging, lot, &good);
        self.strangers(judging, lot, &good);
        self.silent(lot, &good);
        self.against(judging, lot, &good, &combinations);
    }

    /// Counts the records of vehicles that did not answer and whose columns of a reader were left unread.
    fn silent(&mut self, lot: &Lot, good: &Plane) {
        let left = good.rows().filter(|row| lot.left_unread.get(*row) == Some(&true)).count();
        self.tally.silent += u64::try_from(left).unwrap_or(u64::MAX);
    }

    /// Counts records whose area has a name that the program does not know: it is not known of them.
    fn strangers(&mut self, judging: &Judging, lot: &Lot, good: &Plane) {
        let Some(values) = lot.store.values(Fact::Area) else { return };
        let meaning: &[Possible] = match values {
            Values::Coded(_, meaning) => meaning,
            Values::Bytes(_, meaning) => meaning,
            _ => return,
        };
        let code = |row: usize| match values {
            Values::Coded(codes, _) => codes.all().get(row).and_then(|code| usize::try_from(*code).ok()),
            Values::Bytes(codes, _) => codes.all().get(row).map(|code| usize::from(*code)),
            _ => None,
        };
        let areas = &judging.engine.program().areas;
        let mut stranger = |possible: &Possible| {
            let Possible::Text(Some(name)) = possible else { return false };
            *self.areas.entry(name.clone()).or_insert_with(|| areas.seen(name).is_none())
        };
        let strangers: Vec<bool> = meaning.iter().map(&mut stranger).collect();
        if !strangers.contains(&true) {
            return;
        }
        let mut counts = vec![0u64; meaning.len()];
        for row in good.rows() {
            if let Some(count) = code(row).and_then(|code| counts.get_mut(code)) {
                *count += 1;
            }
        }
        for ((possible, count), _) in meaning.iter().zip(counts).zip(strangers).filter(|(it, is)| *is && it.1 > 0) {
            if let Possible::Text(Some(name)) = possible {
                *self.tally.strangers.entry(name.clone()).or_default() += count;
            }
        }
    }

    /// Counts for each announced change the records that it could turn.
    fn announced(&mut self, judging: &Judging, lot: &Lot, good: &Plane) {
        for (id, engine) in &judging.announced {
            let Ok(judged) = judged(engine, &lot.store) else { continue };
            // What could be turned becomes the last outcome.
            let Some(turned) = judged.possible().last() else { continue };
            let count = good.rows().filter(|row| turned.is(*row)).count();
            *self.tally.announced.entry(id.clone()).or_default() += u64::try_from(count).unwrap_or(u64::MAX);
        }
    }

    /// Sets aside what has a value that a declared fact of the program cannot have.
    fn misfits(&mut self, judging: &Judging, lot: &mut Lot, rows: &Rows, bad: &mut [bool]) {
        let mut found = Vec::new();
        for misfit in lot.store.misfits(&judging.engine.program().facts) {
            let Some((_, Values::Declared(codes, _))) = lot.store.facts.get(misfit.column) else {
                continue;
            };
            for (row, code) in codes.all().iter().enumerate() {
                if misfit.codes.contains(code) && rows.has(row) {
                    found.push(Aside {
                        row,
                        column: format!("declared.{}", misfit.name),
                        value: misfit.value.clone(),
                        reason: format!("program `{}` expects {}", judging.id, misfit.expected),
                    });
                }
            }
        }
        mark(bad, &found);
        lot.aside.extend(found);
    }

    /// Counts the recorded results of the check beside those of the whole inspection.
    fn overall(&mut self, lot: &Lot, good: &Plane) {
        let Some(overall) = &lot.overall else { return };
        let mut pairs: BTreeMap<(u32, u32), u64> = BTreeMap::new();
        for (row, overall) in overall.iter().enumerate().filter(|(row, _)| good.is(*row)) {
            let recorded = lot.recorded.as_ref().and_then(|all| all.get(row)).copied().unwrap_or(NONE);
            *pairs.entry((recorded, *overall)).or_default() += 1;
        }
        let word = |list: &[Recorded], code: u32| {
            let result = usize::try_from(code).ok().and_then(|at| list.get(at));
            result.map_or("not recorded", Recorded::word).to_owned()
        };
        for ((recorded, overall), count) in pairs {
            let key = (word(&lot.results, recorded), word(&lot.overall_results, overall));
            *self.tally.overall.entry(key).or_default() += count;
        }
    }

    /// The recorded results by codes of this worker's own, which are the same for all lots.
    fn recorded(&mut self, lot: &Lot) -> Vec<u32> {
        let Some(codes) = &lot.recorded else { return Vec::new() };
        let mine: Vec<u32> = lot
            .results
            .iter()
            .map(|result| {
                let place = self.recorded.iter().position(|known| known == result).unwrap_or_else(|| {
                    self.recorded.push(result.clone());
                    self.recorded.len() - 1
                });
                u32::try_from(place).unwrap_or(NONE)
            })
            .collect();
        codes
            .iter()
            .map(|code| usize::try_from(*code).ok().and_then(|at| mine.get(at)).copied().unwrap_or(NONE))
            .collect()
    }

    /// The place of a combination with a recorded result.
    #[inline]
    fn pair(&mut self, list: u32, combination: u32, code: u32, program: usize) -> usize {
        let (list_at, at) = (usize::try_from(list).unwrap_or(0), usize::try_from(combination).unwrap_or(0));
        // A result that was not recorded stands first.
        let column = if code == NONE { 0 } else { usize::try_from(code).unwrap_or(ROOM).saturating_add(1) };
        if column < ROOM
            && let Some(place) = self.place_of.get(list_at).and_then(|table| table.get(at * ROOM + column))
            && let Some(place) = usize::try_from(*place).ok().and_then(|place| place.checked_sub(1))
        {
            return place;
        }
        self.new_pair(list_at, combination, column, code, program)
    }

    fn new_pair(&mut self, list: usize, combination: u32, column: usize, code: u32, program: usize) -> usize {
        let said = self.lists.get_mut(list).map_or_else(nothing_said, |list| list.said(combination));
        let recorded = usize::try_from(code).ok().and_then(|at| self.recorded.get(at)).cloned();
        let standing = Arc::new(Standing::of(recorded.as_ref(), &said));
        let pair = Pair {
            ruled: class_place(said.class),
            recorded: self.recorded_class(code, &said),
            differs: standing.differs(),
            is_open: self.lists.get(list).is_some_and(|list| list.is_open(&said)),
            outcome: Outcome { program, said, standing, recorded },
            count: 0,
            lot: (0, NO_OUTCOME),
            named: 0,
        };
        // Beyond the room of the table, which no mapping of good sense fills, pairs are looked for one by one.
        if column >= ROOM {
            let same = |it: &Pair| it.outcome.said == pair.outcome.said && it.outcome.recorded == pair.outcome.recorded;
            if let Some(place) = self.pairs.iter().position(same) {
                return place;
            }
        }
        self.pairs.push(pair);
        if let (true, Some(table)) = (column < ROOM, self.place_of.get_mut(list)) {
            let at = usize::try_from(combination).unwrap_or(0) * ROOM + column;
            if table.len() <= at {
                table.resize(at + ROOM - column, 0);
            }
            if let Some(slot) = table.get_mut(at) {
                *slot = u32::try_from(self.pairs.len()).unwrap_or(0);
            }
        }
        self.pairs.len() - 1
    }

    /// The place of the recorded class; that of an outcome is its class in this program.
    fn recorded_class(&self, code: u32, said: &Said) -> usize {
        match usize::try_from(code).ok().and_then(|at| self.recorded.get(at)) {
            None => CLASSES,
            Some(Recorded::Class(class)) => class_place(*class),
            Some(Recorded::Outcome(name)) if *name == said.verdict => class_place(said.class),
            Some(Recorded::Outcome(name)) => self
                .lists
                .iter()
                .find_map(|list| list.class_of(name))
                .map_or(class_place(Class::Undecided), class_place),
        }
    }

    fn questions(&mut self, judging: &Judging, lot: &Lot, good: &Plane, here: &Judged) {
        let Some(other) = judging.open.as_ref().and_then(|open| judged(open, &lot.store).ok()) else { return };
        let word = |plane: &Plane, at: usize| plane.0.get(at).copied().unwrap_or(0);
        for (at, good) in good.0.iter().enumerate() {
            let both = here.possible().iter().zip(other.possible());
            let differs = both.fold(0, |all, (one, other)| all | (word(one, at) ^ word(other, at)));
            self.tally.on_questions += u64::from((differs & good).count_ones());
        }
    }

    fn against(&mut self, judging: &Judging, lot: &Lot, good: &Plane, here: &[Option<Met>]) {
        let Some(other) = judging.against.as_ref().and_then(|other| judged(other, &lot.store).ok()) else { return };
        let there = combine(&mut self.other_lists, &other);
        let mut pairs: BTreeMap<(Met, Option<Met>), u64> = BTreeMap::new();
        for (row, (one, other)) in here.iter().zip(&there).enumerate() {
            if let (Some(one), true) = (one, good.is(row)) {
                *pairs.entry((*one, *other)).or_default() += 1;
            }
        }
        for ((one, other), count) in pairs {
            let said = |lists: &mut Vec<Combinations>, (list, it): (u32, u32)| {
                let at = usize::try_from(list).unwrap_or(0);
                lists.get_mut(at).map(|list| list.said(it)).unwrap_or_else(nothing_said)
            };
            let one = said(&mut self.lists, one);
            let other = other.map(|other| said(&mut self.other_lists, other)).unwrap_or_else(nothing_said);
            *self.tally.against.entry((one.possible_words(), other.possible_words())).or_default() += count;
            if one.class != other.class {
                *self.tally.against_classes.entry((one.class, other.class)).or_default() += count;
            }
        }
    }

    /// Brings what was counted by combination into the tally.
    fn settle(&mut self) {
        for pair in std::mem::take(&mut self.pairs) {
            let key = ((*pair.outcome.said).clone(), (*pair.outcome.standing).clone());
            *self.tally.said.entry(key).or_default() += pair.count;
        }
    }
}

/// The records that a text which was not read may concern.
fn unread(judging: &Judging, lot: &Lot) -> Option<Plane> {
    let judged = judged(judging.unread.as_ref()?, &lot.store).ok()?;
    // Not-subject stands first, then the two outcomes: read, and not read.
    judged.possible().get(2).cloned()
}

fn nothing_said() -> Arc<Said> {
    Arc::new(Said {
        verdict: "not judged".to_owned(),
        class: Class::Undecided,
        possible: Vec::new(),
        deciding: Vec::new(),
        reasons: Vec::new(),
        leans: false,
    })
}
