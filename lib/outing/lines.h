/* The lines of an outing file, and what each of them is: INI, as far as it knows no keys. */
#ifndef CW_OUTING_LINES_H
#define CW_OUTING_LINES_H

#include <stdbool.h>
#include <stddef.h>

#include "base/error.h"

/* Bytes of a line. */
#define CW_LINE_LONGEST 190

enum cw_line_kind {
    CW_LINE_SECTION, /* [name] */
    CW_LINE_KEY,     /* name = value, or name: value */
    CW_LINE_MORE     /* indented, below a key: the value goes on */
};

struct cw_lines {
    const char *bytes, *file;
    size_t length, at;
    struct cw_error *error;
    enum cw_status status; /* set, with *error, when a line is refused */
    long line;             /* of the line read last, from 1 */
    bool in_key;           /* whether an indented line goes on with something */
    /* What the line says: parts of text, without blanks around them or a comment behind. */
    enum cw_line_kind kind;
    const char *name;  /* of a section or a key */
    const char *value; /* of a key, or more of it */
    char text[CW_LINE_LONGEST + 1];
};

/* Starts at the first line; a byte order mark is passed over. bytes, file and error are borrowed.
 */
void cw_lines_start(struct cw_lines *lines, const char *bytes, size_t length, const char *file,
                    struct cw_error *error);
/* Reads on to the next line that says something: no blank line and no comment (";" or "#" at its
 * beginning; ";" behind a blank in a value). Lines end in LF, CR LF or CR. False at the end, and
 * where a line is refused: CW_E_FORMAT in status. */
bool cw_lines_next(struct cw_lines *lines);

#endif
