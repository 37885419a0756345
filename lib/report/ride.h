/* What kind of ride an outing is, where it is no test that setups can be compared by. */
#ifndef CW_REPORT_RIDE_H
#define CW_REPORT_RIDE_H

#include <jansson.h>

#include "analysis/analysis.h"
#include "base/text.h"
#include "report/look.h"

/* Adds a sentence: that no road was coasted twice, and what single coasts tell; or that one was,
 * but no run has a setup. Nothing where the runs have setups. compare: what the runs tell together;
 * NULL where it is not known. */
void cw_ride_add(const struct cw_analysed *of, const struct cw_compare *compare,
                 struct cw_text *text);

/* The command that begins an outing file of loose recordings, or gives the runs of an outing's
 * repeated road their setups; nothing where the runs have them, or an outing has no road repeated.
 */
void cw_ride_lines_add(const struct cw_analysed *of, const struct cw_look *look,
                       struct cw_text *out);

/* The sentence as a string; null where there is none. */
json_t *cw_ride_json(const struct cw_analysed *of, const struct cw_compare *compare, bool *failed);

#endif
