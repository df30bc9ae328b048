//! Wherefore for C: opaque handles over the front door of the Rust library. Texts go in and out as UTF-8 with a length; a
//! refusal is an error object with its message and its faults as JSON. No logic of its own.
//!
//! This is the only place of the project with `unsafe`: each block says what it rests on. No panic crosses the edge: the
//! library does not panic on any input, and where it did all the same, `extern "C"` ends the process instead of unwinding.

mod errors;
mod questions;
mod rows;
mod texts;

pub use errors::{wherefore_error_free, wherefore_error_json, wherefore_error_message};
pub use questions::{
    WhereforeQuestions, wherefore_ask, wherefore_questions_answer, wherefore_questions_free, wherefore_questions_next,
    wherefore_questions_snapshot,
};
pub use rows::{
    WHEREFORE_I8, WHEREFORE_I16, WHEREFORE_I32, WHEREFORE_I64, WHEREFORE_U8, WHEREFORE_U16, WHEREFORE_U32,
    WhereforeField, WhereforeJudged, WhereforeOutcome, WhereforeRows, wherefore_judged_deciding, wherefore_judged_free,
    wherefore_judged_len, wherefore_judged_outcome, wherefore_judged_possible, wherefore_judged_set_aside,
    wherefore_rows, wherefore_rows_free, wherefore_rows_judge, wherefore_rows_words,
};
use std::ptr;
pub use texts::{WhereforeText, wherefore_text_free};
use texts::{given, put};

/// The programs at hand.
#[derive(Debug)]
pub struct WhereforePrograms(wherefore::Programs);

/// One program, read and checked.
#[derive(Debug)]
pub struct WhereforeProgram(wherefore::Program);

/// What is known of one vehicle at one visit.
#[derive(Debug)]
pub struct WhereforeSnapshot(wherefore::Snapshot);

/// A ruling: advice with its reasons. The official inspection decides.
#[derive(Debug)]
pub struct WhereforeRuling(wherefore::Ruling);

/// Why something was refused.
#[derive(Debug)]
pub struct WhereforeError(wherefore::Error);

/// Form of a text: one line of JSON, as the command line writes it.
pub const WHEREFORE_FORM_JSON: u32 = 0;
/// Form of a text: eighty columns, for people.
pub const WHEREFORE_FORM_TEXT: u32 = 1;
/// Form of a text: eighty columns with every clause. Of rulings only.
pub const WHEREFORE_FORM_TRACE: u32 = 2;
/// Form of a text: a page of HTML. Of rulings only.
pub const WHEREFORE_FORM_HTML: u32 = 3;

/// Puts what came of a call: the handle, or an error and NULL.
///
/// # Safety
/// `error` is NULL or a place that holds NULL or anything that needs no freeing.
pub(crate) unsafe fn done<T>(result: Result<T, wherefore::Error>, error: *mut *mut WhereforeError) -> *mut T {
    match result {
        Ok(value) => Box::into_raw(Box::new(value)),
        Err(refusal) => {
            if !error.is_null() {
                // SAFETY: it is not NULL, and the caller's promise says that it may be written.
                unsafe { ptr::write(error, Box::into_raw(Box::new(WhereforeError(refusal)))) };
            }
            ptr::null_mut()
        }
    }
}

pub(crate) fn refusal(reason: &str) -> wherefore::Error {
    wherefore::Error::Ruling { reason: reason.to_owned() }
}

/// What a handle holds, or a refusal where it is NULL.
///
/// # Safety
/// `handle` is NULL or came from this library and was not freed.
pub(crate) unsafe fn held<'h, T>(handle: *const T, what: &str) -> Result<&'h T, wherefore::Error> {
    // SAFETY: by the caller's promise it is NULL or points to a value that lives until it is freed.
    unsafe { handle.as_ref() }.ok_or_else(|| refusal(&format!("{what} is NULL")))
}

/// Frees a handle.
///
/// # Safety
/// `handle` is NULL, or came from this library and was not freed.
pub(crate) unsafe fn freed<T>(handle: *mut T) {
    if !handle.is_null() {
        // SAFETY: by the caller's promise it was made by `Box::into_raw` and is freed only here.
        drop(unsafe { Box::from_raw(handle) });
    }
}

