//! Questions one by one across the edge.

use crate::texts::given;
use crate::{WhereforeError, WhereforeProgram, WhereforeSnapshot, WhereforeText, done, freed, held, refusal, said};

/// Questions about one vehicle, one after the other. Not for two threads at once.
#[derive(Debug)]
pub struct WhereforeQuestions(wherefore::Questions);

/// Begins to ask about a vehicle.
///
/// # Safety
/// `program` and `snapshot` are live handles, `request` points to `request_len` bytes, `error` is NULL or may be written.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn wherefore_ask(
    program: *const WhereforeProgram,
    snapshot: *const WhereforeSnapshot,
    request: *const u8,
    request_len: usize,
    error: *mut *mut WhereforeError,
) -> *mut WhereforeQuestions {
    // SAFETY: the promises of this function are those of the ones it calls.
    unsafe {
        let begun = held(program, "program").and_then(|program| {
            let asked = crate::request(given(request, request_len, "request")?)?;
            program.0.ask(&held(snapshot, "snapshot")?.0, &asked).map(WhereforeQuestions)
        });
        done(begun, error)
    }
}

/// The question to put: its key in a snapshot document, a line end, the question, a line end, what may be answered. An
/// empty text without an error where nothing that can be asked would change the answer.
///
/// # Safety
/// `questions` is a live handle, `error` is NULL or may be written.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn wherefore_questions_next(
    questions: *const WhereforeQuestions,
    error: *mut *mut WhereforeError,
) -> WhereforeText {
    // SAFETY: the promises of this function are those of the ones it calls.
    unsafe {
        let next = held(questions, "questions").and_then(|it| it.0.question());
        let text = next.map(|question| {
            question.map_or_else(String::new, |it| format!("{}\n{} ({})\n{}", it.key, it.text, it.told_by, it.answers))
        });
        said(text, error)
    }
}

/// Takes the answer to the question; `?` where nobody knows. `false` and an error where it is no answer.
///
/// # Safety
/// `questions` is a live handle that no other thread uses, `answer` points to `answer_len` bytes, `error` is NULL or may be
/// written.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn wherefore_questions_answer(
    questions: *mut WhereforeQuestions,
    answer: *const u8,
    answer_len: usize,
    error: *mut *mut WhereforeError,
) -> bool {
    // SAFETY: the promises of this function are those of the ones it calls; no other thread uses the handle, so that it may
    // be borrowed alone.
    unsafe {
        let taken = questions
            .as_mut()
            .ok_or_else(|| refusal("questions is NULL"))
            .and_then(|it| it.0.answer(given(answer, answer_len, "answer")?));
        let is_taken = taken.is_ok();
        let handle = done(taken, error);
        freed(handle);
        is_taken
    }
}

/// What is known by now.
///
/// # Safety
/// `questions` is a live handle, `error` is NULL or may be written.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn wherefore_questions_snapshot(
    questions: *const WhereforeQuestions,
    error: *mut *mut WhereforeError,
) -> *mut WhereforeSnapshot {
    // SAFETY: the promises of this function are those of the ones it calls.
    unsafe { done(held(questions, "questions").map(|it| WhereforeSnapshot(it.0.snapshot())), error) }
}

/// Frees questions.
///
/// # Safety
/// `questions` is NULL, or came from this library and was not freed.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn wherefore_questions_free(questions: *mut WhereforeQuestions) {
    // SAFETY: the same promise.
    unsafe { freed(questions) }
}
