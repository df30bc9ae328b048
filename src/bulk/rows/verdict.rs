//! From coverage, rows of vehicles left out, lines and relabellings, each a bit, to the verdict.

use super::build::Refused;
use super::code::{Code, Words};
use super::run::Pair;
use crate::evaluate::Bound;
use crate::program::{Class, Flat, Topic, Verdict};

/// What follows for a row.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct RowResult {
    /// The verdicts that may follow: the verdict, or a bound that holds every one of a vehicle that agrees with the row.
    pub possible: Bound,
    /// Whether [`RowResult::possible`] is the exact set.
    pub is_exact: bool,
    /// Lines that are unmet and not set aside in every case: bit *n* is line *n* of the flat program.
    pub surely: u128,
    /// Lines that may be unmet and not set aside; those that surely are among them.
    pub perhaps: u128,
    /// Presumptions that were used, a bit each: what stands of them in [`super::RowEngine::turning`] changes the outcome.
    pub presumed: u64,
    /// Topics that were not read and could make the outcome graver: bits in the order of [`Topic::ALL`].
    pub(super) unread: u64,
    /// Whether each way of reading the open questions leads to a single verdict.
    pub(super) each_is_single: bool,
}

impl RowResult {
    /// The verdict, where one alone is possible.
    #[must_use]
    pub fn verdict(&self) -> Option<Verdict> {
        self.possible.single()
    }

    /// Two ways of reading together.
    pub(super) fn or(self, other: RowResult) -> RowResult {
        let mut possible = self.possible;
        possible.join(other.possible);
        RowResult {
            possible,
            is_exact: self.is_exact && other.is_exact,
            surely: self.surely & other.surely,
            perhaps: self.perhaps | other.perhaps,
            presumed: self.presumed | other.presumed,
            unread: self.unread | other.unread,
            each_is_single: self.each_is_single && other.each_is_single,
        }
    }
}

/// What leads from the bits to verdicts.
#[derive(Debug, Clone)]
pub(super) struct Verdicts {
    is_in_force: bool,
    /// The bits of all rows of vehicles left out.
    out: u64,
    /// Outcomes of rows of vehicles left out, the gravest first and not-subject last, with the bits of the rows.
    left_out: Vec<(Option<usize>, u64)>,
    /// From, to, bit.
    becomes: Vec<(usize, usize, u64)>,
    /// Places on the ladder that lines lead to, the gravest first, with the lines.
    ladder: Vec<(usize, u128)>,
    /// Bits of unread topics, and the place of the topic.
    unread: Vec<(u64, u32)>,
    /// Outcomes that a text that was not read could make graver.
    open: Bound,
}

/// Coverage stands first among the roots.
const COVERED: u64 = 1;

impl Verdicts {
    pub(super) fn of(flat: &Flat) -> Result<Verdicts, Refused> {
        if flat.outcomes.len() > 127 {
            return Err(Refused("it has more than 127 outcomes"));
        }
        let mut next = 0u32;
        let mut bit = || {
            next += 1;
            1u64.wrapping_shl(next)
        };
        let mut left_out: Vec<(Option<usize>, u64)> = Vec::new();
        for row in &flat.left_out {
            let bit = bit();
            match left_out.iter_mut().find(|(outcome, _)| *outcome == row.outcome) {
                Some((_, bits)) => *bits |= bit,
                None => left_out.push((row.outcome, bit)),
            }
        }
        left_out.sort_by_key(|(outcome, _)| std::cmp::Reverse(*outcome));
        let becomes = flat.becomes.iter().map(|rule| (rule.from, rule.to, bit())).collect();
        let silences = flat.silences.iter().filter(|silence| silence.unread);
        let unread = silences.map(|silence| (bit(), place_of(silence.topic))).collect();
        let mut ladder: Vec<(usize, u128)> = Vec::new();
        for (at, line) in (0u32..).zip(&flat.lines) {
            let bit = 1u128.wrapping_shl(at);
            match ladder.iter_mut().find(|(outcome, _)| *outcome == line.outcome) {
                Some((_, lines)) => *lines |= bit,
                None => ladder.push((line.outcome, bit)),
            }
        }
        ladder.sort_by_key(|(outcome, _)| std::cmp::Reverse(*outcome));
        let can_be_graver = |place: &usize| {
            let verdict = Verdict::Outcome(*place);
            place + 1 < flat.outcomes.len() && verdict.class(flat) != Class::Fail
        };
        let open = (0..flat.outcomes.len()).filter(can_be_graver).map(Verdict::Outcome).collect();
        let out = left_out.iter().fold(0, |all, (_, rows)| all | rows);
        Ok(Verdicts { is_in_force: flat.in_force.is_yes(), out, left_out, becomes, ladder, unread, open })
    }

    /// The bit of a topic in results.
    pub(super) fn place_of(&self, topic: Topic) -> u32 {
        place_of(topic)
    }

    /// Where every bit is known.
    #[inline]
    pub(super) fn known(&self, code: &Code, words: &Words) -> RowResult {
        let root = words.get(code.root);
        let mut result = RowResult { is_exact: true, each_is_single: true, ..RowResult::default() };
        if root & COVERED == 0 || !self.is_in_force {
            result.possible.add(Verdict::NotSubject);
        } else if root & self.out != 0 {
            let out = self.left_out.iter().find(|(_, rows)| root & rows != 0).and_then(|(outcome, _)| *outcome);
            result.possible.add(out.map_or(Verdict::NotSubject, |place| self.become_known(place, root)));
        } else {
            let [lower, upper] = code.lines;
            let lines = u128::from(words.get(lower)) | u128::from(words.get(upper)) << 64;
            // From the least grave: without a branch, since vehicles differ.
            let ladder = self.ladder.iter().rev();
            let place = ladder.fold(0, |place, (graver, of)| if lines & of != 0 { *graver } else { place });
            result.possible.add(self.become_known(place, root));
            (result.surely, result.perhaps) = (lines, lines);
            result.unread = self.unread(result.possible, root);
        }
        result
    }

