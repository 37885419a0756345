/* An outing as it is compared, saved and taken again without its recordings: what its file says,
 * its runs, what the fit tells whoever compares (fit/ways.h), and what was timed. No place is in
 * it: of samples there are the times of a recording's first and last. Inside the library only. */
#ifndef CW_ANALYSIS_SAVED_H
#define CW_ANALYSIS_SAVED_H

#include <stddef.h>

#include "analysis/analysis.h"
#include "base/error.h"
#include "base/text.h"

/* Adds an outing that was fitted and timed as a word without blanks or quotes: the version, a
 * checksum and what there is. The same outing, taken again, gives the same word. */
void cw_analysed_save(const struct cw_analysed *of, struct cw_text *word);

/* Takes it again, into an outing that is all zero. CW_E_FORMAT, with file and line: it is of
 * another version, or damaged. Free with cw_analysed_free, also after an error. */
enum cw_status cw_analysed_restore(const char *word, size_t length, const char *file, long line,
                                   struct cw_analysed *of, struct cw_error *error);

#endif
