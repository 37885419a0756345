#include "runs/runs.h"

#include <stdlib.h>

#include "runs/stretches.h"

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
    case CW_REASON_FLAT:
        return "too flat";
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
    }
    return "";
}

struct cw_runs_options cw_runs_options_default(void) {
    return (struct cw_runs_options){.mass_kg = 85.0,
                                    .density_kgm3 = 1.2,
                                    .cda_low_m2 = 0.15,
                                    .cda_high_m2 = 0.9,
                                    .crr_low = 0.002,
                                    .crr_high = 0.015,
                                    .minimum_distance_m = 200.0,
                                    .minimum_drop_m = 5.0,
                                    .minimum_speed_ms = 2.0};
}

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

void cw_runs_free(struct cw_runs *runs) {
    free(runs->at);
    *runs = (struct cw_runs){0};
}
