/* Records in an array of structures: verdict, class and deciding clauses of each are those of the whole ruling on the same
 * facts as a snapshot document. `rows few` compares three of them alone, for tools that
 * are slow. `rows PROGRAM` does so under another program than us-il; `rows N` judges N
 * records over and over and prints nanoseconds a record instead. */
#include <stddef.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#include "wherefore.h"

struct visit {
    char plate[9];
    int32_t day; /* since 1970-01-01 */
    uint16_t year;
    int8_t lamp;
    uint8_t fuel;
    uint32_t pid_01;
    uint8_t codes;
    int64_t odometer_km;
};

static const uint8_t *bytes(const char *text) { return (const uint8_t *)text; }

#define FIELD(key, member, width, not_known) {(const uint8_t *)key, sizeof key - 1, offsetof(struct visit, member), width, not_known}

static const WhereforeField FIELDS[] = {
    FIELD("visit.date", day, WHEREFORE_I32, -1),
    FIELD("vehicle.model_year", year, WHEREFORE_U16, 0),
    FIELD("lamp.commanded", lamp, WHEREFORE_I8, -1),
    FIELD("vehicle.fuel", fuel, WHEREFORE_U8, 255),
    FIELD("monitors.catalyst", pid_01, WHEREFORE_U32, 9),
    FIELD("codes.stored=[[], [\"P0420\"], [\"P0301\", \"U0100\"]]", codes, WHEREFORE_U8, 255),
    FIELD("visit.odometer_km", odometer_km, WHEREFORE_I64, -1),
};
enum { COUNT = sizeof FIELDS / sizeof FIELDS[0] };

/* The line of a list of words at a place, quoted. */
static void quoted(char *to, size_t size, WhereforeText words, unsigned place) {
    const char *from = (const char *)words.bytes, *end;
    while (place-- > 0 && (from = strchr(from, '\n')) != NULL) {
        from++;
    }
    end = from == NULL ? NULL : strchr(from, '\n');
    snprintf(to, size, "\"%.*s\"", from == NULL ? 0 : end == NULL ? (int)strlen(from) : (int)(end - from), from == NULL ? "" : from);
}

/* The lines of a text as JSON's list of texts under a key. */
static void listed(char *to, size_t size, const char *key, WhereforeText lines) {
    size_t at, used = (size_t)snprintf(to, size, "\"%s\":[", key);
    if (lines.len > 0) {
        to[used++] = '"';
    }
    for (at = 0; at < lines.len && used + 4 < size; at++) {
        if (lines.bytes[at] == '\n') {
            memcpy(to + used, "\",\"", 3);
            used += 3;
        } else {
            to[used++] = (char)lines.bytes[at];
        }
    }
    if (lines.len > 0) {
        to[used++] = '"';
    }
    to[used++] = ']';
    to[used] = 0;
}

