/* A ruling from JSON to JSON, median of 300 in nanoseconds: single FILE. */
#include <stdio.h>
#include <stdlib.h>
#include <time.h>

#include "wherefore.h"

static int order(const void *one, const void *other) {
    double a = *(const double *)one, b = *(const double *)other;
    return (a > b) - (a < b);
}

int main(int argc, char **argv) {
    static uint8_t json[1 << 16];
    static double times[300];
    FILE *file = argc > 1 ? fopen(argv[1], "rb") : NULL;
    size_t len = file == NULL ? 0 : fread(json, 1, sizeof json, file), turn;
    WhereforePrograms *programs = wherefore_programs_built_in();
    WhereforeProgram *program = wherefore_programs_get(programs, (const uint8_t *)"us-il", 5, NULL);
    for (turn = 0; turn < 300; turn++) {
        struct timespec from, to;
        WhereforeSnapshot *snapshot;
        WhereforeRuling *ruling;
        WhereforeText text;
        clock_gettime(CLOCK_MONOTONIC, &from);
        snapshot = wherefore_snapshot_from_json(json, len, NULL);
        ruling = wherefore_judge(program, snapshot, NULL, 0, NULL);
        text = wherefore_ruling_text(ruling, WHEREFORE_FORM_JSON);
        clock_gettime(CLOCK_MONOTONIC, &to);
        if (text.len == 0) {
            return 1;
        }
        times[turn] = (double)(to.tv_sec - from.tv_sec) * 1e9 + (double)(to.tv_nsec - from.tv_nsec);
        wherefore_text_free(text);
        wherefore_ruling_free(ruling);
        wherefore_snapshot_free(snapshot);
    }
    qsort(times, 300, sizeof times[0], order);
    printf("%.0f\n", times[150]);
    wherefore_program_free(program);
    wherefore_programs_free(programs);
    return 0;
}
