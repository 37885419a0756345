/* What `coastwise fit` answers: CdA and Crr run by run, alone and together, the noise that was
 * found, the air, and what was taken for granted. */
#ifndef CW_REPORT_FIT_REPORT_H
#define CW_REPORT_FIT_REPORT_H

#include <stdbool.h>

#include "analysis/analysis.h"
#include "base/error.h"
#include "base/public.h"
#include "base/text.h"
#include "report/look.h"

CW_PUBLIC_BEGIN

/* Whether any run's CdA could be told, alone or together. */
bool cw_fit_answers(const struct cw_analysed *of);

/* Each adds all outings, fitted and averaged, to out; CW_E_MEMORY when out is not whole. The table
 * has setups, Crr and runs; with `all` each run alone too, the noise, the air and the error budget.
 */
enum cw_status cw_report_fit_table(const struct cw_analysis *analysis, bool all,
                                   const struct cw_look *look, struct cw_text *out,
                                   struct cw_error *error);
enum cw_status cw_report_fit_csv(const struct cw_analysis *analysis, struct cw_text *out,
                                 struct cw_error *error);
enum cw_status cw_report_fit_json(const struct cw_analysis *analysis, struct cw_text *out,
                                  struct cw_error *error);

CW_PUBLIC_END

#endif
