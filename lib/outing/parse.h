/* Reading an outing file key by key, before lists are resolved and defaults filled in. Inside the
 * room only. */
#ifndef CW_OUTING_PARSE_H
#define CW_OUTING_PARSE_H

#include "outing/keys.h"
#include "outing/lines.h"
#include "outing/outing.h"

/* A word of a list, with its line for messages. */
struct cw_item {
    char *word;
    long line;
};

struct cw_items {
    size_t n, capacity;
    struct cw_item *at;
};

/* The line each key was given on; 0 where it was not. */
struct cw_key_lines {
    long of[CW_OUTING_KEY_COUNT];
};

/* Of an [air RECORDING]. */
struct cw_own_air_lines {
    char name[CW_SECTION_LONGEST + 2];
    long line;
    struct cw_key_lines keys;
};

struct cw_reading {
    struct cw_lines lines;
    struct cw_outing *outing;
    struct cw_error *error;
    enum cw_status status;
    const struct cw_outing_key *key; /* the last one, which an indented line goes on with */
    bool own;                        /* in an [air RECORDING]; section is "air" then */
    char section[CW_SECTION_LONGEST + 2];
    struct cw_key_lines key_lines;
    struct cw_key_lines *setup_key_lines; /* one a setup */
    long setup_line[CW_OUTING_SETUPS_MAX];
    struct cw_own_air_lines *own_air_lines; /* one an own air */
    long section_line[CW_OUTING_KEY_COUNT]; /* by the first key of the section */
    struct cw_items recordings, order, skip;
};

/* Reads all lines of bytes into r, whose outing and error are set. The first fault sets
 * r->status. Free the lists with cw_reading_free. */
void cw_reading_parse(struct cw_reading *r, const char *bytes, size_t length);
void cw_reading_free(struct cw_reading *r);

/* Notes the first error; false, so that a check can end in `return cw_reading_wrong(...)`. */
bool cw_reading_wrong(struct cw_reading *r, long line, const char *format, ...)
    __attribute__((format(printf, 3, 4)));
bool cw_reading_no_memory(struct cw_reading *r);

/* The key's place in the table, and so in struct cw_key_lines. */
size_t cw_reading_key_index(const struct cw_outing_key *key);
bool cw_key_is_list(const struct cw_outing_key *key);

#endif
