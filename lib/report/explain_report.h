/* What `coastwise explain` answers: where the seconds and the metres between setups came from. */
#ifndef CW_REPORT_EXPLAIN_REPORT_H
#define CW_REPORT_EXPLAIN_REPORT_H

#include <stdbool.h>

#include "analysis/analysis.h"
#include "base/error.h"
#include "base/public.h"
#include "base/text.h"
#include "report/look.h"

CW_PUBLIC_BEGIN

/* Whether any pair of setups was explained. */
bool cw_explain_answers(const struct cw_analysis *analysis);

/* Each adds an analysis that is compared, timed and explained to out; CW_E_MEMORY when out is not
 * whole. The CSV has a line for each pair, quantity and cause, and one for the measured whole. */
enum cw_status cw_report_explain_table(const struct cw_analysis *analysis,
                                       const struct cw_look *look, struct cw_text *out,
                                       struct cw_error *error);
enum cw_status cw_report_explain_csv(const struct cw_analysis *analysis, struct cw_text *out,
                                     struct cw_error *error);
enum cw_status cw_report_explain_json(const struct cw_analysis *analysis, struct cw_text *out,
                                      struct cw_error *error);

CW_PUBLIC_END

#endif
