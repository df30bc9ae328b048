//! Arrays of a host's own structures: where each field lies is told once, and records are read where they lie.

use crate::texts::{given, put};
use crate::{WhereforeError, WhereforeProgram, WhereforeText, done, freed, held, refusal, request};
use std::ffi::c_void;

/// Width of a field: one byte, signed.
pub const WHEREFORE_I8: u32 = 0;
/// Width of a field: one byte.
pub const WHEREFORE_U8: u32 = 1;
/// Width of a field: two bytes, signed.
pub const WHEREFORE_I16: u32 = 2;
/// Width of a field: two bytes.
pub const WHEREFORE_U16: u32 = 3;
/// Width of a field: four bytes, signed.
pub const WHEREFORE_I32: u32 = 4;
/// Width of a field: four bytes.
pub const WHEREFORE_U32: u32 = 5;
/// Width of a field: eight bytes, signed.
pub const WHEREFORE_I64: u32 = 6;

/// A field of a host's structure.
#[repr(C)]
#[derive(Debug, Clone, Copy)]
pub struct WhereforeField {
    /// Key of the fact in a snapshot document, `vehicle.model_year`; `visit.date` (days since 1970-01-01) has to be one.
    /// `pid-01` is the four data bytes of service $01 PID $01, the first one highest. Yes is 1, no is 0, a word its place in
    /// `wherefore_rows_words`, a number itself. Texts and lists are places among values after the key,
    /// `codes.stored=[[],["P0420"]]`.
    pub key: *const u8,
    /// Bytes of the key.
    pub key_len: usize,
    /// Where the field lies in a record: `offsetof`.
    pub offset: usize,
    /// Its width, `WHEREFORE_I8` and the others.
    pub width: u32,
    /// The value that says *not known*; `INT64_MIN` where none does.
    pub not_known: i64,
}

/// What is said of a record.
#[repr(C)]
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct WhereforeOutcome {
    /// How many verdicts may follow: 1 is decided, 0 is set aside.
    pub possible: u32,
    /// Class of the verdict: 0 pass, 1 conditional, 2 other test, 3 reject, 4 fail, 5 not subject, 6 no law in the file,
    /// 7 undecided, 8 set aside.
    pub class_: u32,
}

/// A program for records of one structure.
#[derive(Debug)]
pub struct WhereforeRows {
    rows: wherefore::Rows,
    fields: Vec<(usize, u32, i64)>,
    size: usize,
}

/// Records that were judged.
#[derive(Debug)]
pub struct WhereforeJudged(wherefore::RowsJudged);

/// Bytes of a field of a width; `None`: there is no such width.
fn bytes_of(width: u32) -> Option<usize> {
    match width {
        WHEREFORE_I8 | WHEREFORE_U8 => Some(1),
        WHEREFORE_I16 | WHEREFORE_U16 => Some(2),
        WHEREFORE_I32 | WHEREFORE_U32 => Some(4),
        WHEREFORE_I64 => Some(8),
        _ => None,
    }
}

/// The number in the bytes of a field.
fn number(bytes: &[u8], width: u32) -> i64 {
    let own = |bytes: &[u8]| {
        let mut eight = [0; 8];
        eight.iter_mut().zip(bytes).for_each(|(to, from)| *to = *from);
        eight
    };
    match (width, bytes) {
        (WHEREFORE_I8, [a]) => i64::from(i8::from_ne_bytes([*a])),
        (WHEREFORE_U8, [a]) => i64::from(*a),
        (WHEREFORE_I16, [a, b]) => i64::from(i16::from_ne_bytes([*a, *b])),
        (WHEREFORE_U16, [a, b]) => i64::from(u16::from_ne_bytes([*a, *b])),
        (WHEREFORE_I32, [a, b, c, d]) => i64::from(i32::from_ne_bytes([*a, *b, *c, *d])),
        (WHEREFORE_U32, [a, b, c, d]) => i64::from(u32::from_ne_bytes([*a, *b, *c, *d])),
        (_, bytes) => i64::from_ne_bytes(own(bytes)),
    }
}

/// Makes a program ready for records of `record_size` bytes with these fields. Facts without a field are not known.
///
/// # Safety
/// `program` is a live handle, `fields` points to `fields_len` fields whose keys point to their bytes, `request` points to
/// `request_len` bytes, `error` is NULL or may be written.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn wherefore_rows(
    program: *const WhereforeProgram,
    fields: *const WhereforeField,
    fields_len: usize,
    record_size: usize,
    request: *const u8,
    request_len: usize,
    error: *mut *mut WhereforeError,
) -> *mut WhereforeRows {
    // SAFETY: the promises of this function are those of the ones it calls; `fields` is looked at for NULL, and by promise
    // points to so many fields.
    unsafe {
        let made = held(program, "program").and_then(|program| {
            let asked = self::request(given(request, request_len, "request")?)?;
            if fields.is_null() || fields_len > 4096 {
                return Err(refusal("fields is NULL, or they are more than 4096"));
            }
            let fields = std::slice::from_raw_parts(fields, fields_len);
            let mut keys = Vec::new();
            for field in fields {
                let key = given(field.key, field.key_len, "key")?;
                let end = bytes_of(field.width).and_then(|bytes| field.offset.checked_add(bytes));
                if end.is_none_or(|end| end > record_size) {
                    return Err(refusal(&format!("field {key} has no such width, or ends behind its record")));
                }
                keys.push(key);
            }
            let rows = program.0.rows(&keys, &asked)?;
            let fields = fields.iter().map(|field| (field.offset, field.width, field.not_known)).collect();
            Ok(WhereforeRows { rows, fields, size: record_size })
        });
        done(made, error)
    }
}