/// Version of the library, with a zero at its end. Never freed.
#[unsafe(no_mangle)]
pub extern "C" fn wherefore_version() -> *const std::ffi::c_char {
    const VERSION: &std::ffi::CStr =
        match std::ffi::CStr::from_bytes_with_nul(concat!(env!("CARGO_PKG_VERSION"), "\0").as_bytes()) {
            Ok(text) => text,
            Err(_) => c"",
        };
    VERSION.as_ptr()
}

/// The programs built into the library. Never NULL.
#[unsafe(no_mangle)]
pub extern "C" fn wherefore_programs_built_in() -> *mut WhereforePrograms {
    Box::into_raw(Box::new(WhereforePrograms(wherefore::Programs::built_in())))
}

/// Frees programs; programs that were taken from them stay.
///
/// # Safety
/// `programs` is NULL, or came from this library and was not freed.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn wherefore_programs_free(programs: *mut WhereforePrograms) {
    // SAFETY: the same promise.
    unsafe { freed(programs) }
}

/// Ids of all programs, sorted, one a line. NULL handles give an empty text.
///
/// # Safety
/// `programs` is NULL or a live handle.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn wherefore_programs_ids(programs: *const WhereforePrograms) -> WhereforeText {
    // SAFETY: the same promise.
    match unsafe { held(programs, "programs") } {
        Ok(programs) => put(programs.0.ids().join("\n")),
        Err(_) => put(String::new()),
    }
}

/// The program of an id.
///
/// # Safety
/// `programs` is a live handle, `id` points to `id_len` bytes, `error` is NULL or may be written.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn wherefore_programs_get(
    programs: *const WhereforePrograms,
    id: *const u8,
    id_len: usize,
    error: *mut *mut WhereforeError,
) -> *mut WhereforeProgram {
    // SAFETY: the promises of this function are those of the ones it calls.
    unsafe {
        let found = held(programs, "programs")
            .and_then(|programs| programs.0.get(given(id, id_len, "id")?))
            .map(WhereforeProgram);
        done(found, error)
    }
}

/// The program of the text of a program file. The error holds every fault of the text.
///
/// # Safety
/// `text` points to `text_len` bytes, `error` is NULL or may be written.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn wherefore_program_from_text(
    text: *const u8,
    text_len: usize,
    error: *mut *mut WhereforeError,
) -> *mut WhereforeProgram {
    // SAFETY: the promises of this function are those of the ones it calls.
    unsafe {
        let made = given(text, text_len, "text").and_then(wherefore::Programs::from_text).map(WhereforeProgram);
        done(made, error)
    }
}

/// Frees a program.
///
/// # Safety
/// `program` is NULL, or came from this library and was not freed.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn wherefore_program_free(program: *mut WhereforeProgram) {
    // SAFETY: the same promise.
    unsafe { freed(program) }
}

/// Id of a program.
///
/// # Safety
/// `program` is NULL or a live handle.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn wherefore_program_id(program: *const WhereforeProgram) -> WhereforeText {
    // SAFETY: the same promise.
    put(unsafe { held(program, "program") }.map_or_else(|_| String::new(), |program| program.0.id().to_owned()))
}

/// Title of a program.
///
/// # Safety
/// `program` is NULL or a live handle.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn wherefore_program_title(program: *const WhereforeProgram) -> WhereforeText {
    // SAFETY: the same promise.
    put(unsafe { held(program, "program") }.map_or_else(|_| String::new(), |program| program.0.title().to_owned()))
}

/// A snapshot of its JSON document (`wherefore-snapshot/1`). The error holds every fault with its path.
///
/// # Safety
/// `json` points to `json_len` bytes, `error` is NULL or may be written.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn wherefore_snapshot_from_json(
    json: *const u8,
    json_len: usize,
    error: *mut *mut WhereforeError,
) -> *mut WhereforeSnapshot {
    // SAFETY: the promises of this function are those of the ones it calls.
    unsafe {
        let read = given(json, json_len, "json")
            .and_then(|text| wherefore::Snapshot::from_json(text.as_bytes()))
            .map(WhereforeSnapshot);
        done(read, error)
    }
}

