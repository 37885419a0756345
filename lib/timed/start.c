#include "timed/start.h"

#include <math.h>
#include <stdint.h>

#include "fit/tape.h"
#include "timed/timed.h"

/* The finder may begin a run some metres on; it has stood no longer ago than this. */
#define STOOD_S 30.0

/* The last sample that stands before the run rolls. SIZE_MAX where none is seen: the slowest speed
 * that is, in any case, is *least_ms. */
static size_t standing_before(const struct cw_ridden *input, const struct cw_run *run,
                              double *least_ms) {
    const struct cw_motion *motion = &input->motions[run->recording];
    const double *time_s = input->recordings[run->recording].samples.time_s;
    *least_ms = motion->speed_ms[run->first];
    for (size_t i = run->first; isfinite(motion->speed_ms[i]); i--) {
        *least_ms = fmin(*least_ms, motion->speed_ms[i]);
        if (motion->speed_ms[i] <= CW_STANDING_MS) return i;
        if (i == 0 || motion->gap_before[i] || time_s[run->first] - time_s[i - 1] > STOOD_S) break;
    }
    return SIZE_MAX;
}

bool cw_starts_tie(const struct cw_ridden *input, const size_t *members, size_t n,
                   struct cw_along *along, struct cw_start *starts, struct cw_warnings *warnings) {
    bool all_stood = true, by_wheel = true;
    double mark_m = 0;
    for (size_t k = 0; k < n; k++) {
        const struct cw_run *run = &input->runs->at[members[k]];
        const struct cw_motion *motion = &input->motions[run->recording];
        double least_ms;
        size_t stood = standing_before(input, run, &least_ms);
        by_wheel = by_wheel && motion->source != CW_SPEED_POSITION;
        all_stood = all_stood && stood != SIZE_MAX;
        if (stood == SIZE_MAX) {
            cw_warning_add(warnings, CW_TIMED_WARNING_START, 0,
                           "start = mark, but run %ld begins at %.0f km/h: the recording does not "
                           "show it standing before, so places are from positions",
                           run->number, 3.6 * least_ms);
            continue;
        }
        double rolled_m = motion->distance_m[run->first] - motion->distance_m[stood];
        starts[k].time_s = input->recordings[run->recording].samples.time_s[stood];
        starts[k].s_m = along[members[k]].s_m[0] - rolled_m;
        mark_m += starts[k].s_m / (double)n;
    }
    if (!all_stood || !by_wheel) return false;
    for (size_t k = 0; k < n; k++) {
        struct cw_along *own = &along[members[k]];
        for (size_t i = 0; i < own->n; i++) own->s_m[i] += mark_m - starts[k].s_m;
    }
    return true;
}
