/* The lists of an outing file that go run by run, beside the runs. */
#ifndef CW_REPORT_LISTS_H
#define CW_REPORT_LISTS_H

#include "analysis/analysis.h"
#include "base/text.h"
#include "report/look.h"

/* Where a list of [runs] or of a recording's own section has more entries or fewer than there are
 * runs: the runs that it counts with their clock times, and what each list says there. */
void cw_lists_add(const struct cw_analysed *of, const struct cw_look *look, struct cw_text *out);

#endif
