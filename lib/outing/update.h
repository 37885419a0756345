/* Adding to an outing file what it does not say yet. Every line that stands in it stays as it is,
 * to the byte, but for lines that are told to give way. Inside the library only. */
#ifndef CW_OUTING_UPDATE_H
#define CW_OUTING_UPDATE_H

#include <stdbool.h>
#include <stddef.h>

#include "base/error.h"
#include "base/text.h"
#include "outing/outing.h"

/* As cw_outing_read_memory, but a mass may be missing: it is NaN. Without a name, that is the
 * file's. */
enum cw_status cw_outing_read_unfinished(const char *bytes, size_t length, const char *path,
                                         struct cw_outing *outing, struct cw_error *error);

/* Lines to add to a section, which is made at the end of the file where there is none. Borrowed. */
struct cw_outing_addition {
    const char *section, *name; /* name "" where it has none */
    const char *key;            /* what the lines give, and the section must not give yet; or whose
                                 * list goes on in them; NULL: they give nothing */
    bool goes_on;
    const char *lines;   /* each ends in '\n' */
    const char *instead; /* a line of the section, without its end, that they take the place of, if
                          * it is there; NULL: none */
    const char *after;   /* else they stand behind the section's last line that begins so, if one
                          * does, or holds a key; NULL: that holds a key */
};
/* The file with the additions, in their order, added to *text; its line ends are kept to.
 * CW_E_FORMAT, as reading has it, or where a key is given already. */
enum cw_status cw_outing_update(const char *bytes, size_t length, const char *path,
                                const struct cw_outing_addition *additions, size_t n,
                                struct cw_text *text, struct cw_error *error);

/* Adds the path of a file as it stands in the outing file at outing_path: from that one's folder.
 * from_here: a relative path is from where the program runs; else only what begins with the outing
 * file's folder changes. */
void cw_outing_path_add(struct cw_text *text, const char *outing_path, const char *path,
                        bool from_here);

#endif
