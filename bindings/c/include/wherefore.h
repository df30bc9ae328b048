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

// Width of a field: one byte, signed.
#define WHEREFORE_I8 0

// Width of a field: one byte.
#define WHEREFORE_U8 1

// Width of a field: two bytes, signed.
#define WHEREFORE_I16 2

// Width of a field: two bytes.
#define WHEREFORE_U16 3

// Width of a field: four bytes, signed.
#define WHEREFORE_I32 4

// Width of a field: four bytes.
#define WHEREFORE_U32 5

// Width of a field: eight bytes, signed.
#define WHEREFORE_I64 6

// Why something was refused.
typedef struct WhereforeError WhereforeError;

// Records that were judged.
typedef struct WhereforeJudged WhereforeJudged;

// One program, read and checked.
typedef struct WhereforeProgram WhereforeProgram;

// The programs at hand.
typedef struct WhereforePrograms WhereforePrograms;

// Questions about one vehicle, one after the other. Not for two threads at once.
typedef struct WhereforeQuestions WhereforeQuestions;

// A program for records of one structure.
typedef struct WhereforeRows WhereforeRows;

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

// A field of a host's structure.
typedef struct {
  // Key of the fact in a snapshot document, `vehicle.model_year`; `visit.date` (days since 1970-01-01) has to be one.
  // `pid-01` is the four data bytes of service $01 PID $01, the first one highest. Yes is 1, no is 0, a word its place in
  // `wherefore_rows_words`, a number itself. Texts and lists are places among values after the key,
  // `codes.stored=[[],["P0420"]]`.
  const uint8_t *key;
  // Bytes of the key.
  size_t key_len;
  // Where the field lies in a record: `offsetof`.
  size_t offset;
  // Its width, `WHEREFORE_I8` and the others.
  uint32_t width;
  // The value that says *not known*; `INT64_MIN` where none does.
  int64_t not_known;
} WhereforeField;

// What is said of a record.
typedef struct {
  // How many verdicts may follow: 1 is decided, 0 is set aside.
  uint32_t possible;
  // Class of the verdict: 0 pass, 1 conditional, 2 other test, 3 reject, 4 fail, 5 not subject, 6 no law in the file,
  // 7 undecided, 8 set aside.
  uint32_t class_;
} WhereforeOutcome;

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

// The same for a visit on another day, `2026-12-05`, by the law of that day and with the days backwards from it: when to begin
// and when to look again (`schedule` in JSON).
//
// # Safety
// As for `wherefore_next`; `by` points to `by_len` bytes.
WhereforeText wherefore_next_by(const WhereforeProgram *program,
                                const WhereforeSnapshot *snapshot,
                                const uint8_t *request,
                                size_t request_len,
                                const uint8_t *by,
                                size_t by_len,
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

// Makes a program ready for records of `record_size` bytes with these fields. Facts without a field are not known.
//
// # Safety
// `program` is a live handle, `fields` points to `fields_len` fields whose keys point to their bytes, `request` points to
// `request_len` bytes, `error` is NULL or may be written.
WhereforeRows *wherefore_rows(const WhereforeProgram *program,
                              const WhereforeField *fields,
                              size_t fields_len,
                              size_t record_size,
                              const uint8_t *request,
                              size_t request_len,
                              WhereforeError **error);

// The words of a field by their places, one a line; empty for a field that holds none.
//
// # Safety
// `rows` is NULL or a live handle.
WhereforeText wherefore_rows_words(const WhereforeRows *rows, size_t field);

// Judges records that lie one after the other. One that cannot be judged is set aside, and is no error.
//
// # Safety
// `rows` is a live handle, `records` points to `records_len` records of the size that `rows` was made for, which nobody
// changes meanwhile, `error` is NULL or may be written.
WhereforeJudged *wherefore_rows_judge(const WhereforeRows *rows,
                                      const void *records,
                                      size_t records_len,
                                      WhereforeError **error);

// How many records were judged.
//
// # Safety
// `judged` is NULL or a live handle.
size_t wherefore_judged_len(const WhereforeJudged *judged);

// What is said of a record, without an allocation.
//
// # Safety
// `judged` is NULL or a live handle.
WhereforeOutcome wherefore_judged_outcome(const WhereforeJudged *judged, size_t record);

// Names of the verdicts that may follow for a record, the exact set, one a line.
//
// # Safety
// `judged` is NULL or a live handle.
WhereforeText wherefore_judged_possible(const WhereforeJudged *judged, size_t record);

// Ids of the clauses that decide in every case that is still possible, one a line.
//
// # Safety
// `judged` is NULL or a live handle.
WhereforeText wherefore_judged_deciding(const WhereforeJudged *judged, size_t record);

// Why a record is set aside; empty where it is judged.
//
// # Safety
// `judged` is NULL or a live handle.
WhereforeText wherefore_judged_set_aside(const WhereforeJudged *judged, size_t record);

// Frees what was judged.
//
// # Safety
// `judged` is NULL, or came from this library and was not freed.
void wherefore_judged_free(WhereforeJudged *judged);

// Frees a program for records.
//
// # Safety
// `rows` is NULL, or came from this library and was not freed.
void wherefore_rows_free(WhereforeRows *rows);

// Frees a text.
//
// # Safety
// `text` came from this library, as it was given, and was not freed.
void wherefore_text_free(WhereforeText text);

#ifdef __cplusplus
}  // extern "C"
#endif  // __cplusplus

#endif  /* WHEREFORE_H */
