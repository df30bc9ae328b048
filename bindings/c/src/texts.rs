//! Texts across the edge: bytes with a length.

use std::ptr;

/// A text that the library gives: UTF-8, `len` bytes and a zero after them. Freed with `wherefore_text_free`.
#[repr(C)]
#[derive(Debug)]
pub struct WhereforeText {
    /// The bytes; NULL where a call was refused.
    pub bytes: *mut u8,
    /// How many, the zero not counted.
    pub len: usize,
}

impl WhereforeText {
    /// No text.
    pub(crate) fn none() -> WhereforeText {
        WhereforeText { bytes: ptr::null_mut(), len: 0 }
    }
}

/// Gives a text away.
pub(crate) fn put(text: String) -> WhereforeText {
    let len = text.len();
    let mut bytes = text.into_bytes();
    bytes.push(0);
    let bytes: *mut [u8] = Box::into_raw(bytes.into_boxed_slice());
    WhereforeText { bytes: bytes.cast(), len }
}

/// Frees a text.
///
/// # Safety
/// `text` came from this library, as it was given, and was not freed.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn wherefore_text_free(text: WhereforeText) {
    if !text.bytes.is_null() {
        let whole = ptr::slice_from_raw_parts_mut(text.bytes, text.len + 1);
        // SAFETY: by the caller's promise these are the bytes that `put` gave away, with the zero after them.
        drop(unsafe { Box::from_raw(whole) });
    }
}

/// A text that the caller lends.
///
/// # Safety
/// `bytes` points to `len` bytes that nobody changes during the call; with `len` 0 it may be NULL.
pub(crate) unsafe fn given<'t>(bytes: *const u8, len: usize, what: &str) -> Result<&'t str, wherefore::Error> {
    let refuse = |why: String| wherefore::Error::Ruling { reason: format!("{what} {why}") };
    if len == 0 {
        return Ok("");
    }
    if bytes.is_null() {
        return Err(refuse("is NULL".to_owned()));
    }
    if len > isize::MAX.unsigned_abs() {
        return Err(refuse("is longer than memory can be".to_owned()));
    }
    // SAFETY: by the caller's promise there are so many bytes; the length fits, as was looked at.
    let bytes = unsafe { std::slice::from_raw_parts(bytes, len) };
    std::str::from_utf8(bytes).map_err(|error| refuse(format!("is no UTF-8: {error}")))
}
