/* The lines of an outing file, handed to libinih one by one.
 *
 * libinih cuts a line that is longer than its buffer and reads the rest as a line of its own, may
 * not tell its handler the line, and passes over a section that holds no key. So the lines are
 * counted and checked here, and behind every section line comes one more, "=": a key without a
 * name, by which the handler learns that a section has begun. */
#ifndef CW_OUTING_LINES_H
#define CW_OUTING_LINES_H

#include <stdbool.h>
#include <stddef.h>

#include "base/error.h"

/* Bytes of a line that libinih as Debian builds it can hold; of a section's name it holds fewer, so
 * that the name stays here. */
#define CW_LINE_LONGEST 190
#define CW_SECTION_LONGEST CW_LINE_LONGEST

struct cw_lines {
    const char *bytes;
    size_t length, at;
    long line;                            /* of the line handed out last, from 1 */
    bool indented;                        /* that line starts with blank space */
    bool pending;                         /* "=" comes next */
    bool announcing;                      /* that line is the "=" behind a section */
    char section[CW_SECTION_LONGEST + 1]; /* its name */
    bool stop;                            /* set by the handler: hand out no more */
    const char *file;
    struct cw_error *error;
    enum cw_status status; /* set, with *error, when a line is refused */
};

/* Starts at the first line; a byte order mark is passed over. */
void cw_lines_start(struct cw_lines *lines, const char *bytes, size_t length, const char *file,
                    struct cw_error *error);
/* The next line in buffer[0..size), as fgets gives it but ending in "\n" whatever ends it in the
 * file (LF, CR LF, CR); NULL at the end or when the line is refused. An ini_reader. */
char *cw_lines_next(char *buffer, int size, void *lines);

#endif