/// A snapshot of what a vehicle sent; `seen` is a JSON object of what a person saw or knows (empty: nothing).
///
/// # Safety
/// `messages` points to `messages_len` bytes and `seen` to `seen_len`, `error` is NULL or may be written.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn wherefore_snapshot_from_messages(
    messages: *const u8,
    messages_len: usize,
    seen: *const u8,
    seen_len: usize,
    error: *mut *mut WhereforeError,
) -> *mut WhereforeSnapshot {
    // SAFETY: the promises of this function are those of the ones it calls.
    unsafe {
        let read = given(messages, messages_len, "messages")
            .and_then(|messages| {
                let seen = match given(seen, seen_len, "seen")? {
                    "" => wherefore::Seen::new(),
                    text => wherefore::Seen::from_json(text)?,
                };
                wherefore::Snapshot::from_messages(messages.as_bytes(), &seen)
            })
            .map(WhereforeSnapshot);
        done(read, error)
    }
}

/// The snapshot document as JSON.
///
/// # Safety
/// `snapshot` is NULL or a live handle.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn wherefore_snapshot_json(snapshot: *const WhereforeSnapshot) -> WhereforeText {
    // SAFETY: the same promise.
    put(unsafe { held(snapshot, "snapshot") }.map_or_else(|_| String::new(), |snapshot| snapshot.0.to_json()))
}

/// Frees a snapshot.
///
/// # Safety
/// `snapshot` is NULL, or came from this library and was not freed.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn wherefore_snapshot_free(snapshot: *mut WhereforeSnapshot) {
    // SAFETY: the same promise.
    unsafe { freed(snapshot) }
}

/// What is asked beside the snapshot, of a JSON object: `as_of`, `known_on`, `takes`, `proof`; empty: nothing.
pub(crate) fn request(text: &str) -> Result<wherefore::Request, wherefore::Error> {
    match text {
        "" => Ok(wherefore::Request::new()),
        text => wherefore::Request::from_json(text),
    }
}

/// Rules on a vehicle. `request` is a JSON object with some of `as_of`, `known_on`, `takes` and `proof` (empty: none).
///
/// # Safety
/// `program` and `snapshot` are live handles, `request` points to `request_len` bytes, `error` is NULL or may be written.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn wherefore_judge(
    program: *const WhereforeProgram,
    snapshot: *const WhereforeSnapshot,
    request: *const u8,
    request_len: usize,
    error: *mut *mut WhereforeError,
) -> *mut WhereforeRuling {
    // SAFETY: the promises of this function are those of the ones it calls.
    unsafe {
        let ruled = held(program, "program").and_then(|program| {
            let asked = self::request(given(request, request_len, "request")?)?;
            program.0.judge_with(&held(snapshot, "snapshot")?.0, &asked).map(WhereforeRuling)
        });
        done(ruled, error)
    }
}

/// The ruling in a form (`WHEREFORE_FORM_...`); `bytes` is NULL where there is no such form.
///
/// # Safety
/// `ruling` is NULL or a live handle.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn wherefore_ruling_text(ruling: *const WhereforeRuling, form: u32) -> WhereforeText {
    // SAFETY: the same promise.
    let Ok(ruling) = (unsafe { held(ruling, "ruling") }) else { return WhereforeText::none() };
    match form {
        WHEREFORE_FORM_JSON => put(ruling.0.to_json()),
        WHEREFORE_FORM_TEXT => put(ruling.0.to_string()),
        WHEREFORE_FORM_TRACE => put(ruling.0.to_text_with_trace()),
        WHEREFORE_FORM_HTML => ruling.0.to_html().map_or_else(|_| WhereforeText::none(), put),
        _ => WhereforeText::none(),
    }
}

/// Name of the one possible verdict; `undecided` where several are possible.
///
/// # Safety
/// `ruling` is NULL or a live handle.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn wherefore_ruling_verdict(ruling: *const WhereforeRuling) -> WhereforeText {
    // SAFETY: the same promise.
    put(unsafe { held(ruling, "ruling") }.map_or_else(|_| String::new(), |it| it.0.verdict().name().to_owned()))
}

/// Class of the verdict, which does not depend on the program: `pass`, `fail`, `reject`, `conditional`, `other-test`,
/// `not-subject`, `no-law-in-file` or `undecided`.
///
/// # Safety
/// `ruling` is NULL or a live handle.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn wherefore_ruling_class(ruling: *const WhereforeRuling) -> WhereforeText {
    // SAFETY: the same promise.
    put(unsafe { held(ruling, "ruling") }.map_or_else(|_| String::new(), |it| it.0.verdict().class().word().to_owned()))
}

