/* Warnings gathered while reading: one a kind, naming the first line and counting the rest. */
#ifndef CW_BASE_WARNING_H
#define CW_BASE_WARNING_H

#include <stdbool.h>
#include <stddef.h>

#include "base/public.h"

CW_PUBLIC_BEGIN

#define CW_WARNING_MAX 48

struct cw_warning {
    int kind;        /* the room's own number of the kind */
    long first_line; /* 0 if there is none */
    long count;
    char text[200]; /* what is wrong and what was done about it */
};

struct cw_warnings {
    size_t n;
    struct cw_warning at[CW_WARNING_MAX];
};

/* Counts one more of kind; the first of a kind sets line and text. When the list is full, further
 * kinds are dropped. */
void cw_warning_add(struct cw_warnings *warnings, int kind, long line, const char *format, ...)
    __attribute__((format(printf, 4, 5)));

#define CW_WARNING_TEXT 300

/* "line 12: what is wrong (7 times)"; the line is left out where with_line is false or it is 0. */
void cw_warning_text(const struct cw_warning *warning, bool with_line, char text[CW_WARNING_TEXT]);

CW_PUBLIC_END

#endif
