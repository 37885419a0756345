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
    CW_KEY_SKIP,       /* run numbers, separated likewise */
    CW_KEY_NOTES,      /* a number a run or "-", separated likewise: a struct cw_notes */
    CW_KEY_FILE,       /* one file's name */
    CW_KEY_OFFSET,     /* of local time from UTC: +01:00 */
    CW_KEY_RIDER,      /* a rider's name */
    CW_KEY_SETUP,      /* a setup's name */
    CW_KEY_START       /* the word "mark" */
};

/* Sections: which may stand as they are, and what may stand behind their names in [SECTION NAME].
 */
struct cw_outing_section {
    const char *name;
    bool plain;
    const char *of; /* what it is of: NULL, "NAME" or "RECORDING" */
};

struct cw_outing_key {
    const char *section;
    const char *name;
    enum cw_key_kind kind;
    bool required;
    bool of_whole;    /* not of [SECTION NAME], though other keys of the section are */
    size_t offset;    /* of the field in the section's struct: cw_setup for "setup", cw_rider for
                       * "rider" and "bike", cw_own_recording for "recording", else cw_outing */
    const char *unit; /* of a number; "" for a bare ratio */
    double low, high; /* range of a number, both ends allowed */
    double fallback;  /* a number's default; NaN where fallback_text says it */
    const char *of;   /* key of the same section whose absence changes the default, or NULL */
    double fallback_without; /* the default then */
    const char *reduced;     /* key of the same section by which `of` is known less well, or NULL */
    double fallback_reduced; /* the default then */
    /* A number that says what a key of the same section does otherwise: that key's name, and how it
     * becomes what the field holds, number x times + plus. It has no default; in another unit of
     * the same field it is not written. */
    const char *instead;
    double times, plus;
    const char *fallback_text; /* default in words; NULL: the number, or nothing worth a sentence */
    const char *meaning;       /* for the manual */
};

/* Standard uncertainty of a pressure that is reduced from sea level, hPa. Of a hill of some hundred
 * metres: a recorder's height is off by 20 m, at 0.12 hPa a metre; a report is off by 1 hPa, from
 * some tens of kilometres and an hour away; and whether it was reduced by the day's temperature or
 * by the standard's, as those for aircraft are, is 1 hPa at 300 m and 10 K. Common practice, no
 * source. */
#define CW_REDUCED_ERROR_HPA 3.0

#define CW_OUTING_KEY_COUNT 49

/* The sections, in the order of the keys; *n is their number. */
const struct cw_outing_section *cw_outing_sections(size_t *n);

/* The table, in the order of the manual; *n is its length. */
const struct cw_outing_key *cw_outing_keys(size_t *n);

/* The key of that section and name, or NULL. */
const struct cw_outing_key *cw_outing_key_find(const char *section, const char *name);

/* The name among n that is nearest to word (fewest letters changed, added, dropped or swapped
 * with a neighbour; case does not count); one that word begins, by three letters or more, comes
 * first. NULL when n is 0. */
const char *cw_nearest(const char *word, const char *const *names, size_t n);

/* That name between two texts ("; the nearest is \"", "\""), where it is near enough to be a guess:
 * no more than a third of the word's letters, or one, are wrong. "" where it is not. */
enum { CW_GUESS_TEXT = 256 };
const char *cw_guess(const char *word, const char *const *names, size_t n, const char *before,
                     const char *after, char guess[CW_GUESS_TEXT]);

#endif
