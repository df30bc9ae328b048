/* Wherefore for C. Made by cbindgen from src/lib.rs; not edited by hand.
 *
 * Texts are UTF-8 with a length; they need no zero at the end. Every call that can be refused takes a place for an error:
 * NULL where it is not wanted. What a call gives is freed by the caller with the free function of its type; freeing NULL is
 * allowed. A handle may be used by several threads at once (questions aside); it is freed once, when nobody uses it.
 */

#ifndef WHEREFORE_H
#define WHEREFORE_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

// Form of a text: one line of JSON, as the command line writes it.
#define WHEREFORE_FORM_JSON 0

// Form of a text: eighty columns, for people.
#define WHEREFORE_FORM_TEXT 1

// Form of a text: eighty columns with every clause. Of rulings only.
#define WHEREFORE_FORM_TRACE 2

// Form of a text: a page of HTML. Of rulings only.
#define WHEREFORE_FORM_HTML 3

// Why something was refused.
typedef struct WhereforeError WhereforeError;

// One program, read and checked.
typedef struct WhereforeProgram WhereforeProgram;

// The programs at hand.
typedef struct WhereforePrograms WhereforePrograms;

// Questions about one vehicle, one after the other. Not for two threads at once.
typedef struct WhereforeQuestions WhereforeQuestions;

// A ruling: advice with its reasons. The official inspection decides.
typedef struct WhereforeRuling WhereforeRuling;

// What is known of one vehicle at one visit.
typedef struct WhereforeSnapshot WhereforeSnapshot;

// A text that the library gives: UTF-8, `len` bytes and a zero after them. Freed with `wherefore_text_free`.
typedef struct {
  // The bytes; NULL where a call was refused.
  uint8_t *bytes;
  // How many, the zero not counted.
  size_t len;
} WhereforeText;

