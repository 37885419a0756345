/* Stretches of one recording that are runs or looked like runs, each with its reasons. */
#ifndef CW_RUNS_STRETCHES_H
#define CW_RUNS_STRETCHES_H

#include "base/error.h"
#include "runs/options.h"
#include "runs/run.h"
#include "runs/told.h"

/* Appends to runs, in time order, what the recording holds. Roads and numbers are not set yet.
 * Coasts that are turned down and tell next to nothing go to runs->slight. */
enum cw_status cw_stretches_find(const struct cw_told *told, const struct cw_runs_options *options,
                                 struct cw_runs *runs, struct cw_error *error);

#endif
