//! Errors across the edge: a message for people, JSON for programs.

use crate::texts::put;
use crate::{WhereforeError, WhereforeText, freed, held};

/// The message of an error, whole sentences.
///
/// # Safety
/// `error` is NULL or a live handle.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn wherefore_error_message(error: *const WhereforeError) -> WhereforeText {
    // SAFETY: the same promise.
    put(unsafe { held(error, "error") }.map_or_else(|_| String::new(), |error| error.0.to_string()))
}

/// An error as JSON: `kind`, `message`, and under `faults` each fault with its path or place.
///
/// # Safety
/// `error` is NULL or a live handle.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn wherefore_error_json(error: *const WhereforeError) -> WhereforeText {
    // SAFETY: the same promise.
    put(unsafe { held(error, "error") }.map_or_else(|_| String::new(), |error| error.0.to_json()))
}

/// Frees an error.
///
/// # Safety
/// `error` is NULL, or came from this library and was not freed.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn wherefore_error_free(error: *mut WhereforeError) {
    // SAFETY: the same promise.
    unsafe { freed(error) }
}