#ifdef __cplusplus
extern "C" {
#endif // __cplusplus

// Version of the library, with a zero at its end. Never freed.
const char *wherefore_version(void);

// The programs built into the library. Never NULL.
WhereforePrograms *wherefore_programs_built_in(void);

// Frees programs; programs that were taken from them stay.
//
// # Safety
// `programs` is NULL, or came from this library and was not freed.
void wherefore_programs_free(WhereforePrograms *programs);

// Ids of all programs, sorted, one a line. NULL handles give an empty text.
//
// # Safety
// `programs` is NULL or a live handle.
WhereforeText wherefore_programs_ids(const WhereforePrograms *programs);

// The program of an id.
//
// # Safety
// `programs` is a live handle, `id` points to `id_len` bytes, `error` is NULL or may be written.
WhereforeProgram *wherefore_programs_get(const WhereforePrograms *programs,
                                         const uint8_t *id,
                                         size_t id_len,
                                         WhereforeError **error);

// The program of the text of a program file. The error holds every fault of the text.
//
// # Safety
// `text` points to `text_len` bytes, `error` is NULL or may be written.
WhereforeProgram *wherefore_program_from_text(const uint8_t *text,
                                              size_t text_len,
                                              WhereforeError **error);

// Frees a program.
//
// # Safety
// `program` is NULL, or came from this library and was not freed.
void wherefore_program_free(WhereforeProgram *program);

// Id of a program.
//
// # Safety
// `program` is NULL or a live handle.
WhereforeText wherefore_program_id(const WhereforeProgram *program);

// Title of a program.
//
// # Safety
// `program` is NULL or a live handle.
WhereforeText wherefore_program_title(const WhereforeProgram *program);

// A snapshot of its JSON document (`wherefore-snapshot/1`). The error holds every fault with its path.
//
// # Safety
// `json` points to `json_len` bytes, `error` is NULL or may be written.
WhereforeSnapshot *wherefore_snapshot_from_json(const uint8_t *json,
                                                size_t json_len,
                                                WhereforeError **error);

// A snapshot of what a vehicle sent; `seen` is a JSON object of what a person saw or knows (empty: nothing).
//
// # Safety
// `messages` points to `messages_len` bytes and `seen` to `seen_len`, `error` is NULL or may be written.
WhereforeSnapshot *wherefore_snapshot_from_messages(const uint8_t *messages,
                                                    size_t messages_len,
                                                    const uint8_t *seen,
                                                    size_t seen_len,
                                                    WhereforeError **error);

// The snapshot document as JSON.
//
// # Safety
// `snapshot` is NULL or a live handle.
WhereforeText wherefore_snapshot_json(const WhereforeSnapshot *snapshot);

// Frees a snapshot.
//
// # Safety
// `snapshot` is NULL, or came from this library and was not freed.
void wherefore_snapshot_free(WhereforeSnapshot *snapshot);

// Rules on a vehicle. `request` is a JSON object with some of `as_of`, `known_on`, `takes` and `proof` (empty: none).
//
// # Safety
// `program` and `snapshot` are live handles, `request` points to `request_len` bytes, `error` is NULL or may be written.
WhereforeRuling *wherefore_judge(const WhereforeProgram *program,
                                 const WhereforeSnapshot *snapshot,
                                 const uint8_t *request,
                                 size_t request_len,
                                 WhereforeError **error);

// The ruling in a form (`WHEREFORE_FORM_...`); `bytes` is NULL where there is no such form.
//
// # Safety
// `ruling` is NULL or a live handle.
WhereforeText wherefore_ruling_text(const WhereforeRuling *ruling, uint32_t form);

// Name of the one possible verdict; `undecided` where several are possible.
//
// # Safety
// `ruling` is NULL or a live handle.
WhereforeText wherefore_ruling_verdict(const WhereforeRuling *ruling);

// Class of the verdict, which does not depend on the program: `pass`, `fail`, `reject`, `conditional`, `other-test`,
// `not-subject`, `no-law-in-file` or `undecided`.
//
// # Safety
// `ruling` is NULL or a live handle.
WhereforeText wherefore_ruling_class(const WhereforeRuling *ruling);

// Frees a ruling.
//
// # Safety
// `ruling` is NULL, or came from this library and was not freed.
void wherefore_ruling_free(WhereforeRuling *ruling);

// The least that leads to a pass, in a form; an empty text (`bytes` is NULL) and an error where it cannot be told.
//
// # Safety
// `program` and `snapshot` are live handles, `request` points to `request_len` bytes, `error` is NULL or may be written.
WhereforeText wherefore_next(const WhereforeProgram *program,
                             const WhereforeSnapshot *snapshot,
                             const uint8_t *request,
                             size_t request_len,
                             uint32_t form,
                             WhereforeError **error);

// Compares two programs on every run of days; JSON or text.
//
// # Safety
// `first` and `second` are live handles, `error` is NULL or may be written.
WhereforeText wherefore_compare(const WhereforeProgram *first,
                                const WhereforeProgram *second,
                                uint32_t form,
                                WhereforeError **error);

// The message of an error, whole sentences.
//
// # Safety
// `error` is NULL or a live handle.
WhereforeText wherefore_error_message(const WhereforeError *error);

// An error as JSON: `kind`, `message`, and under `faults` each fault with its path or place.
//
// # Safety
// `error` is NULL or a live handle.
WhereforeText wherefore_error_json(const WhereforeError *error);

// Frees an error.
//
// # Safety
// `error` is NULL, or came from this library and was not freed.
void wherefore_error_free(WhereforeError *error);

// Begins to ask about a vehicle.
//
// # Safety
// `program` and `snapshot` are live handles, `request` points to `request_len` bytes, `error` is NULL or may be written.
WhereforeQuestions *wherefore_ask(const WhereforeProgram *program,
                                  const WhereforeSnapshot *snapshot,
                                  const uint8_t *request,
                                  size_t request_len,
                                  WhereforeError **error);

// The question to put: its key in a snapshot document, a line end, the question, a line end, what may be answered. An
// empty text without an error where nothing that can be asked would change the answer.
//
// # Safety
// `questions` is a live handle, `error` is NULL or may be written.
WhereforeText wherefore_questions_next(const WhereforeQuestions *questions,
                                       WhereforeError **error);

// Takes the answer to the question; `?` where nobody knows. `false` and an error where it is no answer.
//
// # Safety
// `questions` is a live handle that no other thread uses, `answer` points to `answer_len` bytes, `error` is NULL or may be
// written.
bool wherefore_questions_answer(WhereforeQuestions *questions,
                                const uint8_t *answer,
                                size_t answer_len,
                                WhereforeError **error);

// What is known by now.
//
// # Safety
// `questions` is a live handle, `error` is NULL or may be written.
WhereforeSnapshot *wherefore_questions_snapshot(const WhereforeQuestions *questions,
                                                WhereforeError **error);

// Frees questions.
//
// # Safety
// `questions` is NULL, or came from this library and was not freed.
void wherefore_questions_free(WhereforeQuestions *questions);

// Frees a text.
//
// # Safety
// `text` came from this library, as it was given, and was not freed.
void wherefore_text_free(WhereforeText text);

#ifdef __cplusplus
}  // extern "C"
#endif  // __cplusplus

#endif  /* WHEREFORE_H */
