//! What turns on how open questions are read: conjunctions, the count, and each root with the questions that it turns on.

use super::code::{Code, Excused, Place, Run, Term, WORDS};

/// The questions that each bit of each word turns on.
struct Turns(Vec<[u64; 64]>);

impl Turns {
    fn get(&self, word: u8, bit: u32) -> u64 {
        let bits = self.0.get(usize::from(word));
        bits.zip(usize::try_from(bit).ok()).and_then(|(bits, bit)| bits.get(bit)).copied().unwrap_or(0)
    }

    fn set(&mut self, word: u8, bit: u32, questions: u64) {
        let bits = self.0.get_mut(usize::from(word));
        if let Some(slot) = bits.zip(usize::try_from(bit).ok()).and_then(|(bits, bit)| bits.get_mut(bit)) {
            *slot = questions;
        }
    }

    fn of_term(&self, term: &Term) -> u64 {
        let bits = (0..64u32).filter(|bit| term.mask.wrapping_shr(*bit) & 1 == 1);
        bits.fold(0, |all, bit| all | self.get(term.word, bit))
    }

    fn of_place(&self, place: Place) -> u64 {
        match place {
            Place::At(word, bit, _) => self.get(word, bit),
            Place::Fixed(_) => 0,
        }
    }

    fn runs(&mut self, runs: &mut [Run]) {
        for run in runs {
            for gate in &mut run.gates {
                let questions = self.of_term(&gate.first) | self.of_term(&gate.second);
                gate.is_of_readings = questions != 0;
                self.set(run.out, gate.bit, questions);
            }
        }
    }
}

impl Code {
    /// Marks what turns on readings. `of_bits` says which question each bit of the word of readings belongs to.
    pub(super) fn mark_readings(&mut self, of_bits: &[u64]) {
        let mut turns = Turns(vec![[0; 64]; WORDS]);
        for (bit, question) in (0..).zip(of_bits) {
            turns.set(self.readings, bit, *question);
        }
        turns.runs(&mut self.before);
        if let Some(count) = &mut self.count {
            let rules = count.rules.iter().fold(0, |all, (when, ..)| all | turns.of_place(*when));
            let questions = count.excuses.iter().fold(rules, |all, (when, which)| {
                let rows = match which {
                    Excused::Rows(rows) => rows.iter().fold(0, |all, (row, _)| all | turns.of_place(*row)),
                    Excused::Monitors(_) | Excused::Earlier(_) => 0,
                };
                all | turns.of_place(*when) | rows
            });
            count.is_of_readings = questions != 0;
            (0..64).for_each(|bit| turns.set(count.out, bit, questions));
        }
        turns.runs(&mut self.after);
        turns.runs(&mut self.roots);
        self.again = [&self.before, &self.after, &self.roots].map(|runs| {
            let of =
                |run: &Run| Run::of(run.out, run.gates.iter().filter(|gate| gate.is_of_readings).copied().collect());
            runs.iter().map(of).filter(|run| !run.gates.is_empty()).collect()
        });
        let [lower, upper] = self.lines;
        self.turns_on = [self.root, lower, upper].map(|word| (0..64).map(|bit| turns.get(word, bit)).collect());
    }

    /// The questions that the bits of roots turn on.
    pub(super) fn questions_of(&self, open: [u64; 3]) -> u64 {
        let mut questions = 0;
        for (turns_on, open) in self.turns_on.iter().zip(open) {
            let mut left = open;
            while left != 0 {
                let at = usize::try_from(left.trailing_zeros()).ok();
                questions |= at.and_then(|at| turns_on.get(at)).copied().unwrap_or(0);
                left &= left.wrapping_sub(1);
            }
        }
        questions
    }

    /// Each way of reading these questions: the bits of readings. Of the other questions, on which nothing turns, the first.
    pub(super) fn ways(&self, questions: u64, mut each: impl FnMut(u64) -> Option<()>) -> Option<()> {
        let many = |at: u32, readings: &[u64]| if questions.wrapping_shr(at) & 1 == 1 { readings.len() } else { 1 };
        let ways = (0..).zip(&self.questions).fold(1usize, |all, (at, of)| all.saturating_mul(many(at, of)));
        for way in 0..ways {
            let (mut rest, mut read) = (way, 0);
            for (at, readings) in (0..).zip(&self.questions) {
                let many = many(at, readings).max(1);
                read |= readings.get(rest % many).copied().unwrap_or(0);
                rest /= many;
            }
            each(read)?;
        }
        Some(())
    }
}
