//! Trouble codes as a flat program tells them apart: each code is of some classes, a bit each, and a list is the classes of
//! its codes together. Nothing else of a list can change an answer, for each test asks whether some code of a kind is
//! there.

use crate::model::{CodeGroup, CodeRange, TroubleCode};

/// The most classes: the other bits of a value say how a list stands.
const MOST: usize = 56;

/// The list holds a code.
pub(super) const SOME: i64 = 1 << 56;
/// The list may hold more codes.
pub(super) const MORE: i64 = 1 << 57;
/// The vehicle may be without the list.
pub(super) const MAY_BE_ABSENT: i64 = 1 << 58;
/// The vehicle may have the list.
pub(super) const MAY_BE_PRESENT: i64 = 1 << 59;
/// The bits of classes.
pub(super) const CLASSES: i64 = (1 << 56) - 1;

/// What a class is.
#[derive(Debug, Clone, PartialEq, Eq)]
enum Class {
    /// Codes of a group.
    In(CodeGroup),
    /// Codes of the part of a group that was not read.
    Unread(CodeGroup),
    /// Codes that are of no part of a group.
    Out(CodeGroup),
    /// Codes of a row of a table.
    Row(Vec<CodeRange>),
}

/// The classes, and of which of them each code is.
#[derive(Debug, Clone, Default)]
pub(super) struct Classes {
    list: Vec<Class>,
    /// From which code on, and the classes of codes in digits alone and of the others.
    runs: Vec<(u16, [u64; 2])>,
}

impl Class {
    #[cfg(test)]
    fn holds(&self, code: TroubleCode) -> bool {
        match self {
            Class::In(group) => group.contains(code) == Some(true),
            Class::Unread(group) => group.contains(code).is_none(),
            Class::Out(group) => group.contains(code) == Some(false),
            Class::Row(ranges) => code.two_bytes().is_some_and(|code| ranges.iter().any(|range| range.contains(code))),
        }
    }

    fn ranges(&self) -> impl Iterator<Item = CodeRange> + '_ {
        let (first, second): (&[CodeRange], &[CodeRange]) = match self {
            Class::In(group) | Class::Unread(group) | Class::Out(group) => (&group.ranges, &group.unread),
            Class::Row(ranges) => (ranges, &[]),
        };
        first.iter().chain(second).copied()
    }
}

/// Whether each of the four digits is a decimal one.
fn is_decimal(code: u16) -> bool {
    CodeRange { first: 0, last: u16::MAX, digits_only: true }.contains(code)
}

impl Classes {
    /// The bit of a class; `None` where there are too many.
    fn bit(&mut self, class: Class) -> Option<u64> {
        let place = self.list.iter().position(|known| *known == class).unwrap_or_else(|| {
            self.list.push(class);
            self.list.len() - 1
        });
        (place < MOST).then_some(1 << place)
    }

    /// Codes of a group, and those of its part that was not read.
    pub(super) fn of_group(&mut self, group: &CodeGroup) -> Option<(u64, u64)> {
        let inside = self.bit(Class::In(group.clone()))?;
        let unread = match group.unread.is_empty() {
            true => 0,
            false => self.bit(Class::Unread(group.clone()))?,
        };
        Some((inside, unread))
    }

    /// Codes that are of no part of a group.
    pub(super) fn out_of(&mut self, group: &CodeGroup) -> Option<u64> {
        self.bit(Class::Out(group.clone()))
    }

    /// Codes of a row of a table.
    pub(super) fn of_row(&mut self, ranges: &[CodeRange]) -> Option<u64> {
        self.bit(Class::Row(ranges.to_vec()))
    }

    /// Makes the table that codes are looked up in, once every class is there.
    pub(super) fn settle(&mut self) {
        let mut starts: Vec<u16> = vec![0];
        for range in self.list.iter().flat_map(Class::ranges) {
            starts.push(range.first);
            starts.extend(range.last.checked_add(1));
        }
        starts.sort_unstable();
        starts.dedup();
        self.runs = starts.iter().map(|start| (*start, self.of_run(*start))).collect();
    }

