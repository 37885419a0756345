#include "runs/append.h"

#include <stdlib.h>

const char *cw_run_end_text(enum cw_run_end end) {
    switch (end) {
    case CW_END_STOP:
        return "stop";
    case CW_END_BRAKE:
        return "brake";
    case CW_END_PEDALLING:
        return "pedalling";
    case CW_END_TURN:
        return "turn";
    case CW_END_RECORDING:
        return "recording";
    }
    return "recording";
}

const char *cw_run_reason_text(enum cw_run_reason reason) {
    switch (reason) {
    case CW_REASON_SHORT:
        return "too short";
    case CW_REASON_PEDALLED:
        return "pedalled";
    case CW_REASON_BRAKED:
        return "braked";
    case CW_REASON_GAP:
        return "gap in the recording";
    case CW_REASON_OFF_ROAD:
        return "off the road";
    case CW_REASON_STEADY:
        return "speed too steady to tell CdA from Crr";
    case CW_REASON_SKIPPED:
        return "skipped by the outing file";
    case CW_REASON_NO_HEIGHT:
        return "no elevation";
    case CW_REASON_OUTLIER:
        return "disagrees with its fellows";
    case CW_REASON_WAKE:
        return "in another rider's wake";
    }
    return "";
}

static enum cw_status append(struct cw_run **at, size_t *n, size_t *capacity,
                             const struct cw_run *run, struct cw_error *error) {
    if (*n == *capacity) {
        size_t more = *capacity ? 2 * *capacity : 32;
        struct cw_run *grown = realloc(*at, more * sizeof *grown);
        if (!grown) return cw_error_memory(error);
        *at = grown;
        *capacity = more;
    }
    (*at)[(*n)++] = *run;
    return CW_OK;
}

enum cw_status cw_runs_append(struct cw_runs *runs, const struct cw_run *run,
                              struct cw_error *error) {
    return append(&runs->at, &runs->n, &runs->capacity, run, error);
}

enum cw_status cw_runs_append_slight(struct cw_runs *runs, const struct cw_run *run,
                                     struct cw_error *error) {
    return append(&runs->slight, &runs->n_slight, &runs->slight_capacity, run, error);
}

enum cw_status cw_runs_add(struct cw_runs *runs, const struct cw_runs *more,
                           struct cw_error *error) {
    enum cw_status status = CW_OK;
    for (size_t i = 0; i < more->n && status == CW_OK; i++)
        status = cw_runs_append(runs, &more->at[i], error);
    for (size_t i = 0; i < more->n_slight && status == CW_OK; i++)
        status = cw_runs_append_slight(runs, &more->slight[i], error);
    return status;
}

void cw_runs_free(struct cw_runs *runs) {
    free(runs->at);
    free(runs->slight);
    *runs = (struct cw_runs){0};
}
