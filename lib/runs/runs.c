#include "runs/runs.h"

#include <stdlib.h>

#include "runs/stretches.h"

static int by_start(const void *a, const void *b) {
    const struct cw_run *x = a, *y = b;
    if (x->start_s != y->start_s) return x->start_s < y->start_s ? -1 : 1;
    return (x->recording > y->recording) - (x->recording < y->recording);
}

enum cw_status cw_runs_find(const struct cw_recording *recordings, const struct cw_motion *motions,
                            size_t n, const struct cw_runs_options *options, struct cw_runs *runs,
                            struct cw_error *error) {
    struct cw_runs_options usual = cw_runs_options_default();
    if (!options) options = &usual;
    *runs = (struct cw_runs){0};
    for (size_t r = 0; r < n; r++) {
        if (motions[r].n == 0) continue;
        enum cw_status status =
            cw_stretches_find(&recordings[r], &motions[r], r, options, runs, error);
        if (status != CW_OK) return status;
    }
    if (runs->n > 0) qsort(runs->at, runs->n, sizeof *runs->at, by_start);
    for (size_t i = 0; i < runs->n; i++) runs->at[i].number = (long)i + 1;
    return CW_OK;
}