    /// The classes of the codes from a start of a run on: in digits alone, and the others. A range that begins within a run
    /// would begin another one, so that whether it holds a code turns on nothing but its digits.
    fn of_run(&self, start: u16) -> [u64; 2] {
        let mut found = [0; 2];
        for (place, class) in self.list.iter().enumerate() {
            let whole = |range: &CodeRange| (range.first..=range.last).contains(&start);
            let any = |ranges: &[CodeRange], decimal: bool| {
                ranges.iter().any(|range| whole(range) && (decimal || !range.digits_only))
            };
            for (slot, decimal) in found.iter_mut().zip([true, false]) {
                let holds = match class {
                    Class::In(group) => any(&group.ranges, decimal),
                    Class::Unread(group) => !any(&group.ranges, decimal) && any(&group.unread, decimal),
                    Class::Out(group) => !any(&group.ranges, decimal) && !any(&group.unread, decimal),
                    Class::Row(ranges) => any(ranges, decimal),
                };
                *slot |= u64::from(holds) << place;
            }
        }
        found
    }

    /// The classes of a code.
    pub(super) fn of(&self, code: TroubleCode) -> u64 {
        let Some(bytes) = code.two_bytes() else { return self.of_others() };
        let run = self.runs.partition_point(|(start, _)| *start <= bytes).saturating_sub(1);
        let [decimal, other] = self.runs.get(run).map_or([0; 2], |(_, classes)| *classes);
        if is_decimal(bytes) { decimal } else { other }
    }

    /// The classes of a code without two bytes.
    fn of_others(&self) -> u64 {
        let is_out = |class: &Class| matches!(class, Class::Out(_));
        self.list.iter().enumerate().filter(|(_, class)| is_out(class)).fold(0, |found, (place, _)| found | 1 << place)
    }

    /// Codes that together are of these classes and of no other: what stands for a list when a whole vehicle is asked for.
    pub(super) fn examples(&self, classes: u64) -> Vec<TroubleCode> {
        let other = TroubleCode::J1939 { spn: 1, fmi: 0 };
        let mut found = Vec::new();
        if self.of_others() & !classes == 0 {
            found.push(other);
        }
        for (place, (start, _)) in self.runs.iter().enumerate() {
            let end = self.runs.get(place + 1).map_or(u16::MAX, |(next, _)| next - 1);
            for decimal in [true, false] {
                let code = (*start..=end).find(|code| is_decimal(*code) == decimal);
                found.extend(code.map(TroubleCode::obd).filter(|code| self.of(*code) & !classes == 0));
            }
        }
        found
    }

    /// Whether each class says of a code what its group or row does: looked at by tests.
    #[cfg(test)]
    pub(super) fn holds(&self, place: usize, code: TroubleCode) -> Option<bool> {
        self.list.get(place).map(|class| class.holds(code))
    }
}

#[cfg(test)]
#[expect(clippy::unwrap_used, reason = "a test stops at the first wrong thing")]
mod tests {
    use super::Classes;
    use crate::model::{CodeGroup, CodeRange, TroubleCode};

    /// Every two-byte code and one of the other kind are of the classes that [`CodeGroup::contains`] and
    /// [`CodeRange::contains`] say.
    #[test]
    fn each_code_is_of_its_classes() {
        let range = |first, last, digits_only| CodeRange { first, last, digits_only };
        let group = CodeGroup {
            ranges: vec![range(0x0100, 0x01FF, true), range(0x0420, 0x0420, false), range(0xFFF0, 0xFFFF, false)],
            unread: vec![range(0x0180, 0x0240, false), range(0x0000, 0x0003, true)],
        };
        let mut classes = Classes::default();
        classes.of_group(&group).unwrap();
        classes.out_of(&group).unwrap();
        classes.of_row(&[range(0x0300, 0x0310, true), range(0x030A, 0x0500, false)]).unwrap();
        // Runs of one code, and of one with a letter at their end.
        classes.of_row(&[range(0x0700, 0x0700, false)]).unwrap();
        classes.of_row(&[range(0x0809, 0x080A, false)]).unwrap();
        classes.settle();
        let all = (0..=u16::MAX).map(TroubleCode::obd).chain([TroubleCode::J1939 { spn: 100, fmi: 1 }]);
        for code in all {
            for place in 0..6 {
                let expected = classes.holds(place, code).unwrap();
                assert_eq!(classes.of(code) >> place & 1 == 1, expected, "{code} class {place}");
            }
            let whole = classes.examples(classes.of(code)).into_iter().fold(0, |all, one| all | classes.of(one));
            assert_eq!(whole, classes.of(code), "{code}");
        }
    }
}
