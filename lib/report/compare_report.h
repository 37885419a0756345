/* What `coastwise compare` answers: which setup is faster, by how much and how sure that is; what
 * stands behind it; and what the runs cannot tell. */
#ifndef CW_REPORT_COMPARE_REPORT_H
#define CW_REPORT_COMPARE_REPORT_H

#include <stdbool.h>

#include "analysis/analysis.h"
#include "base/error.h"
#include "base/public.h"
#include "base/text.h"
#include "report/look.h"

CW_PUBLIC_BEGIN

/* Whether two setups or more were compared. */
bool cw_compare_answers(const struct cw_analysis *analysis);

/* Each adds an analysis that is compared and timed to out; CW_E_MEMORY when out is not whole. The
 * table has the answer first, what it rests on and what could change it; with `all` the runs one by
 * one too, and what they cannot tell. The CSV has a line for each comparison. */
enum cw_status cw_report_compare_table(const struct cw_analysis *analysis, bool all,
                                       const struct cw_look *look, struct cw_text *out,
                                       struct cw_error *error);
enum cw_status cw_report_compare_csv(const struct cw_analysis *analysis, struct cw_text *out,
                                     struct cw_error *error);
enum cw_status cw_report_compare_json(const struct cw_analysis *analysis, struct cw_text *out,
                                      struct cw_error *error);

CW_PUBLIC_END

#endif
