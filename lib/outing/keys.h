/* The keys of an outing file: one table that drives reading, ranges, defaults, writing and the
 * manual's description of the file. */
#ifndef CW_OUTING_KEYS_H
#define CW_OUTING_KEYS_H

#include <stdbool.h>
#include <stddef.h>

enum cw_key_kind {
    CW_KEY_TEXT,
    CW_KEY_NUMBER,
    CW_KEY_ELEVATION,  /* one of cw_elevation_text */
    CW_KEY_RECORDINGS, /* file names, separated by commas or lines */
    CW_KEY_ORDER,      /* setups' names, separated by blanks, commas or lines */
    CW_KEY_SKIP        /* run numbers, separated likewise */
};

struct cw_outing_key {
    const char *section; /* "setup" stands for every [setup NAME], and "air" for
                          * every [air RECORDING] too */
    const char *name;
    enum cw_key_kind kind;
    bool required;
    bool of_recording; /* of [SECTION RECORDING] too */
    size_t offset;     /* of the field in struct cw_outing, or cw_setup for "setup" */
    const char *unit;  /* of a number; "" for a bare ratio */
    double low, high;  /* range of a number, both ends allowed */
    double fallback;   /* a number's default; NaN where fallback_text says it */
    const char *of;    /* key of the same section whose absence changes the default, or NULL */
    double fallback_without;   /* the default then */
    const char *fallback_text; /* default in words; NULL: the number, or nothing worth a sentence */
    const char *meaning;       /* for the manual */
};

#define CW_OUTING_KEY_COUNT 25

/* The table, in the order of the manual; *n is its length. */
const struct cw_outing_key *cw_outing_keys(size_t *n);

/* The key of that section and name, or NULL. */
const struct cw_outing_key *cw_outing_key_find(const char *section, const char *name);

/* The name among n that is nearest to word (fewest letters changed, added, dropped or swapped
 * with a neighbour; case does not count); one that word begins, by three letters or more, comes
 * first. NULL when n is 0. */
const char *cw_nearest(const char *word, const char *const *names, size_t n);

#endif