    /// The bits of the roots that are not settled and that matter.
    #[inline]
    pub(super) fn open(&self, code: &Code, pair: &Pair) -> [u64; 3] {
        let (surely, perhaps) = (pair.surely.get(code.root), pair.perhaps.get(code.root));
        if perhaps & COVERED == 0 || !self.is_in_force {
            return [0; 3];
        }
        if surely & self.out != 0 {
            return [perhaps & !surely, 0, 0];
        }
        let [lower, upper] = code.lines;
        [code.root, lower, upper].map(|word| pair.perhaps.get(word) & !pair.surely.get(word))
    }

    #[inline]
    fn become_known(&self, place: usize, root: u64) -> Verdict {
        let to = self.becomes.iter().filter(|(from, _, bit)| *from == place && root & bit != 0).map(|(_, to, _)| *to);
        Verdict::Outcome(to.max().unwrap_or(place))
    }

    fn unread(&self, possible: Bound, root: u64) -> u64 {
        if self.unread.is_empty() || !possible.meets(self.open) {
            return 0;
        }
        let topics = self.unread.iter().filter(|(bit, _)| root & bit != 0);
        topics.fold(0, |all, (_, topic)| all | 1u64.wrapping_shl(*topic))
    }

    /// Where something is not known: the bound, as the interpreter has it.
    pub(super) fn both(&self, code: &Code, pair: &Pair) -> RowResult {
        let (surely, perhaps) = (pair.surely.get(code.root), pair.perhaps.get(code.root));
        let mut found = RowResult::default();
        if !self.is_in_force {
            found.possible.add(Verdict::NotSubject);
            found.each_is_single = true;
            return found;
        }
        if surely & COVERED == 0 {
            found.possible.add(Verdict::NotSubject);
        }
        if perhaps & COVERED != 0 {
            self.covered(code, pair, &mut found);
        }
        found.each_is_single = found.possible.len() == 1;
        found
    }

    /// Of a vehicle that is covered, or may be.
    fn covered(&self, code: &Code, pair: &Pair, found: &mut RowResult) {
        let (surely, perhaps) = (pair.surely.get(code.root), pair.perhaps.get(code.root));
        let out = self.left_out.iter().position(|(_, rows)| surely & rows != 0);
        let graver = self.left_out.get(..out.unwrap_or(self.left_out.len())).unwrap_or_default();
        let add = |outcome: Option<usize>, bound: &mut Bound| match outcome {
            None => bound.add(Verdict::NotSubject),
            Some(place) => self.become_both(place, surely, perhaps, bound),
        };
        let may_be_out = graver.iter().filter(|(_, rows)| perhaps & rows != 0);
        let mut is_perhaps_out = false;
        for (outcome, _) in may_be_out {
            add(*outcome, &mut found.possible);
            is_perhaps_out = true;
        }
        if let Some((outcome, _)) = out.and_then(|out| self.left_out.get(out)) {
            add(*outcome, &mut found.possible);
            // Left out, and by this row: what was not read concerns it no more.
            if is_perhaps_out || surely & COVERED == 0 {
                found.unread = self.unread(found.possible, perhaps);
            }
            return;
        }
        let [lower, upper] = code.lines;
        let lines = |words: &Words| u128::from(words.get(lower)) | u128::from(words.get(upper)) << 64;
        let (sure, may_be) = (lines(&pair.surely), lines(&pair.perhaps));
        let least = self.ladder.iter().find(|(_, of)| sure & of != 0).map_or(0, |(place, _)| *place);
        self.become_both(least, surely, perhaps, &mut found.possible);
        for (place, of) in &self.ladder {
            if *place > least && may_be & of != 0 {
                self.become_both(*place, surely, perhaps, &mut found.possible);
            }
        }
        found.perhaps = may_be;
        found.surely = if surely & COVERED != 0 && !is_perhaps_out { sure } else { 0 };
        found.unread = self.unread(found.possible, perhaps);
    }

    /// What an outcome may become: of relabellings that hold, the gravest new outcome stands.
    fn become_both(&self, place: usize, surely: u64, perhaps: u64, bound: &mut Bound) {
        let rules = || self.becomes.iter().filter(|(from, _, _)| *from == place);
        let sure = rules().filter(|(_, _, bit)| surely & bit != 0).map(|(_, to, _)| *to).max();
        bound.add(Verdict::Outcome(sure.unwrap_or(place)));
        for (_, to, bit) in rules() {
            if sure.is_none_or(|sure| sure < *to) && perhaps & !surely & bit != 0 {
                bound.add(Verdict::Outcome(*to));
            }
        }
    }

    /// The gravest of the lines that stand; `None` where that is not settled.
    pub(super) fn deciding(&self, result: &RowResult) -> Option<u128> {
        let gravest = self.ladder.iter().find(|(_, of)| result.perhaps & of != 0);
        let lines = gravest.map_or(0, |(_, of)| result.perhaps & of);
        (result.possible.len() == 1 && lines & !result.surely == 0).then_some(lines)
    }
}

fn place_of(topic: Topic) -> u32 {
    let place = Topic::ALL.iter().position(|(known, _)| *known == topic);
    place.and_then(|place| u32::try_from(place).ok()).unwrap_or(63)
}
