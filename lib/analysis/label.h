/* Which setup each run was of, as the outing file has it. */
#ifndef CW_ANALYSIS_LABEL_H
#define CW_ANALYSIS_LABEL_H

#include <stdbool.h>

#include "base/error.h"
#include "outing/outing.h"
#include "runs/runs.h"

/* Turns down the runs that the outing file skips. CW_E_DATA with file and line when a number is
 * not that of a run. */
enum cw_status cw_runs_skip(struct cw_runs *runs, const struct cw_outing *outing,
                            struct cw_error *error);

/* Whether [runs] counts a run: it is kept, or turned down for nothing but a wake where those are
 * counted, and its recording does not label its own. */
bool cw_run_counts(const struct cw_outing *outing, const struct cw_run *run, bool with_wakes);

/* Sets each kept run's setup, and what was noted at it; a list may count runs in a wake or not, or
 * descents in all their pieces (cw_run.descent), as it fits. CW_E_DATA, and CW_NO_SETUP throughout,
 * when an order or a list of notes does not match the runs kept, or several setups have no order.
 */
enum cw_status cw_runs_label(struct cw_runs *runs, const struct cw_outing *outing,
                             struct cw_error *error);

#endif
