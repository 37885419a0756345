/* A growing piece of text. A failed allocation is remembered, so that a writer checks once at the
 * end instead of after every word. */
#ifndef CW_BASE_TEXT_H
#define CW_BASE_TEXT_H

#include <stdbool.h>
#include <stddef.h>

#include "base/public.h"

CW_PUBLIC_BEGIN

/* All zero is an empty text; free with cw_text_free. What is added is copied. */
struct cw_text {
    char *bytes;   /* owned; ends in '\0' once anything was added, NULL while empty */
    size_t length; /* without the '\0' */
    size_t capacity;
    bool failed; /* memory ran out: the text is not whole */
};

void cw_text_add(struct cw_text *text, const char *format, ...)
    __attribute__((format(printf, 2, 3)));
void cw_text_add_bytes(struct cw_text *text, const char *bytes, size_t length);
/* Adds string with & < > " ' written as XML and HTML entities and control characters dropped. */
void cw_text_add_escaped(struct cw_text *text, const char *string);
/* Adds string as one word of a command line, quoted where a POSIX shell would take it for more
 * (POSIX.1-2017, 2.2.2: nothing between single quotes means anything but itself). */
void cw_text_add_word(struct cw_text *text, const char *string);
/* Adds a finite value rounded to so many decimals (0..17), zeros at the end dropped, always with a
 * point; never "-0". NaN and infinities add "null". */
void cw_text_add_number(struct cw_text *text, double value, int decimals);
/* Frees the bytes and makes the text empty. */
void cw_text_free(struct cw_text *text);

CW_PUBLIC_END

#endif
