/* Reading an outing file key by key, before lists are resolved and defaults filled in. Inside the
 * room only. */
#ifndef CW_OUTING_PARSE_H
#define CW_OUTING_PARSE_H

#include "outing/keys.h"
#include "outing/lines.h"
#include "outing/outing.h"

/* A word of a list, or a name, with its line for messages. */
struct cw_item {
    char *word;
    long line;
    const struct cw_outing_key *key;
};

/* The line each key was given on; 0 where it was not. */
struct cw_key_lines {
    long of[CW_OUTING_KEY_COUNT];
};

/* A section as it stands in the file. */
struct cw_section {
    const struct cw_outing_section *kind;
    char *name; /* "" where it has none */
    long line;
    struct cw_key_lines keys;
    size_t index;       /* of what it fills in: setup, rider, own air, own recording */
    size_t first, last; /* its words among the items; last is not one of them */
};

struct cw_reading {
    struct cw_lines lines;
    struct cw_outing *outing;
    struct cw_error *error;
    enum cw_status status;
    bool unfinished;                 /* what is required may be missing */
    const struct cw_outing_key *key; /* the last one, which an indented line goes on with */
    size_t n_sections;
    struct cw_section *sections; /* the last is being read */
    size_t n_items, capacity, n_in_list;
    struct cw_item *items;
};

/* Reads all lines of bytes into r, whose outing and error are set. The first fault sets
 * r->status. Names and lists are left as items. Free them with cw_reading_free. */
void cw_reading_parse(struct cw_reading *r, const char *bytes, size_t length);
void cw_reading_free(struct cw_reading *r);

/* What the items of one key of a section begin with, NULL where there are none; *n: how many. */
const struct cw_item *cw_reading_items(const struct cw_reading *r, const struct cw_section *section,
                                       const char *key, size_t *n);
/* The section of that kind and name ("": none); NULL where the file has none. */
const struct cw_section *cw_reading_section(const struct cw_reading *r, const char *kind,
                                            const char *name);
/* What the section's keys are fields of. */
void *cw_reading_base(const struct cw_reading *r, const struct cw_section *section);

/* Makes names into indices and lists into arrays (resolve.c). False with r->status set. */
bool cw_reading_resolve(struct cw_reading *r);

/* Notes the first error; false, so that a check can end in `return cw_reading_wrong(...)`. */
bool cw_reading_wrong(struct cw_reading *r, long line, const char *format, ...)
    __attribute__((format(printf, 3, 4)));
bool cw_reading_no_memory(struct cw_reading *r);

/* The key's place in the table, and so in struct cw_key_lines. */
size_t cw_reading_key_index(const struct cw_outing_key *key);
bool cw_key_is_list(const struct cw_outing_key *key);
/* The key that the section gives in place of this one, in another unit; NULL: none. */
const struct cw_outing_key *cw_section_otherwise(const struct cw_section *section,
                                                 const struct cw_outing_key *key);

#endif
