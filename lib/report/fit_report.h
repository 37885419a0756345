/* What `coastwise fit` answers: CdA and Crr run by run, alone and together, the noise that was
 * found, the air, and what was taken for granted. */
#ifndef CW_REPORT_FIT_REPORT_H
#define CW_REPORT_FIT_REPORT_H

#include <stdbool.h>
#include <stddef.h>

#include "base/error.h"
#include "base/text.h"
#include "compare/compare.h"
#include "report/interval.h"
#include "report/report.h"

/* An outing with its fit, and its setups against each other; all is borrowed. */
struct cw_fit_report {
    struct cw_report_outing of;
    const struct cw_compare *compare; /* of this outing alone; NULL where no run has a setup */
};

/* Whether any run's CdA could be told, alone or together. */
bool cw_fit_answers(const struct cw_fit_report *report);

/* Each adds n outings to out; CW_E_MEMORY when out is not whole. */
enum cw_status cw_report_fit_table(const struct cw_fit_report *reports, size_t n,
                                   const struct cw_look *look, struct cw_text *out,
                                   struct cw_error *error);
enum cw_status cw_report_fit_csv(const struct cw_fit_report *reports, size_t n, struct cw_text *out,
                                 struct cw_error *error);
enum cw_status cw_report_fit_json(const struct cw_fit_report *reports, size_t n,
                                  struct cw_text *out, struct cw_error *error);

#endif
