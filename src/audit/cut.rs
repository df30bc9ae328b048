//! A block of CSV to fields. Blocks without quotes are cut at delimiters and line ends where they lie; the others go
//! through the rules of CSV. Both give the same fields. Records with too few or too many fields are set aside.

use super::table::{MISSING, PADDING, Table};
use csv_core::{ReadRecordResult, ReaderBuilder};
use wide::u8x16;

/// A record that has another number of fields than the header.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Ragged {
    /// Place of the record in the block.
    pub row: usize,
    /// How many fields it has.
    pub fields: usize,
}

/// A block cut into fields.
#[derive(Debug, Default)]
pub struct Cut {
    /// The fields of every record.
    pub table: Table,
    /// Records with another number of fields: every field of theirs is missing.
    pub ragged: Vec<Ragged>,
    /// Where in the block each record begins.
    pub starts: Vec<u32>,
    /// The block, where the fields do not lie in it as they are.
    block: Option<Vec<u8>>,
}

impl Cut {
    /// The text of the block, of so many bytes.
    #[must_use]
    pub fn text(&self, len: usize) -> &[u8] {
        self.block.as_ref().unwrap_or(&self.table.bytes).get(..len).unwrap_or(&[])
    }
}

/// Line ends of a text: `\n`, `\r\n` and a `\r` alone are one each.
#[must_use]
pub fn line_ends(text: &[u8]) -> u64 {
    let lines = memchr::memchr_iter(b'\n', text).count();
    let alone = memchr::memchr_iter(b'\r', text).filter(|at| text.get(at + 1) != Some(&b'\n')).count();
    u64::try_from(lines + alone).unwrap_or(0)
}

/// Cuts a block of so many bytes, after which padding lies, into records of so many fields.
#[must_use]
pub fn cut(block: Vec<u8>, len: usize, delimiter: u8, width: usize) -> Cut {
    let text = block.get(..len).unwrap_or(&[]);
    // A carriage return alone ends a record too; that, like quotes, is for the rules of CSV.
    let alone = |at: usize| text.get(at + 1) != Some(&b'\n');
    let fits = u32::try_from(len).is_ok_and(|len| len < u32::MAX);
    if fits && memchr::memchr(b'"', text).is_none() && !memchr::memchr_iter(b'\r', text).any(alone) {
        plain(block, len, delimiter, width)
    } else {
        let made = quoted(&block, len, delimiter, width);
        Cut { block: Some(block), ..made }
    }
}

fn at(place: usize) -> u32 {
    u32::try_from(place).unwrap_or(u32::MAX)
}

/// One record more: its places are kept if there are as many as the header has, and filled up if not.
fn close(cut: &mut Cut, start: u32, begun: usize) {
    let Cut { table, ragged, starts, .. } = cut;
    let (fields, width) = (table.places.len() - begun, table.width);
    if fields != width {
        ragged.push(Ragged { row: table.len, fields });
        table.places.truncate(begun);
        table.places.resize(begun + width, MISSING);
    }
    starts.push(start);
    table.len += 1;
}

/// Bytes that are looked at together.
const TOGETHER: usize = 64;

/// Bits of those bytes of sixty-four that are this one.
fn where_is(byte: u8, bytes: &[u8; TOGETHER]) -> u64 {
    let (sixteens, _) = bytes.as_chunks::<16>();
    let of = |sixteen: &[u8; 16]| u64::from(u8x16::from(*sixteen).simd_eq(u8x16::splat(byte)).to_bitmask());
    sixteens.iter().rev().fold(0, |bits, sixteen| bits << 16 | of(sixteen))
}

