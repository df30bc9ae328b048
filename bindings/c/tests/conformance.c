/* Rules on what standard input holds, a request a line: program, a tab, request, a tab, snapshot. Prints the ruling of each
 * on a line, or `refused`. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "wherefore.h"

int main(void) {
    static char line[1 << 20];
    WhereforePrograms *programs = wherefore_programs_built_in();
    while (fgets(line, sizeof line, stdin) != NULL) {
        char *request = strchr(line, '\t');
        char *json = request == NULL ? NULL : strchr(request + 1, '\t');
        WhereforeProgram *program;
        WhereforeSnapshot *snapshot;
        WhereforeRuling *ruling;
        if (json == NULL) {
            return 2;
        }
        *request++ = 0;
        *json++ = 0;
        program = wherefore_programs_get(programs, (const uint8_t *)line, strlen(line), NULL);
        snapshot = wherefore_snapshot_from_json((const uint8_t *)json, strlen(json), NULL);
        ruling = wherefore_judge(program, snapshot, (const uint8_t *)request, strlen(request), NULL);
        if (ruling == NULL) {
            puts("refused");
        } else {
            WhereforeText text = wherefore_ruling_text(ruling, WHEREFORE_FORM_JSON);
            fwrite(text.bytes, 1, text.len, stdout);
            putchar('\n');
            wherefore_text_free(text);
        }
        wherefore_ruling_free(ruling);
        wherefore_snapshot_free(snapshot);
        wherefore_program_free(program);
    }
    wherefore_programs_free(programs);
    return 0;
}