int main(int argc, char **argv) {
    static const char *const CODES[] = {"[]", "[\"P0420\"]", "[\"P0301\", \"U0100\"]"};
    static const char *const CLASSES[] = {"pass", "conditional", "other-test", "reject", "fail", "not-subject", "no-law-in-file", "undecided"};
    static struct visit visits[48];
    WhereforeError *error = NULL;
    WhereforePrograms *programs = wherefore_programs_built_in();
    const int is_few = argc > 1 && strcmp(argv[1], "few") == 0;
    const char *id = !is_few && argc > 1 && argv[1][0] > '9' ? argv[1] : "us-il";
    WhereforeProgram *program = wherefore_programs_get(programs, bytes(id), strlen(id), &error);
    WhereforeRows *rows = wherefore_rows(program, FIELDS, COUNT, sizeof visits[0], NULL, 0, &error);
    WhereforeJudged *judged;
    WhereforeText fuels = wherefore_rows_words(rows, 3), states = wherefore_rows_words(rows, 4);
    int wrong = 0, decided = 0, aside = 0;
    size_t at;

    if (rows == NULL) {
        WhereforeText why = wherefore_error_message(error);
        fprintf(stderr, "%s\n", (const char *)why.bytes);
        return 1;
    }
    for (at = 0; at < sizeof visits / sizeof visits[0]; at++) {
        struct visit *visit = &visits[at];
        visit->day = 20785; /* 2026-11-28 */
        visit->year = (uint16_t)(at % 12 == 11 ? 0 : at % 3 == 0 ? 1994 : 2012 + at % 5);
        visit->lamp = (int8_t)(at % 4 == 3 ? -1 : (int)(at % 4 == 1));
        visit->fuel = (uint8_t)(at % 7 == 6 ? 255 : at % 2);
        visit->pid_01 = (uint32_t)(at % 5 == 4 ? 9 : at % 3);
        visit->codes = (uint8_t)(at % 6 == 5 ? 255 : at % 3);
        visit->odometer_km = at % 8 == 7 ? -1 : (int64_t)at * 20000;
    }
    if (argc > 1 && !is_few && id != argv[1]) {
        size_t many = strtoul(argv[1], NULL, 10), turn, turns = many > 1000 ? 20 : 20000;
        struct visit *all = (struct visit *)malloc(many * sizeof *all);
        struct timespec from, to;
        double least = 1e18;
        for (at = 0; at < many; at++) {
            all[at] = visits[at % 48];
        }
        for (turn = 0; turn < turns; turn++) {
            double took;
            clock_gettime(CLOCK_MONOTONIC, &from);
            wherefore_judged_free(wherefore_rows_judge(rows, all, many, NULL));
            clock_gettime(CLOCK_MONOTONIC, &to);
            took = (double)(to.tv_sec - from.tv_sec) * 1e9 + (double)(to.tv_nsec - from.tv_nsec);
            least = took < least ? took : least;
        }
        printf("%.0f\n", least / (double)many);
        free(all);
    } else {
        /* A record without a date, one of a year that there is not, and a place that no list has. */
        visits[13].day = -1;
        visits[17].year = 3;
        visits[29].codes = 7;
        judged = wherefore_rows_judge(rows, visits, 48, &error);
        wrong += wherefore_judged_len(judged) != 48;
        for (at = 0; at < 48; at++) {
            const struct visit *visit = &visits[at];
            char json[1000], fuel[60], state[60], wanted[1000];
            size_t used = 0;
            WhereforeOutcome outcome = wherefore_judged_outcome(judged, at);
            WhereforeText possible = wherefore_judged_possible(judged, at), deciding = wherefore_judged_deciding(judged, at);
            WhereforeText why = wherefore_judged_set_aside(judged, at);
            if (at == 13 || at == 17 || at == 29) {
                wrong += outcome.class_ != 8 || outcome.possible != 0 || why.len == 0 || possible.len != 0;
                aside++;
            } else if (!is_few || at < 3) {
                WhereforeSnapshot *snapshot;
                WhereforeRuling *ruling;
                WhereforeText text;
                quoted(fuel, sizeof fuel, fuels, visit->fuel);
                quoted(state, sizeof state, states, visit->pid_01);
                used += (size_t)snprintf(json + used, sizeof json - used, "{\"format\": \"wherefore-snapshot/1\", \"visit\": {\"date\": \"2026-11-28\"");
                if (visit->odometer_km >= 0) {
                    used += (size_t)snprintf(json + used, sizeof json - used, ", \"odometer_km\": %ld", (long)visit->odometer_km);
                }
                used += (size_t)snprintf(json + used, sizeof json - used, "}, \"vehicle\": {");
                if (visit->year != 0) {
                    used += (size_t)snprintf(json + used, sizeof json - used, "\"model_year\": %d%s", visit->year, visit->fuel == 255 ? "" : ", ");
                }
                if (visit->fuel != 255) {
                    used += (size_t)snprintf(json + used, sizeof json - used, "\"fuel\": %s", fuel);
                }
                used += (size_t)snprintf(json + used, sizeof json - used, "}");
                if (visit->lamp >= 0) {
                    used += (size_t)snprintf(json + used, sizeof json - used, ", \"lamp\": {\"commanded\": %s}", visit->lamp ? "true" : "false");
                }
                if (visit->pid_01 != 9) {
                    used += (size_t)snprintf(json + used, sizeof json - used, ", \"monitors\": {\"catalyst\": %s}", state);
                }
                if (visit->codes != 255) {
                    used += (size_t)snprintf(json + used, sizeof json - used, ", \"codes\": {\"stored\": %s}", CODES[visit->codes]);
                }
                used += (size_t)snprintf(json + used, sizeof json - used, "}");
                snapshot = wherefore_snapshot_from_json(bytes(json), used, &error);
                ruling = wherefore_judge(program, snapshot, NULL, 0, &error);
                if (ruling == NULL) {
                    /* Facts that cannot go together are set aside here too. */
                    wherefore_error_free(error);
                    error = NULL;
                    wrong += outcome.class_ != 8 || why.len == 0;
                    aside++;
                } else {
                    text = wherefore_ruling_text(ruling, WHEREFORE_FORM_JSON);
                    listed(wanted, sizeof wanted, "possible", possible);
                    if (strstr((const char *)text.bytes, wanted) == NULL || why.len != 0) {
                        fprintf(stderr, "record %zu: %s is not in the ruling on %s\n", at, wanted, json);
                        wrong++;
                    }
                    listed(wanted, sizeof wanted, "deciding", deciding);
                    if (strstr((const char *)text.bytes, wanted) == NULL) {
                        fprintf(stderr, "record %zu: %s is not in the ruling on %s\n", at, wanted, json);
                        wrong++;
                    }
                    snprintf(wanted, sizeof wanted, "\"class\":\"%s\",\"possible\"", outcome.class_ < 8 ? CLASSES[outcome.class_] : "");
                    if (strstr((const char *)text.bytes, wanted) == NULL) {
                        fprintf(stderr, "record %zu: %s is not in the ruling on %s\n", at, wanted, json);
                        wrong++;
                    }
                    decided += outcome.possible == 1;
                    wherefore_text_free(text);
                }
                wherefore_ruling_free(ruling);
                wherefore_snapshot_free(snapshot);
            }
            wherefore_text_free(possible);
            wherefore_text_free(deciding);
            wherefore_text_free(why);
        }
        wrong += aside < 3 || (argc == 1 && decided < 5);
        wherefore_judged_free(judged);
        /* What is refused. */
        {
            WhereforeField odd = FIELDS[0];
            odd.offset = sizeof visits[0] - 2;
            wrong += wherefore_rows(program, &odd, 1, sizeof visits[0], NULL, 0, &error) != NULL || error == NULL;
            wherefore_error_free(error);
            error = NULL;
            odd.offset = 0;
            odd.width = 44;
            wrong += wherefore_rows(program, &odd, 1, sizeof visits[0], NULL, 0, NULL) != NULL;
            wrong += wherefore_rows(program, NULL, 1, sizeof visits[0], NULL, 0, NULL) != NULL;
            wrong += wherefore_rows(program, FIELDS + 1, 1, sizeof visits[0], NULL, 0, NULL) != NULL; /* no date */
            wrong += wherefore_rows_judge(rows, NULL, 2, NULL) != NULL || wherefore_rows_judge(NULL, visits, 2, NULL) != NULL;
            judged = wherefore_rows_judge(rows, NULL, 0, &error);
            wrong += judged == NULL || wherefore_judged_len(judged) != 0 || wherefore_judged_outcome(judged, 4).class_ != 8;
            wherefore_judged_free(judged);
            wherefore_judged_free(NULL);
        }
        printf("C, %s: %d records of structures ruled on as alone, %d decided, %d set aside\n", id, is_few ? 3 : 48 - aside, decided, aside);
    }
    wherefore_text_free(fuels);
    wherefore_text_free(states);
    wherefore_rows_free(rows);
    wherefore_program_free(program);
    wherefore_programs_free(programs);
    return wrong;
}
