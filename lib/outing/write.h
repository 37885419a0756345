/* Writing an outing as an outing file. */
#ifndef CW_OUTING_WRITE_H
#define CW_OUTING_WRITE_H

#include "base/error.h"
#include "base/public.h"
#include "base/text.h"
#include "outing/outing.h"

CW_PUBLIC_BEGIN

/* Writes outing as an outing file that reads back the same, whole or not at all. Fields that are
 * NaN, NULL or empty are left to their defaults; recordings in path's folder are named relative
 * to it, other paths stay as they are. heading, which may be NULL, goes on top as comment lines.
 * CW_E_WRITE, or CW_E_ARGUMENT when a text cannot stand in such a file. */
enum cw_status cw_outing_write(const struct cw_outing *outing, const char *path,
                               const char *heading, struct cw_error *error);

/* What stands beside a key of a section that has no name of its own, or below the section's head
 * where key is NULL; also where the key has no value or the section no key. Borrowed. */
struct cw_outing_comment {
    const char *section, *key;
    const char *above;  /* lines, without the "; " that they get; NULL: none */
    const char *behind; /* words, on the key's line; NULL: none */
};
struct cw_outing_comments {
    const char *heading; /* lines on top; NULL: none */
    size_t n;
    const struct cw_outing_comment *at;
    const char *const *runs; /* words beside each entry of `order` in [runs], which then stands on a
                              * line of its own; NULL: the entries stand in lines */
};
/* The same file as text, added to *text, with comments; path says where it would stand. Relative
 * paths are from where the program runs, and are written as they are found from path's folder. */
enum cw_status cw_outing_write_text(const struct cw_outing *outing, const char *path,
                                    const struct cw_outing_comments *comments, struct cw_text *text,
                                    struct cw_error *error);

CW_PUBLIC_END

#endif
