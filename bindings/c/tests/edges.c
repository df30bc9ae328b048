/* The edges of the interface: refusals, NULL handles, texts that are no UTF-8, questions, plans, comparisons, threads.
 * Ends with the number of things that were not as they should be. */
#include <pthread.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "wherefore.h"

static int wrong = 0;

static void check(int holds, const char *what) {
    if (!holds) {
        fprintf(stderr, "wrong: %s\n", what);
        wrong++;
    }
}

static const uint8_t *bytes(const char *text) { return (const uint8_t *)text; }

static int has(WhereforeText text, const char *part) {
    return text.bytes != NULL && strstr((const char *)text.bytes, part) != NULL;
}

/* Looks for a part in the message and the JSON of an error, and frees it. */
static void refusal(WhereforeError *error, const char *kind, const char *part, const char *what) {
    WhereforeText message = wherefore_error_message(error);
    WhereforeText json = wherefore_error_json(error);
    check(error != NULL, what);
    check(has(message, part), what);
    check(has(json, kind), what);
    check(message.bytes == NULL || message.bytes[message.len] == 0, "a text ends with a zero");
    wherefore_text_free(message);
    wherefore_text_free(json);
    wherefore_error_free(error);
}

static const char DATED[] = "{\"format\": \"wherefore-snapshot/1\", \"visit\": {\"date\": \"2026-11-28\"}}";

struct work {
    const WhereforeProgram *program;
    const WhereforeSnapshot *snapshot;
    WhereforeText text;
};

static void *judge(void *given) {
    struct work *work = (struct work *)given;
    WhereforeRuling *ruling = wherefore_judge(work->program, work->snapshot, NULL, 0, NULL);
    work->text = wherefore_ruling_text(ruling, WHEREFORE_FORM_JSON);
    wherefore_ruling_free(ruling);
    return NULL;
}

int main(void) {
    WhereforeError *error = NULL;
    WhereforePrograms *programs = wherefore_programs_built_in();
    WhereforeText ids = wherefore_programs_ids(programs);
    WhereforeProgram *program = NULL;
    WhereforeSnapshot *snapshot = NULL;
    WhereforeText text;
    WhereforeQuestions *questions = NULL;
    struct work work[4];
    pthread_t threads[4];
    int asked = 0;
    size_t place;

    check(has(ids, "us-ca\n"), "the list of programs holds one a line");
    wherefore_text_free(ids);
    check(strlen(wherefore_version()) >= 5, "there is a version");

    check(wherefore_programs_get(programs, bytes("tx"), 2, &error) == NULL, "there is no program tx");
    refusal(error, "no-such-program", "us-tx", "the nearest program is named");
    error = NULL;
    check(wherefore_programs_get(programs, bytes("\xff"), 1, &error) == NULL, "an id that is no UTF-8 is refused");
    refusal(error, "ruling", "UTF-8", "and says so");
    error = NULL;
    check(wherefore_programs_get(NULL, bytes("us-il"), 5, &error) == NULL, "NULL programs are refused");
    refusal(error, "ruling", "NULL", "and it says so");
    error = NULL;
    check(wherefore_programs_get(programs, NULL, 4, NULL) == NULL, "a NULL text is refused, the error not wanted");
    check(wherefore_program_from_text(bytes("program x"), 9, &error) == NULL, "half a program is refused");
    refusal(error, "program-text", "", "with its faults");
    error = NULL;
    check(wherefore_snapshot_from_json(bytes("{\"vehicle\": {\"wheels\": 4}}"), 26, &error) == NULL, "a bad key is refused");
    refusal(error, "\"path\":\"vehicle\"", "wheels", "with its path");
    error = NULL;

    program = wherefore_programs_get(programs, bytes("us-il"), 5, &error);
    snapshot = wherefore_snapshot_from_json(bytes(DATED), strlen(DATED), &error);
    check(program != NULL && snapshot != NULL && error == NULL, "program and snapshot are there");
    check(wherefore_judge(program, NULL, NULL, 0, &error) == NULL, "a NULL snapshot is refused");
    refusal(error, "ruling", "snapshot is NULL", "and named");
    error = NULL;
    check(wherefore_judge(program, snapshot, bytes("{\"as_of\": 3}"), 12, &error) == NULL, "a bad request is refused");
    refusal(error, "ruling", "request", "and the request is named");
    error = NULL;

    text = wherefore_next(program, snapshot, NULL, 0, WHEREFORE_FORM_JSON, &error);
    check(has(text, "wherefore-plans/2") && error == NULL, "a plan");
    wherefore_text_free(text);
    text = wherefore_next_by(program, snapshot, NULL, 0, bytes("2027-01-15"), 10, WHEREFORE_FORM_JSON, &error);
    check(has(text, "\"schedule\"") && has(text, "2027-01-15") && error == NULL, "a plan backwards from a visit");
    wherefore_text_free(text);
    text = wherefore_next_by(program, snapshot, NULL, 0, bytes("soon"), 4, WHEREFORE_FORM_JSON, &error);
    check(text.bytes == NULL, "soon is no day");
    refusal(error, "ruling", "soon", "and it is said");
    error = NULL;
    text = wherefore_next(program, snapshot, NULL, 0, 77, &error);
    check(text.bytes == NULL, "there is no form 77");
    refusal(error, "ruling", "form", "and it is said");
    error = NULL;
    text = wherefore_ruling_text(NULL, WHEREFORE_FORM_TEXT);
    check(text.bytes == NULL, "no ruling has no text");
    wherefore_text_free(text);

    questions = wherefore_ask(program, snapshot, NULL, 0, &error);
    check(questions != NULL, "questions begin");
    check(!wherefore_questions_answer(questions, bytes("nonsense"), 8, &error), "nonsense is no answer");
    refusal(error, "ruling", "", "and says what is");
    error = NULL;
    for (;;) {
        text = wherefore_questions_next(questions, &error);
        if (text.len == 0) {
            break;
        }
        check(wherefore_questions_answer(questions, bytes("?"), 1, &error), "nobody knows");
        wherefore_text_free(text);
        if (++asked > 100) {
            check(0, "questions end");
            break;
        }
    }
    wherefore_text_free(text);
    check(asked > 0 && error == NULL, "something was asked");
    {
        WhereforeSnapshot *known = wherefore_questions_snapshot(questions, &error);
        WhereforeText was = wherefore_snapshot_json(snapshot), is = wherefore_snapshot_json(known);
        check(was.len == is.len && memcmp(was.bytes, is.bytes, was.len) == 0, "nothing was told, nothing is known");
        wherefore_text_free(was);
        wherefore_text_free(is);
        wherefore_snapshot_free(known);
    }
    wherefore_questions_free(questions);

    text = wherefore_compare(program, program, WHEREFORE_FORM_JSON, &error);
    check(has(text, "\"equal\": true") || has(text, "\"equal\":true"), "a program is equal to itself");
    wherefore_text_free(text);

    for (place = 0; place < 4; place++) {
        work[place].program = program;
        work[place].snapshot = snapshot;
        pthread_create(&threads[place], NULL, judge, &work[place]);
    }
    for (place = 0; place < 4; place++) {
        pthread_join(threads[place], NULL);
        check(has(work[place].text, "wherefore-ruling/1"), "a ruling in each thread");
        check(work[place].text.len == work[0].text.len, "and each the same");
    }
    for (place = 0; place < 4; place++) {
        wherefore_text_free(work[place].text);
    }

    wherefore_snapshot_free(snapshot);
    wherefore_program_free(program);
    wherefore_programs_free(programs);
    wherefore_programs_free(NULL);
    wherefore_error_free(NULL);
    return wrong;
}
