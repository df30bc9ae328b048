/* Judges a snapshot document (JSON) under a built-in program and prints the ruling: judge PROGRAM FILE.
 * Ends with 0 for a pass, 1 for another verdict, 2 where something could not be used, 3 where it is undecided. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "wherefore.h"

/* Reads a whole file; NULL where it cannot. */
static uint8_t *whole(const char *path, size_t *len) {
    FILE *file = fopen(path, "rb");
    uint8_t *bytes = NULL;
    long size;
    *len = 0;
    if (file == NULL) {
        return NULL;
    }
    if (fseek(file, 0, SEEK_END) == 0 && (size = ftell(file)) >= 0 && fseek(file, 0, SEEK_SET) == 0) {
        bytes = (uint8_t *)malloc((size_t)size + 1);
        if (bytes != NULL) {
            *len = fread(bytes, 1, (size_t)size, file);
        }
    }
    fclose(file);
    return bytes;
}

/* Prints an error and frees it. */
static int refused(WhereforeError *error) {
    WhereforeText message = wherefore_error_message(error);
    fprintf(stderr, "error: %.*s\n", (int)message.len, (const char *)message.bytes);
    wherefore_text_free(message);
    wherefore_error_free(error);
    return 2;
}

static int is(WhereforeText text, const char *word) {
    return text.len == strlen(word) && memcmp(text.bytes, word, text.len) == 0;
}

int main(int argc, char **argv) {
    WhereforeError *error = NULL;
    WhereforePrograms *programs = NULL;
    WhereforeProgram *program = NULL;
    WhereforeSnapshot *snapshot = NULL;
    WhereforeRuling *ruling = NULL;
    uint8_t *json = NULL;
    size_t len = 0;
    int code = 2;

    if (argc < 3) {
        fprintf(stderr, "judge PROGRAM FILE [json]\n");
        return 2;
    }
    json = whole(argv[2], &len);
    if (json == NULL) {
        fprintf(stderr, "error: %s cannot be read\n", argv[2]);
        return 2;
    }
    programs = wherefore_programs_built_in();
    program = wherefore_programs_get(programs, (const uint8_t *)argv[1], strlen(argv[1]), &error);
    if (program != NULL) {
        snapshot = wherefore_snapshot_from_json(json, len, &error);
    }
    if (snapshot != NULL) {
        ruling = wherefore_judge(program, snapshot, NULL, 0, &error);
    }
    if (ruling != NULL) {
        int as_json = argc > 3 && strcmp(argv[3], "json") == 0;
        WhereforeText text = wherefore_ruling_text(ruling, as_json ? WHEREFORE_FORM_JSON : WHEREFORE_FORM_TEXT);
        WhereforeText kind = wherefore_ruling_class(ruling);
        fwrite(text.bytes, 1, text.len, stdout);
        if (as_json) {
            putchar('\n');
        }
        code = is(kind, "pass") ? 0 : is(kind, "undecided") || is(kind, "no-law-in-file") ? 3 : 1;
        wherefore_text_free(kind);
        wherefore_text_free(text);
    } else {
        code = refused(error);
    }
    wherefore_ruling_free(ruling);
    wherefore_snapshot_free(snapshot);
    wherefore_program_free(program);
    wherefore_programs_free(programs);
    free(json);
    return code;
}
