//! Epochs: runs of dates on which the flat program is the same, for a visit on the very date whose law applies.

use super::{Selection, select};
use crate::model::{Date, Fact, date_of};
use crate::program::{Block, Condition, FactRef, Item, Program, Test, dump};
use std::collections::BTreeSet;

/// Programs without an end are cut up through this year at least: ages and parities go on for ever, an analysis does
/// not. A design figure, not a law's.
pub const HORIZON_YEAR: i16 = 2035;

/// The first day looked at where a program does not say when it came into force.
const FIRST_DAY: Date = Date::constant(1990, 1, 1);

/// A run of dates, both ends included.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct Epoch {
    /// First day.
    pub from: Date,
    /// Last day.
    pub through: Date,
}

/// Maximal runs of dates on which the program's own readings and options select the same flat program, from the first
/// day in force to the last (or to the end of [`HORIZON_YEAR`], or of the year after the last change if that is
/// later). Runs in between on which nothing is in force are given too. Drafts are left out.
#[must_use]
pub fn epochs(program: &Program) -> Vec<Epoch> {
    let cuts = Cuts::of(program);
    let Some((first, last)) = cuts.range() else {
        return Vec::new();
    };
    let mut starts: BTreeSet<Date> = cuts.days.range(first..=last).copied().collect();
    starts.insert(first);
    if cuts.yearly {
        let years = first.year()..=last.year();
        starts.extend(years.filter_map(|year| Date::new(year, 1, 1).ok()).filter(|day| (first..=last).contains(day)));
    }
    let mut epochs: Vec<(Epoch, String)> = Vec::new();
    let starts: Vec<Date> = starts.into_iter().collect();
    for (place, from) in starts.iter().enumerate() {
        let through = starts.get(place + 1).and_then(|next| next.yesterday().ok()).unwrap_or(last);
        let text = select(program, &Selection::on(*from)).map(|flat| dump(&flat)).unwrap_or_default();
        match epochs.last_mut() {
            Some((epoch, same)) if *same == text => epoch.through = through,
            _ => epochs.push((Epoch { from: *from, through }, text)),
        }
    }
    epochs.into_iter().map(|(epoch, _)| epoch).collect()
}

/// The days on which a flat program may differ from that of the day before, whatever readings and options are taken:
/// from one such day to the eve of the next it is the same, for a visit on the very date whose law applies. With the
/// flag, each 1 January is such a day too. Drafts are left out.
#[must_use]
pub fn days_of_change(program: &Program) -> (BTreeSet<Date>, bool) {
    let cuts = Cuts::of(program);
    (cuts.days, cuts.yearly)
}

struct Cuts {
    days: BTreeSet<Date>,
    yearly: bool,
    first: Option<Date>,
    last: Option<Date>,
    open: bool,
    any: bool,
}

impl Cuts {
    fn of(program: &Program) -> Cuts {
        let mut cuts = Cuts { days: BTreeSet::new(), yearly: false, first: None, last: None, open: false, any: false };
        for block in program.blocks.iter().filter(|block| !block.draft) {
            cuts.add(block);
            block.item.each_condition(&mut |condition| cuts.add_condition(condition));
        }
        for row in program.tables.iter().flat_map(|table| &table.rows) {
            cuts.add_condition(&row.condition);
        }
        cuts
    }

    fn add(&mut self, block: &Block) {
        let after = block.window.through.and_then(|day| day.tomorrow().ok());
        self.days.extend(block.window.from.into_iter().chain(after).chain(block.published));
        block.each_citation(&mut |citation| {
            let after = citation.window.through.and_then(|day| day.tomorrow().ok());
            self.days.extend(citation.window.from.into_iter().chain(after));
        });
        if matches!(block.item, Item::InForce) {
            let from = block.window.from.unwrap_or(FIRST_DAY);
            self.any = true;
            self.first = Some(self.first.map_or(from, |first| first.min(from)));
            match block.window.through {
                None => self.open = true,
                Some(through) => self.last = self.last.max(Some(through)),
            }
        }
    }

    fn add_condition(&mut self, condition: &Condition<String>) {
        condition.each_test(&mut |test| match test {
            Test::Dated(_) => self.yearly = true,
            Test::Number { fact: FactRef::Known(Fact::TestDate), least, most } => {
                self.days.extend(least.and_then(date_of));
                self.days.extend(most.and_then(|most| date_of(most.checked_add(1)?)));
            }
            _ => {}
        });
    }

    fn range(&self) -> Option<(Date, Date)> {
        let first = self.first.filter(|_| self.any)?;
        let last = if self.open {
            let latest = self.days.last().map_or(first.year(), |day| day.year());
            let year = HORIZON_YEAR.max(latest.saturating_add(1));
            Date::new(year, 12, 31).ok()?
        } else {
            self.last?
        };
        (first <= last).then_some((first, last))
    }
}
