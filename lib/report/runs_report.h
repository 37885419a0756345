/* What `coastwise runs` answers: the recordings, the runs found in them, and why stretches that
 * looked like runs were turned down. */
#ifndef CW_REPORT_RUNS_REPORT_H
#define CW_REPORT_RUNS_REPORT_H

#include <stddef.h>

#include "base/error.h"
#include "base/text.h"
#include "recording/recording.h"
#include "runs/runs.h"

/* All is borrowed. */
struct cw_runs_report {
    size_t n_recordings;
    const struct cw_recording *recordings;
    const struct cw_runs *runs;
    const char *const *setups; /* the setup of each run, NULL where a run has none; or NULL */
};

/* Each adds to out; CW_E_MEMORY when out is not whole. */
enum cw_status cw_report_runs_table(const struct cw_runs_report *report, struct cw_text *out,
                                    struct cw_error *error);
enum cw_status cw_report_runs_csv(const struct cw_runs_report *report, struct cw_text *out,
                                  struct cw_error *error);
enum cw_status cw_report_runs_json(const struct cw_runs_report *report, struct cw_text *out,
                                   struct cw_error *error);

#endif