/// The words of a field by their places, one a line; empty for a field that holds none.
///
/// # Safety
/// `rows` is NULL or a live handle.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn wherefore_rows_words(rows: *const WhereforeRows, field: usize) -> WhereforeText {
    // SAFETY: the same promise.
    put(unsafe { held(rows, "rows") }.map_or_else(|_| String::new(), |it| it.rows.words(field).join("\n")))
}

/// Judges records that lie one after the other. One that cannot be judged is set aside, and is no error.
///
/// # Safety
/// `rows` is a live handle, `records` points to `records_len` records of the size that `rows` was made for, which nobody
/// changes meanwhile, `error` is NULL or may be written.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn wherefore_rows_judge(
    rows: *const WhereforeRows,
    records: *const c_void,
    records_len: usize,
    error: *mut *mut WhereforeError,
) -> *mut WhereforeJudged {
    // SAFETY: the promises of this function are those of the ones it calls; the bytes are by promise so many, and their
    // number is looked at.
    unsafe {
        let judged = held(rows, "rows").and_then(|it| {
            let bytes = match it.size.checked_mul(records_len).filter(|len| *len <= isize::MAX.unsigned_abs()) {
                None => return Err(refusal("the records are more than memory can be")),
                Some(0) => &[][..],
                Some(_) if records.is_null() => return Err(refusal("records is NULL")),
                Some(len) => std::slice::from_raw_parts(records.cast::<u8>(), len),
            };
            let columns: Vec<Vec<i64>> = it.fields.iter().map(|field| column(bytes, it.size, *field)).collect();
            let lent: Vec<&[i64]> = columns.iter().map(Vec::as_slice).collect();
            it.rows.judge(&lent).map(WhereforeJudged)
        });
        done(judged, error)
    }
}

/// A field of every record.
fn column(bytes: &[u8], size: usize, (offset, width, not_known): (usize, u32, i64)) -> Vec<i64> {
    let end = offset + bytes_of(width).unwrap_or(0);
    let one = |record: &[u8]| match record.get(offset..end).map(|field| number(field, width)) {
        Some(value) if value != not_known => value,
        _ => wherefore::Rows::NOT_KNOWN,
    };
    bytes.chunks_exact(size.max(1)).map(one).collect()
}

/// How many records were judged.
///
/// # Safety
/// `judged` is NULL or a live handle.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn wherefore_judged_len(judged: *const WhereforeJudged) -> usize {
    // SAFETY: the same promise.
    unsafe { held(judged, "judged") }.map_or(0, |it| it.0.len())
}

/// What is said of a record, without an allocation.
///
/// # Safety
/// `judged` is NULL or a live handle.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn wherefore_judged_outcome(judged: *const WhereforeJudged, record: usize) -> WhereforeOutcome {
    // SAFETY: the same promise.
    let judged = unsafe { held(judged, "judged") };
    let possible = judged.as_ref().map_or(0, |it| it.0.possible(record).count());
    let class = judged.ok().and_then(|it| it.0.verdict(record)).map(wherefore::Verdict::class);
    let place = |class| wherefore::Class::ALL.iter().position(|other| *other == class);
    let class_ = class.and_then(place).and_then(|place| u32::try_from(place).ok()).unwrap_or(8);
    WhereforeOutcome { possible: u32::try_from(possible).unwrap_or(0), class_ }
}

/// Names of the verdicts that may follow for a record, the exact set, one a line.
///
/// # Safety
/// `judged` is NULL or a live handle.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn wherefore_judged_possible(judged: *const WhereforeJudged, record: usize) -> WhereforeText {
    // SAFETY: the same promise.
    let Ok(judged) = (unsafe { held(judged, "judged") }) else { return put(String::new()) };
    let names: Vec<&str> = judged.0.possible(record).map(wherefore::Verdict::name).collect();
    put(names.join("\n"))
}

/// Ids of the clauses that decide in every case that is still possible, one a line.
///
/// # Safety
/// `judged` is NULL or a live handle.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn wherefore_judged_deciding(judged: *const WhereforeJudged, record: usize) -> WhereforeText {
    // SAFETY: the same promise.
    let Ok(judged) = (unsafe { held(judged, "judged") }) else { return put(String::new()) };
    put(judged.0.deciding(record).collect::<Vec<_>>().join("\n"))
}

/// Why a record is set aside; empty where it is judged.
///
/// # Safety
/// `judged` is NULL or a live handle.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn wherefore_judged_set_aside(judged: *const WhereforeJudged, record: usize) -> WhereforeText {
    // SAFETY: the same promise.
    put(unsafe { held(judged, "judged") }.ok().and_then(|it| it.0.set_aside(record)).unwrap_or_default())
}

/// Frees what was judged.
///
/// # Safety
/// `judged` is NULL, or came from this library and was not freed.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn wherefore_judged_free(judged: *mut WhereforeJudged) {
    // SAFETY: the same promise.
    unsafe { freed(judged) }
}

/// Frees a program for records.
///
/// # Safety
/// `rows` is NULL, or came from this library and was not freed.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn wherefore_rows_free(rows: *mut WhereforeRows) {
    // SAFETY: the same promise.
    unsafe { freed(rows) }
}
