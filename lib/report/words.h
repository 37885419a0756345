/* Words and phrases that several reports print. */
#ifndef CW_REPORT_WORDS_H
#define CW_REPORT_WORDS_H

#include "base/text.h"

/* A duration as h:mm:ss, or m:ss below an hour; "-" for NaN. */
void cw_duration_text(double duration_s, char text[32]);

/* The texts of a set of cw_run_reason bits, with separator between them. */
void cw_reasons_add(struct cw_text *text, unsigned reasons, const char *separator);

/* Adds string as a plain terminal shows it: the signs that our own words use are spelled in ASCII,
 * what else is not ASCII stays, control characters become "?". */
void cw_plain_add(struct cw_text *text, const char *string);

#endif
