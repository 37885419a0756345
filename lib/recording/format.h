/* The formats of recordings, in one list. What reads, what writes, the options of commands and what
 * is printed take them from here: a new format is a file of its own that defines cw_format_WORD
 * (recording/format_type.h), and a line below. */
#ifndef CW_RECORDING_FORMAT_H
#define CW_RECORDING_FORMAT_H

#include <stdbool.h>

#include "base/public.h"

CW_PUBLIC_BEGIN

#define CW_FORMAT_LIST(X)                                                                          \
    X(GPX, gpx)                                                                                    \
    X(TCX, tcx)

enum cw_format {
#define CW_FORMAT_ENUM(name, word) CW_FORMAT_##name,
    CW_FORMAT_LIST(CW_FORMAT_ENUM)
#undef CW_FORMAT_ENUM
        CW_FORMATS /* how many */
};

/* The format's name, "GPX"; and its word, "gpx", which options take and files end in; constants. */
const char *cw_format_text(enum cw_format format);
const char *cw_format_word(enum cw_format format);

enum { CW_FORMAT_TEXT = 200 };

/* All names, or words, as a sentence has them: "GPX, TCX or CSV", where last is " or ". Returns
 * text. */
const char *cw_format_names(const char *last, char text[CW_FORMAT_TEXT]);
const char *cw_format_words(const char *last, char text[CW_FORMAT_TEXT]);

/* The format of that word; false, *format untouched, where there is none. */
bool cw_format_find(const char *word, enum cw_format *format);

CW_PUBLIC_END

#endif
