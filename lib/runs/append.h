/* Runs as they are found, one after the other. */
#ifndef CW_RUNS_APPEND_H
#define CW_RUNS_APPEND_H

#include "base/error.h"
#include "runs/run.h"

enum cw_status cw_runs_append(struct cw_runs *runs, const struct cw_run *run,
                              struct cw_error *error);
enum cw_status cw_runs_append_slight(struct cw_runs *runs, const struct cw_run *run,
                                     struct cw_error *error);
/* Those of more, kept, turned down and slight. */
enum cw_status cw_runs_add(struct cw_runs *runs, const struct cw_runs *more,
                           struct cw_error *error);

#endif
