/* Times as measured, with no model: run by run, by setup, and setups against each other. A part of
 * what `coastwise compare` answers. */
#ifndef CW_REPORT_TIMED_REPORT_H
#define CW_REPORT_TIMED_REPORT_H

#include "analysis/analysis.h"
#include "base/error.h"
#include "base/public.h"
#include "base/text.h"
#include "report/look.h"

CW_PUBLIC_BEGIN

/* Adds the times of an outing of which some were timed to out; CW_E_MEMORY when out is not whole.
 */
enum cw_status cw_report_timed_table(const struct cw_analysed *of, const struct cw_look *look,
                                     struct cw_text *out, struct cw_error *error);

CW_PUBLIC_END

#endif