/// Frees a ruling.
///
/// # Safety
/// `ruling` is NULL, or came from this library and was not freed.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn wherefore_ruling_free(ruling: *mut WhereforeRuling) {
    // SAFETY: the same promise.
    unsafe { freed(ruling) }
}

/// The least that leads to a pass, in a form; an empty text (`bytes` is NULL) and an error where it cannot be told.
///
/// # Safety
/// `program` and `snapshot` are live handles, `request` points to `request_len` bytes, `error` is NULL or may be written.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn wherefore_next(
    program: *const WhereforeProgram,
    snapshot: *const WhereforeSnapshot,
    request: *const u8,
    request_len: usize,
    form: u32,
    error: *mut *mut WhereforeError,
) -> WhereforeText {
    // SAFETY: the promises of this function are those of the one it calls.
    unsafe { planned(program, snapshot, request, request_len, None, form, error) }
}

/// The same for a visit on another day, `2026-12-05`, by the law of that day and with the days backwards from it: when to begin
/// and when to look again (`schedule` in JSON).
///
/// # Safety
/// As for `wherefore_next`; `by` points to `by_len` bytes.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn wherefore_next_by(
    program: *const WhereforeProgram,
    snapshot: *const WhereforeSnapshot,
    request: *const u8,
    request_len: usize,
    by: *const u8,
    by_len: usize,
    form: u32,
    error: *mut *mut WhereforeError,
) -> WhereforeText {
    // SAFETY: the promises of this function are those of the one it calls.
    unsafe { planned(program, snapshot, request, request_len, Some((by, by_len)), form, error) }
}

/// The plan of [`wherefore_next`], and where a day is given that of [`wherefore_next_by`].
///
/// # Safety
/// As for those.
unsafe fn planned(
    program: *const WhereforeProgram,
    snapshot: *const WhereforeSnapshot,
    request: *const u8,
    request_len: usize,
    by: Option<(*const u8, usize)>,
    form: u32,
    error: *mut *mut WhereforeError,
) -> WhereforeText {
    // SAFETY: the promises of this function are those of the ones it calls.
    unsafe {
        let plan = held(program, "program").and_then(|program| {
            let asked = self::request(given(request, request_len, "request")?)?;
            let (snapshot, goal) = (&held(snapshot, "snapshot")?.0, wherefore::Class::Pass);
            let Some((bytes, len)) = by else { return program.0.next(snapshot, &asked, goal) };
            let day = given(bytes, len, "by")?;
            let day = day.parse().map_err(|_| refusal(&format!("\"{day}\" is no day: write 2026-12-05")))?;
            program.0.next_by(snapshot, &asked, goal, day)
        });
        let text = plan.and_then(|plan| match form {
            WHEREFORE_FORM_JSON => Ok(plan.to_json()),
            WHEREFORE_FORM_TEXT => Ok(plan.to_string()),
            _ => Err(refusal("a plan has the forms JSON and text")),
        });
        said(text, error)
    }
}

/// Puts a text, or an error and the empty text.
///
/// # Safety
/// As for [`done`].
pub(crate) unsafe fn said(text: Result<String, wherefore::Error>, error: *mut *mut WhereforeError) -> WhereforeText {
    match text {
        Ok(text) => put(text),
        Err(refusal) => {
            // SAFETY: the same promise; there is no handle to give.
            let none: *mut WhereforeError = unsafe { done(Err(refusal), error) };
            debug_assert!(none.is_null());
            WhereforeText::none()
        }
    }
}

/// Compares two programs on every run of days; JSON or text.
///
/// # Safety
/// `first` and `second` are live handles, `error` is NULL or may be written.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn wherefore_compare(
    first: *const WhereforeProgram,
    second: *const WhereforeProgram,
    form: u32,
    error: *mut *mut WhereforeError,
) -> WhereforeText {
    // SAFETY: the promises of this function are those of the ones it calls.
    unsafe {
        let compared = held(first, "first").and_then(|first| first.0.compare(&held(second, "second")?.0, None));
        let text = compared.and_then(|compared| match form {
            WHEREFORE_FORM_JSON => Ok(compared.to_json()),
            WHEREFORE_FORM_TEXT => Ok(compared.to_string()),
            _ => Err(refusal("a comparison has the forms JSON and text")),
        });
        said(text, error)
    }
}