/// `len` is below the greatest number of 32 bits.
fn plain(block: Vec<u8>, len: usize, delimiter: u8, width: usize) -> Cut {
    let mut made = Cut { table: Table { width, ..Table::default() }, ..Cut::default() };
    made.table.places.reserve(len / 4);
    let text = block.get(..len).unwrap_or(&[]);
    let (mut from, mut begun, mut start) = (0u32, 0, 0u32);
    let end = |made: &mut Cut, start: u32, from: u32, to: u32, begun: &mut usize| {
        // A carriage return before the line end belongs to it, and a line that is empty is no record.
        let before = usize::try_from(to).ok().and_then(|to| text.get(to.checked_sub(1)?));
        let to = if to > from && before == Some(&b'\r') { to - 1 } else { to };
        if from == to && made.table.places.len() == *begun {
            return;
        }
        made.table.places.push((from, to));
        close(made, start, *begun);
        *begun = made.table.places.len();
    };
    for (first, together) in (0u32..).step_by(TOGETHER).zip(text.chunks(TOGETHER)) {
        let (line_ends, mut found) = match together.first_chunk::<TOGETHER>() {
            Some(whole) => (where_is(b'\n', whole), where_is(delimiter, whole)),
            None => {
                let mut bytes = [0; TOGETHER];
                bytes.iter_mut().zip(together).for_each(|(slot, byte)| *slot = *byte);
                let there = (1 << together.len()) - 1;
                (where_is(b'\n', &bytes) & there, where_is(delimiter, &bytes) & there)
            }
        };
        found |= line_ends;
        while found != 0 {
            let bit = found.trailing_zeros();
            found &= found - 1;
            let place = first + bit;
            if line_ends >> bit & 1 != 0 {
                end(&mut made, start, from, place, &mut begun);
                start = place + 1;
            } else {
                made.table.places.push((from, place));
            }
            from = place + 1;
        }
    }
    let len = at(len);
    if from < len || made.table.places.len() > begun {
        end(&mut made, start, from, len, &mut begun);
    }
    made.table.bytes = block;
    made
}

fn quoted(block: &[u8], len: usize, delimiter: u8, width: usize) -> Cut {
    let mut made = Cut { table: Table { width, ..Table::default() }, ..Cut::default() };
    let mut reader = ReaderBuilder::new().delimiter(delimiter).build();
    let mut output = vec![0u8; len + PADDING];
    let mut ends = vec![0usize; width + 64];
    let (mut read, mut written, mut begun, mut last, mut start) = (0, 0, 0, 0, 0);
    loop {
        let table = &mut made.table;
        let input = block.get(read..len).unwrap_or(&[]);
        let room = output.get_mut(written..).unwrap_or(&mut []);
        let (result, taken, put, fields) = reader.read_record(input, room, &mut ends);
        // Ends count from the beginning of the record's own output.
        for end in ends.iter().take(fields) {
            let before = table.places.get(begun..).and_then(|own| own.last());
            let from = before.map_or(at(last), |(_, to)| *to);
            table.places.push((from, at(last + end)));
        }
        read += taken;
        written += put;
        match result {
            ReadRecordResult::Record => {
                // Line ends before a record are those of empty lines.
                let is_end = |at: usize| at < read && matches!(block.get(at), Some(b'\n' | b'\r'));
                while is_end(start) {
                    start += 1;
                }
                close(&mut made, at(start), begun);
                (begun, last, start) = (made.table.places.len(), written, read);
            }
            ReadRecordResult::End => break,
            ReadRecordResult::InputEmpty => {}
            // There is room for all of the input, and ends that do not fit are of a record with too many fields.
            ReadRecordResult::OutputFull | ReadRecordResult::OutputEndsFull => {}
        }
    }
    made.table.bytes = output;
    made
}

#[cfg(test)]
mod tests {
    use super::{PADDING, plain, quoted};
    use proptest::prelude::*;

    /// The fields of every record, however they were cut.
    fn fields(of: &super::Cut) -> (Vec<Vec<u8>>, Vec<super::Ragged>, Vec<u32>) {
        let super::Cut { table, ragged, starts, .. } = of;
        let cells = (0..table.len).flat_map(|row| (0..table.width).map(move |column| (row, column)));
        (cells.map(|(row, column)| table.field(row, column).to_vec()).collect(), ragged.clone(), starts.clone())
    }

    proptest! {
        // The outside reference is csv-core, by which `quoted` reads; a text without quotes may go either way.
        #[test]
        fn both_ways_cut_alike(
            pieces in prop::collection::vec(
                prop::sample::select(vec!["a", "\u{80}\u{ff}", "é", ",", ",,", "\n", "\r\n", "\u{1}", "7E8", ", "]),
                0..60,
            ),
            width in 1usize..5,
        ) {
            let text = pieces.concat().into_bytes();
            let mut block = text.clone();
            block.resize(text.len() + PADDING, 0);
            let by_rules = quoted(&block, text.len(), b',', width);
            prop_assert_eq!(fields(&plain(block, text.len(), b',', width)), fields(&by_rules));
        }
    }
}
