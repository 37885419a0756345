/* What `coastwise fit` answers: CdA and Crr run by run, alone and together, the noise that was
 * found, the air, and what was taken for granted. */
#ifndef CW_REPORT_FIT_REPORT_H
#define CW_REPORT_FIT_REPORT_H

#include <stdbool.h>
#include <stddef.h>

#include "base/error.h"
#include "base/text.h"
#include "fit/fit.h"
#include "outing/outing.h"
#include "recording/recording.h"
#include "report/interval.h"
#include "road/runs.h"

/* An outing and its fit; all is borrowed. */
struct cw_fit_report {
    const struct cw_outing *outing;
    size_t n_recordings;
    const struct cw_recording *recordings;
    const struct cw_runs *runs;
    const struct cw_fit *fit;
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
