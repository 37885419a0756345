/* Times as measured, with no model: run by run, by setup, and setups against each other. A part of
 * what `coastwise compare` answers. */
#ifndef CW_REPORT_TIMED_REPORT_H
#define CW_REPORT_TIMED_REPORT_H

#include <stdbool.h>

#include "analysis/analysis.h"
#include "base/error.h"
#include "base/public.h"
#include "base/text.h"
#include "report/look.h"

CW_PUBLIC_BEGIN

/* Adds the differences between setups as measured, with `all` the times run by run too, of an
 * outing of which some were timed, to out; CW_E_MEMORY when out is not whole.
 */
enum cw_status cw_report_timed_table(const struct cw_analysed *of, bool all,
                                     const struct cw_look *look, struct cw_text *out,
                                     struct cw_error *error);

/* Adds, below their heads, a line for each timed run of all outings and each gate: when it passed,
 * counted from the first gate, and how fast; CW_E_MEMORY when out is not whole. */
enum cw_status cw_report_timed_csv(const struct cw_analysis *analysis, struct cw_text *out,
                                   struct cw_error *error);

CW_PUBLIC_END

#endif
